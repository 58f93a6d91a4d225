"""What campaign.toml says, in SI."""

from __future__ import annotations

import math

import pytest
from sound_campaign import CLIMB, TOML

from samesky.campaign.messages.phrases import between
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.published.registry import row

# Exact by definition, NIST Special Publication 811 (2008), Appendix B.
POUND, FOOT, KNOT, GALLON = 0.45359237, 0.3048, 1852 / 3600, 3.785411784e-3
HORSEPOWER = 550 * FOOT * POUND * 9.80665


def errors(campaign):
    return [finding.sentence() for finding in campaign.findings if finding.kind == "error"]


def test_everything_lands_in_its_place(sound):
    campaign = read(sound())
    assert (campaign.title, campaign.question) == ("Finer pitch", "Which pitch for the short strip?")
    assert campaign.baseline == "A"
    assert campaign.fitted_anew is True
    assert campaign.swap_hours == pytest.approx(0.5)
    fine = campaign.configurations["B"]
    assert (fine.label, fine.mass, fine.arm, fine.diameter) == ("fine pitch", 10.3, -0.90, 1.70)
    assert campaign.configurations["A"].details == {"blades": "2"}
    assert campaign.loading.empty_mass == 330
    assert campaign.loading.stations == {"pilot": (85.0, 2.0)}
    assert campaign.loading.fuel_density == pytest.approx(720)
    assert campaign.engine.power == pytest.approx(92 * HORSEPOWER)
    assert campaign.engine.speed_limit == pytest.approx(5800 / 60)
    assert campaign.engine.gear_ratio == 2.31
    strip = campaign.runways["09"]
    assert strip.elevation == pytest.approx(300 * FOOT)
    assert strip.slope == pytest.approx(0.005)
    assert strip.heading == pytest.approx(math.pi / 2)
    assert campaign.limits["headwind"] == (None, pytest.approx(8 * KNOT))
    assert campaign.limits["lift-off airspeed"] == (pytest.approx(40 * KNOT), pytest.approx(48 * KNOT))
    assert campaign.missions == {"short_strip": {"takeoff_roll": 3.0, "timed_climb": 1.0}}


def test_what_is_asked(sound):
    asked = read(sound()).asked
    roll, climb = asked["takeoff_roll"], asked["timed_climb"]
    assert (roll.primary, climb.primary) == (True, False)
    assert (roll.smallest, roll.smallest_is_fraction, roll.smallest_text) == (pytest.approx(0.05), True, "5 %")
    assert (climb.smallest, climb.smallest_is_fraction) == (pytest.approx(20 * FOOT / 60), False)
    assert (roll.better, climb.better) == ("smaller", "larger")
    # Answers come back in the unit of the file, where the file has the result itself.
    assert (roll.unit, climb.unit) == ("ft", "ft/min")


def test_the_only_measure_is_the_primary_one(sound):
    toml = TOML.replace("primary = true\n", "").replace(TOML[TOML.index("[measure.timed") : TOML.index("[limits]")], "")
    campaign = read(sound(campaign__toml=toml.replace("timed_climb = 1\n", ""), timed_climb__csv=None))
    assert not errors(campaign)
    assert campaign.asked["takeoff_roll"].primary


def test_a_free_measure(sound):
    toml = TOML + '\n[measure.head_temperature]\nunit = "degF"\nbetter = "smaller"\n'
    toml += 'smallest_difference_that_matters = "9 degF"\n'
    text = "run,date,clock,configuration,head temperature [degC]\n1,2025-06-14,11:00,A,180\n2,2025-06-14,11:40,B,190\n"
    campaign = read(sound(campaign__toml=toml, head_temperature__csv=text))
    assert not errors(campaign)
    asked = campaign.asked["head_temperature"]
    # A temperature of a free measure is only ever subtracted: 9 degF are 5 K, and 190 degC less 180 degC are 10 K.
    assert asked.smallest == pytest.approx(5.0)
    assert asked.measure.dimension == "temperature difference"
    values = campaign.tables["head_temperature"].columns["head temperature"]
    assert values[1] - values[0] == pytest.approx(10.0)


def test_fuel_is_a_mass_whatever_it_was_read_in(sound):
    litres = read(sound()).tables["timed_climb"].columns["fuel"]
    assert litres == pytest.approx([0.72 * read_off for read_off in (57, 52, 46, 42)])
    pounds = CLIMB.replace("fuel [L]", "fuel [lb]")
    assert read(sound(timed_climb__csv=pounds)).tables["timed_climb"].columns["fuel"][0] == pytest.approx(57 * POUND)


