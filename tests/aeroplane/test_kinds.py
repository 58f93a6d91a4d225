"""What a campaign's own numbers say of the engine: by hand, by drawing, and by what no engine can do."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.aeroplane import kinds
from samesky.aeroplane.kinds import ENGINES, PROPELLERS, Known, engine_factor


def climber(**more) -> Known:
    """60 kW at 45 rev/s, 520 kg, 4 m/s of climb; the climb's engine speed was not read."""
    return Known(**{"power": 60_000.0, "rated_speed": 45.0, "climb_weight": 520.0, "climb_rate": 4.0, **more})


def test_excess_by_hand():
    """Power that reaches the air over weight times rate, at sea level and in thinner, warmer air."""
    # 60 kW x 0.90 x 0.72 = 38,880 W; 520 kg x 9.80665 m/s2 x 4 m/s = 20,398 W
    assert climber().excess()[0] == pytest.approx(1.906, abs=5e-4)
    # Gagg and Ferrar's law of density and the law of the root of temperature agree in pressure: 1.14; 95 kPa are
    # 0.9376 of sea level, and 0.9376 to that power is 0.9292; 298.15 K are 1.0347, to the power -0.82 0.9724.
    thin = climber(climb_pressure=95_000.0, climb_temperature=298.15)
    assert thin.excess()[0] == pytest.approx(1.906 * 0.9292 * 0.9724, abs=1e-3)
    # A climb of 0.8 m/s (160 ft/min) with a fifth of the power is a climb still; none and a descent are not.
    assert climber(climb_rate=0.8, power=12_000.0).excess()[0] == pytest.approx(1.906, abs=5e-4)
    for rate in (0.0, -1.0):
        assert climber(climb_rate=rate).excess()[:2] == kinds.EXCESS


def test_doubt_of_the_excess_against_drawing():
    """Efficiency and share of the power are drawn, and their product's scatter is the doubt."""
    rng = np.random.default_rng(8)
    (efficiency, e), (share, s) = kinds.CLIMB_EFFICIENCY, kinds.CLIMB_SHARE
    drawn = rng.normal(efficiency, e, 200_000) * rng.normal(share, s, 200_000) / (efficiency * share)
    found, doubt, _ = climber().excess()
    assert doubt / found == pytest.approx(drawn.std(), rel=0.02)
    # With the engine speed read only the efficiency is left.
    found, doubt, _ = climber(climb_speed=45.0).excess()
    assert doubt / found == pytest.approx(e / efficiency, rel=1e-9)


def test_an_engine_speed_far_over_the_rated_one_is_no_power():
    """An engine 30 % over its speed does not give 30 % more: no more than 5 % are counted."""
    assert climber(climb_speed=1.3 * 45.0).excess()[0] == pytest.approx(1.05 * climber(climb_speed=45.0).excess()[0])


def test_a_motor_that_holds_its_speed_gives_one_power_in_every_air():
    law = Known("electric", "constant-speed").law()
    air = np.array([101_325.0, 70_000.0, 85_000.0]), np.array([288.15, 268.0, 308.0])
    assert engine_factor(law, *air) == pytest.approx(np.ones(3))


@pytest.mark.parametrize("propeller", PROPELLERS)
@pytest.mark.parametrize("engine", ENGINES)
def test_no_engine_gains_from_thinner_or_from_warmer_air(engine, propeller):
    law = Known(engine, propeller).law()
    standard, thin, warm = (
        float(engine_factor(law, *air)) for air in ((101_325.0, 288.15), (80_000.0, 288.15), (101_325.0, 308.15))
    )
    assert standard == 1.0
    assert thin <= 1.0
    assert warm <= 1.0
