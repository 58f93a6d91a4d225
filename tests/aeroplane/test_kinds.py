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


def runner(**more) -> Known:
    """60 kW at 45 rev/s, 520 kg, 35 m/s gaining 1 m/s each second."""
    level = {"level_weight": 520.0, "level_acceleration": 1.0, "level_airspeed": 35.0}
    return Known(**{"power": 60_000.0, "rated_speed": 45.0, **level, **more})


def test_level_excess_by_hand():
    """Power that reaches the air over mass times acceleration times airspeed, at sea level and elsewhere."""
    # 60 kW x 0.90 x 0.745 = 40,230 W; 520 kg x 1 m/s2 x 35 m/s = 18,200 W.
    assert runner().level_excess()[0] == pytest.approx(2.2104, abs=5e-4)
    # The same air as in the climb's example: 0.9292 and 0.9724.
    thin = runner(level_pressure=95_000.0, level_temperature=298.15)
    assert thin.level_excess()[0] == pytest.approx(2.2104 * 0.9292 * 0.9724, abs=1e-3)
    # Engine speed read: its share of the rated one, 5 % above it at the most.
    for speed, share in ((40.0, 40 / 45), (45.0, 1.0), (46.0, 46 / 45), (60.0, 1.05)):
        assert runner(level_speed=speed).level_excess()[0] == pytest.approx(2.2104 / 0.90 * share, abs=2e-3)
    # A constant-speed propeller lets it give all, known to 5 %.
    found, doubt, _ = runner(propeller="constant-speed").level_excess()
    assert found == pytest.approx(2.2104 / 0.90, abs=1e-3)
    assert doubt / found == pytest.approx(np.hypot(0.04 / 0.745, 0.05))
    found, doubt, said = runner().level_excess()
    assert doubt / found == pytest.approx(np.hypot(0.04 / 0.745, 0.07 / 0.90))
    assert "measured acceleration" in said
    found, doubt, _ = runner(level_speed=45.0).level_excess()
    assert doubt / found == pytest.approx(0.04 / 0.745)
    assert runner(level_speed=45.0, rated_speed=None).level_excess()[0] == pytest.approx(2.2104, abs=5e-4)


@pytest.mark.parametrize("lacking", ["power", "level_weight", "level_acceleration", "level_airspeed"])
def test_without_one_of_its_numbers_the_level_excess_is_the_assumed_one(lacking):
    assert runner(**{lacking: None}).level_excess()[:2] == kinds.LEVEL_EXCESS
    for gain in (0.0, -1.0):
        assert runner(level_acceleration=gain).level_excess()[:2] == kinds.LEVEL_EXCESS


@pytest.mark.parametrize("way", ["excess", "level_excess"])
@pytest.mark.parametrize(("share", "believed"), [(0.95, False), (1.05, True)])
def test_what_is_believed_of_an_excess(way, share, believed):
    """1.2 at the least, 4.0 at the most; both ends are believed still."""
    one = {"excess": climber(), "level_excess": runner()}[way]
    assumed = {"excess": kinds.EXCESS, "level_excess": kinds.LEVEL_EXCESS}[way]
    found = getattr(one, way)()[0]
    for end, factor in ((1.2, share), (4.0, 1 / share)):
        changed = type(one)(
            **{name: getattr(one, name) for name in one.__slots__} | {"power": one.power * factor * end / found}
        )
        said = getattr(changed, way)()
        assert (said[:2] != assumed) is believed
        assert ("hard to believe" in said[2]) is not believed


@pytest.mark.parametrize("way", ["excess", "level_excess"])
def test_both_ends_of_what_is_believed_belong_to_it(way, monkeypatch):
    one = {"excess": climber(), "level_excess": runner()}[way]
    found = getattr(one, way)()[0]
    monkeypatch.setattr(kinds, "EXCESS_RANGE", (found, found))
    assert getattr(one, way)()[0] == found
    for ends in ((found + 1e-9, 9.0), (0.0, found - 1e-9)):
        monkeypatch.setattr(kinds, "EXCESS_RANGE", ends)
        assert "hard to believe" in getattr(one, way)()[2]


def test_a_two_stroke_has_no_law_but_one_that_is_stated():
    assert [Known(engine).has_law() for engine in ENGINES] == [engine != "two-stroke" for engine in ENGINES]
    assert Known("two-stroke", law_stated=True).has_law()
    assert not Known("two-stroke", law_stated=False).has_law()
    assert not Known().pull_speed_read
