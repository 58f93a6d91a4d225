"""The fourth example: a good order, and something that goes with the configuration instead of with the clock.

Two propellers that are equal, flown in blocks A B A B, then B A B A, on two calm mornings, swapped by the book. The
tanks were filled whenever A went on, because A lives where the fuel is; and the pilot, who likes B, lets it fly a
little earlier. No order of runs sees either. Both were written down.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.diary import Diary
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.two_seater import AEROPLANE, FEW, FUEL_DENSITY, STRIP
from samesky.simulator.examples.two_seater import COLUMNS as COMMON
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import checked_readings
from samesky.simulator.scenario import FOOT, Fitting, Scenario
from samesky.simulator.sky import KNOT, Course, SkyModel
from samesky.simulator.writing import Hand, Remark, Written

SEED = 20260618
#: Airspeed at which the pilot lets it fly, by configuration.
LIFT_OFF = {"A": 39.0 * KNOT, "B": 37.4 * KNOT}

TOML = f"""\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "The borrowed propeller"
question = "Does the borrowed propeller get off the grass shorter than our own?"
baseline = "A"

[configuration.A]
label = "our own propeller"
diameter = "1.75 m"

[configuration.B]
label = "borrowed propeller, swept tips"
diameter = "1.75 m"

[swap]
kind = "refit"
time = "35 min"

# Fixed before flying.
[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "5 %"
unit = "ft"

[measure.timed_climb]
primary = false
smallest_difference_that_matters = "4 %"

{AEROPLANE}
[engine]
power = "74 kW"
rpm_limit = "5300 rpm"
gear_ratio = 2.22

{STRIP}"""

STORY = """\
The two propellers are equal: same thrust, same torque, same weight. The order of runs is good, the mornings are calm,
and drift is no trouble. But two things go with the configuration. The tanks were filled each time A went on, so B was
always flown lighter; and the pilot, who had been told that B pulls like a horse, let it fly about a knot and a half
earlier than A. Both make B's rolls shorter, and the fuel makes its climbs better. Whoever leaves the fuel and the
lift-off airspeed out of the reckoning finds a winner, however well the runs are ordered.
"""

SKY = SkyModel(
    {
        "temperature": Course(284.15, rate=1.0, walk=0.2, day=1.5, since=6.5),
        "pressure": Course(100700.0, rate_scatter=15.0, walk=8.0, day=300.0),
        "dew point": Course(277.15, walk=0.2, day=1.0),
        "headwind": Course(0.9, rate=0.08, rate_scatter=0.03, walk=0.1, day=0.2, scatter=0.2, since=6.5, low=0.0),
        "gust": Course(0.4, scatter=0.2, low=0.0),
        "crosswind": Course(0.4, walk=0.2, day=0.2, scatter=0.2),
        "rising air": Course(0.0, scatter=0.05, growth=0.03, growth_from=10.5),
        "wind gradient": Course(0.001, scatter=0.001),
        "friction": Course(0.05, rate_scatter=0.0004, scatter=0.0012, low=0.03),
        "power": Course(1.0, walk=0.0015),
    }
)

COLUMNS = {name: COMMON[name] for name in COMMON if name in (*FEW, "entry airspeed", "exit airspeed")}
COLUMNS["lift-off airspeed"] = Written("kt", 0.5)


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260606), FUEL_DENSITY)
    for day, order in enumerate(("ABAB", "BABA")):
        diary.morning(day, "06:30", 62.0 if day == 0 else 42.0)
        for place, configuration in enumerate(order):
            if place:
                diary.wait(35)
                if configuration == "A":
                    diary.refuel(62.0)
            diary.fit(configuration)
            for _ in range(3):
                diary.run("takeoff_roll", 4, 1.6)
                diary.run("timed_climb", 6, 3.4)
                diary.wait(3)
    return diary


DIARY = _diary()
PLANS = DIARY.plans()

WILLING_HANDS = Example(
    name="willing_hands",
    summary="no difference at all, flown in a good order, but fuel and lift-off airspeed go with the configuration",
    seed=SEED,
    scenario=Scenario(
        effects={"A": Effect(), "B": Effect()},
        schedule=PLANS,
        sky=SKY,
        pilot=Pilot(
            lift_off=np.array([LIFT_OFF[key] for key in PLANS["takeoff_roll"].configuration]),
            lift_off_scatter=0.7 * KNOT,
            climb_scatter=1.0 * KNOT,
        ),
        sources=checked_readings(),
        fitting=Fitting(),
        ready_mass=485.0,
        slope=0.004,
        climb=(1000 * FOOT, 2500 * FOOT),
    ),
    toml=TOML,
    hand=Hand(COLUMNS, elevation=310 * FOOT, first_day=date(2026, 6, 6), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks={place: Remark(text) for place, text in DIARY.notes.items()}
    | {("takeoff_roll", 3): Remark("pulls like a horse"), ("takeoff_roll", 14): Remark("jumped off")},
)
