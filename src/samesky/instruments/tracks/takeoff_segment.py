"""Where in a track is the take-off roll, where did the wheels leave the ground, and how long was the roll?

The roll begins where the first metres per second, carried back to a standstill, say that the brakes were let go. It
ends where the ground speed passes the lift-off speed, if the pilot gives one, or where the height begins to rise
(:mod:`.lift_off`). What it shares with a landing is in :mod:`.ground_rolls`.
"""

from __future__ import annotations

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, rounding_of_places
from samesky.instruments.tracks.ground_rolls import Limits, Words, found_rolls, rolls_of
from samesky.instruments.tracks.noise import Estimate, Noise
from samesky.instruments.tracks.segments import Found, looked_at

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
    lift_off_speed: Estimate | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    still: float = 1.5,
    flying: float = 15.0,
    least_height: float = 15.0,
    longest: float = 90.0,
    slope: Estimate = Estimate(0.0, 0.005),  # noqa: B008
    rotation: Estimate = Estimate(3.0, 1.0),  # noqa: B008
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
    rotation : [s] from lift-off to a steady climb
    speed_noise, position_noise, height_noise : of the receiver (the last by its kind where None)

    Returns
    -------
    Found
        segments with ``roll`` [m], ``lift-off time`` [s since 1970], ``lift-off ground speed`` [m/s], ``track`` [rad]
        and ``acceleration`` [m/s2]. Touch-and-go landings, running and broken-off take-offs are candidates without
        values, and say so; they are not counted.
    """
    part = looked_at(fixes, between)
    position_noise = position_noise.with_white(rounding_of_places(part))
    height, height_name = part.heights()
    noise = height_noise or (noises.PRESSURE_ALTITUDE if height_name == "pressure altitude" else noises.ALTITUDE)
    rolls, others = rolls_of(
        part, height, Limits(still, flying, least_height, longest), WORDS, (speed_noise, position_noise),
        lambda roll: roll.lift_off(lift_off_speed, height, noise, slope, rotation),
    )  # fmt: skip
    assumptions = (
        f"a take-off goes from below {still:g} m/s past {flying:g} m/s in {longest:g} s, then up {least_height:g} m",
        f"lift-off is where the ground speed passes {lift_off_speed.value:.1f} m/s"
        if lift_off_speed
        else f"lift-off is where the {height_name} begins to rise, with {rotation.value:g} s (standard uncertainty "
        f"{rotation.standard_uncertainty:g} s) from there to a steady climb, and a slope of {slope.value:.1%}",
        f"speed noise: {speed_noise.source}",
        f"height noise: {noise.source}",
    )
    return found_rolls(rolls, others, expected, "take-off rolls", assumptions, "")
