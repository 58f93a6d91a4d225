"""One entry, cell or row at its bound: what is still read, what is refused at its place, and what the default is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import saturday
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.derived.prepare import centre_of_gravity
from samesky.campaign.entries.outline import outline
from samesky.campaign.entries.schema import examples
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.campaign.reading.unflown import block_note, planned_runs, unflown_words
from samesky.campaign.tables.cells import CellError, clock_hours
from samesky.campaign.tables.sheet_rows import some
from samesky.campaign.toml.parse import LONGEST, parsed
from samesky.measures import MEASURES
from samesky.reduction.reduction import reduce_table


def findings(folder, kind="error"):
    return [one for one in read(folder, flown=False).findings if one.kind == kind]


def where(folder):
    return [(one.file, one.row, one.column) for one in findings(folder)]


def line_of(text: str, entry: str) -> int:
    return next(row for row, line in enumerate(text.splitlines(), start=1) if line.startswith(entry))


# campaign.toml.


@pytest.mark.parametrize("entry", ["title", "question"])
@pytest.mark.parametrize("value", ["3", "true", "2.5", '["a"]', "2025-05-09"])
def test_words_have_to_be_words(sound, entry, value):
    line = next(line for line in TOML.splitlines() if line.startswith(entry))
    text = TOML.replace(line, f"{entry} = {value}")
    (found,) = findings(sound(campaign__toml=text))
    assert (found.file, found.row, found.column) == ("campaign.toml", line_of(text, entry), entry)
    assert "text" in found.message


@pytest.mark.parametrize(("slope", "sound_"), [("25 %", True), ("-25 %", True), ("26 %", False), ("-26 %", False)])
def test_a_strip_slopes_by_a_quarter_at_most(sound, slope, sound_):
    text = TOML.replace('slope = "0.5 %"', f'slope = "{slope}"')
    found = where(sound(campaign__toml=text))
    assert found == ([] if sound_ else [("campaign.toml", line_of(text, "slope"), "[runway.09] slope")])


@pytest.mark.parametrize(
    ("low", "high", "beyond"),
    [
        ("elevation", '"-500 m"', '"-501 m"'),
        ("elevation", '"6000 m"', '"6001 m"'),
        ("heading", '"360 deg"', '"361 deg"'),
    ],
)
def test_a_strip_lies_where_strips_lie(sound, low, high, beyond):
    line = next(line for line in TOML.splitlines() if line.startswith(low))
    assert where(sound(campaign__toml=TOML.replace(line, f"{low} = {high}"))) == []
    (found,) = where(sound(campaign__toml=TOML.replace(line, f"{low} = {beyond}")))
    assert found[2] == f"[runway.09] {low}"


def test_a_unit_that_is_none_of_the_result_leaves_the_usual_one(sound):
    one = '[measure.timed_climb]\nunit = "kg"'
    folder = sound(campaign__toml=TOML.replace("[measure.timed_climb]", one))
    (found,) = findings(folder)
    assert (found.column, "'kg'" in found.message) == ("[measure.timed_climb] unit", True)
    assert read(folder, flown=False).asked["timed_climb"].unit != "kg"
    folder = sound(campaign__toml=TOML.replace("[measure.timed_climb]", one.replace("kg", "m/s")))
    assert findings(folder) == []
    assert read(folder, flown=False).asked["timed_climb"].unit == "m/s"


@pytest.mark.parametrize(
    ("first", "second", "count"),
    [
        ("primary = true\n", "", 0),
        ("", "", 1),
        ("primary = true\n", "primary = true\n", 1),
        ("primary = false\n", "", 1),
    ],
)
def test_one_measure_of_several_decides(sound, first, second, count):
    text = TOML.replace("primary = true\n", first)
    text = text.replace("[measure.timed_climb]\n", f"[measure.timed_climb]\n{second}")
    assert len(findings(sound(campaign__toml=text))) == count


def test_a_measure_alone_decides_without_saying_so(sound):
    text = TOML.replace("primary = true\n", "").partition("[measure.timed_climb]")[0]
    campaign = read(sound(campaign__toml=text, timed_climb__csv=None))
    assert [one.message for one in campaign.findings if one.kind == "error"] == []
    assert campaign.asked["takeoff_roll"].primary is True


def test_what_primary_cannot_mean_is_one_error_and_not_two(sound):
    assert len(findings(sound(campaign__toml=TOML.replace("primary = true", 'primary = "perhaps"')))) == 1


def test_a_source_of_error_for_a_measure_that_the_shipped_one_leaves_out_acts_there_too(sound):
    """The shipped tape holds for rolls; said of climbs as well, whose result it can disturb, it is stated for both."""
    table = (
        '\n[instrument.{}]\ntarget = "{}"\nstandard_uncertainty = "{}"\nmeasures = ["takeoff_roll", "timed_climb"]\n'
    )
    campaign = read(sound(campaign__toml=TOML + table.format("thermometer_reading", "oat", "3 K")))
    assert [one.message for one in campaign.findings if one.kind == "error"] == []
    for name in ("takeoff_roll", "timed_climb"):
        sources = [source for source, _ in reduce_table(campaign, campaign.tables[name]).contributions]
        assert [one.standard_uncertainty for one in sources if one.name == "thermometer reading"] == [3.0]
    # A name of its own comes into being for the measures that it names, and for no others.
    campaign = read(
        sound(campaign__toml=TOML + table.format("my_gauge", "fuel", "2 kg").replace('"takeoff_roll", ', ""))
    )
    own = [one for one in campaign.sources if one.name == "my gauge"]
    assert [(one.standard_uncertainty, one.measures) for one in own] == [(2.0, ("timed_climb",))]


@pytest.mark.parametrize("said", [["timed_climb"], ["timed_climb", "takeoff_roll"], ["takeoff_roll"], ["level_speed"]])
def test_two_shipped_sources_of_one_name_keep_what_is_not_said_of_their_measures(sound, said):
    """Air that rises and sinks has one shipped size for climbs and one for level runs; 2 % is said of some."""
    names = ", ".join(f'"{name}"' for name in said)
    table = f'\n[instrument.rising_and_sinking_air]\nstandard_uncertainty = "2 %"\nmeasures = [{names}]\n'

    def sizes(text: str) -> dict[str, list[float]]:
        campaign = read(sound(campaign__toml=text))
        assert [one.message for one in campaign.findings if one.kind == "error"] == []
        own = [one for one in campaign.sources if one.name == "rising and sinking air"]
        measures = ("timed_climb", "level_speed", "takeoff_roll")
        return {name: [one.standard_uncertainty for one in own if one.applies_to(name)] for name in measures}

    before = sizes(TOML)
    assert (len(before["timed_climb"]), len(before["level_speed"]), before["takeoff_roll"]) == (1, 1, [])
    assert sizes(TOML + table) == before | {name: [0.02] for name in said}


def test_as_long_as_a_campaign_may_be_it_is_read():
    remark = "#" + "x" * (LONGEST - len(TOML) - 1)
    assert len(TOML + remark) == LONGEST
    assert parsed(TOML + remark)["title"] == "Finer pitch"
    with pytest.raises(CampaignError, match="500"):
        parsed(TOML + remark + "x")


# The table [plan].


@pytest.mark.parametrize("seed", [0, 1, 2**31, 2**32 - 1])
def test_any_seed_of_32_bits_is_one(tmp_path, seed):
    campaign = read(saturday.write(tmp_path, ("seed = 11", f"seed = {seed}")), flown=False)
    assert campaign.plan.seed == seed
    assert [one for one in campaign.findings if one.kind == "error"] == []


@pytest.mark.parametrize("seed", [2**32, -1, 0.5])
def test_no_other_seed_is(tmp_path, seed):
    assert [column for _, _, column in where(saturday.write(tmp_path, ("seed = 11", f"seed = {seed}")))] == [
        "[plan] seed"
    ]


@pytest.mark.parametrize(("written", "days"), [("", 1), ("days = 1", 1), ("days = 60", 60)])
def test_a_plan_is_for_one_day_unless_it_says_more(tmp_path, written, days):
    folder = saturday.write(tmp_path, ("days = 2", written))
    assert read(folder, flown=False).plan.days == days
    assert where(folder) == []


@pytest.mark.parametrize("days", ["0", "61", "1.5"])
def test_days_that_cannot_be(tmp_path, days):
    assert [one[2] for one in where(saturday.write(tmp_path, ("days = 2", f"days = {days}")))] == ["[plan] days"]


# Rows and cells.


@pytest.mark.parametrize(
    ("cell", "hours"),
    [
        ("06:30:59", 6.5 + 59 / 3600),
        ("06:59", 6 + 59 / 60),
        ("23:59:59", 24 - 1 / 3600),
        ("12:00 am", 0.0),
        ("12:59 pm", 12 + 59 / 60),
        ("1:00 pm", 13.0),
        ("00:00", 0.0),
    ],
)
def test_clocks_to_their_last_second(cell, hours):
    assert clock_hours(cell) == pytest.approx(hours, abs=1e-9)


@pytest.mark.parametrize("cell", ["24:00", "06:60", "06:30:60", "0:30 am", "13:00 pm"])
def test_no_clock_shows(cell):
    with pytest.raises(CellError):
        clock_hours(cell)


@pytest.mark.parametrize("row", [1, 2, 9])
def test_a_date_that_cannot_be_read_is_one_error_and_no_order_is_held_against_it(sound, row):
    lines = ROLL.splitlines(keepends=True)
    lines[row] = lines[row].replace("2025-06-14", "the 14th")
    (found,) = [one for one in findings(sound(takeoff_roll__csv="".join(lines))) if one.file == "takeoff_roll.csv"]
    assert (found.row, found.column) == (row + 1, "date")
    assert "'the 14th'" in found.message


def test_dates_and_clocks_that_go_back_are_told_where_they_do(sound):
    later = ROLL.replace("3,2025-06-14", "3,2025-06-15")
    assert ("takeoff_roll.csv", 5, "date") in where(sound(takeoff_roll__csv=later))
    earlier = ROLL.replace("08:10", "07:50")
    assert ("takeoff_roll.csv", 5, "clock") in where(sound(takeoff_roll__csv=earlier))
    assert where(sound(takeoff_roll__csv=ROLL.replace("08:10", "08:00"))) == []


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([4], "4"),
        ([4, 5], "4 and 5"),
        ([1, 2, 3, 4, 5], "1, 2, 3, 4 and 5"),
        ([1, 2, 3, 4, 5, 6], "1, 2, 3, 4, 5 and 1 more"),
        (list(range(10, 22)), "10, 11, 12, 13, 14 and 7 more"),
    ],
)
def test_rows_are_listed_up_to_five(rows, said):
    assert some(rows) == said


@pytest.mark.parametrize(
    ("planned", "off", "said"),
    [
        (0, 0, ""),
        (1, 0, "1 planned run is not flown yet: 1 x timed climb."),
        (2, 0, "2 planned runs are not flown yet: 2 x timed climb."),
        (0, 1, "1 planned run was called off, with a reason written down."),
        (0, 2, "2 planned runs were called off, with a reason written down."),
        (
            1,
            2,
            "1 planned run is not flown yet: 1 x timed climb. "
            "2 planned runs were called off, with a reason written down.",
        ),
    ],
)
def test_how_many_runs_are_left_and_how_many_were_called_off(sound, planned, off, said):
    header = CLIMB.splitlines()[0]
    more = [f"{5 + k},2025-06-15,,A" for k in range(planned + off)]
    text = (
        CLIMB.replace(header, header + ",exclude,notes")
        .replace("\n", ",,\n", 5)
        .replace(header + ",exclude,notes,,", header + ",exclude,notes")
    )
    blanks = "," * (header.count(",") - 3)
    text += "".join(f"{one}{blanks},{'rain' if k >= planned else ''},block 5\n" for k, one in enumerate(more))
    assert unflown_words(read(sound(timed_climb__csv=text))) == said.replace(
        "timed climb", MEASURES["timed_climb"].title
    )


def test_a_block_without_turns_comes_before_its_turns_and_no_block_before_any(sound):
    header = "run,date,clock,configuration,oat [°C],fuel [L],rpm,from [ft],to [ft],elapsed [s],notes\n"
    climbs = header + "".join(
        f"{k},2025-06-15,,A,,,,,,,{note}\n" for k, note in ((1, f'"{block_note(1, 2)}"'), (2, "block 2"))
    )
    roll = ROLL.splitlines(keepends=True)[0]
    rolls = roll + "".join(
        f"{k},2025-06-15,,B,,,,,,,,{note}\n" for k, note in ((1, "block 1"), (2, f'"{block_note(1, 2)}"'), (3, ""))
    )
    campaign = read(sound(timed_climb__csv=climbs, takeoff_roll__csv=rolls), flown=False)
    order = [(one.measure, one.block, one.turn) for one in planned_runs(campaign)]
    assert order[0] == ("takeoff_roll", 1, None)
    assert order.index(("timed_climb", 2, None)) > order.index(("timed_climb", 1, 2))
    assert len(order) == 5


def test_no_balance_without_stations_and_none_without_fuel(sound):
    whole = read(sound())
    table = whole.tables["timed_climb"]
    assert np.isfinite(centre_of_gravity(whole, table)).all()
    assert centre_of_gravity(dataclasses.replace(whole, loading=None), table) is None
    dry = {name: values for name, values in table.columns.items() if name != "fuel"}
    assert centre_of_gravity(whole, dataclasses.replace(table, columns=dry)) is None


def test_a_calibration_that_is_no_text_is_said(sound):
    found = findings(sound(position_error__csv=b"\0\1\2\xff"))
    assert {one.file for one in found} == {"position_error.csv"}


# What is offered.


def test_a_measure_of_ones_own_is_offered_as_an_example_until_there_is_one(sound):
    def free(text: str) -> list[str]:
        return [
            group.path[1] for group in outline(text) if group.path[:1] == ("measure",) and group.path[1] not in MEASURES
        ]

    example = [
        group.path[1] for group in examples() if group.path[:1] == ("measure",) and group.path[1] not in MEASURES
    ]
    assert free(TOML) == example != []
    assert free(TOML + '\n[measure.taxi_noise]\ntitle = "noise"\nresult = "level"\nunit = "m"\n') == ["taxi_noise"]


def test_the_remark_that_opens_the_file_is_about_the_campaign_and_not_about_its_first_entry():
    text = template_files()["campaign.toml"]
    opening = [line.removeprefix("# ") for line in text.partition("\n\n")[0].splitlines()]
    top = examples()[0]
    assert top.path == ()
    assert top.help == " ".join(opening)
    assert top.entry("title").help == ""
