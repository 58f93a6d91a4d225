"""Did these campaigns ask the same question? Only then is there one answer for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.club.answers import KIND_OF_THING, CampaignAnswer


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An answer that is not pooled, and why: a whole sentence."""

    campaign: str
    measure: str
    why: str


def alike(found: Sequence[CampaignAnswer]) -> tuple[list[CampaignAnswer], list[LeftOut]]:
    """The answers of one measure that can be pooled, each the same way round as the first, and those left out.

    ``found`` compare configurations of the same names; a pair flown with the roles exchanged is turned round. Left out
    is an answer without an interval, one about a thing of other details, one whose runs were given before, and one
    whose better is another.
    """
    kept: list[CampaignAnswer] = []
    left: list[LeftOut] = []
    seen: dict[str, str] = {}
    for one in found:
        first = kept[0] if kept else None
        why = _alone(one) or (_unlike(first, one) if first is not None else "")
        if not why and one.fingerprint in seen:
            why = f"Its runs are those of {seen[one.fingerprint]}: the same flying counts once."
        if why:
            left.append(LeftOut(one.name, one.measure, why))
            continue
        seen[one.fingerprint] = one.name
        kept.append(one if first is None or same_name(one.baseline) == same_name(first.baseline) else turned(one))
    return kept, left


def turned(one: CampaignAnswer) -> CampaignAnswer:
    """The same answer told from the other configuration: baseline and other exchanged."""
    level = one.level * float(np.exp(one.difference)) if one.ratio else one.level + one.difference
    return replace(
        one,
        baseline=one.other,
        other=one.baseline,
        baseline_label=one.other_label,
        other_label=one.baseline_label,
        difference=-one.difference,
        limit=-one.limit,
        interval_95=(-one.interval_95[1], -one.interval_95[0]),
        common={name: -effect for name, effect in one.common.items()},
        level=level,
        runs=one.runs[::-1],
    )


def _alone(one: CampaignAnswer) -> str:
    if not np.isfinite(one.standard_uncertainty):
        return "It has no interval of its own, so nobody knows what weight it deserves."
    return ""


def _unlike(first: CampaignAnswer, one: CampaignAnswer) -> str:
    for key, theirs in one.details.items():
        ours = next((details for name, details in first.details.items() if same_name(name) == same_name(key)), {})
        for detail in KIND_OF_THING:
            if detail in ours and detail in theirs and _plain(ours[detail]) != _plain(theirs[detail]):
                return (
                    f"Its {key} has {detail} {theirs[detail]}, that of {first.name} has {ours[detail]}: another thing."
                )
    if (one.better, one.ratio, one.dimension) != (first.better, first.ratio, first.dimension):
        return f"It calls {one.better} better, {first.name} calls {first.better} better."
    return ""


def same_name(name: str) -> str:
    """The name without what people write differently: case, underscores, blanks."""
    return " ".join(name.casefold().replace("_", " ").split())


def _plain(text: str) -> str:
    return "".join(text.casefold().split())
