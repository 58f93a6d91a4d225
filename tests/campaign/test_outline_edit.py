"""One entry of campaign.toml is changed and the rest stays as it was.

The independent readers are tomllib of the standard library and tomlkit.
"""

from __future__ import annotations

import difflib
import re
import tomllib

import pytest
import tomlkit
from campaign_files import FILES, TEMPLATE, every_file, leaves
from hypothesis import given, settings
from hypothesis import strategies as st
from slow_cases import slow_unless

from samesky.campaign.entries.edit import renamed, with_entry, with_group, without_group
from samesky.campaign.entries.outline import outline, table
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.read import read


def added_and_removed(before: str, after: str) -> tuple[list[str], list[str]]:
    changes = list(difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0))[2:]
    return [line[1:] for line in changes if line[0] == "+"], [line[1:] for line in changes if line[0] == "-"]


@every_file
def test_typing_what_is_there_changes_nothing(text):
    for group in outline(text):
        for entry in group.entries:
            assert with_entry(text, group.path, entry.name, entry.text) == text


@pytest.mark.parametrize("text", slow_unless((FILES["template"], FILES["finer_pitch"]), FILES.values()), ids=FILES)
def test_every_entry_can_be_set_to_its_example_and_taken_out_again(text):
    for group in outline(text):
        for entry in group.entries:
            value = entry.example or "12 kt"
            after = with_entry(text, group.path, entry.name, value)
            said = {(path, plain_name(name)): one for path, name, one in leaves(tomllib.loads(after))}
            assert table(after, group.path).entry(entry.name).text == value
            before = {(path, plain_name(name)): one for path, name, one in leaves(tomllib.loads(text))}
            before.pop((group.path, plain_name(entry.name)), None)
            found = said.pop((group.path, plain_name(entry.name)))
            assert said == before
            kinds = {"text": str, "number": int | float, "flag": bool, "list": str | list, "counts": list}
            assert isinstance(found, kinds[entry.kind])
            added, removed = added_and_removed(text, after)
            # One line in, one line out at most; the header of a table that was not there, and a blank over it.
            assert len(added) <= 3
            assert len(removed) <= 2
            assert all(line.startswith(("# ", f"{entry.name} ", f'"{entry.name}" ')) for line in removed)
            without = with_entry(after, group.path, entry.name, "")
            left = {(path, plain_name(name)): one for path, name, one in leaves(tomllib.loads(without))}
            assert left == before
            assert tomlkit.parse(without).unwrap() == tomllib.loads(without)


def test_an_entry_that_is_off_is_switched_on_in_its_place():
    after = with_entry(TEMPLATE, ("configuration", "A"), "weight", "12 kg")
    assert after == TEMPLATE.replace('# weight = "9.8 kg"', 'weight = "12 kg"', 1)
    after = with_entry(TEMPLATE, ("engine",), "gear ratio", "2.5")
    assert after == TEMPLATE.replace("# [engine]", "[engine]").replace("# gear_ratio = 2.22", "gear_ratio = 2.5")
    after = with_entry(TEMPLATE, ("limits",), "fuel", "20 L, 45 L")
    assert '\nfuel = ["20 L", "45 L"]\n' in after
    assert '\naltitude = ["2450 ft", "2550 ft"]\n' in with_entry(TEMPLATE, ("limits",), "altitude", "2450 ft, 2550 ft")
    assert '\nheadwind = "8 kt"\n' in with_entry(TEMPLATE, ("limits",), "headwind", "8 kt")


def test_a_remark_behind_a_value_stays():
    text = 'title = "a # b" # why\n[swap]\r\ntime = """45\nmin"""   # on a good day\r\nkind = "free"\r\n'
    assert with_entry(text, (), "title", 'c "#" d') == text.replace('"a # b"', '"c \\"#\\" d"')
    assert with_entry(text, ("swap",), "time", "30 min") == text.replace('"""45\nmin"""', '"30 min"')
    assert with_entry(text, ("swap",), "time", "45 min") == text


