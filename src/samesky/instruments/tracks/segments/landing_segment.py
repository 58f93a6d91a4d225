"""Where in a track is the landing roll, when did the wheels touch the ground, and how long was the roll?

A landing is a take-off with the clock turned round (:mod:`.ground_rolls`): from the standstill back to the touch-down.
What is not mirrored is the touch itself. No jolt shows in a track, and between the end of the flare and the touch the
aeroplane may be held off for some seconds at no height worth speaking of: heights alone leave that open, and it goes
into the uncertainty. A ground speed at touch-down, told by the pilot, leaves less.
"""

from __future__ import annotations

from dataclasses import replace

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, rounding_of_places
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.ground_rolls import (
    Limits,
    Roll,
    Words,
    earlier,
    found_rolls,
    noted,
    rolls_of,
    useless,
)
from samesky.instruments.tracks.segments.lift_off import LiftOff
from samesky.instruments.tracks.segments.segments import Found, Segment, looked_at

WORDS = Words(
    kind="landing roll",
    running="no standstill, slowest at {:.1f} m/s: a touch-and-go, or it taxied off at speed",
    long="more than {:g} s between {:g} m/s and standing: it taxied off, or braked more than once",
    low="never {:g} m up in the minute before: no landing, but a take-off broken off or fast taxying",
    slowed="slow in the 20 s before as well, and no heights to tell: no landing, but fast taxying",
    creeping="crept on at {:.1f} m/s where it should stand: no standstill",
    rolling="rolled on at {:.1f} m/s for some seconds before it stood: braking was not carried on to a standstill",
    turning="turned by {:.0f} deg before it stood: it left the strip rolling",
)


def landing_roll(
    fixes: Fixes,
    *,
    touch_down_speed: TrackEstimate | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    still: float = 1.5,
    flying: float = 15.0,
    least_height: float = 15.0,
    longest: float = 90.0,
    slope: TrackEstimate = TrackEstimate(0.0, 0.005),  # noqa: B008
    flare: TrackEstimate = TrackEstimate(4.0, 1.5),  # noqa: B008
    held_off: TrackEstimate = TrackEstimate(2.0, 2.0),  # noqa: B008
    speed_noise: Noise = noises.SPEED,
    position_noise: Noise = noises.POSITION,
    height_noise: Noise | None = None,
) -> Found:
    """Landing rolls of a track, in order of time.

    Parameters
    ----------
    touch_down_speed : [m/s] over the ground, with its uncertainty; None takes the end of the flare from the heights
    expected : number of landings flown
    between : (start, end) [s] look only there
    still : [m/s] below which the aeroplane counts as standing
    flying : [m/s] that a landing passes, ``longest`` [s] at most before it stands
    least_height : [m] from which it came down in the minute before, or it was no landing
    slope : of the runway in the direction of landing, uphill positive
    flare : [s] from the steady approach to the end of the flare (assumed)
    held_off : [s] from there to the touch of the wheels, which no height shows (assumed; never below zero)
    speed_noise, position_noise, height_noise : of the receiver (the last by its kind where None)

    Returns
    -------
    Found
        segments with ``roll`` [m], ``touch-down time`` [s since 1970], ``touch-down ground speed`` [m/s], ``track``
        [rad] and ``deceleration`` [m/s2] before the standstill. Touch-and-go landings and rolls that end in taxying
        are candidates without values, and say so; they are not counted. A roll known to no better than
        :data:`.ground_rolls.USELESS` keeps its values and is not chosen.
    """
    part = turned_round(looked_at(fixes, between))
    position_noise = position_noise.with_white(rounding_of_places(part))
    height, height_name = part.heights()
    noise = height_noise or (noises.PRESSURE_ALTITUDE if height_name == "pressure altitude" else noises.ALTITUDE)
    uphill = TrackEstimate(-slope.value, slope.standard_uncertainty)

    def touch_down(roll: Roll) -> LiftOff:
        if touch_down_speed is not None:
            return _said_as_landing(roll.lift_off(touch_down_speed, height, noise, uphill, flare))
        flare_end = roll.lift_off(None, height, noise, uphill, flare)
        return _said_as_landing(earlier(roll, flare_end, held_off))

    limits = Limits(still, flying, least_height, longest)
    rolls, others = (
        [_forward(one) for one in found]
        for found in rolls_of(part, height, limits, WORDS, (speed_noise, position_noise), touch_down)
    )
    assumptions = (
        f"a landing comes down {least_height:g} m in a minute, passes {flying:g} m/s and stands (below {still:g} m/s) "
        f"within {longest:g} s",
        f"touch-down is where the ground speed falls through {touch_down_speed.value:.1f} m/s (standard uncertainty "
        f"{touch_down_speed.standard_uncertainty:.1f} m/s)"
        if touch_down_speed
        else f"touch-down is {held_off.value:g} s (standard uncertainty {held_off.standard_uncertainty:g} s) after the "
        f"{height_name} stops falling: how long the aeroplane was held off shows in no height",
        f"speed noise: {speed_noise.source}",
        f"height noise: {noise.source}",
    )
    blocked = useless(rolls, "touch-down", "when the wheels touched")
    return found_rolls(rolls, others, expected, "landing rolls", assumptions, blocked)


def turned_round(fixes: Fixes) -> Fixes:
    """The same track with its clock running backwards, from the negative of its last time; directions as they were."""
    back = fixes.select(slice(None, None, -1))
    return replace(back, time=-back.time)


def _said_as_landing(touch: LiftOff) -> LiftOff:
    note = touch.note.replace("where the aeroplane lifted off", "where the aeroplane touched down")
    note = note.replace("lift-off speed", "speed at touch-down").replace("lift-off", "touch-down")
    note = note.replace("the track begins faster", "the aeroplane stood still, or the track ends, faster")
    return replace(touch, note=note.replace("does not grow", "does not fall"))


def _forward(backwards: Segment) -> Segment:
    """A segment of the track turned round, with the clock as it ran."""
    values = dict(backwards.values)
    if values:
        time = values.pop("lift-off time")
        values["touch-down time"] = TrackEstimate(-time.value, time.standard_uncertainty)
        values["touch-down ground speed"] = values.pop("lift-off ground speed")
        values["deceleration"] = values.pop("acceleration")
    forward = replace(backwards, start=-backwards.end, end=-backwards.start, values=values)
    return noted(forward, "touch-down")
