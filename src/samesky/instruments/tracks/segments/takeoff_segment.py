"""Where in a track is the take-off roll, where did the wheels leave the ground, and how long was the roll?

The roll begins where the first metres per second, carried back to a standstill, say that the brakes were let go. It
ends where the ground speed passes the lift-off speed, if the pilot gives one. Without it the heights are asked
(:mod:`.lift_off`), and they know little: between the wheels leaving the ground and a rise that a height shows, an
aeroplane that is flown off gently stays low for some seconds, at 25 m each. A roll known worse than
:data:`TOO_LITTLE` of itself is then not chosen, and the speed is asked for. What it shares with a landing is in
:mod:`.ground_rolls`.
"""

from __future__ import annotations

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, rounding_of_places
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.ground_rolls import (
    USELESS,
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
from samesky.instruments.tracks.segments.segments import Found, looked_at

#: Share of itself (95 %) beyond which a roll whose lift-off the heights alone tell is not chosen (assumed).
TOO_LITTLE = 0.25
WORDS = Words(
    kind="take-off roll",
    running="no standstill, slowest at {:.1f} m/s: a running take-off or a touch-and-go",
    long="more than {:g} s from standing to {:g} m/s: not one acceleration",
    low="never {:g} m up within a minute: a take-off broken off, or fast taxying",
    slowed="slow again within 20 s, and no heights to tell: a take-off broken off, or fast taxying",
    creeping="creeping at {:.1f} m/s where it should stand: a running take-off",
    rolling="rolled on at {:.1f} m/s for some seconds before it gathered speed: a running take-off",
    turning="turned by {:.0f} deg on the way from standing: the roll began before the line-up, or was no roll",
)


def takeoff_roll(
    fixes: Fixes,
    *,
    lift_off_speed: TrackEstimate | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    still: float = 1.5,
    flying: float = 15.0,
    least_height: float = 15.0,
    longest: float = 90.0,
    slope: TrackEstimate = TrackEstimate(0.0, 0.005),  # noqa: B008
    rotation: TrackEstimate = TrackEstimate(3.0, 1.0),  # noqa: B008
    held_low: TrackEstimate = TrackEstimate(2.0, 2.0),  # noqa: B008
    speed_noise: Noise = noises.SPEED,
    position_noise: Noise = noises.POSITION,
    height_noise: Noise | None = None,
) -> Found:
    """Take-off rolls of a track, in order of time.

    Parameters
    ----------
    lift_off_speed : [m/s] over the ground, with its uncertainty; None finds the lift-off in the heights
    expected : number of take-offs flown
    between : (start, end) [s] look only there
    still : [m/s] below which the aeroplane counts as standing
    flying : [m/s] that a take-off passes, within ``longest`` [s] of standing
    least_height : [m] to be gained within a minute after that, or it was no take-off
    slope : of the runway in the direction of take-off, uphill positive
    rotation : [s] from where it begins to rise to a steady climb
    held_low : [s] from lift-off to there, which no height shows (assumed: 0 to 8 s, a mean of 0.5 s where it is hauled
        off and of 3 s where it is flown off, in a simulation of wings and hands)
    speed_noise, position_noise, height_noise : of the receiver (the last by its kind where None)

    Returns
    -------
    Found
        segments with ``roll`` [m], ``lift-off time`` [s since 1970], ``lift-off ground speed`` [m/s], ``track`` [rad]
        and ``acceleration`` [m/s2]. Touch-and-go landings, running and broken-off take-offs are candidates without
        values, and say so; they are not counted. A roll by the heights alone that is known worse than
        :data:`TOO_LITTLE` keeps its values and is not chosen.
    """
    part = looked_at(fixes, between)
    position_noise = position_noise.with_white(rounding_of_places(part))
    height, height_name = part.heights()
    noise = height_noise or (noises.PRESSURE_ALTITUDE if height_name == "pressure altitude" else noises.ALTITUDE)

    def left(roll: Roll) -> LiftOff:
        found = roll.lift_off(lift_off_speed, height, noise, slope, rotation)
        return found if lift_off_speed is not None else earlier(roll, found, held_low)

    limits = Limits(still, flying, least_height, longest)
    rolls, others = rolls_of(part, height, limits, WORDS, (speed_noise, position_noise), left)
    most = USELESS if lift_off_speed is not None else TOO_LITTLE
    rolls = [noted(roll, "lift-off", most) for roll in rolls]
    assumptions = (
        f"a take-off goes from below {still:g} m/s past {flying:g} m/s in {longest:g} s, then up {least_height:g} m",
        f"lift-off is where the ground speed passes {lift_off_speed.value:.1f} m/s"
        if lift_off_speed
        else f"lift-off is {held_low.value:g} s (standard uncertainty {held_low.standard_uncertainty:g} s) before the "
        f"{height_name} begins to rise, with {rotation.value:g} s (standard uncertainty "
        f"{rotation.standard_uncertainty:g} s) from there to a steady climb, and a slope of {slope.value:.1%}: how "
        "long it was held low shows in no height",
        f"speed noise: {speed_noise.source}",
        f"height noise: {noise.source}",
    )
    blocked = useless(rolls, "lift-off", "when the wheels left the ground", most)
    return found_rolls(rolls, others, expected, "take-off rolls", assumptions, blocked)
