"""What did the receiver see? Tracks of satellite receivers: GPX 1.1, NMEA 0183 and FAI IGC files.

`read_track` reads a file; `level_legs`, `timed_climb`, `idle_descent`, `takeoff_roll`, `ground_acceleration` and
`landing_roll` find in it what a campaign needs, each with its uncertainty, what was assumed, and the other candidates.
"""

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.read import read_track
from samesky.instruments.tracks.segments.climb_segment import timed_climb
from samesky.instruments.tracks.segments.descent_segment import idle_descent
from samesky.instruments.tracks.segments.gain_of_speed import ground_acceleration
from samesky.instruments.tracks.segments.landing_segment import landing_roll
from samesky.instruments.tracks.segments.level_legs import level_legs
from samesky.instruments.tracks.segments.segments import Found, Segment
from samesky.instruments.tracks.segments.takeoff_segment import takeoff_roll

__all__ = [
    "Fixes",
    "Found",
    "Noise",
    "Segment",
    "TrackError",
    "TrackEstimate",
    "ground_acceleration",
    "idle_descent",
    "landing_roll",
    "level_legs",
    "read_track",
    "takeoff_roll",
    "timed_climb",
]