def test_fuel_without_a_stated_weight_is_at_the_planning_value(sound):
    """FAA-H-8083-25, weight and balance chapter: fuel 75 gal at 6 lb/gal, in the total of published row T7-005."""
    assert "75 gal at 6 lb/gal" in row("T7-005").inputs
    toml = TOML.replace('weight_per_volume = "0.72 kg/L"\n', "")
    text = CLIMB.replace("fuel [L]", "fuel [US gal]").replace(",57,", ",75,")
    fuel = read(sound(campaign__toml=toml, timed_climb__csv=text)).tables["timed_climb"].columns["fuel"]
    assert fuel[0] / POUND == pytest.approx(450.0)


def test_fuel_beyond_belief_is_told_in_the_unit_of_the_file(sound):
    text = CLIMB.replace("fuel [L]", "fuel [kg]").replace(",57,", ",5700,")
    (error,) = errors(read(sound(timed_climb__csv=text)))
    assert "found '5700' in kg, expected between 0 and 1440 kg" in error


def test_the_common_sky_can_be_named(sound):
    campaign = read(
        sound(campaign__toml=TOML + '\n[reference]\noat = "15 °C"\npressure_altitude = "0 ft"\nweight = "500 kg"\n')
    )
    assert not errors(campaign)
    assert campaign.reference == {"oat": 288.15, "pressure": pytest.approx(101325.0), "weight": 500.0}


def instrument(sound, text: str):
    campaign = read(sound(campaign__toml=TOML + "\n[instrument.lasso]\n" + text))
    return [source for source in campaign.sources if source.name == "lasso"], errors(campaign)


def test_a_tolerance_is_the_half_width_of_a_rectangle(sound):
    """JCGM 100:2008, 4.3.7: u = a / sqrt(3)."""
    (source,), wrong = instrument(sound, 'target = "ground roll"\ntolerance = "3 ft"\nscope = "campaign"\n')
    assert not wrong
    assert source.standard_uncertainty == pytest.approx(3 * FOOT / math.sqrt(3))
    assert (source.target, source.scope, source.relative) == ("ground roll", "campaign", False)


def test_an_error_in_per_cent_is_relative(sound):
    (source,), wrong = instrument(sound, 'target = "result"\nstandard_uncertainty = "0.5 %"\nscope = "installation"\n')
    assert not wrong
    assert (source.standard_uncertainty, source.relative, source.scope) == (pytest.approx(0.005), True, "installation")


def test_an_error_of_a_temperature_is_a_difference(sound):
    (source,), wrong = instrument(sound, 'target = "oat"\nstandard_uncertainty = "0.9 degF"\n')
    assert not wrong
    assert source.standard_uncertainty == pytest.approx(0.5)


def test_a_drift_is_a_share_of_the_result_and_grows_with_time(sound):
    (source,), wrong = instrument(
        sound, 'target = "result"\nstandard_uncertainty = "1 %/h"\nscope = "straight drift"\n'
    )
    assert not wrong
    assert (source.standard_uncertainty, source.relative) == (pytest.approx(0.01), True)
    _, wrong = instrument(sound, 'target = "headwind"\nstandard_uncertainty = "1 %/h"\nscope = "straight drift"\n')
    assert "acts on the target 'result'" in wrong[0]


NOISE = """
[measure.cabin_noise]
unit = "dB(A)"
better = "smaller"
smallest_difference_that_matters = "2 dB(A)"
"""
NOISES = """\
run,date,clock,configuration,cabin noise [dB(A)]
1,2025-06-14,07:00,A,84.0
2,2025-06-14,07:20,A,84.4
3,2025-06-14,09:00,B,82.1
4,2025-06-14,09:20,B,81.9
"""


