"""One reading a side: what would have to be believed, and how far a record of one's own repeats carries."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from flown import order, rigging, straight
from scipy import optimize, stats

from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.inference.borrowed import record
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.comparison import compare
from samesky.inference.design import by_record, recognise
from samesky.inference.estimate import estimate
from samesky.inference.repeatability import pool

SAID = 'last_flown = 2026-03-01\n[static_pull]\nscatter = "1 %"\ndegrees_of_freedom = 12\n'


def reading(size: float, runs: int) -> UncertaintyComponent:
    return UncertaintyComponent("reading", "run", np.full(runs, size))


def found(letters, y, parts, **kept):
    design = recognise(order(letters, fitted_anew=True, swap=0.5))
    assert design.estimator == "none"
    return design, np.array(y), parts, replace(estimate(design, np.array(y), parts), **kept)


@pytest.mark.parametrize("level", [0.95, 0.99])
def test_believed_scatter_of_a_single_swap_in_closed_form(level):
    """JCGM 100, 5.1.2: two runs and two fittings add in quadrature, all known; the quantile is the normal one."""
    flown = order("AB", fitted_anew=True)
    parts = (rigging(flown, 0.01), straight(flown, 0.0), reading(0.001, 2))
    design, y, parts, result = found("AB", [0.0, 0.074], parts)
    z = stats.norm.ppf(0.5 + level / 2)
    expected = np.sqrt((0.074 / z) ** 2 / 2 - 0.01**2)
    assert record.believed_scatter(design, y, parts, result, level) == pytest.approx(expected, rel=1e-5)


def test_believed_scatter_under_a_worst_drift_by_scipy():
    """The folded normal with the largest bias: scipy's own root of P(|Z + b| < d/u) = 0.95 (JCGM 100, 4.3; chosen)."""
    flown = order("AB", fitted_anew=True, swap=0.5)
    parts = (rigging(flown, 0.01), straight(flown, 0.01))
    design, y, parts, result = found("AB", [0.0, 0.10], parts)
    worst = 2 * 0.01 * float(flown.hours[1] - flown.hours[0])

    def missed(scatter):
        u = np.sqrt(2 * scatter**2 + 2 * 0.01**2)
        return stats.norm.cdf((0.10 - worst) / u) - stats.norm.cdf((-0.10 - worst) / u) - 0.95

    expected = optimize.brentq(missed, 1e-6, 0.1)
    assert record.believed_scatter(design, y, parts, result) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("letters", ["AB", "ABA"])
def test_just_below_what_is_believed_it_is_real_and_just_above_it_is_not(letters):
    flown = order(letters, fitted_anew=True, swap=0.5)
    parts = (rigging(flown, 0.008), straight(flown, 0.004), reading(0.002, flown.runs))
    y = [0.07 * (letter == "B") for letter in letters]
    design, y, parts, result = found(letters, y, parts)
    at = record.believed_scatter(design, y, parts, result)
    for scatter, real in ((0.999 * at, True), (1.001 * at, False)):
        low, _ = estimate(by_record(design.order, scatter, record.KNOWN), y, parts).interval()
        assert (low > 0) is np.bool_(real)


def test_hopeless_where_fittings_alone_or_readings_alone_allow_as_much():
    flown = order("AB", fitted_anew=True)
    for parts in (
        (rigging(flown, 0.03), straight(flown, 0.0)),
        (rigging(flown, 0.001), straight(flown, 0.0), reading(0.03, 2)),
    ):
        design, y, parts, result = found("AB", [0.0, 0.074], parts)
        assert record.believed_scatter(design, y, parts, result) == 0.0


def test_nothing_is_said_where_an_entry_is_missing():
    design, y, parts, result = found("AB", [0.0, 0.074], ())
    assert np.isnan(record.believed_scatter(design, y, parts, result))


