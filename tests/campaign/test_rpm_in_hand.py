"""The rpm in hand stands with the answer, by measure and configuration, true to the readings in every direction.

Limits, engine speeds and the tachometer's error are written here; what is said is worked out from them by hand.
"""

from __future__ import annotations

import json
import re

import pytest
from sound_campaign import CLIMB, TOML

from samesky.campaign.derived.cautions import TIPS, of_the_change
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.report.page import page
from samesky.report.terminal import print_answers
from samesky.worksheets.answers import Answers
from samesky.worksheets.campaign_context import rendered

#: A tachometer that reads to a standard uncertainty of 20 rpm, and no other error of it.
TACHOMETER = """
[instrument.tachometer]
standard_uncertainty = "0.0001 %"
scope = "campaign"
[instrument.tachometer_reading]
standard_uncertainty = "20 rpm"
"""


def folder(sound, a=(5200, 5220), b=(5350, 5340), limit="5800 rpm", throttled=None, exclude=None, toml=TACHOMETER):
    head, *rows = CLIMB.strip().splitlines()
    speeds = [a[0], b[0], a[1], b[1]]
    lines = [f"{head},throttled,exclude" if throttled is not None else f"{head},exclude"]
    for k, row in enumerate(rows):
        cells = row.split(",")
        cells[6] = str(speeds[k])
        more = [throttled[k]] if throttled is not None else []
        lines.append(",".join([*cells, *more, (exclude or {}).get(k, "")]))
    text = TOML.replace('rpm_limit = "5800 rpm"\n', f'rpm_limit = "{limit}"\n' if limit else "") + toml
    return sound(timed_climb__csv="\n".join(lines) + "\n", campaign__toml=text)


def climb(place):
    campaign = read(place)
    assert not [one.sentence() for one in campaign.findings if one.kind == "error"]
    return campaign, next(one for one in compare(campaign) if one.measure == "timed_climb")


def everywhere(campaign, found, capsys):
    """Everything that a reader is told: terminal with details, page, the worksheets' verdict, JSON."""
    print_answers(campaign, [found], details=True)
    long = capsys.readouterr().out
    values = {"answers": Answers(campaign, [], [found], campaign), "base": "", "here": "verdict"}
    texts = [long, page(campaign, [found]), rendered("so_far.html", values)]
    plain = [
        re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", text).replace("\u00a0", " ").replace("&#39;", "'")) for text in texts
    ]
    return [*plain, json.dumps(found.to_json(), allow_nan=False)]


def test_each_side_has_its_own_margin_with_the_reading_error(sound, capsys):
    campaign, found = climb(folder(sound))
    told = found.to_json()["rpm"]
    # By hand: 1 - 5220/5800 and 1 - 5350/5800; twice 20 of 5800 rpm.
    assert told["A"]["in_hand_percent"] == pytest.approx(10.0, abs=0.01)
    assert told["B"]["in_hand_percent"] == pytest.approx(7.76, abs=0.01)
    assert (told["A"]["highest"], told["A"]["run"], told["A"]["limit"]) == (5220.0, "3", 5800.0)
    assert (told["B"]["highest"], told["B"]["run"], told["B"]["runs"]) == (5350.0, "2", 2)
    assert told["A"]["reading_error_percent"] == pytest.approx(0.69, abs=0.01)
    assert [told[key]["over_limit"] for key in "AB"] == ["no", "no"]
    assert found.cautions == ()
    for text in everywhere(campaign, found, capsys)[:-1]:
        assert "rpm in hand: A 10.0 % (highest 5220 of 5800 rpm), B 7.8 % (highest 5350 of 5800 rpm)" in text
        assert "reading error 0.7 %" in text
        assert "ver-speed" not in text.partition("Limits and cautions")[0]


@pytest.mark.parametrize(("limit", "rpm"), [(None, True), ("5800 rpm", False)])
def test_without_a_limit_or_a_reading_there_is_nothing_to_say(sound, capsys, limit, rpm):
    place = folder(sound, limit=limit)
    if not rpm:
        text = (place / "timed_climb.csv").read_text()
        (place / "timed_climb.csv").write_text(text.replace("rpm,", "speed of it,"))
    campaign, found = climb(place)
    assert found.to_json()["rpm"] is None
    assert not any("rpm in hand:" in text for text in everywhere(campaign, found, capsys))


@pytest.mark.parametrize(
    ("b", "state", "within"),
    [
        ((5350, 5861), "yes", False),
        ((5350, 5810), "yes", True),
        ((5350, 5790), "possible", None),
        ((5350, 5750), "no", None),
    ],
)
def test_an_over_speed_is_said_with_the_answer(sound, capsys, b, state, within):
    campaign, found = climb(folder(sound, b=b))
    assert found.to_json()["rpm"]["B"]["over_limit"] == state
    for text in everywhere(campaign, found, capsys):
        assert ("B reached " + str(b[1]) + " rpm in run 4" in text) is (state != "no")
        assert ("Over-speed: B" in text) is (state == "yes")
        assert ("Possible over-speed: B" in text) is (state == "possible")
        assert ("looked into by the engine's papers before the next flight" in text.partition("Limits and")[0]) is (
            state == "yes"
        )
        if state == "yes":
            assert ("by less than the reading error" in text) is within
        assert "A reached" not in text


