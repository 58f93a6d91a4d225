"""True airspeed and wind from ground speeds, against Gray's and Horton's worked numbers and a published flight.

Every row of the topic is checked, or listed below with the reason why not. The eight-point flight (T4-040 to T4-075)
is met to its last printed digit, sample standard deviations included.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from printed_rows import account, agrees, numbers

from samesky.air import legs, wind
from samesky.published import registry

TOPIC = "TAS from GPS"
RNG = np.random.default_rng(2026)


def flown_legs(inputs: str) -> tuple[list[float], np.ndarray]:
    """Ground speeds [kt] and tracks [rad] of a row that writes ``65.6 kt/246`` or ``76.5@000``."""
    pairs = re.findall(r"([\d.]+)(?: kt/|@)(\d+)", inputs)
    return [float(speed) for speed, _ in pairs], np.radians([float(track) for _, track in pairs])


def point(number: str) -> tuple[list[float], np.ndarray]:
    """The legs of one point of the flight, written out in the row of its mean airspeed."""
    rows = registry.rows(TOPIC)
    full = next(row for row in rows if row.inputs.startswith(f"point {number}: IAS"))
    return flown_legs(full.inputs)


def flight(printed: registry.Printed) -> float:
    sets = legs.sets_of_three(*point(re.match(r"point (\d)", printed.inputs)[1]))
    if printed.quantity.startswith("standard deviation"):
        return float(np.std(sets.tas, ddof=1))
    if "wind speed" in printed.quantity:
        return float(sets.wind_speed.mean())
    if "wind direction" in printed.quantity:
        return float(np.degrees(sets.wind_from).mean())
    return float(sets.tas.mean())


def triangle(inputs: str) -> float:
    """Ground speed of a row that writes TAS, wind and a track or a heading."""
    tas = float(re.search(r"TAS ([\d.]+)", inputs)[1])
    found = re.search(r"wind (?:from )?(\d+)(?: deg/|/| at )(\d+)", inputs)
    wind_from, speed = np.radians(float(found[1])), float(found[2])
    kind, direction = re.search(r"(track|heading) (\d+)", inputs).groups()
    if kind == "track":
        return float(wind.ground_speed_on_track(tas, np.radians(float(direction)), speed, wind_from))
    return float(wind.over_ground(tas, np.radians(float(direction)), speed, wind_from).ground_speed)


def gray() -> legs.AirFromLegs:
    return legs.airspeed_from_tracks(*flown_legs(registry.row("T4-020").inputs))


def gray_heading() -> float:
    """Heading of Gray's first leg: its track, and the drift correction for the wind found."""
    _, tracks = flown_legs(registry.row("T4-020").inputs)
    air = gray()
    return float(np.degrees(tracks[0] + wind.drift_correction(air.tas, tracks[0], air.wind_speed, air.wind_from)))


def four_tracks() -> np.ndarray:
    return np.array([triangle(registry.row(f"T4-0{n}").inputs) for n in (34, 35, 36, 37)])


