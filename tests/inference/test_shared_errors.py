"""Measures that share fittings, days and scales err together: how often a kind of flying is promised falsely."""

from types import SimpleNamespace

import numpy as np
import pytest
from flown_campaigns import campaign, table
from scipy import stats
from slow_cases import slow_unless

from samesky.inference.comparison import compare
from samesky.inference.together import shared_errors
from samesky.inference.together.shared_errors import correlations, samples
from samesky.inference.together.witness import campaign_wide, witness
from samesky.instruments.sources import ErrorSource
from samesky.measures import free
from samesky.mission.trade_off import correlated, gains, judge_mission

MEASURES = tuple(free(name, "m", "length", "larger", ratio=True) for name in ("pull_read", "climb_read", "speed_read"))


def flown(rng, letters, each, fitting, white, keys="AB", alike=1.0, sources=()):
    """Three measures without any difference on the same fittings, whose errors are shared by the share ``alike``."""
    blocks = letters.replace("|", "")
    common = rng.normal(0.0, fitting, len(blocks))
    tables = []
    for measure in MEASURES:
        own = alike * common + np.sqrt(1.0 - alike**2) * rng.normal(0.0, fitting, len(blocks))
        y = np.repeat(own, each) + rng.normal(0.0, white, len(blocks) * each)
        tables.append(table(measure, letters, 100.0 * np.exp(y), each=each))
    return campaign(*tables, smallest=0.03, keys=keys, sources=sources)


def witnesses(own):
    return [witness(one) for one in compare(own)]


def answers(own, keys=("A", "B")):
    found = compare(own)
    weights = {measure.name: 1.0 for measure in MEASURES}
    said = []
    for pair in dict.fromkeys((one.baseline, one.other) for one in found):
        of_pair = [one for one in found if (one.baseline, one.other) == pair]
        compared = max(one.estimate.compared for one in of_pair)
        said.append(judge_mission("all", weights, gains(of_pair), *pair, correlated(of_pair), compared))
    return said


@pytest.mark.parametrize(("letters", "each"), [("ABABAB", 2)])
@pytest.mark.parametrize("alike", slow_unless([1.0], [1.0, 0.0]))
def test_false_suits_are_at_most_five_in_a_hundred(letters, each, alike):
    """Fitting errors of 2 %, shared by the measures wholly, in part or not at all; independent gains: 9 to 14."""
    rng, many = np.random.default_rng(21), 100
    won = [answers(flown(rng, letters, each, 0.02, 0.01, alike=alike))[0].answer in "AB" for _ in range(many)]
    assert np.mean(won) <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / many)


@pytest.mark.slow
def test_three_configurations_hold_their_level_together():
    rng, many = np.random.default_rng(22), 40
    wrong = 0
    for _ in range(many):
        found = answers(flown(rng, "ABCCBABCA", 2, 0.02, 0.01, keys="ABC"))
        assert [(one.baseline, one.other) for one in found] == [("A", "B"), ("A", "C"), ("B", "C")]
        wrong += any(one.answer in (one.baseline, one.other) for one in found)
    assert wrong / many <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / many)


def test_what_is_left_of_fittings_tells_that_they_are_shared():
    rng = np.random.default_rng(23)
    shared = witnesses(flown(rng, "ABABABABABAB", 3, 0.02, 0.001))
    r = correlations(shared)
    assert np.all(r[np.triu_indices(3, 1)] > 0.9)
    apart = witnesses(flown(rng, "ABABABABABAB", 3, 0.02, 0.001, alike=0.0))
    left = [np.array(list(samples(one).values())) for one in apart]
    assert correlations(apart)[0, 1] < r[0, 1]
    # What is left is what ordinary least squares leaves: Pearson's r about zero, of residuals.
    assert abs(stats.pearsonr(left[0], left[1])[0]) < 0.9


def test_one_scale_for_two_measures_is_one_error():
    """A campaign-wide error of like effect in both differences is wholly shared, and turns with the sign of better."""
    source = ErrorSource("the one scale", "result", 0.0, "campaign", "assumed", True)
    own = flown(np.random.default_rng(24), "ABABAB", 3, 0.0, 0.01, sources=(source,))
    plain = correlations(witnesses(own))
    assert np.allclose(np.diag(plain), 1.0)
    assert np.all(np.linalg.eigvalsh(plain) > -1e-9)


