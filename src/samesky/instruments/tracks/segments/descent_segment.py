"""Where in a track is the descent at idle, and how fast did it go down?

A track shows height and no throttle: a powered approach at a steady rate looks like a descent at idle. So nothing is
chosen until the pilot has said between which times the throttle was closed, and times that leave most of what was flown
open do not say it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import Noise
from samesky.instruments.tracks.segments.segments import Found, Segment, choose, looked_at
from samesky.instruments.tracks.segments.steady_rate import DOWN, SteadySearch, assumed, band_of, heights_of, steady

#: Seconds for each descent that the times told may leave over beside the descents themselves (assumed).
LOOSE = 300.0
#: Descents of one setting sink alike: the fastest no more than this many times as fast as the slowest (assumed).
ALIKE = 1.4


def idle_descent(
    fixes: Fixes,
    *,
    top: float | None = None,
    bottom: float | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    least_rate: float = 0.5,
    least_loss: float = 60.0,
    settle: float = 10.0,
    window: float = 12.0,
    noise: Noise | None = None,
) -> Found:
    """Descents at idle of a track, in order of time; chosen only between times told.

    Parameters
    ----------
    top, bottom : [m] heights between which to time (pressure altitude where the logger has it, else by satellite);
        without them the whole descent counts, less ``settle`` [s] at each end
    expected : number of descents flown at idle
    between : (start, end) [s] within which the throttle was closed for the descents; None chooses nothing
    least_rate : [m/s] within ``window`` [s] that counts as descending; lapses up to 5 s are bridged
    least_loss : [m] below which a descent is not listed
    noise : of the height; None takes :data:`.noise.PRESSURE_ALTITUDE` or :data:`.noise.ALTITUDE`

    Returns
    -------
    Found
        segments with ``rate of descent`` [m/s], ``loss`` [m] of height, both positive, ``elapsed`` [s], ``from`` and
        ``to`` [m]; a descent with a level-off or a change of power in it has no values, says so, and stops the choice

    Raises
    ------
    TrackError
        no heights in the track, or ``top`` not above ``bottom``
    """
    part = looked_at(fixes, between)
    height, name, own = heights_of(part, noise, DOWN.kind)
    asked = SteadySearch(band_of(fixes.source, bottom, top, DOWN), least_rate, least_loss, settle, window)
    descents, blocked = steady(part, height, own, DOWN, asked)
    assumptions = assumed(DOWN, asked, name, own)
    throttle = (
        "no track shows the throttle: that it was closed from the first to the last second rests on the times told"
    )
    assumptions.insert(2, throttle)
    blocked = blocked if len(descents) in (0, expected) else ""
    found = choose(descents, expected, DOWN.many, tuple(assumptions), blocked)
    why_not = "" if found.ambiguous else _power_unknown(part, descents, between)
    return replace(found, chosen=(), ambiguous=True, reason=f"{found.reason}, but {why_not}") if why_not else found


def _power_unknown(part: Fixes, descents: list[Segment], between: tuple[float, float] | None) -> str:
    """Why nothing says that these descents were flown at idle; blank where the pilot's times do."""
    ask = "say between which times the throttle was closed"
    if between is None:
        return f"a track shows height and no throttle, and a powered approach looks the same: {ask}"
    span = min(between[1], float(part.time.max())) - max(between[0], float(part.time.min()))
    over = span - sum(one.duration for one in descents)
    if over > LOOSE * len(descents):
        return (
            f"the times told hold {over / 60:.0f} minutes beside: too many to tell a descent at idle from a powered "
            f"one; {ask}, or take them one by one"
        )
    rates = np.array([one.values[DOWN.rate].value for one in descents])
    if rates.max() > ALIKE * rates.min():
        return (
            f"they sink at {rates.min():.1f} to {rates.max():.1f} m/s, and at one idle setting they should sink alike: "
            f"{ask}, or take them one by one"
        )
    return ""