@pytest.mark.parametrize(
    ("size", "scope", "value"),
    [
        ("0.4 dB/h", "straight drift", 0.4),
        ("0,4 dB(A) per hour", "straight drift", 0.4),
        ("0.3 dB/h**0.5", "wandering", 0.3),
        ("0.3 dB / sqrt(h)", "wandering", 0.3),
    ],
)
def test_a_drift_may_be_stated_in_the_results_own_unit(sound, size, scope, value):
    text = f'target = "result"\nstandard_uncertainty = "{size}"\nscope = "{scope}"\nmeasures = ["cabin_noise"]\n'
    toml = TOML + NOISE + "\n[instrument.cabin]\n" + text
    campaign = read(sound(campaign__toml=toml, cabin_noise__csv=NOISES))
    assert not errors(campaign)
    (source,) = [source for source in campaign.sources if source.name == "cabin"]
    assert (source.standard_uncertainty, source.relative, source.scope) == (pytest.approx(value), False, scope)
    (noise,) = [one for one in compare(campaign) if one.measure == "cabin_noise"]
    (row,) = [row for row in noise.budget if row.source == "cabin"]
    # Between the middles of the two blocks lie two hours; a wandering level has moved by less than their root.
    hours = 2.0 if scope == "straight drift" else 2.0**0.5
    assert row.whole == pytest.approx(value * hours, rel=1e-6 if scope == "straight drift" else 0.15)
    assert row.whole <= value * hours * (1 + 1e-9)


def test_a_drift_of_a_roll_in_feet_is_one_of_the_roll(sound):
    text = 'target = "result"\nstandard_uncertainty = "4 ft/h"\nscope = "straight drift"\nmeasures = ["takeoff_roll"]\n'
    (source,), wrong = instrument(sound, text)
    assert not wrong
    assert (source.standard_uncertainty, source.relative) == (pytest.approx(4 * FOOT), False)


@pytest.mark.parametrize(
    ("size", "says"),
    [
        ("0.4 kt/h", "found '0.4 kt/h'"),
        ("-4 ft/h", "expected at least 0"),
        ("4 ft", "found '4 ft'"),
        ("4 ft/h**0.5", "found '4 ft/h**0.5'"),
        ("x ft/h", "found 'x ft/h'"),
    ],
)
def test_a_drift_in_a_wrong_unit_is_refused(sound, size, says):
    where = 'measures = ["takeoff_roll"]\n'
    text = f'target = "result"\nstandard_uncertainty = "{size}"\nscope = "straight drift"\n{where}'
    _, (wrong,) = instrument(sound, text)
    assert says in wrong
    _, (wrong,) = instrument(sound, text.replace(where, "").replace(size, "4 ft/h"))
    assert "results of several dimensions" in wrong


def test_a_coefficient_can_be_stated_better(sound):
    (source,), wrong = instrument(sound, 'target = "wind exponent"\nstandard_uncertainty = 0.05\nscope = "campaign"\n')
    assert not wrong
    assert source.standard_uncertainty == 0.05


def test_fuel_can_be_bounded_and_doubted_by_volume(sound):
    toml = TOML.replace("[limits]", '[limits]\nfuel = ["45 L", "70 L"]', 1)
    toml += '\n[instrument.dipstick]\ntarget = "fuel"\nstandard_uncertainty = "2 L"\n'
    campaign = read(sound(campaign__toml=toml))
    assert not errors(campaign)
    assert campaign.limits["fuel"] == (pytest.approx(45 * 0.72), pytest.approx(70 * 0.72))
    assert next(s for s in campaign.sources if s.name == "dipstick").standard_uncertainty == pytest.approx(2 * 0.72)
    doubts = [finding.message for finding in check(campaign) if finding.file == "takeoff_roll.csv"]
    assert doubts == ["run 9: fuel below the campaign's own limit of 45.0 L (furthest 43.0 L)."]


def test_a_sky_beyond_belief_is_refused(sound):
    (error,) = errors(read(sound(campaign__toml=TOML + '\n[reference]\noat = "5 K"\n')))
    assert "[reference] oat: found '5 K', expected between 223.15 and 328.15 K" in error


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        (0.0, 5.0 / (1852 / 3600), "kt", "between 0 and 9.71 kt"),
        (-5.0 / (1852 / 3600), None, "kt", "at least -9.71 kt"),
        (None, 6000 / FOOT, "ft", "at most 19600 ft"),
        (92000 / 3386.389, 108000 / 3386.389, "inHg", "between 27.2 and 31.8 inHg"),
        (223.15, 328.15, "K", "between 223.15 and 328.15 K"),
        (0.00123456, 0.5, "1", "between 0.00124 and 0.5"),
        (1440.0, 12345.0, "kg", "between 1440 and 12345 kg"),
    ],
)
def test_a_bound_is_round_and_what_it_promises_is_taken(low, high, unit, said):
    assert between(low, high, unit) == said
    numbers = [float(word) for word in said.split() if word.replace(".", "").lstrip("-").isdigit()]
    assert all((low is None or number >= low - 1e-9) and (high is None or number <= high + 1e-9) for number in numbers)


