"""Several campaigns on the terminal: a few lines a measure."""

from __future__ import annotations

from samesky.campaign.messages.words import one_line
from samesky.club.pool import Pool, PooledAnswer
from samesky.report.phrases import number
from samesky.report.pool import words

#: Campaigns listed one by one; of more, the page has them all.
MOST = 12


def lines(found: Pool) -> list[str]:
    """What to print, line by line."""
    told = []
    for one in found.answers:
        told += [*_answer(one), ""]
    for left in found.alone:
        told.append(one_line(f"Not pooled: {left.campaign}, {left.measure.replace('_', ' ')}. {left.why}"))
    for one in found.unreadable:
        told.append(one_line(f"Not read: {one.folder}: {one.why}"))
    return told if told and told[-1] else told[:-1]


def _answer(one: PooledAnswer) -> list[str]:
    told = [words.headline(one), f"  {words.mean(one)}", f"  {words.expected(one)}"]
    told += [f"  {said}" for said in (words.homogeneity(one), words.hangs(one), *words.cautious(one))]
    for answer, ends, weight in list(zip(one.campaigns, one.each, one.pooled.weights, strict=True))[:MOST]:
        share = number(100.0 * float(weight), 0)
        told.append(one_line(f"    {words.interval(one, ends[0], ends[1:])}, weight {share} %: {answer.name}"))
    if len(one.campaigns) > MOST:
        told.append(f"    and {len(one.campaigns) - MOST} more campaigns.")
    told += [one_line(f"    Left out: {left.campaign}. {left.why}") for left in one.left_out]
    return told
