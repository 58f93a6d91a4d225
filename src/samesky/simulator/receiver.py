"""What does a satellite receiver make of a flight?

Each reading wanders about the truth as a first-order Gauss-Markov process, here in its exact recursion x' = r x +
s sqrt(1 - r^2) e with r = exp(-dt/tau) (R. G. Brown and P. Y. C. Hwang, Introduction to Random Signals and Applied
Kalman Filtering), with white noise on top where there is any; sizes by default those that
:mod:`samesky.instruments.tracks.noise` takes them for. Fixes may be missing. Places are laid out over the WGS 84
ellipsoid step by step.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import ECCENTRICITY_SQUARED, SEMI_MAJOR_AXIS, Fixes, build
from samesky.instruments.tracks.noise import Noise
from samesky.simulator.motion.sortie import Sortie

#: Where and when an invented flight begins: latitude and longitude [rad], 9 May 2026, 06:00 UTC [s since 1970].
PLACE, BEGIN = (np.radians(46.0), np.radians(9.0)), 1_778_306_400.0


@dataclass(frozen=True, slots=True)
class Receiver:
    """A receiver and what it does to the truth.

    Attributes
    ----------
    rate : fixes a second [1/s]
    speed, position : noise along one axis [m/s], [m]
    height : of the height by satellite [m]; barometer : of the pressure altitude [m], None without a barometer
    dropouts : silences of two to four seconds
    begin : clock of the flight's first moment [s since 1970-01-01 UTC]
    """

    rate: float = 1.0
    speed: Noise = noises.SPEED
    position: Noise = noises.POSITION
    height: Noise = noises.ALTITUDE
    barometer: Noise | None = None
    dropouts: int = 0
    begin: float = BEGIN

    def see(self, flight: Sortie, rng: np.random.Generator) -> Fixes:
        """The flight as this receiver records it, in fixes."""
        moment = np.arange(0.0, flight.time[-1], 1 / self.rate)
        along, across = wander(rng, moment, self.speed), wander(rng, moment, self.speed)
        forward = flight.at(moment, "ground_speed") + along
        latitude, longitude = _places(flight, moment, *(wander(rng, moment, self.position) for _ in range(2)))
        level = None
        if self.barometer is not None:
            level = flight.at(moment, "pressure_altitude") + wander(rng, moment, self.barometer)
        columns = [
            moment + self.begin,
            latitude,
            longitude,
            flight.at(moment, "height") + wander(rng, moment, self.height),
            np.hypot(forward, across),
            (flight.at(moment, "track") + np.arctan2(across, np.maximum(forward, 0.3))) % (2 * np.pi),
        ]
        kept = np.ones(moment.size, dtype=bool)
        for start in rng.uniform(0.0, flight.time[-1], self.dropouts):
            kept &= (moment < start) | (moment > start + rng.uniform(2.0, 4.0))
        clock, latitude, longitude, height, speed, track = (column[kept] for column in columns)
        return build(
            clock,
            latitude,
            longitude,
            height,
            pressure_altitude=None if level is None else level[kept],
            ground_speed=speed,
            track=track,
            source="simulated receiver",
        )


def wander(rng: np.random.Generator, moment: np.ndarray, noise: Noise) -> np.ndarray:
    """Noise at evenly spaced moments (n,) [s], in the unit of ``noise``."""
    from scipy.signal import lfilter

    keep = np.exp(-(moment[1] - moment[0]) / noise.correlation_time)
    fresh = rng.standard_normal(moment.size) * noise.standard_deviation
    fresh[1:] *= np.sqrt(1 - keep**2)
    return lfilter([1.0], [1.0, -keep], fresh) + noise.white * rng.standard_normal(moment.size)


def gpx(fixes: Fixes) -> str:
    """The fixes as the text of a GPX 1.1 file: heights to a tenth of a metre, speed and course as extensions."""
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="same sky" '
    head += 'xmlns="http://www.topografix.com/GPX/1/1" xmlns:s="urn:same-sky">\n<trk><trkseg>\n'
    rows = zip(
        np.degrees(fixes.latitude), np.degrees(fixes.longitude), fixes.altitude, fixes.time, fixes.ground_speed,
        np.degrees(fixes.track), strict=True,
    )  # fmt: skip
    points = [
        f'<trkpt lat="{latitude:.7f}" lon="{longitude:.7f}"><ele>{height:.1f}</ele><time>{_stamp(clock)}</time>'
        f"<extensions><s:speed>{speed:.2f}</s:speed><s:course>{course:.1f}</s:course></extensions></trkpt>\n"
        for latitude, longitude, height, clock, speed, course in rows
    ]
    return head + "".join(points) + "</trkseg></trk></gpx>\n"


def _stamp(clock: float) -> str:
    return datetime.fromtimestamp(round(clock, 3), UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _places(flight: Sortie, moment, east_error, north_error) -> tuple[np.ndarray, np.ndarray]:
    """Latitude and longitude [rad] at moments [s], with errors [m]."""
    latitude = np.full(flight.time.size, PLACE[0])
    for _ in range(3):  # the radius of the earth hardly changes over a flight
        root = np.sqrt(1 - ECCENTRICITY_SQUARED * np.sin(latitude) ** 2)
        to_pole = SEMI_MAJOR_AXIS * (1 - ECCENTRICITY_SQUARED) / root**3 + flight.height
        to_axis = (SEMI_MAJOR_AXIS / root + flight.height) * np.cos(latitude)
        latitude = PLACE[0] + _angle(flight.north, to_pole)
    longitude = PLACE[1] + _angle(flight.east, to_axis)
    here, there, to_pole, to_axis = (
        np.interp(moment, flight.time, column) for column in (latitude, longitude, to_pole, to_axis)
    )
    return here + north_error / to_pole, there + east_error / to_axis


def _angle(way: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """The way [m] as an angle [rad], each step by the radius [m] at its place."""
    return np.r_[0.0, np.cumsum(np.diff(way) / ((radius[1:] + radius[:-1]) / 2))]
