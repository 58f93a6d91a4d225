"""METAR and SPECI: decoding against printed examples and an independent decoder; interpolation against simulation."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest

from samesky.instruments import weather_between, weather_report
from samesky.instruments.weather_between import Wander, error_sources, weather_at
from samesky.instruments.weather_report import ReportError, decode, read_reports
from samesky.published.registry import check

KNOT = 1852 / 3600
MAY = datetime.datetime(2024, 5, 22, 12, tzinfo=datetime.UTC).timestamp()


def utc(*parts):
    return datetime.datetime(*parts, tzinfo=datetime.UTC).timestamp()


# Examples of ICAO Annex 3, appendix 3 (A3-1, A3-2; station YUDO is the annex's own) and of table A3-2: from memory.
ANNEX_METAR = (
    "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 "
    "BECMG TL1700 0800 FG BECMG AT1800 9999 NSW"
)
ANNEX_SPECI = "SPECI YUDO 151115Z 05025G37KT 3000 1200NE +TSRA BKN005CB 25/22 Q1008 NOSIG="


def test_the_annex_example_of_a_metar():
    report = decode(ANNEX_METAR, MAY)
    assert (report.station, report.kind, report.time) == ("YUDO", "METAR", utc(2024, 5, 22, 16, 30))
    assert math.degrees(report.wind_from) == pytest.approx(240)
    assert report.wind_speed == 4.0
    assert math.isnan(report.gust)
    assert report.temperature == pytest.approx(17 + 273.15)
    assert report.dew_point == pytest.approx(16 + 273.15)
    # told rounded down: half a hectopascal is added
    assert report.qnh == pytest.approx(101850)
    assert report.qnh_uncertainty == pytest.approx(100 / math.sqrt(12))


def test_the_annex_example_of_a_speci():
    report = decode(ANNEX_SPECI, MAY)
    assert report.kind == "SPECI"
    assert report.time == utc(2024, 5, 15, 11, 15)
    assert report.wind_speed == pytest.approx(25 * KNOT)
    assert report.gust == pytest.approx(37 * KNOT)
    assert report.temperature - report.dew_point == pytest.approx(3)


@pytest.mark.parametrize(
    ("group", "direction", "speed", "gust"),
    [
        ("24004MPS", 240, 4.0, None),
        ("24008KT", 240, 8 * KNOT, None),
        ("19006MPS", 190, 6.0, None),
        ("12006G18KT", 120, 6 * KNOT, 18 * KNOT),
        ("24008G14MPS", 240, 8.0, 14.0),
        ("140P49MPS", 140, 49.0, None),
        ("140P99KT", 140, 99 * KNOT, None),
        ("09036KMH", 90, 10.0, None),
        ("36010KT", 0, 10 * KNOT, None),
        ("VRB02KT", None, 2 * KNOT, None),
        ("00000KT", None, 0.0, None),
        ("///05KT", None, 5 * KNOT, None),
    ],
)
def test_wind_groups(group, direction, speed, gust):
    report = decode(f"METAR XXXX 221630Z {group} 9999 17/10 Q1018", MAY)
    assert report.wind_speed == pytest.approx(speed)
    assert (
        math.isnan(report.wind_from)
        if direction is None
        else math.degrees(report.wind_from) == pytest.approx(direction)
    )
    assert math.isnan(report.gust) if gust is None else report.gust == pytest.approx(gust)


@pytest.mark.parametrize(
    ("group", "temperature", "dew_point"),
    [
        ("17/10", 17, 10),
        ("02/M08", 2, -8),
        ("M01/M10", -1, -10),
        ("M00/M01", 0, -1),
        ("12/", 12, None),
        ("///10", None, 10),
    ],
)
def test_temperature_groups(group, temperature, dew_point):
    report = decode(f"METAR XXXX 221630Z 24008KT 9999 {group} Q1018", MAY)
    for told, expected in ((report.temperature, temperature), (report.dew_point, dew_point)):
        assert math.isnan(told) if expected is None else told == pytest.approx(expected + 273.15)


def test_remarks_in_tenths_and_inches():
    # T00261015 is 2.6 and -1.5 degrees (Federal Meteorological Handbook No. 1, chapter 12: from memory)
    report = decode("METAR XXXX 221653Z 24008KT 10SM FEW050 03/M02 A2992 RMK AO2 SLP135 T00261015", MAY)
    assert report.temperature == pytest.approx(2.6 + 273.15)
    assert report.dew_point == pytest.approx(-1.5 + 273.15)
    assert report.temperature_uncertainty == pytest.approx(0.0289, abs=1e-4)
    # 29.92 inches of mercury are the standard atmosphere, 1013.25 hPa (ICAO Doc 7488)
    assert report.qnh == pytest.approx(101325, abs=17)
    # T10071013 is -0.7 and -1.3, T02390117 is 23.9 and 11.7 degrees: the first digit of each is its sign
    warm = decode("METAR XXXX 221653Z 24008KT 10SM 24/12 A2992 RMK AO2 T02390117", MAY)
    assert (warm.temperature, warm.dew_point) == pytest.approx((23.9 + 273.15, 11.7 + 273.15))
    frost = decode("METAR XXXX 221653Z 24008KT 10SM M01/M01 A2992 RMK AO2 T10071013", MAY)
    assert (frost.temperature, frost.dew_point) == pytest.approx((-0.7 + 273.15, -1.3 + 273.15))


@pytest.mark.parametrize(
    "text",
    [
        ANNEX_METAR,
        "METAR XXXX 221620Z AUTO 02010KT 350V070 9999 NCD 21/09 Q1009",
        "SPECI XXXX 221635Z 31015G27KT 280V350 3000 TSRA BKN025CB M02/M05 Q0987",
        "METAR XXXX 200000Z 00000KT CAVOK 02/M08 A3006",
        "METAR COR XXXX 221650Z VRB03KT CAVOK 17/12 Q1022",
    ],
)
def test_agrees_with_an_independent_decoder(text):
    # reference: the decoder of the package "metar"
    Metar = pytest.importorskip("metar.Metar").Metar
    other = Metar(text, month=5, year=2024, strict=False)
    own = decode(text, MAY)
    assert own.station == other.station_id
    assert own.time == other.time.replace(tzinfo=datetime.UTC).timestamp()
    assert own.wind_speed == pytest.approx(other.wind_speed.value("MPS"), abs=0.01)
    if other.wind_gust:
        assert own.gust == pytest.approx(other.wind_gust.value("MPS"), abs=0.01)
    if other.wind_dir and own.wind_speed:
        assert math.degrees(own.wind_from) % 360 == pytest.approx(other.wind_dir.value() % 360)
    if other.wind_dir_from:
        told = (other.wind_dir_from.value(), other.wind_dir_to.value())
        assert np.degrees(own.sector) == pytest.approx(told)
    assert own.temperature == pytest.approx(other.temp.value("K"))
    assert own.dew_point == pytest.approx(other.dewpt.value("K"))
    added = 50 if " Q" in text else 0
    assert own.qnh - added == pytest.approx(100 * other.press.value("HPA"), rel=1e-4)


def test_a_pasted_page_of_reports():
    text = """
    METAR XXXX 221620Z 24008KT 9999
        SCT030 17/12 Q1018=
    SPECI XXXX 221635Z 27015G27KT 17/12 Q1018= METAR XXXX 221650Z NIL=
    metar cor xxxx 221620z 25008kt 9999 17/12 q1018
    XXXX 221720Z 26009KT CAVOK 18/12 Q1018
    TAF XXXX 221100Z 2212/2312 24010KT 9999 BECMG 2216/2218 30020KT
    """
    reports = read_reports(text, MAY)
    assert [report.time for report in reports] == [utc(2024, 5, 22, *clock) for clock in ((16, 20), (16, 35), (17, 20))]
    # the corrected report took the place of the first
    assert math.degrees(reports[0].wind_from) == pytest.approx(250)
    assert reports[1].kind == "SPECI"


def test_the_month_is_the_one_nearest_to_the_flying():
    first_of_june = utc(2024, 6, 1, 8)
    assert decode("METAR XXXX 312350Z 24008KT 17/12 Q1018", first_of_june).time == utc(2024, 5, 31, 23, 50)
    new_year = utc(2025, 1, 1, 1)
    assert decode("METAR XXXX 312350Z 24008KT 17/12 Q1018", new_year).time == utc(2024, 12, 31, 23, 50)


def test_a_month_without_that_day_is_passed_over():
    # February 2024 has no 31st; March, the month of the flying, has.
    last_of_march = utc(2024, 3, 31, 12)
    assert decode("METAR XXXX 310930Z 24008KT 17/12 Q1018", last_of_march).time == utc(2024, 3, 31, 9, 30)


def test_an_end_sign_that_slipped_into_the_next_line_swallows_no_report():
    text = "METAR XXXX 221620Z 24008KT 17/12 Q1018\n= METAR XXXX 221650Z 26009KT 17/12 Q1018="
    assert [one.time for one in read_reports(text, MAY)] == [utc(2024, 5, 22, 16, 20), utc(2024, 5, 22, 16, 50)]


def test_what_stands_behind_the_end_sign_belongs_to_no_report():
    # a page's own words under a report that told no pressure; the sign "=" ends a report (ICAO Annex 3: from memory)
    text = "METAR XXXX 221620Z 24008KT 9999 17/12=\nQ1030 yesterday at this hour\n"
    (only,) = read_reports(text, MAY)
    assert math.isnan(only.qnh)
    (open_ended,) = read_reports(text.replace("=", ""), MAY)
    assert open_ended.qnh == pytest.approx(103050)


def test_the_rounding_of_each_group_is_its_uncertainty():
    # Even within one step of rounding: step/sqrt(12) (JCGM 100:2008, 4.3.7).
    whole = decode("METAR XXXX 221630Z 24008KT 9999 17/10 Q1018", MAY)
    assert whole.temperature_uncertainty == pytest.approx(1 / math.sqrt(12))
    inches = decode("METAR XXXX 221630Z 24008KT 10SM 17/10 A2992", MAY)
    assert inches.qnh_uncertainty == pytest.approx(0.01 * 3386.389 / math.sqrt(12), rel=1e-6)


@pytest.mark.parametrize(
    ("sector", "first", "last"),
    [("350V010", 350, 370), ("280V350", 280, 350), ("150V330", 150, 330), ("300V060", 300, 420)],
)
def test_a_variable_wind_with_a_sector_is_the_mean_vector_over_the_sector(sector, first, last):
    """The mean of the wind's components over directions even in the sector, by numerical averaging."""
    found = weather_report.wind_vector(decode(f"METAR XXXX 221630Z VRB04KT {sector} 9999 17/10 Q1018", MAY))
    angles = np.radians(np.linspace(first, last, 200_001))
    expected = (-4 * KNOT * np.sin(angles).mean(), -4 * KNOT * np.cos(angles).mean())
    assert found == pytest.approx(expected, abs=1e-4)


