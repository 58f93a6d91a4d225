"""The whole plan: that it keeps what it promises, says what would, and refuses what nobody could fly."""

from __future__ import annotations

import json
import sys
from dataclasses import replace

import numpy as np
import pytest
import saturday

from samesky import cli
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.looks import Look, nominal_p
from samesky.planning import search, trial
from samesky.planning.output import words
from samesky.planning.output.words import headline
from samesky.planning.plan import plan, plan_for
from samesky.planning.question import question
from samesky.planning.trial import Bench

FREE = (('kind = "refit"', 'kind = "free"'), ('time = "30 min"', 'time = "0 min"'))
#: The rolls of the breezy noon, with one swap in between.
NOON = (
    ("days = 2", "days = 1"),
    ('start = "06:00"', 'start = "12:00"'),
    ('end = "11:30"', 'end = "13:10"'),
    ('wind = ["1 kt", "4 kt"]', 'wind = ["9 kt", "12 kt"]'),
    ('gust = ["2 kt", "7 kt"]', 'gust = ["16 kt", "20 kt"]'),
    ('scatter = "6 %"\ndegrees_of_freedom = 12\n', ""),
)


def planned(folder, *changes):
    campaign = read(saturday.write(folder, *changes), flown=False)
    assert not campaign.findings, [finding.sentence() for finding in campaign.findings]
    return plan(campaign)


#: Climbs that scatter by 3 % would need more of them than the hours hold.
STEADY_CLIMBS = ('scatter = "3 %"', 'scatter = "2 %"')


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    return planned(tmp_path_factory.mktemp("good"), STEADY_CLIMBS)


@pytest.fixture(scope="module")
def noon(tmp_path_factory):
    return planned(tmp_path_factory.mktemp("noon"), *NOON)


def test_it_settles_what_it_says_within_hours_fuel_and_weight(good):
    assert good.answers
    assert all(good.settles(name) for name in good.powers)
    asked, loading = good.question, good.question.campaign.loading
    for block in good.schedule.blocks:
        assert 6.0 <= block.start % 24 < block.end % 24 <= 11.5 + 1e-9
        assert asked.lowest_fuel - 1e-9 <= block.fuel_left < block.fuel <= asked.fuel + 1e-9
        assert good.weights(block)[1] <= loading.max_mass
    for earlier, later in zip(good.schedule.blocks, good.schedule.blocks[1:], strict=False):
        if earlier.day == later.day:
            assert later.start - earlier.end >= 0.5 - 1e-9


def test_every_day_goes_back_and_the_days_begin_differently(good):
    assert {day[0] for day in good.order} == {"A", "B"}
    assert all(len(set(day)) == 2 and len(day) >= 3 for day in good.order)
    assert np.abs(good.drift).max() < 1e-9


def test_same_runs_of_every_block_weigh_the_same(tmp_path):
    """Where little may be left of the weight correction every block begins full; where more may, weight stays in it."""
    strict = planned(tmp_path / "strict", ("seed = 11", 'seed = 11\nleft_over = "10 %"'))
    by_place = {}
    for block in strict.schedule.blocks:
        for place, run in enumerate(block.runs):
            by_place.setdefault(place, []).append(run.fuel)
    assert all(np.ptp(fuels) < 1e-9 for fuels in by_place.values())


def test_no_run_is_further_from_the_others_in_weight_than_its_correction_is_trusted(good):
    band = min(one.high - one.low for one in good.limits if one.condition == "weight")
    fuels = [run.fuel + run.ballast for block in good.schedule.blocks for run in block.runs]
    assert np.ptp(fuels) <= band + 1e-9
    assert len({block.fuel for block in good.schedule.blocks}) > 1


def test_no_cheaper_plan_was_passed_over(good):
    # A day less and two runs a block of the others, or a roll less a block, does not settle the primary measure.
    bench = Bench(good.question)
    one_day, _ = search._best(bench, np.inf, range(1, 2), 2)
    assert one_day.power.least < 0.80
    fewer = {**good.runs_a_block, "takeoff_roll": good.runs_a_block["takeoff_roll"] - 1}
    schedule, _ = search.laid_out(good.question, good.order, fewer)
    assert bench.approximate(schedule, good.question.primary).least < 0.80


def test_the_cheapest_of_all_that_settle_it_is_taken(tmp_path):
    easy = question(read(saturday.write(tmp_path, ('that_matters = "6 %"', 'that_matters = "10 %"')), flown=False))
    bench = Bench(easy)
    tried = [one for one, _ in search._candidates(bench, np.inf, range(1, 3), 2) if one is not None]
    settled = [one for one in tried if one.power.least >= 0.80]
    assert len({one.schedule.days for one in settled}) == 2
    assert search.best(bench, np.inf, range(1, 3))[0].cost == min(one.cost for one in settled)


