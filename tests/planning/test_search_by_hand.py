"""The search on a bench whose powers are given by hand, and the parts of a trial, each against its definition."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from plan_by_hand import ORDER, asked, by_hand

from samesky.campaign.messages.errors import CampaignError
from samesky.inference.budget import WORST, UncertaintyComponent
from samesky.inference.design import recognise
from samesky.inference.looks import Look
from samesky.inference.order import FlownOrder
from samesky.planning import alternatives, search
from samesky.planning import plan as planning
from samesky.planning.power import measure_power, smallest_of
from samesky.planning.schedule import laid_out
from samesky.planning.scrub import _around, _gust, gust_scatter
from samesky.planning.trial import Bench, margins

ROLL, PULL, CLIMB = "takeoff_roll", "static_pull", "timed_climb"


@pytest.fixture(scope="module")
def wanted(tmp_path_factory):
    return asked(tmp_path_factory.mktemp("wanted"))


def one_of(question, name):
    return next(one for one in question.wanted if one.name == name)


class GivenBench:
    """Powers by a function of (runs of each measure a block, measure), and what it was asked."""

    def __init__(self, question, power):
        self.question, self.power, self.looks = question, power, set()

    def approximate(self, schedule, wanted, look=None):
        self.looks.add(look)
        blocks = [[run.measure for run in block.runs] for block in schedule.blocks]
        runs = {one.name: max(block.count(one.name) for block in blocks) for one in self.question.wanted}
        return SimpleNamespace(least=self.power(runs, wanted.name))

    deciding = approximate


@pytest.mark.parametrize(
    ("two", "one", "runs_of_others"),
    [(0.5, 0.9, 1), (0.5, 0.7, 2), (0.9, 0.95, 2), (0.1, 0.9, 2), (0.8, 0.9, 2), (0.3, 0.9, 1)],
)
def test_other_measures_give_way_only_where_that_settles_the_deciding_one(wanted, two, one, runs_of_others):
    bench = GivenBench(wanted, lambda runs, _: two if runs[PULL] == 2 else one)
    found, _ = search.best(bench, np.inf, range(1, 2))
    assert (found.runs[PULL], found.runs[CLIMB]) == (runs_of_others, runs_of_others)
    assert found.power.least == (two if runs_of_others == 2 else one)


def test_the_fewest_runs_that_settle_it_are_found_whatever_their_number(wanted):
    short = replace(wanted, end=12.0)
    for enough in (1, 2, 5, 7):
        bench = GivenBench(short, lambda runs, _, enough=enough: 0.9 if runs[ROLL] >= enough else 0.5)
        found, _ = search._fewest_runs(bench, np.inf, (tuple("ABA"),), 2)
        assert found.runs == {ROLL: enough, PULL: 2, CLIMB: 2}
    # Where the most do not settle it, the likeliest of fewer is taken.
    bench = GivenBench(short, lambda runs, _: 0.5 if runs[ROLL] == 3 else 0.2)
    assert search._fewest_runs(bench, np.inf, (tuple("ABA"),), 2)[0].runs[ROLL] == 3


def test_fewer_days_come_before_fewer_hours_and_both_before_power(wanted):
    bench = GivenBench(wanted, lambda runs, _: 0.9 if runs[ROLL] >= 4 else 0.4)
    found, _ = search.best(bench, np.inf, range(1, 3))
    assert found.cost == (1, found.schedule.hours_in_the_field())
    assert [len(day) for day in found.order] == [2]
    likely = GivenBench(wanted, lambda runs, _: 0.1 * runs[ROLL])
    assert search.best(likely, np.inf, range(1, 2))[0].power.least >= 0.8


def test_no_order_that_fits_says_why(wanted):
    bench = GivenBench(wanted, lambda *_: 0.9)
    found, why = search.best(replace_question(bench, end=6.2), np.inf, range(1, 2))
    assert found is None
    assert why == "the day's hours end at 06:12"


def replace_question(bench, **changes):
    return GivenBench(replace(bench.question, **changes), bench.power)


def test_more_of_a_measure_is_offered_one_by_one_up_to_the_most(wanted):
    plan = by_hand(wanted)
    candidate = search.Candidate(ORDER, plan.runs_a_block, {}, plan.schedule, None)
    more = [one.runs[CLIMB] for one in search._with_more_of(candidate, CLIMB)]
    assert more == list(range(2, search.MOST_RUNS + 1))
    assert all(one.runs[ROLL] == 2 for one in search._with_more_of(candidate, CLIMB))
    rarely = replace(candidate, flown_in={PULL: 1, CLIMB: 2})
    found = [dict(one.flown_in) for one in search._with_more_of(rarely, PULL)]
    assert found == [{PULL: blocks, CLIMB: 2} for blocks in range(1, 7)]


def test_others_are_filled_up_and_the_deciding_measure_gets_what_that_costs_it(wanted):
    """Climbs need three a block; with three of them the roll needs a run more a block to stay settled."""

    def power(runs, name):
        if name == ROLL:
            return 0.9 if runs[ROLL] >= 2 + (runs[CLIMB] >= 3) else 0.5
        return 0.9 if runs[name] >= {CLIMB: 3, PULL: 1}[name] else 0.5

    bench, plan = GivenBench(wanted, power), by_hand(wanted)
    candidate = search.Candidate(ORDER, plan.runs_a_block, {}, plan.schedule, SimpleNamespace(least=0.9))
    found = search.filled_up(bench, candidate, np.inf)
    assert found.runs == {ROLL: 3, PULL: 2, CLIMB: 3}
    assert len(found.schedule.runs_of(ROLL)) == 18
    # Where nothing settles the deciding one, it is not given runs for the sake of others.
    lost = replace(candidate, power=SimpleNamespace(least=0.5))
    bench = GivenBench(wanted, lambda runs, name: 0.1 if name == ROLL else power(runs, name))
    assert search.filled_up(bench, lost, np.inf).runs == {ROLL: 2, PULL: 2, CLIMB: 3}
    # What the pilot fixed stays, and so does what more than the hours would cost.
    fixed = tuple(replace(one, runs_a_block=1) if one.name == CLIMB else one for one in wanted.wanted)
    bench = GivenBench(replace(wanted, wanted=fixed), power)
    assert search.filled_up(bench, candidate, np.inf).runs[CLIMB] == 1
    bench = GivenBench(replace(wanted, end=7.9), power)
    assert search.filled_up(bench, candidate, np.inf).runs == {ROLL: 2, PULL: 2, CLIMB: 1}


def test_every_power_is_asked_for_at_the_last_look(wanted):
    looked = replace(wanted, request=replace(wanted.request, looks=2))
    bench = GivenBench(looked, lambda *_: 0.9)
    candidate, _ = search.best(bench, np.inf, range(1, 3))
    search.filled_up(bench, candidate, np.inf)
    (look,) = bench.looks
    assert look == Look(2, 2, "obrien-fleming")
    assert search.last_look(wanted) is None


# -- the trial ---------------------------------------------------------------------------------------------------------


def test_gusts_scatter_the_runs_whose_scatter_nobody_documented(wanted):
    """Root sum square of the readings and a third of the gust spread through the slope of the roll with wind."""
    undocumented = tuple(replace(one, scatter=None) for one in wanted.wanted)
    gusty = replace(wanted, wanted=undocumented)
    forecast = {name: ends for name, ends in wanted.request.forecast.items() if name != "gust"}
    calm = replace(gusty, request=replace(wanted.request, forecast=forecast))
    schedule, _ = laid_out(gusty, ORDER, {PULL: 1, ROLL: 2, CLIMB: 1})
    roll = one_of(gusty, ROLL)
    _, reduction = Bench(gusty).reduced(schedule, roll)
    hours = np.array([run.hours % 24 for run in schedule.runs_of(ROLL)])
    spread = gusty.forecast("gust", hours) - gusty.forecast("wind", hours)
    gusts = gust_scatter(reduction.table.measure, reduction.runs, reduction.sky, spread)
    assert gusts.min() > 0.005
    for way, close in (("exact", 1e-9), ("approximate", 0.05)):
        found, without = (getattr(Bench(one), way)(schedule, roll) for one in (gusty, calm))
        found, without = (getattr(one, "power", one) for one in (found, without))
        assert found.scatter**2 - without.scatter**2 == pytest.approx(np.mean(np.square(gusts)), rel=close)
    # What is documented has the gusts in it already.
    assert Bench(wanted).exact(schedule, one_of(wanted, ROLL)).power.scatter == 0.06
    # Neither a forecast of gusts without wind nor a measure without wind along the run has a spread.
    no_wind = {name: ends for name, ends in wanted.request.forecast.items() if name != "wind"}
    bare = replace(gusty, request=replace(wanted.request, forecast=no_wind))
    assert not Bench(bare)._gust_scatter(reduction).any()
    climb = Bench(gusty).reduced(schedule, one_of(gusty, CLIMB))[1]
    assert not Bench(gusty)._gust_scatter(climb).any()


def test_while_many_plans_are_tried_the_documented_scatter_is_taken_at_its_word(wanted):
    schedule, _ = laid_out(wanted, ORDER, {PULL: 2, ROLL: 6, CLIMB: 2})
    bench, roll = Bench(wanted), one_of(wanted, ROLL)
    tried, kept = bench.approximate(schedule, roll), bench.exact(schedule, roll).power
    assert tried.with_more_scatter == tried.least > 0.1
    assert kept.with_more_scatter < kept.least
    for undocumented in (replace(roll, scatter=None, degrees_of_freedom=5.0), replace(roll, degrees_of_freedom=np.inf)):
        found = bench.exact(schedule, undocumented).power
        assert found.with_more_scatter == found.least


def test_the_smallest_that_matters_is_towards_the_better_side(wanted):
    """6 % less of a roll is ln 0.94; 3 % more of a pull is ln 1.03."""
    for name, expected in ((ROLL, -math.log(0.94)), (PULL, math.log(1.03))):
        one = one_of(wanted, name)
        assert smallest_of(one, margins(one, 80.0)) == pytest.approx(expected)
    assert margins(one_of(wanted, ROLL), 80.0) == pytest.approx((math.log(0.94), math.log(1.06)))


def test_shares_are_of_the_whole_variance_and_a_limit_counts_as_a_rectangle(wanted):
    """JCGM 100:2008, 4.3.7: a limit +-a is a standard uncertainty a / sqrt 3."""
    order = FlownOrder([0] * 6 + [1] * 6, [0] * 6 + [1] * 6, [0] * 12, 7.0 + 0.1 * np.arange(12), True)
    design = recognise(order)
    parts = (
        UncertaintyComponent("rigging", "installation", np.full(12, 0.004)),
        UncertaintyComponent("unseen drift", "straight drift", np.full(12, 0.005)),
        UncertaintyComponent("the worst", WORST, np.array(0.03)),
    )
    roll = replace(one_of(wanted, ROLL), scatter=0.03, degrees_of_freedom=np.inf)
    found = measure_power(design, parts, roll, 80.0, (-0.06, 0.06))
    shares = {name: share for name, _, share in found.shares}
    assert sum(shares.values()) == pytest.approx(1.0)
    assert [share for *_, share in found.shares] == sorted(shares.values(), reverse=True)
    # The middles of the sides are 0.6 h apart; now and then the trend within them is worse still.
    assert 0.6 * 0.03 <= found.worst_drift < 0.6 * 0.04
    assert shares["worst drift believed"] == pytest.approx(found.worst_drift**2 / 3 / found.combined**2, rel=1e-6)
    assert shares["rigging"] == pytest.approx(2 * 0.004**2 / found.combined**2, rel=1e-6)
    silent = measure_power(design, (), replace(roll, scatter=0.0), 80.0, (-0.06, 0.06))
    assert silent.shares == ()


def test_looks_may_come_after_any_run_that_is_planned(wanted):
    schedule, _ = laid_out(wanted, ORDER, {PULL: 1, ROLL: 2, CLIMB: 1})
    chosen, bench = SimpleNamespace(schedule=schedule), Bench(wanted)

    def looks(*after):
        request = replace(wanted.request, looks=len(after), looks_after=after)
        return planning._looks(replace(wanted, request=request), chosen, bench)

    found = looks(3, 7, 12)
    assert [(look.number, look.after_block, look.after_run) for look in found] == [(1, 2, 3), (2, 4, 7), (3, 6, 12)]
    assert [look.after_block for look in looks(2, 4)] == [1, 2]
    with pytest.raises(CampaignError, match="after run 13"):
        looks(6, 13)
    only_a = looks(2, 12)[0]
    assert (only_a.t_limit, only_a.degrees_of_freedom) == (None, 0)


# -- fuel, weight, gusts -----------------------------------------------------------------------------------------------


def test_fuel_may_be_all_that_the_limit_allows_and_the_reserve_may_be_nothing(tmp_path):
    full = asked(tmp_path / "full", ("[plan]\n", '[limits]\nfuel = ["30 L", "60 L"]\n\n[plan]\n'))
    assert (full.fuel, full.lowest_fuel) == pytest.approx((60 * 0.72, 30 * 0.72))
    low = asked(tmp_path / "low", ("[plan]\n", '[limits]\nfuel = ["10 L", "60.1 L"]\n\n[plan]\n'))
    assert low.lowest_fuel == pytest.approx(20 * 0.72)
    assert asked(tmp_path / "none", ('reserve = "20 L"', 'reserve = "0 L"')).lowest_fuel == 0.0
    with pytest.raises(CampaignError, match="fuel"):
        asked(tmp_path / "more", ("[plan]\n", '[limits]\nfuel = ["10 L", "59 L"]\n\n[plan]\n'))


@pytest.mark.parametrize(
    ("extra", "band", "ballasts", "off"),
    [
        # A block burns 3.24 kg. Ballast of whole kilograms brings back what is short of the morning's weight.
        ("refuel = false\nballast = true", 5.0, [0, 3, 6, 9], False),
        ("refuel = false\nballast = true", 8.0, [0, 0, 6, 6], False),
        ("refuel = false\nballast = true", 3.0, [0, 3, 6, 9], True),
        ("refuel = false", 14.0, [0, 0, 0, 0], False),
        ("refuel = false", 12.0, [0, 0, 0, 0], True),
        ("refuel = true", 3.3, [0, 0, 0, 0], False),
        ("refuel = true", 3.2, [0, 0, 0, 0], True),
    ],
)
def test_the_weight_is_kept_in_its_band_or_said_to_be_lost(tmp_path, extra, band, ballasts, off):
    question = asked(tmp_path, ("refuel = true", extra), ('reserve = "20 L"', 'reserve = "10 L"'))
    schedule, _ = laid_out(question, (tuple("ABAB"),), {PULL: 1, ROLL: 2, CLIMB: 1}, band)
    assert [block.ballast for block in schedule.blocks] == ballasts
    assert schedule.off_weight is off


def test_gusts_set_no_limit_where_nothing_depends_on_the_wind(wanted):
    plan = by_hand(wanted)
    reduction = plan.trials[ROLL].reduction
    middle = {name: float(np.mean(values)) for name, values in reduction.runs.items()}
    sky = {name: float(np.mean(values)) for name, values in reduction.sky.items()}
    measure = reduction.table.measure
    assert _gust(measure, middle, sky, 0.4, 0.05, 0.25).high > 0
    deaf = replace(
        measure, reduce=lambda runs, sky, given: measure.reduce({**runs, "headwind": sky["headwind"]}, sky, given)
    )
    assert _gust(deaf, middle, sky, 0.4, 0.05, 0.25) is None


@pytest.mark.parametrize(
    ("excess", "ends"),
    [
        ([-1, -1, -1, -1, -1], (-np.inf, np.inf)),
        ([1, -1, -1, -1, 3], (0.5, 3.25)),
        ([-1, 1, -1, -1, -1], (1.5, np.inf)),
        ([-1, -1, -1, 3, -1], (-np.inf, 2.25)),
        ([1, 1, 1, 1, 1], (-np.inf, np.inf)),
        ([-1, -1, 1, 1, 1], (-np.inf, 1.5)),
        ([1, 1, 3, -1, -1], (2.75, np.inf)),
        ([-1, 1, 1, 1, 1], (-np.inf, 0.5)),
        ([np.inf, -1, -1, -1, np.inf], (1.0, 3.0)),
        ([1, 0, 0, 0, 1], (1.0, 3.0)),
    ],
)
def test_a_band_ends_where_the_excess_passes_zero(excess, ends):
    assert _around(np.arange(5.0), np.array(excess, dtype=float)) == pytest.approx(ends)


# -- what would settle it ----------------------------------------------------------------------------------------------


def test_single_changes_are_of_what_matters_to_the_variance(wanted):
    plan = by_hand(wanted)
    candidate = SimpleNamespace(schedule=plan.schedule)

    def offered(question, *shares):
        candidate.power = SimpleNamespace(shares=shares)
        return dict(alternatives._better(question, candidate))

    scatter, rigging, drift = ("scatter of the runs", "run"), ("rigging", "installation"), ("wander", "wandering")
    found = offered(wanted, (*scatter, 0.6), (*rigging, 0.3), (*drift, 0.09))
    assert list(found) == [
        "runs that scatter half as much (calmer air, steadier flying)",
        "rigging half as large",
        "a swap in half the time",
        "calm air (wind up to 3 kt, gusts at most 3 kt above it)",
    ]
    halved = found["runs that scatter half as much (calmer air, steadier flying)"]
    assert halved.primary.scatter == pytest.approx(0.03)
    assert halved.swap_hours == 0.5
    assert found["a swap in half the time"].swap_hours == 0.25
    calm = found["calm air (wind up to 3 kt, gusts at most 3 kt above it)"].request.forecast
    assert np.divide(calm["wind"], 1852 / 3600) == pytest.approx([1, 3])
    assert np.divide(calm["gust"], 1852 / 3600) == pytest.approx([2, 6])
    assert calm["oat"] == wanted.request.forecast["oat"]
    # The fourth largest is not offered, nor what is below a tenth.
    few = offered(wanted, (*scatter, 0.4), (*rigging, 0.3), (*drift, 0.2), ("another", "day", 0.1))
    assert "wander half as large" in few
    assert "another half as large" not in few
    assert "rigging half as large" in offered(wanted, (*rigging, 0.1))
    assert "rigging half as large" not in offered(wanted, (*rigging, 0.0999))
    free = replace(wanted, campaign=replace(wanted.campaign, fitted_anew=False))
    assert "a swap in half the time" not in offered(free)
    assert "a swap in half the time" not in offered(replace(wanted, swap_hours=0.0))
    still = replace(wanted, request=replace(wanted.request, forecast={"wind": (0.5, 1.5), "gust": (1.0, 2.9)}))
    assert not any("calm air" in says for says in offered(still))
    gusty = replace(wanted, request=replace(wanted.request, forecast={"wind": (0.5, 1.5), "gust": (1.0, 3.2)}))
    assert any("calm air" in says for says in offered(gusty))


def test_without_a_documented_scatter_the_reading_that_scatters_most_is_to_be_bettered(wanted):
    roll = replace(wanted.primary, scatter=None)
    question = replace(wanted, wanted=tuple(roll if one.asked.primary else one for one in wanted.wanted))
    schedule, _ = laid_out(question, ORDER, {PULL: 1, ROLL: 2, CLIMB: 1})
    _, reduction = Bench(question).reduced(schedule, roll)
    sizes = {source.name: np.mean(np.square(size)) for source, size in reduction.contributions if source.scope == "run"}
    largest = max(sizes, key=sizes.get)
    candidate = SimpleNamespace(schedule=schedule, power=SimpleNamespace(shares=(("scatter", "run", 0.9),)))
    found = dict(alternatives._better(question, candidate))
    changed = found[f"{largest} twice as good"].campaign.sources
    for source, now in zip(question.campaign.sources, changed, strict=True):
        share = 0.5 if source.name == largest else 1.0
        assert now.standard_uncertainty == share * source.standard_uncertainty


def test_more_days_and_longer_days_end_where_crews_tire(wanted):
    plan = by_hand(wanted)
    candidate = search.Candidate(ORDER, plan.runs_a_block, {}, plan.schedule, plan.powers[ROLL])
    for enough in (3, 7, 14):
        bench = GivenBench(wanted, lambda *_: 0.0)
        bench.deciding = lambda schedule, *_, enough=enough: SimpleNamespace(least=0.9 * (schedule.days >= enough))
        (way,) = alternatives._more_days(bench, candidate, np.inf)
        assert way.says == f"{enough} days of 3 blocks instead of 2 ({3 * enough} blocks in all)"
        assert (way.days, way.power, way.question.request.days) == (enough, 0.9, enough)
        # Three blocks of a quarter of an hour and two swaps a day.
        assert way.hours == pytest.approx(1.75 * enough)
    bench.deciding = lambda *_: SimpleNamespace(least=0.79)
    assert list(alternatives._more_days(bench, candidate, np.inf)) == []


def test_longer_days_are_tried_hour_by_hour_up_to_ten(wanted, monkeypatch):
    tried = []

    def best(bench, band, days):
        tried.append((bench.question.end - bench.question.start, list(days)))
        return None, ""

    monkeypatch.setattr(alternatives, "best", best)
    assert alternatives._longer_days(wanted, np.inf) == []
    assert tried == [(hours, [1, 2]) for hours in (6.5, 7.5, 8.5, 9.5)]
    assert alternatives._longer_days(replace(wanted, end=16.0), np.inf) == []
    assert len(tried) == 4
    found = SimpleNamespace(cost=(2, 7.0), power=SimpleNamespace(least=0.8))
    monkeypatch.setattr(alternatives, "best", lambda *_: (found, ""))
    (way,) = alternatives._longer_days(wanted, np.inf)
    assert (way.says, way.days, way.hours, way.power) == ("6.5 h a day instead of 5.5 h", 2, 7.0, 0.8)
    assert way.question.end == 12.5
    found.power.least = 0.79
    assert alternatives._longer_days(wanted, np.inf) == []
