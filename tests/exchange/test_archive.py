"""A zip from somebody else: what is sound comes back whole, what could do harm is refused in one sentence."""

from __future__ import annotations

import io
import stat
import struct
import zipfile

import pytest
from hostile_zips import Member, bomb, deflated, overlapping, plain, usual, written
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.exchange.zip import archive
from samesky.exchange.zip.archive import campaign_files, safe_members, zip_bytes

CAMPAIGN = {"campaign.toml": TOML, "takeoff_roll.csv": ROLL, "timed_climb.csv": CLIMB}


def refused(data: bytes, file: str = "sent.zip") -> str:
    """What is said of it; nothing but the one error may be raised, and never a traceback's cause."""
    with pytest.raises(CampaignError) as stopped:
        campaign_files(data, file)
    assert "\n" not in str(stopped.value)
    return str(stopped.value)


def or_one_sentence(data: bytes) -> dict[str, str]:
    """What is in it, or nothing where it is refused in one sentence; any other error fails the test."""
    try:
        return campaign_files(data, "sent.zip")
    except CampaignError as error:
        if "\n" in str(error):
            raise
        return {}


# What is sound.


def test_a_zip_gives_back_what_was_put_in():
    data = zip_bytes(CAMPAIGN | {"README.txt": b"how it was flown\n"})
    findings = []
    assert campaign_files(data, "sent.zip", findings) == CAMPAIGN | {"README.txt": "how it was flown\n"}
    assert findings == []
    with zipfile.ZipFile(io.BytesIO(data)) as independent:
        assert independent.testzip() is None
        assert independent.namelist() == sorted([*CAMPAIGN, "README.txt"])


