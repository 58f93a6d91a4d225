"""The first example: the better one is better, and the design is good enough to show it.

A two-seat aeroplane with a geared engine and a ground-adjustable fixed-pitch propeller, as set and set finer. Two calm
mornings of five blocks each with a swap between blocks: A B A B A, then B A B A B.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.diary import Diary
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.two_seater import AEROPLANE, COLUMNS, FUEL_DENSITY, STRIP
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import checked_readings
from samesky.simulator.scenario import FOOT, Fitting, Scenario
from samesky.simulator.sky import KNOT, Course, SkyModel
from samesky.simulator.writing import Hand, Remark

SEED = 20260212

TOML = f"""\
# A synthetic campaign: invented, made by the simulator, with known truth (TRUTH.md). Read that last.

title = "Two degrees finer"
question = "Does the propeller set two degrees finer suit a short strip better than as it was set?"
baseline = "A"

[configuration.A]
label = "as it was set"
diameter = "1.75 m"
blades = "2, ground-adjustable"
pitch_setting = "17.7 deg at 75 % radius"

[configuration.B]
label = "set two degrees finer"
diameter = "1.75 m"
blades = "2, ground-adjustable"
pitch_setting = "15.7 deg at 75 % radius"

[swap]
# Re-pitching counts as a fitting: each setting is one look at "set like this".
kind = "refit"
time = "25 min"

# Fixed before flying.
[measure.timed_climb]
primary = true
smallest_difference_that_matters = "2 %"

[measure.takeoff_roll]
primary = false
smallest_difference_that_matters = "5 %"
unit = "ft"

[measure.static_pull]
primary = false
smallest_difference_that_matters = "2 %"
unit = "kgf"

[measure.level_speed]
primary = false
smallest_difference_that_matters = "2 kt"

{AEROPLANE}
[engine]
power = "74 kW"
rpm_limit = "5300 rpm"
static_rpm_low = "4300 rpm"
static_rpm_high = "4850 rpm"
gear_ratio = 2.22

{STRIP}
[limits]
headwind = "5 kt"
tailwind = "2 kt"
crosswind = "5 kt"
"lift-off airspeed" = ["33 kt", "43 kt"]

# How much each measure counts for a kind of flying; their order matters more than the figures.
[mission.short_strip]
takeoff_roll = 3
timed_climb = 2
static_pull = 1

[mission.cross_country]
level_speed = 3
timed_climb = 1

[mission.everyday]
timed_climb = 2
level_speed = 2
takeoff_roll = 1
"""

STORY = """\
The finer setting is 12 % less pitch. It lets the engine turn faster, so it pulls harder, rolls shorter and climbs
better; level at full throttle it reaches the engine's limit and has to be throttled back, so it is slower. Each
setting of the blades is off by 0.3 % of the pitch (standard deviation). Air is calm at dawn, warms by about one
degree an hour, and the first thermals come at half past ten. Everything else is scatter of the pilot and of the
readings.
"""

SKY = SkyModel(
    {
        "temperature": Course(282.65, rate=1.1, walk=0.2, day=2.0, since=6.5),
        "pressure": Course(100900.0, rate_scatter=15.0, walk=8.0, day=400.0),
        "dew point": Course(274.65, walk=0.2, day=1.0),
        "headwind": Course(0.8, rate=0.07, rate_scatter=0.03, walk=0.1, day=0.2, scatter=0.2, since=6.5, low=0.0),
        "gust": Course(0.5, scatter=0.25, low=0.0),
        "crosswind": Course(0.5, walk=0.3, day=0.3, scatter=0.3),
        "rising air": Course(0.0, scatter=0.05, growth=0.03, growth_from=10.5),
        "wind gradient": Course(0.001, scatter=0.001),
        "friction": Course(0.05, rate_scatter=0.0004, scatter=0.0015, low=0.03),
        "power": Course(1.0, walk=0.0015),
    }
)


def _diary() -> Diary:
    diary = Diary(np.random.default_rng(20260208), FUEL_DENSITY)
    for day, order in enumerate(("ABABA", "BABAB")):
        diary.morning(day, "06:20", 42.0)
        for place, configuration in enumerate(order):
            if place:
                diary.wait(25)
                diary.refuel(42.0)
            diary.fit(configuration)
            for _ in range(2):
                diary.run("static_pull", 3, 0.8)
            diary.wait(3)
            for flight in range(2):
                diary.run("takeoff_roll", 4, 1.4)
                diary.run("timed_climb", 5, 1.8)
                if flight == 0:
                    diary.run("level_speed", 6, 2.4)
                diary.wait(6)
    return diary


def _remarks(diary: Diary) -> dict[tuple[str, int], Remark]:
    remarks = {place: Remark(notes) for place, notes in diary.notes.items()}
    # At full throttle the finer setting would turn the engine past its limit in level flight.
    level = diary.plans()["level_speed"]
    for index in np.flatnonzero(level.configuration == "B"):
        remarks["level_speed", int(index)] = Remark(diary.notes.get(("level_speed", int(index)), ""), throttled=True)
    remarks["takeoff_roll", 3] = Remark("dew still on the grass")
    remarks["timed_climb", 7] = Remark("a bump at 1,600 ft")
    remarks["takeoff_roll", 13] = Remark("", "throttle opened in two steps, a bird on the strip", {"ground roll": 1.17})
    return remarks


DIARY = _diary()

FINER_PITCH = Example(
    name="finer_pitch",
    summary="a propeller set two degrees finer: B climbs better, and ten blocks in two mornings can show it",
    seed=SEED,
    scenario=Scenario(
        effects={"A": Effect(), "B": Effect(pitch=0.88)},
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
    hand=Hand(COLUMNS, elevation=310 * FOOT, first_day=date(2026, 5, 9), fuel_density=FUEL_DENSITY),
    story=STORY,
    remarks=_remarks(DIARY),
)
