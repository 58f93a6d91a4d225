"""Quick answers while standing on the apron: the air, the wind, the speeds, the loading, this run, one more block.

Plain functions in SI; every answer carries its numbers and sentences in the pilot's units.
"""

from samesky.apron.air import AirNow, air_now
from samesky.apron.fields import direction, number
from samesky.apron.limits import LimitNow
from samesky.apron.loading import LoadingNow, loading_now
from samesky.apron.refuel import FuelToAdd, fuel_to_add
from samesky.apron.run import RunNow, valid_run
from samesky.apron.speeds import TargetSpeed, target_airspeeds
from samesky.apron.stop import OneMore, one_more_or_stop
from samesky.apron.wind import WindNow, wind_now

__all__ = [
    "AirNow",
    "FuelToAdd",
    "LimitNow",
    "LoadingNow",
    "OneMore",
    "RunNow",
    "TargetSpeed",
    "WindNow",
    "air_now",
    "direction",
    "fuel_to_add",
    "loading_now",
    "number",
    "one_more_or_stop",
    "target_airspeeds",
    "valid_run",
    "wind_now",
]
