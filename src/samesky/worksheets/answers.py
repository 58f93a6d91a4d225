"""What do the numbers say so far: what is wrong with them, and the verdict of those that are sound?

While a row is being typed it is not finished, and so wrong; the verdict then rests on the others, and says so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import quote

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.files import is_table
from samesky.campaign.reading.read import read_texts
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.unflown import next_run, next_words, unflown_places, unflown_words
from samesky.campaign.tables.grid import Grid
from samesky.campaign.toml.section import FILE
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.inference.result import Comparison
from samesky.measures.columns import COMMON
from samesky.measures.shape import Column
from samesky.report.phrases import capital
from samesky.worksheets.page_words import sentence
from samesky.worksheets.server import faults

#: Rows that are taken out one after another before the pilot is asked to mend them first.
MOST_UNFINISHED = 8
#: What waits for the first run; before it, that nothing was flown is nothing to mend.
NO_RUN = "No run yet: type the first one in."
#: Codes of what is wrong while nothing is flown.
NOTHING_FLOWN = ("campaign.nothing-flown", "campaign.all-planned")
#: Cells of one row to mend from which on they are named together.
SEVERAL = 3


@dataclass(frozen=True, slots=True)
class Answers:
    """What the campaign says.

    Attributes
    ----------
    campaign : as read; None where it cannot be
    findings : everything wrong or doubtful, errors first
    comparisons : of the runs that are sound; empty where there is no verdict yet
    compared : the campaign that they are of
    without : the runs left out because their rows are not finished, in words
    lacking : how many of them each measure has, by its name
    waiting : why there is no verdict yet
    """

    campaign: Campaign | None
    findings: list[Finding]
    comparisons: list[Comparison] = field(default_factory=list)
    compared: Campaign | None = None
    without: tuple[str, ...] = ()
    lacking: Mapping[str, int] = field(default_factory=dict)
    waiting: str = ""

    @property
    def errors(self) -> list[Finding]:
        """What has to be mended."""
        return [finding for finding in self.findings if finding.kind == "error"]

    @property
    def mend(self) -> list[str]:
        """What has to be mended, in words; a row with several cells to mend is one line."""
        by_row: dict[tuple, list[Finding]] = {}
        for finding in self.errors:
            if self.waiting == NO_RUN and finding.code in NOTHING_FLOWN:
                continue
            whole = finding.row is None or finding.column is None
            by_row.setdefault((finding.file, finding.row, finding.column if whole else ""), []).append(finding)
        said = []
        for found in by_row.values():
            if len(found) < SEVERAL:
                said += [sentence(finding) for finding in found]
            else:
                columns = listed(dict.fromkeys(str(finding.column) for finding in found))
                said.append(f"{found[0].file}, row {found[0].row}: still to fill in or to mend: {columns}.")
        return said

    @property
    def ahead(self) -> tuple[str, str]:
        """Which planned run comes next, and the address of its table on these pages; blank where none is planned."""
        run = None if self.campaign is None else next_run(self.campaign)
        return ("", "") if run is None else (next_words(self.campaign), f"runs/{quote(run.file.rpartition('.')[0])}")

    @property
    def unflown(self) -> str:
        """How many planned runs are not flown yet; blank where none is planned."""
        return "" if self.campaign is None else unflown_words(self.campaign)

    def lacks(self, comparison: Comparison) -> str:
        """That a verdict is not of all runs, in words; blank where it is."""
        count = self.lacking.get(plain_name(comparison.measure), 0)
        if not count:
            return ""
        there = count + sum(comparison.runs.values()) + len(comparison.left_out)
        return f"Not of all runs: {count} of {there} {'is' if count == 1 else 'are'} left out until mended."

    @property
    def doubts(self) -> list[str]:
        """What is doubtful, in words."""
        return [sentence(finding) for finding in self.findings if finding.kind == "warning"]


def answers(files: Mapping[str, str]) -> Answers:
    """Read, check and compare the campaign of these texts, by file name."""
    campaign, findings = None, []
    try:
        try:
            campaign = read_texts(files)
        except CampaignError as error:
            return Answers(None, [error.finding], waiting="campaign.toml cannot be read yet.")
        findings = check(campaign)
        return _answered(campaign, findings, files)
    except CampaignError:
        raise
    except Exception as error:
        # Whatever it is, the table and the settings stay open to typing.
        return Answers(campaign, findings, waiting=capital(faults.words(error)))


def _answered(campaign: Campaign, findings: list[Finding], files: Mapping[str, str]) -> Answers:
    if is_sound(findings):
        return _compared(campaign, findings, campaign, ())
    if not any(_is_flown(campaign, file, text) for file, text in files.items() if is_table(file)):
        return Answers(campaign, findings, waiting=NO_RUN)
    finished, without, doubts = _finished(campaign, findings, files)
    if finished is None:
        count = sum(finding.kind == "error" for finding in findings)
        return Answers(
            campaign, findings, waiting=f"{count} error{'s' * (count != 1)} to mend before there is a verdict."
        )
    # The runs that the verdict rests on have doubts of their own, which the check stopped short of.
    said = set(findings)
    return _compared(campaign, [*findings, *(one for one in doubts if one not in said)], finished, without)


def _compared(campaign: Campaign, findings: list[Finding], sound: Campaign, without) -> Answers:
    """With the runs left out, each in words and with the plain name of its measure."""
    comparisons = compare(sound)
    waiting = "" if comparisons else "No measure has runs with both configurations yet."
    words, lacking = tuple(words for words, _ in without), Counter(measure for _, measure in without)
    return Answers(campaign, findings, comparisons, sound, words, lacking, waiting)


def _is_flown(campaign: Campaign, file: str, text: str) -> bool:
    """Whether a file has a row that is neither blank nor planned and not flown yet, or cannot be taken apart."""
    grid = _grid(campaign, file, {file: text})
    if grid is None:
        return True
    filled = sum(any(cell.strip() for cell in row) for row in grid.rows)
    return filled > len(unflown_places(grid, _columns(campaign, file)))


def _finished(campaign: Campaign, findings: list[Finding], files: Mapping[str, str]):
    """The campaign without the rows that have errors, these as in :func:`_compared`, and what is doubtful.

    None in the place of the campaign where what is wrong is not of rows.
    """
    files, without = dict(files), []
    for _ in range(MOST_UNFINISHED):
        wrong = {
            (finding.file, finding.row)
            for finding in findings
            if finding.kind == "error" and finding.row is not None and finding.file != FILE
        }
        elsewhere = [f for f in findings if f.kind == "error" and (f.file, f.row) not in wrong]
        if not wrong or any(finding.file == FILE for finding in elsewhere):
            return None, (), []
        for file in sorted({file for file, _ in wrong}):
            grid = _grid(campaign, file, files)
            if grid is None:
                return None, (), []
            numbers = grid.numbers_as_read()[1]
            if any(where == file and row not in numbers for where, row in wrong):
                return None, (), []
            for row in sorted(row for where, row in wrong if where == file):
                cells, named = grid.rows[numbers.index(row)], grid.column("run")
                name = cells[named] if named is not None and named < len(cells) and cells[named] else f"in row {row}"
                stem = plain_name(file.rpartition(".")[0])
                without.append((f"run {name} of {stem}", stem))
                grid = grid.with_blank_row(numbers.index(row))
            files[file] = grid.to_text()
        try:
            sound = read_texts(files)
        except CampaignError:
            return None, (), []
        findings = check(sound)
        if is_sound(findings):
            return sound, tuple(without), findings
    return None, (), []


def _grid(campaign: Campaign, file: str, files: Mapping[str, str]) -> Grid | None:
    """A file of runs as a grid; None for what is no such file, or cannot be taken apart."""
    try:
        return Grid.from_text(files[file], file, _known(campaign, file)) if file in files else None
    except CampaignError:
        return None


def _known(campaign: Campaign, file: str) -> list[str]:
    return [column.name for column in _columns(campaign, file)]


def _columns(campaign: Campaign, file: str) -> tuple[Column, ...]:
    asked = campaign.asked.get(file.rpartition(".")[0])
    return COMMON if asked is None else columns_of(asked.measure)