@pytest.mark.parametrize(
    "text",
    [
        'swap = { kind = "free", time = "5 min" }\n',
        'swap.kind = "free"\nswap.time = "5 min"\n',
        'title = "x"\n[ swap ]   # lever\nkind = "free"\ntime = "5 min"',
        '[[other]]\na = 1\n[swap]\nkind = "free"\ntime = "5 min"\n[[other]]\na = 2\n',
        'swap = { kind = "free", time = "5 min" }\n[runway.09]\nslope = "1 %"\n',
    ],
)
def test_other_ways_to_write_the_same_table(text):
    expected = tomllib.loads(text)
    expected["swap"]["time"] = "7 min"
    after = with_entry(text, ("swap",), "time", "7 min")
    assert tomllib.loads(after) == expected
    expected["swap"]["crew"] = "two"
    after = with_entry(after, ("swap",), "crew", "two")
    assert tomllib.loads(after) == expected
    del expected["swap"]["time"]
    assert tomllib.loads(with_entry(after, ("swap",), "time", "")) == expected
    del expected["swap"]
    assert tomllib.loads(without_group(after, ("swap",))) == expected


def test_a_table_is_not_switched_on_where_it_would_take_another_s_entries():
    text = '[engine]\npower = "92 hp"\n# [swap]\n# kind = "refit"\ngear_ratio = 2\n'
    after = with_entry(text, ("swap",), "kind", "free")
    assert tomllib.loads(after) == tomllib.loads(text) | {"swap": {"kind": "free"}}
    assert after.startswith(text)


anything = st.text(st.characters(codec="utf-8"), min_size=1, max_size=30) | st.sampled_from(
    [
        '"]\n[evil]\nx = 1 #',
        "'''",
        '"""',
        "\\",
        "\\u0000",
        "\x7f\x00\x1b",
        "a\r\nb",
        "#",
        "]",
        "{ x = 1 }",
        "‮",
        "\u2028",
    ]
)
places = st.sampled_from(
    [
        ((), "title"),
        ((), "date"),
        (("swap",), "time"),
        (("limits",), "gust"),
        (("configuration", "A"), "blades"),
        (("runway", "27"), "surface"),
        (("aeroplane", "station", "left seat"), "weight"),
        (("plan", "takeoff_roll"), "time"),
    ]
)


@given(st.sampled_from(list(FILES.values())), places, anything)
@settings(max_examples=150, deadline=None)
def test_a_value_comes_back_and_never_becomes_another_entry(text, place, value):
    path, name = place
    before = {(where, key): one for where, key, one in leaves(tomllib.loads(text))}
    expected = re.sub(r"\r\n|\r|\n", " ", value)
    kind = table(text, path).entry(name).kind
    if kind == "list" and expected.strip() and not re.sub("[;,]", "", expected).strip():
        with pytest.raises(CampaignError, match="expected one value"):
            with_entry(text, path, name, value)
        return
    after = with_entry(text, path, name, value)
    said = {(where, key): one for where, key, one in leaves(tomllib.loads(after))}
    before.pop((path, name), None)
    found = said.pop((path, name), None)
    assert said == before
    if not expected.strip():
        assert found is None
    elif kind == "text":
        assert found == expected
    else:
        assert "".join(found).split() == re.sub("[;,]", " ", expected).split() or ("," in expected or ";" in expected)
    assert tomlkit.parse(after).unwrap() == tomllib.loads(after)


