"""Rehearsals of planned looks: which runs each look sees, power and runs flown against a simulation of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import saturday
from scipy import optimize, stats
from slow_cases import slow_unless
from test_rehearse import white

from samesky.campaign.model.plan_request import PlanRequest
from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.inference.looks import Look
from samesky.published import registry
from samesky.rehearsal import through_files as rehearse_files
from samesky.rehearsal.changes import twice_the_runs
from samesky.rehearsal.flight import ready
from samesky.rehearsal.looks import stages
from samesky.rehearsal.rehearse import flown_all, rehearse_script, with_truth
from samesky.rehearsal.scatter import as_documented
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import script
from samesky.rehearsal.through_files import through_files
from samesky.rehearsal.to_json import to_json
from samesky.report import rehearsal_words as words

TWO = ("[plan]\n", "[plan]\nlooks = 2\n")


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    return script(read(saturday.write(tmp_path_factory.mktemp("looks"), TWO), flown=False))


def looked_at(base, looks: int, shape: str):
    """The scene with looks at equal shares of its runs."""
    campaign = replace(base.script.campaign, plan=PlanRequest(looks=looks, stopping=shape))
    shares = tuple((k + 1) / looks for k in range(looks))
    return replace(base, script=replace(base.script, campaign=campaign, looks_at=shares))


def test_a_look_sees_what_is_flown_by_then_and_none_of_the_next_block(planned):
    found = stages(planned)
    asked = planned.planned
    assert [one.look for one in found] == [Look(1, 2), Look(2, 2)]
    for stage, look in zip(found, asked.looks, strict=True):
        flown = [run for block in asked.schedule.blocks[: look.after_block] for run in block.runs]
        for name, rows in stage.rows.items():
            assert rows.size == sum(run.measure == name for run in flown), name
        assert stage.rows[planned.primary].size == look.after_run
    assert stages(replace(planned, campaign=replace(planned.campaign, plan=None)))[0].look is None


def test_a_longer_script_keeps_the_shares_and_looks_out_of_reach_decide_nothing(planned):
    name = planned.primary
    now, longer = stages(planned), stages(twice_the_runs(planned))
    assert [2 * one.rows[name].size for one in now] == [one.rows[name].size for one in longer]
    beyond = stages(replace(planned, looks_at=(planned.looks_at[0], 1.5)))
    assert [one.look for one in beyond] == [Look(1, 2)]
    assert beyond[0].rows[name].size == now[0].rows[name].size
    # After the first run one configuration is still to come.
    one_run = 1.0 / len(planned.tables[name].rows)
    assert [one.look for one in stages(replace(planned, looks_at=(one_run, 1.0)))] == [Look(2, 2)]
    assert [one.look for one in stages(replace(planned, looks_at=()))] == [Look(2, 2)]


def test_stated_looks_are_those_rehearsed_as_flown(tmp_path):
    """Stated runs count in the files' own rows; the second look is not reached."""
    folder = saturday.write(tmp_path / "c", ("[plan]\n", "[plan]\nlooks = 2\nlooks_after_runs = [4, 12]\n"))
    rolls = "".join(f"{k + 1},2026-05-09,{7 + k // 6:02d}:{k % 6}0,{'ABBA'[k % 4]},40,10,0,250\n" for k in range(8))
    header = "run,date,clock,configuration,fuel [L],oat [degC],headwind [kt],ground roll [ft]\n"
    (folder / "takeoff_roll.csv").write_text(header + rolls, encoding="utf-8")
    found = stages(script(read(folder), flown=True))
    assert [(one.look, one.rows["takeoff_roll"].tolist()) for one in found] == [(Look(1, 2), [0, 1, 2, 3])]


LETTERS = np.array([{"A": 0.0, "B": 1.0}[letter] for letter in "ABBABAABABBABAAB"])


def own_limits(shape: str, alpha: float) -> np.ndarray:
    """Limits on z (2,) at two equally spaced looks, whose statistics correlate by the root of a half (scipy)."""
    steps = np.array([1.0, 1.0]) if shape == "pocock" else np.sqrt([2.0, 1.0])
    joint = stats.multivariate_normal(cov=[[1.0, np.sqrt(0.5)], [np.sqrt(0.5), 1.0]])
    inside = lambda c: joint.cdf(c * steps, lower_limit=-c * steps)  # noqa: E731
    return steps * optimize.brentq(lambda c: inside(c) - (1.0 - alpha), 1.0, 4.0)