def test_a_question_asked_otherwise_has_a_reference_day_of_its_own(good):
    """A smaller error source, a longer day or other air count; a day more alone does not."""
    asked, roll = good.question, good.question.primary
    sources = tuple(replace(one, standard_uncertainty=0.5 * one.standard_uncertainty) for one in asked.campaign.sources)
    quiet = replace(asked, campaign=replace(asked.campaign, sources=sources))
    calm = replace(asked, request=replace(asked.request, forecast={**asked.request.forecast, "oat": (285.0, 286.0)}))
    bench = Bench(asked)
    for other in (quiet, calm, replace(asked, end=asked.end + 2.0), replace(asked, fuel=asked.fuel - 5.0)):
        alone, beside = Bench(other), Bench(other, bench)
        assert alone.approximate(good.schedule, roll).least == beside.approximate(good.schedule, roll).least
        assert beside._reference is not bench._reference
    more = Bench(replace(asked, request=replace(asked.request, days=asked.request.days + 1)), bench)
    assert more._reference is bench._reference


def test_the_approximate_power_agrees_with_the_exact_one(good, monkeypatch):
    """On as many campaigns the reference day is as good as the runs themselves; on few, chance is all there is more."""
    for wanted in good.question.wanted:
        exact = good.powers[wanted.name]
        assert Bench(good.question).approximate(good.schedule, wanted).least == pytest.approx(exact.least, abs=0.03)
    monkeypatch.setattr(trial, "FEW", trial.MANY)
    for wanted in good.question.wanted:
        exact, approximate = good.powers[wanted.name], Bench(good.question).approximate(good.schedule, wanted)
        assert approximate.uncertainty == pytest.approx(exact.uncertainty, rel=0.01)
        assert approximate.least == pytest.approx(exact.least, abs=0.01)


def test_a_breezy_noon_cannot_answer_and_the_plan_says_what_would(noon):
    assert not noon.answers
    assert noon.powers["takeoff_roll"].least < 0.2
    assert headline(noon).startswith("No plan within your hours and fuel g")
    assert noon.alternatives
    costs = [(way.days, way.hours) for way in noon.alternatives]
    assert costs == sorted(costs)
    gusts = next(limit for limit in noon.limits if limit.condition == "gust spread")
    assert gusts.high < 7 * 1852 / 3600
    assert all(way.power >= (0.5 if way.says.startswith("told by all") else 0.80) for way in noon.alternatives)


def test_what_is_said_to_settle_it_does(noon):
    for way in noon.alternatives:
        if way.power >= 0.80:
            assert plan_for(way.question).answers, way.says


@pytest.mark.usefixtures("without_alternatives")
def test_a_calm_morning_answers_with_fewer_runs_than_a_breezy_one(tmp_path):
    # Without a documented scatter the forecast gusts count.
    undocumented = ('scatter = "6 %"\ndegrees_of_freedom = 12\n', "")
    calm = planned(tmp_path / "calm", undocumented, ('gust = ["2 kt", "7 kt"]', 'gust = ["1 kt", "4 kt"]'))
    breezy = planned(tmp_path / "breezy", undocumented, ('gust = ["2 kt", "7 kt"]', 'gust = ["11 kt", "16 kt"]'))
    assert calm.powers["takeoff_roll"].scatter < breezy.powers["takeoff_roll"].scatter
    roll = breezy.question.primary
    assert Bench(breezy.question).approximate(breezy.schedule, roll).scatter == pytest.approx(
        breezy.powers["takeoff_roll"].scatter, rel=0.05
    )
    assert calm.powers["takeoff_roll"].least > breezy.powers["takeoff_roll"].least


def test_the_seed_decides_what_comes_first_and_nothing_else(tmp_path, good):
    again = planned(tmp_path / "again", STEADY_CLIMBS)
    assert again.order == good.order
    assert again.schedule == good.schedule
    campaign = read(saturday.write(tmp_path / "other", ("seed = 11", "seed = 2")), flown=False)
    assert search.order_of(question(campaign), 2, 3) == (good.order[1], good.order[0])


def test_where_changing_is_free_pairs_are_turned_round(tmp_path):
    free = planned(tmp_path, *FREE)
    assert {word for day in free.order for word in day} == {"ABBA", "BAAB"}
    assert free.powers["takeoff_roll"].design_name in ("pairs", "days")
    assert free.answers
    # The easy measures are flown no more often than they need.
    assert len(free.schedule.runs_of("static_pull")) < len(free.schedule.runs_of("takeoff_roll"))


