"""The evening before: the planned example on the store, as the tests of the plan's pages ask for it."""

from __future__ import annotations

import shutil
import sys
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import httpx
import pytest

from samesky import cli
from samesky.campaign.entries.edit import with_entry, without_group
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.read import read
from samesky.planning.plan import Plan, plan
from samesky.worksheets.settings.pages import BETWEEN

DATA = Path(__file__).resolve().parents[2] / "data_synthetic" / "finer_pitch_planned"
NAME = "evening"
JSON = {"accept": "application/json"}


def put(pages) -> Path:
    """The example, on the store that is served."""
    return Path(shutil.copytree(DATA, pages.root / NAME))


def with_one_measure(folder: Path) -> Path:
    """The same evening with the timed climb alone, on one day, and a difference that few runs find: seconds less."""
    (folder / "campaign.toml").write_text(_one_measure(), encoding="utf-8")
    return folder


@cache
def _one_measure() -> str:
    text = (DATA / "campaign.toml").read_text(encoding="utf-8")
    for name in ("takeoff_roll", "static_pull", "level_speed"):
        text = without_group(without_group(text, ("plan", name)), ("measure", name))
    for mission in ("short_strip", "cross_country", "everyday"):
        text = without_group(text, ("mission", mission))
    text = with_entry(with_entry(text, ("plan",), "days", "1"), ("plan",), "looks", "")
    return with_entry(text, ("measure", "timed_climb"), "smallest_difference_that_matters", "6 %")


@cache
def whole_plan() -> Plan:
    """The plan of the example as it stands, worked out once."""
    return plan(read(DATA, flown=False))


@contextmanager
def asking(pages):
    """Asks the pages as a browser would that has been let in."""
    with httpx.Client(base_url=pages.address, headers={"origin": pages.address}, timeout=150) as opened:
        opened.get(pages.door)
        yield opened


def at(place: str = "") -> str:
    return f"/c/{NAME}/plan{place}"


def typed(client, path, name, text):
    shown = dict(client.get(f"/c/{NAME}/settings/state", headers=JSON).json()["entries"])
    seen = shown.get(f"{path}{BETWEEN * bool(path)}{plain_name(name)}", "")
    sent = {"path": path, "name": name, "text": text, "seen": seen}
    answer = client.post(f"/c/{NAME}/settings/entry", json=sent, headers=JSON)
    assert answer.status_code == 200, answer.text
    return answer.json()


def by_the_command_line(folder, monkeypatch, *asked):
    monkeypatch.setattr(sys, "argv", ["samesky", asked[0], str(folder), *asked[1:]])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert not stopped.value.code
