"""What a message proposes in place of a wrong value is what the template writes there: its unit can be copied unseen.

The reference is the template itself. A number without a unit gets none attached: 0.72 kg/m^3 of fuel weighs nothing.
"""

from __future__ import annotations

import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky import units
from samesky.campaign.entries.edit import with_entry
from samesky.campaign.entries.schema import examples
from samesky.campaign.reading.read import read
from samesky.campaign.toml.section import FILE

DENSITY = ("aeroplane", "fuel")


@pytest.fixture
def folder(tmp_path):
    return put_campaign(tmp_path / "hangar")


@pytest.mark.parametrize("text", ["0.72", "6", "fast", "0.72 kg", "a, b"])
def test_fuel_is_proposed_in_kilograms_a_litre(folder, text):
    visitor = Visitor(folder.parent)
    answer = visitor.entry(".".join(DENSITY), "weight_per_volume", text).json()
    ((_, said),) = answer["wrong"]
    assert 'For example: "0.72 kg/L"' in said
    assert "m^3" not in said
    page = visitor.get("/c/climbs/settings").text
    assert "0.72 kg/L" in page
    assert "m^3" not in page


def _entries():
    for group in examples():
        for entry in group.entries:
            value = entry.example.partition(",")[0]
            if entry.kind in ("text", "list") and value[:1].isdigit() and value[-1:].isalpha() and " " in value:
                yield pytest.param(group.path, entry.name, value, id=".".join((*group.path, entry.name)))


@pytest.mark.parametrize(("path", "name", "example"), list(_entries()))
def test_every_entry_with_a_unit_proposes_the_templates_own(folder, path, name, example):
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(with_entry(text, path, name, "0.5"), encoding="utf-8")
    said = [one for one in read(folder).findings if one.file == FILE and plain(one.column) == plain(f"{path} {name}")]
    for one in said:
        assert "0.5 " not in one.message + one.mend
        if "For example: " in one.mend and "…" not in one.mend:
            assert example in one.mend


def plain(text) -> str:
    return "".join(letter for letter in str(text).lower().replace("_", "") if letter.isalnum())


def test_what_is_proposed_is_taken(folder):
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(with_entry(text, DENSITY, "weight_per_volume", "0.72 kg/L"), encoding="utf-8")
    assert not [one for one in read(folder).findings if one.kind == "error"]
    assert read(folder).loading.fuel_density == pytest.approx(720.0)


def test_a_column_without_its_unit_is_proposed_as_a_fresh_file_has_it(folder):
    csv = folder / f"{STEM}.csv"
    text = csv.read_text(encoding="utf-8")
    for written, bare in (("from [ft]", "from"), ("fuel [L]", "fuel"), ("to [ft]", "to [kg]")):
        assert written in text
        csv.write_text(text.replace(written, bare), encoding="utf-8")
        said = " ".join(one.mend for one in read(folder).findings if one.kind == "error")
        assert written in said


def test_no_unit_is_put_behind_a_bare_number():
    with pytest.raises(units.UnitError, match=r"'0\.72' has no unit; expected a density, in kg/L, "):
        units.parse("0.72", "density")
