"""Could anything sharper than Student's t over days be honest? A bound over all rules, by convex programming.

A rule sees the mean of the daily differences, their scatter and the scatter within days (here known for certain, which
no flying gives), and answers with a half width in proportion to the scatter of the days, any function of how far that
exceeds the scatter within. Asked of it: 95 % coverage, however far the difference truly changes from day to day. The
shortest mean width where it does not change at all is found by scipy (SLSQP; the width is linear in the rule, coverage
is concave). Standard methods that take the runs for independent are sharper, and cover less: see the cells ``day to
day`` of :mod:`tests.worlds.cells`.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, special, stats

#: Variance of a day's difference over that which the scatter within days gives.
CHANGES = np.array([1.0, 1.15, 1.3, 1.6, 2.0, 2.5, 3.2, 4.5, 7.0, 12.0, 25.0, 80.0])
DRAWS, BINS = 3000, 24


def shortest(days: int, level: float) -> tuple[float, np.ndarray]:
    """Least mean half width over that of Student's t at 95 %, and the coverage (changes,) of the rule that has it."""
    square = stats.chi2.ppf((np.arange(DRAWS) + 0.5) / DRAWS, days - 1) / (days - 1)
    seen = CHANGES[:, None] * square
    edges = [0.0, *np.quantile(seen[0], np.linspace(0, 1, BINS // 2 + 1)[1:-1])]
    edges += [*np.geomspace(np.quantile(seen[0], 0.96), np.quantile(seen[-1], 0.9), BINS // 2), np.inf]
    own = np.digitize(seen, np.unique(edges)) - 1
    count = own.max() + 1
    width = np.bincount(own[0], np.sqrt(seen[0]), count) / DRAWS
    reach = np.sqrt(square)  # half width over the standard error of the mean, were the factor one

    def covered(rule):
        return special.erf(rule[own] * reach / np.sqrt(2.0)).mean(axis=1) - level

    def slopes(rule):
        each = np.exp(-0.5 * np.square(rule[own] * reach)) * reach * np.sqrt(2.0 / np.pi)
        return np.array([np.bincount(k, one, count) / DRAWS for k, one in zip(own, each, strict=True)])

    t = stats.t.ppf(0.975, days - 1)
    found = optimize.minimize(
        lambda rule: rule @ width, np.full(count, 1.1 * t), jac=lambda _: width, method="SLSQP",
        bounds=[(0.1, 60.0)] * count, constraints=[{"type": "ineq", "fun": covered, "jac": slopes}],
        options={"maxiter": 300, "ftol": 1e-8},
    )  # fmt: skip
    assert found.success
    return found.fun / (t * width.sum()), covered(found.x) + level


@pytest.mark.parametrize("days", [3, 4, 6])
def test_no_honest_rule_is_much_sharper_than_t_over_days(days):
    ratio, coverage = shortest(days, 0.95)
    assert coverage.min() > 0.949
    assert 0.98 < ratio < 1.01


@pytest.mark.parametrize(("days", "least"), [(3, 0.89), (4, 0.91), (6, 0.93)])
def test_what_one_in_a_hundred_would_buy(days, least):
    """At 94 % it is 10, 7 and 6 % shorter: nearly all of it from the lower level, not from pooling."""
    ratio, _ = shortest(days, 0.94)
    alone = stats.t.ppf(0.97, days - 1) / stats.t.ppf(0.975, days - 1)
    assert least < ratio < alone + 0.005
    assert ratio > alone - 0.03
