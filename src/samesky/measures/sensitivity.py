"""What does each error source do to a reduced run?

By perturbing the measure's own ``reduce``: every source is pushed up and down by its standard uncertainty and half the
change of the result is kept, with its sign, on the scale on which runs are compared (JCGM 100:2008, 5.1.3, note 2).
No measure writes a derivative by hand, so a correction and its uncertainty cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from samesky.instruments.sources import RESULT, ErrorSource
from samesky.measures.shape import Coefficients, Measure, Runs, Sky, Step

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Values of a column that are pushed in one reduction (chosen: beyond that the arrays leave the processor's cache).
AT_ONCE = 20_000
#: Share of a result below which a change is one of rounding.
ROUNDING = 1e-14


def reduce_runs(measure: Measure, runs: Runs, sky: Sky, coefficients: Coefficients | None = None) -> list[Step]:
    """Steps from the result as flown to the result at the common sky.

    Parameters
    ----------
    measure : the measure
    runs : prepared columns, SI, last axis the runs
    sky : the common sky, SI; arrays broadcast against the runs
    coefficients : values that replace the documented ones, by name
    """
    return measure.reduce(runs, sky, {**measure.coefficient_values(), **(coefficients or {})})


def coefficient_sources(measure: Measure) -> tuple[ErrorSource, ...]:
    """The measure's uncertain coefficients as error sources of the whole campaign.

    But for those on which it has a source of its own: what is new at each run, such as a change of the wind.

    Parameters
    ----------
    measure : the measure
    """
    own = {source.target for source in measure.sources}
    return tuple(
        ErrorSource(c.name, c.name, c.standard_uncertainty, "campaign", c.source, measures=(measure.name,))
        for c in measure.coefficients
        if c.standard_uncertainty > 0 and c.name not in own
    )


def sensitivities(
    measure: Measure,
    runs: Runs,
    sky: Sky,
    sources: Iterable[ErrorSource],
    coefficients: Coefficients | None = None,
) -> list[tuple[ErrorSource, Floats]]:
    """Standard uncertainty of each reduced run from each source, signed, on the comparison scale.

    Parameters
    ----------
    measure, runs, sky, coefficients : as for :func:`reduce_runs`; the sky is a given reference and is not perturbed
    sources : error sources; those that do not apply to the measure, or that move no run, are left out. The measure's
        own ``sources`` and its uncertain coefficients are added unless a given source has the same name and target

    Returns
    -------
    list of (source, array (..., n) shaped as the reduced runs); for the two drift scopes per hour or per root hour.
    Sources of one name whose scope several runs share are one and the same error, whichever column they fall on (one
    airspeed system reads low at entry and at exit alike): their effects are added, with sign
    """
    values = {**measure.coefficient_values(), **(coefficients or {})}
    sources = tuple(sources)
    taken = {(source.name, source.target) for source in sources}
    own = [s for s in (*measure.sources, *coefficient_sources(measure)) if (s.name, s.target) not in taken]
    result = np.asarray(measure.reduce(runs, sky, values)[-1].value, dtype=float)
    used = [source for source in (*sources, *own) if source.applies_to(measure.name)]
    effects: dict[object, tuple[ErrorSource, Floats]] = {}
    for source, effect in zip(used, _effects(measure, runs, sky, values, used, result), strict=True):
        if effect is None or not np.any(effect != 0.0):
            continue
        key = (source.name, source.target if source.scope == "run" else None, source.scope)
        first, before = effects.get(key, (source, 0.0))
        effects[key] = (first, before + effect)
    return list(effects.values())


def _effects(
    measure: Measure,
    runs: Runs,
    sky: Sky,
    values: Coefficients,
    sources: Sequence[ErrorSource],
    result: Floats,
) -> list[Floats | None]:
    """Effect of each source, or None where the runs do not have its target; many are pushed in one reduction."""
    found: list[Floats | None] = [None] * len(sources)
    together = []
    for number, source in enumerate(sources):
        if source.target == RESULT:
            found[number] = _of_result(measure, source, result)
        elif source.target in values and source in measure.sources:
            found[number] = _alone(measure, runs, sky, values, source)
        elif source.target in values or source.target in runs:
            together.append(number)
    each = max(1, AT_ONCE // max(1, 2 * result.size))
    for batch in (together[k : k + each] for k in range(0, len(together), each)):
        up, down = _pushed(measure, runs, sky, values, [sources[k] for k in batch], result)
        effect = 0.5 * (up - down)
        # A run further along an array may round otherwise than its twin: that is no effect.
        effect[np.abs(effect) <= ROUNDING * np.maximum(np.abs(up), np.abs(down))] = 0.0
        for number, one in zip(batch, effect, strict=True):
            found[number] = one
    return found


def _alone(measure: Measure, runs: Runs, sky: Sky, values: Coefficients, source: ErrorSource) -> Floats:
    """Effect of a coefficient that is new at each run, which a measure takes as one number only."""
    pushed = [values[source.target] + sign * source.standard_uncertainty for sign in (1.0, -1.0)]
    up, down = (measure.reduce(runs, sky, {**values, source.target: value})[-1].value for value in pushed)
    return 0.5 * (measure.to_scale(up) - measure.to_scale(down))


def _pushed(
    measure: Measure,
    runs: Runs,
    sky: Sky,
    values: Coefficients,
    sources: Sequence[ErrorSource],
    result: Floats,
) -> Floats:
    """The result (2, sources, ...) on the comparison scale with each source pushed up and down by itself."""
    count, ndim = len(sources), result.ndim
    wide: dict[str, Floats] = {}
    for number, source in enumerate(sources):
        if source.target not in wide:
            place = values if source.target in values else runs
            base = np.asarray(place[source.target], dtype=float)
            base = base.reshape((1,) * (2 + ndim - base.ndim) + base.shape)
            wide[source.target] = np.array(np.broadcast_to(base, (2, count, *base.shape[2:])))
        own = wide[source.target][:, number]
        push = source.standard_uncertainty
        if source.relative:
            push = push * (own[0] - source.about)
        own[0] += push
        own[1] -= push
    numbers = {name: wide.get(name, value) for name, value in values.items()}
    columns = {**runs, **{name: column for name, column in wide.items() if name not in values}}
    ends = measure.to_scale(measure.reduce(columns, sky, numbers)[-1].value)
    return np.broadcast_to(ends, (2, count, *result.shape))


def _of_result(measure: Measure, source: ErrorSource, result: Floats) -> Floats:
    """Effect of an error of the result itself."""
    u = source.standard_uncertainty
    if measure.ratio:
        return np.full(result.shape, u) if source.relative else u / result
    return u * result if source.relative else np.full(result.shape, u)
