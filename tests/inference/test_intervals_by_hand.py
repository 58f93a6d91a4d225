"""Intervals of two synthetic campaigns recomputed from what the report states, with numpy and scipy alone.

The corrected results and the sizes of the stated sources come from the reduction, which has tests of its own; how they
become a difference and an interval is written out here: JCGM 100 (2008), 5.2.2, for the sources; least squares in the
metric of the covariance (Aitken 1935) for a single swap; one difference a day and Student's t for several days; and the
quantiles of the parts weighted by their variances (W. G. Cochran, Biometrics 20 (1964) 191-195, from memory).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.instruments.sources import RESULT

DRIFT = "straight drift"
DATA = Path(__file__).resolve().parents[2] / "data_synthetic"


def compared(name: str, measure: str):
    return next(one for one in compare(read(DATA / name)) if one.measure == measure)


def half_width(variances, degrees_of_freedom, worst=0.0) -> float:
    """Of the 95 % interval: the parts' own quantiles, weighted by their variances; ``worst`` is a limit beside them.

    With a limit: the quantile of |T + worst/u| (T. B. Armstrong and M. Kolesar, Econometrica 86 (2018) 655-683), T of
    as many degrees of freedom as have that weighted quantile.
    """
    variances = np.array(variances)
    quantiles = stats.t.ppf(0.975, np.array(degrees_of_freedom, dtype=float))
    root, quantile = np.sqrt(variances.sum()), (variances @ quantiles) / variances.sum()
    if not worst:
        return float(root * quantile)
    own = stats.t(optimize.brentq(lambda df: stats.t.ppf(0.975, df) - quantile, 1.0, 1e6))
    bias = worst / root
    return root * optimize.brentq(lambda k: own.cdf(k - bias) - own.cdf(-k - bias) - 0.95, 0.0, bias + 50.0)


def gap(weights, hours, day, chosen) -> float:
    """Hours through which a drift of these days acts on the difference."""
    return sum(weights @ np.where(day == d, hours - hours[day == d].mean(), 0.0) for d in chosen)


def shown(comparison, half: float) -> None:
    low, high = comparison.estimate.interval(0.95)
    assert 0.5 * (high + low) == pytest.approx(float(comparison.estimate.difference), abs=1e-12)
    assert 0.5 * (high - low) == pytest.approx(half, rel=2e-4)


@pytest.mark.parametrize(
    ("campaign", "measure", "spare"), [("warming_day", "timed_climb", 7), ("wheel_fairings", "idle_descent", 6)]
)
def test_scatter_within_blocks_is_joined_with_what_is_stated(campaign, measure, spare):
    """A single swap on one day, and blocks with a return over three days, the last of them with one configuration."""
    one = compared(campaign, measure)
    table, y = one.reduction.table, np.log(one.reduction.value)
    assert one.used.all()
    runs, other, block, day = y.size, (table.configuration == "B").astype(float), table.installation, table.day
    same_day, same_block = day[:, None] == day, block[:, None] == block
    hours = table.hours - np.array([table.hours[day == d].mean() for d in day])
    morning = table.hours - np.array([table.hours[day == d].min() for d in day])
    mid = same_block @ hours / same_block.sum(axis=1)
    # Scatter: about a level for each block and one slope within them.
    levels = np.column_stack([block[:, None] == np.unique(block), hours - mid]).astype(float)
    rest = y - levels @ np.linalg.lstsq(levels, y, rcond=None)[0]
    assert runs - levels.shape[1] == spare
    scatter = rest @ rest / spare
    covariance, campaign_wide, readings = np.zeros((runs, runs)), [], np.zeros(runs)
    for source, size in one.reduction.contributions:
        size = np.broadcast_to(size, runs)
        if source.scope == "campaign":
            campaign_wide.append(size)
        elif source.scope == "run" and source.target != RESULT:
            readings += size**2
        elif source.scope == "installation":
            covariance += np.outer(size, size) * same_block
        elif source.scope == "straight drift":
            drift = size
            covariance += np.outer(size * hours, size * hours) * same_day
        elif source.scope == "wandering":
            covariance += np.outer(size, size) * np.minimum.outer(morning, morning) * same_day
    # The runs scatter by clearly more than their readings, which therefore stay out of it.
    assert scatter > 1.3 * readings.mean()
    model = [other, *(day == np.unique(day)[:, None]).astype(float), hours - mid]
    # Where a day comes back to its first configuration, a slope of its own between the blocks is removed.
    returns = [one for one in np.unique(day) if np.unique(block[day == one]).size > 2]
    model = np.column_stack([*model, *(mid * (day == one) for one in returns)])
    whole = np.linalg.inv(scatter * np.eye(runs) + covariance)
    weights = (np.linalg.inv(model.T @ whole @ model) @ model.T @ whole)[0]
    assert weights @ y == pytest.approx(float(one.estimate.difference), abs=2e-6)
    # What all runs of a day share cancels. The day of one swap hides its drift, which is a limit: 8 % an hour.
    single = np.unique(block).size == 2
    reach = abs(gap(weights, table.hours, day, np.unique(day))) if single else 0.0
    covariance -= np.outer(drift * hours, drift * hours) * same_day if single else 0.0
    wide = [(weights @ size) ** 2 for size in campaign_wide]
    means = np.array([(block == k) / (block == k).sum() for k in np.unique(block)])
    between = means @ np.delete(model, len(np.unique(day)) + 1, axis=1)
    left = len(means) - np.linalg.matrix_rank(between)
    if not left:
        stated = [weights @ covariance @ weights, *wide]
        shown(one, half_width([scatter * weights @ weights, *stated], [spare] + [np.inf] * len(stated), 0.08 * reach))
        return
    # One contrast of the block means is left over: its square against what is to be expected, known from 8 at most.
    assert left == 1
    contrast = np.linalg.svd(between)[0][:, -1] @ means
    entered = contrast @ covariance @ contrast / (contrast @ contrast)
    ratio = (contrast @ y) ** 2 / (contrast @ contrast) / (scatter + entered)
    # What errors of the whole campaign make of the contrast excuses an excess, and nothing else.
    excuse = sum((contrast @ size) ** 2 for size in campaign_wide) / (contrast @ contrast)
    ratio = max(1.0, ratio * (scatter + entered) / (scatter + entered + excuse)) if ratio > 1.0 else ratio
    share = entered / (scatter + entered)
    known = min(8.0, 1.0 / ((1.0 - share) ** 2 / spare + share**2 / 8.0))
    assert 0.05 < stats.f.sf(ratio, 1, known) < 0.98
    whole = (scatter * weights @ weights + weights @ covariance @ weights) * (known + ratio) / (known + 1.0)
    shown(one, half_width([whole, *wide], [known + 1.0] + [np.inf] * len(wide)))


@pytest.mark.parametrize("measure", ["level_speed", "timed_climb", "cruise_fuel"])
def test_days_of_unequal_effort_are_pooled_by_their_own_scatter(measure):
    """Paule and Mandel (J. Res. NBS 87 (1982) 377-385), Hartung and Knapp (Statistics in Medicine 20 (2001) 3875)."""
    one = compared("wheel_fairings", measure)
    table, used = one.reduction.table, one.used
    y = table.measure.to_scale(one.reduction.value)[used]
    block, day, hours = table.installation[used], table.day[used], table.hours[used]
    other = (table.configuration[used] == "B").astype(float)
    each = np.unique(block)
    # A day's difference: block means, straight time removed where the day comes back to the first configuration.
    per_day, hides = [], []
    for here in np.unique(day):
        fitted = [k for k in each if day[block == k][0] == here]
        means = np.array([(block == k) / (block == k).sum() for k in fitted])
        model = np.column_stack([means @ other, np.ones(len(fitted)), means @ hours])[:, : 2 + (len(fitted) > 2)]
        hides += [here] * (len(fitted) == 2)
        per_day.append(np.linalg.pinv(model)[0] @ means)
    per_day = np.array(per_day)
    # Scatter within blocks: a level for each and one slope.
    model = np.column_stack([block[:, None] == each, hours - hours.mean()]).astype(float)
    rest = y - model @ np.linalg.lstsq(model, y, rcond=None)[0]
    effort = rest @ rest / (y.size - model.shape[1]) * np.square(per_day).sum(axis=1)
    for source, size in one.reduction.contributions:
        if source.scope == "installation":
            rigging = np.broadcast_to(size, used.size)[used] * per_day
            effort += sum(np.square(rigging[:, block == k].sum(axis=1)) for k in each)
    # A day that does not go back may hide twice the drift entered, which counts against its weight.
    drifts = [size for source, size in one.reduction.contributions if source.scope == DRIFT]
    entered = sum(np.square(np.broadcast_to(size, used.size)[used]).mean() for size in drifts)
    effort += [4.0 * entered * np.square(gap(row, hours, day, hides)) for row in per_day]
    found = per_day @ y

    def excess(between):
        share = 1.0 / (effort + between)
        return share @ np.square(found - share @ found / share.sum()) - (found.size - 1)

    between = optimize.brentq(excess, 0.0, 100.0 * found.var() + effort.max()) if excess(0.0) > 0 else 0.0
    share = 1.0 / (effort + between)
    share /= share.sum()
    difference = share @ found
    days = share @ np.square(found - difference) / (found.size - 1)
    assert difference == pytest.approx(float(one.estimate.difference), abs=1e-9)
    weights = share @ per_day
    campaign_wide = [
        (weights @ np.broadcast_to(size, used.size)[used]) ** 2
        for source, size in one.reduction.contributions
        if source.scope == "campaign"
    ]
    # A drift that comes back every day is what the scatter of days cannot show where a day does not go back.
    ceiling = {"level_speed": 0.02 * one.reduction.value.mean(), "timed_climb": 0.08, "cruise_fuel": 0.05}[measure]
    worst = ceiling * abs(gap(weights, hours, day, hides))
    assert worst > 0
    shown(one, half_width([days, *campaign_wide], [found.size - 1] + [np.inf] * len(campaign_wide), worst))
