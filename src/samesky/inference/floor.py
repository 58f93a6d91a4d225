"""What if the runs agree better than their readings can?

Three stopwatch readings that agree by luck are no repeatability. Where the scatter seen is below what the reading
errors alone make, their size takes its place, and as it is stated, not judged from a few runs, it needs no widening for
few degrees of freedom: the interval is never narrower than the readings alone make it, and no wider for having been
doubted. Raising the scatter and keeping Student's t for three degrees of freedom would cover 98 to 99.9 % in place of
95 %; this covers 94 to 97.2 % whatever share the readings have in the scatter, from three degrees of freedom on (two:
94 to 97.7 %; one: 94 to 98.8 %), which ``tests/inference/test_floor.py`` holds by integration.
"""

from __future__ import annotations

import numpy as np

#: Scatter seen over reading errors, below which the readings are believed and above which the scatter is: the one
#: passes into the other over this width about a middle, which lies lower where t itself is very wide.
_WIDTH = 0.2  # with the middles below: chosen for the coverage stated above
_MIDDLE = {1: 0.40, 2: 0.85}


def above_readings(seen: np.ndarray, floor: float | np.ndarray, degrees_of_freedom: int) -> tuple[np.ndarray, ...]:
    """Scatter to use and the share of it that rests on the stated reading errors.

    Parameters
    ----------
    seen : (...) mean square of the scatter seen; floor : mean square that the reading errors alone would put there

    Returns
    -------
    the mean square (...) to use, and the share (...) of it, from 0 to 1, that is known as well as the readings are;
    the rest is known from ``degrees_of_freedom``
    """
    s, f = np.broadcast_arrays(np.sqrt(seen), np.sqrt(floor))
    middle = _MIDDLE.get(int(degrees_of_freedom), 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(f > 0, s / f, np.inf)
    believed = np.clip((ratio - middle) / _WIDTH + 0.5, 0.0, 1.0)
    stated = (1.0 - believed) * f
    used = stated + believed * s
    return np.square(used), np.where(used > 0, stated / np.where(used > 0, used, 1.0), 0.0)
