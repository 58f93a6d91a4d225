"""A campaign as a Data Package: is it what the standard says, and does a stranger's reader get our numbers?

The standard is that of the Data Package working group, version 2.0 (Data Package, Data Resource, Table Dialect, Table
Schema, Glossary); its implementation in Python, the package ``frictionless``, is the stranger. A second stranger reads
with pandas, told no more than the description says.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import socket
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from sound_campaign import CLIMB, ROLL, TOML

from samesky import __version__, units
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.campaign.tables.cells import clock_hours, day
from samesky.exchange.data_package.describe import DESCRIPTION, README, belonging, describe, package, slug
from samesky.exchange.own_files import own_files

EXAMPLES = sorted(path.parent for path in (Path(__file__).parents[2] / "data_synthetic").glob("*/campaign.toml"))
SOUND = {"campaign.toml": TOML, "takeoff_roll.csv": ROLL, "timed_climb.csv": CLIMB}

#: The same runs as people write them: every way of it has to give a stranger the same numbers.
SEMICOLONS = ROLL.replace(",", ";").replace("12.0", "12,0").replace("12.2", "12,25").replace("13.1", "13,1")
SEMICOLONS = re.sub(r"(\d)\.(\d)", r"\1,\2", SEMICOLONS)
WAYS = {
    "commas": ROLL,
    "semicolons and decimal commas": SEMICOLONS,
    "tabs": ROLL.replace(",", "\t"),
    "spaces after commas": ROLL.replace(",", ", "),
    "remarks above": '# flown on grass, "short"\n#\n' + ROLL,
    "remarks between": ROLL.replace("\n3,", "\n# a pause, for fuel\n3,"),
    "blank lines": "\n\n" + ROLL.replace("\n3,", "\n\n,,,,,,,,,,,\n3,") + "\n\n",
    "a spreadsheet's line ends": ROLL.replace("\n", "\r\n"),
    "a byte-order mark": "\ufeff" + ROLL,
    "other dates": ROLL.replace("2025-06-14", "14.6.2025"),
    "slashes and halves of the day": ROLL.replace("2025-06-14", "2025/6/14").replace("07:00", "7:00 am"),
    "halves of the day": re.sub(r",0?(\d+):(\d\d),", r",\1:\2 am,", ROLL),
    "clock without colon": re.sub(r",(\d\d):(\d\d),", r",\1\2,", ROLL),
    "seconds": re.sub(r",(\d\d:\d\d),", r",\1:00,", ROLL),
    "notes with all signs": ROLL.replace("gusty", '"said ""now; or, never"", # and left"'),
    "thousands apart": ROLL.replace(",1015,", ",1\u00a0015,").replace(",1014,", ",1\u00a0014,"),
    "a column without a name": ROLL.replace("notes\n", "notes,\n").replace(",,\n", ",,,\n"),
    "a column of somebody's own": re.sub(r"\n(\d+),", r"\n\1,7\1.5,", ROLL.replace("run,", "run,humidity [%],")),
}


def put(folder: Path, files: dict[str, str | bytes]) -> Path:
    folder.mkdir(exist_ok=True)
    for name, content in package(files).items():
        (folder / name).write_bytes(content)
    return folder


@pytest.fixture
def offline(monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("asked for an address")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


# Is it what the standard says?


def validated(folder: Path) -> list:
    from frictionless import Package

    return Package(str(folder / DESCRIPTION)).validate().flatten(["path", "rowNumber", "fieldName", "type", "note"])


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.name)
def test_the_examples_are_valid_by_the_standards_own_program(example, tmp_path, offline):
    assert validated(put(tmp_path / "package", own_files(example)[0])) == []


@pytest.mark.parametrize("way", [name for name in WAYS if name != "a column without a name"])
def test_every_way_of_writing_is_valid(way, tmp_path, offline):
    assert validated(put(tmp_path / "package", SOUND | {"takeoff_roll.csv": WAYS[way]})) == []


def test_what_the_standards_program_is_told_it_checks(tmp_path):
    """The validator sees what we hide from it: a changed byte, a word among numbers, a column gone."""
    folder = put(tmp_path / "package", SOUND)
    path = folder / "timed_climb.csv"
    for spoilt, kind in ((CLIMB + "\n", "hash-count"), (CLIMB.replace("62.1", "x"), "type-error")):
        path.write_text(spoilt)
        assert kind in {row[3] for row in validated(folder)}
    path.write_text(CLIMB.replace(",rpm", "").replace(",5200", ""))
    assert "incorrect-label" in {row[3] for row in validated(folder)}


def test_an_empty_template_is_valid_too(tmp_path, offline):
    assert validated(put(tmp_path / "package", template_files())) == []


def said_of(files: dict[str, str | bytes], name: str) -> dict:
    resources = json.loads(package(files)[DESCRIPTION])["resources"]
    return next(resource for resource in resources if resource["path"] == name)


def test_the_description_itself():
    """What Data Package and Data Resource 2.0 ask for, but for a licence and an identifier: we invent none."""
    said = json.loads(package(SOUND)[DESCRIPTION])
    assert said["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert said["name"] == "finer-pitch"
    assert (said["title"], said["description"]) == ("Finer pitch", "Which pitch for the short strip?")
    assert said["samesky:version"] == __version__
    assert not {"licenses", "created", "contributors", "sources", "id"} & said.keys()
    names = [resource["name"] for resource in said["resources"]]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9._-]+", name) for name in [said["name"], *names])
    assert [resource["path"] for resource in said["resources"]] == [
        "campaign.toml",
        README,
        "takeoff_roll.csv",
        "timed_climb.csv",
    ]


def test_a_resource_gives_size_hash_and_kind():
    said = said_of(SOUND, "timed_climb.csv")
    assert said["bytes"] == len(CLIMB.encode())
    assert said["hash"] == "sha256:" + hashlib.sha256(CLIMB.encode()).hexdigest()
    assert (said["format"], said["mediatype"], said["encoding"]) == ("csv", "text/csv", "utf-8")
    assert (said["type"], said["profile"]) == ("table", "tabular-data-resource")
    toml = said_of(SOUND, "campaign.toml")
    assert (toml["mediatype"], "type" in toml, "schema" in toml) == ("application/toml", False, False)


def test_fields_give_unit_meaning_and_whether_they_must_be_there():
    fields = {field["name"]: field for field in said_of(SOUND, "takeoff_roll.csv")["schema"]["fields"]}
    assert list(fields) == ROLL.splitlines()[0].split(",")
    assert fields["oat [°C]"] == {
        "name": "oat [°C]",
        "type": "number",
        "description": "Outside air temperature where the run was made.",
        "unit": "°C",
    }
    assert fields["date"]["type"] == "date"
    assert fields["date"]["constraints"] == {"required": True}
    assert (fields["clock"]["type"], fields["clock"]["format"]) == ("time", "%H:%M")
    # A run that is left out may lack its reading: the column is then not required of this file.
    assert "constraints" not in fields["ground roll [ft]"]
    climb = {field["name"]: field for field in said_of(SOUND, "timed_climb.csv")["schema"]["fields"]}
    assert climb["elapsed [s]"]["constraints"] == {"required": True}
    assert climb["rpm"]["unit"] == "rpm"


@pytest.mark.parametrize(
    ("cells", "kind"),
    [
        (("12.0", "12,2"), "string"),
        (("12", "1\u00a0200\u202f000"), "string"),
        (("\u22125", "3"), "string"),
        (("n/a", "3"), "string"),
        (("", ""), "number"),
        (("1e1", "-.5"), "number"),
    ],
)
def test_a_column_that_reads_in_more_ways_than_one_is_called_text(cells, kind):
    rows = [f"{n};2025-06-14;0{n}:00;A;{cell}" for n, cell in enumerate(cells, start=1)]
    text = "\n".join(["run;date;clock;configuration;oat [degC]", *rows]) + "\n"
    field = said_of(SOUND | {"takeoff_roll.csv": text}, "takeoff_roll.csv")["schema"]["fields"][-1]
    assert field["type"] == kind
    assert ("described as text" in field["description"]) == (kind == "string")


def test_the_calibration_of_the_airspeed_system_is_described_by_its_own_columns(tmp_path, offline):
    """Its file is no measure's, and may do without date, clock and configuration."""
    rows = "run,airspeed [kt],oat [degC],altitude [ft],speed 1 [kt],track 1 [deg]\n1,80,12,3000,85,10\n"
    files = SOUND | {"position_error.csv": rows}
    fields = {field["name"]: field for field in said_of(files, "position_error.csv")["schema"]["fields"]}
    assert all(field["description"] != "Not used by the comparison." for field in fields.values())
    assert fields["airspeed [kt]"]["constraints"] == {"required": True}
    assert (fields["track 1 [deg]"]["type"], fields["track 1 [deg]"]["unit"]) == ("number", "deg")
    assert b"position error of the airspeed system" in package(files)[README]
    assert validated(put(tmp_path / "package", files)) == []


