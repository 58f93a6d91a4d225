"""A sound campaign of an invented trainer, in text, to be spoilt one way at a time."""

from __future__ import annotations

TOML = """\
title = "Finer pitch"
question = "Which pitch for the short strip?"
baseline = "A"

[configuration.A]
label = "coarse pitch"
weight = "9.8 kg"
arm = "-0.90 m"
diameter = "1.70 m"
blades = "2"

[configuration.B]
label = "fine pitch"
weight = "10.3 kg"
arm = "-0.90 m"
diameter = "1.70 m"

[swap]
kind = "refit"
time = "30 min"

[aeroplane]
empty_weight = "330 kg"
empty_arm = "1.72 m"
maximum_weight = "560 kg"
cg_forward = "1.60 m"
cg_aft = "2.05 m"

[aeroplane.station.pilot]
weight = "85 kg"
arm = "2.00 m"

[aeroplane.fuel]
arm = "2.30 m"
weight_per_volume = "0.72 kg/L"

[engine]
power = "92 hp"
rpm_limit = "5800 rpm"
static_rpm_low = "4700 rpm"
static_rpm_high = "5300 rpm"
gear_ratio = 2.31

[runway.09]
elevation = "300 ft"
slope = "0.5 %"
heading = "90 deg"
surface = "grass"

[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "5 %"

[measure.timed_climb]
smallest_difference_that_matters = "20 ft/min"

[limits]
headwind = "8 kt"
tailwind = "1 kt"
"lift-off airspeed" = ["40 kt", "48 kt"]

[mission.short_strip]
takeoff_roll = 3
timed_climb = 1
"""

ROLL = """\
run,date,clock,configuration,oat [°C],qnh [hPa],fuel [L],headwind [kt],\
lift-off airspeed [kt],ground roll [ft],exclude,notes
1,2025-06-14,07:00,A,12.0,1015,60,3.0,44,412,,
2,2025-06-14,07:10,A,12.2,1015,58,3.5,45,405,,
3,2025-06-14,08:00,B,13.0,1015,55,2.0,44,398,,
4,2025-06-14,08:10,B,13.1,1015,53,2.5,43,380,,gusty
5,2025-06-14,09:00,A,14.0,1014,50,4.0,44,409,,
6,2025-06-14,09:10,A,14.1,1014,48,,44,,baulked by a dog,
7,2025-06-14,09:20,A,14.1,1014,47,4.5,45,420,,
8,2025-06-14,10:00,B,15.0,1014,45,5.0,44,371,,
9,2025-06-14,10:10,B,15.2,1014,43,4.0,45,399,,
"""

CLIMB = """\
run,date,clock,configuration,oat [°C],fuel [L],rpm,from [ft],to [ft],elapsed [s]
1,2025-06-14,07:20,A,8,57,5200,1000,2000,62.1
2,2025-06-14,08:20,B,9,52,5350,1000,2000,60.0
3,2025-06-14,09:25,A,9,46,5220,1000,2000,63.0
4,2025-06-14,10:20,B,10,42,5340,1000,2000,60.9
"""

FILES = {"campaign.toml": TOML, "takeoff_roll.csv": ROLL, "timed_climb.csv": CLIMB}
