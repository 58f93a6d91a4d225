"""A question before it is flown: two propellers on an invented trainer, to be spoilt one way at a time."""

from __future__ import annotations

from pathlib import Path

TOML = """\
title = "Which propeller stays on"
question = "Does the coarse propeller cost take-off roll that a short strip would notice?"
baseline = "A"

[configuration.A]
label = "as delivered"
weight = "9.8 kg"
arm = "-0.90 m"

[configuration.B]
label = "coarse"
weight = "10.3 kg"
arm = "-0.90 m"

[swap]
kind = "refit"
time = "30 min"

[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "6 %"
unit = "ft"

[measure.timed_climb]
primary = false
smallest_difference_that_matters = "4 %"

[measure.static_pull]
primary = false
smallest_difference_that_matters = "3 %"
unit = "kgf"

[aeroplane]
empty_weight = "330 kg"
empty_arm = "1.72 m"
maximum_weight = "560 kg"
[aeroplane.station.crew]
weight = "154 kg"
arm = "2.00 m"
[aeroplane.fuel]
arm = "2.30 m"
weight_per_volume = "0.72 kg/L"

[engine]
rpm_limit = "5800 rpm"

[runway.27]
elevation = "300 ft"
slope = "0.4 %"
heading = "270 deg"
surface = "short dry grass"

[plan]
days = 2
first_date = "2026-05-09"
start = "06:00"
end = "11:30"
fuel = "60 L"
reserve = "20 L"
burn = "18 L/h"
refuel = true
refuelling_time = "10 min"
oat = ["8 degC", "16 degC"]
qnh = ["1018 hPa", "1017 hPa"]
dew_point = "5 degC"
wind = ["1 kt", "4 kt"]
wind_from = "290 deg"
gust = ["2 kt", "7 kt"]
crosswind_limit = "8 kt"
seed = 11

[plan.static_pull]
time = "3 min"
pull = "180 kgf"
scatter = "1 %"
degrees_of_freedom = 6

[plan.takeoff_roll]
time = "3 min"
ground_roll = "250 ft"
lift-off_airspeed = "38 kt"
scatter = "6 %"
degrees_of_freedom = 12

[plan.timed_climb]
time = "6 min"
from = "1000 ft"
to = "2000 ft"
elapsed = "62 s"
entry_airspeed = "60 kt"
exit_airspeed = "60 kt"
airspeed = "60 kt"
scatter = "3 %"
degrees_of_freedom = 10
"""


def write(folder: Path, *changes: tuple[str, str]) -> Path:
    """The campaign in ``folder``, with each (old, new) piece of its text exchanged once."""
    text = TOML
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    return folder
