"""The difference and its uncertainty against general libraries, and what happens at the edges."""

import subprocess
import sys

import numpy as np
import pytest
from flown import order, rigging, scatter, straight, wander
from scipy import stats

from samesky.inference import joined
from samesky.inference.budget import UncertaintyComponent, covariance
from samesky.inference.design import recognise
from samesky.inference.estimate import _combined, estimate, not_stated


@pytest.mark.parametrize("letters", ["AB", "ABA", "ABAB", "AB|BA", "ABA|BA", "ABA|BAB"])
def test_joined_is_generalised_least_squares(letters):
    """statsmodels GLS with the covariance that the scatter seen and the stated parts make."""
    statsmodels = pytest.importorskip("statsmodels.api")
    flown = order(letters, fitted_anew=True, each=3, swap=0.75)
    parts = (rigging(flown, 0.7), straight(flown, 0.5), wander(flown, 0.3))
    y = scatter(flown, np.random.default_rng(1), 1)[0]
    found = estimate(recognise(flown), y, parts)
    noise = found.scatter**2 * np.eye(flown.runs)
    noise = noise + sum(covariance(part, flown) for part in parts)
    if flown.has_return:
        # A day that hides its drift is weighed by the fastest that is believed: twice the one entered.
        hidden = np.where(np.isin(flown.day, flown.days_without_return), flown.time, 0.0)
        noise = noise + (2.0**2 - 1.0) * 0.5**2 * np.outer(hidden, hidden)
    block = flown.averages(flown.block) @ flown.time
    own = flown.time - np.repeat(block, 3)
    days = [flown.day == day for day in np.unique(flown.day)]
    columns = [flown.configuration, *days, own]
    # A slope of its own for every day of three blocks or more: it goes back.
    columns += [np.repeat(block, 3) * day for day in days if day.sum() > 6]
    columns = np.column_stack(columns).astype(float)
    theirs = statsmodels.GLS(y, columns, sigma=noise).fit()
    assert found.difference == pytest.approx(theirs.params[0])
    # Drift that the order hides is a limit beside the uncertainty; as a normal doubt it completes theirs.
    whole = found.standard_uncertainty**2 + found.typical_drift**2
    if not recognise(flown).spare_blocks:
        assert whole == pytest.approx(theirs.normalized_cov_params[0, 0])
    assert bool(found.typical_drift > 0) == (flown.days_without_return.size > 0)
    assert found.type_a**2 + found.type_b**2 == pytest.approx(found.standard_uncertainty**2)


EVERY_ROUTE = ["ABBAAB", "AAABBB", "ABBA|BAAB|ABBA", "ABBA|AB|BAABABBA|BA"]


@pytest.mark.parametrize("letters", EVERY_ROUTE)
@pytest.mark.parametrize("fitted_anew", [False, True])
def test_many_campaigns_are_one_by_one(letters, fitted_anew):
    flown = order(letters, fitted_anew, each=2 if fitted_anew else 1, swap=0.5 if fitted_anew else 0.0)
    parts = (
        rigging(flown, 0.5),
        straight(flown, 0.4),
        wander(flown, 0.2),
        UncertaintyComponent("tape", "campaign", flown.hours / 9),
    )
    y = scatter(flown, np.random.default_rng(2), 12).reshape(3, 4, flown.runs)
    design = recognise(flown)
    many = estimate(design, y, parts)
    assert many.difference.shape == (3, 4)
    for index in np.ndindex(3, 4):
        one = estimate(design, y[index], parts)
        for name in ("difference", "standard_uncertainty", "degrees_of_freedom", "type_a", "type_b", "p_value"):
            assert getattr(one, name) == pytest.approx(getattr(many, name)[index], abs=1e-8), name


@pytest.mark.parametrize("letters", EVERY_ROUTE)
@pytest.mark.parametrize("fitted_anew", [False, True])
def test_weights_give_the_difference(letters, fitted_anew):
    flown = order(letters, fitted_anew, each=2 if fitted_anew else 1, swap=0.5 if fitted_anew else 0.0)
    parts = (rigging(flown, 0.5), straight(flown, 0.4))
    y = scatter(flown, np.random.default_rng(3), 5)
    found = estimate(recognise(flown), y, parts)
    assert np.allclose((found.weights * y).sum(axis=-1), found.difference)
    moved = estimate(recognise(flown), y + 3.0 * flown.configuration, parts)
    assert np.allclose(moved.difference, found.difference + 3.0)
    assert np.allclose(moved.standard_uncertainty, found.standard_uncertainty)


