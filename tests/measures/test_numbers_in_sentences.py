"""A number in a sentence of a measure is the number that decides: limits, and the caution at a percentage."""

from __future__ import annotations

import re

import numpy as np
import pytest

from samesky.measures import MEASURES

KNOT = 1852 / 3600
LIMITS = [(measure.name, limit) for measure in MEASURES.values() for limit in measure.limits]


@pytest.mark.parametrize(("name", "limit"), LIMITS, ids=[f"{name} {limit.correction}" for name, limit in LIMITS])
def test_the_range_said_is_the_range_held(name, limit):
    numbers = re.findall(r"(\d+(?:\.\d+)?) (%|kt|degrees|m/s|K|ft|m)\b|(\d+) (%)", limit.says)
    numbers = [(float(a or c), b or d) for a, b, c, d in numbers]
    if not numbers:
        pytest.skip("no number is said")
    bounds = [bound for bound in (limit.low, limit.high) if bound is not None and bound != 0.0]
    met = []
    for value, unit in numbers:
        scale = {"%": 0.01, "kt": KNOT, "degrees": np.pi / 180, "ft": 0.3048}.get(unit, 1.0)
        size = value * scale
        # About one (a ratio), about nothing (a share, a wind), or a distance from zero.
        allowed = (1.0 - size, 1.0 + size, size, -size)
        met.append([min(abs(bound - one) for one in allowed) < 0.02 * max(size, 0.05) for bound in bounds])
        # Two numbers may be the two ends: every number is then an end, and every end a number.
        assert all(met[-1]) or (len(numbers) == len(bounds) == 2 and any(met[-1])), (
            name,
            limit.says,
            bounds,
        )
    assert all(any(column) for column in zip(*met, strict=True)), (name, limit.says, bounds)