def test_looks_are_spread_over_the_blocks_with_their_limits(tmp_path):
    looked = planned(tmp_path, ("seed = 11", 'seed = 11\nlooks = 2\nstopping_limits = "pocock"'))
    first, last = looked.looks
    assert last.after_block == len(looked.schedule.blocks)
    assert first.after_block == round(len(looked.schedule.blocks) / 2)
    # Pocock's two looks ask for p = 0.0294 each (Pocock 1977, table 1).
    assert 1 - first.level == pytest.approx(0.0294, abs=5e-5)
    assert 1 - last.level == pytest.approx(float(nominal_p(2)[1]))


def test_looks_come_after_runs_of_the_measure_that_decides_and_stay_there_once_stated(tmp_path):
    looked = planned(tmp_path / "open", ("seed = 11", "seed = 11\nlooks = 2"))
    runs = [run for block in looked.schedule.blocks for run in block.runs if run.measure == "takeoff_roll"]
    flown = [sum(run.hours < look_end(looked, look) for run in runs) for look in looked.looks]
    assert [look.after_run for look in looked.looks] == flown
    assert f"looks_after_runs = [{flown[0]}, {flown[1]}] into [plan]" in words.looks_to_state(looked)
    early = flown[0] - 1
    stated = planned(tmp_path / "stated", ("seed = 11", f"seed = 11\nlooks_after_runs = [{early}, {flown[1]}]"))
    assert [look.after_run for look in stated.looks] == [early, flown[1]]
    assert stated.looks[0].after_block == looked.looks[0].after_block
    assert words.looks_to_state(stated) == ""


def look_end(plan, look) -> float:
    return plan.schedule.blocks[look.after_block - 1].end


