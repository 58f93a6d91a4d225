"""What would the airfield's weather reports fill into the runs as typed?

The same functions as on the command line, on the folder of the draft; what they would write is kept as typing is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from samesky import units
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.tables.source_text import decode
from samesky.evidence.local_clock import utc_offset
from samesky.evidence.proposal import dry_run
from samesky.evidence.weather.propose import Fill, Heights, WeatherProposal, propose
from samesky.evidence.weather.words import REPORTS
from samesky.report.phrases import capital, places_for
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.evidence.track import keep_all, must_be_of
from samesky.worksheets.library.uploads import base_name

#: Every field of the form, with its name in messages.
CALLED = {"reports": REPORTS, "utc_offset": "UTC offset", "wing_height": "wing height"}
#: Longest text of reports: a year of half hours of one aerodrome.
LONGEST = 2_000_000
#: The wing where nothing is said of it.
WING = "1.5 m"


@dataclass(frozen=True, slots=True)
class WeatherRow:
    """One run with the cells that would be filled: ``cells`` has a text a column of its table, blank for none."""

    row: int
    run: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FilledTable:
    """One file of runs: ``columns`` are name and unit of what would be filled."""

    file: str
    columns: tuple[tuple[str, str], ...]
    rows: tuple[WeatherRow, ...]


def words_of(sent: Mapping[str, object]) -> dict[str, str]:
    """The fields as sent, blank where they were not."""
    return {name: text if isinstance(text := sent.get(name, ""), str) else "" for name in CALLED}


def text_of(data: bytes, name: str) -> str:
    """The reports in an uploaded file. Raises CampaignError for what is no text."""
    text, findings = decode(data, base_name(name) or "the file")
    if text is None:
        raise cannot(REPORTS, say.UPLOAD_REPORTS_UNREADABLE(the_file=findings[0].file, message=findings[0].message))
    return text


def offered(context: CampaignContext, words: Mapping[str, str]) -> WeatherProposal:
    """What the reports would fill into the campaign as typed; some milliseconds. Raises CampaignError."""
    if not words["reports"].strip():
        raise cannot(REPORTS, say.PAGE_NO_REPORTS())
    if len(words["reports"]) > LONGEST:
        raise cannot(REPORTS, say.PAGE_REPORTS_TOO_LONG())
    if not words["utc_offset"].strip():
        raise cannot(CALLED["utc_offset"], say.PAGE_NO_OFFSET())
    hours = utc_offset(words["utc_offset"], CALLED["utc_offset"])
    try:
        wing = units.parse(words["wing_height"].strip() or WING, "length")
    except units.UnitError as error:
        raise cannot(CALLED["wing_height"], say.PAGE_WING_HEIGHT(error=error)) from None
    try:
        return propose(context.as_typed(), words["reports"], utc_offset_hours=hours, heights=Heights(wing))
    except CampaignError as error:
        if error.finding.code != "weather.no-run":
            raise
        # What is typed is in no folder: the pilot knows it by its name.
        raise error.of(context.name) from None


def fill(context: CampaignContext, words: Mapping[str, str], version: str) -> WeatherProposal:
    """Fill the cells into what is typed; give what was filled.

    Raises StaleError where something was typed since the page of ``version``, CampaignError as
    :func:`samesky.evidence.proposal.put` does; nothing is changed then.
    """
    with context.draft.lock():
        must_be_of(context.draft, version)
        proposal = offered(context, words)
        keep_all(context.draft, dry_run(context.as_typed(), proposal).files)
    return proposal


def place_of(error: CampaignError) -> tuple[str, str]:
    """The field that a message belongs to, and its words; ``""`` where it belongs to none."""
    finding = error.finding
    for name, called in CALLED.items():
        if finding.file == called:
            return name, capital(finding.words())
    return "", finding.sentence()


def shown(fills: Iterable[Fill]) -> list[FilledTable]:
    """The cells as tables, one a file, with twice the standard uncertainty of each."""
    by_file: dict[str, list[Fill]] = {}
    for one in fills:
        by_file.setdefault(one.file, []).append(one)
    found = []
    for file, own in by_file.items():
        columns = tuple(dict.fromkeys((one.column, one.unit) for one in own))
        cells = {(one.row, one.column): _plus_minus(one) for one in own}
        runs = dict.fromkeys((one.row, one.run) for one in own)
        rows = [
            WeatherRow(row, run, tuple(cells.get((row, name), "") for name, _ in columns)) for row, run in sorted(runs)
        ]
        found.append(FilledTable(file, columns, tuple(rows)))
    return found


def _plus_minus(one: Fill) -> str:
    dimension = _DIMENSIONS.get(one.column, "speed")
    spread = 2.0 * float(units.from_si(one.uncertainty, one.unit, dimension))
    return f"{one.text} ± {spread:.{places_for(spread)}f}" if spread > 0 else one.text


_DIMENSIONS = {"oat": "temperature difference", "dew point": "temperature difference", "qnh": "pressure"}
