"""Which finder serves which measure, what air do its heights need, and which error sources do its runs have?

One finder and one set of error sources for each measure that a track can fill (:data:`MEASURED`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.evidence.day_air import DayAir, air_of_day
from samesky.evidence.run_file import RunFile
from samesky.evidence.stated_sources import StatedSource
from samesky.evidence.tracks.rows import local
from samesky.evidence.tracks.runs import (
    BAROMETER_LEVEL,
    TrackRun,
    band_run,
    band_sources,
    gain_run,
    gain_sources,
    height_noise,
    legs_run,
    legs_sources,
    roll_run,
    roll_sources,
)  # fmt: skip
from samesky.instruments.airspeed_indicator import KNOT
from samesky.instruments.tracks import (  # fmt: skip
    Fixes,
    Found,
    ground_acceleration,
    idle_descent,
    landing_roll,
    level_legs,
    takeoff_roll,
    timed_climb,
)
from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.leg_sets import choose_sets
from samesky.instruments.tracks.segments.level_legs import MOST_WORKED_OUT
from samesky.measures import MEASURES, power

#: Measures that a track can fill, and what it finds for them.
MEASURED = {
    "timed_climb": "climb",
    "idle_descent": "descent",
    "level_speed": "set of level legs",
    "takeoff_roll": "take-off roll",
    "landing_roll": "landing roll",
    "ground_acceleration": "acceleration",
}
#: Those timed through a band of pressure altitude, and those that are a length on the ground, by their finders.
BANDS = {"timed_climb": timed_climb, "idle_descent": idle_descent}
ROLLS = {"takeoff_roll": takeoff_roll, "landing_roll": landing_roll}
#: Those that need no heights but to tell a take-off from taxying.
ON_THE_GROUND = (*ROLLS, "ground_acceleration")
#: Ground speeds [m/s] between which an acceleration is timed where neither runs nor plan nor pilot name others.
USUAL_MARKS = (10 * KNOT, 25 * KNOT)
#: Standard uncertainty of a strip's slope as the campaign states it (assumed).
SLOPE = 0.002


@dataclass(frozen=True, slots=True)
class TrackRequest:
    """What is looked for in a part of a track: as in :func:`samesky.evidence.tracks.propose.propose`.

    ``speed`` is that over the ground at lift-off or touch-down; ``by_satellite`` says that heights are not by pressure;
    ``marks`` are the ground speeds between which an acceleration is timed.
    """

    campaign: Campaign
    measure: str
    file: RunFile
    expected: int
    between: tuple[float, float] | None
    band: tuple[float, float] | None
    legs: int | None
    speed: TrackEstimate | None
    by_satellite: bool
    marks: tuple[float, float] | None = None


def runs_of(asked: TrackRequest, part: Fixes, air: DayAir | None) -> tuple[Found, list[TrackRun], list[StatedSource]]:
    """What the finder of the measure found, the runs made of it, and their error sources."""
    if asked.measure in BANDS:
        found, runs = _through_band(asked, part)
        exponent = _by_temperature(asked)
        return found, runs, band_sources(runs, asked.file, height_noise(asked.by_satellite), air, exponent)
    if asked.measure in ROLLS:
        found, runs = _rolls(asked, part)
        return found, runs, roll_sources(runs, asked.file, noises.SPEED)
    if asked.measure == "ground_acceleration":
        found, runs = _gains(asked, part)
        return found, runs, gain_sources(runs, asked.file, noises.SPEED)
    noise = noises.SPEED if part.computed.mean() < MOST_WORKED_OUT else noises.POSITION
    found, runs = _legs(part, asked.expected, asked.legs, air, noise if noise is noises.POSITION else None)
    return found, runs, legs_sources(runs, asked.file, noise, asked.by_satellite)


def _by_temperature(asked: TrackRequest) -> float:
    """Exponent of density in a rate when the temperature changes at one pressure."""
    one = asked.campaign.asked.get(asked.measure)
    of = (MEASURES[asked.measure] if one is None else one.measure).coefficient_values()
    return of[power.DENSITY] - of.get(power.POWER, 0.0) * of.get(power.TEMPERATURE, 0.0)


def air_for(asked: TrackRequest, part: Fixes, offset: float, oat: float | None, qnh: float | None) -> DayAir:
    """The air in which these runs were flown: in the middle of the band, else of what the track shows."""
    through = asked.measure in BANDS
    candidates = (BANDS[asked.measure] if through else level_legs)(part).candidates
    columns = ("from", "to") if through else ("altitude",)
    heights = [one.values[column].value for one in candidates for column in columns if column in one.values]
    moment = local(candidates[0].start if candidates else float(part.time[0]), offset)
    hours = moment.hour + moment.minute / 60 + moment.second / 3600
    height = float(np.mean(heights)) if heights else float(np.nanmedian(part.altitude))
    middle = 0.5 * (asked.band[0] + asked.band[1]) if through and asked.band is not None else None
    return air_of_day(asked.campaign, moment.date(), hours, height, oat, qnh, middle)


def _through_band(asked: TrackRequest, part: Fixes) -> tuple[Found, list[TrackRun]]:
    find, what = BANDS[asked.measure], MEASURED[asked.measure]
    bottom, top = asked.band if asked.band is not None else (None, None)
    known = {"expected": asked.expected, "between": asked.between, "noise": height_noise(asked.by_satellite)}
    found = find(part, bottom=bottom, top=top, **known)
    if asked.band is None or found.candidates:
        return found, [band_run(one) for one in found.chosen]
    unit = asked.file.unit("from")[0]
    ends = tuple(units.show(end, unit, "length", 0) for end in (bottom, top)[:: 1 if what == "climb" else -1])
    whole = find(part, **known).candidates
    seen = [
        " to ".join(units.show(one.values[end].value, unit, "length", 0) for end in ("from", "to"))
        for one in whole
        if one.values
    ]
    reason = f"no {what} covers {ends[0]} to {ends[1]} of pressure altitude; "
    reason += f"there are {what}s from {listed(seen)}" if seen else "there is none"
    return Found((), whole, True, reason, found.assumptions), []


def _legs(
    part: Fixes, expected: int, legs: int | None, air: DayAir | None, wandering: Noise | None
) -> tuple[Found, list[TrackRun]]:
    found = level_legs(part)
    sets, reason = choose_sets(found, expected, legs)
    chosen = tuple(leg for one in sets for leg in one)
    found = Found(chosen, found.candidates, not sets, reason, found.assumptions)
    return found, [legs_run(one, _altitude(one, air), wandering) for one in sets]


def _altitude(legs, air: DayAir | None) -> TrackEstimate | None:
    heights = [leg.values["altitude"].value for leg in legs if "altitude" in leg.values]
    if len(heights) < len(legs):
        return None
    mean = float(np.mean(heights))
    own = BAROMETER_LEVEL
    if air is not None:
        own = float(np.hypot(noises.ALTITUDE.standard_deviation, air.altitude_uncertainty(mean)))
    return TrackEstimate(mean, own)


def _rolls(asked: TrackRequest, part: Fixes) -> tuple[Found, list[TrackRun]]:
    strips = asked.campaign.runways
    slopes = {strip.slope for strip in strips.values() if strip.slope is not None}
    known = {"slope": TrackEstimate(slopes.pop(), SLOPE)} if len(slopes) == 1 and len(strips) == 1 else {}
    known["touch_down_speed" if asked.measure == "landing_roll" else "lift_off_speed"] = asked.speed
    found = ROLLS[asked.measure](part, expected=asked.expected, **known)
    return found, [roll_run(one) for one in found.chosen]


def _gains(asked: TrackRequest, part: Fixes) -> tuple[Found, list[TrackRun]]:
    first, second = asked.marks or marks_of(asked.campaign)
    found = ground_acceleration(part, first=first, second=second, expected=asked.expected)
    return found, [gain_run(one, first, second) for one in found.chosen]


def marks_of(campaign: Campaign) -> tuple[float, float]:
    """Ground speeds [m/s] of the runs that are there, else of the plan, else usual ones."""
    name, columns = "ground_acceleration", ("first ground speed", "second ground speed")
    table, plan = campaign.tables.get(name), campaign.plan
    if table is not None and table.included.any():
        return tuple(float(np.mean(table.columns[one][table.included])) for one in columns)
    expected = {} if plan is None or name not in plan.measures else plan.measures[name].expected
    return tuple(expected.get(one, usual) for one, usual in zip(columns, USUAL_MARKS, strict=True))