def test_runs_that_agree_by_luck_do_not_make_a_small_interval():
    """Climbs read to a second, three of 62 s and three of 61 s: a second is no difference (common practice).

    The reading of a climb is worth 3.5 %, as shipped: the stopwatch and both ends by the altimeter."""
    flown = order("ABBAAB")
    y = np.where(flown.configuration == 1, 61.0, 62.0)
    design = recognise(flown)
    assert np.isnan(estimate(design, y).p_value)
    reading = UncertaintyComponent("stopwatch and altimeter", "run", np.full(6, 2.2))
    found = estimate(design, y, (reading,))
    assert found.floor_used
    assert found.scatter == pytest.approx(2.2)
    low, high = found.interval()
    assert low < 0 < high


def test_the_floor_is_for_readings_only():
    flown = order("ABBAAB")
    y = np.where(flown.configuration == 1, 61.0, 62.0)
    thermals = UncertaintyComponent("rising air", "run", np.full(6, 0.5), level=True)
    assert not estimate(recognise(flown), y, (thermals,)).floor_used


def test_a_scatter_above_the_floor_is_left_alone():
    flown = order("ABBABAAB")
    y = scatter(flown, np.random.default_rng(4), 200)
    small = UncertaintyComponent("stopwatch", "run", np.full(8, 1e-3))
    plain, floored = estimate(recognise(flown), y), estimate(recognise(flown), y, (small,))
    assert np.array_equal(plain.standard_uncertainty, floored.standard_uncertainty)


def test_nothing_repeated_gives_a_difference_and_no_interval():
    found = estimate(recognise(order("AB")), np.array([1.0, 3.0]))
    assert found.difference == 2.0
    assert np.isnan(found.interval()).all()


SILENT = [
    ("AB", True, 3, {"how far one fitting differs from the next", "how far the air may drift unseen in an hour"}),
    ("ABA", True, 3, {"how far one fitting differs from the next"}),
    ("AAABBB", False, 1, {"how far the air may drift unseen in an hour"}),
    ("A|B", True, 3, {"how far one fitting differs from the next", "how far the level changes from day to day"}),
    ("ABABAB", True, 2, set()),
    ("ABBAAB", False, 1, set()),
]


@pytest.mark.parametrize(("letters", "fitted_anew", "each", "wanted"), SILENT)
def test_silence_never_counts_as_zero(letters, fitted_anew, each, wanted):
    design = recognise(order(letters, fitted_anew, each=each))
    assert set(not_stated(design, ())) == wanted
    found = estimate(design, np.random.default_rng(5).normal(size=design.order.runs))
    assert np.isfinite(found.difference)
    assert np.isnan(found.standard_uncertainty) == bool(wanted)


def test_a_stated_zero_is_a_statement():
    flown = order("AB", fitted_anew=True, each=3)
    found = estimate(recognise(flown), np.arange(6.0), (rigging(flown, 0.0), straight(flown, 0.0)))
    assert np.isfinite(found.standard_uncertainty)


@pytest.mark.parametrize("letters", ["AB", "ABA", "ABAB"])
def test_a_saw_tooth_within_blocks_moves_nothing(letters):
    """Fuel burns in every block and is filled up at every swap: no drift between blocks, and none is taken out."""
    flown = order(letters, True, each=4, swap=0.75)
    parts = (rigging(flown, 0.3), straight(flown, 0.5))
    saw = flown.time - np.repeat(flown.averages(flown.block) @ flown.time, 4)
    y = scatter(flown, np.random.default_rng(6), 50)
    plain, toothed = (estimate(recognise(flown), values, parts) for values in (y, y + 0.5 * saw))
    assert np.allclose(plain.difference, toothed.difference)
    assert np.all(toothed.standard_uncertainty >= plain.standard_uncertainty * 0.999) or flown.has_return


def test_a_drift_seen_within_blocks_beyond_the_stated_one_is_reckoned_with():
    flown = order("AB", True, each=3, swap=0.0)
    y = np.array([102.0, 120.0, 138.0, 101.0, 119.0, 137.0])  # 18 a run, in both blocks, against 2 stated an hour
    found = estimate(recognise(flown), y, (rigging(flown, 0.0), straight(flown, 2.0)))
    assert found.worst_drift == pytest.approx(72.0 * 0.75)  # an hour, and hours between the middles of the blocks
    assert bool(found.carried)
    # The runs do not scatter at all: the difference is still that of the means, and no rounding error's.
    assert found.difference == pytest.approx(-1.0)
    low, high = found.interval()
    assert (low, high) == pytest.approx((-55.0, 53.0))


