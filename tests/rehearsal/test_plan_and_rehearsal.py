"""Plan and rehearsal of one campaign promise the same: pairs, blocks and swaps, one day and more, every measure.

The plan draws values that scatter and drift as entered; the rehearsal flies an aeroplane through a sky, reads it, and
brings every run to the same sky. Where one of the two knew a scatter, a drift or a level that the other does not, they
would part.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import saturday
from slow_cases import slow_unless

from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.reduction.reduction import reduce_table
from samesky.rehearsal.flight import brought_together, ready, written
from samesky.rehearsal.rehearse import flown_all, with_truth
from samesky.rehearsal.scatter import as_documented, scatter_of_runs
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import script
from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.campaign_sim import result_at

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
#: Campaigns flown at each truth, and how far the two may differ beyond three Monte Carlo errors.
CAMPAIGNS, APART = 700, 0.04

FREE = ('[swap]\nkind = "refit"\ntime = "30 min"', '[swap]\nkind = "free"\ntime = "0 min"')
DECIDING_CLIMB = (
    ("[measure.takeoff_roll]\nprimary = true", "[measure.takeoff_roll]\nprimary = false"),
    ("[measure.timed_climb]\nprimary = false", "[measure.timed_climb]\nprimary = true"),
)
GRID = {
    "blocks over two days": (),
    "blocks, climbs decide, three days": (*DECIDING_CLIMB, ("days = 2", "days = 3")),
    "one short day": (("days = 2", "days = 1"), ('end = "11:30"', 'end = "09:30"')),
    "pairs, changing is free": (FREE, ("days = 2", "days = 1")),
    "a roll of 140 m": (('ground_roll = "250 ft"', 'ground_roll = "140 m"'), ('scatter = "6 %"', 'scatter = "9 %"')),
}
#: Those that run with every ``make test``.
QUICK = ("planned mornings", "one short day")


def planned(folder: Path):
    return script(read(folder, flown=False))


@pytest.fixture(scope="module", params=slow_unless(QUICK, ["planned mornings", "a breezy noon", *GRID]))
def flown(request, tmp_path_factory):
    """The script, the scene and what was found at no difference and at one as large as the margin."""
    examples = {"planned mornings": "finer_pitch_planned", "a breezy noon": "breezy_noon"}
    if request.param in examples:
        folder = DATA / examples[request.param]
    else:
        folder = saturday.write(tmp_path_factory.mktemp("agree"), *GRID[request.param])
    found = planned(folder)
    base = as_documented(scene(found))
    cases = [with_truth(base, multiple) for multiple in (0.0, 1.0)]
    return found, base, flown_all(cases, [ready(base)] * 2, CAMPAIGNS, 3)


def test_both_promise_the_same(flown):
    found, _, (equal, different) = flown
    for name, one in found.planned.powers.items():
        assert one.chances is not None
        none = equal[name].share(verdict.NO_DIFFERENCE, verdict.TOO_SMALL)
        clear = different[name].share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER, verdict.TOO_SMALL)
        pairs = {"none": (one.none, none), "found": (one.chances.found(different[name].truth), clear)}
        for what, (promised, came) in pairs.items():
            error = np.sqrt(max(promised * (1.0 - promised), 0.01) / CAMPAIGNS)
            assert came == pytest.approx(promised, abs=APART + 3.0 * error), (name, what)


def test_the_scatter_is_flown_as_entered(flown):
    found, base, _ = flown
    for name, size in scatter_of_runs(base).items():
        # Three errors of two hundred campaigns' scatter, of runs of which each block, or the order, takes its mean.
        spare = len(found.tables[name].rows) - 2 * found.planned.schedule.days - 1
        error = 3.0 / np.sqrt(2.0 * 200 * max(1, min(spare, 8)))
        assert size == pytest.approx(found.documented[name], rel=error), name


def test_the_aeroplane_does_what_is_expected_of_it(flown):
    found, base, _ = flown
    for name, table in found.tables.items():
        flown = table.configuration == found.campaign.baseline
        wanted = float(np.mean(reduce_table(found.campaign, table).value[flown]))
        assert result_at(base.scenario, table.measure, base.skies[name], Effect()) == pytest.approx(wanted, rel=1e-6)
        if name == "static_pull":
            # What is expected is what the pilot wrote, but for the correction to the same sky.
            assert wanted == pytest.approx(float(np.mean(table.columns["pull"])), rel=0.02)


def test_a_scatter_below_what_the_readings_make_is_flown_and_told(tmp_path):
    found = planned(saturday.write(tmp_path, ('scatter = "6 %"', 'scatter = "2 %"')))
    base = as_documented(scene(found))
    assert scatter_of_runs(base)["takeoff_roll"] == pytest.approx(0.02, rel=0.05)
    assert any("take-off" in note and "2.0 %" in note and "steadier" in note for note in base.notes)


@pytest.mark.parametrize(
    ("part", "scope", "loud"), [("slope", "straight drift", 4.0), ("fitting", "installation", 6.0)]
)
def test_drift_and_fitting_error_are_flown_as_entered_of_every_measure(tmp_path, part, scope, loud):
    """Each by itself, with perfect readings: the slopes of the days, or the spread of the fittings, that the results
    show are as large as entered, alike for rolls, pulls and climbs, whatever each of them answers to. So much louder
    than entered that nothing else that the sky does is heard."""
    base = as_documented(scene(planned(saturday.write(tmp_path))))
    bare = {"scatter": 0.0, "slope": 0.0, "walk": 0.0, "day": 0.0, "fitting": 0.0, "steadiness": 1e-9}
    unseen = {
        name: replace(own, **{**bare, part: loud * getattr(own, part)}) for name, own in base.scenario.unseen.items()
    }
    alone = replace(base, scenario=replace(base.scenario, unseen=unseen, sources=()))
    for name, columns in written(alone, 500, np.random.default_rng(4)).items():
        table = base.script.tables[name]
        y = table.measure.to_scale(brought_together(alone, table, columns)[2][-1].value)
        y = y - y.mean(axis=0)
        if part == "slope":
            day = table.day[:, None] == np.unique(table.day)
            hours = (table.hours - table.hours.min())[:, None] * day
            seen = np.linalg.lstsq(np.hstack([day, hours]), y.T, rcond=None)[0][day.shape[1] :]
        else:
            fitted = (table.installation[:, None] == np.unique(table.installation)).astype(float)
            seen = np.linalg.lstsq(fitted, y.T, rcond=None)[0]
            seen = seen - seen.mean(axis=0)
            seen *= np.sqrt(len(seen) / (len(seen) - 1.0))
        entered = loud * stated_on_scale(base, name, scope)
        assert entered > 0
        assert np.sqrt(np.mean(np.square(seen))) == pytest.approx(entered, rel=0.1), name


def stated_on_scale(base, name: str, scope: str) -> float:
    """The root sum square of what the campaign enters of this scope, all of it in per cent here."""
    campaign, measure = base.script.campaign, base.script.tables[name].measure
    sizes = [
        one.standard_uncertainty
        for one in (*campaign.sources, *measure.sources)
        if one.target == "result" and one.scope == scope and one.applies_to(name) and one.relative
    ]
    return float(np.hypot.reduce(sizes))
