"""How alike are two fittings of the same part?

A propeller taken off and put back is not quite the same propeller: the pitch of a ground-adjustable one is set to a
few tenths of a degree, a wooden one is torqued anew, and every blade tracks a little differently. The error is new at
each fitting, the same on every run flown with it, and no number of runs averages it out: only another fitting does.

Default, assumed: pitch set to +-0.3 degrees, rectangular; at 3/4 radius of a light aeroplane's propeller that is about
2 % of pitch, 1.2 % as a standard uncertainty, and by the pitch sensitivities of this project's own simulation (per 1 %
of pitch: roll 0.50 %, static pull 0.46 %, climb 0.42 %, level speed 0.03 %) about 0.5 % of each. Level speed gets
0.1 %, since the sensitivity near its flat top is not the whole story.
"""

from __future__ import annotations

from samesky.instruments.sources import RESULT, ErrorSource

_SOURCE = "assumed: pitch set to +-0.3 degrees, about 2 % of pitch, and the pitch sensitivity of own simulation"


def rigging(size: float) -> ErrorSource:
    """The error of one fitting, ``size`` a fraction of the result (standard uncertainty); each measure states its
    own.
    """
    return ErrorSource("fitting error", RESULT, size, "installation", _SOURCE, relative=True)
