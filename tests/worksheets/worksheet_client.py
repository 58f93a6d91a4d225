"""A small campaign, and a visitor without a browser: what the pages are asked, and what they answer."""

from __future__ import annotations

import warnings
from functools import cache
from pathlib import Path

from samesky.campaign.entries.edit import without_group
from samesky.campaign.messages.words import plain_name
from samesky.worksheets.library.folders import CampaignStore
from samesky.worksheets.server.application import application
from samesky.worksheets.settings.pages import BETWEEN

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

KEY = "a-key-for-tests"
HOST = "127.0.0.1:8123"
ORIGIN = f"http://{HOST}"
STEM = "timed_climb"
FROM = Path(__file__).resolve().parents[2] / "data_synthetic" / "finer_pitch"


@cache
def only_climbs() -> str:
    """The example's ``campaign.toml`` without its other measures and its missions."""
    text = (FROM / "campaign.toml").read_text(encoding="utf-8")
    for name in ("takeoff_roll", "static_pull", "level_speed"):
        text = without_group(text, ("measure", name))
    for name in ("short_strip", "cross_country", "everyday"):
        text = without_group(text, ("mission", name))
    return text


def campaign_files(rows: int = 8) -> dict[str, str]:
    """The climbs of one morning, and a ``campaign.toml`` that asks for nothing else."""
    lines = (FROM / f"{STEM}.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    return {"campaign.toml": only_climbs(), f"{STEM}.csv": "".join(lines[: rows + 1])}


def put_campaign(root: Path, name: str = "climbs", rows: int = 8, files: dict[str, str] | None = None) -> Path:
    folder = root / name
    folder.mkdir(parents=True)
    for file, text in (files or campaign_files(rows)).items():
        (folder / file).write_text(text, encoding="utf-8")
    return folder


class Visitor:
    """Somebody who has opened the pages with their key; every post says that it comes from a page."""

    def __init__(self, root: Path, login: bool = True, raising: bool = False):
        self.root = root
        self.client = TestClient(
            application(CampaignStore.at(root), KEY, [HOST]),
            base_url=ORIGIN,
            raise_server_exceptions=raising,
            follow_redirects=False,
        )
        if login:
            assert self.client.get("/", params={"key": KEY}).status_code == 303

    def get(self, where: str, **options):
        return self.client.get(where, **options)

    def post(self, where: str, headers: dict[str, str] | None = None, **options):
        return self.client.post(where, headers={"origin": ORIGIN, **(headers or {})}, **options)

    def send(self, where: str, json: object):
        """As the page's script posts."""
        return self.post(where, json=json, headers={"accept": "application/json"})

    def state(self, name: str = "climbs", stem: str = STEM) -> dict:
        answer = self.get(f"/c/{name}/runs/{stem}/state", headers={"accept": "application/json"})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def cell(self, row: int, column: int | str, text: str, seen: list[str] | None = None, name: str = "climbs"):
        state = None if seen is not None and isinstance(column, int) else self.state(name)
        if isinstance(column, str):
            column = index(state["header"], column)
        if seen is None:
            seen = state["rows"][row] if row < len(state["rows"]) else [""] * len(state["header"])
        return self.send(f"/c/{name}/runs/{STEM}/cell", {"row": row, "column": column, "text": text, "seen": seen})

    def settings(self, name: str = "climbs") -> dict:
        answer = self.get(f"/c/{name}/settings/state", headers={"accept": "application/json"})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def entry(self, path: str, entry: str, text: str, seen: str | None = None, name: str = "climbs"):
        """One entry of the settings typed; ``path`` with points between."""
        path = path.replace(".", BETWEEN)
        if seen is None:
            seen = dict(self.settings(name)["entries"]).get(f"{path}{BETWEEN * bool(path)}{plain_name(entry)}", "")
        return self.send(f"/c/{name}/settings/entry", {"path": path, "name": entry, "text": text, "seen": seen})

    def paste(self, row: int, column: int, text: str, name: str = "climbs"):
        return self.send(f"/c/{name}/runs/{STEM}/paste", {"row": row, "column": column, "text": text})

    def form(self, name: str = "climbs", **fields):
        return self.post(f"/c/{name}/runs/{STEM}/form", data=fields)


def index(header: list[str], name: str) -> int:
    return [cell.partition(" [")[0] for cell in header].index(name)
