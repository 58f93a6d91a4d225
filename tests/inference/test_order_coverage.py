"""Simulated coverage: each order's 95 % interval holds its level under what it claims to survive, and says when it does
not. Seeded; the pass band is 94 to 96 % (97 where stated parts are joined) widened by three Monte Carlo errors.

Unit: the run-to-run scatter. The same noises as in methods of small trials: white, straight drift, day levels, a random
walk on top; and, beyond them, installations of several runs with their own error.
"""

import numpy as np
import pytest
from flown import band, coverage, order, rigging, scatter, straight, wander
from slow_cases import slow_unless

from samesky.inference.design import recognise
from samesky.inference.estimate import estimate

CAMPAIGNS = 20_000
ALTERNATING = {3: "ABBAAB", 4: "ABBABAAB", 6: "ABBABAABABBA", 8: "ABBABAABABBABAAB"}


def with_days(letters: str) -> str:
    return "|".join(letters[k : k + 4] for k in range(0, len(letters), 4))


def noise(kind: str, flown, rng) -> np.ndarray:
    y, n = scatter(flown, rng, CAMPAIGNS), flown.runs
    match kind:
        case "straight":
            return y + 0.5 * np.arange(n)
        case "walk":
            return y + 0.5 * rng.standard_normal((CAMPAIGNS, n)).cumsum(axis=1)
        case "day levels":
            return y + 2.0 * rng.standard_normal((CAMPAIGNS, 9))[:, flown.day]
        case "day differences":
            change = rng.standard_normal((CAMPAIGNS, 9))[:, flown.day]
            return y + 2.0 * rng.standard_normal((CAMPAIGNS, 9))[:, flown.day] + change * flown.configuration
    return y


@pytest.mark.parametrize("n", ALTERNATING)
@pytest.mark.parametrize("kind", ["white", "straight", "walk"])
def test_alternating_on_one_day(n, kind):
    flown = order(ALTERNATING[n])
    low, high = band(CAMPAIGNS)
    assert low < coverage(flown, noise(kind, flown, np.random.default_rng(n))) < high


@pytest.mark.parametrize("n", ALTERNATING)
@pytest.mark.parametrize("kind", ["white", "straight", "walk", "day levels"])
def test_alternating_with_a_new_day_every_four_runs(n, kind):
    flown = order(with_days(ALTERNATING[n]))
    low, high = band(CAMPAIGNS)
    assert low < coverage(flown, noise(kind, flown, np.random.default_rng(n))) < high


@pytest.mark.parametrize("n", [6, 8])
def test_days_whose_difference_changes_are_covered_by_the_method_over_days(n):
    flown = order(with_days(ALTERNATING[n]))
    assert recognise(flown).name == "days"
    low, high = band(CAMPAIGNS)
    assert low < coverage(flown, noise("day differences", flown, np.random.default_rng(n))) < high


def test_on_two_days_a_difference_that_changes_is_not_covered_and_the_assumption_says_so():
    flown = order(with_days(ALTERNATING[4]))
    assert coverage(flown, noise("day differences", flown, np.random.default_rng(4))) < 0.92
    assert "same on every day" in recognise(flown).assumption


@pytest.mark.parametrize("letters", ["ABBA|AB|BAABABBA|BA", "ABBA|BAAB|ABBABAAB"])
@pytest.mark.parametrize("kind", ["white", "straight", "day levels", "day differences"])
def test_days_of_unequal_effort(letters, kind):
    flown = order(letters)
    low, high = band(CAMPAIGNS, 0.935, 0.965)
    assert low < coverage(flown, noise(kind, flown, np.random.default_rng(5))) < high


@pytest.mark.parametrize("rig", [0.0, 0.5, 2.0])
@pytest.mark.parametrize(("letters", "each"), [("ABABAB", 3), ("ABABABA", 2), ("ABABABAB", 4), ("ABAB|BABA", 3)])
def test_installations_of_several_runs_need_no_statement(letters, each, rig):
    """Three or more degrees of freedom between installations: re-rigging is seen, whatever its size."""
    flown = order(letters, fitted_anew=True, each=each, swap=0.75)
    y = scatter(flown, np.random.default_rng(each), CAMPAIGNS, parts=(rigging(flown, rig),)) + 1.5 * flown.hours
    low, high = band(CAMPAIGNS)
    assert low < coverage(flown, y) < high


def test_runs_taken_for_looks_would_collapse():
    """Why the installation is the unit: the same flights analysed run by run cover less than 70 %."""
    fitted_anew, free = (order("ABABAB", fitted_anew=kind, each=3, swap=0.75) for kind in (True, False))
    y = scatter(fitted_anew, np.random.default_rng(6), CAMPAIGNS, parts=(rigging(fitted_anew, 2.0),))
    assert coverage(free, y) < 0.70
    assert coverage(fitted_anew, y) > 0.94


