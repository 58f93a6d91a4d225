"""The door between people's units and SI, against NIST SP 811 (printed rows) and pint.

Every row of the topic "units" is checked, or listed below with the reason why not.
"""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pint
import pytest

from samesky import spellings, units
from samesky.air import constants
from samesky.published import registry
from samesky.spellings import FACTORS, TEMPERATURES
from samesky.units import DIMENSIONS, UnitError, from_si, header, parse, quantities, show, to_si

PINT = pint.get_application_registry()

#: Rows that define one unit: row -> (spelling, dimension).
DEFINITIONS = {
    "T9-001": ("ft", "length"),
    "T9-002": ("in", "length"),
    "T9-003": ("mi", "length"),
    "T9-004": ("NM", "length"),
    "T9-005": ("kt", "speed"),
    "T9-006": ("ft/min", "speed"),
    "T9-007": ("mph", "speed"),
    "T9-008": ("lb", "mass"),
    "T9-009": ("lbf", "force"),
    "T9-010": ("slug", "mass"),
    "T9-011": ("lbf/ft^2", "pressure"),
    "T9-012": ("psi", "pressure"),
    "T9-013": ("US gal", "volume"),
    "T9-014": ("imp gal", "volume"),
    "T9-015": ("hp", "power"),
    "T9-016": ("PS", "power"),
    "T9-017": ("kgf", "force"),
    "T9-018": ("mmHg", "pressure"),
    "T9-020": ("inHg", "pressure"),
    "T9-021": ("atm", "pressure"),
    "T9-022": ("hPa", "pressure"),
    "T9-023": ("degR", "temperature difference"),
    "T9-024": ("inH2O", "pressure"),
}
RATIOS = {
    "T9-025": lambda: to_si(1, "gph", "volume flow") / to_si(1, "L/h", "volume flow"),
    "T9-026": lambda: from_si(to_si(1, "kt", "speed"), "ft/s", "speed"),
    "T9-027": lambda: from_si(to_si(1, "kt", "speed"), "mph", "speed"),
    "T9-028": lambda: from_si(to_si(1, "NM", "length"), "mi", "length"),
    "T9-029": lambda: from_si(to_si(1, "hp", "power"), "ft lbf/s", "power"),
    "T9-030": lambda: from_si(constants.P0, "lbf/ft^2", "pressure"),
    "T9-031": lambda: from_si(constants.RHO0, "slug/ft^3", "density"),
    "T9-033": lambda: constants.R_AIR * to_si(1, "slug", "mass") * 5 / 9 / (0.3048 * to_si(1, "lbf", "force")),
}
CHECKED = {**{id: (lambda pair=pair: to_si(1, *pair)) for id, pair in DEFINITIONS.items()}, **RATIOS}
DISAGREE = {
    "T9-019": (lambda: to_si(1, "inHg", "pressure"), "inch of mercury at 32 degF; the conventional inch is T9-020"),
    "T9-032": (lambda: from_si(constants.RHO0, "lb/ft^3", "density"), "last digit one low: 0.07647425 printed ...42"),
}


def test_every_row_is_accounted_for():
    assert {*CHECKED, *DISAGREE} == {printed.id for printed in registry.rows("units")}


@pytest.mark.parametrize("id", CHECKED)
def test_printed_row(id):
    check = registry.check(id, CHECKED[id]())
    assert check.agrees, str(check)


@pytest.mark.parametrize("id", DISAGREE)
def test_row_known_to_disagree(id):
    check = registry.check(id, DISAGREE[id][0]())
    assert not check.agrees, f"{check}; listed as: {DISAGREE[id][1]}"
    assert abs(check.difference) < 3e-6 * check.printed.value