def test_shared_errors_widen_the_sum_and_never_narrow_it():
    own = gains(compare(flown(np.random.default_rng(25), "ABABAB", 3, 0.02, 0.01)))
    weights = {measure.name: 1.0 for measure in MEASURES}
    widths = []
    for r in (-0.4, 0.0, 0.5, 1.0):
        shared = {(a, b): r for a in weights for b in weights if a != b}
        low, high = judge_mission("all", weights, own, "A", "B", shared).interval_95
        widths.append(high - low)
    assert widths[0] == pytest.approx(widths[1])
    assert widths[1] < widths[2] < widths[3]
    # Wholly shared errors add up: the width is that of the mean of the measures' own intervals.
    u = np.array([one.standard_uncertainty for one in own.values()])
    independent = np.sqrt(np.square(u / 3).sum())
    assert widths[3] / widths[1] == pytest.approx((u / 3).sum() / independent)


def test_errors_of_the_whole_campaign_are_one_draw_in_gtc():
    """One uncertain input for each source, with weight times sensitivity as coefficient in both differences."""
    gtc = pytest.importorskip("GTC")
    rng = np.random.default_rng(26)
    sources = {name: SimpleNamespace(name=name, target="pull", scope="campaign") for name in ("scale", "tape", "watch")}
    watch_of_each_run = SimpleNamespace(name="own", target="pull", scope="run")
    inputs = {name: gtc.ureal(0.0, 1.0) for name in sources}
    sides, totals = [], []
    for names, runs in ((("scale", "tape"), 6), (("scale", "watch"), 4)):
        weights, sizes = rng.normal(size=runs), {name: rng.normal(size=runs + 1) for name in names}
        effects = [(sources[name], size[:-1]) for name, size in sizes.items()] + [(watch_of_each_run, 1.0)]
        sides.append(SimpleNamespace(wide=campaign_wide(effects, weights)))
        totals.append(sum(float(weights @ size[:-1]) * inputs[name] for name, size in sizes.items()))
    found = shared_errors._campaign_wide(*sides)
    assert found == pytest.approx(gtc.get_covariance(*totals))
    assert found != 0.0


def with_entered(fittings, days, *added):
    order = SimpleNamespace(installation=np.array(fittings), day=np.array(days))
    parts = tuple((SimpleNamespace(scope=scope), variance) for scope, variance in added)
    return SimpleNamespace(design=SimpleNamespace(order=order), estimate=SimpleNamespace(added=parts))


def test_entered_fitting_errors_are_shared_as_far_as_the_fittings_are():
    """Four fittings A B A B, of which the second measure saw the first two: differences of means of one draw each."""
    pitch = np.random.default_rng(27).normal(0.0, 0.3, (400_000, 4))
    first, second = pitch @ [-0.5, 0.5, -0.5, 0.5], pitch @ [-1.0, 1.0, 0.0, 0.0]
    one = with_entered([1, 2, 3, 4], [1, 1, 1, 1], ("installation", 0.09), ("run", 5.0))
    two = with_entered([1, 2], [1, 1], ("installation", 0.18))
    # Five standard errors of a covariance of so many draws.
    room = 5 * np.sqrt(0.09 * 0.18 * 1.5 / 400_000)
    assert shared_errors._stated(one, two) == pytest.approx(np.cov(first, second)[0, 1], abs=room)
    # Fittings of which none is common share nothing; nor do days.
    assert shared_errors._stated(one, with_entered([5, 6], [2, 2], ("installation", 0.18))) == 0.0
    drift = ("straight drift", 0.04)
    assert shared_errors._stated(with_entered([1], [1], drift), with_entered([1], [2], drift)) == 0.0
    shared = shared_errors._stated(with_entered([1], [1, 2], drift), with_entered([1], [1, 2], drift))
    assert 0.0 < shared <= 0.04, "no covariance beyond both variances"


def test_what_has_no_uncertainty_has_no_correlation():
    sure = SimpleNamespace(estimate=SimpleNamespace(type_a=0.0, type_b=0.0))
    endless = SimpleNamespace(estimate=SimpleNamespace(type_a=np.nan, type_b=1.0))
    assert shared_errors._correlation(sure, sure) == 0.0
    assert shared_errors._correlation(sure, endless) == 0.0


def test_runs_of_a_free_change_are_no_samples_that_two_measures_share():
    """Where the change is free each run is a sample of its own, and no run of one measure is a run of the other."""
    rng = np.random.default_rng(28)
    runs = [table(measure, "ABABABAB", rng.normal(100.0, 1.0, 8), fitted_anew=False) for measure in MEASURES[:2]]
    for one in witnesses(campaign(*runs, fitted_anew=False, smallest=0.03)):
        assert samples(one) == {}