def test_a_calm_and_a_variable_wind_without_a_sector_blow_from_nowhere():
    for group in ("00000KT", "VRB02KT"):
        assert weather_report.wind_vector(decode(f"METAR XXXX 221630Z {group} 9999 17/10 Q1018", MAY)) == (0.0, 0.0)
    assert all(math.isnan(x) for x in weather_report.wind_vector(decode("METAR XXXX 221630Z /////KT 17/10 Q1018", MAY)))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no METAR or SPECI"),
        ("fine day, wind from the left", "no METAR or SPECI"),
        ("METAR XXXX 2216Z 24008KT 17/12 Q1018", "the time is '2216Z'"),
        ("METAR XXXX 322460Z 24008KT 17/12 Q1018", "no time of day"),
        ("METAR XXXX 221630Z CAVOK 17/12 Q1018", "no wind group"),
        ("METAR XXXX 221630Z 40008KT 17/12 Q1018", "a wind from 400 degrees"),
        ("METAR XXXX 221630Z 24008KT 17/12 Q2018", "an altimeter setting of 2018"),
        ("METAR XXXX 221630Z 24008KT 17/12 Q1018\nMETAR YYYY 221630Z 24008KT 17/12 Q1018", "several stations"),
        ("METAR 221630Z 24008KT", "location indicator"),
    ],
)
def test_bad_reports_get_one_clear_message(text, message):
    with pytest.raises(ReportError, match=message):
        read_reports(text, MAY)