CARDINAL = ("T4-007", "T4-008", "T4-009", "T4-010")
TRIANGLES = {
    printed.id: (lambda printed=printed: triangle(printed.inputs))
    for printed in registry.rows(TOPIC)
    if printed.quantity.startswith("ground speed")
}
FLIGHT = {
    printed.id: (lambda printed=printed: flight(printed))
    for printed in registry.rows(TOPIC)
    if printed.quantity.startswith(("mean TAS of", "standard deviation of", "mean wind"))
}
ONE_SET = {
    f"T4-0{n}": (lambda n=n: legs.airspeed_from_tracks(*flown_legs(registry.row(f"T4-0{n}").inputs)).tas)
    for n in (72, 73, 74, 75)
}
WORKED = {
    "T4-011": lambda: float(np.mean([triangle(registry.row(id).inputs) for id in CARDINAL])),
    "T4-019": lambda: legs.airspeed_from_tracks(*flown_legs(registry.row("T4-019").inputs)).tas,
    "T4-020": lambda: gray().tas,
    "T4-021": gray_heading,
    "T4-022": lambda: gray().wind_speed,
    "T4-023": lambda: float(np.degrees(gray().wind_from)),
    "T4-027": lambda: legs.airspeed_from_headings_120(*numbers(registry.row("T4-027").inputs)[:3])[0],
    "T4-028": lambda: legs.airspeed_from_headings_120(*numbers(registry.row("T4-027").inputs)[:3])[1],
    "T4-032": lambda: legs.airspeed_from_headings_90(*numbers(registry.row("T4-032").inputs)[:3])[0],
    "T4-033": lambda: legs.airspeed_from_headings_90(*numbers(registry.row("T4-032").inputs)[:3])[1],
    "T4-038": lambda: four_tracks()[0] * four_tracks()[2],
    "T4-039": lambda: legs.airspeed_from_tracks(four_tracks().round(1), np.radians([0, 90, 180, 270])).tas,
}
CHECKED = {**TRIANGLES, **FLIGHT, **ONE_SET, **WORKED}


def test_every_row_is_accounted_for():
    account(TOPIC, CHECKED)


@pytest.mark.parametrize("id", CHECKED)
def test_printed_row(id):
    agrees(id, CHECKED[id])


def test_the_flight_has_its_sample_standard_deviations():
    """Divisor n - 1 reproduces the sheet; divisor n does not (T4-049, T4-065)."""
    for id in ("T4-049", "T4-065"):
        sets = legs.sets_of_three(*point(registry.row(id).inputs[6]))
        assert registry.check(id, np.std(sets.tas, ddof=1)).agrees
        assert not registry.check(id, np.std(sets.tas, ddof=0)).agrees


def random_air(n: int):
    tas, speed = RNG.uniform(25, 70, n), RNG.uniform(0, 20, n)
    return tas, speed, RNG.uniform(0, 2 * np.pi, n)


@pytest.mark.parametrize("n", [3, 4, 7])
def test_tracks_give_back_the_air_they_were_flown_in(n):
    tas, speed, blows_from = random_air(500)
    tracks = RNG.uniform(0, 2 * np.pi, (500, 1)) + 2 * np.pi * np.arange(n) / n + RNG.uniform(-0.1, 0.1, (500, n))
    ground = wind.ground_speed_on_track(tas[:, None], tracks, speed[:, None], blows_from[:, None])
    air = legs.airspeed_from_tracks(ground, tracks)
    np.testing.assert_allclose(air.tas, tas, rtol=1e-9)
    np.testing.assert_allclose(air.wind_speed, speed, atol=1e-8)
    windy = speed > 0.5
    np.testing.assert_allclose(np.cos(air.wind_from - blows_from)[windy], 1, atol=1e-12)


def test_horseshoe_is_the_same_by_hand():
    tas, speed, blows_from = random_air(200)
    start = RNG.uniform(0, 2 * np.pi, 200)
    ground = [wind.ground_speed_on_track(tas, start + k * np.pi / 2, speed, blows_from) for k in range(3)]
    by_hand = legs.horseshoe(*ground)
    np.testing.assert_allclose(by_hand.tas, tas, rtol=1e-9)
    np.testing.assert_allclose(by_hand.wind_speed, speed, atol=1e-8)
    np.testing.assert_allclose(np.cos(by_hand.wind_from + start - blows_from), 1, atol=1e-9)


def test_heading_formulas_give_back_the_air_they_were_flown_in():
    tas, speed, blows_from = random_air(200)
    start = RNG.uniform(0, 2 * np.pi, 200)
    thirds = [wind.over_ground(tas, start + k * 2 * np.pi / 3, speed, blows_from).ground_speed for k in range(3)]
    quarters = [wind.over_ground(tas, start + k * np.pi / 2, speed, blows_from).ground_speed for k in range(3)]
    for found in (legs.airspeed_from_headings_120(*thirds), legs.airspeed_from_headings_90(*quarters)):
        np.testing.assert_allclose(found[0], tas, rtol=1e-7)
        np.testing.assert_allclose(found[1], speed, atol=1e-6)


