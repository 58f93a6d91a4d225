"""What is written down of a film of rolls: in which frame was what seen?

A table of readings and no measure by itself: what they come to is put into the files of the measures, see
:mod:`samesky.instruments.roll_film`. It has the shape of a measure so that its file is read, shown and packed like all
others.
"""

from __future__ import annotations

import numpy as np

from samesky.measures.shape import Coefficients, Column, Measure, Runs, Sky, Step

BRAKES, LIFT_OFF, UNCERTAIN = "brakes released", "lift-off", "uncertain frames"
#: The most markers that may stand along a strip.
MOST_MARKERS = 8
#: The highest number that a frame may have: a day and more at a hundred a second.
LAST_FRAME = 10_000_000.0


def passage(marker: int) -> str:
    """Name of the column of a marker, counted from 1.

    Parameters
    ----------
    marker : number of the marker, from 1
    """
    return f"marker {marker}"


def _frame(name: str, meaning: str) -> Column:
    return Column(name, "fraction", meaning, low=0.0, high=LAST_FRAME)


def _frames(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Frames (..., n) from the first turn of the wheels to lift-off."""
    return [Step("as filmed", np.asarray(runs[LIFT_OFF], dtype=float) - np.asarray(runs[BRAKES], dtype=float))]


FILMED = Measure(
    name="filmed_rolls",
    title="filmed rolls",
    result="frames from brakes released to lift-off",
    dimension="fraction",
    unit="1",
    better="smaller",
    ratio=False,
    common=False,
    columns=(
        Column("run", "text", "number or name of the run, as in the file of its own", required=True),
        _frame(BRAKES, "first frame in which the wheels turn; only for the time to lift-off"),
        *(
            _frame(passage(k), f"frame in which the main wheels are in line with marker {k}; blank where not seen")
            for k in range(1, MOST_MARKERS + 1)
        ),
        _frame(LIFT_OFF, "first frame in which no wheel touches the ground"),
        Column(
            UNCERTAIN,
            "fraction",
            "by how many frames lift-off may be earlier or later; blank for lift_off_tolerance of [film]",
            low=0.0,
            high=500.0,
        ),
        Column("notes", "text", "anything worth remembering, such as the name of the film"),
    ),
    conditions=(),
    corrections=(),
    reduce=_frames,
    assumptions=(
        "One film a roll, or one film with all of them: frames are counted from any one frame on, without a gap within "
        "a roll.",
        "The camera stays in one place beside the strip while a roll is filmed; it may be turned.",
    ),
    cautions=(
        "Stand well beside the strip: never in line with a propeller or in its plane, never ahead of a roll or under "
        "its climb-out, and not where a swing or a burst tyre would take the aeroplane.",
        "Markers must be light and fall over: cones or cloth, nothing that harms a wheel or a propeller.",
        "Whoever films does nothing else; the pilot knows where they stand. The airfield's own rules decide whether "
        "anyone may be there at all.",
    ),
)