def test_both_sides_over_in_one_sentence_each_with_its_own_reading(sound):
    _, found = climb(folder(sound, a=(5900, 5220), b=(5350, 6000)))
    (caution,) = found.cautions
    assert "A reached 5900 rpm in run 1" in caution
    assert "B reached 6000 rpm in run 4" in caution


def test_a_run_that_was_left_out_was_flown_and_counts_for_the_engine(sound):
    place = folder(sound, b=(5350, 5900), exclude={3: "baulked"})
    _, found = climb(place)
    assert found.runs["B"] == 1
    assert "B reached 5900 rpm in run 4" in found.cautions[0]


def test_the_reading_error_is_that_of_the_campaign(sound):
    for size, expected in (("20 rpm", 40 / 5800), ("60 rpm", 120 / 5800)):
        _, found = climb(folder(sound, toml=TACHOMETER.replace("20 rpm", size)))
        assert found.rpm["A"].uncertainty == pytest.approx(expected, rel=1e-3)
    # The shipped tachometer: a rectangular 2 % of the reading and a rectangular 10 rpm (JCGM 100, 4.3.7), twice.
    _, found = climb(folder(sound, toml=""))
    by_hand = 2 * (((0.02 * 5220) ** 2 + 10**2) / 3) ** 0.5 / 5800
    assert found.rpm["A"].uncertainty == pytest.approx(by_hand, rel=1e-6)


def test_runs_that_were_throttled_back_are_named(sound, capsys):
    campaign, found = climb(folder(sound, throttled=["", "yes", "no", "Y"]))
    assert found.to_json()["rpm"]["B"]["throttled"] == ["2", "4"]
    assert found.to_json()["rpm"]["A"]["throttled"] == []
    said = "Runs 2 and 4 of B were throttled back for the rpm limit"
    assert sum(said in warning for warning in found.warnings) == 1
    for text in everywhere(campaign, found, capsys)[:-1]:
        assert said in text or "throttled back for the limit: B in runs 2 and 4" in text
    _, found = climb(folder(sound, throttled=["yes", "", "", ""]))
    assert any("Run 1 of A was throttled back" in warning for warning in found.warnings)
    _, found = climb(folder(sound, throttled=["", "", "no", ""]))
    assert not any("throttled" in warning for warning in found.warnings)


def test_other_words_under_throttled_are_refused(sound):
    campaign = read(folder(sound, throttled=["", "half", "", ""]))
    (wrong,) = [one for one in campaign.findings if one.kind == "error"]
    assert (wrong.column, wrong.row) == ("throttled", 3)
    assert "expected yes" in wrong.message


@pytest.mark.parametrize(
    ("a", "b", "throttled", "asked"),
    [
        ((5700, 5710), (5800, 5795), None, "B"),
        ((5800, 5800), (5700, 5720), None, "A"),
        ((5800, 5700), (5800, 5795), None, ""),
        ((5700, 5710), (5800, 5740), None, ""),
        ((5700, 5710), (5800, 5795), ["", "yes", "", "yes"], ""),
    ],
)
def test_where_one_side_stands_at_the_limit_it_is_asked_whether_it_was_throttled(sound, a, b, throttled, asked):
    _, found = climb(folder(sound, a=a, b=b, throttled=throttled))
    said = [warning for warning in found.warnings if "stands at the rpm limit" in warning]
    assert [warning.partition("Every run of ")[2][:1] for warning in said] == ([asked] if asked else [])


def test_between_planned_looks_an_over_speed_is_still_said(sound, capsys):
    place = folder(sound, b=(5350, 5900))
    toml = (place / "campaign.toml").read_text() + "\n[plan]\nlooks = 2\nlooks_after_runs = [20, 40]\n"
    campaign, found = climb(sound(campaign__toml=toml, timed_climb__csv=(place / "timed_climb.csv").read_text()))
    assert found.withheld
    for text in everywhere(campaign, found, capsys):
        assert "B reached 5900 rpm in run 4" in text


@pytest.mark.parametrize(("diameter", "said"), [("1.70 m", False), ("1.75 m", True)])
def test_the_tips_clearance_where_diameter_is_compared(sound, diameter, said):
    first, _, second = TOML.rpartition('diameter = "1.70 m"')
    campaign = read(sound(campaign__toml=f'{first}diameter = "{diameter}"{second}'))
    assert (of_the_change(campaign) == (TIPS,)) is said
    assert (TIPS[:60] in page(campaign, compare(campaign))) is said