#: How pint spells what people write.
PINT_NAMES = {
    "'": "foot", '"': "inch", "NM": "nautical_mile",
    "nautical mile": "nautical_mile", "nautical miles": "nautical_mile",
    "nm": "nautical_mile", "statute mile": "mile", "sq ft": "foot**2",
    "US gal": "gallon", "imp gal": "imperial_gallon", "Imp gal": "imperial_gallon", "UK gal": "imperial_gallon",
    "US gallon": "gallon", "US gallons": "gallon", "imperial gallon": "imperial_gallon", "mins": "minute",
    "hrs": "hour", "mps": "m/s", "kn": "knot", "kmh": "km/h", "mi/h": "mile/hour",
    "fpm": "ft/min", "ft/mn": "ft/min", "fps": "ft/s", "mb": "millibar", "in Hg": "inHg",
    "in.Hg": "inHg", "inches Hg": "inHg", "mm Hg": "mmHg", "kp": "kgf", "bhp": "horsepower",
    "PS": "metric_horsepower", "ch": "metric_horsepower", "cv": "metric_horsepower", "metric hp": "metric_horsepower",
    "r/min": "rpm", "1/min": "rpm", "rev/min": "rpm", "rev/s": "revolution/s", "rps": "revolution/s",
    "r/s": "revolution/s", "Hz": "revolution/s", "1/s": "revolution/s", "": "dimensionless", "1": "dimensionless",
    "per cent": "percent", "lph": "L/h", "L/hr": "L/h", "l/hr": "L/h", "gph": "gallon/h",
    "US gal/h": "gallon/h", "US gal/hr": "gallon/h", "gal/hr": "gallon/h", "imp gal/h": "imperial_gallon/h",
    "lb/US gal": "lb/gallon", "per hour": "1/h", "%/hr": "percent/h", "%/h^0.5": "percent/h**0.5",
    "1/h^0.5": "1/h**0.5", "%/sqrt(h)": "percent/h**0.5", "mi": "mile", "gal": "gallon", "d": "day",
    "ltr": "litre", "ltrs": "litre", "USG": "gallon", "USG/h": "gallon/h", "KIAS": "knot", "KCAS": "knot",
    "º": "degree",
}  # fmt: skip
SPECIAL = {("force", "kg"): "kgf", ("force", "lb"): "lbf", ("force", "lbs"): "lbf", ("acceleration", "g"): "g_0"}
EVERYDAY = [(dimension, spelling) for dimension, table in FACTORS.items() for spelling in table]
#: To pint a decibel is a ratio on a logarithmic scale; a level is read and subtracted as a plain number.
EVERYDAY = [pair for pair in EVERYDAY if pair[0] != "sound level"]


@pytest.mark.parametrize(("dimension", "spelling"), EVERYDAY)
def test_everyday_factor_against_pint(dimension, spelling):
    name = SPECIAL.get((dimension, spelling), PINT_NAMES.get(spelling, spelling))
    if dimension == "temperature difference":
        name = {"K": "kelvin", "degR": "degree_Rankine"}.get(
            spelling, "delta_degF" if set("Ff\u2109") & set(spelling) else "delta_degC"
        )
        name = "kelvin" if spelling == "kelvin" else name
    name = name.replace("²", "**2").replace("³", "**3")
    for letter in "mts":
        name = name.replace(f"{letter}2", f"{letter}**2").replace(f"{letter}3", f"{letter}**3")
    si = {"rev/s": "revolution/s", "1": "dimensionless", "1/h": "1/hour", "1/h**0.5": "1/hour**0.5"}
    target = si.get(DIMENSIONS[dimension].si, DIMENSIONS[dimension].si)
    theirs = PINT.Quantity(1.0, PINT.Unit(name)).to(target).magnitude
    assert FACTORS[dimension][spelling] == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("spelling", TEMPERATURES)
def test_everyday_temperature_against_pint(spelling):
    name = (
        "degF" if "F" in spelling or "f" in spelling or "\u2109" in spelling else "degR" if "R" in spelling else "degC"
    )
    name = "kelvin" if spelling in ("K", "kelvin") else name
    for value in (-40.0, 0.0, 37.5):
        theirs = PINT.Quantity(value, name).to("kelvin").magnitude
        assert to_si(value, spelling, "temperature") == pytest.approx(theirs, rel=1e-12)