@pytest.mark.parametrize(
    ("path", "name", "value", "says"),
    [
        (("engine",), "gear_ratio", "two", "[engine] gear_ratio: found 'two', expected a number without a unit"),
        (("engine",), "gear_ratio", "nan", "expected a number"),
        (("engine",), "gear_ratio", "1e999", "expected a number"),
        (("plan",), "refuel", "perhaps", "[plan] refuel: found 'perhaps', expected true or false"),
        (("limits",), "gust", ";,", "expected one value"),
        ((), "title", "\ud800", "signs that no file can hold"),
        (("configuration", 'A"]\n[x'), "label", "a", "expected a name of letters, digits, _ - and spaces"),
        (("configuration", "A"), "x = 1\ny", "a", "expected a name of letters"),
        (("configuration", ""), "label", "a", "expected a name of letters"),
        (("configuration", "n" * 61), "label", "a", "at most 60 signs"),
        (("title",), "label", "a", "is no table"),
        ((), "configuration", "a", "Change it in a text editor"),
    ],
)
def test_refusals_in_one_sentence(path, name, value, says):
    with pytest.raises(CampaignError) as error:
        with_entry(TEMPLATE, path, name, value)
    assert says in str(error.value)
    assert str(error.value).startswith("campaign.toml")
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("typed", "written", "means"),
    [
        ("2,22", "2.22", 2.22),
        ("2.50", "2.50", 2.5),
        ("3", "3", 3),
        ("007", "7", 7),
        (".5", "0.5", 0.5),
        ("-1", "-1", -1),
    ],
)
def test_numbers_are_written_bare(typed, written, means):
    after = with_entry(TEMPLATE, ("engine",), "gear_ratio", typed)
    assert f"\ngear_ratio = {written}\n" in after
    assert tomllib.loads(after)["engine"]["gear_ratio"] == means


def test_text_that_is_no_toml_is_refused():
    for call in (outline, lambda text: with_entry(text, (), "title", "x")):
        with pytest.raises(CampaignError, match="the line cannot be read"):
            call('title = "open\n')
    with pytest.raises(CampaignError, match="more than 200 lines"):
        with_entry("x = [\n" + "1,\n" * 300 + "]\n", (), "title", "x")


def test_a_new_table_begins_as_the_template_s_does():
    after = with_group(TEMPLATE, ("configuration", "C"))
    said = tomllib.loads(after)
    assert said.pop("configuration")["C"] == {"label": "C"}
    added, removed = added_and_removed(TEMPLATE, after)
    assert [line for line in added if line] == ["[configuration.C]", 'label = "C"']
    assert removed == []
    assert after.index('# pitch_setting = "17.5') < after.index("[configuration.C]") < after.index("[swap]")
    text = FILES["wheel_fairings"]
    pull = tomllib.loads(with_group(text, ("measure", "static_pull")))["measure"]
    assert pull["static_pull"] == {"primary": False, "smallest_difference_that_matters": "5 %"}
    alone = tomllib.loads(with_group("", ("measure", "static_pull")))["measure"]
    assert alone["static_pull"]["primary"] is True


@every_file
@pytest.mark.parametrize(
    "path",
    [
        ("configuration", "third one"),
        ("runway", "Südbahn"),
        ("aeroplane", "station", "left seat"),
        ("instrument", "tape"),
        ("mission", "tours"),
        ("plan", "static_pull"),
        ("measure", "cabin noise"),
        ("engine",),
        ("reference",),
    ],
)
def test_tables_come_and_go_and_leave_every_line_as_it_was(text, path):
    if table(text, path).on:
        return
    after = with_group(text, path)
    _, removed = added_and_removed(text, after)
    assert all(re.fullmatch(r"# \[[a-z._]+\]", line) for line in removed)
    assert table(after, path).on
    again = without_group(after, path)
    assert tomllib.loads(again) == tomllib.loads(text)
    assert tomlkit.parse(again).unwrap() == tomllib.loads(text)


@every_file
def test_a_table_is_taken_out_with_those_inside_it(text):
    for group in outline(text):
        if group.on and group.path:
            said = tomllib.loads(without_group(text, group.path))
            left = [path for path, _, _ in leaves(said)]
            assert not any(path[: len(group.path)] == group.path for path in left)
            kept = [one for one in leaves(tomllib.loads(text)) if one[0][: len(group.path)] != group.path]
            assert list(leaves(said)) == kept


def test_nothing_of_a_table_is_left_behind():
    after = without_group(TEMPLATE, ("configuration", "A"))
    assert "pitch_setting = " not in after
    assert "\n[configuration.B]\n" in after
    assert TEMPLATE.startswith(after[: after.index("[configuration.B]")].rstrip("\n"))


