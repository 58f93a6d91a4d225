"""The third example: not a propeller. Wheel fairings on a trainer, with runs that went wrong and runs that are missing.

Three mornings, two or three fittings each, in an irregular order: A B A, B A B, then A B before a shower ended it.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.diary import Diary
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import checked_readings
from samesky.simulator.scenario import FOOT, Fitting, Scenario
from samesky.simulator.sky import KNOT, Course, SkyModel
from samesky.simulator.writing import Hand, Remark, Written

SEED = 20260613
FUEL_DENSITY = 0.719

TOML = """\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "Wheel fairings on the trainer"
question = "Are the wheel fairings worth their weight and the mud?"
baseline = "A"

[configuration.A]
label = "bare wheels"
weight = "0 kg"
arm = "0.9 m"

[configuration.B]
label = "wheel fairings"
weight = "5.4 kg"
arm = "0.9 m"

[swap]
# Fairings are screwed on: how well they line up is new with each fitting.
kind = "refit"
time = "30 min"

# Fixed before flying.
[measure.level_speed]
primary = true
smallest_difference_that_matters = "1 kt"

[measure.cruise_fuel]
primary = false
smallest_difference_that_matters = "3 %"

[measure.timed_climb]
primary = false
smallest_difference_that_matters = "4 %"

# A flatter glide is what this school wants of a trainer, so less sink is better here.
[measure.idle_descent]
primary = false
smallest_difference_that_matters = "4 %"
better = "smaller"

[aeroplane]
empty_weight = "510 kg"
empty_arm = "0.82 m"
maximum_weight = "760 kg"
cg_forward = "0.78 m"
cg_aft = "0.96 m"
[aeroplane.station.crew]
weight = "158 kg"
arm = "0.95 m"
[aeroplane.fuel]
arm = "1.10 m"
weight_per_volume = "0.719 kg/L"

[engine]
power = "112 hp"
rpm_limit = "2750 rpm"

[runway.field]
elevation = "520 ft"
slope = "0 %"
heading = "80 deg"
surface = "asphalt"

[limits]
altitude = ["2450 ft", "2550 ft"]
"""

STORY = """\
The fairings take 4 % off the zero-lift drag, and add 5.4 kg. Each fitting of them, or of none, changes the drag by
another 0.5 % (standard deviation): how well they line up. They do nothing to thrust. Level speed is read by satellite
on two reciprocal tracks. Left out by the pilot, and rightly: a level run in which height was gained on the second
leg, a fuel reading taken before the meter was reset, and a climb through rising air under a growing cloud.
"""

SKY = SkyModel(
    {
        "temperature": Course(287.15, rate=1.2, walk=0.2, day=2.0, since=7.5),
        "pressure": Course(100200.0, rate_scatter=20.0, walk=8.0, day=500.0),
        "dew point": Course(283.15, walk=0.2, day=1.0),
        "headwind": Course(3.0, rate=0.3, walk=0.4, day=1.0, scatter=0.3, since=7.5),
        "crosswind": Course(1.5, walk=0.4, day=0.8, scatter=0.3),
        "rising air": Course(0.0, scatter=0.06, growth=0.05, growth_from=10.5),
        "wind gradient": Course(0.002, scatter=0.001),
        "power": Course(1.0, walk=0.0015),
    }
)

COLUMNS = {
    "oat": Written("degC", 0.5),
    "fuel": Written("L", 0.5),
    "rpm": Written("rpm", 25),
    "altitude": Written("ft", 10),
    "from": Written("ft", 10),
    "to": Written("ft", 10),
    "elapsed": Written("s", 0.1),
    "speed 1": Written("kt", 0.1),
    "track 1": Written("deg", 1),
    "speed 2": Written("kt", 0.1),
    "track 2": Written("deg", 1),
    "airspeed": Written("kt", 1),
    "entry airspeed": Written("kt", 1),
    "exit airspeed": Written("kt", 1),
    "fuel flow": Written("L/h", 0.1),
}


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260614), FUEL_DENSITY)
    for day, order in enumerate(("ABA", "BAB", "AB")):
        diary.morning(day, "07:20", 80.0)
        for place, configuration in enumerate(order):
            if place:
                diary.wait(33)
                diary.refuel(80.0)
            diary.fit(configuration)
            diary.wait(9)
            diary.run("timed_climb", 5, 3.0)
            diary.run("level_speed", 8, 4.5)
            diary.run("cruise_fuel", 6, 2.2)
            diary.run("level_speed", 8, 4.5)
            if not (day == 2 and place == 1):  # The shower came: the last flight ended early.
                diary.run("cruise_fuel", 6, 2.2)
                diary.run("idle_descent", 3, 0.4)
                diary.run("timed_climb", 5, 3.0)
                diary.run("idle_descent", 3, 0.4)
            diary.wait(8)
    return diary


def _remarks(diary: Diary) -> dict[tuple[str, int], Remark]:
    remarks = {place: Remark(notes) for place, notes in diary.notes.items()}
    remarks["level_speed", 5] = Remark("", "80 ft gained on the second leg", {"speed 2": 0.965})
    remarks["cruise_fuel", 3] = Remark("", "meter not reset before the run", {"fuel flow": 1.22})
    remarks["timed_climb", 9] = Remark("", "under a growing cloud, went up like a lift", {"elapsed": 0.78})
    remarks["level_speed", 15] = Remark("shower coming, went home after this one")
    remarks["idle_descent", 2] = Remark("engine cleared at 2,500 ft")
    return remarks


DIARY = _diary()

WHEEL_FAIRINGS = Example(
    name="wheel_fairings",
    summary="not a propeller: wheel fairings on a trainer, with left-out runs, a shower and four measures",
    seed=SEED,
    scenario=Scenario(
        aeroplane=TRAINER,
        effects={"A": Effect(), "B": Effect(drag=0.96, mass=5.4)},
        schedule=DIARY.plans(),
        sky=SKY,
        pilot=Pilot(climb=70 * KNOT, climb_scatter=1.5 * KNOT, descent=70 * KNOT, cruise=85 * KNOT),
        sources=checked_readings(),
        fitting=Fitting(drag=0.005),
        ready_mass=668.0,
        climb=(1500 * FOOT, 2500 * FOOT),
        descent=(2500 * FOOT, 1500 * FOOT),
        altitude=2500 * FOOT,
        tracks=(np.deg2rad(80.0), np.deg2rad(260.0)),
        heading=float(np.deg2rad(80.0)),
    ),
    toml=TOML,
    hand=Hand(COLUMNS, elevation=520 * FOOT, first_day=date(2026, 6, 13), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks=_remarks(DIARY),
    with_installation=True,
)
