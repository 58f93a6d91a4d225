"""The propeller's curves against the open data whose shape they take, and against momentum theory."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.published import registry
from samesky.simulator.aeroplane.propeller import (
    POWER_SHAPE,
    THRUST_SHAPE,
    Propeller,
    cubic,
    ideal_efficiency,
)


@pytest.fixture(scope="module")
def model():
    """Wind-tunnel rows of the two-blade 9 x 6.75 in model at about 5,000 rpm, with the static row nearest to it."""
    data = registry.dataset("model1_9x6.75_two_blade")
    tunnel = data[data["kind"] == "wind-tunnel"]
    static = data[(data["kind"] == "static") & (data["rpm"] == 4930)]
    return np.array([*static[["J", "CT", "CP"]].to_numpy(), *tunnel[["J", "CT", "CP"]].to_numpy()]).T


@pytest.mark.parametrize(("shape", "row", "identity"), [(THRUST_SHAPE, 1, "D19"), (POWER_SHAPE, 2, "D20")])
def test_shape_is_the_least_squares_cubic_of_the_open_data(model, shape, row, identity):
    # Deters, Ananda and Selig, AIAA 2014-2151; J0 = 0.8925 and rms as the registry rows say. Both curves are divided by
    # their static value first, so that only the shape is taken.
    x, y = model[0] / 0.8925, model[row] / model[row][0]
    powers = np.vander(x, 4, increasing=True)[:, 1:]
    np.testing.assert_allclose(np.linalg.lstsq(powers, y - 1, rcond=None)[0], shape[1:], atol=3e-4)
    rms = np.sqrt(np.mean((y - cubic(shape, x)) ** 2))
    assert rms == pytest.approx(float(str(registry.row(identity).value).split()[-1]), abs=5e-5)


def test_efficiency_stays_below_the_ideal():
    # Row M15: 2/(1 + sqrt(1 + 8 C_T/(pi J^2))) bounds every propeller.
    propeller = Propeller()
    advance = np.linspace(0.05, 1.0, 60)
    thrust = propeller.thrust_coefficient(advance)
    bound = 2 / (1 + np.sqrt(1 + 8 * thrust / (np.pi * advance**2)))
    assert np.all(propeller.efficiency(advance) < bound)
    peak = advance[np.argmax(propeller.efficiency(advance))]
    assert peak == pytest.approx(0.755, abs=0.02)
    assert propeller.efficiency(advance).max() == pytest.approx(0.763, abs=0.001)


def test_ideal_efficiency_of_a_light_aeroplane_in_cruise():
    assert registry.check("M17", ideal_efficiency(900.0, 50.0, 1.75, 1.225)).agrees


def test_ideal_efficiency_is_the_same_from_coefficients():
    # Row M15, with T = C_T rho n^2 D^4 and V = J n D.
    advance, thrust, n, diameter, rho = 0.6, 0.08, 40.0, 1.8, 1.1
    ours = ideal_efficiency(thrust * rho * n**2 * diameter**4, advance * n * diameter, diameter, rho)
    assert ours == pytest.approx(2 / (1 + np.sqrt(1 + 8 * thrust / (np.pi * advance**2))), rel=1e-12)


def test_pitch_moves_thrust_and_power_as_two_open_models_do():
    # Brandt and Selig, AIAA 2011-1255: static C_T and C_P of P/D 0.47 over 0.4273 are 1.032 and 1.077 (row D18).
    base, coarser = Propeller(), Propeller().repitched(0.47 / (4.7 / 11))
    assert coarser.thrust_coefficient(0.0) / base.thrust_coefficient(0.0) == pytest.approx(1.032, abs=0.005)
    assert coarser.power_coefficient(0.0) / base.power_coefficient(0.0) == pytest.approx(1.077, abs=0.005)
    assert coarser.zero_thrust_advance_ratio > base.zero_thrust_advance_ratio


def test_factors_change_what_they_say():
    base = Propeller()
    better = base.with_thrust(1.03)
    assert better.thrust_coefficient(0.4) / base.thrust_coefficient(0.4) == pytest.approx(1.03)
    assert better.power_coefficient(0.4) == base.power_coefficient(0.4)
    assert base.resized(1.02).diameter == pytest.approx(1.785)
