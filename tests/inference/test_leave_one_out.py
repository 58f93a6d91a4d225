"""One bad run is named, sound campaigns are left in peace, and nothing is left out."""

import numpy as np
import pytest
from flown import order, rigging, straight, wander
from flown_campaigns import ROLL_AS_IT_IS, campaign, stated, table
from statsmodels.api import OLS

from samesky.inference.comparison import compare
from samesky.inference.design import recognise
from samesky.inference.leave_one_out import far_runs

ORDERS = [("ABBABAAB", False, 1), ("ABABAB", True, 3), ("ABA", True, 4), ("AB", True, 4), ("ABBA|BAAB|ABBA", False, 1)]


@pytest.mark.parametrize(("letters", "fitted_anew", "each"), ORDERS)
def test_hardly_a_sound_comparison_has_a_run_beyond_chance(letters, fitted_anew, each):
    """At most 2 in 100 campaigns, less what of them hangs on no run."""
    rng, many = np.random.default_rng(41), 2000
    flown = order(letters, fitted_anew, each=each, swap=0.5 if fitted_anew else 0.0)
    design = recognise(flown)
    parts = (rigging(flown, 0.005), straight(flown, 0.02), wander(flown, 0.01))
    named = [bool(far_runs(design, 0.03 * rng.normal(size=flown.runs), parts)) for _ in range(many)]
    assert np.mean(named) <= 0.01 + 3 * np.sqrt(0.01 * 0.99 / many)


def test_the_distance_is_the_externally_studentised_residual_of_statsmodels():
    flown = order("ABBABAAB", False)
    y = np.random.default_rng(42).normal(size=8)
    y[2] += 9.0
    columns = flown.mean_model(np.arange(8), flown.sloped_days)
    table_of = OLS(y, columns).fit().outlier_test("bonferroni")
    assert far_runs(recognise(flown), y, ()) == [int(k) for k in np.flatnonzero(table_of[:, 2] < 0.01)] == [2]


@pytest.mark.parametrize(
    ("letters", "fitted_anew", "each"), [("ABBABAABABBA", False, 1), ("ABABAB", True, 3), ("ABA", True, 4)]
)
def test_a_run_thirty_per_cent_long_is_named_and_counts(letters, fitted_anew, each):
    rng, named, many = np.random.default_rng(43), 0, 30
    for _ in range(many):
        n = len(letters) * each
        values = 130.0 * np.exp(0.02 * rng.normal(size=n))
        values[4] *= 1.3
        runs = table(
            ROLL_AS_IT_IS, letters, values, fitted_anew=fitted_anew, each=each, swap=0.5 if fitted_anew else 0.0
        )
        found = compare(campaign(runs, fitted_anew=fitted_anew, sources=stated("roll_paced_out")))[0]
        named += found.hangs_on == "5"
        assert found.used.all()
        if found.hangs_on:
            assert found.to_json()["hangs_on"] == "5"
            assert "hangs on run 5" in found.warnings[0]
    assert named >= 0.95 * many


def test_a_sound_campaign_hangs_on_no_run():
    values = 130.0 * np.exp(0.02 * np.random.default_rng(44).normal(size=8))
    found = compare(campaign(table(ROLL_AS_IT_IS, "ABBABAAB", values, fitted_anew=False), fitted_anew=False))[0]
    assert found.hangs_on == ""
    assert found.to_json()["hangs_on"] is None
