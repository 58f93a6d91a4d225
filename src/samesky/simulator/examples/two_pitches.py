"""The sixth example: propeller or pitch? A wooden propeller, and a composite one flown at a fine and a coarse setting.

One calm morning, A B C C B A twice over with a swap between blocks: pulls, take-offs, climbs and level runs, each with
its rpm, so that the composite propeller has a line and the wooden one can be held against it.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.diary import Diary
from samesky.simulator.examples.finer_pitch import SKY
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.two_seater import AEROPLANE, STRIP
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import checked_readings
from samesky.simulator.scenario import FOOT, Fitting, Scenario
from samesky.simulator.sky import KNOT
from samesky.simulator.writing import Hand, Remark, Written

SEED = 20260822
FUEL_DENSITY = 0.72
#: Pitch of each configuration over that of the aeroplane's own propeller, and thrust of the composite one at the same
#: torque over that of the wooden one.
PITCH, BETTER = {"A": 1.10, "B": 1.04, "C": 1.19}, 1.04

TOML = f"""\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "Propeller or pitch"
question = "Is the composite propeller the better one, or was it only set finer?"
baseline = "A"

[configuration.A]
label = "wooden propeller"
of = "wood"
diameter = "1.75 m"

[configuration.B]
label = "composite propeller, set fine"
of = "composite"
pitch_setting = "18.4 deg at 75 % radius"
diameter = "1.75 m"

[configuration.C]
label = "composite propeller, set coarse"
of = "composite"
pitch_setting = "20.9 deg at 75 % radius"
diameter = "1.75 m"

[swap]
kind = "refit"
time = "30 min"

# Fixed before flying.
[measure.static_pull]
primary = true
smallest_difference_that_matters = "2 %"
unit = "kgf"

[measure.timed_climb]
primary = false
smallest_difference_that_matters = "3 %"

[measure.takeoff_roll]
primary = false
smallest_difference_that_matters = "5 %"
unit = "ft"

[measure.level_speed]
primary = false
smallest_difference_that_matters = "2 kt"

{AEROPLANE}
[engine]
power = "74 kW"
rpm_limit = "5300 rpm"
gear_ratio = 2.22

{STRIP}"""

STORY = """\
At the same torque the composite propeller gives 4 % more thrust than the wooden one. It was flown with 5 % less and
with 8 % more pitch: set fine it turns faster and does better at everything slow, partly because of its blades and
partly because of its setting; set coarse it does as the wooden one does. Compared as set, either answer can be had. On
the line between its two settings, at the rpm of the wooden one, the setting drops out and the blades are left. Each
fitting is off by 0.3 % of the pitch (standard deviation).
"""

COLUMNS = {
    "oat": Written("degC", 0.5),
    "qnh": Written("hPa", 1),
    "dew point": Written("degC", 1),
    "fuel": Written("L", 0.5),
    "rpm": Written("rpm", 10),
    "pull": Written("kgf", 0.5),
    "ground roll": Written("ft", 1),
    "from": Written("ft", 10),
    "to": Written("ft", 10),
    "altitude": Written("ft", 10),
    "elapsed": Written("s", 0.1),
    "entry airspeed": Written("kt", 1),
    "exit airspeed": Written("kt", 1),
    "lift-off airspeed": Written("kt", 1),
    "airspeed": Written("kt", 0.5),
    "headwind": Written("kt", 0.5),
    "gust": Written("kt", 0.5),
    "crosswind": Written("kt", 0.5),
}


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260821), FUEL_DENSITY)
    for day, order in enumerate(("ABCCBA", "CABBAC")):
        diary.morning(day, "06:10", 40.0)
        fitted = ""
        for configuration in order:
            if fitted and configuration != fitted:
                diary.wait(30)
                diary.refuel(40.0)
            if configuration != fitted:
                diary.fit(configuration)
            fitted = configuration
            for _ in range(2):
                diary.run("static_pull", 3, 0.8)
            diary.wait(3)
            diary.run("takeoff_roll", 4, 1.4)
            diary.run("timed_climb", 5, 1.8)
            diary.run("level_speed", 6, 2.4)
            diary.wait(6)
    return diary


DIARY = _diary()

TWO_PITCHES = Example(
    name="two_pitches",
    summary="two propellers, one of them at two settings: at the same rpm the setting drops out",
    seed=SEED,
    scenario=Scenario(
        effects={key: Effect(pitch=pitch, thrust=1.0 if key == "A" else BETTER) for key, pitch in PITCH.items()},
        schedule=DIARY.plans(),
        sky=SKY,
        pilot=Pilot(lift_off_scatter=1.2 * KNOT, climb_scatter=1.2 * KNOT),
        sources=checked_readings(),
        fitting=Fitting(pitch=0.003),
        ready_mass=485.0,
        slope=0.004,
        climb=(1000 * FOOT, 2500 * FOOT),
        altitude=2000 * FOOT,
    ),
    toml=TOML,
    hand=Hand(COLUMNS, elevation=310 * FOOT, first_day=date(2026, 8, 22), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks={place: Remark(text) for place, text in DIARY.notes.items()},
)