#: What is spoilt, and what the one message must say.
IMPOSSIBLE = {
    "no plan": (("[plan]\ndays", "[planned]\ndays"), "is no table that is known here"),
    "no daylight": (('end = "11:30"', 'end = "05:00"'), "there is no daylight to fly in"),
    "no end": (('end = "11:30"\n', ""), "end is missing"),
    "no clock": (('end = "11:30"', 'end = "half past"'), "which is no clock time"),
    "a negative swap": (('time = "30 min"', 'time = "-30 min"'), "'-30 min', expected between 0 and"),
    "no swap time": (('time = "30 min"\n', ""), "how long a swap takes is missing"),
    "no fuel": (('fuel = "60 L"', 'fuel = "18 L"'), "there is no fuel to fly with"),
    "fuel not said": (('fuel = "60 L"\n', ""), "fuel is missing"),
    "nothing burnt": (('burn = "18 L/h"', 'burn = "18 L"'), "it measures volume, not volume flow"),
    "a block beyond the tank": (('reserve = "20 L"', 'reserve = "59 L"'), "burns more fuel than there is"),
    "fuel for one block alone": (
        ("refuel = true", "refuel = false\nballast = false"),
        ('reserve = "20 L"', 'reserve = "55 L"'),
        "none can be taken on",
    ),
    "too heavy": (('maximum_weight = "560 kg"', 'maximum_weight = "520 kg"'), "more than its maximum of 520"),
    "crosswind beyond the papers": (
        ('crosswind_limit = "8 kt"', 'crosswind_limit = "0.1 kt"'),
        "what is expected of 'crosswind' is above its limit",
    ),
    "limits that contradict the forecast": (
        ("[plan]\n", '[limits]\nheadwind = "0.5 kt"\n\n[plan]\n'),
        "what is expected of 'headwind' is above its limit",
    ),
    "limits that contradict the aim": (
        ("[plan]\n", '[limits]\n"lift-off airspeed" = ["42 kt", "46 kt"]\n\n[plan]\n'),
        "what is expected of 'lift-off airspeed' is below its limit",
    ),
    "limits the wrong way round": (
        ("[plan]\n", '[limits]\nfuel = ["40 L", "30 L"]\n\n[plan]\n'),
        "the lowest is above the highest",
    ),
    "a tailwind": (
        ('wind_from = "290 deg"', 'wind_from = "100 deg"'),
        ("[plan]\n", '[limits]\ntailwind = "0 kt"\n\n[plan]\n'),
        "what is expected of 'tailwind' is above its limit",
    ),
    "a day too short": (('end = "11:30"', 'end = "06:40"'), "the shortest comparison takes"),
    "the deciding measure not planned": (
        ("[measure.takeoff_roll]\nprimary = true", "[measure.takeoff_roll]\nprimary = false"),
        (
            "[aeroplane]\n",
            '[measure.level_speed]\nprimary = true\nsmallest_difference_that_matters = "2 kt"\n[aeroplane]\n',
        ),
        "the deciding measure level_speed is not planned",
    ),
    "nothing expected": (('ground_roll = "250 ft"\n', ""), "what you expect to read as 'ground roll' is missing"),
    "no time a run": (('[plan.takeoff_roll]\ntime = "3 min"\n', "[plan.takeoff_roll]\n"), "how long one run takes"),
    "no scatter at all": (('scatter = "6 %"', 'scatter = "0 %"'), "expected a standard deviation above zero"),
    "half a run": (("degrees_of_freedom = 12", "runs_a_block = 2.5"), "expected a whole number"),
    "a share of everything": (("seed = 11", 'left_over = "140 %"'), "expected a share between 0 and 100 %"),
    "a strip unknown": (("seed = 11", 'runway = "09"'), "which is no runway of this campaign"),
    "more looks than blocks": (("seed = 11", "looks = 12"), "12 looks are planned, but there are"),
    "a look beyond the plan": (("seed = 11", "looks_after_runs = [4, 400]"), "comes after run 400, but"),
    "limits of nobody": (("seed = 11", 'stopping_limits = "gut feeling"'), "'obrien-fleming' or 'pocock'"),
    "weather of another planet": (('oat = ["8 degC", "16 degC"]', 'oat = "300 degC"'), "hard to believe"),
    "three forecasts": (('oat = ["8 degC", "16 degC"]', 'oat = ["8 degC", "9 degC", "10 degC"]'), "one value with"),
    "a third configuration": (
        ("[swap]\n", '[configuration.C]\nlabel = "third"\nweight = "9 kg"\narm = "-0.9 m"\n[swap]\n'),
        "2 configurations beside A",
    ),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_impossible_plans_are_refused_with_the_reason(tmp_path, name, monkeypatch, capsys):
    *changes, message = IMPOSSIBLE[name]
    folder = saturday.write(tmp_path, *changes)
    monkeypatch.setattr(sys, "argv", ["samesky", "plan", str(folder)])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert stopped.value.code == 2
    shown = " ".join(capsys.readouterr().err.split())
    assert message in shown
    assert "campaign.toml" in shown
    assert "Traceback" not in shown


def test_without_a_plan_the_way_to_one_is_said(tmp_path):
    text = saturday.TOML.partition("[plan]")[0]
    (tmp_path / "campaign.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CampaignError, match=r"there is no table \[plan\]"):
        plan(read(tmp_path, flown=False))


def test_the_verb_prints_one_page_and_the_same_for_machines(tmp_path, monkeypatch, capsys):
    folder = saturday.write(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    for extra in ([], ["--json"]):
        monkeypatch.setattr(sys, "argv", ["samesky", "plan", str(folder), *extra])
        with pytest.raises(SystemExit) as stopped:
            cli.main()
        assert not stopped.value.code
        out = capsys.readouterr().out
        if extra:
            said = json.loads(out)
            assert said["answers"]
            assert {one["measure"] for one in said["measures"]} == {"static_pull", "takeoff_roll", "timed_climb"}
            assert sum(len(block["runs"]) for block in said["blocks"]) == sum(one["runs"] for one in said["measures"])
        else:
            assert len(out.splitlines()) < 60
            assert max(map(len, out.splitlines())) <= 100
            for sentence in ("This plan finds a real", "Day 2", "Scrub outside these", "papers"):
                assert sentence in out


def test_a_planned_look_asks_for_more_than_the_end_alone(tmp_path, monkeypatch, capsys):
    from samesky.simulator.examples.catalogue import write_example

    folder = tmp_path / "flown"
    write_example("finer_pitch", folder)
    path = folder / "campaign.toml"
    text = path.read_text(encoding="utf-8").partition("\n[plan]")[0]
    path.write_text(text + '\n[plan]\nlooks = 2\nstopping_limits = "pocock"\n', encoding="utf-8")
    monkeypatch.setattr(sys, "argv", ["samesky", "compare", str(folder), "--look", "1"])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert not stopped.value.code
    assert "Look 1 of 2 (pocock limits)" in " ".join(capsys.readouterr().out.split())
    looked = compare(read(folder), Look(1, 2, "pocock"))
    assert all(any("97.06 %" in warning for warning in one.warnings) for one in looked)
    for look, message in (("3", "look 3 is not one of the 2 planned"), ("1", "no looks were planned")):
        if look == "1":
            path.write_text(text, encoding="utf-8")
        monkeypatch.setattr(sys, "argv", ["samesky", "compare", str(folder), "--look", look])
        with pytest.raises(SystemExit) as stopped:
            cli.main()
        assert stopped.value.code == 2
        assert message in " ".join(capsys.readouterr().err.split())