def by_hand(y: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Difference, its standard error and degrees of freedom, as the chapter on comparing says: least squares on level,
    configuration and time."""
    letters, time = LETTERS[: y.shape[1]], np.arange(y.shape[1])
    model = np.column_stack([letters, np.ones(letters.size), time])
    weights = np.linalg.pinv(model)[0]
    rest = y - y @ (model @ np.linalg.pinv(model)).T
    df = model.shape[0] - model.shape[1]
    return y @ weights, np.sqrt(np.square(rest).sum(axis=1) / df * (weights @ weights)), df


SHAPES = [("pocock", "POC-0.05-2"), ("obrien-fleming", "OBF-0.05-2")]


@pytest.mark.parametrize(("shape", "printed"), slow_unless(SHAPES[:1], SHAPES))
def test_power_false_claims_and_runs_flown_agree_with_a_simulation_of_its_own(shape, printed):
    """White scatter, eight runs and sixteen. The final limits are those printed (Jennison and Turnbull, Group
    Sequential Methods (2000), tables 2.1 and 2.3). Band: four Monte Carlo errors of both, and the linear scale."""
    limits = {alpha: own_limits(shape, alpha) for alpha in (0.05, 0.10)}
    assert registry.check(printed, limits[0.05][-1]).agrees
    plain, campaigns = white(8, 0.02), 3000
    base = looked_at(plain, 2, shape)
    prepared = ready(base)
    last = prepared["takeoff_roll"]
    assert [one.rows.size for one in (*last.earlier, last)] == [8, 16]
    rng = np.random.default_rng(20)
    shares = []
    for multiple in (0.0, 0.5, 1.0):
        case = with_truth(base, multiple)
        tally = flown_all([case], [prepared], campaigns, 5)[0]["takeoff_roll"]
        whole = with_truth(plain, multiple)
        scatter = flown_all([whole], [ready(whole)], campaigns, 6)[0]["takeoff_roll"].scatter
        # Sixteen balanced runs: the variance of the difference is a quarter of that of a run.
        y = tally.truth * LETTERS + rng.normal(0.0, 2.0 * scatter, (40_000, 16))
        margins = np.log([0.9, 1.1])
        claims, settled = [], []
        for look, runs in enumerate((8, 16)):
            difference, error, df = by_hand(y[:, :runs])
            sure, alike = (stats.t.isf(stats.norm.sf(limits[a][look]), df) * error for a in (0.05, 0.10))
            inside = (difference - alike > margins[0]) & (difference + alike < margins[1])
            claims.append(np.abs(difference) > sure)
            settled.append(claims[-1] | inside)
        claimed = np.mean(np.where(settled[0], claims[0], claims[1]))
        open_ = np.mean(~settled[0] & ~settled[1])
        flown = 16.0 - 8.0 * np.mean(settled[0])
        band = lambda share: 4.0 * np.sqrt(share * (1 - share) * (1 / campaigns + 1 / 40_000)) + 0.01  # noqa: E731
        found = tally.share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER, verdict.TOO_SMALL)
        assert found == pytest.approx(claimed, abs=band(claimed))
        assert tally.share(verdict.NOT_ENOUGH) == pytest.approx(open_, abs=band(open_))
        assert tally.runs == pytest.approx(flown, abs=8.0 * band(np.mean(settled[0])))
        assert tally.runs == pytest.approx(np.dot(tally.ended, (8, 16)) / campaigns)
        shares.append(found)
    assert shares[0] < 0.065


def test_other_measures_end_with_the_deciding_one_and_all_of_it_is_told(planned):
    found = rehearse_script(planned, campaigns=40, seed=1)
    name = found.script.primary
    for tallies in (found.at(0.0), found.at(2.0)):
        assert len({one.ended for one in tallies.values()}) == 1
        for key, one in tallies.items():
            way = found.ready[key]
            assert one.runs == pytest.approx(np.dot(one.ended, [at.rows.size for at in (*way.earlier, way)]) / 40)
    said = " ".join(words.looks(found))
    first, last = (look.after_run for look in planned.planned.looks)
    assert f"after {first} and {last} runs" in said
    assert f"{found.at(1.0)[name].runs:.1f} of {last} runs" in said
    assert words.verdict_table(found, name).rows[-1][0] == "runs flown on average"
    data = to_json(found)["measures"][name]
    assert [one["runs"] for one in data["judged_at"]] == [first, last]
    assert data["judged_at"][-1]["level"] == Look(2, 2).level
    assert sum(data["true_differences"][0]["ended_at_look"]) == 40


def test_files_are_judged_by_the_limits_of_the_last_look(planned, monkeypatch):
    """Between looks compare would tell nothing: the files of a rehearsal are compared at the last."""
    base, real = as_documented(scene(planned)), rehearse_files.compare

    def compared(campaign, look):
        assert look == Look(2, 2)
        return real(campaign, look)

    monkeypatch.setattr(rehearse_files, "compare", compared)
    both = through_files(with_truth(base, 1.0), ready(base), 2, seed=7, as_read=False)
    assert all(one.errors == () and one.through_files[2] == one.in_memory[2] for one in both)
    assert np.isfinite([one.through_files[1] for one in both]).all()
