"""Can the order in which the runs were flown tell the configurations apart from the hour of the day?"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np

from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.reading.unflown import planned_runs
from samesky.checks import catalogue as say


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

    def find(kind: str, said: Said) -> Finding:
        return Finding(kind, table.file, said)

    if not flown:
        return [find("error", say.ORDER_ALL_LEFT_OUT())]
    ahead = {one.configuration for one in planned_runs(campaign) if one.measure == table.measure.name} - set(flown)
    alone = len(flown) == 1 or campaign.baseline not in flown
    if alone and ahead and campaign.baseline in {*flown, *ahead}:
        return [find("warning", say.ORDER_OTHER_STILL_PLANNED(flown=listed(flown), ahead=listed(sorted(ahead))))]
    if len(flown) == 1:
        (key, count) = next(iter(flown.items()))
        others = listed((other for other in counts if other != key), "or")
        runs = "the only run that counts is" if count == 1 else f"all {count} runs that count are"
        return [find("error", say.ORDER_ONE_CONFIGURATION(runs=runs, key=key, others=others))]
    found = []
    if campaign.baseline not in flown:
        found.append(find("error", say.ORDER_NO_BASELINE(baseline=campaign.baseline)))
    absent = [key for key in counts if not counts[key] and key != campaign.baseline]
    if absent:
        found.append(find("warning", say.ORDER_CONFIGURATION_NOT_FLOWN(absent=listed(absent))))
    single = [key for key, count in flown.items() if count == 1]
    if single:
        found.append(find("warning", say.ORDER_ONE_RUN(single=listed(single))))
    elif max(flown.values()) > 2 * min(flown.values()):
        shares = listed(f"{count} of {key}" for key, count in flown.items())
        found.append(find("warning", say.ORDER_UNEQUAL(shares=shares)))
    return found


def _drift(campaign: Campaign, table: RunTable) -> list[Finding]:
    """Warn where no day returns to a configuration: each day drifts in its own way, so turning round is no remedy."""
    first, second = _pair(campaign, table)
    better = {"first": first, "second": second}
    blocks = _blocks(table)
    if all(len(one) == 1 for one in blocks):
        sentence = say.ORDER_ONE_A_DAY if campaign.fitted_anew else say.ORDER_ONE_A_DAY_WHERE_FREE
        return [Finding("warning", table.file, sentence(**better))]
    mixed = [one for one in blocks if len(one) > 1]
    if any(len(one) > len(set(one)) for one in mixed):
        return []
    order = ", then ".join(f"all {key}" for key in mixed[0])
    if any(one == other[::-1] for one in mixed for other in mixed):
        order += ", and turned round on another day, which drifts in its own way"
    sentence = say.ORDER_NO_RETURN if campaign.fitted_anew else say.ORDER_NO_RETURN_WHERE_FREE
    return [Finding("warning", table.file, sentence(order=order, **better))]


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
            found.append(
                Finding(
                    "warning",
                    now.file,
                    say.CLOCK_SHORTER_THAN_SWAP(
                        text=now.text["run"][j],
                        configuration=now.configuration[j],
                        gap=60 * gap,
                        text2=before.text["run"][i],
                        the_file=before.file,
                        configuration2=before.configuration[i],
                        swap_hours=60 * campaign.swap_hours,
                    ),
                    int(now.rows[j]),
                    "clock",
                )
            )
    return found
