"""What are numbers worth that a film gave, as error sources of the measure they belong to; and on what do they rest?

Frames, the line on the day and the start are new on every run: they take the place of the shipped error of seeing where
a roll begins and ends. Where the camera and the markers stand is one error of all runs; by what it differs from run to
run (runs that lift off between other markers) does not average out over the runs of a configuration, and is stated as
shared by an installation. The stretch of the tape that the markers were laid with is no matter of the film: its shipped
error stays.
"""

from __future__ import annotations

import numpy as np

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.film_file import FilmedRolls
from samesky.evidence.run_file import RunFile
from samesky.evidence.stated_sources import StatedSource, largest_stated
from samesky.instruments.roll_film import ACCELERATION, Filmed, FilmSetup
from samesky.instruments.video import parallax_error

#: The shipped source whose place the frames take, by the column it acts on.
ENDS = {"ground roll": "start and end of the roll", "elapsed": "stopwatch"}
#: Readings of a display that a film makes needless, by the column that it fills.
NO_DISPLAY = {"elapsed": ("first ground speed", "second ground speed")}
#: Share of what runs have for themselves below which a shared part is nothing.
NOTHING = 0.05


def stated(
    campaign: Campaign, column: str, filmed: Filmed, file: RunFile, setup: FilmSetup, by_hand: bool
) -> tuple[list[StatedSource], list[str]]:
    """The error sources of a column, and sentences about them.

    Where other runs of the file were read ``by_hand``, none is stated that is smaller than what holds for them: a
    source acts on the whole column.
    """
    own = float(np.sqrt(np.mean(filmed.own**2)))
    alike, differing = filmed.alike_and_not()
    rate = f"film: {setup.frame_rate:g} frames a second, lift-off within {_frames(setup.lift_off_tolerance)}"
    unit, dimension = file.unit(column)
    what, stands = "frame rate", f"film: frame rate within {100 * setup.frame_rate_tolerance:g} %"
    if dimension != "time" or column == "elapsed":
        what = "camera and markers"
        stands = f"film: markers within {setup.marker_tolerance:g} m, camera within {setup.camera_tolerance:g} m"
    kinds = [
        (ENDS.get(column, f"frames of {column}"), "run", own, rate),
        (f"{what} for {column}", "campaign", alike, stands),
        (f"{what} from run to run for {column}", "installation", differing, stands),
    ]
    typical = float(np.mean(filmed.value))
    made = [
        StatedSource(name, column, scope, size, unit, dimension, source, (file.measure.name,), typical)
        for name, scope, size, source in kinds
        if scope == "run" or size > NOTHING * own
    ]
    made += [
        StatedSource(
            f"{one} on the display",
            one,
            "run",
            0.0,
            *file.unit(one),
            "film: no display was read",
            (file.measure.name,),
            1.0,
        )
        for one in NO_DISPLAY.get(column, ())
    ]
    if not by_hand:
        return made, []
    kept = [one for one in made if one.scope != "run" or one.size > largest_stated(campaign, one)]
    said = (
        f"{file.name} has runs that were read by hand, and an error source holds for the whole column: theirs stays, "
        "so that the filmed runs are better than is stated."
    )
    return kept, [said] if len(kept) < len(made) else []


def own_uncertainty(campaign: Campaign, measure: str, column: str, value: float) -> float:
    """Standard uncertainty [SI] of a reading by hand, from the campaign's error sources of its column."""
    sizes = [
        source.standard_uncertainty * (abs(value) if source.relative else 1.0)
        for source in campaign.sources
        if source.target == column and source.applies_to(measure)
    ]
    return float(np.sqrt(np.sum(np.square(sizes))))


def assumed(film: FilmedRolls) -> list[str]:
    """What the numbers rest on, in sentences."""
    setup, frames = film.setup, film.frames
    said = [
        f"{setup.frame_rate:g} frames a second, within {100 * setup.frame_rate_tolerance:g} %: the mean of the film, "
        "not what the menu promises.",
        f"The shutter reads a picture from top to bottom in {1000 * setup.readout:g} ms; in which row the wheels stood "
        "is taken as unknown.",
        f"Every roll began with its main wheels within {setup.start_tolerance:g} m of the start line, from which the "
        "markers were measured.",
        f"Passages and brakes are taken within {_frames(setup.passage_tolerance)}, lift-off within "
        f"{_frames(setup.lift_off_tolerance)} where 'uncertain frames' does not say otherwise.",
    ]
    if setup.camera_distance > 1e6:
        said.append("The markers are taken as lines across the strip: no parallax.")
    else:
        moved = float(np.max(np.abs(_parallax(setup))))
        said.append(
            f"The camera stood {setup.camera_distance:g} m beside the wheel line, within {setup.camera_tolerance:g} m; "
            f"parallax was taken off, up to {moved:.1f} m. The wheels rolled within {setup.line_tolerance:g} m of "
            f"their line, markers stand within {setup.marker_tolerance:g} m."
        )
    seen = (~np.isnan(frames.passages)).sum(axis=1)
    pairs = (seen == 2) & np.isfinite(frames.lift_off)
    two = [run for run, pair in zip(film.runs, pairs, strict=True) if pair]
    if two:
        size, tolerance = ACCELERATION
        said.append(
            f"Run{'s' * (len(two) > 1)} {listed(two[:8])}{' and more' if len(two) > 8 else ''} passed two markers: "
            f"between them a gain of {size - tolerance:g} to {size + tolerance:g} m/s in each second is assumed. A "
            "third passage, the one after lift-off too, tells it."
        )
    return said


def _frames(count: float) -> str:
    return f"{count:g} frame{'s' * (count != 1)}"


def _parallax(setup: FilmSetup) -> np.ndarray:
    return parallax_error(setup.markers, setup.marker_offset, setup.camera, setup.camera_distance).value
