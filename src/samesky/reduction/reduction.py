"""What is each run worth under the common sky, which corrections brought it there, and how sure is it?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.campaign.derived.prepare import prepare, why_missing
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.model.named_runs import named_runs
from samesky.instruments import default_sources
from samesky.instruments.airspeed_indicator import SYSTEM
from samesky.instruments.sources import ErrorSource
from samesky.measures import power
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.measures.shape import Runs, Sky, Step
from samesky.reduction import catalogue as say
from samesky.spellings import is_calibrated

if TYPE_CHECKING:
    from samesky.arrays import Counts, Flags, Floats

#: Scopes of drifts: they grow from run to run and are no part of one run's own uncertainty.
DRIFTS = ("straight drift", "wandering")


@dataclass(frozen=True, slots=True)
class Reduction:
    """One table brought to the common sky.

    Rows are those of the table, excluded runs with them (see ``table.included``); an excluded run that lacks a reading
    is NaN throughout.

    Attributes
    ----------
    table : the table
    runs : prepared columns [SI], each (n,)
    sky : the common sky [SI], by condition
    steps : value after each correction [SI], each (n,); the first is as flown
    value : reduced value [SI] (n,), the last step
    standard_uncertainty : of each reduced value [SI] (n,): all error sources except drifts, in quadrature
    corrections : change that each correction makes [SI] (n,), by name
    left_out : for each correction that was not made, why
    doubts : runs outside the range in which a correction is believed
    contributions : each error source with its standard uncertainty of each run's value on the scale of comparison
        (n,), signed; per hour or per root hour for drifts
    """

    table: RunTable
    runs: Runs
    sky: Mapping[str, float]
    steps: list[Step]
    value: Floats
    standard_uncertainty: Floats
    corrections: Mapping[str, Floats]
    left_out: Mapping[str, str]
    doubts: list[Finding]
    contributions: list[tuple[ErrorSource, Floats]]


def reduce_table(campaign: Campaign, table: RunTable) -> Reduction:
    """Bring every run of a table to the common sky.

    The sky is the campaign's own reference where it names one, else the mean of the runs that count, so that
    corrections stay small.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    """
    measure = table.measure
    runs = prepare(campaign, table)
    sky, whole, steps = steps_of(campaign, table, runs)
    some = {name: values[whole] for name, values in runs.items()}
    value = steps[-1].value
    contributions = [
        (source, _spread(np.broadcast_to(size, whole.sum()), whole))
        for source, size in sensitivities(
            measure, some, own_sky(campaign, table, sky, whole), sources_of(campaign, table)
        )
    ]
    squares = [np.square(size) for source, size in contributions if source.scope not in DRIFTS]
    on_scale = np.sqrt(np.sum(squares, axis=0)) if squares else np.where(whole, 0.0, np.nan)
    made = [step.name for step in steps[1:]]
    return Reduction(
        table=table,
        runs=runs,
        sky=sky,
        steps=steps,
        value=value,
        standard_uncertainty=on_scale * np.abs(value) if measure.ratio else on_scale,
        corrections={after.name: after.value - before.value for before, after in pairwise(steps)},
        left_out={name: _why(campaign, table, runs, sky, name) for name in measure.corrections if name not in made}
        | dict(measure.not_corrected),
        doubts=_doubts(table, some, sky, whole, made, value),
        contributions=contributions,
    )


def sources_of(campaign: Campaign, table: RunTable) -> tuple[ErrorSource, ...]:
    """The error sources of a table. What was written as calibrated has no error of the airspeed system, neither the
    shipped one nor that of the campaign's calibration; one that is entered stays.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    """
    calibrated = {name for name, unit in table.units.items() if is_calibrated(unit)}
    if not calibrated:
        return tuple(campaign.sources)
    system = {source for source in default_sources() if source.name == SYSTEM}
    if campaign.airspeed_system is not None:
        system |= set(campaign.airspeed_system.fit.error_sources())
    return tuple(one for one in campaign.sources if one.target not in calibrated or one not in system)


def steps_of(campaign: Campaign, table: RunTable, runs: Runs) -> tuple[dict[str, float], Flags, list[Step]]:
    """Common sky, which of the prepared runs were taken along (n,), and the value (n,) after each correction.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    runs : prepared columns of the runs [SI], (n,)

    Returns
    -------
    tuple
        The common sky [SI] by name, the runs taken along (n,) bool, and the steps with their values [SI], (n,).
    """
    sky = common_sky(campaign, table, runs)
    whole = whole_runs(table, runs)
    some = {name: values[whole] for name, values in runs.items()}
    steps = reduce_runs(table.measure, some, own_sky(campaign, table, sky, whole))
    return sky, whole, [Step(step.name, _spread(step.value, whole)) for step in steps]


