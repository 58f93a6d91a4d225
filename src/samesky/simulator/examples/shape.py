"""What makes up a ready-made campaign?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from samesky.simulator.scenario import Scenario
from samesky.simulator.writing import Hand, Remark


@dataclass(frozen=True, slots=True)
class Example:
    """A synthetic campaign with known truth.

    Attributes
    ----------
    name : of its folder; summary : one line for a list
    seed : of everything that is drawn
    scenario : what was really there
    toml : the text of ``campaign.toml``
    hand : how the pilot writes; remarks : notes and reasons by measure and index of the run
    story : what was really there, in words, for ``TRUTH.md``
    with_installation : whether the files have a column for it
    """

    name: str
    summary: str
    seed: int
    scenario: Scenario
    toml: str
    hand: Hand
    story: str
    remarks: Mapping[tuple[str, int], Remark] = field(default_factory=dict)
    with_installation: bool = False
