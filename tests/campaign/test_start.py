"""Eight answers make a campaign that reads clean, whatever is chosen, with just the columns that are needed."""

from __future__ import annotations

import itertools
import tomllib

import pytest

from samesky import units
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read_texts
from samesky.campaign.start.files import EXPECTED, LIKED, campaign_files
from samesky.campaign.start.questions import (
    ASKS,
    CHANGES,
    FLYING,
    MARGINS,
    MEASURE_OF,
    TOOLS,
    UNITS,
    deciding,
    questions,
    read_answers,
)
from samesky.measures import MEASURES

#: Nothing is flown: the one error of a fresh campaign.
NOTHING_FLOWN = {"campaign.nothing-flown", "reading.nothing-flown"}


def answered(**typed: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for number in range(8):
        found |= read_answers(questions(found)[number], typed)
    return found


def errors(files):
    found = read_texts(files).findings
    return [one.sentence() for one in found if one.kind == "error" and "nothing flown yet" not in one.sentence()]


def test_there_are_eight_and_each_says_why():
    asked = questions({})
    assert len(asked) == 8
    assert all(one.title.endswith("?") and one.why.endswith(".") for one in asked)


@pytest.mark.parametrize("change", [key for key, _ in CHANGES])
@pytest.mark.parametrize("liked", [key for key, _ in UNITS])
def test_every_change_in_every_unit_reads_without_an_error(change, liked):
    files = campaign_files(
        answered(change=change, units=liked, tools=",".join(MEASURE_OF), empty="330 kg", crew="150 kg", power="60 kW")
    )
    assert errors(files) == []
    campaign = read_texts(files)
    assert list(campaign.asked) == list(MEASURE_OF.values())
    assert campaign.fitted_anew is (change != "free")
    assert campaign.plan.swaps == (None if change == "free" else 2)
    head = files["takeoff_roll.csv"].strip().splitlines()[-1].split(",")
    assert f"ground roll [{LIKED[liked]['length']}]" in head
    assert ("installation" in head) is (change != "free")


@pytest.mark.parametrize("flying", [key for key, _ in FLYING])
def test_the_first_kind_of_flying_says_which_measure_decides(flying):
    """Of every set of tools: the measure that this flying asks for most, by the table, of those that can be had."""
    for count in (1, 2, 3):
        for tools in itertools.combinations([key for key, _ in TOOLS], count):
            found = answered(flying=f"{flying},everyday", tools=",".join(tools))
            can = [MEASURE_OF[tool] for tool in MEASURE_OF if tool in tools]
            wanted = {name: ASKS[flying].get(name, 0) for name in can}
            if any(wanted.values()):
                assert wanted[deciding(found)] == max(wanted.values())
            decides = [
                name
                for name, one in tomllib.loads(campaign_files(found)["campaign.toml"])["measure"].items()
                if one["primary"]
            ]
            assert decides == [deciding(found)]


def test_only_what_was_chosen_is_there():
    files = campaign_files(answered(tools="watch"))
    assert set(files) == {"campaign.toml", "README.txt", "timed_climb.csv"}
    assert not {"aeroplane", "engine"} & set(tomllib.loads(files["campaign.toml"]))
    assert "rpm" not in files["timed_climb.csv"].strip().splitlines()[-1]
    assert "rpm" in campaign_files(answered(rpm_limit="2750"))["timed_climb.csv"].strip().splitlines()[-1]


def test_hostile_text_stays_text():
    title = 'a"] \\ x = 1 [plan'
    data = tomllib.loads(campaign_files(answered(title=title, **{"label.A": "ä '''"}))["campaign.toml"])
    assert data["title"] == title
    assert data["configuration"]["A"]["label"] == "ä '''"


@pytest.mark.parametrize(
    ("number", "typed", "code"),
    [
        (0, {"title": "x" * 201}, "start.too-long"),
        (0, {"title": "a\nb"}, "start.too-long"),
        (0, {"change": "7"}, "start.not-offered"),
        (0, {"change": "1,2"}, "start.not-offered"),
        (2, {"tools": "hammer"}, "start.not-offered"),
        (2, {"tools": ""}, "start.empty"),
        (3, {"swaps": "two"}, "start.not-whole"),
        (3, {"swaps": "0"}, "start.not-whole"),
        (3, {"swap": "45 kg"}, "start.unreadable"),
        (3, {"swap": "-5 min"}, "start.not-positive"),
        (4, {"start": "25:00"}, "start.unreadable"),
        (4, {"fuel": "much"}, "start.unreadable"),
        (5, {"margin.timed_climb": "0 %"}, "start.not-positive"),
        (5, {"margin.timed_climb": "3 kg"}, "start.unreadable"),
        (6, {"empty": "heavy"}, "start.unreadable"),
    ],
)
def test_what_cannot_be_read_is_one_message(number, typed, code):
    with pytest.raises(CampaignError) as stopped:
        read_answers(questions(answered())[number], typed)
    assert stopped.value.finding.code == code


def test_numbers_and_keys_choose_alike():
    by_number = read_answers(questions({})[2], {"tools": "1, 3,1"})
    assert by_number == read_answers(questions({})[2], {"tools": "scale,receiver"}) == {"tools": "scale,receiver"}


def test_proposals_can_be_believed():
    """Every guess lies within what the measure believes of its columns, and every margin is one of the measure's."""
    for name, expected in EXPECTED.items():
        columns = {column.name.replace(" ", "_"): column for column in MEASURES[name].columns}
        for entry, value in expected.items():
            if entry != "time":
                size = units.parse(value, columns[entry].dimension)
                assert (columns[entry].low or 0.0) < size < (columns[entry].high or float("inf")), (name, entry)
    assert set(MARGINS) == set(EXPECTED) == set(MEASURE_OF.values())