def test_levels_are_plain_numbers_and_other_logarithmic_units_are_refused():
    """2 dB are 2 dB and not the ratio 1.58; 2 Np are not twice a ratio of 1 Np."""
    assert to_si([91.5, 93.0], "dB(A)", "sound level") == pytest.approx([91.5, 93.0])
    with pytest.raises(UnitError, match="it measures sound level, not fraction"):
        to_si(2.0, "dB", "fraction")
    with pytest.raises(UnitError, match="'Np' is a logarithmic unit"):
        to_si(2.0, "Np", "fraction")


@pytest.mark.parametrize(
    ("spelling", "meant", "dimension"),
    [
        *((spelling, "ft", "length") for spelling in ("FT", "Ft", "FEET", "Feet")),
        *((spelling, "kt", "speed") for spelling in ("Kts", "KTS", "Knots", "KNOTS", "KT", "KIAS", "kias", "KCAS")),
        *((spelling, "L", "volume") for spelling in ("Liter", "LITER", "ltr", "Ltr", "Litres")),
        *((spelling, "US gal", "volume") for spelling in ("USG", "usg", "Gal", "US Gal", "US GAL")),
        *((spelling, "degC", "temperature") for spelling in ("\u00baC", "\u2103", "DegC", "DEGC", "Celsius")),
        ("\u00baF", "degF", "temperature"),
        *((spelling, "hPa", "pressure") for spelling in ("HPA", "Hpa", "hpa", "MBAR")),
        *((spelling, "inHg", "pressure") for spelling in ("INHG", "InHg")),
        *((spelling, "rpm", "rotational speed") for spelling in ("RPM", "Rpm")),
        *((spelling, "mph", "speed") for spelling in ("MPH", "Mph")),
        *((spelling, "ft/min", "speed") for spelling in ("FT/MIN", "FPM", "Ft/min")),
        *((spelling, "kg", "mass") for spelling in ("KG", "Kg")),
        *((spelling, "gph", "volume flow") for spelling in ("GPH", "gal/H")),
        ("Min", "min", "time"),
        ("Sec", "s", "time"),
        ("HP", "hp", "power"),
    ],
)
def test_capitals_and_other_spellings_mean_the_same_unit(spelling, meant, dimension):
    assert to_si(7.0, spelling, dimension) == to_si(7.0, meant, dimension)


@pytest.mark.parametrize(("spelling", "dimension"), [("mW", "power"), ("Ms", "time"), ("Mm", "length")])
def test_where_capitals_tell_units_apart_they_are_not_passed_over(spelling, dimension):
    """A milliwatt is no megawatt: what everyday speech does not have is left to the library of units."""
    assert to_si(1.0, spelling, dimension) == pytest.approx(PINT.Quantity(1.0, spelling).to_base_units().magnitude)


def test_a_bare_number_is_taken_in_the_unit_that_nobody_writes():
    assert parse("2750", "rotational speed") == parse("2750 rpm", "rotational speed")
    assert parse("260", "angle") == parse("260 deg", "angle")
    for dimension in ("speed", "length", "mass", "pressure", "temperature"):
        with pytest.raises(UnitError, match="no unit"):
            parse("75", dimension)


