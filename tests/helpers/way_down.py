"""A flight that comes down twice and lands, with its truth, as a GPX file: first at idle, then with power to a landing.

Made of the pieces of :mod:`made_tracks`; heights by satellite, in air of the standard atmosphere.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from made_tracks import BEGIN, STEP, Flight, Receiver, flight, held, landing

#: The descent at idle from 1500 to 800 m, and its sink rate [m/s]; the powered one from 800 m down to the approach.
IDLE, POWERED = 4.5, 2.2


@dataclass
class WayDown:
    """The flight, when the throttle was closed [s since 1970], the touch-down and the roll."""

    truth: Flight
    gpx: str
    idle: tuple[float, float]
    touched: float
    touch_down_speed: float
    roll: float


def way_down(rng, held_off: float = 1.0) -> WayDown:
    last = landing(rng, held_off=held_off, slope=0.0)
    high = last.truth.height[0]
    fast = float(last.truth.speed[0])
    # straight lines between rates: half of what happens in the first and last 4 s of a descent
    idle, powered = ((drop / rate) for drop, rate in ((700.0, IDLE), (800.0 - high, POWERED)))
    climb = held([
        (90, 0.0), (4, -IDLE), (idle - 4, -IDLE), (4, 0.0), (240, 0.0),
        (4, -POWERED), (powered - 4, -POWERED), (4, 0.0), (40, 0.0), (4, -3.0),
    ])  # fmt: skip
    climb = np.r_[climb, np.gradient(last.truth.height, STEP)]
    before = climb.size - last.truth.speed.size
    speed = np.r_[np.full(before - int(60 / STEP), 38.0), np.linspace(38.0, fast, int(60 / STEP)), last.truth.speed]
    track = np.r_[np.full(before, 2.2), last.truth.track]
    # the ground below is flat; the way down ends a little high or low, and the strip lies there
    truth = flight(speed, track, climb, 1500.0)
    begin = before * STEP
    clock, latitude, longitude, height, seen, course = Receiver(
        barometer=False, height=(13.0 / 1.959964, 300.0, 0.0)
    ).see(truth, rng)
    points = []
    for row in zip(clock, np.degrees(latitude), np.degrees(longitude), height, seen, np.degrees(course), strict=True):
        stamp = datetime.fromtimestamp(round(row[0], 3), UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
        points.append(
            f'<trkpt lat="{row[1]:.7f}" lon="{row[2]:.7f}"><ele>{row[3]:.1f}</ele><time>{stamp}</time>'
            f"<extensions><speed>{row[4]:.2f}</speed><course>{row[5]:.1f}</course></extensions></trkpt>\n"
        )
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="made up"><trk><trkseg>\n'
    return WayDown(
        truth, f"{head}{''.join(points)}</trkseg></trk></gpx>\n", (BEGIN + 85, BEGIN + 95 + idle + 5),
        BEGIN + begin + last.touched, last.touch_down_speed, float(last.roll),
    )  # fmt: skip
