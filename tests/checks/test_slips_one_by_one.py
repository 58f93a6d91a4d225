"""Each check for slips at its own bound: a reading just inside is silent, one just outside is told, at its own row.

The bounds are the program's own choices; what they are held to here is what their names and comments promise.
"""

from __future__ import annotations

import pytest
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.reading.read import read_texts
from samesky.checks import catalogue as say
from samesky.checks.check import check

HEADER = ROLL.splitlines()[0] + "\n"


def found(toml: str = TOML, **tables: str) -> list:
    """Findings of a campaign of these tables, without errors."""
    texts = {"campaign.toml": toml} | {f"{name}.csv": text for name, text in tables.items()}
    findings = check(read_texts(texts))
    assert [one.sentence() for one in findings if one.kind == "error"] == []
    return findings


def rows(findings, sentence, file: str = "takeoff_roll.csv") -> list[tuple[int | None, str | None]]:
    """Rows and columns of the findings that say this sentence of the catalogue."""
    return [(one.row, one.column) for one in findings if one.code == sentence and one.file == file]


def rolls(speeds=(45, 45, 45, 45, 45, 45), rolls=(410, 405, 400, 395, 408, 402), **more) -> str:
    """Six rolls, A A B B A A, all alike but for what is given."""
    lines = []
    given = {"clock": ("07:00", "07:10", "08:00", "08:10", "09:00", "09:10"), "oat": [12.0] * 6, "qnh": [1015] * 6}
    given |= {"fuel": (60, 58, 55, 53, 50, 48), "wind": [3.0] * 6, "date": ["2025-06-14"] * 6} | more
    for k, key in enumerate("AABBAA"):
        lines.append(
            f"{k + 1},{given['date'][k]},{given['clock'][k]},{key},{given['oat'][k]},{given['qnh'][k]},"
            f"{given['fuel'][k]},{given['wind'][k]},{speeds[k]},{rolls[k]},,"
        )
    return HEADER + "\n".join(lines) + "\n"


def test_six_alike_are_silent():
    said = found(takeoff_roll=rolls())
    assert not [one.sentence() for one in said if one.code.startswith("slip")]


@pytest.mark.parametrize(("speed", "told"), [(51, []), (52, [(3, "lift-off airspeed")])])
def test_a_lift_off_speed_fifteen_per_cent_above_all_others(speed, told):
    # exp(0.14) is 1.150: 51.8 of 45.
    assert rows(found(takeoff_roll=rolls(speeds=(45, speed, 45, 45, 45, 45))), say.SLIP_READING_APART.code) == told


@pytest.mark.parametrize(("second", "told"), [(51, [(3, "lift-off airspeed")]), (54, [(3, "lift-off airspeed")])])
def test_two_of_one_side_are_held_against_both(second, told):
    # B has two runs: one of them leaves one other, so the four of A are asked as well; A has four.
    speeds = (45, second + 4, 45, 45, 45, 45)
    said = found(takeoff_roll=rolls(speeds=speeds))
    assert rows(said, say.SLIP_READING_APART.code) == told
    (one,) = [one for one in said if one.code == say.SLIP_READING_APART.code]
    assert "the other runs of A" in one.sentence()


def test_where_a_side_has_one_other_run_all_sides_are_asked():
    speeds = (45, 45, 56, 45, 45, 45)
    (one,) = [one for one in found(takeoff_roll=rolls(speeds=speeds)) if one.code == say.SLIP_READING_APART.code]
    assert (one.row, "the other runs:" in one.sentence() or "the other runs " in one.sentence()) == (4, True)
    assert "the other runs of B" not in one.sentence()


@pytest.mark.parametrize(("degrees", "told"), [(17.9, []), (18.0, [(4, "oat")])])
def test_a_temperature_that_leaps_within_the_hour(degrees, told):
    # 5.5 K and 2.5 K an hour, ten minutes from the next reading: 5.9 K above the 12 degrees around it.
    oat = (12.0, 12.0, degrees, 12.0, 12.0, 12.0)
    assert [
        at for at in rows(found(takeoff_roll=rolls(oat=oat)), say.SLIP_READING_APART.code) if at == (4, "oat")
    ] == told


@pytest.mark.parametrize(("pressure", "told"), [(1049, False), (1051, True)])
def test_a_pressure_of_another_day_may_differ_by_thirty_five(pressure, told):
    days = ["2025-06-14"] * 5 + ["2025-06-15"]
    said = found(takeoff_roll=rolls(date=days, qnh=[1015] * 5 + [pressure]))
    assert ((7, "qnh") in rows(said, say.SLIP_READING_APART.code)) is told


def test_readings_are_shown_from_the_lowest_to_the_highest():
    said = found(takeoff_roll=rolls(speeds=(44, 70, 46, 45, 45, 45)))
    (one,) = [one for one in said if one.code == say.SLIP_READING_APART.code]
    assert "44 to 45 kt" in one.sentence()


