"""The rehearsal: similarity, both ways through memory and files, truth, power against statsmodels, seeds, changes."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import saturday
from joblib import parallel_config
from slow_cases import slow_unless
from stated_coefficients import with_its_coefficients
from statsmodels.stats.power import TTestPower

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.rehearsal import changes as rehearse_changes
from samesky.rehearsal.flight import brought_together, fly, judged, ready, true_on_scale, written
from samesky.rehearsal.rehearse import TRUTHS, flown_all, rehearse, rehearse_script, with_truth
from samesky.rehearsal.scatter import as_documented, scatter_of_runs
from samesky.rehearsal.scene import scene, similar
from samesky.rehearsal.script import script, with_block, with_day
from samesky.rehearsal.through_files import through_files
from samesky.rehearsal.to_json import to_json
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import standard
from samesky.simulator.campaign_sim import simulate
from samesky.simulator.motion.climb import time_through_band
from samesky.simulator.motion.static import static_pull
from samesky.simulator.motion.takeoff import roll
from samesky.simulator.sky import Course, SkyModel, Unseen
from tests.coverage.orders import campaign
from tests.coverage.orders import script as ordered

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
NOON = DATA / "breezy_noon"


@pytest.fixture(scope="module")
def noon():
    return as_documented(scene(script(read(NOON, flown=False))))


@pytest.fixture(scope="module")
def mornings():
    """The first synthetic campaign: ten blocks in two mornings, four measures."""
    return as_documented(scene(script(read(DATA / "finer_pitch"))))


@pytest.mark.parametrize(("mass", "speed"), [(1.0, 1.3), (2.2, 1.0), (1.8, 1.5)])
def test_a_similar_aeroplane_rolls_climbs_and_pulls_in_proportion(mass, speed):
    """Froude similarity: accelerations alike, so lengths go with the square of the speed (closed form)."""
    one, other = SimAeroplane(), similar(SimAeroplane(), mass, speed)
    air = standard(0.0)
    lengths = [roll(a, air, m, v)[0] for a, m, v in ((one, 540.0, 20.0), (other, 540.0 * mass, 20.0 * speed))]
    assert lengths[1] / lengths[0] == pytest.approx(speed**2, rel=1e-9)
    pulls = [static_pull(a, air)[0] for a in (one, other)]
    assert pulls[1] / pulls[0] == pytest.approx(mass, rel=1e-9)
    times = [
        time_through_band(a, air, 0.0, 300.0, 301.0, m, v)[0]
        for a, m, v in ((one, 540.0, 31.0), (other, 540.0 * mass, 31.0 * speed))
    ]
    assert times[0] / times[1] == pytest.approx(speed, rel=0.01)


FLOWN = [("breezy_noon", False), ("finer_pitch", True)]


@pytest.mark.parametrize(("kind", "flown"), slow_unless(FLOWN[:1], FLOWN))
def test_memory_and_files_agree(kind, flown, tmp_path):
    """A campaign through CSV files, reading, checking and comparing gives the difference that memory gives, to
    rounding; the interval to a hundredth, for its run-wide sources are taken at the mean readings there."""
    folder = with_its_coefficients(DATA / kind, tmp_path / kind, flown)
    base = with_truth(as_documented(scene(script(read(folder, flown=flown)))), 1.0)
    both = through_files(base, ready(base), 2, seed=7, as_read=False)
    assert len(both) == 2 * len(base.script.tables)
    for one in both:
        assert one.errors == ()
        assert one.through_files[0] == pytest.approx(one.in_memory[0], abs=1e-9)
        assert one.through_files[1] == pytest.approx(one.in_memory[1], rel=0.06)
        assert one.through_files[2] == one.in_memory[2]
    halves = [one.through_files[1] / one.in_memory[1] for one in both]
    assert np.median(halves) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("kind", slow_unless(["noon"], ["noon", "mornings"]))
def test_exponents_of_what_each_campaign_has_flown_move_it_little(kind, request):
    """Files are corrected by exponents of their own runs, memory by those of the campaign that is rehearsed: a
    hundredth of the half width at the most (seen: half of that in twelve campaigns)."""
    base = with_truth(request.getfixturevalue(kind), 1.0)
    both = through_files(base, ready(base), 2, seed=7, as_read=False)
    apart = [abs(one.through_files[0] - one.in_memory[0]) / one.in_memory[1] for one in both]
    assert 0.0 < max(apart) < 0.01
    assert all(one.agree for one in both)


def test_many_campaigns_are_judged_as_each_one_is_alone(mornings):
    prepared = ready(mornings)
    columns = written(mornings, 5, np.random.default_rng(8))
    for name, one in prepared.items():
        many, codes = judged(mornings, name, one, columns[name])
        for k in range(5):
            alone, code = judged(mornings, name, one, {key: values[k : k + 1] for key, values in columns[name].items()})
            assert float(alone.difference[0]) == pytest.approx(float(many.difference[k]), abs=1e-12)
            assert float(alone.standard_uncertainty[0]) == pytest.approx(float(many.standard_uncertainty[k]), rel=1e-9)
            assert code[0] == codes[k]


def test_the_weight_that_files_give_is_the_weight_that_flew(mornings):
    """Loading sheet and fuel gauge err by 5 and 2 kg (stated); their mean over campaigns does not."""
    columns = written(mornings, 400, np.random.default_rng(9))
    flown = simulate(mornings.scenario, 400, np.random.default_rng(9)).truth
    for name, values in columns.items():
        weight = brought_together(mornings, mornings.script.tables[name], values)[0]["weight"]
        off = weight - flown[name]["weight"]
        assert off.mean() == pytest.approx(0.0, abs=1.0)
        assert off.std() == pytest.approx(np.hypot(5.0, 2.0), rel=0.15)


def test_readings_rounded_as_dials_are_read_pass_the_check(noon):
    base = with_truth(noon, 1.0)
    assert all(one.errors == () for one in through_files(base, ready(base), 2, seed=3))


def test_the_true_difference_is_what_was_asked_for(noon):
    for multiple in (0.0, 1.0, 2.0):
        found = true_on_scale(with_truth(noon, multiple), "takeoff_roll")
        assert found == pytest.approx(np.log(1.0 - 0.05 * multiple), abs=1e-9)


def test_a_difference_beyond_belief_is_refused(noon):
    asked = {
        name: replace(one, smallest=0.6, smallest_text="60 %") if one.primary else one
        for name, one in noon.script.campaign.asked.items()
    }
    wild = replace(noon, script=replace(noon.script, campaign=replace(noon.script.campaign, asked=asked)))
    with pytest.raises(CampaignError, match="60 %"):
        with_truth(wild, 1.5)


def white(runs: int, scatter: float = 0.01):
    """A free change flown in pairs; the ground scatters from run to run and nothing else does."""
    base = scene(ordered(replace(campaign(), sources=()), "pairs", runs))
    quiet = {name: Course(course.level) for name, course in base.scenario.sky.courses.items()}
    quiet["friction"] = Course(0.05, scatter=scatter)
    pilot = replace(base.scenario.pilot, lift_off_scatter=0.0, climb_scatter=0.0, climb_ends_scatter=0.0)
    still = {name: Unseen(own.handle) for name, own in base.scenario.unseen.items()}
    base = replace(base, scenario=replace(base.scenario, sky=SkyModel(quiet), sources=(), pilot=pilot, unseen=still))
    return rehearse_changes._no_doubt(base)


@pytest.mark.parametrize("runs", [4, 8])
def test_power_agrees_with_the_noncentral_t_of_statsmodels(runs):
    """Where its assumptions hold: white scatter, nothing stated. Band: three Monte Carlo errors of both."""
    base, campaigns = white(runs), 4000
    df = ready(base)["takeoff_roll"].design.degrees_of_freedom
    for multiple in (0.0, 0.5, 1.0):
        case = with_truth(base, multiple)
        tally = flown_all([case], [ready(case)], campaigns, 5)[0]["takeoff_roll"]
        found = tally.share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER, verdict.TOO_SMALL)
        wanted = TTestPower().power(abs(tally.truth) / tally.scatter, 1, 0.05, df=df)
        error = 3.0 * np.sqrt(wanted * (1.0 - wanted) / campaigns) + 0.02
        assert found == pytest.approx(wanted, abs=error)


def test_the_interval_holds_where_everything_is_as_stated(mornings):
    """Stated drift, rigging and readings drawn as stated: 95 % or more, for four measures (wider where the order is
    blind to what it counts)."""
    found = fly(mornings, ready(mornings), 1500, np.random.default_rng(2))
    for one in found.values():
        assert 0.94 < one.covers.mean() < 0.99


def test_a_seed_fixes_every_figure_whatever_the_number_of_jobs(noon):
    case = with_truth(noon, 1.0)
    alone = flown_all([case], [ready(case)], 600, 9)
    with parallel_config(backend="threading"):
        shared = flown_all([case], [ready(case)], 600, 9, jobs=2)
    assert alone == shared
    assert flown_all([case], [ready(case)], 600, 10) != alone


def test_one_more_block_and_one_more_day(noon):
    def letters(found):
        return ["".join(table.configuration) for table in found.tables.values()]

    base = noon.script
    assert set(letters(base)) == {"AAABBB"}
    assert set(letters(with_block(base))) == {"AAABBBAAA"}
    longer = with_day(base)
    assert set(letters(longer)) == {"AAABBBBBBAAA"}
    roll_table = longer.tables["takeoff_roll"]
    assert np.unique(roll_table.day).tolist() == [0, 1]
    assert np.unique(roll_table.installation).size == 4
    assert roll_table.hours[6:] - roll_table.hours[:6] == pytest.approx(24.0)
    later = with_block(base).tables["takeoff_roll"]
    assert later.hours[6] > later.hours[5] + base.campaign.swap_hours


def test_a_free_change_gets_four_more_runs():
    longer = with_block(ordered(replace(campaign(), fitted_anew=False), "pairs", 4))
    assert "".join(longer.tables["takeoff_roll"].configuration) == "ABBABAABABBA"


def test_runs_scatter_as_documented_and_say_where_readings_make_more(tmp_path):
    found = scene(script(read(saturday.write(tmp_path / "c", ('scatter = "3 %"', 'scatter = "5 %"')), flown=False)))
    met = as_documented(found)
    assert scatter_of_runs(met)["timed_climb"] == pytest.approx(0.05, rel=0.06)
    assert any("runs are to scatter by 6.0 %" in note for note in met.notes)


def test_what_is_switched_off_is_off_in_the_world_and_in_the_statement(noon):
    base = with_truth(noon, 1.0)
    now = judged_half(base)
    for change in rehearse_changes.disturbances(base):
        assert judged_half(change.apply(base)) < 1.05 * now, change.name
    gusts = next(one for one in rehearse_changes.disturbances(base) if one.name == "gusts")
    assert judged_half(gusts.apply(base)) < 0.7 * now


def judged_half(case) -> float:
    one = ready(case)["takeoff_roll"]
    columns = written(case, 400, np.random.default_rng(4))["takeoff_roll"]
    low, high = judged(case, "takeoff_roll", one, columns)[0].interval()
    return float(np.median(high - low)) / 2.0


def test_the_demo_question_cannot_be_answered_by_one_swap(noon):
    """The rolls of the breezy noon: one campaign in ten at most finds 5 %, none shows that nothing matters, and
    averages point to a winner that is none; nor can the static pull beside the worst drift that one swap hides."""
    found = rehearse_script(noon.script, campaigns=120, seed=1)
    primary = found.at(1.0)["takeoff_roll"]
    assert primary.better < 0.12
    assert found.at(0.0)["takeoff_roll"].share(verdict.NO_DIFFERENCE) == 0.0
    assert found.at(1.0)["static_pull"].better < 0.12
    assert found.script.planned.alternatives
    widths = {one.name: one.tallies["takeoff_roll"].half for one in found.without}
    assert min(widths, key=widths.get) == "gusts"
    data = to_json(found)
    assert json.loads(json.dumps(data))["measures"]["takeoff_roll"]["true_differences"][4]["verdicts"]
    assert len(found.curve) == len(TRUTHS)


def test_nothing_to_rehearse_is_said(tmp_path):
    folder = tmp_path / "empty"
    folder.mkdir()
    text = (DATA / "warming_day" / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CampaignError, match="nothing to rehearse"):
        rehearse(read(folder, flown=False))
    shutil.copy(DATA / "warming_day" / "takeoff_roll.csv", folder)
    with pytest.raises(CampaignError, match="one or more"):
        rehearse(read(folder), campaigns=0)
    with pytest.raises(CampaignError, match="no configuration beside"):
        rehearse(read(folder), campaigns=1, other="Z")