@pytest.mark.parametrize("counts", [(1, 4, 4, 1, 4, 4), (10, 1, 10, 1, 1, 10), (3, 2, 4, 3, 1, 3)])
@pytest.mark.parametrize("rig", [0.0, 1.0])
def test_unequal_numbers_of_runs_on_installations(counts, rig):
    whole = order("ABABAB", fitted_anew=True, each=max(counts), swap=0.75)
    place = np.arange(whole.runs) % max(counts)
    keep = place < np.array(counts)[whole.installation]
    names = ("configuration", "installation", "day", "hours")
    flown = type(whole)(*(getattr(whole, name)[keep] for name in names), True)
    y = scatter(flown, np.random.default_rng(7), CAMPAIGNS, parts=(rigging(flown, rig),))
    low, high = band(CAMPAIGNS, 0.94, 0.973)
    assert low < coverage(flown, y) < high


@pytest.mark.parametrize(
    ("letters", "fitted_anew", "each"),
    [("ABBA|BAAB", False, 1), ("AABBAA|BBAABB", False, 1), ("ABA|BAB", True, 3), ("ABABA|BABAB", True, 2),
     ("ABBA|BAAB|ABBA", False, 1), ("ABA|BAB|ABA", True, 2)],
)  # fmt: skip
def test_a_day_that_goes_back_takes_out_its_own_drift(letters, fitted_anew, each):
    """Slopes as different as one likes from day to day move neither the difference nor its uncertainty."""
    flown = order(letters, fitted_anew, each=each, swap=0.75 if fitted_anew else 0.0)
    parts = (rigging(flown, 0.3), straight(flown, 0.5))
    rng = np.random.default_rng(16)
    y = scatter(flown, rng, 20)
    at = flown.averages(flown.block) @ flown.time if fitted_anew else flown.time
    at = at[np.searchsorted(np.unique(flown.block), flown.block)] if fitted_anew else at
    drift = 5.0 * rng.standard_normal((20, 3))[:, flown.day] * at
    plain, drifting = (estimate(recognise(flown), values, parts) for values in (y, y + drift))
    assert np.allclose(plain.difference, drifting.difference)
    assert np.allclose(plain.standard_uncertainty, drifting.standard_uncertainty)


@pytest.mark.parametrize("letters", ["AAAABBBB|BBBBAAAA", "AAABBB|BBBAAA", "ABBABAAB|AABB", "ABBA|AAABBB"])
def test_a_swap_turned_round_on_the_next_day_does_not_cancel_the_drift_of_either(letters):
    """Drift of its own each day, as large as entered: covered; taken for one drift on both days it would not be."""
    flown = order(letters)
    y = scatter(flown, np.random.default_rng(17), CAMPAIGNS, parts=(straight(flown, 2.0),))
    low, high = band(CAMPAIGNS, 0.94, 0.985)
    assert low < coverage(flown, y, (straight(flown, 2.0),)) < high
    assert coverage(flown, y, (straight(flown, 0.2),)) < low


JOINED = [("AB", 3), ("AB", 6), ("ABA", 3), ("ABA", 2), ("ABAB", 3), ("ABABA", 4), ("AB|BA", 3), ("ABA|BAB", 3)]
SIZES = [(1.0, 0.0, 0.0), (1.0, 0.5, 0.0), (0.3, 0.5, 0.5), (3.0, 0.5, 0.5)]


@pytest.mark.parametrize(("letters", "each"), JOINED)
@pytest.mark.parametrize(("rig", "wandering", "drift"), slow_unless(SIZES[1::2], SIZES))
def test_blocks_and_swaps_hold_their_level_when_what_is_stated_is_true(letters, each, rig, wandering, drift):
    """Re-rigging, wandering and straight drift drawn from the stated sizes; drift of every day its own."""
    flown = order(letters, fitted_anew=True, each=each, swap=0.75)
    parts = (rigging(flown, rig), wander(flown, wandering), straight(flown, drift))
    rng = np.random.default_rng(each)
    y = scatter(flown, rng, CAMPAIGNS, parts=parts[:2])
    y += drift * rng.standard_normal((CAMPAIGNS, 2))[:, flown.day] * flown.time
    low, high = band(CAMPAIGNS, 0.945, 0.972)
    # Where no day goes back, drift counts as a limit of twice its size: the interval then covers more, never less.
    hides = drift > 0 and flown.days_without_return.size > 0
    assert low < coverage(flown, y, parts) < (1.01 if hides else high)