def test_remarks_that_upset_a_plain_reader_leave_the_file_without_a_table():
    """A quotation that opens in a remark ends, for a plain reader, somewhere among the runs."""
    said = said_of(SOUND | {"takeoff_roll.csv": '#,"a pause\n' + ROLL + '#"\n'}, "takeoff_roll.csv")
    assert "schema" not in said
    assert "type" not in said
    assert said["hash"]


def test_what_we_refuse_is_never_described_as_a_number_or_a_time():
    """A decimal comma in a file of commas, a number beyond all numbers, a clock time of three digits."""
    for cells in ('1,2025-06-14,07:00,A,"12,5"', "1,2025-06-14,07:00,A,1e999", "1,2025-06-14,705,A,12.5"):
        text = f"run,date,clock,configuration,oat [degC]\n{cells}\n"
        fields = said_of(SOUND | {"takeoff_roll.csv": text}, "takeoff_roll.csv")["schema"]["fields"]
        assert [field["type"] for field in fields].count("string") == 3, cells


@pytest.mark.parametrize("content", [b"", b"\n", b"\0\1", b'"', b"#\n", "ä".encode("utf-16"), b"\xff"])
def test_files_that_cannot_be_taken_apart_are_described_as_they_are(content):
    said = said_of(SOUND | {"takeoff_roll.csv": content}, "takeoff_roll.csv")
    assert said["bytes"] == len(content)


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16"])
def test_the_encoding_is_named(encoding, tmp_path, offline):
    files = SOUND | {"takeoff_roll.csv": ROLL.encode(encoding)}
    named = said_of(files, "takeoff_roll.csv")["encoding"]
    assert ROLL.encode(encoding).decode(named) == ROLL
    assert validated(put(tmp_path / "package", files)) == []


