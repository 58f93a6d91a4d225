"""What does the wind do on this strip now, and do the limits hold?

Plane components of the wind (:func:`samesky.air.wind.components`). Directions are **true**, as ``[runway]`` heading is
and as weather reports are; what a tower says by voice, and the numbers painted on a runway, are magnetic (common
practice). ``variation`` turns a magnetic direction into a true one.

A gust is taken to come from where the wind does. A limit of safety (crosswind, tailwind) is held against the gust; one
that keeps a correction small (headwind) against the mean wind, which is what a run's headwind is.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.air import wind
from samesky.apron import catalogue as say
from samesky.apron.fields import Direction, believable, bounded, strip, unit_of, wrong
from samesky.apron.limits import OWN, PAPERS, LimitNow, Now, all_hold, held, own, scrub_bounds
from samesky.campaign.model.campaign import Campaign, Runway
from samesky.planning.plan import Plan

#: Largest magnetic variation that is believed [rad] (assumed: 60 degrees, beyond any aerodrome in use).
MOST_VARIATION = math.radians(60.0)
#: Steps in a range of directions; the worst case is moreover looked for where it can only lie.
_STEPS = 181
CAUTION = (
    "A wind sock shows the wind where it stands. The crosswind and tailwind limits of the aircraft's papers, and the "
    "pilot's own, come before any limit here; where one does not hold, the run is not flown."
)
TRUE = "Directions are true, as the runway's heading under Question is; add an easterly variation to a magnetic one."


@dataclass(frozen=True, slots=True)
class WindNow:
    """The wind along and across a strip.

    Attributes
    ----------
    runway : name of the strip
    speed, gust : [m/s]; without a gust None
    directions : lowest and highest direction to be reckoned with [rad, true, clockwise]; None for every one
    headwind, crosswind : of the mean wind, lowest and highest over the directions [m/s]; a negative headwind is a
        tailwind, a positive crosswind comes from the right. None where the strip's heading is not known
    gust_headwind, gust_crosswind : the same in the gust; None without one
    side : ``"right"``, ``"left"``, ``"either side"``, ``"none"``; empty where not known
    limits : every limit on the wind; ``holds`` whether all do (None where one cannot be told, or there is none)
    sentences : ready to read, in the pilot's units
    """

    runway: str
    speed: float
    gust: float | None
    directions: tuple[float, float] | None
    headwind: Now
    crosswind: Now
    gust_headwind: Now
    gust_crosswind: Now
    side: str
    limits: tuple[LimitNow, ...]
    holds: bool | None
    sentences: tuple[str, ...]
    notes: tuple[str, ...] = (TRUE,)
    caution: str = CAUTION


def wind_now(
    campaign: Campaign,
    speed: float,
    from_direction: Direction,
    gust: float | None = None,
    runway: str | None = None,
    variation: float = 0.0,
    plan: Plan | None = None,
) -> WindNow:
    """Headwind, crosswind and gust components, and whether the limits on them hold.

    Parameters
    ----------
    speed, gust : mean and strongest wind [m/s]
    from_direction : where it comes from [rad]: one direction, or two with every one from the first clockwise to the
        second (the worst of them counts), or None for a wind from anywhere
    runway : name of the strip; by default that of ``[plan]``, or the campaign's only one
    variation : to add to ``from_direction`` where that is magnetic [rad, east positive]
    plan : whose limits to scrub at are held too

    Raises
    ------
    CampaignError : a field that is missing, contradictory or beyond belief
    """
    unit = unit_of(campaign, ("headwind", "gust", "crosswind", "airspeed"), "speed", "kt")
    speed = bounded("wind", speed, 0.0, 40.0, unit, "speed")
    if gust is not None:
        gust = believable("gust", gust, unit)
        if gust < speed - 1e-9:
            found, mean = (units.show(value, unit, "speed", 1) for value in (gust, speed))
            raise wrong("gust", say.APRON_GUST_BELOW_WIND(found=found, mean=mean))
    variation = bounded("variation", variation, -MOST_VARIATION, MOST_VARIATION, "deg", "angle")
    ends = _directions(from_direction, variation)
    place = strip(campaign, runway)
    if place is None and campaign.runways:
        raise wrong("runway", say.APRON_RUNWAY_NEEDED())
    grid = _grid(ends, place)
    head, cross = _components(speed, grid, place)
    gusty = (None, None) if gust is None else _components(gust, grid, place)

    def shown(value: float) -> str:
        return units.show(value, unit, "speed", 1)

    limits = _limits(campaign, plan, (speed, gust), (head, cross), gusty, _why(place), shown)
    return WindNow(
        runway="" if place is None else place.name,
        speed=speed,
        gust=gust,
        directions=ends,
        headwind=head,
        crosswind=cross,
        gust_headwind=gusty[0],
        gust_crosswind=gusty[1],
        side=_side(cross),
        limits=limits,
        holds=all_hold(limits),
        sentences=_sentences(place, head, cross, gusty, limits, shown),
    )


def _directions(given: Direction, variation: float) -> tuple[float, float] | None:
    """Lowest and highest direction [rad, true], the second never below the first; None for every one."""
    if given is None:
        return None
    pair = given if isinstance(given, tuple) else (given, given)
    for end in pair:
        bounded("wind from", end, -2 * math.pi, 2 * math.pi, "deg", "angle")
    low = (pair[0] + variation) % (2 * math.pi)
    return low, low + (pair[1] - pair[0]) % (2 * math.pi)


def _grid(ends: tuple[float, float] | None, place: Runway | None) -> np.ndarray | None:
    """Directions [rad] on which the extremes lie: a fine range, with every quarter off the strip inside it."""
    if place is None or place.heading is None:
        return None
    low, high = (0.0, 2 * math.pi) if ends is None else ends
    quarters = place.heading + 0.5 * math.pi * np.arange(-8, 9)
    inside = quarters[(quarters >= low) & (quarters <= high)]
    return np.concatenate([np.linspace(low, high, 1 if low == high else _STEPS), inside])


def _components(speed: float, grid: np.ndarray | None, place: Runway | None) -> tuple[Now, Now]:
    if grid is None:
        return None, None
    return tuple((float(part.min()), float(part.max())) for part in wind.components(speed, grid, place.heading))


def _why(place: Runway | None) -> str:
    if place is None:
        return "no runway is entered under Question"
    return f"the heading of {place.name} is not entered under Question"


def _limits(
    campaign: Campaign,
    plan: Plan | None,
    winds: tuple[float, float | None],
    mean: tuple[Now, Now],
    gusty: tuple[Now, Now],
    why: str,
    shown: Callable[[float], str],
) -> tuple[LimitNow, ...]:
    speed, gust = winds
    head = mean[0]
    hardest_head, hardest_cross = (second or first for first, second in zip(mean, gusty, strict=True))
    across = None if hardest_cross is None else _sizes(hardest_cross)
    tail = None if hardest_head is None else (-hardest_head[1], -min(hardest_head[0], head[0]))
    in_gust = " in the gust" if gust is not None else ""
    found = [
        held(f"crosswind{in_gust}", OWN, own(campaign, "crosswind"), across, shown, why),
        held(f"tailwind{in_gust}", OWN, own(campaign, "tailwind"), tail, shown, why),
        held("headwind", OWN, own(campaign, "headwind"), head, shown, why),
        held("gust", OWN, own(campaign, "gust"), (gust or speed,) * 2, shown),
    ]
    papers = None if campaign.plan is None else campaign.plan.crosswind_limit
    found.append(held(f"crosswind{in_gust}", PAPERS, (None, papers), across, shown, why))
    for limit, whose in scrub_bounds(plan, ("headwind", "gust spread")):
        if limit.condition == "headwind":
            found.append(held("headwind", whose, (limit.low, limit.high), head, shown, why))
        else:
            spread = max((gust or speed) - speed, 0.0)
            found.append(held("gust less mean wind", whose, (None, limit.high), (spread, spread), shown))
    return tuple(limit for limit in found if limit is not None)


def _sizes(ends: tuple[float, float]) -> tuple[float, float]:
    """Lowest and highest size of a component between these ends."""
    low, high = sorted(map(abs, ends))
    return (0.0 if ends[0] <= 0.0 <= ends[1] else low), high


def _side(cross: Now) -> str:
    if cross is None:
        return ""
    low, high = (0.0 if abs(end) < 0.005 else end for end in cross)
    if low == high == 0.0:
        return "none"
    return "right" if low >= 0 else "left" if high <= 0 else "either side"


def _sentences(
    place: Runway | None,
    head: Now,
    cross: Now,
    gusty: tuple[Now, Now],
    limits: tuple[LimitNow, ...],
    shown: Callable[[float], str],
) -> tuple[str, ...]:
    if head is None:
        said = [f"Components are not known: {_why(place)}."]
    else:
        said = [f"On {place.name}: {_along(head, shown)}, {_across(cross, shown)}."]
        if gusty[0] is not None:
            said.append(f"In the gust: {_along(gusty[0], shown)}, {_across(gusty[1], shown)}.")
    return (*said, *(limit.says for limit in limits))


def _along(ends: tuple[float, float], shown: Callable[[float], str]) -> str:
    words = ["tailwind" if end < -0.005 else "headwind" for end in ends]
    sizes = [shown(abs(end)) for end in ends]
    if words[0] != words[1]:
        return f"{words[0]} {sizes[0]} to {words[1]} {sizes[1]}"
    sizes = sizes if words[0] == "headwind" else sizes[::-1]
    return f"{words[0]} {sizes[0]}" + ("" if sizes[0] == sizes[1] else f" to {sizes[1]}")


def _across(ends: tuple[float, float], shown: Callable[[float], str]) -> str:
    low, high = _sizes(ends)
    side = _side(ends)
    if side == "none":
        return "no crosswind"
    size = shown(high) if shown(low) == shown(high) else f"{shown(low)} to {shown(high)}"
    return f"crosswind {size} from {'the ' + side if side in ('right', 'left') else side}"