def report(minutes, wind="24010KT", rest="17/12 Q1018", kind="METAR"):
    hour, minute = divmod(minutes, 60)
    return f"{kind} XXXX 22{hour:02d}{minute:02d}Z {wind} 9999 {rest}"


def at(minutes):
    return utc(2024, 5, 22) + 60.0 * np.asarray(minutes, dtype=float)


def test_runway_components_of_a_report_meet_the_printed_chart():
    # rows T1-251, T1-252: runway 17, wind 140 degrees at 25 kt: 22 kt from ahead, 13 kt across (from the left)
    weather = weather_at(read_reports(report(600, "14025KT"), MAY), at([600]))
    runway = weather.on_runway(math.radians(170))
    assert check("T1-251", runway.headwind[0] / KNOT).agrees
    assert check("T1-252", -runway.crosswind[0] / KNOT).agrees


def test_wind_is_interpolated_as_a_vector():
    reports = read_reports(report(600, "35010KT") + "\n" + report(630, "01010KT"), MAY)
    weather = weather_at(reports, at([600, 615, 630]))
    middle = weather.on_runway(0.0)
    np.testing.assert_allclose(middle.headwind / KNOT, 10 * np.cos(np.radians(10)), rtol=1e-9)
    np.testing.assert_allclose(
        middle.crosswind / KNOT, [-10 * np.sin(np.radians(10)), 0, 10 * np.sin(np.radians(10))], atol=1e-9
    )