def test_reciprocal_legs_and_their_bias():
    """Tracks understate and headings overstate the airspeed by about Wx^2/(2V) (wind triangle, definition)."""
    V, across = 100.0, 20.0
    blows_from = np.radians(90)
    on_track = [wind.ground_speed_on_track(V, np.radians(d), across, blows_from) for d in (0, 180)]
    on_heading = [wind.over_ground(V, np.radians(d), across, blows_from).ground_speed for d in (0, 180)]
    assert legs.airspeed_from_reciprocal_tracks(*on_track)[0] == pytest.approx(V - 2, abs=0.05)
    assert legs.airspeed_from_reciprocal_headings(*on_heading)[0] == pytest.approx(V + 2, abs=0.05)
    slanting = np.radians(60)
    head, cross = wind.components(20.0, slanting, 0.0)
    on_track = [wind.ground_speed_on_track(V, np.radians(d), 20.0, slanting) for d in (0, 180)]
    on_heading = [wind.over_ground(V, np.radians(d), 20.0, slanting).ground_speed for d in (0, 180)]
    for found in (
        legs.airspeed_from_reciprocal_tracks(*on_track, cross),
        legs.airspeed_from_reciprocal_headings(*on_heading, cross),
    ):
        assert found == pytest.approx((V, head))


def test_a_leg_not_flown_is_left_out():
    speeds, tracks = flown_legs(registry.row("T4-020").inputs)
    with_gap = legs.airspeed_from_tracks([*speeds, np.nan], [*tracks, np.nan])
    np.testing.assert_allclose(with_gap, gray(), rtol=1e-12)
    with pytest.raises(ValueError, match="three or more legs"):
        legs.airspeed_from_tracks([50.0, 51.0, np.nan], [0.0, 2.0, 4.0])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: legs.airspeed_from_tracks([50.0, 51.0], [0.0, 2.0]), "three or more legs"),
        (lambda: legs.airspeed_from_tracks([50.0, 51.0, 52.0], np.radians([0, 20, 40])), "too close together"),
        (lambda: legs.airspeed_from_tracks([50.0, 0.0, 52.0], np.radians([0, 120, 240])), "more than zero"),
        (lambda: legs.airspeed_from_tracks([50.0, 51.0, 52.0], np.radians([0, 180, 0])), "too close together"),
        (lambda: legs.airspeed_from_headings_120(100.0, 1.0, 1.0), "fit no airspeed above the wind"),
        (lambda: legs.airspeed_from_headings_90(1.0, 90.0, 100.0), "fit no airspeed above the wind"),
        (lambda: legs.airspeed_from_reciprocal_headings(10.0, 60.0, 20.0), "were not opposite headings"),
        (lambda: wind.ground_speed_on_track(10.0, 0.0, 20.0, np.radians(90)), "no heading holds this track"),
        (lambda: wind.drift_correction(10.0, 0.0, 20.0, np.radians(90)), "no heading holds this track"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()


GOOD = np.array([50.0, 52.0, 48.0])
WEST = np.radians(90)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: legs.airspeed_from_tracks([GOOD, [50.0, 0.0, 52.0]], np.radians([0, 120, 240])), "more than zero"),
        (lambda: legs.airspeed_from_tracks(GOOD, np.radians([[0, 120, 240], [0, 20, 40]])), "too close together"),
        (lambda: legs.airspeed_from_tracks([GOOD, [50.0, np.nan, 48.0]], np.radians([0, 120, 240])), "three or more"),
        (lambda: legs.horseshoe(GOOD, GOOD, [50.0, -1.0, 50.0]), "more than zero"),
        (lambda: legs.airspeed_from_headings_120([50.0, 100.0], [50.0, 1.0], [50.0, 1.0]), "fit no airspeed"),
        (lambda: legs.airspeed_from_headings_90([50.0, 1.0], [50.0, 90.0], [50.0, 100.0]), "fit no airspeed"),
        (lambda: legs.airspeed_from_reciprocal_headings([60.0, 10.0], 60.0, 20.0), "were not opposite"),
        (lambda: wind.ground_speed_on_track([50.0, 10.0], 0.0, 20.0, WEST), "no heading holds this track"),
        (lambda: wind.drift_correction([50.0, 10.0], 0.0, 20.0, WEST), "no heading holds this track"),
    ],
)
def test_one_impossible_run_among_good_ones_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