def _flown_on_record(letters, each, freedom, records, campaigns, true_scatter=1.0, fitting=0.5):
    """Coverage of zero, false winners, and shares voided, by record; scatter of runs 1, recorded from ``freedom``."""
    flown = order(letters, fitted_anew=True, swap=0.5, each=each)
    parts = (rigging(flown, fitting), straight(flown, 0.0))
    rng = np.random.default_rng(11)
    design, held, void = recognise(flown), [], []
    block = np.unique(flown.installation, return_inverse=True)[1]
    for _ in range(records):
        recorded = np.sqrt(rng.chisquare(freedom) / freedom)
        y = true_scatter * rng.standard_normal((campaigns, flown.runs))
        y += fitting * rng.standard_normal((campaigns, block.max() + 1))[:, block]
        if design.estimator == "none":
            alone = by_record(flown, recorded, freedom)
            low, high = estimate(alone, y, parts).interval()
            p = record.contradiction(alone, y, parts)
            void.append(np.mean(p < 0.05))
            held.append(np.mean(((low <= 0) & (high >= 0)) | (p < 0.05)))
        else:
            leaning = pool(estimate(design, y, parts), recorded, freedom)
            low, high = leaning.estimate.interval()
            void.append(np.mean(~leaning.accepted))
            held.append(np.mean((low <= 0) & (high >= 0)))
    return np.array(held), np.array(void)


@pytest.mark.parametrize(
    ("letters", "each", "freedom"),
    [("AB", 1, 4), ("AB", 1, 12), ("ABA", 1, 6), ("ABA", 1, 20), ("AB", 2, 8), ("ABA", 2, 12)],
)
def test_a_verdict_on_a_record_is_false_in_one_of_twenty_at_most(letters, each, freedom):
    held, void = _flown_on_record(letters, each, freedom, 70, 60)
    error = held.std(ddof=1) / np.sqrt(len(held))
    assert 0.95 - 3 * error <= held.mean() <= 0.99
    assert void.mean() <= 0.05 + 3 * void.std(ddof=1) / np.sqrt(len(void))


def test_runs_that_scatter_far_more_void_the_record():
    _, void = _flown_on_record("ABA", 1, 12, 20, 50, true_scatter=8.0)
    assert void.mean() > 0.6
    _, void = _flown_on_record("AB", 3, 12, 20, 50, true_scatter=8.0)
    assert void.mean() > 0.95


def pull(folder: Path, values, days="2026-05-09", plan="", said=SAID):
    keys = "AB" if len(values) == 2 else "ABA" if len(values) == 3 else "AAABBB"
    folder.mkdir(parents=True)
    (folder / "campaign.toml").write_text(
        'title = "One pull a side"\nquestion = "Which pulls harder?"\nbaseline = "A"\n[configuration.A]\n'
        'label = "old"\n[configuration.B]\nlabel = "new"\n[swap]\nkind = "refit"\n[measure.static_pull]\n'
        f'primary = true\nsmallest_difference_that_matters = "2 %"\nunit = "N"\n[plan]\n{plan}',
        encoding="utf-8",
    )
    rows = [f"{k + 1},{days},{8 + k // 2:02d}:{30 * (k % 2):02d},{keys[k]},{value}" for k, value in enumerate(values)]
    (folder / "static_pull.csv").write_text(
        "run,date,clock,configuration,pull [N]\n" + "\n".join(rows) + "\n", encoding="utf-8"
    )
    if said:
        (folder / "my_record.toml").write_text(said, encoding="utf-8")
    return read(folder)


NAMED = 'record = "my_record.toml"\nrecord_named = 2026-05-01\n'


def test_one_pull_a_side_says_what_would_have_to_be_believed(tmp_path):
    [one] = compare(pull(tmp_path / "c", [1800, 1933]))
    assert one.verdict == "not enough data"
    assert one.conditional.startswith("+7.39 %: real if a repeat of the same static pull scatters by less than ")
    assert np.isnan(one.interval_95[0])
    [one] = compare(pull(tmp_path / "d", [1800, 1810]))
    assert not one.conditional
    assert any("No repeat, however steady, would make +0.556 % a proof" in said for said in one.warnings)


def test_a_record_named_before_flying_decides_and_says_so(tmp_path):
    one = pull(tmp_path / "c", [1800, 1933, 1803], plan=NAMED)
    assert not [finding for finding in check(one) if finding.kind == "error"]
    [one] = compare(one)
    assert one.verdict == "B better"
    assert "The verdict rests on the record my_record.toml: repeats scatter by 1 % (12 degrees" in one.assumption
    assert "named on 2026-05-01, before the flying" in one.assumption
    assert one.budget[0].source == "scatter of the record"
    # The interval by hand: GLS of A B A is B less the mean of the two, Student's t after Welch and Satterthwaite.
    assert one.percent == pytest.approx(100 * (1933 / np.sqrt(1800 * 1803) - 1), abs=1e-6)