@pytest.mark.parametrize("letters", ["AAABBB", "AAAABBBB", "AAAAAABBBBBB"])
def test_a_free_change_flown_in_two_blocks_rests_on_the_entered_drift(letters):
    """Drift of twice the entered size either way, in as many campaigns: the worst that is reckoned with.

    A trend that six runs a block show carries it on, and covers a little more."""
    flown = order(letters)
    parts = (straight(flown, 1.0), wander(flown, 0.5))
    rng = np.random.default_rng(8)
    y = scatter(flown, rng, CAMPAIGNS, parts=parts[1:])
    y += 2.0 * rng.choice([-1.0, 1.0], (CAMPAIGNS, 1)) * flown.time
    low, high = band(CAMPAIGNS, 0.945, 0.985)
    assert low < coverage(flown, y, parts) < high


def test_a_drift_larger_than_stated_is_not_covered_and_the_order_was_warned_about():
    flown = order("AB", fitted_anew=True, each=3, swap=0.75)
    parts = (rigging(flown, 0.3), straight(flown, 0.2))
    y = scatter(flown, np.random.default_rng(9), CAMPAIGNS, parts=(rigging(flown, 0.3),)) + 3.0 * flown.time
    assert coverage(flown, y, parts) < 0.5
    found = recognise(flown)
    assert any("cannot be told apart" in said for said in found.warnings)
    assert "no faster than is believed" in found.assumption


def test_a_drift_far_beyond_the_stated_one_is_mostly_caught_by_six_runs_a_block():
    flown = order("AB", fitted_anew=True, each=6, swap=0.75)
    parts = (rigging(flown, 0.3), wander(flown, 0.3), straight(flown, 0.5))
    y = scatter(flown, np.random.default_rng(13), CAMPAIGNS, parts=parts[:2])
    assert coverage(flown, y + 4.0 * flown.time, parts) > 0.90


def test_rigging_larger_than_stated_is_noticed_where_installations_are_to_spare():
    """A B A B A: two degrees of freedom between installations. Ten times the stated scatter is mostly noticed, and the
    wider one seen is used; when the statement is true the warning comes in one campaign of twenty at most."""
    flown = order("ABABA", fitted_anew=True, each=4, swap=0.75)
    stated = (rigging(flown, 0.3), wander(flown, 0.0))
    rng = np.random.default_rng(10)
    wrong = scatter(flown, rng, CAMPAIGNS, parts=(rigging(flown, 3.0),))
    right = scatter(flown, rng, CAMPAIGNS, parts=stated)
    noticed, alarmed = (estimate(recognise(flown), y, stated) for y in (wrong, right))
    assert np.mean(noticed.widened) > 0.85
    assert 0.01 < np.mean(alarmed.widened) < 0.06
    low, high = noticed.interval()
    assert np.mean((low <= 0) & (high >= 0)) > 0.85


def test_with_one_installation_a_side_nothing_can_be_noticed_and_that_is_said():
    flown = order("AB", fitted_anew=True, each=6, swap=0.75)
    parts = (rigging(flown, 0.3), straight(flown, 0.1))
    y = scatter(flown, np.random.default_rng(11), CAMPAIGNS, parts=(rigging(flown, 3.0),))
    assert coverage(flown, y, parts) < 0.4
    assert any("fitted only once" in said for said in recognise(flown).warnings)


@pytest.mark.parametrize("n", [3, 4])
def test_three_and_four_pairs_are_narrower_than_by_pairs(n):
    """Regression on runs in place of one or two degrees of freedom: 2.3 and 1.7 run scatters, not 7.5 and 2.5."""
    flown = order(ALTERNATING[n])
    low, high = estimate(recognise(flown), scatter(flown, np.random.default_rng(n), CAMPAIGNS)).interval()
    assert np.median(high - low) / 2 == pytest.approx({3: 2.32, 4: 1.70}[n], abs=0.05)


@pytest.mark.parametrize("n", ALTERNATING)
def test_a_wrong_better_is_rare_and_a_wrong_no_difference_too(n):
    from samesky.inference import verdict

    flown, margin = order(ALTERNATING[n]), 1.5
    y = scatter(flown, np.random.default_rng(12), CAMPAIGNS)
    none = estimate(recognise(flown), y)
    edge = estimate(recognise(flown), y + margin * flown.configuration)
    codes = [verdict.judge(f.interval(), f.interval(0.90), -margin, margin, "larger") for f in (none, edge)]
    claims = np.isin(codes[0], (verdict.OTHER_BETTER, verdict.BASELINE_BETTER)).mean()
    misses = np.isin(codes[1], (verdict.NO_DIFFERENCE, verdict.TOO_SMALL)).mean()
    error = 3 * np.sqrt(0.05 * 0.95 / CAMPAIGNS)
    assert claims < 0.05 + error
    assert misses < 0.05 + error
