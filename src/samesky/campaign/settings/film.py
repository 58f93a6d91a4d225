"""What does ``[film]`` of ``campaign.toml`` say of how rolls were filmed?

Bounds are wide (assumed): they catch a slip of the pen or of the unit.
"""

from __future__ import annotations

import math
from dataclasses import fields

import numpy as np

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import briefly, quoted
from samesky.campaign.toml.section import Section
from samesky.instruments.roll_film import FilmSetup
from samesky.measures.filmed_rolls import MOST_MARKERS

#: Furthest [m] from the start line that anything may stand.
FURTHEST = 5_000.0
#: Closest [m] that two markers may stand to each other: closer ones tell no speed.
CLOSEST = 1.0
_EXAMPLE = 'For example: markers = ["90 m", "120 m", "150 m"]'
_LINES = 'With lines across the strip in place of markers write marker_offset = "0 m" and nothing of the camera.'
_ASKED = {
    "marker offset": "How far beyond the line that the wheels roll on does the row of markers stand, as the camera "
    "sees it? On the camera's side negative.",
    "camera": f"Where along the strip did the camera stand, measured from the start line? {_LINES}",
    "camera distance": f"How far from the line that the wheels roll on did the camera stand? {_LINES}",
}
#: Distance [m] of a camera that has no parallax.
FAR = 1e9


def film_setup(top: Section) -> FilmSetup | None:
    """How rolls were filmed; None where the table is absent, or has an error."""
    section = top.section("film")
    if not section.names():
        return None
    needed = "Count it on a film of a running clock, or take it from the film's own properties, not from the menu."
    if "frame rate" not in section:
        section.missing("frame rate", f"{needed} For example: frame_rate = 59.94")
    rate = section.number("frame rate", 1.0, 10_000.0)
    markers = _markers(section)
    offset = section.quantity("marker offset", "length", -FURTHEST, FURTHEST, _ASKED["marker offset"])
    lines = offset == 0.0 and "camera" not in section and "camera distance" not in section
    asked = {name: "" if lines else _ASKED[name] for name in ("camera", "camera distance")}
    camera = section.quantity("camera", "length", -FURTHEST, FURTHEST, asked["camera"])
    distance = section.quantity("camera distance", "length", 0.5, 2_000.0, asked["camera distance"])
    readout = section.quantity("readout", "time", 0.0, 0.2)
    frames = {name: section.number(name, 0.0, 500.0) for name in ("passage tolerance", "lift off tolerance")}
    lengths = {
        name: section.quantity(name, "length", 0.0, 100.0)
        for name in ("marker tolerance", "camera tolerance", "line tolerance", "start tolerance")
    }
    share = section.quantity("frame rate tolerance", "fraction", 0.0, 0.2)
    section.report_unknown()
    if lines and markers is not None:
        # A line across the strip is passed where the wheels cross it, wherever the camera stands.
        camera, distance = float(np.mean(markers)), FAR
    if rate is None or markers is None or offset is None or camera is None or distance is None:
        return None
    if distance + offset < CLOSEST:
        section.error("marker offset", say.FILM_MARKER_BEHIND_CAMERA(distance=distance))
        return None
    astray = [_usual(name) if value is None else value for name, value in lengths.items()]
    if sum(astray[:3]) >= min(distance, distance + offset):
        section.error("camera distance", say.FILM_CAMERA_TOO_NEAR(distance=distance))
        return None
    given = {"readout": readout, "frame rate tolerance": share, **frames, **lengths}
    return FilmSetup(
        frame_rate=rate, markers=markers, marker_offset=offset, camera=camera, camera_distance=distance,
        **{name.replace(" ", "_"): value for name, value in given.items() if value is not None},
    )  # fmt: skip


def _usual(name: str) -> float:
    """What is taken where the entry is not written."""
    return next(float(one.default) for one in fields(FilmSetup) if one.name == name.replace(" ", "_"))  # type: ignore[arg-type] # those of film's tolerances all have one


def _markers(section: Section) -> np.ndarray | None:
    """The places of the markers; None where there are too few, or one cannot be read."""
    value = section.raw("markers")
    if value is None:
        section.missing("markers", f"Where do they stand, measured from the start line along the strip? {_EXAMPLE}")
        return None
    if not isinstance(value, list) or not 2 <= len(value) <= MOST_MARKERS:
        found = f"a list of {len(value)}" if isinstance(value, list) else quoted(value)
        section.error("markers", say.FILM_MARKERS_NO_LIST(found=found, most_markers=MOST_MARKERS))
        return None
    places = []
    for text in value:
        try:
            places.append(units.parse(text, "length") if isinstance(text, str) else math.nan)
        except units.UnitError as error:
            section.error("markers", say.FILM_MARKER_UNIT(text=quoted(text), error=briefly(error)))
            return None
        if not abs(places[-1]) <= FURTHEST:
            section.error("markers", say.FILM_MARKER_TOO_FAR(text=quoted(text), furthest=FURTHEST))
            return None
    for before, after, this, next_ in zip(places, places[1:], value, value[1:], strict=False):
        if after - before < CLOSEST:
            what = "coincide" if abs(after - before) < 1e-9 else "do not rise" if after < before else "are too close"
            section.error(
                "markers", say.FILM_MARKERS_TOO_CLOSE(this=quoted(this), next=quoted(next_), what=what, closest=CLOSEST)
            )
            return None
    return np.array(places)