def test_uncertainty_grows_between_reports_and_beyond():
    reports = read_reports(report(600) + "\n" + report(660), MAY)
    weather = weather_at(reports, at([600, 615, 630, 645, 660, 720, 900]))
    spread = weather.temperature_uncertainty
    assert spread[0] == pytest.approx(1 / math.sqrt(12))
    # the tied walk is widest in the middle: q T/4
    assert spread[2] == pytest.approx(math.sqrt(1 / 12 + 1.0**2 * 0.25))
    assert spread[5] == pytest.approx(math.sqrt(1 / 12 + 1.0**2 * 1.0))
    assert spread[1] == pytest.approx(spread[3])
    assert (np.diff(weather.wind_uncertainty[4:]) > 0).all()
    assert any("1 runs are more than 90 min" in note for note in weather.notes)


def test_growth_between_reports_against_a_simulated_walk():
    rng, n = np.random.default_rng(9), 6000
    walk = np.cumsum(rng.normal(0, 1.0 * math.sqrt(1 / 60), (n, 91)), axis=1)  # one a root hour, minute by minute
    run = 20
    errors = np.interp(run, [0, 60], [0, 1]) * (walk[:, 60] - walk[:, 0]) + walk[:, 0] - walk[:, run]
    _, variance = weather_between._between(at([600, 660]), np.zeros(2), at([600 + run]), 1.0)
    assert np.sqrt(variance[0]) == pytest.approx(errors.std(), rel=0.04)
    _, variance = weather_between._between(at([600, 660]), np.zeros(2), at([690]), 1.0)
    assert np.sqrt(variance[0]) == pytest.approx((walk[:, 90] - walk[:, 60]).std(), rel=0.04)


def test_turbulence_within_a_run_against_a_simulated_gusty_wind():
    rng, dt, gust = np.random.default_rng(10), 0.5, 60.0
    keep = math.exp(-dt / gust)
    steps = rng.normal(size=(4000, 30)) * math.sqrt(1 - keep**2)
    steps[:, 0] = rng.normal(size=4000)
    for k in range(1, 30):
        steps[:, k] += keep * steps[:, k - 1]
    simulated = weather_between.TURBULENCE * 10 * KNOT * steps.mean(axis=1).std()
    weather = weather_at(read_reports(report(600), MAY), at([600]), run_duration=15.0, gust_duration=gust)
    assert weather.turbulence[0] == pytest.approx(simulated, rel=0.04)