def test_the_same_files_are_the_same_bytes():
    one, two = zip_bytes(CAMPAIGN), zip_bytes(dict(reversed(CAMPAIGN.items())))
    assert one == two
    assert {info.date_time for info in zipfile.ZipFile(io.BytesIO(one)).infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_a_zipped_folder_is_the_folder():
    data = written(plain("mine/", b"", 0o040755), *(plain(f"mine/{n}", t.encode()) for n, t in CAMPAIGN.items()))
    findings = []
    assert campaign_files(data, "sent.zip", findings) == CAMPAIGN
    assert [finding.message for finding in findings if "mine/" not in finding.message] == []


def test_what_systems_and_people_leave_in_a_folder_is_left_out_and_said():
    left = ["__MACOSX/mine/._campaign.toml", "mine/.DS_Store", "mine/Thumbs.db", "mine/.unsaved/takeoff_roll.csv"]
    left += ["mine/strip at 10:30\u202fAM.jpg", "mine/reduced/takeoff_roll.csv"]
    for name in left:
        findings = []
        data = written(*(plain(f"mine/{n}", t.encode()) for n, t in CAMPAIGN.items()), plain(name, b"\0\1\2"))
        assert campaign_files(data, "sent.zip", findings) == CAMPAIGN, name
        (finding,) = findings
        assert finding.kind == "warning"
        assert name.replace("\u202f", " ")[:30] in finding.sentence()


def test_what_is_left_out_is_never_unpacked(monkeypatch):
    opened = []
    plainly = archive._unpacked
    monkeypatch.setattr(
        archive, "_unpacked", lambda a, info, *more: opened.append(info.filename) or plainly(a, info, *more)
    )
    campaign_files(usual(**CAMPAIGN, film__mov=bytes(30_000_000)), "sent.zip")
    assert sorted(opened) == sorted(CAMPAIGN)


def test_old_windows_text_is_read_and_reported():
    findings = []
    found = campaign_files(usual(campaign__toml=TOML, notes__txt="15 °C".encode("cp1252")), "sent.zip", findings)
    assert found["notes.txt"] == "15 °C"
    assert [finding.file for finding in findings] == ["notes.txt"]


class Pipe(io.RawIOBase):
    """Somewhere to write to that cannot be gone back in, as when a phone sends a zip while making it."""

    def __init__(self):
        self.sent = b""

    def writable(self) -> bool:
        return True

    def write(self, piece) -> int:
        self.sent += bytes(piece)
        return len(piece)


def test_zips_as_other_programs_make_them():
    """Stored, streamed (sizes after the data), with records for four gigabytes, with a remark, from another system."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as container:
        container.comment = b"packed on Saturday"
        container.mkdir("mine")
        for name, text in CAMPAIGN.items():
            info = zipfile.ZipInfo(f"mine/{name}", (2026, 4, 11, 12, 0, 0))
            info.create_system, info.external_attr = 0, 0x20
            with container.open(info, "w", force_zip64=True) as member:
                member.write(text.encode())
    assert campaign_files(stream.getvalue(), "sent.zip") == CAMPAIGN
    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as container:
        for name, text in CAMPAIGN.items():
            container.writestr(name, text)
    assert campaign_files(pipe.sent, "sent.zip") == CAMPAIGN
    assert zipfile.ZipFile(io.BytesIO(pipe.sent)).infolist()[0].flag_bits & 0x8


# What is no zip, or no zipped campaign.


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "empty"),
        (CLIMB.encode(), "a text file"),
        (b"%PDF-1.7\n\xe2\xe3", "a PDF"),
        (b"\x89PNG\r\n\x1a\n\0\0", "a picture"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "an old office document"),
        (b"\x1f\x8b\x08" + bytes(20), "a gzip archive"),
        (b"<!DOCTYPE html><html></html>", "a web page"),
        (bytes(range(256)), "of no kind that is known"),
        (usual(xl__workbook="").replace(b"PK\x03\x04", b"PK\x07\x08", 1), "one part of a zip in several parts"),
    ],
)
def test_what_is_no_zip_is_called_by_its_name(data, kind):
    assert f"is no zip: it is {kind}" in refused(data)


@pytest.mark.parametrize(
    ("names", "kind"),
    [
        (("[Content_Types].xml", "word/document.xml"), "a document (.docx)"),
        (("[Content_Types].xml", "xl/workbook.xml"), "a workbook (.xlsx)"),
        (("mimetype", "META-INF/manifest.xml", "content.xml"), "an office document (.ods or .odt)"),
    ],
)
def test_a_renamed_office_document_is_called_by_its_name(names, kind):
    assert kind in refused(usual(**dict.fromkeys(names, "<x/>")))


def test_a_zip_without_a_campaign_says_where_one_is():
    assert "there is no campaign.toml in it." in refused(usual(takeoff_roll__csv=ROLL))
    two = written(plain("one/campaign.toml"), plain("two/campaign.toml"))
    assert "only below: one/campaign.toml and two/campaign.toml" in refused(two)


def test_a_workbook_under_the_name_of_a_csv_is_not_left_out_but_refused():
    assert "takeoff_roll.csv: the file is not text" in refused(usual(campaign__toml=TOML, takeoff_roll__csv=b"\0\1"))


# What is damaged.


def test_cut_anywhere_it_is_refused():
    data = zip_bytes(CAMPAIGN)
    for twentieth in range(20):
        said = refused(data[: len(data) * twentieth // 20])
        assert "damaged or cut short" in said or "is no zip" in said, twentieth
    assert "damaged or cut short" in refused(data[:-1])


def test_a_wrong_checksum_is_refused():
    assert "damaged" in refused(written(plain("campaign.toml", TOML.encode(), crc=1)))
    content = bytearray(zip_bytes(CAMPAIGN))
    content[60] ^= 0xFF
    assert "damaged" in refused(bytes(content))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 255)), min_size=1, max_size=8), st.integers(0, 40))
def test_whatever_bytes_are_spoilt_it_is_the_campaign_or_one_sentence(spoilt, cut):
    data = bytearray(zip_bytes(CAMPAIGN))
    for place, value in spoilt:
        data[place % len(data)] = value
    del data[len(data) - cut :]
    # Names and dates carry no checksum; what is in the files does.
    assert set(or_one_sentence(bytes(data)).values()) <= set(CAMPAIGN.values())


# What would do harm.


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("../campaign.toml", "would leave the folder"),
        ("mine/../../campaign.toml", "would leave the folder"),
        ("mine/..", "would leave the folder"),
        ("/etc/passwd", "absolute path"),
        ("//server/share/x.csv", "absolute path"),
        ("C:/x.csv", "names a drive"),
        ("c:x.csv", "names a drive"),
        ("..\\x.csv", "backslash"),
        ("mine\\x.csv", "backslash"),
        ("x.csv\0.txt", "NUL"),
        ("./x.csv", "a dot in place of a name"),
        ("mine//x.csv", "a blank or a dot"),
        (" /x.csv", "a blank or a dot"),
        ("x" * 300 + ".csv", "a name of 304 characters"),
        ("more.zip", "archive inside the archive"),
        ("mine/more.TGZ", "archive inside the archive"),
        ("x\u202evsc.csv", "not every machine"),
        ("x\n.csv", "not every machine"),
        ("takeoff_roll.csv:stream.csv", "not every machine"),
        ("nul.csv", "not every machine"),
        ("COM1.txt", "not every machine"),
        ("x./y.csv", "not every machine"),
    ],
)
def test_names_that_lead_elsewhere_are_refused(name, wrong):
    assert wrong in refused(written(plain("campaign.toml", TOML.encode()), plain(name)))


@pytest.mark.parametrize("name", ["../x.jpg", "/x.jpg", "C:x.jpg", "..\\x.jpg", "x\0.jpg", "x" * 300 + ".jpg"])
def test_even_where_they_would_be_left_out(name):
    assert "is not opened" in refused(written(plain("campaign.toml", TOML.encode()), plain(name)))


@pytest.mark.parametrize(
    ("mode", "wrong"),
    [(stat.S_IFLNK, "a link"), (stat.S_IFIFO, "a pipe"), (stat.S_IFCHR, "a device"), (stat.S_IFSOCK, "a device")],
)
@pytest.mark.parametrize("name", ["takeoff_roll.csv", "photograph.jpg"])
def test_links_and_devices_are_refused(mode, wrong, name):
    linked = plain(name, b"/etc/passwd", mode | 0o777)
    assert wrong in refused(written(plain("campaign.toml", TOML.encode()), linked))


@pytest.mark.parametrize("flags", [0x1, 0x41, 0x2000])
def test_encrypted_members_are_refused(flags):
    assert "is encrypted" in refused(written(plain("campaign.toml", TOML.encode(), flags=flags)))


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA, 9, 93, 99])
def test_members_packed_in_ways_that_unpack_without_bound_are_refused(method):
    """bzip2 and LZMA are unpacked by the library in one go, however much comes out."""
    assert "unusual way" in refused(written(plain("campaign.toml", TOML.encode(), method=method)))


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("takeoff_roll.csv", "takeoff_roll.csv"),
        ("takeoff_roll.csv", "Takeoff_Roll.CSV"),
        ("caf\u00e9.csv", "cafe\u0301.csv"),
        ("mine/x.csv", "mine/X.csv"),
    ],
)
def test_two_members_of_one_name_are_refused(one, two):
    assert "one and the same file" in refused(written(plain("campaign.toml"), plain(one), plain(two)))


def test_a_file_that_is_a_folder_too_is_refused():
    assert "a file and a folder at once" in refused(written(plain("a.csv"), plain("a.csv/b.csv")))
    assert "one and the same" in refused(written(plain("a.csv"), plain("a.csv/", b"", 0o040755)))


def test_an_archive_under_another_name_is_refused():
    inner = usual(campaign__toml=TOML)
    stored = Member(b"takeoff_roll.csv", inner, len(inner), zipfile.crc32(inner), method=0)
    assert "archive inside the archive" in refused(written(plain("campaign.toml", TOML.encode()), stored))


def test_too_many_members_are_refused_before_any_is_looked_at(monkeypatch):
    monkeypatch.setattr(archive.zipfile, "ZipFile", None)
    assert "more than 200 files" in refused(written(*(plain(f"{n}.csv") for n in range(201))))


@pytest.mark.parametrize(
    ("told", "wrong"), [(None, "more than 20 MB"), (0, "damaged"), (6, "damaged"), (1_000, "damaged")]
)
def test_ten_gigabytes_are_never_unpacked(monkeypatch, told, wrong):
    """Whatever size the zip tells: the truth, as far as it can be told, or nothing, or a little."""
    asked_for = []
    plainly = zipfile.ZipExtFile.read
    monkeypatch.setattr(zipfile.ZipExtFile, "read", lambda s, n=-1: asked_for.append(n) or plainly(s, n))
    data = bomb(10, told)
    assert len(data) < 12_000_000
    assert wrong in refused(data)
    assert all(0 < n <= 1_000_000 for n in asked_for)
    assert sum(asked_for) < archive.LARGEST_MEMBER + 1_000_000


def test_shrinking_as_no_text_does_is_refused():
    assert "200 times its size" in refused(usual(campaign__toml=TOML, takeoff_roll__csv=bytes(2_000_000)))


def test_what_unpacks_to_too_much_is_refused(monkeypatch):
    """Text of the usual kind, that shrinks to a tenth: only its amount is wrong."""
    monkeypatch.setattr(archive, "LARGEST_MEMBER", 100_000)
    monkeypatch.setattr(archive, "LARGEST_TOTAL", 150_000)
    row = "".join(f"{n},2025-06-14,07:00,A,{n % 97}\n" for n in range(3_000))[:90_000]
    assert "'a.csv' unpacks to more than 0.1 MB" in refused(usual(campaign__toml=TOML, a__csv=row * 2))
    assert "its members unpack to more than 0.15 MB" in refused(usual(campaign__toml=TOML, a__csv=row, b__csv=row))
    assert len(campaign_files(usual(campaign__toml=TOML, a__csv=row), "sent.zip")) == 2


def test_a_zip_that_is_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(archive, "LARGEST_ZIP", 100)
    assert "may have at most 0.0001 MB" in refused(zip_bytes(CAMPAIGN))


def test_members_that_share_their_bytes_are_refused():
    assert "its members overlap" in refused(overlapping())


def test_members_outside_the_zip_are_refused():
    for offset in (10_000, 0xFFFFFFF0):
        said = refused(written(plain("campaign.toml"), plain("x.csv", offset=offset)))
        assert "lie outside it" in said or "damaged" in said


def test_a_size_that_is_told_too_large_is_refused():
    assert "damaged" in refused(written(plain("campaign.toml", TOML.encode(), size=4_000_000_000)))


def test_whatever_the_directory_says_nothing_but_one_sentence():
    """Every two bytes of the directory's records, one after the other, set to their extremes."""
    data = written(plain("campaign.toml", TOML.encode()), plain("a.csv"))
    start = data.index(b"PK\x01\x02")
    for place in range(start, len(data) - 1):
        for value in (0, 1, 0x7FFF, 0x8000, 0xFFFF):
            spoilt = data[:place] + struct.pack("<H", value) + data[place + 2 :]
            assert set(or_one_sentence(spoilt).values()) <= {TOML, "run\n1\n"}


def test_folders_in_the_zip_are_no_members():
    data = written(plain("mine/", b"", 0o040755), plain("mine/a.csv"), plain("mine/below/", b"", 0o040755))
    assert safe_members(data, "runs.xlsx") == {"mine/a.csv": b"run\n1\n"}


def test_all_members_of_a_zip_of_another_kind():
    """What a workbook is checked by: every member is unpacked against the limits, hidden ones as well."""
    parts = {"[Content_Types].xml": b"<x/>", "_rels/.rels": b"<y/>", "xl/workbook.xml": b"<z/>"}
    assert safe_members(zip_bytes(parts), "runs.xlsx") == parts
    with pytest.raises(CampaignError, match="200 times its size"):
        safe_members(zip_bytes(parts | {"_rels/.rels": bytes(2_000_000)}), "runs.xlsx")


def test_deflated_is_what_the_library_makes():
    """The maker of hostile zips makes sound ones where nothing is told otherwise."""
    made = written(plain("campaign.toml", TOML.encode()))
    assert zipfile.ZipFile(io.BytesIO(made)).read("campaign.toml") == TOML.encode()
    assert len(deflated(bytes(1_000_000))) < 2_000
