"""Which exact randomisation test does the flown order allow, beside the interval?

Sign flips of drift-free differences where six or more pairs, or days, give one each. Otherwise relabelling of the units
of replication within their day: where every day went back to its first configuration, where the units are alike (as
many runs on every installation of a day), and where straight drift does not go with the labels. The last is held by
``r^2 (n - 1) <= 1`` on every day, r the correlation of label and clock over its n units: the drift of that day alone
then lies within one standard deviation of what relabelling gives, and makes the p larger, not smaller (held by
simulation in the tests). A test that could not reach 5 % whatever the runs said is not printed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.inference import exact
from samesky.inference.design import Design
from samesky.inference.order import FlownOrder

if TYPE_CHECKING:
    from samesky.arrays import Counts, Floats

#: Fewest pairs, or days, whose signs are flipped: with five no pattern reaches 5 %.
FEWEST_PAIRS = 6
#: A test that cannot come out at this level or below is left out.
LEVEL = 0.05


def randomisation_p(design: Design, y: Floats) -> tuple[Floats, str]:
    """Exact two-sided p (...) of no difference at all for values ``y`` (..., n), and the test in words.

    NaN and no words where the order allows no exact test, or none that could reach 5 %.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)

    Returns
    -------
    tuple
        p [1], (...), and the test in words; NaN and blank where there is none.
    """
    y = np.asarray(y, dtype=float)
    if design.order.further:
        return np.full(y.shape[:-1], np.nan), ""
    over_days = design.name == "days"
    differences = design.day_differences if over_days else design.pair_differences
    if differences is not None and FEWEST_PAIRS <= len(differences) <= exact.MOST_PAIRS:
        return exact.sign_flip_p(
            y @ differences.T
        ), f"sign flips of {len(differences)} {'days' if over_days else 'pairs'}"
    units = _exchangeable(design.order)
    if units is not None:
        averages, configuration, day = units
        if 2.0 / exact.relabellings(configuration, day) <= LEVEL:
            p = exact.relabelling_p(y @ averages.T, configuration, day)
            unit = "fittings" if design.order.fitted_anew else "runs"
            return p, f"relabelling of {unit} within their day"
    return np.full(y.shape[:-1], np.nan), ""


def _exchangeable(order: FlownOrder) -> tuple[Floats, Counts, Counts] | None:
    """Averages (k, n), configuration (k,) and day (k,) of units that relabelling may exchange, or None."""
    if not order.has_return or order.days_without_return.size:
        return None
    averages = order.averages(order.unit)
    configuration, day = order.first_of(order.unit, order.configuration), order.first_of(order.unit, order.day)
    runs = np.rint(1.0 / averages.max(axis=1))
    if any(np.unique(runs[day == one]).size > 1 for one in np.unique(day)):
        return None
    if exact.relabellings(configuration, day) > exact.MOST_RELABELLINGS:
        return None
    time = averages @ order.time
    for one in np.unique(day):
        own = day == one
        label, clock = (v[own] - v[own].mean() for v in (configuration.astype(float), time))
        if (label @ clock) ** 2 * (own.sum() - 1) > (label @ label) * (clock @ clock) * (1.0 + 1e-12):
            return None
    return averages, configuration, day