def test_core_needs_neither_scipy_stats_nor_pandas():
    """Import cost: the statistics must not pull in what a verb cannot afford."""
    code = (
        "import sys; from samesky.inference import estimate, design, exact, power, looks, repeatability, verdict; "
        "print([m for m in ('scipy.stats', 'pandas', 'matplotlib', 'pint') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


@pytest.mark.parametrize("letters", ["ABA", "ABAB", "ABAB|BABA", "ABA|AB", "ABA|BAB|ABA|BAB"])
def test_the_drift_told_is_unbiased_and_as_uncertain_as_said(letters):
    """Each day's own slope; scatter, fittings and random drift drawn here. Bands: three Monte Carlo errors, and a
    tenth for fittings that lean on what is entered."""
    flown = order(letters, True, each=3, swap=0.75)
    parts = (rigging(flown, 0.6), wander(flown, 0.4))
    rng, many = np.random.default_rng(21), 6000
    y = scatter(flown, rng, many, parts=parts)
    returns = [day for day, part in enumerate(letters.split("|")) if len(part) > 2]
    y = y + np.where(np.isin(flown.day, returns), 2.0 * flown.time, 0.0)
    found = estimate(recognise(flown), y, (*parts, straight(flown, 0.3)))
    error = np.std(found.drift)
    assert np.mean(found.drift) == pytest.approx(2.0, abs=3 * error / np.sqrt(many))
    assert np.sqrt(np.mean(found.drift_uncertainty**2)) == pytest.approx(error, rel=0.12)


def test_no_drift_is_told_where_no_day_goes_back():
    flown = order("AB|BA", True, each=3, swap=0.75)
    parts = (rigging(flown, 0.6), straight(flown, 0.3), wander(flown, 0.4))
    found = estimate(recognise(flown), np.random.default_rng(22).normal(size=flown.runs), parts)
    assert np.isnan(found.drift)
    assert np.isnan(found.drift_uncertainty)


@pytest.mark.parametrize(("true", "entered"), [(1.0, 1.0), (0.5, 1.0), (0.0, 1.0), (2.0, 1.0)])
def test_conditions_that_differ_from_block_to_block_are_not_taken_for_fittings(true, entered):
    """One error of the whole campaign acts on each block as its own conditions have it; entered as large as it is,
    twice as large, where there is none, and half as large. Fittings differ as entered."""
    flown = order("ABABAB", True, each=3, swap=0.75)
    rng, many = np.random.default_rng(41), 8000
    conditions = rng.standard_normal(6)[flown.block]
    rig = rigging(flown, 0.5)
    y = scatter(flown, rng, many, parts=(rig,)) + true * rng.standard_normal((many, 1)) * conditions
    wide = UncertaintyComponent("a coefficient", "campaign", entered * conditions)
    found = estimate(recognise(flown), y, (rig, wander(flown, 0.0), wide))
    low, high = found.interval()
    covered = np.mean((low <= 0) & (high >= 0))
    assert covered > (0.94 if true <= entered else 0.88) - 3 * np.sqrt(0.05 * 0.95 / many)
    if true == entered:
        # Fittings are as entered: only chance makes them look otherwise.
        assert np.mean(found.widened) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / many)


def test_which_axes_of_equal_variances_are_found_does_not_matter(monkeypatch):
    """A processor's own way through an eigenproblem finds other axes where all variances are equal."""
    flown = order("ABABAB", True, each=3, swap=0.75)
    rng = np.random.default_rng(43)
    conditions = rng.standard_normal(6)[flown.block]
    rig = rigging(flown, 0.5)
    y = scatter(flown, rng, 200, parts=(rig,)) + 2.0 * rng.standard_normal((200, 1)) * conditions
    parts = (rig, wander(flown, 0.0), UncertaintyComponent("a coefficient", "campaign", conditions))
    plain = estimate(recognise(flown), y, parts).interval()
    axes = joined.between_axes

    def turned(design, stated):
        rows, extra = axes(design, stated)
        assert np.ptp(extra) < 1e-9 * extra.max()
        return stats.ortho_group.rvs(len(rows), random_state=5) @ rows, extra

    monkeypatch.setattr(joined, "between_axes", turned)
    np.testing.assert_allclose(estimate(recognise(flown), y, parts).interval(), plain, rtol=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_what_rests_on_entered_readings_is_known_as_well_as_they_are(share):
    """The two parts of the scatter add up to it; what is sure of the sum lies between what is sure of the parts."""
    design = recognise(order("ABBAAB"))
    found = {"type_a": np.array(4.0), "stated": np.array(share)}
    standard, freedom = _combined(design, found, [], 30.0)
    assert standard == pytest.approx(2.0)
    assert design.degrees_of_freedom - 1e-9 <= freedom <= 30.0 + 1e-9