def test_every_dimension_has_everyday_spellings_for_its_examples():
    for name, dimension in DIMENSIONS.items():
        table = TEMPERATURES if name == "temperature" else FACTORS[name]
        assert set(dimension.examples) <= set(table), name


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("75 kt", "speed", 75 * 1852 / 3600),
        ("75kts", "speed", 75 * 1852 / 3600),
        ("75,5 kt", "speed", 75.5 * 1852 / 3600),
        ("1 000 ft", "length", 304.8),
        ("1\u202f000 ft", "length", 304.8),
        ("0,500 kg", "mass", 0.5),
        ("12,5 °C", "temperature", 285.65),
        ("59 °F", "temperature", 288.15),
        ("-40 degF", "temperature", 233.15),
        ("−5 degC", "temperature", 268.15),
        ("2 degC", "temperature difference", 2.0),
        ("9 degF", "temperature difference", 5.0),
        ("5400 rpm", "rotational speed", 90.0),
        ("1e3 hPa", "pressure", 1e5),
        ("3 %", "fraction", 0.03),
        ("0.03", "fraction", 0.03),
        ("90°", "angle", math.pi / 2),
        ("10 kg", "force", 98.0665),
        ("1 %/h", "fraction per hour", 0.01),
        ("0.5 %/h**0.5", "fraction per root hour", 0.005),
        ("72 yard/hour", "speed", 72 * 0.9144 / 3600),
        (".5 h", "time", 1800.0),
        ("+7 daN", "force", 70.0),
    ],
)
def test_parse(text, dimension, value):
    assert parse(text, dimension) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("30 kt", "force", "'kt' does not fit: it measures speed, not force; expected a force, in N, daN, kgf, lbf"),
        ("30 kelvin/s", "temperature", "does not fit"),
        ("75 knts", "speed", "unit 'knts' is not known .did you mean 'knots'"),
        ("1013 hPaa", "pressure", "did you mean 'hPa'"),
        ("75", "speed", "'75' has no unit; expected a speed, in kt, m/s"),
        (75, "speed", "75 has no unit: write it as text, with its unit; expected a speed, in kt"),
        ("1,000 ft", "length", "'1,000 ft' is ambiguous: a comma may mark thousands or decimals; write 1000 or 1.000"),
        ("-12,345 ft", "length", "ambiguous"),
        ("1,234,567 ft", "length", "ambiguous.*write 1234567$"),
        ("1,234.5 ft", "length", "both a comma and a point"),
        ("1.234,5 ft", "length", "both a comma and a point"),
        ("1.2.3 ft", "length", "holds no number"),
        ("nan kt", "speed", "holds no number"),
        ("inf kt", "speed", "holds no number"),
        ("1e999 kt", "speed", "too large"),
        ("", "speed", "holds no number"),
        ("fast", "speed", "holds no number"),
        ("3 deg", "fraction", "measures angle, not fraction"),
        ("3 %", "angle", "measures fraction, not angle"),
        ("3 turn", "fraction", "does not fit"),
        ("3 1", "angle", "no unit given"),
        ("3 delta_degC", "temperature", "does not fit"),
        ("3 kg", "length", "measures mass, not length"),
        ("50 hertz", "rotational speed", "does not fit"),
    ],
)
def test_parse_refuses_with_one_clear_message(text, dimension, words):
    with pytest.raises(UnitError, match=words) as caught:
        parse(text, dimension)
    assert "\n" not in str(caught.value)
    assert caught.value.expected
    assert isinstance(caught.value.found, str)


@pytest.mark.parametrize("dimension", ["fraction per hour", "speed"])
def test_a_level_an_hour_is_refused_and_no_traceback(dimension):
    """The library knows decibels but not their differences: what it cannot take apart is no unit here."""
    with pytest.raises(units.UnitError, match="dB/h"):
        units.parse("0.4 dB/h", dimension)


def test_an_unknown_dimension_is_a_slip_in_the_program():
    with pytest.raises(KeyError, match="'sped' is no dimension; there are: length"):
        parse("75 kt", "sped")


@pytest.mark.parametrize(
    ("cell", "found"),
    [
        ("ground roll [ft]", ("ground roll", "ft")),
        ("  ground   roll[ft] ", ("ground roll", "ft")),
        ("run", ("run", None)),
        ("speed 1 [ km/h ]", ("speed 1", "km/h")),
        ("notes (pilot)", ("notes (pilot)", None)),
    ],
)
def test_header(cell, found):
    assert header(cell) == found


@pytest.mark.parametrize(
    "cell", ["roll [ft", "roll ft]", "[ft]", "roll []", "roll [ ]", "a [b] c", "a [b][c]", "a (ft)"]
)
def test_header_refuses(cell):
    with pytest.raises(UnitError, match="square brackets"):
        header(cell)


