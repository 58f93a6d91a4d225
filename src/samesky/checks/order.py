"""Can the order in which the runs were flown tell the configurations apart from the hour of the day?"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np

from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.reading.unflown import planned_runs


def order_findings(campaign: Campaign) -> list[Finding]:
    """Findings on the order flown and on how the effort was shared out, by measure, and on the swaps."""
    found = []
    for table in campaign.tables.values():
        found += _effort(campaign, table)
        flown = {key for key, count in _counts(campaign, table).items() if count}
        if len(flown) > 1 and campaign.baseline in flown:
            found += _drift(campaign, table)
    return found + _swaps(campaign)


def _counts(campaign: Campaign, table: RunTable) -> dict[str, int]:
    counted = Counter(table.configuration[table.included])
    return {key: counted.get(key, 0) for key in campaign.configurations}


def _effort(campaign: Campaign, table: RunTable) -> list[Finding]:
    counts = _counts(campaign, table)
    flown = {key: count for key, count in counts.items() if count}

    def find(kind: str, message: str, mend: str) -> Finding:
        return Finding(kind, table.file, message, mend)

    if not flown:
        return [find("error", "every run is left out, so nothing can be compared.", "Fly again, or delete the file.")]
    ahead = {one.configuration for one in planned_runs(campaign) if one.measure == table.measure.name} - set(flown)
    alone = len(flown) == 1 or campaign.baseline not in flown
    if alone and ahead and campaign.baseline in {*flown, *ahead}:
        message = f"flown with {listed(flown)} so far; {listed(sorted(ahead))} is planned and still to come."
        return [find("warning", message, "Until then there is nothing to compare.")]
    if len(flown) == 1:
        (key, count) = next(iter(flown.items()))
        others = listed((other for other in counts if other != key), "or")
        runs = "the only run that counts is" if count == 1 else f"all {count} runs that count are"
        mend = f"Fly {others} too, or move the file out of this folder."
        return [find("error", f"{runs} of configuration {key}: there is nothing to compare it with.", mend)]
    found = []
    if campaign.baseline not in flown:
        message = f"no run that counts is of the baseline {campaign.baseline}."
        found.append(find("error", message, "Fly it too, or name another baseline at the top of campaign.toml."))
    absent = [key for key in counts if not counts[key] and key != campaign.baseline]
    if absent:
        found.append(find("warning", f"there is no run of {listed(absent)}.", "This measure says nothing of it."))
    single = [key for key, count in flown.items() if count == 1]
    if single:
        message = f"there is one run only of {listed(single)}: its scatter cannot be seen."
        found.append(find("warning", message, "Fly three or more of each."))
    elif max(flown.values()) > 2 * min(flown.values()):
        shares = listed(f"{count} of {key}" for key, count in flown.items())
        mend = "The same number of each says most for the same fuel."
        found.append(find("warning", f"the effort is unequal: {shares} that count.", mend))
    return found


def _drift(campaign: Campaign, table: RunTable) -> list[Finding]:
    """Warn where no day returns to a configuration: each day drifts in its own way, so turning round is no remedy."""
    better = (
        "Return to the first one before the day ends (A, B, A)."
        if campaign.fitted_anew
        else "Changing is free: alternate A B B A, so that drift falls on both alike."
    )
    first, second = _pair(campaign, table)
    better = better.replace("A", "\0").replace("B", second).replace("\0", first)
    blocks = _blocks(table)
    if all(len(one) == 1 for one in blocks):
        message = "no day has two configurations: the day and the configuration cannot be told apart."
        return [Finding("warning", table.file, message, better)]
    mixed = [one for one in blocks if len(one) > 1]
    if any(len(one) > len(set(one)) for one in mixed):
        return []
    order = ", then ".join(f"all {key}" for key in mixed[0])
    if any(one == other[::-1] for one in mixed for other in mixed):
        order += ", and turned round on another day, which drifts in its own way"
    message = f"flown {order}: a drift of the air or the pilot cannot be told apart from the configuration."
    return [Finding("warning", table.file, message, better)]


def _pair(campaign: Campaign, table: RunTable) -> tuple[str, str]:
    flown = list(dict.fromkeys(table.configuration[table.included]))
    other = next(key for key in flown if key != campaign.baseline)
    return campaign.baseline, other


def _blocks(table: RunTable) -> list[list[str]]:
    """For each day the configurations in turn, a run of the same one counted once."""
    blocks = []
    for day in np.unique(table.day):
        keys = list(table.configuration[(table.day == day) & table.included])
        if keys:
            blocks.append([keys[0], *(now for before, now in pairwise(keys) if now != before)])
    return blocks


def _swaps(campaign: Campaign) -> list[Finding]:
    """Changes of configuration that were quicker than the stated swap: a slip of the clock, most likely."""
    if not campaign.fitted_anew or not campaign.swap_hours:
        return []
    found = []
    for (before, i), (now, j) in pairwise(in_flown_order(campaign.tables)):
        gap = float(now.hours[j] - before.hours[i])
        if now.configuration[j] != before.configuration[i] and gap < 0.5 * campaign.swap_hours:
            message = (
                f"run {now.text['run'][j]} ({now.configuration[j]}) begins {60 * gap:.0f} min after run "
                f"{before.text['run'][i]} of {before.file} ({before.configuration[i]}), while a swap takes "
                f"{60 * campaign.swap_hours:.0f} min."
            )
            mend = "Check clock and configuration of both, or the time in [swap]."
            found.append(Finding("warning", now.file, message, mend, int(now.rows[j]), "clock"))
    return found
