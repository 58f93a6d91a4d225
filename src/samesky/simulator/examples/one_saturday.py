"""The fifth example: one Saturday, two propellers, one return to the first, and a receiver in the cockpit.

Three pulls, three take-offs, three climbs and two accelerations in level flight in each block of A B A. The rolls
alone cannot settle a few per cent; the receiver's record gives the acceleration of the same take-offs, and a filmed
panel that of the level runs.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from samesky.instruments.sources import ErrorSource
from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.diary import Diary
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.two_seater import AEROPLANE, FUEL_DENSITY, STRIP
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import checked_readings
from samesky.simulator.scenario import FOOT, Fitting, Scenario
from samesky.simulator.sky import KNOT, Course, SkyModel
from samesky.simulator.writing import Hand, Remark, Written

SEED = 20260704
#: Standard uncertainty [s] of the time between two ground speeds by the receiver's record.
BY_RECORD = 0.05

TOML = f"""\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "One Saturday"
question = "Does the composite propeller get us off our short strip sooner than the wooden one?"
baseline = "A"

[configuration.A]
label = "wooden propeller"
diameter = "1.75 m"
weight = "8.4 kg"
arm = "-0.95 m"

[configuration.B]
label = "composite propeller"
diameter = "1.75 m"
weight = "6.1 kg"
arm = "-0.95 m"

[swap]
kind = "refit"
time = "40 min"

# Fixed before flying.
[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "5 %"
unit = "ft"

[measure.ground_acceleration]
primary = false
smallest_difference_that_matters = "4 %"
unit = "kt/s"

[measure.static_pull]
primary = false
smallest_difference_that_matters = "3 %"
unit = "kgf"

[measure.timed_climb]
primary = false
smallest_difference_that_matters = "4 %"

[measure.level_acceleration]
primary = false
smallest_difference_that_matters = "8 %"
unit = "kt/s"

{AEROPLANE}
[engine]
power = "74 kW"
rpm_limit = "5300 rpm"
gear_ratio = 2.22

# The receiver wrote a fix five times a second: a line through those between the two speeds tells the time.
[instrument.record]
name = "stopwatch"
target = "elapsed"
scope = "run"
standard_uncertainty = "{BY_RECORD} s"
measures = ["ground_acceleration"]
source = "a line through the fixes of a satellite receiver between the two speeds"
[instrument."first ground speed on the display"]
standard_uncertainty = "0 kt"
source = "no display was read"
[instrument."second ground speed on the display"]
standard_uncertainty = "0 kt"
source = "no display was read"

{STRIP}"""

STORY = """\
The composite propeller has 8 % less pitch than the wooden one and is 2.3 kg lighter. It lets the engine turn faster, so
that it pulls harder, gains speed faster on the ground, rolls shorter and climbs better; the gain shrinks with airspeed,
and in level flight there is less of it. One return to the wooden one takes out what the morning does meanwhile. Each
fitting is off by 0.3 % of the pitch (standard deviation). The rolls scatter by 5 to 8 %, so three and six of them leave
the question open; pulls, climbs and the accelerations do not.
"""

SKY = SkyModel(
    {
        "temperature": Course(286.15, rate=1.1, walk=0.2, day=1.5, since=6.5),
        "pressure": Course(100800.0, rate_scatter=15.0, walk=8.0, day=300.0),
        "dew point": Course(280.15, walk=0.2, day=1.0),
        "headwind": Course(0.8, rate=0.08, rate_scatter=0.04, walk=0.1, day=0.2, scatter=0.25, since=6.5, low=0.0),
        "gust": Course(0.7, scatter=0.3, low=0.0),
        "crosswind": Course(0.5, walk=0.3, day=0.2, scatter=0.3),
        "rising air": Course(0.0, scatter=0.06, growth=0.03, growth_from=10.0),
        "wind gradient": Course(0.001, scatter=0.001),
        "friction": Course(0.05, rate_scatter=0.0005, scatter=0.002, low=0.03),
        "power": Course(1.0, walk=0.0015),
    }
)

COLUMNS = {
    "oat": Written("degC", 0.5),
    "qnh": Written("hPa", 1),
    "dew point": Written("degC", 1),
    "fuel": Written("L", 0.5),
    "rpm": Written("rpm", 50),
    "pull": Written("kgf", 0.5),
    "ground roll": Written("ft", 1),
    "first ground speed": Written("kt", 1),
    "second ground speed": Written("kt", 1),
    "first airspeed": Written("kt", 1),
    "second airspeed": Written("kt", 1),
    "elapsed": Written("s", 0.05),
    "from": Written("ft", 10),
    "to": Written("ft", 10),
    "altitude": Written("ft", 10),
    "end altitude": Written("ft", 5),
    "entry airspeed": Written("kt", 1),
    "exit airspeed": Written("kt", 1),
    "lift-off airspeed": Written("kt", 1),
    "headwind": Written("kt", 0.5),
    "gust": Written("kt", 0.5),
    "crosswind": Written("kt", 0.5),
}


def _sources() -> tuple[ErrorSource, ...]:
    """Checked instruments; the receiver's record in place of watch and display on the take-off run."""
    watched = ("timed_climb", "level_acceleration")
    found = tuple(
        replace(one, measures=watched) if one.name == "stopwatch" else one
        for one in checked_readings()
        if "on the display" not in one.name
    )
    record = ErrorSource("record", "elapsed", BY_RECORD, "run", "satellite record", measures=("ground_acceleration",))
    return (*found, record)


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260703), FUEL_DENSITY)
    diary.morning(0, "06:30", 48.0)
    for place, configuration in enumerate("ABA"):
        if place:
            diary.wait(40)
            diary.refuel(48.0)
        diary.fit(configuration)
        for _ in range(3):
            diary.run("static_pull", 3, 0.8)
        diary.wait(4)
        for flight in range(3):
            diary.beside("ground_acceleration")
            diary.run("takeoff_roll", 4, 1.5)
            diary.run("timed_climb", 5, 1.9)
            if flight < 2:
                diary.run("level_acceleration", 4, 1.5)
            diary.wait(6)
    return diary


DIARY = _diary()

ONE_SATURDAY = Example(
    name="one_saturday",
    summary="three of each a block in A B A: the rolls leave it open, pulls, accelerations and climbs do not",
    seed=SEED,
    scenario=Scenario(
        effects={"A": Effect(), "B": Effect(pitch=0.92, mass=-2.3)},
        schedule=DIARY.plans(),
        sky=SKY,
        pilot=Pilot(lift_off_scatter=1.5 * KNOT, climb_scatter=1.2 * KNOT),
        sources=_sources(),
        fitting=Fitting(pitch=0.003),
        ready_mass=485.0,
        slope=0.004,
        climb=(1000 * FOOT, 2000 * FOOT),
        altitude=2000 * FOOT,
    ),
    toml=TOML,
    hand=Hand(COLUMNS, elevation=310 * FOOT, first_day=date(2026, 7, 4), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks={place: Remark(text) for place, text in DIARY.notes.items()},
)