def test_columns_there_and_back():
    rng = np.random.default_rng(1)
    for dimension, spelling in [*EVERYDAY, *(("temperature", spelling) for spelling in TEMPERATURES)]:
        values = rng.uniform(1, 1000, (3, 4))
        values[1, 2] = np.nan
        si = to_si(values, spelling, dimension)
        assert si.shape == (3, 4)
        assert np.isnan(si[1, 2])
        np.testing.assert_allclose(from_si(si, spelling, dimension), values, rtol=1e-12)
    assert isinstance(to_si(1, "ft", "length"), float)


def test_infinite_columns_are_refused():
    with pytest.raises(UnitError, match="infinite"):
        to_si([1.0, np.inf], "ft", "length")


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "digits", "text"),
    [
        (125.6, "ft", "length", None, "412 ft"),
        (1234.5, "m", "length", None, "1234 m"),
        (0.04567, "%", "fraction", None, "4.57 %"),
        (0.0371, "%", "fraction", 1, "3.7 %"),
        (288.15, "degC", "temperature", 0, "15 degC"),
        (2.0, "degC", "temperature difference", 1, "2.0 degC"),
        (-1e-9, "ft", "length", 0, "0 ft"),
        (0.0, "ft", "length", None, "0 ft"),
        (math.nan, "ft", "length", None, "not known"),
        (90.0, "rpm", "rotational speed", 0, "5400 rpm"),
        (0.25, "1", "fraction", 2, "0.25"),
    ],
)
def test_show(value, unit, dimension, digits, text):
    assert show(value, unit, dimension, digits) == text


@quantities("speed", distance="length", time="time")
def mean_speed(distance, time, factor=1.0):
    """Distance over time."""
    return factor * distance / time


def test_quantities_takes_and_gives_quantities():
    found = mean_speed(PINT.Quantity(1.0, "nautical_mile"), time=PINT.Quantity(1.0, "hour"), factor=2.0)
    assert found.to("knot").magnitude == pytest.approx(2.0)
    assert mean_speed("1 NM", "1 h").to("knot").magnitude == pytest.approx(1.0)
    assert mean_speed.si(10.0, 2.0) == 5.0
    assert mean_speed.__doc__ == "Distance over time."


def test_quantities_refuses_bare_numbers_and_wrong_units():
    with pytest.raises(UnitError, match=r"mean_speed: time needs a unit: 2\.0 is a bare number; expected a time"):
        mean_speed("1 NM", 2.0)
    with pytest.raises(UnitError, match="does not fit"):
        mean_speed("1 NM", PINT.Quantity(1.0, "kg"))


def test_quantities_answers_in_the_unit_of_the_argument():
    slower = quantities("speed", speed="speed")(lambda speed: speed / 2)
    assert str(slower(PINT.Quantity(60.0, "knot")).units) == "knot"
    warmer = quantities("temperature", t="temperature", by="temperature difference")(lambda t, by: t + by)
    found = warmer(PINT.Quantity(15.0, "degC"), PINT.Quantity(9.0, "delta_degF"))
    assert found.to("degC").magnitude == pytest.approx(20.0)
    turning = quantities("rotational speed", n="rotational speed")(lambda n: n)
    assert turning.si(90.0) == 90.0
    assert turning(PINT.Quantity(5400.0, "rpm")).to("rpm").magnitude == pytest.approx(5400.0)
    assert turning("5400 rpm").to("revolution/second").magnitude == pytest.approx(90.0)
    with pytest.raises(KeyError, match="no dimension"):
        quantities("velocity")


def test_quantities_passes_none_and_arrays():
    optional = quantities(None, x="length")(lambda x=None: x)
    assert optional(None) is None
    np.testing.assert_allclose(optional(PINT.Quantity(np.array([1.0, 2.0]), "ft")), [0.3048, 0.6096])


