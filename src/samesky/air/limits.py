"""Is an argument inside the range a formula was made for?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


def within(name: str, values: Numbers, low: float, high: float, unit: str) -> Floats:
    """``values`` as a float array, if they lie within the closed range; NaN passes (nothing written).

    Parameters
    ----------
    name : how a message calls the argument
    values : numbers [``unit``] of any shape
    low : lowest value taken
    high : highest value taken
    unit : unit of values and range, for the message

    Returns
    -------
    ndarray
        ``values`` as float64 (n, ...), [``unit``].

    Raises
    ------
    ValueError
        Naming the argument, the worst value, the range and its unit.
    """
    array = np.asarray(values, dtype=float)
    if array.size:
        # fmin and fmax step over NaN, which a plain minimum would return.
        least, most = np.fmin.reduce(array, axis=None), np.fmax.reduce(array, axis=None)
        if least < low or most > high:
            worst = least if least < low else most
            raise ValueError(f"{name} {worst:.6g} {unit} is outside {low:.6g} to {high:.6g} {unit}")
    return array
