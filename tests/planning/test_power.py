"""Power of a plan: against a general-purpose library where its assumptions hold, and against simulated campaigns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import saturday
from scipy import stats
from statsmodels.stats.power import TTestPower

from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.inference.budget import WORST, UncertaintyComponent, covariance
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.looks import Look
from samesky.inference.order import FlownOrder
from samesky.planning.power import MANY, measure_power, scatter_of, smallest_found
from samesky.planning.question import question

#: Three standard errors of a probability that is averaged over the campaigns drawn: of one campaign it scatters by 0.3
#: at most (its interval is short or long by chance).
MONTE_CARLO = 3 * 0.3 / np.sqrt(MANY)


@pytest.fixture(scope="module")
def roll(tmp_path_factory):
    return question(read(saturday.write(tmp_path_factory.mktemp("settle")), flown=False)).primary


def flown(days: tuple[str, ...], runs: int, fitted_anew: bool) -> FlownOrder:
    rows = [
        (day, k, letter, run) for day, word in enumerate(days) for k, letter in enumerate(word) for run in range(runs)
    ]
    block = {(day, k): number for number, (day, k) in enumerate(dict.fromkeys((day, k) for day, k, _, _ in rows))}
    return FlownOrder(
        [letter == "B" for _, _, letter, _ in rows],
        [block[day, k] for day, k, _, _ in rows],
        [day for day, _, _, _ in rows],
        [24.0 * day + 7.0 + 0.8 * k + 0.1 * run for day, k, _, run in rows],
        fitted_anew,
    )


@pytest.mark.parametrize("days", [3, 4, 6])
def test_over_days_it_is_the_one_sample_t_of_statsmodels(roll, days):
    order = flown(tuple(["ABBA", "BAAB"][day % 2] for day in range(days)), 1, fitted_anew=False)
    design = recognise(order)
    assert design.name == "days"
    wanted = replace(roll, scatter=0.05, degrees_of_freedom=np.inf)
    found = measure_power(design, (), wanted, 80.0, (-0.06, 0.06))
    # A B B A gives one drift-free difference a day with the standard deviation of one run (NIST e-Handbook 2.3.3.1.2).
    expected = TTestPower().power(effect_size=0.06 / 0.05, nobs=days, alpha=0.05, alternative="two-sided")
    assert found.found == pytest.approx(float(expected), abs=MONTE_CARLO)
    assert found.degrees_of_freedom == days - 1


CASES = {
    "blocks on one day, six of them": (flown(("ABABAB",), 3, True), 0.03, 0.005, 0.0),
    "three blocks of four, joined with what is stated": (flown(("ABA",), 4, True), 0.03, 0.005, 0.0),
    "two days of three blocks, rigging and wander": (flown(("ABA", "BAB"), 4, True), 0.03, 0.008, 0.010),
    "two days of five blocks": (flown(("ABABA", "BABAB"), 2, True), 0.04, 0.005, 0.005),
    "pairs, changing is free": (flown(("ABBABAAB", "BAABABBA"), 1, False), 0.03, 0.0, 0.005),
    "a single swap that leans on what is stated": (flown(("AB",), 6, True), 0.03, 0.005, 0.010),
    "a single swap under the worst drift believed": (flown(("AB",), 12, True), 0.02, 0.002, 0.002),
}


def parts_of(order: FlownOrder, rigging: float, wander: float) -> tuple[UncertaintyComponent, ...]:
    n = order.runs
    return (
        UncertaintyComponent("rigging", "installation", np.full(n, rigging)),
        UncertaintyComponent("unseen drift", "straight drift", np.full(n, 0.01)),
        UncertaintyComponent("wander", "wandering", np.full(n, wander)),
    )


@pytest.mark.parametrize("name", CASES)
def test_simulated_campaigns_answer_as_often_as_promised(roll, name):
    """20 000 campaigns with just what is stated, through the estimate and the verdict of the comparison."""
    order, scatter, rigging, wander = CASES[name]
    parts, design = parts_of(order, rigging, wander), recognise(order)
    if "worst" in name:
        parts = (
            *parts[:1],
            UncertaintyComponent("unseen drift", "straight drift", np.full(order.runs, 0.005)),
            *parts[2:],
        )
        parts = (*parts, UncertaintyComponent("the worst", WORST, np.array(0.015)))
    lower, upper = np.log(0.94), np.log(1.06)
    wanted = replace(roll, scatter=scatter, degrees_of_freedom=np.inf)
    promised = measure_power(design, parts, wanted, 80.0, (lower, upper))
    generator = np.random.default_rng(20261)
    spread = scatter**2 * np.eye(order.runs) + sum(covariance(part, order) for part in parts)
    y = generator.multivariate_normal(np.zeros(order.runs), spread, size=20_000, method="eigh")

    def share(true: float, code: int) -> float:
        result = estimate(design, y + true * order.configuration, parts)
        codes = verdict.judge(result.interval(0.95), result.equivalence_interval(0.90), lower, upper, "smaller")
        return float(np.mean(codes == code))

    # A true difference: found means that 95 % leave out zero, whether or not it may still be too small to matter.
    result = estimate(design, y + lower * order.configuration, parts)
    low, high = result.interval(0.95)
    found = float(np.mean((high < 0) | (low > 0)))
    none = share(0.0, verdict.NO_DIFFERENCE) + share(0.0, verdict.TOO_SMALL)
    # Three standard errors of 20 000 campaigns and of those that the plan draws.
    band = np.hypot(3 * 0.5 / np.sqrt(20_000), MONTE_CARLO)
    assert promised.found == pytest.approx(found, abs=band)
    assert promised.none == pytest.approx(none, abs=band)


def test_the_uncertainty_is_that_of_campaigns_flown_so(roll):
    order = flown(("ABABAB",), 3, True)
    design, parts = recognise(order), parts_of(order, 0.005, 0.01)
    spread = 0.03**2 * np.eye(order.runs) + sum(covariance(part, order) for part in parts)
    y = np.random.default_rng(7).multivariate_normal(np.zeros(order.runs), spread, size=40_000)
    simulated = np.sqrt(np.mean(np.square(estimate(design, y, parts).standard_uncertainty)))
    found = measure_power(design, parts, replace(roll, scatter=0.03), 80.0, (-0.06, 0.06))
    assert found.uncertainty == pytest.approx(simulated, rel=0.02)


def test_nothing_is_promised_where_the_order_gives_no_interval(roll):
    order = flown(("ABA",), 1, True)
    found = measure_power(recognise(order), parts_of(order, 0.005, 0.01), roll, 80.0, (-0.06, 0.06))
    assert (found.found, found.none, found.with_more_scatter, found.least) == (0, 0, 0, 0)
    assert np.isnan(found.uncertainty)


def test_nothing_is_promised_where_re_rigging_is_not_stated(roll):
    order = flown(("ABA",), 4, True)
    without = tuple(part for part in parts_of(order, 0.005, 0.01) if part.scope != "installation")
    assert measure_power(recognise(order), without, roll, 80.0, (-0.06, 0.06)).least == 0


def test_looking_on_the_way_costs_a_little_power(roll):
    order = flown(("ABABAB",), 6, True)
    parts, design = parts_of(order, 0.002, 0.0), recognise(order)
    end = measure_power(design, parts, roll, 80.0, (-0.06, 0.06))
    fleming = measure_power(design, parts, roll, 80.0, (-0.06, 0.06), Look(3, 3, "obrien-fleming"))
    pocock = measure_power(design, parts, roll, 80.0, (-0.06, 0.06), Look(3, 3, "pocock"))
    assert pocock.found < fleming.found < end.found
    assert pocock.none < fleming.none < end.none


def test_a_scatter_known_from_few_runs_is_doubted(roll):
    order = flown(("ABABAB",), 6, True)
    parts, design = parts_of(order, 0.002, 0.0), recognise(order)
    few, many = (
        measure_power(design, parts, replace(roll, degrees_of_freedom=df), 80.0, (-0.06, 0.06)) for df in (4.0, 60.0)
    )
    assert few.found == many.found
    assert few.with_more_scatter < many.with_more_scatter < many.least


def test_scatter_on_the_scale_of_the_comparison(roll):
    parts = (
        UncertaintyComponent("tape", "run", np.full(4, 0.03)),
        UncertaintyComponent("wind", "run", np.full(4, -0.04)),
    )
    parts += (UncertaintyComponent("rigging", "installation", np.full(4, 9.0)),)
    assert scatter_of(replace(roll, scatter=None), parts, 80.0) == pytest.approx(0.05)
    assert scatter_of(replace(roll, scatter=0.04), parts, 80.0) == 0.04
    assert scatter_of(replace(roll, scatter=4.0, scatter_is_fraction=False), parts, 80.0) == pytest.approx(0.05)
    plain = replace(roll.asked, measure=replace(roll.asked.measure, ratio=False))
    assert scatter_of(replace(roll, asked=plain, scatter=0.04), parts, 80.0) == pytest.approx(3.2)


@pytest.mark.parametrize("look", [None, Look(2, 2, "obrien-fleming"), Look(3, 3, "pocock")])
@pytest.mark.parametrize("power", [0.3, 0.8, 0.95])
def test_the_smallest_that_is_found_is_found_just_so_by_scipys_noncentral_t(roll, look, power):
    design = recognise(flown(("ABBABAAB",), 1, fitted_anew=False))
    found = measure_power(design, (), replace(roll, scatter=0.05), 80.0, (-0.06, 0.06), look)
    smallest = smallest_found(found, power, look)
    # Regression of single runs on level and straight time: five degrees of freedom.
    spread = 0.05 * np.linalg.norm(design.weights)
    df, shift = design.degrees_of_freedom, smallest / spread
    beyond = stats.t.isf((1.0 - look.level if look else 0.05) / 2.0, df)
    assert stats.nct.sf(beyond, df, shift) == pytest.approx(power, abs=MONTE_CARLO)


def test_where_there_is_no_interval_nothing_is_found(roll):
    found = replace(
        measure_power(recognise(flown(("ABAB",), 1, True)), (), roll, 80.0, (-0.06, 0.06)), uncertainty=np.nan
    )
    assert smallest_found(found, 0.8) == np.inf


@pytest.mark.parametrize("power", [1e-6, 0.02, 1.0 - 1e-12])
def test_any_power_between_none_and_certainty_has_an_answer(roll, power):
    found = measure_power(recognise(flown(("ABABAB",), 2, True)), (), roll, 80.0, (-0.06, 0.06))
    smallest = smallest_found(found, power)
    assert 0.0 <= smallest < np.inf
    assert (smallest == 0.0) == (power < 0.025)
