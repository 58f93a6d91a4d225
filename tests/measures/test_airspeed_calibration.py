"""Calibrated minus indicated airspeed of one run: printed four-leg points, printed conversions, each correction."""

from __future__ import annotations

import re

import numpy as np
import pytest

from samesky.air import airspeed, altimetry, atmosphere
from samesky.measures.airspeed_calibration import CALIBRATION, static_pressure
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.published.registry import check, row

KNOT, FOOT = 1852 / 3600, 0.3048
#: The printed flight data: indicated airspeed, altitude and four legs each ("point 1: IAS 55 kt, 7 500 ft: …").
POINTS = ("T4-040", "T4-048", "T4-052", "T4-060", "T4-064")


def point(row_id: str) -> dict:
    """One printed point as prepared columns, in standard air at its altitude."""
    text = row(row_id).inputs
    indicated, altitude = re.search(r"IAS (\d+) kt, ([\d ]+) ft", text).groups()
    legs = re.findall(r"([\d.]+) kt/(\d+)", text)
    height = float(altitude.replace(" ", "")) * FOOT
    runs = {
        "airspeed": np.array([float(indicated) * KNOT]),
        "altitude": np.array([height]),
        "oat": np.atleast_1d(atmosphere.temperature(height)),
    }
    for number, (speed, track) in enumerate(legs, start=1):
        runs |= {f"speed {number}": np.array([float(speed) * KNOT]), f"track {number}": np.radians([float(track)])}
    return runs


@pytest.mark.parametrize("row_id", POINTS)
def test_the_printed_points_give_their_true_airspeed(row_id):
    runs = point(row_id)
    flown = reduce_runs(CALIBRATION, runs, {})[0]
    assert check(row_id, float(flown.value[0] + runs["airspeed"][0]) / KNOT).agrees


def test_calibrated_airspeed_against_printed_conversions():
    # T3-047: CAS 60 kt is TAS 64.62 kt at 5 000 ft in standard air: legs at that airspeed in a wind give it back
    height, tas = 5000 * FOOT, row("T3-047").value * KNOT
    wind, tracks = np.array([4.0, -2.5]), np.radians([10.0, 130.0, 250.0])
    along = np.stack([np.sin(tracks), np.cos(tracks)], axis=-1) @ wind
    ground = along + np.sqrt(along**2 + tas**2 - wind @ wind)
    runs = {"airspeed": np.array([58.0 * KNOT]), "altitude": np.array([height])}
    runs["oat"] = np.atleast_1d(atmosphere.temperature(height))
    for number, (speed, track) in enumerate(zip(ground, tracks, strict=True), start=1):
        runs |= {f"speed {number}": np.array([speed]), f"track {number}": np.array([track])}
    error = reduce_runs(CALIBRATION, runs, {})[-1].value[0] / KNOT
    assert error == pytest.approx(60.0 - 58.0, abs=0.006)


def test_an_altimeter_on_the_local_setting_is_as_good_as_a_pressure_altitude():
    qnh, read = np.array([100_300.0]), np.array([900.0])
    with_setting = static_pressure({"altitude": read, "qnh": qnh})
    assert with_setting == pytest.approx(altimetry.static_pressure(qnh, read))
    assert static_pressure({"pressure altitude": read, "altitude": read + 50}) == pytest.approx(
        atmosphere.pressure(read)
    )
    assert static_pressure({"oat": read}) is None


def test_moist_air_is_thinner_so_that_the_same_true_airspeed_is_less_calibrated():
    runs = point("T4-052") | {"oat": np.array([303.15])}
    dry = reduce_runs(CALIBRATION, runs, {})[-1].value
    moist = reduce_runs(CALIBRATION, {**runs, "dew point": np.array([301.15])}, {})[-1].value
    # 38 hPa of vapour at 28 degC (psychrometric tables, from memory) in 768 hPa: density -0.378 x 38/768, airspeed half
    cas = dry + runs["airspeed"]
    assert (moist - dry) / cas == pytest.approx(-0.5 * 0.378 * 37.8 / 768, rel=0.05)


def test_legs_that_cannot_answer_give_no_number():
    runs = point("T4-052")
    close = {name: (np.radians([10.0 + 5 * k]) if name == f"track {k}" else values) for k in range(1, 5)
             for name, values in runs.items() if name.startswith(f"track {k}")}  # fmt: skip
    assert np.isnan(reduce_runs(CALIBRATION, {**runs, **close}, {})[-1].value[0])


def test_errors_of_the_legs_against_simulation():
    """The effects of the sources by perturbation against the spread of 20 000 simulated readings of one point."""
    rng, n, runs = np.random.default_rng(8), 20_000, point("T4-052")
    effects = sensitivities(CALIBRATION, runs, {}, [])
    stated = np.sqrt(sum(effect[0] ** 2 for _, effect in effects))
    drawn = {name: np.repeat(values, n) for name, values in runs.items()}
    for source in CALIBRATION.sources:
        if source.target in drawn:
            drawn[source.target] = drawn[source.target] + source.standard_uncertainty * rng.normal(size=n)
    assert reduce_runs(CALIBRATION, drawn, {})[-1].value.std() == pytest.approx(stated, rel=0.03)
    # four even legs: about half of one leg's error, as true airspeed, and less again as calibrated
    assert stated == pytest.approx(0.7 * KNOT / 2 * float(airspeed.tas_to_cas(46.0, 76_000.0, 273.0)) / 46.0, rel=0.05)
