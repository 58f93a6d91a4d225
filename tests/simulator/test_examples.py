"""The synthetic campaigns: byte for byte, sound, true, and telling their stories."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.reduction.reduction import reduce_table
from samesky.simulator.ambient import standard
from samesky.simulator.examples.catalogue import EXAMPLES, write_all, write_example
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.motion.level import top_speed
from samesky.simulator.motion.static import static_pull

KEPT = Path(__file__).resolve().parents[2] / "data_synthetic"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("examples")
    write_all(folder)
    return folder


def verdicts(folder):
    return {one.measure: one for one in compare(read(folder))}


@pytest.mark.parametrize("name", EXAMPLES)
def test_regenerates_byte_for_byte(written, name):
    kept = {path.name: path.read_bytes() for path in (KEPT / name).iterdir()}
    new = {path.name: path.read_bytes() for path in (written / name).iterdir()}
    assert kept.keys() == new.keys()
    for file, data in kept.items():
        assert new[file] == data, f"{name}/{file}: run `make examples` if the change was meant"


@pytest.mark.parametrize("name", EXAMPLES)
def test_is_sound(name):
    errors = [finding.sentence() for finding in check(read(KEPT / name)) if finding.kind == "error"]
    assert errors == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_its_truth_lies_in_its_intervals(name):
    # True results stand in TRUTH.md; the campaign's own 95 % intervals of these seeds hold them.
    head, _, *rows = [
        [cell.strip() for cell in line.split("|")[1:-1]]
        for line in (KEPT / name / "TRUTH.md").read_text().splitlines()
        if "|" in line
    ]
    results = {row[0]: dict(zip(head[1:], row[1:], strict=True)) for row in rows}
    comparisons = compare(read(KEPT / name))
    assert results.keys() == {one.title for one in comparisons}
    for one in comparisons:
        a, b = (float(results[one.title][key].split()[0]) for key in (one.baseline, one.other))
        assert one.interval_95[0] < b - a < one.interval_95[1], one.title


def test_the_good_design_settles_its_question():
    found = verdicts(KEPT / "finer_pitch")
    assert found["timed_climb"].primary
    assert found["timed_climb"].verdict == "B better"
    assert found["static_pull"].verdict == "B better"
    assert found["level_speed"].verdict == "A better"
    assert found["takeoff_roll"].verdict == "not enough data"


def test_the_plain_average_is_fooled_by_the_warming_day_and_the_comparison_is_not():
    campaign = read(KEPT / "warming_day")
    found = verdicts(KEPT / "warming_day")
    for name, winner in (("takeoff_roll", "B"), ("timed_climb", "A")):
        reduction = reduce_table(campaign, campaign.tables[name])
        raw, is_b = reduction.steps[0].value, campaign.tables[name].configuration == "B"
        change = raw[is_b].mean() / raw[~is_b].mean() - 1
        assert stats.ttest_ind(raw[is_b], raw[~is_b], equal_var=False).pvalue < 0.05
        assert abs(change) > campaign.asked[name].smallest
        better = (change < 0) == (campaign.asked[name].better == "smaller")
        assert ("B" if better else "A") == winner
        assert found[name].verdict in ("not enough data", "no difference that matters")


def test_the_fairings_have_runs_left_out_and_an_irregular_order():
    campaign = read(KEPT / "wheel_fairings")
    reasons = [reason for table in campaign.tables.values() for reason in table.text["exclude"] if reason]
    assert len(reasons) == 3
    assert len({len(table.rows) for table in campaign.tables.values()}) > 1
    assert verdicts(KEPT / "wheel_fairings")["level_speed"].verdict == "B better"


def test_a_good_order_is_fooled_by_what_goes_with_the_configuration(tmp_path):
    found = verdicts(KEPT / "willing_hands")
    assert found["takeoff_roll"].verdict == "not enough data"
    assert found["timed_climb"].verdict == "no difference that matters"
    shutil.copy(KEPT / "willing_hands" / "campaign.toml", tmp_path)
    for name in found:
        page = pd.read_csv(KEPT / "willing_hands" / f"{name}.csv")
        page.drop(columns=page.filter(regex="fuel|lift-off").columns).to_csv(tmp_path / f"{name}.csv", index=False)
    blind = verdicts(tmp_path)
    assert blind["takeoff_roll"].verdict == blind["timed_climb"].verdict == "B better"


def test_the_trainer_turns_as_trainers_do():
    # Common practice: about 2,300 rpm static and 2,700 level on a light direct-drive engine.
    _, static = static_pull(TRAINER, standard(0.0))
    _, level = top_speed(TRAINER, standard(762.0), 720.0)
    assert static * 60 == pytest.approx(2300, abs=70)
    assert level * 60 == pytest.approx(2700, abs=50)


def test_fuel_goes_down_between_fillings():
    for name in EXAMPLES:
        campaign = read(KEPT / name)
        for table in campaign.tables.values():
            rise = np.diff(table.columns["fuel"]) > 1e-9
            noted = np.array(["refuelled" in text for text in table.text["notes"]])[1:]
            new_day = np.diff(table.day) > 0
            assert campaign.fitted_anew
            new_block = np.diff(table.installation) > 0
            assert not np.any(rise & ~noted & ~new_day & ~new_block)


def test_an_unknown_name_and_a_full_folder_are_refused(tmp_path):
    with pytest.raises(CampaignError, match="Did you mean 'warming_day'"):
        write_example("warming_days", tmp_path / "x")
    (tmp_path / "mine.csv").write_text("run\n1\n")
    with pytest.raises(CampaignError, match="might be yours"):
        write_example("warming_day", tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.csv"]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_runs_held_back_for_the_limit_are_written_down_as_such(name):
    """Those whose engine reads its limit, in level flight at full throttle; no others."""
    campaign = read(KEPT / name)
    for table in campaign.tables.values():
        words = table.text.get("throttled", [""] * len(table.rows))
        speed, limit = table.columns.get("rpm"), campaign.engine.speed_limit
        at = np.zeros(len(words), dtype=bool) if speed is None or limit is None else np.abs(speed / limit - 1) < 1e-6
        assert [word == "yes" for word in words] == at.tolist(), (name, table.measure.name)
