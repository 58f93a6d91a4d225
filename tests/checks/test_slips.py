"""Does a gross slip that changes the answer stay unseen? And does a sound campaign stay unsuspected?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from slip_kinds import spoilt
from slip_worlds import drawn
from slow_cases import slow_unless

from samesky.campaign.derived.prepare import prepare
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import is_sound
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.checks.slips import slip_findings
from samesky.inference.comparison import compare

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
EXAMPLES = [folder for folder in sorted(DATA.iterdir()) if any(folder.glob("*.csv"))]
#: Slips that change an answer, and how many of them may stay unseen: 5 in 100 of many, and of few what chance makes of
#: that in 999 of 1,000 draws.
SLIPS = {200: 10, 30: int(stats.binom.ppf(0.999, 30, 0.05))}
#: Sound campaigns, and how many warnings of slips they may get in all.
SOUND, SUSPECTED = 100, 2
#: A slip changes the answer where it moves a difference by this share of its half width, or the half width itself.
MOVED = 0.25


def worlds(seed: int) -> dict[str, str]:
    """One sound campaign in three is an example of ours, the others are of aeroplanes that share nothing with it."""
    if seed % 3 == 0:
        folder = EXAMPLES[seed // 3 % len(EXAMPLES)]
        return {path.name: path.read_text("utf-8") for path in folder.iterdir() if path.suffix in (".toml", ".csv")}
    return drawn(seed)


def write(folder: Path, files: dict[str, str]) -> Path:
    folder.mkdir()
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def findings(folder: Path):
    """Everything found, and the answers where they may be computed: difference, half width and verdict by measure."""
    campaign = read(folder)
    found = check(campaign)
    if not is_sound(found):
        return found, {}
    answers = {}
    for one in compare(campaign):
        low, high = one.interval_95
        answers[one.measure, one.other] = (one.difference, 0.5 * (high - low), one.verdict)
    return found, answers


def changed(before: dict, after: dict) -> bool:
    for key, (difference, half, verdict) in before.items():
        if key not in after:
            return True
        other, width, says = after[key]
        if says != verdict:
            return True
        if not np.isfinite(half):
            if abs(other - difference) > 0.1 * abs(difference) or np.isfinite(width):
                return True
            continue
        if abs(other - difference) > MOVED * half or not 1 / (1 + MOVED) < width / half < 1 + MOVED:
            return True
    return False


def said(found) -> set[str]:
    return {finding.sentence() for finding in found}


def points_at(finding, slip) -> bool:
    """Whether a finding leads to the slip: an error stops everything, a warning names its row or its column."""
    if finding.kind == "error":
        return True
    if finding.file != slip.file:
        return False
    # A fuel that was read too low shows in the next row, where it rises.
    row = slip.row is not None and finding.row in (slip.row + 2, slip.row + 3)
    return row or finding.column == slip.column.partition(" [")[0]


@pytest.fixture(scope="module", params=slow_unless([30], SLIPS))
def drawn_slips(request, tmp_path_factory):
    """Slips that change an answer, each with the sentences that it alone brought."""
    folder = tmp_path_factory.mktemp("slips")
    rng = np.random.default_rng(20260607)
    sound, slips, tried = {}, [], 0
    while len(slips) < request.param:
        seed = tried % 60
        tried += 1
        if seed not in sound:
            files = worlds(seed)
            sound[seed] = (files, *findings(write(folder / f"sound {seed}", files)))
        files, found, answers = sound[seed]
        one = spoilt(rng, files)
        if one is None:
            continue
        one_slip = one[1]
        try:
            new, after = findings(write(folder / f"slip {tried}", one[0]))
            known = said(found)
            mends = {one.sentence() for one in new if points_at(one, one_slip) and one.sentence() not in known}
        except CampaignError as error:
            mends, after = {str(error)}, {}
        if changed(answers, after):
            slips.append((seed, one[1], mends))
    return slips


def test_gross_slips_that_change_the_answer_are_seen(drawn_slips):
    unseen = [(seed, slip) for seed, slip, mends in drawn_slips if not mends]
    found = f"{len(unseen)} unseen:\n" + "\n".join(f"{seed}: {slip}" for seed, slip in unseen)
    assert len(unseen) <= SLIPS[len(drawn_slips)], found


def test_sound_campaigns_are_not_suspected(tmp_path):
    """Findings of the slip check alone: that the order is weak or the wind differed is true of sound campaigns too."""
    suspected = []
    for seed in range(SOUND):
        files = worlds(1000 + seed)
        campaign = read(write(tmp_path / str(seed), files))
        assert is_sound(campaign.findings), said(campaign.findings)
        prepared = {name: prepare(campaign, table) for name, table in campaign.tables.items()}
        suspected += [f"{seed}: {finding.sentence()}" for finding in slip_findings(campaign, prepared)]
    assert len(suspected) <= SUSPECTED, "\n".join(suspected)