@pytest.mark.parametrize(
    ("plan", "said", "why"),
    [
        ('record = "my_record.toml"\n', SAID, "when it was named is not entered"),
        (NAMED.replace("05-01", "05-10"), SAID, "after the first run (2026-05-09)"),
        (NAMED, SAID.replace("2026-03-01", "2026-05-09"), "it holds runs of 2026-05-09"),
        (NAMED, SAID.partition("\n")[2], "its last run has no date"),
    ],
)
def test_nothing_rests_on_a_record_that_may_know_the_runs(tmp_path, plan, said, why):
    [one] = compare(pull(tmp_path / "c", [1800, 1933, 1803], plan=plan, said=said))
    assert one.verdict == "not enough data"
    assert why in one.assumption
    assert "the verdict does not lean on it" in one.assumption
    assert "real if" in one.conditional


def test_a_return_or_repeats_that_contradict_the_record_void_it(tmp_path):
    [one] = compare(pull(tmp_path / "c", [1800, 2100, 2050], plan=NAMED))
    assert one.verdict == "not enough data"
    assert any("it is void here, and nothing rests on it" in said for said in one.warnings)
    [one] = compare(pull(tmp_path / "d", [1800, 1900, 1700, 2000, 2100, 1900], plan=NAMED))
    assert any(said.startswith("The record my_record.toml is void here.") for said in one.warnings)
    assert "rests on the record" not in one.assumption


def test_repeats_that_agree_with_the_record_are_pooled_with_it(tmp_path):
    values = [1800, 1815, 1790, 1925, 1940, 1930]
    [alone] = compare(pull(tmp_path / "c", values))
    [one] = compare(pull(tmp_path / "d", values, plan=NAMED))
    assert one.degrees_of_freedom > alone.degrees_of_freedom
    assert "pooled with the scatter of these runs" in one.assumption


def test_an_entry_of_the_measure_itself_goes_first(tmp_path):
    plan = NAMED + '[plan.static_pull]\nscatter = "2 %"\ndegrees_of_freedom = 5\n'
    campaign = pull(tmp_path / "c", [1800, 1933, 1803], plan=plan)
    said, of = record.documented(campaign, "static_pull")
    assert (said.scatter, of) == (0.02, None)
    campaign = pull(tmp_path / "d", [1800, 1933, 1803], plan=NAMED + '[plan.static_pull]\ntime = "5 min"\n')
    assert campaign.plan.measures["static_pull"].scatter == pytest.approx(0.01)
    assert record.documented(campaign, "static_pull")[1] is not None


@pytest.mark.parametrize(
    ("said", "file", "words"),
    [
        ("", "campaign.toml", "No such file lies there."),
        ('[static_pull]\nscatter = "1 %"\n', "my_record.toml", "is missing"),
        ('[static_pull]\nscatter = "1 s"\ndegrees_of_freedom = 3\n', "my_record.toml", "1 s"),
        ('[static_pull]\nscatter = "0 %"\ndegrees_of_freedom = 3\n', "my_record.toml", "above zero"),
        ("[static_pull\n", "my_record.toml", "line"),
    ],
)
def test_what_is_wrong_with_a_record_is_said_of_it(tmp_path, said, file, words):
    campaign = pull(tmp_path / "c", [1800, 1933], plan=NAMED, said=said)
    errors = [one for one in campaign.findings if one.kind == "error"]
    assert errors
    assert {one.file for one in errors} == {file}
    assert words in errors[0].sentence()


def test_a_path_is_no_name_of_a_record(tmp_path):
    (tmp_path / "other_record.toml").write_text(SAID, encoding="utf-8")
    campaign = pull(tmp_path / "c", [1800, 1933], plan=NAMED.replace("my_", "../other_"))
    assert any(one.code == "record.not-there" for one in campaign.findings)
