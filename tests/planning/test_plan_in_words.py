"""What the page, the cards and the machine say of a plan is what the plan holds: numbers, units, clocks, days."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from datetime import date
from unittest.mock import patch

import numpy as np
import pypdf
import pytest
from plan_by_hand import ORDER, asked, by_hand
from rich.console import Console

from samesky.planning.alternatives import Alternative
from samesky.planning.cards.html import cards, write_cards
from samesky.planning.output import terminal, words
from samesky.planning.output.terminal import print_plan
from samesky.planning.output.to_json import to_json
from samesky.planning.plan import PlannedLook
from samesky.planning.schedule import weight_of
from samesky.planning.scrub import ScrubLimit

KNOT = 1852.0 / 3600.0


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return by_hand(asked(tmp_path_factory.mktemp("made")))


@pytest.fixture(scope="module")
def free(tmp_path_factory):
    changes = (('kind = "refit"', 'kind = "free"'), ('time = "30 min"', 'time = "0 min"'))
    question = asked(tmp_path_factory.mktemp("free"), *changes)
    return by_hand(question, (("ABBA", "BAAB"),), dict.fromkeys(("static_pull", "takeoff_roll", "timed_climb"), 1))


def limit(condition, low, high, measure="takeoff_roll", middle=0.0, **more) -> ScrubLimit:
    return ScrubLimit(condition, measure, low, high, middle, more.pop("rule", "derived"), "a test", **more)


def printed(plan) -> str:
    console = Console(file=io.StringIO(), width=300)
    with patch.object(terminal, "WIDEST", 300):
        print_plan(plan, console, details=True)
    return "\n".join(" ".join(line.split()) for line in console.file.getvalue().splitlines())


# -- limits ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("condition", "low", "high", "said"),
    [
        ("oat", 275.15, 295.55, "2 to 22 degC"),
        ("weight", 491.2, 542.4, "491 to 542 kg"),
        ("headwind", 0.0, 3.84 * KNOT, "0.0 to 3.8 kt"),
        ("lift-off airspeed", 35.94 * KNOT, 40.52 * KNOT, "35.9 to 40.5 kt"),
        ("crosswind", 0.0, 8.0 * KNOT, "at most 8.0 kt"),
        ("gust spread", 0.0, 3.46 * KNOT, "at most 3.5 kt"),
        ("headwind", -math.inf, 3.0 * KNOT, "at most 3.0 kt"),
        ("weight", 500.0, math.inf, "at least 500 kg"),
        ("weight", 500.0, 499.0, "no usable limit here"),
        ("weight", 500.0, 500.0, "500 to 500 kg"),
        ("weight", -math.inf, math.inf, "does not bind"),
        ("crosswind", 0.0, math.inf, "does not bind"),
    ],
)
def test_a_band_in_the_units_of_a_pilot(made, condition, low, high, said):
    assert words.within(made.question, limit(condition, low, high)) == said


def test_pressure_is_said_as_the_altimeters_setting(made):
    """The strip lies 300 ft up: what is 1 % below the pressure there is 1 % below the QNH, 1017.5 hPa at half time."""
    found = limit("pressure", 0.99 * 100_600.0, 1.01 * 100_600.0, middle=100_600.0)
    assert words.within(made.question, found) == "1007 to 1028 hPa"
    unknown = replace(made.question.request, forecast={})
    assert words.within(replace(made.question, request=unknown), found) == "996 to 1016 hPa"
    names = [words.condition_name(limit(one, 0, 1)) for one in ("pressure", "oat", "gust spread", "weight")]
    assert names == ["QNH", "temperature", "gust less wind", "weight"]


def test_the_forecast_of_a_limit_is_that_of_its_runs(made):
    """Wind 1 to 4 kt from 290 deg on a strip of 270 deg, gusts 2 to 7 kt, 8 to 16 degC, between 06:00 and 11:30."""
    for measure in ("takeoff_roll", "static_pull", ""):
        runs = made.schedule.runs_of(measure or "takeoff_roll")
        share = (np.array([run.hours % 24 for run in runs]) - 6.0) / 5.5
        wind = (1 + 3 * share) * KNOT
        expected = {
            "gust spread": (2 + 5 * share) * KNOT - wind,
            "crosswind": wind * np.sin(np.radians(20)),
            "headwind": wind * np.cos(np.radians(20)),
            "oat": 281.15 + 8 * share,
            "weight": [weight_of(made.question, run) for run in runs],
        }
        for condition, values in expected.items():
            of_day, found = words.forecast_of(made, limit(condition, 0, 1, measure))
            assert of_day == pytest.approx([run.hours % 24 for run in runs])
            assert found == pytest.approx(values), condition
        assert words.forecast_of(made, limit("lift-off airspeed", 0, 1, measure))[1] is None


def test_where_the_forecast_keeps_a_limit(made):
    runs = np.array([run.hours % 24 for run in made.schedule.runs_of("takeoff_roll")])
    oat = 281.15 + 8 * (runs - 6.0) / 5.5
    cases = {
        "inside": (oat.min(), oat.max()),
        "outside all day": (oat.max() + 1, oat.max() + 2),
        "no forecast": None,
        "": None,
    }
    for said, ends in cases.items():
        if ends:
            assert words.forecast_says(made, limit("oat", *ends)) == said
    at = sorted(runs)
    warm = limit("oat", -math.inf, float(np.sort(oat)[4]))
    clocks = [f"{int(hour):02d}:{round(60 * (hour % 1)):02d}" for hour in (at[0], at[4])]
    assert words.forecast_says(made, warm) == f"inside {clocks[0]} to {clocks[1]}"
    calm = replace(made, question=replace(made.question, request=replace(made.question.request, forecast={})))
    assert words.forecast_says(calm, limit("gust spread", 0, 1)) == "no forecast"
    assert words.forecast_says(calm, limit("lift-off airspeed", 0, 1)) == ""


def test_runs_outside_a_limit_by_the_forecast_are_counted_and_the_limit_is_named(made):
    runs = np.array([run.hours % 24 for run in made.schedule.runs_of("takeoff_roll")])
    oat = np.sort(281.15 + 8 * (runs - 6.0) / 5.5)
    warm, cold = limit("oat", -math.inf, oat[-4]), limit("oat", oat[4], math.inf)
    late = limit("headwind", -math.inf, 0.0)
    heavy, other = limit("weight", 1.0, 2.0), limit("oat", 1.0, 2.0, "static_pull")
    for limits, count, named in (
        ((warm,), np.sum(oat > oat[-4]), "temperature"),
        ((cold, warm), np.sum((oat > oat[-4]) | (oat < oat[4])), "temperature, temperature"),
        ((warm, late), len(runs), "temperature, headwind"),
    ):
        said = words.outside(replace(made, limits=(heavy, *limits, other)))
        assert said.startswith(f"{count} of {len(runs)} runs of the take-off roll fall outside a limit ({named})")
        assert f"By the forecast: {said}" in printed(replace(made, limits=limits))
    for limits in ((heavy, other), (limit("oat", oat[0], oat[-1]),)):
        assert words.outside(replace(made, limits=limits)) == ""
        assert "By the forecast" not in printed(replace(made, limits=limits))


def test_which_limits_are_worth_saying(made):
    first, wide = limit("oat", 280.0, 290.0), limit("oat", 270.0, 300.0, "static_pull")
    below, above = limit("oat", 281.0, 300.0, "timed_climb"), limit("oat", 270.0, 289.0, "static_pull")
    nobody = limit("weight", -math.inf, math.inf, "timed_climb")
    mine = limit("weight", -math.inf, math.inf)
    speed, entry = limit("airspeed", 20.0, 22.0, "timed_climb"), limit("entry airspeed", 20.0, 22.0, "timed_climb")
    roll_entry = limit("entry airspeed", 20.0, 22.0)
    gust, breezy = limit("gust spread", 0.0, math.inf, "static_pull"), limit("gust spread", 0.0, 3.0)
    papers = limit("crosswind", 0.0, 4.0, "", rule="papers")
    for limits, said in (
        ((first, wide), (first,)),
        ((first, below, above), (first, below, above)),
        ((first, below, replace(below, measure="static_pull")), (first, below)),
        ((wide, replace(wide, measure="timed_climb")), (wide,)),
        ((nobody, mine), (mine,)),
        ((speed, entry), (speed,)),
        ((entry,), (entry,)),
        ((speed, roll_entry), (speed, roll_entry)),
        ((gust,), (gust,)),
        ((gust, replace(gust, measure="timed_climb")), (gust,)),
        ((gust, breezy), (breezy,)),
        ((first, papers), (first, papers)),
        (
            (replace(papers, measure="static_pull", high=5.0), papers),
            (replace(papers, measure="static_pull", high=5.0), papers),
        ),
    ):
        assert words.worth_saying(replace(made, limits=limits)) == list(said)


def test_limits_on_the_terminal_and_what_sets_them(made):
    rules = (("derived", "what is left"), ("gust", "what is left"), ("papers", "papers"), ("range", "range of the"))
    for rule, said in rules:
        out = printed(replace(made, limits=(limit("weight", 500.0, 540.0, rule=rule, reading=0.11),)))
        assert "Take-off roll: weight 500 to 540 kg." in out
        assert f"Take-off roll weight 11 % {said}" in out
    for reading, said in ((0.004, ""), (0.005, "0 % "), (0.006, "1 % ")):
        out = printed(replace(made, limits=(limit("crosswind", 0, 4.0, "", reading=reading),)))
        assert "All: crosswind at most 7.8 kt." in out
        assert f"All crosswind {said}what is left" in out
    out = printed(replace(made, limits=(limit("weight", -math.inf, math.inf, reading=0.11),)))
    assert "Take-off roll weight 11 % does not bind" in out
    assert "Take-off roll: weight" not in out
    assert "can leave more than 25 % of the margin" in out
    # Of the forecast only what is no matter of course: hours outside, not "inside", nor that there is none.
    runs = np.array([run.hours % 24 for run in made.schedule.runs_of("takeoff_roll")])
    warm = limit("oat", -math.inf, float(np.sort(281.15 + 8 * (runs - 6.0) / 5.5)[4]))
    gust, climb = limit("gust spread", 0.0, 3.0), limit("airspeed", 29.0, 33.0, "timed_climb")
    found = words.limits_by_measure(replace(made, limits=(warm, gust, climb, limit("oat", 1.0, 400.0, "static_pull"))))
    band, hours = words.within(made.question, warm), words.forecast_says(made, warm)
    assert found == [
        ("Take-off roll", [f"temperature {band} (forecast {hours})", "gusts over the wind at most 5.8 kt"]),
        ("Timed climb", ["airspeed 56.4 to 64.1 kt"]),
        ("Static pull", ["temperature -272 to 127 degC"]),
    ]  # fmt: skip


# -- sizes, drift, looks -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("straight", "curved", "said"),
    [
        (0.0, 0.0, "in this order steady and curved drift both cancel out"),
        (0.0049, -0.0049, "both cancel out"),
        (0.0, -0.304, "leaves 0.00 % in the difference, of a curved one of 1 %/h² 0.30 %"),
        (-0.006, 0.0, "leaves 0.01 % in the difference, of a curved one of 1 %/h² 0.00 %"),
        (1.5, 0.2, "of a steady drift of 1 % an hour this order leaves 1.50 % in the difference, of a curved one"),
    ],
)
def test_drift_in_words(made, straight, curved, said):
    assert said in words.drift_words(replace(made, drift=(straight, curved)))
    assert f"Drift: {words.drift_words(replace(made, drift=(straight, curved)))}" in printed(
        replace(made, drift=(straight, curved))
    )


def test_sizes_and_chances(made):
    roll, _, pull = made.question.wanted[1], None, made.question.wanted[0]
    assert words.size(roll, math.log(1.034)) == "3.4 %"
    assert words.size(roll, -math.log(1.034)) == "-3.3 %"
    assert words.size(roll, math.inf) == "none"
    plain = replace(pull, asked=replace(pull.asked, measure=replace(pull.asked.measure, ratio=False)))
    assert words.size(plain, 9.80665) == "1 kgf"
    newtons = replace(plain, asked=replace(plain.asked, unit=""))
    assert words.size(newtons, 9.80665).endswith(f" {pull.asked.measure.unit}")
    # A difference of temperatures has no zero of its own.
    warm = replace(plain.asked.measure, dimension="temperature")
    assert words.size(replace(plain, asked=replace(plain.asked, measure=warm, unit="degC")), 2.0) == "2 degC"
    assert [words.chance(p) for p in (-0.1, 0.004, 0.835, 0.999, 1.0, math.nan)] == [
        "0 %", "0 %", "84 %", "99 %", "99 %", "none",
    ]  # fmt: skip


def test_fuel_in_the_unit_of_the_plan(made):
    assert words.fuel(made.question, 43.2) == "60 L"
    in_kg = replace(made.question, request=replace(made.question.request, fuel_unit="kg"))
    assert words.fuel(in_kg, 43.2) == "43 kg"
    # Without a loading avgas is taken to weigh 0.72 kg/L (common practice).
    without = replace(made.question, campaign=replace(made.question.campaign, loading=None))
    assert words.fuel(without, 43.2) == "60 L"
    heavy = replace(made.question.campaign.loading, fuel_density=864.0)
    assert words.fuel(replace(made.question, campaign=replace(made.question.campaign, loading=heavy)), 43.2) == "50 L"


def test_order_runs_weight_and_hours_in_words(made, free):
    assert [words.order_words(made, day) for day in (0, 1)] == ["A B A", "B A B"]
    assert words.order_words(free, 0) == "A B B A | B A A B"
    assert words.runs_words(made) == "1 x static pull, 2 x take-off roll, 1 x timed climb"
    part = by_hand(free.question, free.order, free.runs_a_block, flown_in={"static_pull": 1})
    assert words.runs_words(part) == "1 x static pull (up to block 1), 1 x take-off roll, 1 x timed climb"
    # 43.2 kg less 12 minutes at 12.96 kg/h in the block's last run: 527 kg to 524.6 kg.
    assert words.weight_words(made, made.schedule.blocks[0]) == "527 to 525 kg"
    unloaded = replace(made, question=replace(made.question, campaign=replace(made.question.campaign, loading=None)))
    assert words.weight_words(unloaded, made.schedule.blocks[0]) == "not known"
    # Six blocks of a quarter of an hour and a swap of half an hour between them, twice: 1.5 h at 18 L/h.
    assert words.in_all(made) == "3.5 h in the field, 1.5 h of flying, 27 L of fuel"


def test_looks_in_words_on_the_page_and_for_machines(made):
    looks = (PlannedLook(1, 3, 6, 0.9706, 5.0, 2.345), PlannedLook(2, 6, 12, 0.95, 9.0, None))
    looked = replace(made, looks=looks)
    assert words.look_words(looks[0]) == "after block 3 (run 6) by the 97.06 % interval"
    assert words.look_words(looks[1]) == "after block 6 (run 12) no interval yet"
    assert words.looks_proposed(looked) == "6, 12"
    out = printed(looked)
    assert (
        "Planned looks: after block 3 (run 6) by the 97.06 % interval; after block 6 (run 12) no interval yet." in out
    )
    assert "O'Brien-Fleming limits, fixed now" in out
    assert "Fix them: Before the first flight, write looks_after_runs = [6, 12] into [plan]" in out
    assert words.looks_to_state(made) == ""
    assert "Planned looks" not in printed(made)
    stated = replace(made.question, request=replace(made.question.request, looks_after=(6, 12)))
    assert words.looks_to_state(replace(looked, question=stated)) == ""
    assert "Fix them" not in printed(replace(looked, question=stated))
    assert to_json(looked)["looks"] == [
        {"look": 1, "after_block": 3, "after_run": 6, "level": 0.9706, "degrees_of_freedom": 5.0, "t_limit": 2.345},
        {"look": 2, "after_block": 6, "after_run": 12, "level": 0.95, "degrees_of_freedom": 9.0, "t_limit": None},
    ]


# -- the page and the machine ------------------------------------------------------------------------------------------


def test_the_opening_says_what_is_asked_and_what_would_settle_it(made):
    out = printed(made)
    assert out.startswith(
        "Which propeller stays on\nDoes the coarse propeller cost take-off roll that a short strip would notice?\n"
        "A = as delivered (baseline), B = coarse\n"
    )
    assert "Nothing that was tried would do: ask for a larger difference" in out
    campaign = replace(made.question.campaign, title="", question="")
    assert printed(replace(made, question=replace(made.question, campaign=campaign))).startswith("Plan\nA = as")
    ways = (Alternative("longer days", 1, 4.0, 0.84, made.question), Alternative("more", 3, 11.26, 0.9, made.question))
    out = printed(replace(made, alternatives=ways))
    assert (
        "What would do, cheapest first:\n- Longer days: 1 day, 4.0 h in the field; an answer 84 times in 100.\n"
        "- More: 3 days, 11.3 h in the field; an answer 90 times in 100."
    ) in out
    assert "Nothing that was tried" not in out
    assert [way["days"] for way in to_json(replace(made, alternatives=ways))["would_settle_it"]] == [1, 3]
    sure = {name: replace(power, found=0.99, none=0.9) for name, power in made.powers.items()}
    out = printed(replace(made, powers=sure))
    told = (
        "This plan finds a real 6 % difference in the take-off roll 99 times in 100; if the two are equal, it shows so"
    )
    assert f"{told} 90 times in 100." in out
    assert "Nothing that was tried" not in out
    none = {name: replace(power, uncertainty=math.nan) for name, power in made.powers.items()}
    assert "No plan within your hours and fuel gives the take-off roll an interval at all." in printed(
        replace(made, powers=none)
    )


def test_what_cannot_be_answered_says_what_could_be(made):
    found = {name: replace(power, found=0.41, none=0.2) for name, power in made.powers.items()}
    poor = replace(made, powers=found)
    assert words.headline(poor) == (
        "No plan within your hours and fuel gets an answer 80 times in 100. The best one, below, finds a real 6 % "
        "difference in the take-off roll 41 times in 100; if the two are equal, it shows so 20 times in 100. To be "
        f"found 80 times in 100, the difference must be {words.reach_words(poor, made.question.primary)} or more."
    )
    assert [words.times_in_100(p) for p in (0.004, 0.835, 1.0, math.nan)] == [
        "0 times in 100", "84 times in 100", "99 times in 100", "never",
    ]  # fmt: skip


def test_the_tables_of_measures_and_of_blocks(made):
    out = printed(made)
    for wanted in made.question.wanted:
        power = made.powers[wanted.name]
        decides = ", decides" if wanted.name == "takeoff_roll" else ""
        title, runs = wanted.asked.measure.title.capitalize(), 12 if decides else 6
        chances = f"{words.count_in_100(power.found)} {words.count_in_100(power.none)}"
        said = words.verdict_words(made, power)
        assert f"{title}{decides} {runs} {wanted.asked.smallest_text} {chances} {said}" in out
        assert f"{title} {words.size(wanted, power.combined)} {words.chance(power.with_more_scatter)}" in out
    assert out.index("Take-off roll, decides") < out.index("Static pull 6")
    unknown = tuple(replace(one, degrees_of_freedom=math.inf) for one in made.question.wanted)
    assert printed(replace(made, question=replace(made.question, wanted=unknown))).count(" not known") == 3
    assert "Day 1 (2026-05-09): A B A\n" in out
    assert "Day 2 (2026-05-10): B A B\n" in out
    assert "Each block: 1 x static pull, 2 x take-off roll, 1 x timed climb, in rounds." in out
    assert "drawn with seed 11." in out
    # 60 L less 4.5 L a block.
    assert "1 06:00-06:15 A 60 L to 55 L 527 to 525 kg" in out
    assert "5 06:45-07:00 A" in out
    assert out.index("Day 2") < out.index("4 06:00-06:15 B")
    undated = replace(made.question, request=replace(made.question.request, first_date=None))
    assert "Day 2: B A B" in printed(replace(made, question=undated))
    console = Console(file=io.StringIO(), width=300)
    print_plan(made, console)
    assert max(map(len, console.file.getvalue().splitlines())) <= 100
    assert "drawn with seed" not in console.file.getvalue()


def test_the_machine_gets_the_plans_own_numbers(made, free):
    said = to_json(made)
    assert (said["baseline"], said["other"], said["days"], said["seed"]) == ("A", "B", 2, 11)
    assert said["order"] == [list(day) for day in ORDER]
    assert said["hours"] == pytest.approx(3.5)
    assert said["answers"] is made.answers
    for given, block in zip(said["blocks"], made.schedule.blocks, strict=True):
        assert (given["block"], given["day"], given["before"]) == (block.number, 1 + (block.number > 3), block.before)
        assert (given["fuel"], given["fuel_left"]) == pytest.approx((block.fuel, block.fuel_left), rel=1e-4)
        for one, run in zip(given["runs"], block.runs, strict=True):
            assert (one["measure"], one["run"], one["installation"]) == (run.measure, run.number, block.number)
            assert one["weight"] == pytest.approx(weight_of(made.question, run), rel=1e-4)
    assert said["blocks"][0]["start"] == "06:00"
    assert said["blocks"][0]["end"] == "06:15"
    for given in said["measures"]:
        power = made.powers[given["measure"]]
        assert given["primary"] is (given["measure"] == "takeoff_roll")
        assert given["scale"] == "logarithm"
        known = math.isfinite(power.combined)
        assert given["standard_uncertainty"] == (pytest.approx(power.combined, rel=1e-3) if known else None)
        assert given["smallest_on_scale"] == pytest.approx(power.smallest, rel=1e-3)
        pair = (given["power_difference"], given["power_no_difference"], given["power_if_it_scatters_more"])
        assert pair == pytest.approx((power.found, power.none, power.with_more_scatter), abs=6e-4)
        assert given["settles"] is made.settles(given["measure"])
    for given, one in zip(said["limits"], made.limits, strict=True):
        ends = (one.low, one.high, one.middle, one.reading)
        found = tuple(given[name] for name in ("low", "high", "common_sky", "reading_share"))
        for mine, theirs in zip(found, ends, strict=True):
            assert mine == (pytest.approx(theirs, rel=1e-3, abs=1e-6) if math.isfinite(theirs) else None)
    drifting = to_json(replace(made, drift=(0.25, -0.5)))["drift"]
    assert drifting == {"straight": 0.25, "curved": -0.5}
    assert to_json(free)["days"] == 1


# -- cards -------------------------------------------------------------------------------------------------------------


def test_facts_of_a_card(made, free, tmp_path):
    first, *_, last = cards(made)
    assert first.facts == (
        "A: as delivered",
        "2026-05-09, 06:00 to 06:15 as planned",
        "Fitting 1: fitted, set and checked as the papers ask",
        "Fuel 60 L at the start, about 55 L left",
    )
    assert (first.number, first.of, last.number) == (1, 6, 6)
    assert last.facts[1].startswith("2026-05-10, 07:30 to 07:45")
    assert first.order == ("static pull 1", "takeoff roll 1", "timed climb 1", "takeoff roll 2")
    undated = replace(made, question=replace(made.question, request=replace(made.question.request, first_date=None)))
    assert cards(undated)[5].facts[1].startswith("Day 2, ")
    turns = cards(free)[0]
    assert turns.facts[:2] == ("A: as delivered", "B: coarse")
    assert "Changing is free: set it before each run, and read it back" in turns.facts
    assert turns.order[2:5] == ("timed climb 1 A", "static pull 2 B", "takeoff roll 2 B")
    assert turns.tables[0].rows == ("1 A", "2 B", "3 B", "4 A")
    looks = (PlannedLook(1, 6, 12, 0.95, 9.0, 2.2),)
    said = "After this block: look 1, samesky compare DIR --look 1"
    assert [said in card.facts for card in cards(replace(made, looks=looks))] == [False] * 5 + [True]
    light = asked(tmp_path, ("refuel = true", "refuel = false\nballast = true"))
    loaded = cards(by_hand(light, (tuple("ABA"),), band=5.0))
    assert "Before: put in 3 kg of ballast" in loaded[1].facts
    assert "Ballast on board: 3 kg, secured as the papers allow" in loaded[1].facts
    assert not any("allast" in fact for fact in loaded[0].facts)


def test_only_what_the_plan_gives_is_left_out_of_the_blanks(made, tmp_path):
    """The strip's slope and elevation are known here, and no ballast is planned."""

    def blanks(plan):
        card = cards(plan)[-1]
        return {cell.partition(" [")[0] for table in card.tables for cell in table.header}, card.left_out

    known, said = blanks(made)
    assert not {"slope", "pressure altitude", "ballast"} & known
    assert said == "Not on this card: ballast, pressure altitude, slope (leave blank)."
    edits = ('slope = "0.4 %"\n', ""), ('elevation = "300 ft"\n', ""), ('unit = "ft"\n', "")
    flat = by_hand(asked(tmp_path / "flat", *edits))
    roll = next(table.header for table in cards(flat)[0].tables if "takeoff_roll" in table.title)
    assert "ground roll [m]" in roll, "in the measure's own unit where the campaign asks for none"
    known, said = blanks(flat)
    assert {"slope", "pressure altitude"} <= known
    assert said == "Not on this card: ballast (leave blank)."
    light = asked(tmp_path / "light", ("refuel = true", "refuel = false\nballast = true"))
    known, said = blanks(by_hand(light, (tuple("ABA"),), band=5.0))
    assert "ballast" in known
    assert "ballast" not in said
    header = next(table.header for table in cards(made)[0].tables if "static_pull" in table.title)
    assert "pull [kgf]" in header
    climb = next(table.header for table in cards(made)[0].tables if "timed_climb" in table.title)
    assert "elapsed [s]" in climb