def test_air_for_notebook_readers():
    """One tuple result, plain results; the printed rows T3-047 and T1-016 by quantities."""
    from samesky.air import quantities as air

    tas = air.cas_to_tas("60 kt", air.pressure("5000 ft"), air.temperature("5000 ft"))
    assert registry.check("T3-047", tas.to("knot").magnitude).agrees
    thin = air.standard_density(air.geopotential("1000 m"))
    assert registry.check("T1-016", thin.to("kg/m^3").magnitude).agrees
    assert air.density_altitude(thin).to("m").magnitude == pytest.approx(air.geopotential("1000 m").magnitude)
    wind = air.components("25 kt", "140 deg", "170 deg")
    assert registry.check("T1-251", wind.headwind.to("knot").magnitude).agrees
    with pytest.raises(UnitError, match="bare number"):
        air.cas_to_tas(60, "850 hPa", "10 degC")


def test_everyday_units_need_no_pint():
    """Guards the import time of the command line: pint only for unusual units."""
    code = (
        "import sys; from samesky.units import parse, to_si; import samesky.air.legs, samesky.published.registry as r;"
        "parse('75 kt', 'speed'); to_si([1.0], 'inHg', 'pressure'); r.check('T1-203', 101325.0);"
        "print(sorted({'pint', 'pandas', 'scipy', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_factor_is_worked_out_once(monkeypatch):
    units._to_si_line.cache_clear()
    parse("3 furlong", "length")
    monkeypatch.setattr(pint, "get_application_registry", lambda: pytest.fail("asked pint twice"))
    assert parse("6 furlong", "length") == pytest.approx(6 * 201.168, rel=1e-5)


@pytest.mark.parametrize(
    "unit",
    [
        "m**9**9**9",
        "m ** 9 ** 9",
        "9^9^9",
        "((9**9)**9)**9",
        "m**(9**9**9)",
        "m⁹⁹⁹⁹",
        "m²**9",
        "m**99999999",
        "m" * 5000,
    ],
)
def test_a_unit_that_would_take_for_ever_is_refused_before_it_is_worked_out(unit, monkeypatch):
    monkeypatch.setattr(pint, "get_application_registry", lambda: pytest.fail("it was worked out"))
    with pytest.raises(units.UnitError):
        to_si(1.0, unit, "length")


@pytest.mark.parametrize(
    ("unit", "dimension", "factor"),
    [
        ("ft", "length", 0.3048),
        ("FT", "length", 0.3048),
        ("Ft", "length", 0.3048),
        ("KTS", "speed", 1852 / 3600),
        ("kias", "speed", 1852 / 3600),
        ("Kcas", "speed", 1852 / 3600),
        # One sign, and what capitals tell apart: a molar is no metre, a megametre no millimetre.
        ("M", "length", None),
        ("MM", "length", None),
        ("n", "force", None),
        ("smoot", "length", None),
    ],
)
def test_capitals_do_not_matter_where_they_tell_nothing_apart(unit, dimension, factor):
    found = spellings.everyday(unit, dimension)
    assert found is None if factor is None else found == (pytest.approx(factor), 0.0)


@pytest.mark.parametrize(
    ("unit", "calibrated", "plain"),
    [("KCAS", True, "kt"), (" kcas ", True, "kt"), ("KIAS", False, "kt"), ("kias", False, "kt"), ("mph", False, "mph")],
)
def test_the_unit_tells_indicated_from_calibrated_and_is_shown_in_plain_knots(unit, calibrated, plain):
    assert spellings.is_calibrated(unit) is calibrated
    assert spellings.plain_speed(unit) == plain
    assert not spellings.is_calibrated(None)


@pytest.mark.parametrize(
    ("unit", "dimension", "said"),
    [
        ("knotts", "speed", "did you mean 'knots'?"),
        ("degCC", "temperature", "did you mean 'degC'?"),
        ("pounds", "speed", "it measures mass, not speed"),
        ("poundss", "speed", "did you mean 'pounds'?"),
        ("", "speed", "no unit given"),
        ("1", "speed", "no unit given"),
        ("qqqqqq", "speed", "'qqqqqq' is not known;"),
    ],
)
def test_what_is_said_of_a_unit_that_nobody_knows(unit, dimension, said):
    assert said in str(spellings.unknown(unit, dimension))
