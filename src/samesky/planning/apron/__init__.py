"""Quick answers while standing on the apron: the air, the wind, the speeds, the loading, this run, one more block.

Plain functions in SI; every answer carries its numbers and sentences in the pilot's units.
"""

from samesky.planning.apron.air import AirNow, air_now
from samesky.planning.apron.fields import direction, number
from samesky.planning.apron.limits import LimitNow
from samesky.planning.apron.loading import LoadingNow, loading_now
from samesky.planning.apron.wind import WindNow, wind_now

__all__ = [
    "AirNow",
    "LimitNow",
    "LoadingNow",
    "WindNow",
    "air_now",
    "direction",
    "loading_now",
    "number",
    "wind_now",
]
