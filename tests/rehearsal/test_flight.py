"""What flown campaigns come to: intervals by their definition, shared errors as the comparison has them, Welch's t."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from samesky.inference import verdict
from samesky.inference.comparison import stated_parts
from samesky.inference.estimate import estimate
from samesky.reduction.reduction import reduce_table
from samesky.rehearsal.flight import (
    COUNTED,
    NOTHING,
    Outcome,
    _naive,
    _or_nothing,
    fly,
    judged,
    ready,
    true_on_scale,
    written,
)
from samesky.rehearsal.rehearse import _tally, with_truth
from samesky.rehearsal.scene import scene, similar
from samesky.rehearsal.script import with_clock, with_day
from samesky.simulator.aeroplane.model import SimAeroplane
from tests.coverage.orders import campaign, script


@dataclass
class Clock:
    """What a clock needs of a table."""

    day: np.ndarray
    hours: np.ndarray


@dataclass(frozen=True)
class SimpleEstimate:
    """What joining measures asks of an estimate."""

    difference: np.ndarray
    standard_uncertainty: np.ndarray
    degrees_of_freedom: np.ndarray
    worst_drift: np.ndarray


@pytest.fixture(scope="module")
def pairs():
    """Rolls in pairs, a free change, with the error sources that the package ships."""
    return with_truth(scene(script(replace(campaign(), fitted_anew=False), "pairs", 8)), 1.0)


def test_an_interval_covers_where_the_truth_is_nearer_than_half_of_it(pairs):
    one = fly(pairs, ready(pairs), 300, np.random.default_rng(2))["takeoff_roll"]
    truth = true_on_scale(pairs, "takeoff_roll")
    off = np.abs(one.difference - truth)
    assert np.array_equal(one.covers, off <= one.half)
    assert 0 < one.covers.sum() < 300, "both happen"
    assert np.all(one.runs == 16)
    # The verdict is that of the same interval: where it leaves out zero the configuration is better or too little so.
    clear = np.isin(one.code, (verdict.OTHER_BETTER, verdict.BASELINE_BETTER, verdict.TOO_SMALL))
    assert np.all(np.abs(one.difference[clear]) > 0)
    assert np.all((np.abs(one.difference) > one.half)[one.code == verdict.OTHER_BETTER])


def test_errors_of_the_whole_campaign_are_those_of_its_own_comparison(pairs):
    """Campaign by campaign through the comparison's own sources: of the wind's exponent and all else that is shared."""
    name, prepared = "takeoff_roll", ready(pairs)["takeoff_roll"]
    columns = written(pairs, 3, np.random.default_rng(5))[name]
    found, _ = judged(pairs, name, prepared, columns)
    ours = sum(np.asarray(size) for part, size in found.added if part.scope == "campaign")
    assert np.all(ours > 0)
    for k in range(3):
        table = replace(pairs.script.tables[name], columns={key: values[k] for key, values in columns.items()})
        reduction = reduce_table(pairs.script.campaign, table)
        parts = stated_parts(pairs.script.campaign, reduction, np.ones(len(table.rows), dtype=bool))
        alone = estimate(prepared.design, table.measure.to_scale(reduction.value), parts)
        theirs = sum(float(size) for part, size in alone.added if part.scope == "campaign")
        assert ours[k] == pytest.approx(theirs, rel=1e-6)


def test_the_second_day_has_the_sky_of_the_same_hours(pairs):
    """A morning that warms by 1.5 K an hour, and one more day at the same hours, read alike: so do both warm."""
    tables = {
        name: replace(table, columns={**table.columns, "oat": 285.15 + 1.5 * (table.hours - 9.5)})
        for name, table in pairs.script.tables.items()
    }
    warming = replace(pairs.script, tables=tables)
    one, two = (scene(found).scenario.sky.courses for found in (warming, with_day(warming)))
    assert one["temperature"].rate == pytest.approx(1.5, rel=1e-6)
    for name, course in one.items():
        again = two[name]
        for told in ("level", "rate", "since"):
            assert getattr(again, told) == pytest.approx(getattr(course, told), abs=1e-6), (name, told)


def test_runs_without_a_clock_are_spread_over_their_own_day():
    table = Clock(np.array([0, 0, 1, 1]), np.array([9.2, 9.9, np.nan, np.nan]))
    hours = with_clock(table).hours
    assert hours[:2].tolist() == [9.2, 9.9]
    assert np.all((hours[2:] > 24.0 + 6.0) & (hours[2:] < 24.0 + 18.0)), "in daylight"
    assert hours[3] > hours[2]


@pytest.mark.parametrize(("better", "sign"), [("larger", 1.0), ("smaller", -1.0)])
def test_plain_averages_are_judged_by_the_welch_test_of_scipy(better, sign):
    rng = np.random.default_rng(6)
    configuration = np.array([0, 1, 1, 0, 0, 1, 0])
    raw = rng.normal(100.0, 1.0, (200, 7)) + configuration * rng.normal(0.0, 2.0, (200, 1))
    asked = {"roll": SimpleNamespace(better=better)}
    world = SimpleNamespace(script=SimpleNamespace(campaign=SimpleNamespace(asked=asked)))
    gained, claims = _naive(raw, configuration, world, "roll")
    theirs = stats.ttest_ind(raw[:, configuration == 1], raw[:, configuration == 0], axis=1, equal_var=False)
    means = [raw[:, configuration == key].mean(axis=1) for key in (0, 1)]
    assert gained == pytest.approx(sign * (means[1] - means[0]))
    expected = np.where(theirs.pvalue >= 0.05, 0, np.where(sign * theirs.statistic > 0, 2, 1))
    assert np.array_equal(claims, expected)
    assert set(claims) == {0, 1, 2}
    # One run of a side has no scatter: nobody is sure of anything.
    gained, claims = _naive(raw[:, :3], np.array([0, 1, 1]), world, "roll")
    assert not claims.any()
    assert gained == pytest.approx(sign * (raw[:, 1:3].mean(axis=1) - raw[:, 0]))


def test_campaigns_are_counted_one_by_one(pairs):
    """Two chunks, with campaigns that have no interval: every figure by counting."""
    rng, nan = np.random.default_rng(7), np.nan

    def chunk(halves):
        n = len(halves)
        whole = rng.integers(0, 3, n)
        return Outcome(
            rng.integers(0, 5, n), rng.normal(size=n), np.array(halves), rng.random(n) < 0.5, rng.normal(size=n), whole,
            np.full(n, 6) + whole, rng.integers(0, 2, n),
        )  # fmt: skip

    chunks = [chunk([0.3, nan, 0.1, 0.2]), chunk([0.9, 0.4, nan])]
    told = _tally(pairs, "takeoff_roll", chunks, 3)
    rows = [
        dict(zip(COUNTED, values, strict=True))
        for one in chunks
        for values in zip(*(getattr(one, name) for name in COUNTED), strict=True)
    ]
    known = [row for row in rows if np.isfinite(row["half"])]
    assert (told.campaigns, told.intervals) == (7, 5)
    assert told.half == pytest.approx(0.3)
    assert told.covered == sum(bool(row["covers"]) for row in known)
    assert told.coverage == pytest.approx(told.covered / 5)
    assert told.codes == tuple(sum(row["code"] == code for row in rows) for code in range(5))
    assert told.average_for_other == sum(row["raw"] > 0 for row in rows)
    assert told.naive == tuple(sum(row["claims"] == claim for row in rows) for claim in range(3))
    assert told.ended == tuple(sum(row["ended"] == look for row in rows) for look in range(3))
    differences = [row["difference"] for row in rows]
    assert (told.mean, told.scatter) == pytest.approx((np.mean(differences), np.std(differences, ddof=1)))
    assert told.runs == pytest.approx(np.mean([row["runs"] for row in rows]))
    assert told.share(0, 3) == pytest.approx(sum(row["code"] in (0, 3) for row in rows) / 7)


def test_a_campaign_without_an_interval_says_nothing_beside_the_others():
    """Ten times the value, on one degree of freedom: no weight beside any measure that knows something."""
    found = SimpleEstimate(
        np.array([0.02, np.nan]), np.array([0.01, np.nan]), np.array([5.0, 5.0]), np.array([0.3, 0.3])
    )
    sure = np.array([True, False])
    as_ratio = _or_nothing(found, sure, True, np.array([80.0, -80.0]))
    assert as_ratio.difference.tolist() == [0.02, 0.0]
    assert as_ratio.standard_uncertainty.tolist() == [0.01, NOTHING]
    assert as_ratio.degrees_of_freedom.tolist() == [5.0, 1.0]
    assert as_ratio.worst_drift.tolist() == [0.3, 0.0]
    plain = _or_nothing(found, sure, False, np.array([80.0, -80.0]))
    assert plain.standard_uncertainty.tolist() == [0.01, NOTHING * 80.0]
    assert _or_nothing(found, np.array([True, True]), True, np.ones(2)) is found


def test_an_aeroplane_made_similar_stalls_and_turns_as_the_similarity_says():
    """W = q S C: at the same coefficient the area goes as weight over speed squared, lengths as its root."""
    own = SimAeroplane()
    other = similar(own, 1.3, 1.1)
    length = np.sqrt(1.3) / 1.1
    assert other.airframe.wing_area == pytest.approx(own.airframe.wing_area * 1.3 / 1.1**2)
    assert other.airframe.span == pytest.approx(own.airframe.span * length)
    assert other.airframe.wing_height == pytest.approx(own.airframe.wing_height * length)
    assert other.propeller.diameter == pytest.approx(own.propeller.diameter * length)
    # The engine turns as before, its power goes as weight times speed; tips move as the airspeed does.
    assert other.engine.power(80.0) == pytest.approx(1.3 * 1.1 * own.engine.power(80.0))
    tips = [one.propeller.diameter / one.engine.gear_ratio for one in (own, other)]
    assert tips[1] == pytest.approx(1.1 * tips[0])
