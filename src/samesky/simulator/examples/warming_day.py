"""The second example: no difference at all, and a clear winner for anyone who only averages.

Two propellers that are equal in everything but weight, flown A A A A A in a still, cool morning, then, after one
swap, B B B B B on a warm, breezy noon. The wind was read in the lee of a hedge, so that no correction takes out all
of it.
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

SEED = 20260419
#: What the hand-held meter in the lee of the hedge shows of the wind over the strip.
LEE = 0.75

TOML = f"""\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "The new propeller, one fine Saturday"
question = "Is the new propeller better off the grass than the old one?"
date = "2026-04-11"
baseline = "A"

[configuration.A]
label = "old propeller, wood"
weight = "7.4 kg"
arm = "-0.85 m"
diameter = "1.75 m"

[configuration.B]
label = "new propeller, composite"
weight = "5.9 kg"
arm = "-0.85 m"
diameter = "1.75 m"

[swap]
kind = "refit"
time = "70 min"

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
The two propellers are equal: same thrust, same torque, at every speed. All that differs is the day. Between the first
run and the last the air warms by about five degrees and the wind along the strip freshens by about four knots; the
grass dries. The wind was read in the lee of a hedge and shows three quarters of what blows over the strip, so
correcting with it takes out only part. The wind makes the later rolls shorter, so the naive average of the rolls
finds a winner; warm air makes the later climbs slower, so the climbs would crown the other one. One swap cannot tell
the propeller from the hour.
"""

SKY = SkyModel(
    {
        "temperature": Course(281.65, rate=2.0, curve=-0.1, walk=0.2, since=8.0),
        "pressure": Course(100500.0, rate=-20.0, walk=8.0),
        "dew point": Course(279.15, walk=0.2),
        "headwind": Course(0.6, rate=0.6, walk=0.15, scatter=0.3, since=8.0, low=0.0),
        "gust": Course(0.4, rate=0.25, scatter=0.25, since=8.0, low=0.0),
        "crosswind": Course(0.4, rate=0.3, scatter=0.3, since=8.0),
        "rising air": Course(0.0, scatter=0.05, growth=0.08, growth_from=10.5),
        "wind gradient": Course(0.002, scatter=0.001),
        "friction": Course(0.056, rate=-0.0015, scatter=0.0015, since=8.0, low=0.03),
        "power": Course(1.0, walk=0.0015),
    }
)

COLUMNS = {name: COMMON[name] for name in FEW} | {"ground roll": Written("ft", 5), "headwind": Written("kt", 1)}


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260412), FUEL_DENSITY)
    for place, configuration in enumerate("AB"):
        if place:
            diary.wait(75)
            diary.refuel(45.0)
        else:
            diary.morning(0, "08:20", 45.0)
        diary.fit(configuration)
        for _ in range(5):
            diary.run("takeoff_roll", 4, 1.4)
            diary.run("timed_climb", 8, 3.0)
            diary.wait(3)
    return diary


def _remarks(diary: Diary) -> dict[tuple[str, int], Remark]:
    lee = {"headwind": LEE}
    notes = {place: text for place, text in diary.notes.items()}
    notes["takeoff_roll", 1] = "grass still wet"
    notes["takeoff_roll", 6] = "feels livelier already"
    notes["timed_climb", 8] = "bumpy"
    rolls = {
        ("takeoff_roll", index): Remark(notes.get(("takeoff_roll", index), ""), factors=lee) for index in range(10)
    }
    return rolls | {place: Remark(text) for place, text in notes.items() if place[0] != "takeoff_roll"}


DIARY = _diary()

WARMING_DAY = Example(
    name="warming_day",
    summary="no difference at all, flown A A A A A then B B B B B on a warming, freshening day: the average is fooled",
    seed=SEED,
    scenario=Scenario(
        effects={"A": Effect(), "B": Effect(mass=-1.5)},
        schedule=DIARY.plans(),
        sky=SKY,
        pilot=Pilot(lift_off_scatter=0.8 * KNOT, climb_scatter=1.5 * KNOT),
        sources=checked_readings(),
        fitting=Fitting(),
        ready_mass=485.0,
        slope=0.004,
        climb=(1000 * FOOT, 2000 * FOOT),
    ),
    toml=TOML,
    hand=Hand(COLUMNS, elevation=310 * FOOT, first_day=date(2026, 4, 11), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks=_remarks(DIARY),
)