def test_a_condition_of_several_measures_is_held_to_what_all_allow(made):
    roll, climb = limit("oat", 280.15, 290.15), limit("oat", 275.15, 285.15, "timed_climb")
    inner, papers = limit("oat", 281.15, 284.15, "static_pull"), limit("crosswind", 0.0, 8 * KNOT, "")
    for limits, shown in (
        (
            (roll, climb, papers),
            [("temperature", "7 to 12 degC", "takeoff roll, timed climb"), ("crosswind", "at most 8.0 kt", "all")],
        ),
        ((roll, inner), [("temperature", "8 to 11 degC", "static pull")]),
        ((roll, replace(climb, high=300.0)), [("temperature", "7 to 17 degC", "takeoff roll")]),
        (
            (roll, replace(climb, low=282.15, high=300.0)),
            [("temperature", "9 to 17 degC", "takeoff roll, timed climb")],
        ),
    ):
        assert list(cards(replace(made, limits=limits))[0].limits) == shown
    part = by_hand(made.question, flown_in={"static_pull": 2})
    assert list(cards(replace(part, limits=(roll, inner)))[2].limits) == [
        ("temperature", "7 to 17 degC", "takeoff roll")
    ]


def test_everything_on_a_card_is_on_its_pdf(made, tmp_path):
    """Read back by pypdf: every fact, limit, caution, header and aim stands on the page, and is as the HTML has it."""
    _, pdf = write_cards(made, tmp_path / "cards.html", pdf=True)
    pages = [" ".join(page.extract_text().replace("\xa0", " ").split()) for page in pypdf.PdfReader(pdf).pages]
    made_cards = cards(made)
    assert len(pages) == len(made_cards)
    for page, card in zip(pages, made_cards, strict=True):
        closed = page.replace(" ", "")
        told = [*card.facts, *card.order, *card.stop, card.left_out, f"card {card.number} of {card.of}", card.heading]
        told += [cell for row in card.limits for cell in row] + [made.question.campaign.title]
        for table in card.tables:
            told += [
                table.title,
                *table.rows,
                *table.aims,
                *(part for cell in table.header for part in cell.split(" [")),
            ]
        for piece in told:
            assert piece.replace(" ", "") in closed, piece
        # Each table is headed by its runs; aims are told as such where there are any, and nowhere else.
        assert page.count("aim ") == sum(any(table.aims) for table in card.tables)
    silent = [replace(card, left_out="", limits=()) for card in made_cards]
    from samesky.planning.cards.paper import PAPERS
    from samesky.planning.cards.pdf import pdf_bytes

    bare = pypdf.PdfReader(io.BytesIO(pdf_bytes(silent, "Bare", PAPERS["a5"])))
    assert all("Not on this card" not in page.extract_text() for page in bare.pages)
    assert [round(float(size) / 72 * 25.4) for size in bare.pages[0].mediabox[2:]] == [148, 210]


def test_the_day_of_a_card_is_a_date(made):
    assert date.fromisoformat(cards(made)[3].facts[1].partition(",")[0]) == date(2026, 5, 10)
