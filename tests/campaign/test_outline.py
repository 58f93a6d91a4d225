"""What campaign.toml has and may have. The independent reader is tomllib of the standard library."""

from __future__ import annotations

import re
import tomllib

from campaign_files import FILES, TEMPLATE, every_file, leaves

from samesky.campaign.entries.edit import with_entry
from samesky.campaign.entries.outline import Entry, outline, table
from samesky.campaign.messages.words import plain_name
from samesky.measures import MEASURES


@every_file
def test_the_outline_has_what_tomllib_reads_and_nothing_more(text):
    on = {(group.path, entry.name) for group in outline(text) for entry in group.entries if entry.on}
    assert on == {(path, name) for path, name, _ in leaves(tomllib.loads(text))}
    assert all(bool(entry.text) == entry.on for group in outline(text) for entry in group.entries)


@every_file
def test_every_measure_is_offered_in_every_file(text):
    there = set(tomllib.loads(text)["measure"])
    for name in MEASURES:
        group = next(group for group in outline(text) if group.path == ("measure", name))
        assert group.on == (name in there)
        assert MEASURES[name].result in group.help
        assert "BEFORE flying" in group.entry("smallest difference that matters").help


def test_whatever_the_template_switches_off_is_offered():
    """Counted by a pattern of our own over the template's lines, not by the reader under test."""
    off = re.findall(r'^# ("?[a-z_ -]+"?) = ', TEMPLATE, flags=re.MULTILINE)
    offered = [plain_name(entry.name) for group in outline(TEMPLATE) for entry in group.entries if not entry.on]
    assert len(off) > 60
    for name in set(off):
        assert offered.count(plain_name(name.strip('"'))) >= off.count(name) > 0


def test_examples_are_the_template_s_values():
    switched_on = re.sub(r'^# (?=(\[[a-z_.A-Z0-9]+\]$)|(["a-z_ \-A-Z]+ = ))', "", TEMPLATE, flags=re.MULTILINE)
    by_place = {(group.path, entry.name): entry.example for group in outline(TEMPLATE) for entry in group.entries}
    for path, name, value in leaves(tomllib.loads(switched_on)):
        shown = (
            ", ".join(map(str, value))
            if isinstance(value, list)
            else str(value).lower()
            if value in (True, False)
            else value
        )
        if path[:1] != ("mission",):
            assert by_place[path, name] == str(shown), (path, name)


def test_remarks_come_with_what_they_stand_before():
    weight = table(TEMPLATE, ("configuration", "B")).entry("weight")
    assert weight.help.startswith("Weigh the part that is changed")
    assert (weight.text, weight.on, weight.example) == ("", False, "9.8 kg")
    limits = table(TEMPLATE, ("limits",))
    assert limits.help.startswith("Runs outside are reported")
    assert limits.heading == "Limits, fixed before flying"
    assert {entry.kind for entry in limits.entries} == {"list"}
    scope = table(TEMPLATE, ("instrument", "video")).entry("scope")
    assert scope.help.startswith("who shares one and the same error")
    assert table(TEMPLATE, ("engine",)).entry("gear ratio").kind == "number"
    assert table(TEMPLATE, ("plan",)).entry("refuel").kind == "flag"


def test_a_table_with_a_name_of_its_own_is_offered_what_its_like_has():
    text = FILES["finer_pitch"]
    strips = [group for group in outline(text) if group.path[:1] == ("runway",)]
    assert [group.path[1] for group in strips] == list(tomllib.loads(text)["runway"])
    assert {entry.name for entry in strips[0].entries} == {"elevation", "slope", "heading", "surface"}
    pull = next(group for group in outline(FILES["breezy_noon"]) if group.path == ("plan", "static_pull"))
    assert pull.entry("pull").text == "180 kgf"
    assert pull.entry("ground roll") is None


def test_spelling_of_names_does_not_matter():
    text = '["Configuration".a]\nLabel = "x"\n"Lift-Off Airspeed" = "40 kt"\n'
    group = table(text, ("configuration", "A"))
    assert group.path == ("Configuration", "a")
    assert group.entry("lift-off airspeed") == Entry(
        "Lift-Off Airspeed", "40 kt", "text", "38 kt", group.entry("lift-off airspeed").help, True
    )
    assert '"Lift-Off Airspeed" = "41 kt"' in with_entry(text, ("configuration", "A"), "lift-off_airspeed", "41 kt")