@pytest.mark.parametrize(
    ("title", "name"),
    [("Finer pitch", "finer-pitch"), ("Größe & Maß!", "groe-ma"), ("滑走", "campaign"), ("", "campaign"), ("7", "7")],
)
def test_names(title, name):
    files = SOUND | {"campaign.toml": TOML.replace("Finer pitch", title)}
    assert json.loads(package(files)[DESCRIPTION])["name"] == name
    assert len(slug("x" * 500)) == 60


def test_names_of_resources_are_their_own():
    files = SOUND | {"campaign.csv": ROLL, "Campaign.txt": "a", "campaign.md": "b"}
    names = [resource["name"] for resource in describe(files)["resources"]]
    assert len(set(names)) == len(names) == 6
    # Of a like stem the second is -2, the third -3.
    assert sorted(name for name in names if name.startswith("campaign")) == [
        "campaign",
        "campaign-2",
        "campaign-3",
        "campaign-4",
    ]


def test_the_list_of_files_begins_with_the_settings_and_the_runs():
    files = SOUND | {"a_note.txt": "calm", "zoo.csv": ROLL}
    said = package(files)[README].decode()
    lines = [line.split() for line in said.splitlines()]
    listed = [words[0] for words in lines if words and words[0] in {*files, DESCRIPTION}]
    assert listed == ["campaign.toml", "takeoff_roll.csv", "timed_climb.csv", "zoo.csv", "a_note.txt", DESCRIPTION]
    meant = {words[0]: " ".join(words[1:]) for words in lines if words and words[0] in files}
    assert meant["a_note.txt"] == "words that belong to the campaign"
    assert meant["zoo.csv"] == "runs: one row a run, in the order flown"
    assert meant["takeoff_roll.csv"].endswith(": one row a run, in the order flown")
    assert not meant["takeoff_roll.csv"].startswith("runs")


def test_the_same_files_give_the_same_package_and_packing_again_changes_nothing():
    once = package(SOUND)
    assert package(dict(reversed(SOUND.items()))) == once
    assert package(once) == once


def test_a_campaign_file_that_cannot_be_read_is_packed_as_it_is():
    for text in ("", "title = ", "[measure]\ntakeoff_roll = 3", "measure = 7", "x = " + "[" * 5000, "title = 3"):
        assert json.loads(package(SOUND | {"campaign.toml": text})[DESCRIPTION])["name"] == "campaign"


def test_measures_neither_asked_for_nor_flown_are_left_out():
    files = {name: text.encode() for name, text in template_files().items()} | {"odd.csv": ROLL.encode()}
    files["campaign.toml"] = b'[measure.takeoff_roll]\n["measure"."Timed climb"]\n'
    kept, left = belonging(files)
    assert {name for name in kept if name.endswith(".csv")} == {"takeoff_roll.csv", "timed_climb.csv", "odd.csv"}
    assert "static_pull.csv" in left


# Does a stranger get our numbers?


def by_frictionless(folder: Path, name: str) -> list[dict]:
    from frictionless import Package

    package = Package(str(folder / DESCRIPTION))
    resource = next(one for one in package.resources if one.path == name)
    return [dict(row) for row in resource.read_rows()]


