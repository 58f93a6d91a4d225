"""What ground speeds does a satellite receiver show when one airspeed is flown along several tracks?"""

from __future__ import annotations

import numpy as np

from samesky.simulator.values import Value


def ground_speed(airspeed: Value, track: Value, wind: Value, wind_from: Value) -> Value:
    """Ground speed [m/s] along ``track`` [rad], drift corrected for, at true ``airspeed`` in a ``wind`` [m/s].

    Wind triangle: sqrt(V^2 - W^2 sin^2(d - chi)) - W cos(d - chi), d the direction that the wind comes from [rad]. NaN
    where the crosswind exceeds the airspeed.
    """
    angle = wind_from - track
    across = np.square(airspeed) - np.square(wind * np.sin(angle))
    return np.where(across >= 0, np.sqrt(np.maximum(across, 0.0)), np.nan) - wind * np.cos(angle)
