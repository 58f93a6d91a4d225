"""A simulated flight as files, a campaign that asks for its runs, and the pages asked about them."""

from __future__ import annotations

import re
import sys
from functools import cache
from html import unescape
from pathlib import Path

import numpy as np
import pytest
import track_campaign
from whole_flights import as_gpx, as_igc, see, whole_flight
from worksheet_client import Visitor

from samesky import cli

TOML = track_campaign.toml("timed_climb", "level_speed")
#: Climbs read by hand, around noon of the day of the flight.
BY_HAND = """\
# by hand
run;date;clock;configuration;from [ft];to [ft];elapsed [min];notes
1;2024-05-24;12:00;B;2300;3200;1,20;
2;2024-05-24;12:10;B;2300;3200;1,19;
3;2024-05-24;12:20;B;2300;3200;1,21;
"""
CLIMBS = {"measure": "timed_climb", "configuration": "A", "utc_offset": "+02:00", "expected": "3", "bottom": "700 m"}
CLIMBS |= {"top": "1000 m"}
LEGS = {"measure": "level_speed", "configuration": "B", "utc_offset": "+02:00", "expected": "3", "legs": "3"}
LEGS |= {"oat": "8 degC", "qnh": "1015 hPa"}


@cache
def flight(kind: str = "igc") -> bytes:
    """One flight with three climbs through the band, each followed by three level legs; the same every time."""
    rng = np.random.default_rng(11)
    seen = see(whole_flight(rng), rng, 1.0, dropouts=1)
    return (as_gpx(seen) if kind == "gpx" else as_igc(seen)).encode("ascii")


def put_campaign(root: Path, name: str = "mine", files: dict[str, str] | None = None) -> Path:
    folder = root / name
    folder.mkdir(parents=True)
    for file, text in ({"campaign.toml": TOML} | (files or {})).items():
        (folder / file).write_text(text, encoding="utf-8", newline="")
    return folder


def upload(visitor: Visitor, words: dict[str, str], data: bytes | None = None, file="flight.igc", name="mine"):
    """Send a track; the answer is where it is looked at, or the page that says why not."""
    data = flight(file.rpartition(".")[2]) if data is None else data
    return visitor.post(f"/c/{name}/evidence/track", data=words, files={"file": (file, data)})


def looked(visitor: Visitor, words: dict[str, str], **options):
    """The address of the page of a track just sent, and the page."""
    answer = upload(visitor, words, **options)
    assert answer.status_code == 303, said(answer.text)
    return answer.headers["location"], visitor.get(answer.headers["location"])


def put(visitor: Visitor, page: str, **changed: str):
    """Press the button that puts the rows in."""
    form = re.search(r'<form method="post" action="([^"]+/put)".*?</form>', page, re.DOTALL)
    assert form, said(page)
    return visitor.post(form[1], data=hidden(form[0]) | changed)


def hidden(form: str) -> dict[str, str]:
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form)
    return {name: unescape(value) for name, value in found}


def said(html: str) -> str:
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


def typed(folder: Path) -> dict[str, bytes]:
    """The campaign's files as typed, byte for byte."""
    place = folder / ".unsaved" if (folder / ".unsaved").is_dir() else folder
    return {p.name: p.read_bytes() for p in place.iterdir() if p.suffix in (".csv", ".toml")}


def by_the_command_line(monkeypatch, *words: object) -> None:
    monkeypatch.setattr(sys, "argv", ["samesky", *map(str, words)])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert not stopped.value.code


def options(words: dict[str, str]) -> list[str]:
    return [part for name, text in words.items() for part in (f"--{name.replace('_', '-')}", text)]