def by_pandas(folder: Path, name: str) -> list[dict]:
    """A generic reader, told by the description alone; of the rows that the dialect omits it is told by number."""
    resources = json.loads((folder / DESCRIPTION).read_text("utf-8"))["resources"]
    said = next(one for one in resources if one["path"] == name)
    dialect, fields = said["dialect"], said["schema"]["fields"]
    text = (folder / name).read_bytes().decode(said["encoding"]).lstrip("\ufeff")
    header = dialect.get("headerRows", [1])[0] - 1
    lines = text.split(dialect["lineTerminator"])
    omitted = {number - 1 for number in dialect.get("commentRows", [])}
    omitted |= {n for n, line in enumerate(lines) if line.startswith(dialect["commentChar"])} | set(range(header))
    frame = pd.read_csv(
        io.StringIO(text, newline=""),
        sep=dialect["delimiter"],
        quotechar=dialect["quoteChar"],
        doublequote=dialect["doubleQuote"],
        skipinitialspace=dialect["skipInitialSpace"],
        skiprows=sorted(omitted),
        skip_blank_lines=False,
        dtype=str,
        keep_default_na=False,
    )
    for field in (one for one in fields if one["type"] == "number"):
        bare = frame[field["name"]].str.strip().str.replace(field.get("groupChar", " "), "", regex=False)
        frame[field["name"]] = pd.to_numeric(bare.str.replace(field.get("decimalChar", "."), ".", regex=False))
    return frame.to_dict("records")


def our_numbers(table, fields: list[dict]) -> dict[str, np.ndarray]:
    """Numbers of every described column in the unit of its header, from :mod:`samesky.campaign.reading.read`."""
    density = 720.0  # kg/m^3, as in the campaign: fuel is kept as mass
    found = {}
    for field in fields:
        name = field["name"].partition("[")[0].strip()
        if field["type"] == "number" and name in table.columns:
            values = table.columns[name] / (density if name == "fuel" else 1.0)
            dimension = next(
                dimension
                for dimension in units.DIMENSIONS
                if _fits(field["unit"], dimension) and (dimension != "temperature difference")
            )
            found[field["name"]] = units.from_si(values, field["unit"], dimension)
    return found


def _fits(unit: str, dimension: str) -> bool:
    from samesky.campaign.messages.unit_fits import fits

    return fits(unit, dimension)


@pytest.mark.parametrize("reader", [by_frictionless, by_pandas])
@pytest.mark.parametrize("way", [name for name in WAYS if name != "a column without a name"])
def test_a_stranger_reads_the_numbers_that_we_read(way, reader, tmp_path, offline):
    folder = put(tmp_path / "package", SOUND | {"takeoff_roll.csv": WAYS[way]})
    campaign = read(folder)
    assert [finding for finding in campaign.findings if finding.kind == "error"] == []
    table = campaign.tables["takeoff_roll"]
    fields = said_of({n: (folder / n).read_bytes() for n in SOUND}, "takeoff_roll.csv")["schema"]["fields"]
    rows = reader(folder, "takeoff_roll.csv")
    assert len(rows) == len(table.rows) == 9
    ours = our_numbers(table, fields)
    assert len(ours) == 6
    for name, values in ours.items():
        theirs = [np.nan if row[name] is None else float(row[name]) for row in rows]
        np.testing.assert_allclose(theirs, values, rtol=1e-12, atol=1e-9, err_msg=f"{way}: {name}")


@pytest.mark.parametrize("way", [name for name in WAYS if name != "a column without a name"])
def test_a_stranger_reads_the_words_dates_and_times_that_we_read(way, tmp_path, offline):
    folder = put(tmp_path / "package", SOUND | {"takeoff_roll.csv": WAYS[way]})
    table = read(folder).tables["takeoff_roll"]
    rows = by_frictionless(folder, "takeoff_roll.csv")
    for name in ("run", "exclude", "notes"):
        assert [row[name] or "" for row in rows] == table.text[name]
    for row, date, clock in zip(rows, table.text["date"], table.text["clock"], strict=True):
        assert row["date"] == day(date)
        time = row["clock"]
        if isinstance(time, str):  # more than one way of writing it in one column
            assert way == "slashes and halves of the day"
        else:
            assert time.hour + time.minute / 60 + time.second / 3600 == clock_hours(clock)


def test_a_column_without_a_name_is_described_by_its_place():
    files = SOUND | {"takeoff_roll.csv": WAYS["a column without a name"]}
    assert said_of(files, "takeoff_roll.csv")["schema"]["fields"][-1]["name"] == "column 13"


def test_the_words_for_a_stranger():
    text = package(SOUND)[README].decode()
    for words in ("Finer pitch", "samesky check", "samesky compare", "samesky report", __version__, "timed_climb.csv"):
        assert words in text
    assert max(map(len, text.splitlines())) <= 120
