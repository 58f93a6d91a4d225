"""In what order was everything flown, across all files, and which fitting does each run belong to?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import RunTable
from samesky.campaign.reading.flown_dates import doubtful_dates
from samesky.campaign.reading.table import TableDraft


def assemble(drafts: Sequence[TableDraft], findings: list[Finding]) -> dict[str, RunTable]:
    """Tables with days, hours and installations that count through the whole campaign; faults go to ``findings``."""
    if not drafts:
        return {}
    days = sorted({day for draft in drafts for day in draft.dates})
    hours = [np.array([24.0 * (day - days[0]).days for day in draft.dates]) + draft.clock for draft in drafts]
    installations = _installations(drafts, hours, findings)
    findings += doubtful_dates(drafts)
    return {
        draft.measure.name: RunTable(
            measure=draft.measure,
            file=draft.file,
            rows=draft.rows,
            columns=draft.columns,
            text=draft.text,
            units=draft.units,
            configuration=draft.configuration,
            installation=installation,
            day=np.array([days.index(day) for day in draft.dates], dtype=int),
            hours=flown,
        )
        for draft, flown, installation in zip(drafts, hours, installations, strict=True)
    }


def _installations(drafts: Sequence[TableDraft], hours: list[np.ndarray], findings: list[Finding]) -> list[np.ndarray]:
    """Installation counters, from 0, of each draft: as written, or else one for every change of configuration."""
    lengths = [len(draft.rows) for draft in drafts]
    ends = np.cumsum(lengths)[:-1]
    # Runs of one minute keep the order of their file: the sort is stable.
    order = np.argsort(np.concatenate(hours), kind="stable")
    configuration = np.concatenate([draft.configuration for draft in drafts])[order]
    written = [draft.fitted is not None for draft in drafts]
    counter = np.zeros(len(order), dtype=int)
    if not any(written):
        counter[order] = np.concatenate([[0], np.cumsum(configuration[1:] != configuration[:-1])])
        return np.split(counter, ends)
    if not all(written):
        has = [draft.file for draft in drafts if draft.fitted is not None]
        for draft in drafts:
            if draft.fitted is None:
                findings.append(
                    Finding(
                        "error",
                        draft.file,
                        say.INSTALLATION_MISSING_IN_FILE(has=listed(has), verb="has" if len(has) == 1 else "have"),
                        None,
                        "installation",
                    )
                )
        return np.split(counter, ends)
    numbers = np.concatenate([draft.fitted for draft in drafts])
    _check_written(drafts, numbers[order], configuration, order, findings)
    return np.split(np.unique(numbers, return_inverse=True)[1], ends)


def _check_written(
    drafts: Sequence[TableDraft],
    numbers: np.ndarray,
    configuration: np.ndarray,
    order: np.ndarray,
    findings: list[Finding],
) -> None:
    """A fitting has one configuration, and its number never goes back. Arrays are in flown order."""
    places = [(draft.file, int(row)) for draft in drafts for row in draft.rows]
    belongs: dict[int, str] = {}
    for index in range(len(numbers)):
        file, row = places[order[index]]
        number, key = int(numbers[index]), configuration[index]
        if index and number < numbers[index - 1]:
            findings.append(
                Finding(
                    "error",
                    file,
                    say.INSTALLATION_GOES_BACK(number=number, number2=numbers[index - 1]),
                    row,
                    "installation",
                )
            )
            return
        if belongs.setdefault(number, key) != key:
            findings.append(
                Finding(
                    "error",
                    file,
                    say.INSTALLATION_TWO_CONFIGURATIONS(number=number, belong=belongs[number], key=key),
                    row,
                    "installation",
                )
            )
            return


def in_flown_order(tables: Mapping[str, RunTable]) -> list[tuple[RunTable, int]]:
    """Every run of every table as (table, index), by date and clock."""
    runs = [(table, index) for table in tables.values() for index in range(len(table.rows))]
    return sorted(runs, key=lambda run: run[0].hours[run[1]])
