"""What if the question has no physics here?

A free measure has a unit and a direction and nothing else: its one number a run is compared as it was written down.
Cabin noise, a cylinder-head temperature, the pilot's mark out of ten.
"""

from __future__ import annotations

import numpy as np

from samesky.measures.shape import Coefficients, Column, Measure, Runs, Sky, Step, WorstDrift


def free(name: str, unit: str, dimension: str, better: str, ratio: bool = False) -> Measure:
    """A measure without physics.

    Parameters
    ----------
    name : the file's stem, such as ``"cabin_noise"``; its column is the same with spaces, ``"cabin noise"``
    unit : in which it is shown
    dimension : key of :data:`samesky.units.DIMENSIONS`
    better : ``"smaller"`` or ``"larger"``
    ratio : compare by ratio rather than by difference; only for results that are always above zero

    Raises
    ------
    ValueError : where ``better`` is neither of the two words
    """
    if better not in ("smaller", "larger"):
        raise ValueError(f"measure {name!r}: better is {better!r}; write 'smaller' or 'larger'")
    column = name.replace("_", " ")

    def as_written(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
        return [Step("as flown", np.asarray(runs[column], dtype=float))]

    return Measure(
        name=name,
        title=column,
        result=f"{column}, as written down",
        dimension=dimension,
        unit=unit,
        better=better,
        ratio=ratio,
        columns=(Column(column, dimension, f"{column} of the run", required=True),),
        conditions=(),
        corrections=(),
        reduce=as_written,
        worst_drift=WorstDrift(
            0.0, "not known of a measure of your own: the drift that you enter counts, twice its size"
        ),
        assumptions=("No correction is made: the conditions of both configurations are taken to be alike.",),
    )