@pytest.mark.parametrize(
    ("speeds", "tracks"),
    [([50.0, 51.0, 52.0], [0.0, 2.0]), (50.0, 0.0), ([50.0, 51.0], [0.0, 2.0]), ([50.0] * 4, [0.0] * 3)],
)
def test_speeds_and_tracks_that_do_not_belong_together_are_told(speeds, tracks):
    with pytest.raises(ValueError, match="three or more legs, each with a ground speed and a track"):
        legs.airspeed_from_tracks(speeds, tracks)


def test_the_spread_of_legs_is_the_least_singular_value_over_root_n():
    """Against numpy's singular values; even legs give root one half (closed form), legs on one line nothing."""
    assert legs.spread(np.radians([10, 130, 250])) == pytest.approx(np.sqrt(0.5))
    assert legs.spread(np.radians([0, 180, 0, 180])) == pytest.approx(0.0, abs=1e-7)
    uneven = np.radians([0.0, 40.0, 95.0, 200.0, 310.0])
    rows = np.stack((np.ones(5), np.sin(uneven), np.cos(uneven)), axis=-1)
    least = np.linalg.svd(rows, compute_uv=False)[-1] / np.sqrt(5)
    assert legs.spread(uneven) == pytest.approx(least)
    assert legs.spread([*uneven, np.nan]) == pytest.approx(least)


def test_legs_within_some_sixty_degrees_are_too_close_and_beyond_are_not():
    # The comment on the least spread: three legs inside an arc of about 60 degrees fall below it.
    def even(arc):
        return legs.airspeed_from_tracks(GOOD, np.radians([0.0, arc / 2, arc]))

    with pytest.raises(ValueError, match="too close together"):
        even(55.0)
    assert np.isfinite(even(70.0).tas)


def test_sets_of_three_are_all_of_them_in_order():
    tracks = np.radians([0.0, 95.0, 180.0, 265.0])
    ground = wind.ground_speed_on_track(50.0, tracks, 6.0, 1.0) + np.array([0.3, -0.2, 0.0, 0.4])
    found = legs.sets_of_three(ground, tracks)
    for k, chosen in enumerate([(0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)]):
        one = legs.airspeed_from_tracks(ground[list(chosen)], tracks[list(chosen)])
        assert (found.tas[k], found.wind_speed[k], found.wind_from[k]) == pytest.approx(tuple(map(float, one)))
    assert found.tas.shape == (4,)


def test_reading_error_of_even_legs():
    """Independent errors u on n even legs give u/sqrt(n) (JCGM 100:2008 eq. 10), within Monte Carlo error."""
    n, u, many = 4, 0.3, 20_000
    tracks = np.radians([0, 90, 180, 270])
    ground = wind.ground_speed_on_track(50.0, tracks, 3.0, 1.0) + RNG.normal(0, u, (many, n))
    found = np.std(legs.airspeed_from_tracks(ground, tracks).tas)
    assert found == pytest.approx(u / np.sqrt(n), rel=0.02 + 4 / np.sqrt(2 * many))
