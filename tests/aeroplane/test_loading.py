"""Weight and balance against the worked examples of the FAA handbook and test questions (registry, topic 7)."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.aeroplane import loading
from samesky.aeroplane.loading import Loading
from samesky.published.registry import check

LB, INCH = 0.45359237, 0.0254
#: The handbook's computational example [lb, in]: empty, front seats, rear seats, 75 gal of fuel at 6 lb, baggage.
HANDBOOK = Loading(
    empty_mass=2100 * LB,
    empty_arm=78.3 * INCH,
    stations={
        "front": (340 * LB, 85 * INCH),
        "rear": (350 * LB, 121 * INCH),
        "baggage": (80 * LB, 150 * INCH),
    },
    fuel_arm=75 * INCH,
)
FUEL = loading.fuel_mass(75 * 3.785411784e-3)


def agrees(row_id, computed):
    found = check(row_id, computed)
    assert found.agrees, found


def test_loaded_weight_and_balance():
    mass, cg = HANDBOOK.mass_at(FUEL), HANDBOOK.cg_at(FUEL)
    agrees("T7-005", mass / LB)
    agrees("T7-006", cg / INCH)
    agrees("T7-007", mass * cg / LB / INCH)


def test_aviation_gasoline_weighs_six_pounds_a_gallon():
    agrees("T7-008", loading.AVGAS_DENSITY * 3.785411784e-3 / LB)


def test_shifting_weight():
    old_cg = 616_000 / 8_000
    moved = loading.cg_shift(8_000, 100, 30, 150)  # any 12 000 in lb of moment
    agrees("T7-002", 8_000 * (old_cg + moved))
    agrees("T7-003", old_cg + moved)
    agrees("T7-004", loading.mass_to_shift(7_800, 81.5 - 80.5, 150 - 30))
    # half of the shift needs half of the weight: 65 lb over the same 120 in bring 7,800 lb back by one inch
    assert loading.mass_to_shift(7_800, 0.5, 150 - 30) == pytest.approx(65 / 2)
    assert loading.cg_shift(2_450, 100, 0, 50) == pytest.approx(2.04, abs=0.005)  # a ground-school article's example


@pytest.mark.parametrize(("seat", "rows"), [(35, ("T7-010", "T7-011", "T7-012")), (25, (None, None, "T7-013"))])
def test_equipment_change(seat, rows):
    mass, cg = loading.equipment_change(2_100, 32.5, [(36, 73)], [(17, 77), (seat, 74.5), (35, 95)])
    for row_id, computed in zip(rows, (mass, mass * cg, cg), strict=True):
        if row_id:
            agrees(row_id, computed)


def test_propeller_change():
    removed = loading.add_mass(1_500, 30.0, -30, -40.0)
    _, cg = loading.add_mass(*removed, 20, -40.0)
    agrees("T7-020", cg)
    assert 30.0 + loading.part_change(1_500, 30.0, 30, 20, -40.0) == pytest.approx(cg, abs=1e-12)
    assert cg > 30.0, "a lighter propeller at the nose moves the centre of gravity aft"


def test_part_in_the_loading_moves_weight_and_balance():
    heavy = np.array([0.0, 5.0])
    mass, cg = HANDBOOK.mass_at(FUEL, heavy, -1.0), HANDBOOK.cg_at(FUEL, heavy, -1.0)
    assert mass[1] - mass[0] == pytest.approx(5.0)
    assert cg[1] - cg[0] == pytest.approx(loading.part_change(mass[0], cg[0], 0.0, 5.0, -1.0), rel=1e-9)
    assert cg[1] < cg[0], "weight ahead of the centre moves it forward"


def test_unknown_arm_gives_unknown_balance_but_known_mass():
    blind = Loading(empty_mass=300.0, empty_arm=None)
    assert blind.mass_at(30.0) == 330.0
    assert np.isnan(blind.cg_at(30.0))
    assert np.isnan(HANDBOOK.cg_at(FUEL, 5.0, None))
    assert np.isfinite(HANDBOOK.cg_at(FUEL, 0.0, None)), "no mass at an unknown arm does no harm"
    # Nor does an empty seat whose arm nobody measured; of several loads only the one with weight there is unknown.
    empty_seat = Loading(300.0, 2.0, {"rear": (0.0, None)})
    assert empty_seat.cg_at(0.0) == pytest.approx(2.0)
    np.testing.assert_allclose(empty_seat.cg_at([0.0, 30.0]), [2.0, np.nan])


def test_ballast_brings_mass_and_balance_together():
    mass, arm = loading.ballast_to_match(540.0, 1.02, 545.0, 1.00)
    new_mass, new_cg = loading.add_mass(540.0, 1.02, mass, arm)
    assert (new_mass, new_cg) == (pytest.approx(545.0), pytest.approx(1.00))
    assert np.isnan(loading.ballast_to_match(540.0, 1.02, 540.0, 1.00)[1])


def test_centre_of_gravity_of_a_list():
    assert loading.centre_of_gravity([2, 1], [0.0, 3.0]) == pytest.approx(1.0)


def test_fuel_burn():
    burnt = 540.0 - loading.mass_after(540.0, 18e-3 / 3600, 0.5)
    assert burnt == pytest.approx(9e-3 * loading.AVGAS_DENSITY)