def test_a_table_gets_another_name_and_the_baseline_follows():
    text = FILES["finer_pitch"]
    after = renamed(text, ("configuration", "A"), "old one")
    said, before = tomllib.loads(after), tomllib.loads(text)
    assert said["baseline"] == "old one"
    before["configuration"] = {"old one": before["configuration"].pop("A"), **before["configuration"]}
    assert said == before | {"baseline": "old one"}
    assert after.count("\n") == text.count("\n")
    dotted = 'runway.09.slope = "1 %"  # up\nrunway.27.slope = "-1 %"\n'
    assert renamed(dotted, ("runway", "09"), "36") == dotted.replace("runway.09.slope", "runway.36.slope")
    for name, says in (("B", "is there already"), ("a.b", "expected a name")):
        with pytest.raises(CampaignError, match=says):
            renamed(text, ("configuration", "A"), name)
    with pytest.raises(CampaignError, match="no table that can be renamed"):
        renamed(text, ("swap",), "other")
    with pytest.raises(CampaignError, match="is there already"):
        with_group(text, ("configuration", "A"))


def test_a_template_filled_in_entry_by_entry_reads_without_an_error(tmp_path):
    """The reader of campaigns is the judge: every example of every table that is offered, typed in."""
    text = TEMPLATE
    for group in outline(text):
        for entry in group.entries:
            # A record is a file of its own beside the campaign (tests/club/test_record.py).
            if entry.name.startswith("record"):
                continue
            if entry.example and not entry.on and group.path[:1] != ("measure",):
                text = with_entry(text, group.path, entry.name, entry.example)
    for path in (("configuration", "C"), ("runway", "27")):
        text = with_group(text, path)
    text = with_entry(text, ("configuration", "C"), "weight", "9 kg")
    text = with_entry(text, ("configuration", "C"), "lift-off airspeed", "39 kt")
    # Two settings of one propeller are two numbers.
    text = with_entry(text, ("configuration", "B"), "pitch setting", "15.5 deg at 75 % radius")
    (tmp_path / "campaign.toml").write_text(text, encoding="utf-8")
    campaign = read(tmp_path, flown=False)
    assert [finding.sentence() for finding in campaign.findings if finding.kind == "error"] == []
    assert campaign.limits["gust"][1] == pytest.approx(12 * 1852 / 3600)
    assert set(campaign.configurations) == {"A", "B", "C"}


@pytest.mark.parametrize("typed", ["10, 20", "10,20", "[10, 20]", "10; 20", " 10 20 "])
def test_runs_of_looks_are_whole_numbers_however_they_are_typed(typed):
    after = with_entry("[plan]\nlooks = 2\n", ("plan",), "looks_after_runs", typed)
    assert tomllib.loads(after) == {"plan": {"looks": 2, "looks_after_runs": [10, 20]}}
    assert table(after, ("plan",)).entry("looks_after_runs").text == "10, 20"
    assert tomllib.loads(with_entry(after, ("plan",), "looks_after_runs", "7"))["plan"]["looks_after_runs"] == [7]


@pytest.mark.parametrize("typed", ["ten", "10.5, 20", "-10, 20", "10 runs", "9999999999"])
def test_looks_after_what_is_no_number_of_runs_are_refused(typed):
    with pytest.raises(CampaignError, match=r"whole numbers.*10, 20"):
        with_entry("[plan]\nlooks = 2\n", ("plan",), "looks_after_runs", typed)


def test_runs_of_looks_that_somebody_wrote_as_words_are_mended_by_typing():
    text = '[plan]\nlooks_after_runs = ["10", "20"]\n'
    after = with_entry(text, ("plan",), "looks_after_runs", "10, 30")
    assert tomllib.loads(after)["plan"]["looks_after_runs"] == [10, 30]


def test_the_entries_before_the_first_table_are_no_table_to_take_out():
    with pytest.raises(CampaignError, match="cannot be taken out in one"):
        without_group('title = "x"\n[swap]\nkind = "refit"\n', ())