def too_far(table: RunTable, steps: list[Step]) -> Finding | None:
    """An error where the air would change a counted run by more than any exponent is believed for.

    Parameters
    ----------
    table : the runs of one measure
    steps : values [SI], (n,), after each correction
    """
    for before, after in pairwise(steps):
        if after.name != power.CORRECTION:
            continue
        with np.errstate(invalid="ignore", divide="ignore"):
            change = np.abs(np.log(after.value / before.value))
        where = np.flatnonzero(table.included & (change > np.log(power.FURTHEST)))
        named = named_runs(table, where)
        if named is None:
            continue
        says, row = named
        most = 100.0 * (np.exp(np.max(change[where])) - 1.0)
        return Finding(
            "error",
            table.file,
            say.RESULT_TOO_FAR(says=says, result=table.measure.result, most=most, furthest=100 * (power.FURTHEST - 1)),
            row,
        )
    return None


def common_sky(campaign: Campaign, table: RunTable, runs: Runs) -> dict[str, float]:
    """One value a condition [SI]: the campaign's reference, else the mean of the runs that count.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    runs : prepared columns of the runs [SI], (n,)

    Returns
    -------
    dict
        [SI], one number a condition.
    """
    sky = {}
    for name in table.measure.conditions:
        if name in campaign.reference:
            sky[name] = campaign.reference[name]
        elif name in runs and np.any(table.included):
            mean = float(np.mean(runs[name][table.included]))
            if np.isfinite(mean):
                sky[name] = mean
    return sky


def own_sky(campaign: Campaign, table: RunTable, sky: Sky, whole: Flags) -> Sky:
    """The common sky with, for the runs marked ``whole`` (n,), the airspeeds meant for their own configuration.

    Where a change is meant to be flown at another speed, bringing both to one speed would correct its effect away.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    sky : the common sky [SI], by column name
    whole : the runs taken along, bool (n,)
    """
    flown = table.configuration[whole]
    names = {name for key in set(flown) for name in campaign.configurations[key].own_speeds}
    return {
        **sky,
        **{
            name: np.array([campaign.configurations[key].own_speeds[name] for key in flown])
            for name in names
            if name in sky
        },
    }


def whole_runs(table: RunTable, runs: Runs) -> Flags:
    """Boolean (n,): runs that count, and left-out ones with every reading that all counted runs have.

    A left-out run without its wind must not take the wind correction from all others.

    Parameters
    ----------
    table : the runs of one measure
    runs : prepared columns of the runs [SI], (n,)

    Returns
    -------
    ndarray of bool
        (n,) [1].
    """
    whole = np.ones(len(table.rows), dtype=bool)
    for values in runs.values():
        if not np.any(np.isnan(values[table.included])):
            whole &= np.isfinite(values)
    return whole | table.included


def _spread(values: Floats, whole: Flags) -> Floats:
    spread = np.full(len(whole), np.nan)
    spread[whole] = values
    return spread


def _why(campaign: Campaign, table: RunTable, runs: Runs, sky: Mapping[str, float], correction: str) -> str:
    """Why a correction was not made, in words."""
    needs = table.measure.needs.get(correction, ())
    missing = [name for name in needs if name not in runs or np.any(np.isnan(runs[name][table.included]))]
    if missing:
        return "; ".join(why_missing(campaign, table, name) for name in missing)
    without = [name for name in needs if name in table.measure.conditions and name not in sky]
    if without:
        return f"the common sky has no {listed(without)}"
    return "it does not apply to these readings"


def _doubts(
    table: RunTable, some: Runs, sky: Mapping[str, float], whole: Flags, made: list[str], value: Floats
) -> list[Finding]:
    measure = table.measure
    doubts = []
    for limit in measure.limits:
        # A correction that was left out needs no range; one that no measure makes (the run stands as flown) does.
        if limit.correction in made or limit.correction not in measure.corrections:
            quantity = _spread(np.broadcast_to(limit.quantity(some, sky), whole.sum()), whole)
            named = named_runs(table, _outside(quantity, limit.low, limit.high))
            if named is not None:
                doubts.append(
                    Finding(
                        "warning",
                        table.file,
                        say.RESULT_CORRECTION_BEYOND_RANGE(
                            named=named[0], correction=limit.correction, says=limit.says
                        ),
                        named[1],
                    )
                )
    if measure.plausible is not None:
        where = np.array([run for run in _outside(value, *measure.plausible) if table.included[run]], dtype=int)
        named = named_runs(table, where)
        if named is not None:
            shown = units.show(float(value[where[0]]), measure.unit, measure.dimension)
            doubts.append(
                Finding(
                    "warning",
                    table.file,
                    say.RESULT_NOT_BELIEVABLE(named=named[0], result=measure.result, shown=shown),
                    named[1],
                )
            )
    return doubts


def _outside(quantity: Floats, low: float | None, high: float | None) -> Counts:
    below = np.zeros(len(quantity), dtype=bool) if low is None else quantity < low
    above = np.zeros(len(quantity), dtype=bool) if high is None else quantity > high
    return np.flatnonzero(below | above)
