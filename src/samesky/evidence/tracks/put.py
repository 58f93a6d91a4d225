"""How do a track's rows and error sources get into the campaign's files without harm to what stands there?

Everything is worked out and tried in a copy first: the folder with the new rows is read and checked, and what would be
wrong afterwards that is not wrong now, other than cells which only the pilot can fill in, stops it. Then the files are
written, each beside its place and renamed.
"""

from __future__ import annotations

import codecs
import shutil
import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read
from samesky.campaign.reading.unflown import unflown_places
from samesky.campaign.tables.source_text import decode
from samesky.campaign.tables.write import write_together
from samesky.campaign.toml.section import FILE
from samesky.checks.check import check
from samesky.evidence.fill_planned import filled, moment_of
from samesky.evidence.run_file import RunFile, run_file, with_row
from samesky.evidence.stated_sources import to_append
from samesky.evidence.tracks.propose import Proposal
from samesky.measures import MEASURES

#: Hours by which the same run may begin earlier in the file than in the track: clocks are written to the minute.
SAME_RUN = 1.5 / 60


@dataclass(frozen=True, slots=True)
class Prospect:
    """What putting a proposal into a folder comes to.

    ``files`` are the whole new files, by name, in the order in which they are to be written; ``appended`` is what
    ``campaign.toml`` gets; ``left`` are the errors that remain until the pilot has filled in what no track knows.
    """

    files: Mapping[str, bytes]
    appended: str
    left: tuple[Finding, ...]


def put(folder: Path | str, proposal: Proposal) -> list[Path]:
    """Add a proposal's rows to its file and its error sources to ``campaign.toml``; give the paths written.

    Raises
    ------
    CampaignError
        nothing was chosen, a run of that date and clock is there already, an error source is stated otherwise, the
        folder would have errors that blank cells do not explain, or a file cannot be written; nothing is changed then
    """
    return write_together(Path(folder), prospect_of(folder, proposal).files)


def prospect_of(folder: Path | str, proposal: Proposal) -> Prospect:
    """What :func:`put` would write and leave to be done; raises as it does, and writes nothing."""
    folder = Path(folder)
    if not proposal.rows:
        raise cannot(proposal.found.reason and "the track", f"gives no row: {proposal.found.reason}.", "")
    campaign = read(folder, flown=False)
    rows = _with_rows(folder, proposal, campaign.day)
    toml = (folder / FILE).read_bytes()
    appended = to_append(decode(toml, FILE)[0] or "", campaign.sources, proposal.sources)
    files = ({FILE: _appended(toml, appended)} if appended else {}) | {proposal.file: rows}
    return Prospect(files, appended, tuple(_left(folder, campaign, proposal, files)))


def _with_rows(folder: Path, proposal: Proposal, day: date | None) -> bytes:
    """The file of runs with the new rows in their places by date and clock."""
    file = run_file(folder, MEASURES[proposal.measure])
    grid = file.grid.trimmed()
    for name, cell in proposal.headers.items():
        if grid.column(name) is None:
            grid = grid.with_column(cell)
        elif not file.fresh and plain_name(file.header(name)) != plain_name(cell):
            raise cannot(
                file.name,
                f"its header {file.header(name)!r} is no longer {cell!r}, for which the rows were made.",
                "Look for the runs again.",
            )
    waiting = set(unflown_places(grid, list(file.known().values())))
    if not waiting.issuperset(proposal.places):
        raise cannot(file.name, "a planned row that was to be filled is none any more.", "Look for the runs again.")
    places = proposal.places or (None,) * len(proposal.rows)
    for row, run, place in zip(proposal.rows, proposal.runs, places, strict=True):
        moments = _moments(RunFile(file.measure, file.name, grid, False), day)
        own = moment_of(row, day)
        end = own + max(SAME_RUN, (run.end - run.start) / 3600.0)
        twin = next((k for k, moment in enumerate(moments) if moment and own - SAME_RUN < moment < end), None)
        if twin is not None:
            raise cannot(
                file.name,
                f"a run within the one that began at {row['clock']} on {row.get('date') or day} is there already.",
                "Nothing was added twice. Delete that row first if the track is to take its place.",
                grid.numbers()[1][twin],
            )
        if place is not None:
            grid = filled(grid, place, row)
            continue
        later = next((k for k, moment in enumerate(moments) if moment and moment > own), len(grid.rows))
        grid = with_row(grid, row, later)
    return grid.to_text().encode("utf-8")


def _moments(file: RunFile, day) -> list[float | None]:
    """Hours of every row from a fixed midnight; None where date or clock cannot be read."""
    return [
        moment_of({"date": date, "clock": clock}, day)
        for date, clock in zip(file.column("date"), file.column("clock"), strict=True)
    ]


def _appended(before: bytes, text: str) -> bytes:
    """The bytes of the file with the text behind them, in the file's own letters and line ends."""
    encoding = "utf-8"
    if before.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16-le" if before.startswith(codecs.BOM_UTF16_LE) else "utf-16-be"
    written = before.decode(encoding, errors="replace")
    end = "\r\n" if "\r\n" in written else "\n"
    gap = "" if not written else "\n" if written.endswith("\n") else "\n\n"
    return before + (gap + text).replace("\n", end).encode(encoding)


def _left(folder: Path, campaign: Campaign, proposal: Proposal, files: Mapping[str, bytes]) -> list[Finding]:
    """Errors that the new files would have and the old ones have not; raises where blank cells do not explain one."""
    with tempfile.TemporaryDirectory(prefix="samesky-") as place:
        trial = Path(place)
        for path in folder.iterdir():
            if (path.suffix.casefold() == ".csv" or path.name == FILE) and path.name not in files and path.is_file():
                shutil.copyfile(path, trial / path.name)
        for name, data in files.items():
            (trial / name).write_bytes(data)
        after = _errors(read(trial, flown=False))
    known = Counter(_what(finding) for finding in _errors(campaign))
    new = [finding for finding in after if not known[_what(finding)]]
    written = {plain_name(name) for row in proposal.rows for name in row}
    left = []
    for finding in new:
        own = finding.file == proposal.file
        blank = finding.message.startswith("the cell is blank") and plain_name(finding.column or "") not in written
        # What is said of the file as a whole is that the other configuration is still to be flown.
        if not own or not (blank or (finding.row is None and finding.column is None)):
            raise CampaignError(finding)
        left.append(finding)
    return left


def _errors(campaign: Campaign) -> list[Finding]:
    return [finding for finding in check(campaign) if finding.kind == "error"]


def _what(finding: Finding) -> tuple[object, ...]:
    """A finding without its row: rows move when others are put between them."""
    return finding.file, finding.column, finding.message
