"""What a source does to a difference depends on its scope and on the order; checked against propagation by GTC."""

import numpy as np
import pytest
from flown import order, rigging, straight, wander

from samesky.inference.budget import UncertaintyComponent, contribution, covariance, hidden, reading_floor
from samesky.inference.design import recognise

FLOWN = order("AB|BA", fitted_anew=True, each=2, swap=0.5)
SIZES = np.array([1.0, 1.1, 0.9, 1.2, 1.0, 0.8, 1.3, 0.7])


@pytest.mark.parametrize("scope", ["run", "installation", "day", "campaign"])
def test_contribution_is_that_of_shared_inputs_in_gtc(scope):
    """One uncertain input for every group of runs that share the error, with the run's sensitivity as coefficient."""
    gtc = pytest.importorskip("GTC")
    labels = {
        "run": np.arange(8),
        "installation": FLOWN.installation,
        "day": FLOWN.day,
        "campaign": np.zeros(8, dtype=int),
    }[scope]
    design = recognise(FLOWN)
    shared = {label: gtc.ureal(0.0, 1.0) for label in np.unique(labels)}
    total = sum(w * c * shared[label] for w, c, label in zip(design.weights, SIZES, labels, strict=True))
    ours = contribution(UncertaintyComponent("source", scope, SIZES), design)
    assert ours == pytest.approx(total.u**2)


def test_a_common_error_cancels_and_a_fitting_error_does_not():
    flown = order("AB", fitted_anew=True, each=5)
    design = recognise(flown)
    assert contribution(UncertaintyComponent("tape", "campaign", np.full(10, 2.0)), design) == pytest.approx(
        0.0, abs=1e-12
    )
    assert contribution(UncertaintyComponent("sky", "day", np.full(10, 2.0)), design) == pytest.approx(0.0, abs=1e-12)
    assert contribution(rigging(flown, 2.0), design) == pytest.approx(8.0)  # not smaller with more runs
    more = order("AB", fitted_anew=True, each=20)
    assert contribution(rigging(more, 2.0), recognise(more)) == pytest.approx(8.0)
    assert contribution(UncertaintyComponent("watch", "run", np.full(10, 2.0)), design) == pytest.approx(8.0 / 5)


def test_nothing_is_fitted_anew_where_the_change_is_free():
    flown = order("ABBAABBA")
    assert contribution(rigging(flown, 2.0), recognise(flown)) == 0.0


def test_drifts():
    """Straight: weights times hours; wandering: the variance of the walk between two instants, by simulation."""
    flown = order("AB", fitted_anew=True, each=2, swap=1.0)
    design = recognise(flown)
    gap = design.weights @ flown.hours
    assert contribution(straight(flown, 0.3), design) == pytest.approx((0.3 * gap) ** 2)
    steps = np.diff(flown.hours, prepend=0.0)
    walk = np.cumsum(np.random.default_rng(1).standard_normal((200_000, 4)) * np.sqrt(steps), axis=1)
    told = contribution(wander(flown, 1.0), design)
    assert np.var(walk @ design.weights) == pytest.approx(told, rel=0.02)


def test_a_walk_begins_anew_every_day():
    """Two days in opposite order: the variances of the two days' walks add, with no covariance between them."""
    one, two = order("AB", fitted_anew=True, each=2, swap=1.0), order("AB|BA", fitted_anew=True, each=2, swap=1.0)
    single = contribution(wander(one, 1.0), recognise(one))
    assert contribution(wander(two, 1.0), recognise(two)) == pytest.approx(single / 2)


@pytest.mark.parametrize("letters", ["ABABAB", "ABABABAB"])
def test_what_the_scatter_of_installations_shows_is_not_added_again(letters):
    flown = order(letters, fitted_anew=True, each=3, swap=0.75)
    design = recognise(flown).alone
    assert hidden(rigging(flown, 1.0), design) == pytest.approx(0.0, abs=1e-12)
    assert hidden(straight(flown, 1.0), design) == pytest.approx(0.0, abs=1e-12)
    assert hidden(UncertaintyComponent("watch", "run", np.ones(flown.runs)), design) == 0.0
    wind = UncertaintyComponent("wind exponent", "campaign", flown.configuration * 0.1)
    assert hidden(wind, design) == pytest.approx(0.01)


def test_what_all_days_share_is_not_shown_by_days():
    """A first every day: a drift that comes back daily is hidden; turned round every day it is not."""
    same, turned = (order(text, fitted_anew=True, each=2, swap=1.0) for text in ("AB|AB|AB|AB", "AB|BA|AB|BA"))
    drift = hidden(straight(same, 0.5), recognise(same))
    assert drift == pytest.approx((0.5 * 1.5) ** 2)
    assert hidden(straight(turned, 0.5), recognise(turned)) == pytest.approx(0.0, abs=1e-12)


def test_the_floor_is_the_mean_square_of_reading_errors_in_the_scatter():
    flown = order("ABABAB", fitted_anew=True, each=4)
    floor = reading_floor(
        (UncertaintyComponent("a", "run", np.full(24, 0.6)), UncertaintyComponent("b", "run", np.full(24, 0.8))),
        recognise(flown).alone,
    )
    assert floor == pytest.approx(1.0 / 4)  # the mean of four runs


def test_covariances_are_covariances():
    flown = order("AB|BA", fitted_anew=True, each=3, swap=0.5)
    for scope in ("run", "installation", "day", "campaign", "straight drift", "wandering"):
        matrix = covariance(UncertaintyComponent("x", scope, np.ones(12)), flown)
        assert np.allclose(matrix, matrix.T)
        assert np.linalg.eigvalsh(matrix).min() > -1e-12


def test_an_unknown_scope_is_refused():
    with pytest.raises(ValueError, match="unknown scope 'week'"):
        covariance(UncertaintyComponent("x", "week", np.ones(8)), FLOWN)
