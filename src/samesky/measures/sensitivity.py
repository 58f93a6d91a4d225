"""What does each error source do to a reduced run?

By perturbing the measure's own ``reduce``: every source is pushed up and down by its standard uncertainty and half the
change of the result is kept, with its sign, on the scale on which runs are compared (JCGM 100:2008, 5.1.3, note 2).
No measure writes a derivative by hand, so a correction and its uncertainty cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from samesky.instruments.sources import RESULT, ErrorSource
from samesky.measures.shape import Coefficients, Measure, Runs, Sky, Step

if TYPE_CHECKING:
    from samesky.arrays import Floats


def reduce_runs(measure: Measure, runs: Runs, sky: Sky, coefficients: Coefficients | None = None) -> list[Step]:
    """Steps from the result as flown to the result at the common sky.

    Parameters
    ----------
    runs : prepared columns, SI, last axis the runs
    sky : the common sky, SI; arrays broadcast against the runs
    coefficients : values that replace the documented ones, by name
    """
    return measure.reduce(runs, sky, {**measure.coefficient_values(), **(coefficients or {})})


def coefficient_sources(measure: Measure) -> tuple[ErrorSource, ...]:
    """The measure's uncertain coefficients as error sources of the whole campaign.

    But for those on which it has a source of its own: what is new at each run, such as a change of the wind.
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
    runs, sky, coefficients : as for :func:`reduce_runs`; the sky is a given reference and is not perturbed
    sources : error sources; those that do not apply to the measure, or that move no run, are left out. The measure's
        own ``sources`` and its uncertain coefficients are added unless a given source has the same name and target

    Returns
    -------
    list of (source, array shaped as the reduced runs); for the two drift scopes per hour or per root hour. Sources of
    one name whose scope several runs share are one and the same error, whichever column they fall on (one airspeed
    system reads low at entry and at exit alike): their effects are added, with sign
    """
    values = {**measure.coefficient_values(), **(coefficients or {})}
    sources = tuple(sources)
    taken = {(source.name, source.target) for source in sources}
    own = [s for s in (*measure.sources, *coefficient_sources(measure)) if (s.name, s.target) not in taken]
    result = np.asarray(measure.reduce(runs, sky, values)[-1].value, dtype=float)
    effects: dict[object, tuple[ErrorSource, Floats]] = {}
    for source in (*sources, *own):
        if not source.applies_to(measure.name):
            continue
        effect = _effect(measure, runs, sky, values, source, result)
        if effect is None or not np.any(effect != 0.0):
            continue
        key = (source.name, source.target if source.scope == "run" else None, source.scope)
        first, before = effects.get(key, (source, 0.0))
        effects[key] = (first, before + effect)
    return list(effects.values())


def _effect(
    measure: Measure, runs: Runs, sky: Sky, values: Mapping[str, float], source: ErrorSource, result: Floats
) -> Floats | None:
    """Effect of one source, or None where the runs do not have its target."""
    u = source.standard_uncertainty
    if source.target == RESULT:
        if measure.ratio:
            return np.full(result.shape, u) if source.relative else u / result
        return u * result if source.relative else np.full(result.shape, u)
    if source.target in values:
        value = values[source.target]
        push = u * (value - source.about) if source.relative else u
        ends = [measure.reduce(runs, sky, {**values, source.target: value + sign * push}) for sign in (+1.0, -1.0)]
    elif source.target in runs:
        column = np.asarray(runs[source.target], dtype=float)
        pushes = u * (column - source.about) if source.relative else u
        ends = [measure.reduce({**runs, source.target: column + sign * pushes}, sky, values) for sign in (+1.0, -1.0)]
    else:
        return None
    up, down = (measure.to_scale(steps[-1].value) for steps in ends)
    return 0.5 * (up - down)
