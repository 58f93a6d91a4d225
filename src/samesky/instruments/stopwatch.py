"""How well does a hand time a run?

Hand against electronic timing of a short sprint scatters by 0.07 to 0.08 s (J. B. Mann et al., J. Strength Cond. Res.
29(6) 2015, row I01; J. L. Mayhew et al., ibid. 24(2) 2010, row I02). Judging when a needle passes a mark is harder:
0.1 s at each end (row I06, from memory). A steady reaction bias is the same at both ends and drops out of a time.
"""

from __future__ import annotations

import math

from samesky.instruments.sources import ErrorSource

#: Standard uncertainty of one hand-timed instant at a passing needle [s].
ONE_INSTANT = 0.1

SOURCES = (
    ErrorSource(
        "stopwatch",
        "elapsed",
        math.sqrt(2) * ONE_INSTANT,
        "run",
        "assumed: 0.1 s at each end (row I06); one hand timing of a sprint scatters by 0.07 to 0.08 s (rows I01, I02)",
    ),
)
