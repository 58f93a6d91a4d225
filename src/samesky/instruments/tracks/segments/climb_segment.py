"""Where in a track is the timed climb, and how fast did it go up?"""

from __future__ import annotations

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import Noise
from samesky.instruments.tracks.segments.segments import Found, choose, looked_at
from samesky.instruments.tracks.segments.steady_rate import UP, SteadySearch, assumed, band_of, heights_of, steady


def timed_climb(
    fixes: Fixes,
    *,
    bottom: float | None = None,
    top: float | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    least_rate: float = 0.5,
    least_gain: float = 60.0,
    settle: float = 10.0,
    window: float = 12.0,
    noise: Noise | None = None,
) -> Found:
    """Climbs of a track, in order of time.

    Parameters
    ----------
    bottom, top : [m] heights between which to time (pressure altitude where the logger has it, else by satellite);
        without them the whole climb counts, less ``settle`` [s] at each end
    expected : number of climbs flown
    between : (start, end) [s] look only there
    least_rate : [m/s] within ``window`` [s] that counts as climbing; lapses up to 5 s are bridged
    least_gain : [m] below which a climb is not listed
    noise : of the height; None takes :data:`.noise.PRESSURE_ALTITUDE` or :data:`.noise.ALTITUDE`

    Returns
    -------
    Found
        segments with ``rate of climb`` [m/s], ``gain`` [m], ``elapsed`` [s], ``from`` and ``to`` [m]; a climb with a
        level-off or a step in it has no values, says so, and stops the choice

    Raises
    ------
    TrackError
        no heights in the track, or ``top`` not above ``bottom``
    """
    part = looked_at(fixes, between)
    height, name, own = heights_of(part, noise, UP.kind)
    asked = SteadySearch(band_of(fixes.source, bottom, top, UP), least_rate, least_gain, settle, window)
    climbs, blocked = steady(part, height, own, UP, asked)
    blocked = blocked if len(climbs) in (0, expected) else ""
    return choose(climbs, expected, UP.many, tuple(assumed(UP, asked, name, own)), blocked)