def test_a_result_in_a_unit_needs_its_measure(sound):
    _, wrong = instrument(sound, 'target = "result"\nstandard_uncertainty = "3 ft"\n')
    assert "results of several dimensions" in wrong[0]
    (source,), wrong = instrument(
        sound, 'target = "result"\nstandard_uncertainty = "3 ft"\nmeasures = ["takeoff_roll"]\n'
    )
    assert not wrong
    assert (source.standard_uncertainty, source.measures) == (pytest.approx(3 * FOOT), ("takeoff_roll",))


def test_own_sources_take_the_place_of_shipped_ones(sound, monkeypatch):
    from samesky.campaign.settings import error_sources
    from samesky.instruments.sources import ErrorSource

    shipped = (
        ErrorSource("stopwatch", "elapsed", 0.2, "run", "shipped", measures=("timed_climb",)),
        ErrorSource("thermometer", "oat", 1.0, "campaign", "shipped"),
    )
    monkeypatch.setattr(error_sources, "default_sources", lambda: shipped)
    toml = TOML + '\n[instrument.stopwatch]\nstandard_uncertainty = "0.1 s"\n'
    campaign = read(sound(campaign__toml=toml))
    assert not errors(campaign)
    by_name = {source.name: source for source in campaign.sources}
    assert sorted(source.name for source in campaign.sources) == ["stopwatch", "thermometer"]
    own = by_name["stopwatch"]
    assert (own.standard_uncertainty, own.scope, own.measures) == (0.1, "run", ("timed_climb",))
    toml = TOML + '\n[instrument.thermometer]\nscope = "day"\nsource = "moved on the second day"\n'
    by_name = {source.name: source for source in read(sound(campaign__toml=toml)).sources}
    assert (by_name["thermometer"].standard_uncertainty, by_name["thermometer"].scope) == (1.0, "day")


def test_static_pull_beyond_the_ideal_propeller(sound):
    """73.5 kW on 1.75 m at 1.225 kg/m^3 pull 3169 N at most (published row M01, actuator-disc theory)."""
    assert float(row("M01").value) == 3169
    toml = TOML.replace('"92 hp"', '"73.5 kW"').replace('"1.70 m"', '"1.75 m"')
    toml += '\n[measure.static_pull]\nsmallest_difference_that_matters = "3 %"\n'
    for pull, count in (("3168", 0), ("3170", 1)):
        text = (
            "run,date,clock,configuration,pull [N],rpm\n"
            f"1,2025-06-14,06:00,A,{pull},4900\n2,2025-06-14,06:05,A,2000,4910\n"
            "3,2025-06-14,11:00,B,2010,5010\n4,2025-06-14,11:05,B,2000,5000\n"
            "5,2025-06-14,12:00,A,2010,4910\n6,2025-06-14,12:05,A,2000,4900\n"
        )
        findings = check(read(sound(campaign__toml=toml, static_pull__csv=text)))
        assert sum("ideal propeller" in finding.message for finding in findings) == count, [
            f.sentence() for f in findings
        ]


def test_static_engine_speed_outside_its_range(sound):
    toml = TOML + '\n[measure.static_pull]\nsmallest_difference_that_matters = "3 %"\n'
    text = (
        "run,date,clock,configuration,pull [N],rpm\n"
        "1,2025-06-14,06:00,A,2000,4600\n2,2025-06-14,06:05,A,2000,4710\n3,2025-06-14,11:00,B,2010,5010\n"
        "4,2025-06-14,11:05,B,2005,5000\n5,2025-06-14,12:00,A,2010,4910\n"
    )
    findings = check(read(sound(campaign__toml=toml, static_pull__csv=text)))
    (doubt,) = [finding.sentence() for finding in findings if finding.column == "rpm"]
    assert doubt.startswith(
        "static_pull.csv, row 2, column 'rpm': run 1: static engine speed outside 4700 to 5300 rpm."
    )


@pytest.mark.parametrize(("unit", "is_fraction"), [("1", True), ("%", False)])
def test_per_cent_of_a_free_measure(sound, unit, is_fraction):
    """Per cent are of the baseline (marks of 1 to 10), unless the measure itself is counted in per cent."""
    table = f'\n[measure.cabin_marks]\nunit = "{unit}"\nbetter = "larger"\nsmallest_difference_that_matters = "2 %"\n'
    asked = read(sound(campaign__toml=TOML + table)).asked["cabin_marks"]
    assert (asked.smallest, asked.smallest_is_fraction) == (pytest.approx(0.02), is_fraction)
