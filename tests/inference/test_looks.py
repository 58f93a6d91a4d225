"""Stopping limits: what they promise is what happens, with few degrees of freedom too."""

import numpy as np
import pytest
from flown import band, order, scatter

from samesky.inference import looks
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate


@pytest.mark.parametrize("exponent", [0.0, 0.5])
def test_limits_spend_the_error_rate(exponent):
    assert looks.crossing_by_look(looks.limits(4, 0.05, exponent)).sum() == pytest.approx(0.05, abs=1e-9)


def test_one_look_is_the_plain_test():
    assert looks.constant(1) == pytest.approx(1.959964, abs=1e-6)
    assert looks.nominal_p(1)[0] == pytest.approx(0.05)


@pytest.mark.parametrize(("shape", "told"), [("pocock", 0.05), ("obrien-fleming", 0.05)])
def test_false_claims_with_t_at_four_looks(shape, told):
    """Looks after 4, 6, 8 and 10 pairs: nominal p with the t of the degrees of freedom then holds about 5 %."""
    pairs, campaigns = (4, 6, 8, 10), 40_000
    letters = "ABBABAABABBABAABABBA"
    y = scatter(order(letters), np.random.default_rng(1), campaigns)
    wanted = looks.nominal_p(4, 0.05, looks.SHAPES[shape])
    claimed, unguarded = np.zeros(campaigns, dtype=bool), np.zeros(campaigns, dtype=bool)
    for k, n in enumerate(pairs):
        p = estimate(recognise(order(letters[: 2 * n])), y[:, : 2 * n]).p_value
        claimed |= p < wanted[k]
        unguarded |= p < 0.05
    low, high = band(campaigns, told - 0.006, told + 0.006, at=told)
    assert low < claimed.mean() < high
    assert unguarded.mean() > 0.10


def test_a_look_replaces_the_levels():
    first, last = looks.Look(1, 3, "obrien-fleming"), looks.Look(3, 3, "obrien-fleming")
    assert first.level > 0.999 > last.level > 0.95
    assert last.equivalence_level > 0.90
    assert looks.Look(1, 1).level == pytest.approx(0.95)
    assert looks.Look(1, 1).equivalence_level == pytest.approx(0.90)


def test_t_limits_widen_with_few_degrees_of_freedom():
    assert np.all(looks.t_limits(3, np.array([3, 8, 13])) > looks.limits(3))


@pytest.mark.parametrize(("number", "planned", "shape"), [(0, 3, "pocock"), (4, 3, "pocock"), (1, 3, "haybittle")])
def test_impossible_looks_are_refused(number, planned, shape):
    with pytest.raises(ValueError, match=r"look|limits"):
        looks.Look(number, planned, shape)


def test_impossible_constants_are_refused():
    with pytest.raises(ValueError, match="at least one look"):
        looks.constant(0)