def test_rounding_and_variable_winds_against_simulation():
    rng, n = np.random.default_rng(11), 200_000
    speed = 10 * KNOT + KNOT * rng.uniform(-0.5, 0.5, n)
    angle = np.radians(240 + rng.uniform(-5, 5, n))
    told = weather_report.decode(report(600, "24010KT"), MAY)
    spread = math.sqrt((np.var(speed * np.sin(angle)) + np.var(speed * np.cos(angle))) / 2)
    own = weather_between._told_uncertainty(told)
    # stated per axis, as large as the larger of the two
    assert spread <= own <= 1.45 * spread
    told = weather_report.decode(report(600, "VRB02KT"), MAY)
    speed, angle = 2 * KNOT + KNOT * rng.uniform(-0.5, 0.5, n), rng.uniform(0, 2 * np.pi, n)
    assert weather_between._told_uncertainty(told) == pytest.approx((speed * np.sin(angle)).std(), rel=0.06)
    weather = weather_at([told], at([600]))
    assert weather.east[0] == weather.north[0] == 0
    assert any("VRB" in note for note in weather.notes)


@pytest.mark.parametrize(("low", "high"), [(240, 300), (330, 30), (200, 20), (350, 170)])
def test_a_variable_wind_with_a_sector_against_simulation(low, high):
    """Mean vector and spread of winds drawn evenly over the sector, clockwise from the first to the second."""
    told = weather_report.decode(report(600, f"VRB12KT {low:03d}V{high:03d}"), MAY)
    rng, n = np.random.default_rng(12), 200_000
    speed = 12 * KNOT + KNOT * rng.uniform(-0.5, 0.5, n)
    angle = np.radians(low + rng.uniform(0, (high - low) % 360, n))
    east, north = -speed * np.sin(angle), -speed * np.cos(angle)
    assert weather_report.wind_vector(told) == pytest.approx((east.mean(), north.mean()), abs=0.02)
    spread = math.sqrt((np.var(east) + np.var(north)) / 2)
    assert weather_between._told_uncertainty(told) == pytest.approx(spread, rel=0.05)
    weather = weather_at([told], at([600]))
    assert (weather.east[0], weather.north[0]) == pytest.approx((east.mean(), north.mean()), abs=0.02)
    notes = " ".join(weather.notes)
    assert "sector" in notes
    assert "as large as itself" not in notes


def test_a_sector_of_no_width_is_a_direction():
    told = weather_report.decode(report(600, "VRB12KT 240V240"), MAY)
    assert weather_report.wind_vector(told) == pytest.approx(
        weather_report.wind_vector(weather_report.decode(report(600, "24012KT"), MAY))
    )
    assert weather_between._told_uncertainty(told) == pytest.approx(KNOT / math.sqrt(12))


def test_missing_groups_stay_missing():
    reports = read_reports(report(600, rest="") + "\n" + report(630, "/////KT", "17/12 Q1018"), MAY)
    weather = weather_at(reports, at([615]))
    assert weather.temperature[0] == pytest.approx(17 + 273.15)
    with pytest.raises(ReportError, match="none of the reports tells a wind"):
        weather_at(reports[1:], at([615]))


def test_gusts_of_the_neighbouring_reports():
    reports = read_reports(report(600, "24010G22KT") + "\n" + report(630, "24010KT") + "\n" + report(660), MAY)
    gust = weather_at(reports, at([610, 640])).gust
    assert gust[0] == pytest.approx(22 * KNOT)
    assert math.isnan(gust[1])


def test_error_sources_and_their_scopes():
    reports = read_reports(report(600) + "\n" + report(660), MAY)
    weather = weather_at(reports, at([605, 630, 655]), wander=Wander(wind=2.0))
    sources = {source.name: source for source in error_sources(weather, 1.0)}
    assert sources["weather report, gusts within a run"].scope == "run"
    assert sources["weather report, mean wind"].scope == "installation"
    assert sources["weather report, mean wind"].standard_uncertainty == pytest.approx(
        np.sqrt(np.mean(weather.wind_uncertainty**2))
    )
    assert {source.target for source in sources.values()} == {"headwind", "oat", "pressure"}


def test_wind_at_wing_height():
    # logarithmic law; at 2 m over grass (0.03 m) 0.72 of the wind at 10 m: ln(2/0.03)/ln(10/0.03)
    assert weather_report.wind_at_height(10.0, 2.0) == pytest.approx(10 * 4.1997 / 5.8091, rel=1e-4)
    assert weather_report.wind_at_height(10.0, 10.0) == 10.0
    with pytest.raises(ValueError, match="above the roughness"):
        weather_report.wind_at_height(10.0, 0.02)
