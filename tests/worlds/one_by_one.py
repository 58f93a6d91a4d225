"""Cells that ``compare`` itself judges, campaign by campaign: several configurations, and kinds of flying."""

from __future__ import annotations

import numpy as np

from samesky.inference.comparison import compare
from samesky.report.missions import suited
from tests.worlds.campaigns import Cell, campaign_of, flown, one_of
from tests.worlds.corrections import WORLDS

ROLL, CLIMB, PULL = "takeoff_roll", "timed_climb", "static_pull"
MISSIONS = (
    "[mission.short_strip]\ntakeoff_roll = 2\ntimed_climb = 1\nstatic_pull = 1\n"
    "[mission.touring]\ntimed_climb = 2\ntakeoff_roll = 1"
)
THREE = tuple(
    Cell(f"three configurations, {how}", "A, B and C are alike", measure, letters, fitted_anew, entered=fitted_anew)
    for measure in (ROLL, CLIMB)
    for how, letters, fitted_anew in (
        ("turns", "ABCCBAACBBCA", False),
        ("two days", "AABBCCAA|CCBBAACC", True),
    )
)
KINDS = tuple(
    Cell(
        f"kinds of flying, {how}",
        "what the measures together say",
        (ROLL, CLIMB, PULL),
        letters,
        fitted_anew,
        entered=fitted_anew,
    )
    for how, letters, fitted_anew in (("turns", "ABBABAAB", False), ("two days", "AAABBB|BBBAAA", True))
)


def fly(cell: Cell, campaigns: int, seed: int, worlds=WORLDS) -> list[dict]:
    """Rows as those of :mod:`tests.worlds.study`: any false claim of a campaign counts once."""
    each = -(-campaigns // len(worlds))
    kinds = cell in KINDS
    gathered: dict[str, list[np.ndarray]] = {}
    for world, chances in zip(worlds.values(), np.random.SeedSequence(seed).spawn(len(worlds)), strict=True):
        tables = flown(world, cell, each, np.random.default_rng(chances))
        campaign = campaign_of(world, cell, tables, margin="2 %", extra=MISSIONS if kinds else "")
        claims: dict[str, list[bool]] = {}
        for number in range(each):
            one = one_of(campaign, tables, number)
            found = compare(one)
            if kinds:
                for mission in suited(one, found):
                    claims.setdefault(mission.mission, []).append(mission.answer not in ("either", "open"))
            else:
                better = any(comparison.verdict.endswith(" better") for comparison in found)
                claims.setdefault(cell.measures[0], []).append(better)
        for name, values in claims.items():
            gathered.setdefault(name, []).append(np.array(values))
    return [_row(cell, name, parts, list(worlds)) for name, parts in gathered.items()]


def _row(cell: Cell, name: str, parts: list[np.ndarray], worlds: list[str]) -> dict:
    shares = [part.mean() for part in parts]
    nothing = float("nan")
    return {
        "cell": cell.name, "measure": name, "letters": cell.letters, "design": "", "entered": int(cell.entered),
        "campaigns": sum(part.size for part in parts), "called_better": float(np.mean(shares)),
        "worst_world": worlds[int(np.argmax(shares))], "worst_called": float(np.max(shares)), "coverage": nothing,
        "worst_coverage": nothing, "half_width": nothing, "oracle": nothing, "power": nothing, "honest": 0,
    }  # fmt: skip
