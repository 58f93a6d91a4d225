"""What if the runs agree better than their readings can?

Three stopwatch readings that agree by luck are no repeatability. The scatter seen gives an interval that holds its
level by itself, so the reading errors take its place only where they contradict it: where the mean square seen is so
much smaller than what the readings alone would make that an F probability falls below 5 % (full weight at 1 %).
Entered reading errors are not known for certain either: they carry degrees of freedom of their own
(:data:`samesky.inference.budget.ENTERED` where nothing else is said). So the sentence about readings is printed in one
of twenty sound campaigns at most, and the interval covers 94.5 % or more whatever share the readings have in the
scatter, with errors as large as entered, half as large and twice as large (``tests/inference/test_floor.py``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import special

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: F probabilities between which the readings gain their weight: none above the second, all below the first (chosen).
CONTRADICTED = (0.01, 0.05)


def above_readings(seen: Floats, floor: Numbers, degrees_of_freedom: float, known: float) -> tuple[Floats, Floats]:
    """Scatter to use and the share of it that rests on the entered reading errors.

    Parameters
    ----------
    seen : (...) mean square of the scatter seen
    floor : mean square that the reading errors alone would put there
    degrees_of_freedom : of the scatter seen
    known : degrees of freedom of the reading errors

    Returns
    -------
    the mean square (...) to use, and the share (...) of it, from 0 to 1, that is known as well as the readings are;
    the rest is known from ``degrees_of_freedom``
    """
    s, f = np.broadcast_arrays(np.sqrt(seen), np.sqrt(floor))
    nothing, full = np.sqrt(special.fdtri(degrees_of_freedom, known, np.array(CONTRADICTED)))
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(f > 0, s / f, np.inf)
    believed = np.clip((ratio - nothing) / (full - nothing), 0.0, 1.0)
    stated = (1.0 - believed) * f
    used = stated + believed * s
    return np.square(used), np.where(used > 0, stated / np.where(used > 0, used, 1.0), 0.0)