@pytest.mark.parametrize(
    ("date", "clock", "told"),
    [
        ("2025-06-15", "09:40", True),
        ("2025-06-15", "11:00", False),
        ("2025-06-14", "09:40", False),
    ],
)
def test_a_run_that_is_alone_on_the_next_day_and_fits_behind_the_last_one(date, clock, told):
    days, clocks = ["2025-06-14"] * 5 + [date], ["07:00", "07:10", "08:00", "08:10", "09:00", clock]
    said = found(takeoff_roll=rolls(date=days, clock=clocks))
    assert rows(said, say.SLIP_DAY_ALONE.code) == ([(7, "date")] if told else [])
    for one in said:
        if one.code == say.SLIP_DAY_ALONE.code:
            assert "'2025-06-15'" in one.sentence()
            assert "run 6" in one.sentence()


def test_a_day_of_two_runs_before_it_says_nothing():
    days = ["2025-06-13"] * 2 + ["2025-06-14"] + ["2025-06-16"] * 3
    clocks = ["09:00", "09:10", "09:40", "09:00", "09:10", "09:20"]
    assert rows(found(takeoff_roll=rolls(date=days, clock=clocks)), say.SLIP_DAY_ALONE.code) == []


@pytest.mark.parametrize(
    ("clocks", "told"),
    [
        (("02:50", "07:10", "08:00", "08:10", "09:00", "09:10"), [(2, "clock")]),
        (("03:30", "07:10", "08:00", "08:10", "09:00", "09:10"), []),
        (("07:00", "07:10", "08:00", "08:10", "09:00", "13:10"), [(7, "clock")]),
        (("07:00", "07:10", "08:00", "08:10", "09:00", "12:50"), []),
    ],
)
def test_a_run_more_than_four_hours_from_all_others(clocks, told):
    assert rows(found(takeoff_roll=rolls(clock=clocks)), say.SLIP_CLOCK_ALONE.code) == told


@pytest.mark.parametrize(("fuel", "told"), [(43, []), (38, [(6, "fuel")])])
def test_fuel_that_falls_a_fifth_of_the_tank_faster_than_five_times(fuel, told):
    # Usual: 2 L in ten minutes, as between five of the six; 53 L to 38 in 50 minutes are no faster, in ten they are.
    clocks = ("07:00", "07:10", "07:20", "07:30", "07:40", "07:50")
    litres = (60, 58, 56, 54, fuel, fuel - 2)
    assert rows(found(takeoff_roll=rolls(clock=clocks, fuel=litres)), say.SLIP_FUEL_USE.code) == told


@pytest.mark.parametrize(("unit", "told"), [("ft", []), ("m", [(None, "to")])])
def test_both_ends_of_a_climb_in_one_unit(unit, told):
    climb = CLIMB.replace("to [ft]", f"to [{unit}]").replace(",2000,", ",2000," if unit == "ft" else ",610,")
    assert rows(found(timed_climb=climb), say.SLIP_BAND_UNITS.code, "timed_climb.csv") == told


def test_air_of_climb_and_roll_of_the_same_hours():
    """13 degrees on the strip and 9 at 1,500 ft are one air; 28 at 1,500 ft are none that a morning has."""
    warm = (
        CLIMB.replace(",A,8,", ",A,28,")
        .replace(",B,9,", ",B,29,")
        .replace(",A,9,", ",A,29,")
        .replace(",B,10,", ",B,30,")
    )
    assert rows(found(takeoff_roll=rolls(), timed_climb=CLIMB), say.SLIP_AIR_APART.code, "timed_climb.csv") == []
    said = found(takeoff_roll=rolls(), timed_climb=warm)
    assert rows(said, say.SLIP_AIR_APART.code, "timed_climb.csv") == [(None, "oat")]


def test_a_limit_of_crosswind_holds_from_both_sides():
    toml = TOML.replace('tailwind = "1 kt"\n', 'tailwind = "1 kt"\ncrosswind = "5 kt"\n')
    header = HEADER.replace("headwind [kt]", "headwind [kt],crosswind [kt]")
    lines = rolls().splitlines()[1:]
    sides = (1.0, -6.0, 4.0, 5.0, -5.0, 6.0)
    text = header + "\n".join(
        ",".join([*line.split(",")[:8], str(side), *line.split(",")[8:]])
        for line, side in zip(lines, sides, strict=True)
    )
    (one,) = [f for f in found(toml, takeoff_roll=text + "\n") if f.code == say.LIMIT_EXCEEDED.code]
    assert one.column == "crosswind"
    assert "2 and 6" in one.sentence()


def test_a_static_rpm_range_with_one_end():
    pull = "run,date,clock,configuration,oat [°C],qnh [hPa],rpm,pull [kgf]\n" + "".join(
        f"{k + 1},2025-06-14,07:{10 * k:02d},{key},12,1015,{rpm},180\n"
        for k, (key, rpm) in enumerate(zip("ABAB", (4650, 4900, 4800, 5400), strict=True))
    )
    for drop, wanted in (("static_rpm_high", ["1"]), ("static_rpm_low", ["4"])):
        toml = "".join(line for line in TOML.splitlines(True) if not line.startswith(drop))
        toml += '[measure.static_pull]\nsmallest_difference_that_matters = "3 %"\n'
        said = [one for one in found(toml, static_pull=pull) if one.code == say.RPM_OUTSIDE_STATIC_RANGE.code]
        assert [f"run {number}" in one.sentence() for one, number in zip(said, wanted, strict=True)] == [True]
