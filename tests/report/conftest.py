"""The synthetic campaigns, each read, compared and written out once for all tests of the report."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from html.parser import HTMLParser
from pathlib import Path

import pytest

from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.result import Comparison
from samesky.report import picture
from samesky.report.page import write_report
from samesky.simulator.examples.catalogue import EXAMPLES, write_example


@dataclass(frozen=True)
class Shown:
    """A campaign, its comparisons and the page written of them, drawn when a test first asks for it."""

    campaign: Campaign
    comparisons: list[Comparison]
    folder: Path

    @cached_property
    def path(self) -> Path:
        # All tests share it: one written while figures are not printed would show the browser's tests none.
        assert picture._address.__name__ == "_address"
        return write_report(self.campaign, self.comparisons, self.folder / "report.html")

    @cached_property
    def html(self) -> str:
        return self.path.read_text(encoding="utf-8")


def shown(folder: Path) -> Shown:
    campaign = read(folder)
    comparisons = compare(campaign)
    return Shown(campaign, comparisons, folder)


@pytest.fixture(scope="session")
def pages(tmp_path_factory) -> dict[str, Shown]:
    place = tmp_path_factory.mktemp("examples")
    return {name: shown(write_example(name, place / name)) for name in EXAMPLES}


@pytest.fixture(params=sorted(EXAMPLES))
def example(request, pages) -> Shown:
    return pages[request.param]


@pytest.fixture
def many_configurations(tmp_path):
    """Writes a campaign of this many settings of a part, each flown twice, up the list and down again."""

    def write(count: int) -> Path:
        keys = [f"C{number}" for number in range(count)]
        toml = 'title = "Settings"\nbaseline = "C0"\n[swap]\nkind = "free"\n[measure.takeoff_roll]\nprimary = true\n'
        toml += 'smallest_difference_that_matters = "5 %"\n'
        toml += "".join(f'[configuration.{key}]\nlabel = "setting {key[1:]} of the part"\n' for key in keys)
        (tmp_path / "campaign.toml").write_text(toml)
        rows = ["run,date,clock,configuration,ground roll [ft]"]
        for run, key in enumerate([*keys, *reversed(keys)]):
            minutes = 360 + 10 * run
            roll = 400 - int(key[1:]) + 7 * (run % 3)
            rows.append(f"{run + 1},2026-06-06,{minutes // 60:02d}:{minutes % 60:02d},{key},{roll}")
        (tmp_path / "takeoff_roll.csv").write_text("\n".join(rows) + "\n")
        return tmp_path

    return write


class Outline(HTMLParser):
    """What a page holds: attributes that fetch, text, headings, rows of its tables by caption."""

    def __init__(self, html: str):
        super().__init__()
        self.tags: list[str] = []
        self.fetched: list[str] = []
        self.images: list[dict[str, str | None]] = []
        self.headings: list[tuple[int, str]] = []
        self.tables: dict[str, list[list[str]]] = {}
        self.text = ""
        self._open: list[str] = []
        self._caption = ""
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        given = dict(attrs)
        self.fetched += [given[name] for name in ("src", "href", "srcset", "data", "poster", "action") if name in given]
        if tag == "img":
            self.images.append(given)
        if tag == "table":
            self._caption = ""
        if tag in ("h1", "h2", "h3", "h4"):
            self.headings.append((int(tag[1]), ""))
        if tag == "tr":
            self.tables.setdefault(self._caption, []).append([])
        if tag in ("td", "th"):
            self.tables[self._caption][-1].append("")
        if tag == "br":
            self.handle_data("\n")
        self._open.append(tag)

    def handle_endtag(self, tag):
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data):
        if "style" in self._open:
            return
        self.text += data
        if "caption" in self._open:
            self._caption += data
        elif self._open and any(tag in self._open for tag in ("td", "th")):
            self.tables[self._caption][-1][-1] += data
        elif self._open and self._open[-1] in ("h1", "h2", "h3", "h4"):
            level, said = self.headings[-1]
            self.headings[-1] = (level, said + data)


@pytest.fixture(scope="session")
def outline():
    return Outline
