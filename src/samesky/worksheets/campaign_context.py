"""What is on the context while a page is answered: the campaign that it is about, and what the numbers say so far."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import measures_asked, read_texts
from samesky.campaign.toml.section import FILE
from samesky.measures.shape import Measure
from samesky.report import by_all_words, missions, phrases
from samesky.report.choice import hard_limits
from samesky.worksheets import page_words
from samesky.worksheets.answers import Answers, answers
from samesky.worksheets.draft import Draft
from samesky.worksheets.latest import Latest
from samesky.worksheets.library.folders import CampaignStore
from samesky.worksheets.runs.columns import Runs, calibration_file, film_file, measures_of, runs_of

TEMPLATES = Path(__file__).parent / "templates"
#: Answers kept, one for each state of the typing: moving between pages computes nothing anew.
KEPT = 16

_kept: Latest[tuple[Path, str], Answers] = Latest(KEPT)


class CampaignContext:
    """The campaign that a request is about. Raises CampaignError where there is none of that name."""

    def __init__(self, request: Request):
        self.request = request
        self.store: CampaignStore = request.app.state.store
        self.name: str = request.path_params["name"]
        self.draft = Draft(self.store.folder(self.name))
        self.draft.follow()
        self.base = f"/c/{quote(self.name, safe='')}"

    def answers(self) -> Answers:
        """What the numbers say as typed; remembered as long as nothing changes."""
        with self.draft.lock():
            key = (self.draft.folder, self.draft.version())
            return _kept.get(key) or _kept.keep(key, answers(self.draft.files()))

    def as_typed(self) -> Campaign:
        """The campaign as typed, whether flown or not, read and nothing computed. Raises CampaignError."""
        return read_texts(self.draft.files(), flown=False)

    def measures(self) -> dict[str, Measure | None]:
        """The measure of every file of runs, in the order in which they are asked for."""
        files = self.draft.files()
        # Read from the settings alone: a cell that was typed is kept before anything is computed.
        return measures_of(measures_asked(files.get(FILE, "")), files)

    def tables(self) -> dict[str, Measure | None]:
        """Every file with a table to type in: those of the measures, of the airspeed system, and of filmed rolls."""
        files = self.draft.files()
        return self.measures() | calibration_file(files) | film_file(files)

    def runs(self, stem: str) -> Runs:
        """One file of runs as typed, by its name without ``.csv``. Raises KeyError where there is none."""
        files = self.draft.files()
        for file, measure in self.tables().items():
            if file.rpartition(".")[0] == stem:
                return runs_of(file, files.get(file), measure)
        raise KeyError(stem)

    def tabs(self) -> list[tuple[str, str, str]]:
        """Name, title and address of the tab of every table."""
        tabs = [(f"runs/{file.rpartition('.')[0]}", _title(file, one)) for file, one in self.tables().items()]
        return [(where, title, quote(where)) for where, title in tabs]

    def page(self, template: str, here: str, **values: object) -> Response:
        """A page of this campaign; ``here`` names the tab."""
        said = self.answers()
        values = {
            "base": self.base,
            "name": self.name,
            "here": here,
            "tabs": self.tabs(),
            "answers": said,
            "title": said.campaign.title if said.campaign is not None and said.campaign.title else self.name,
            "changed": self.draft.changed(),
            "version": self.draft.version(),
            "alone": self.store.only is not None,
            **values,
        }
        return HTMLResponse(rendered(template, values))


def rendered(template: str, values: Mapping[str, object]) -> str:
    """A template as HTML; whatever was typed is escaped."""
    return _environment.get_template(template).render(**values)


def _title(file: str, measure: Measure | None) -> str:
    return phrases.capital(measure.title if measure is not None else file)


_environment = Environment(
    loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
)
_environment.globals |= {"page_words": page_words, "phrases": phrases, "by_all_words": by_all_words, "FILE": FILE}
_environment.globals |= {"missions": missions, "hard_limits": hard_limits}
_environment.filters["capital"] = phrases.capital
