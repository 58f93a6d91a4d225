"""Campaign folders pooled through files: what is alike, what is left out and why, and the same on several machines."""

import json

import numpy as np
import pytest
from small_campaigns import pulls
from typer.testing import CliRunner

from samesky.campaign.messages.errors import CampaignError
from samesky.cli import app
from samesky.club.pool import pool
from samesky.report.pool import words
from samesky.report.pool.page import pool_page


@pytest.fixture(scope="module")
def five(tmp_path_factory):
    folder = tmp_path_factory.mktemp("club")
    true = (0.03, 0.05, 0.05, 0.06, 0.05)
    return [pulls(folder / f"c{k}", d, seed=k, title=f"Aeroplane {k}") for k, d in enumerate(true)]


def test_the_pooled_difference_is_near_the_truth_and_narrower_than_the_campaigns(five):
    [one] = pool(five).answers
    low, high = one.interval_95
    assert low < 100 * np.expm1(0.048) < high
    assert high - low < np.median([end[2] - end[1] for end in one.each])
    assert one.expected_95[0] < low
    assert one.expected_95[1] > high
    assert one.verdict == "new better"
    assert len(one.without) == 5


def test_a_campaign_flown_the_other_way_round_is_turned(five, tmp_path):
    turned = pulls(tmp_path / "turned", -0.05, seed=11, names=("new", "old"))
    [one] = pool([*five, turned]).answers
    assert (one.baseline, one.other) == ("old", "new")
    assert one.each[-1][0] == pytest.approx(5.1, abs=3.0)
    alone = pool([turned, *five]).answers[0]
    assert (alone.baseline, alone.other) == ("new", "old")
    assert alone.pooled.difference == pytest.approx(-float(one.pooled.difference), rel=1e-9)


def test_the_same_flying_counts_once(five, tmp_path):
    copy = pulls(tmp_path / "copy", 0.03, seed=0, title="The same again")
    [one] = pool([*five, copy]).answers
    assert len(one.campaigns) == 5
    assert "Aeroplane 0" in one.left_out[0].why


def test_another_thing_of_the_same_name_is_left_out(tmp_path):
    two = pulls(tmp_path / "two", seed=1, title="two blades", blades="2")
    three = pulls(tmp_path / "three", seed=2, title="three blades", blades="3")
    more = pulls(tmp_path / "more", seed=3, title="two again", blades="2")
    [one] = pool([two, three, more]).answers
    assert [left.campaign for left in one.left_out] == ["three blades"]
    assert "blades" in one.left_out[0].why


def test_unlike_questions_are_refused_with_the_reason(five, tmp_path):
    stranger = pulls(tmp_path / "stranger", names=("wood", "metal"))
    with pytest.raises(CampaignError, match="wood with metal"):
        pool([five[0], stranger])


def test_the_smallest_margin_of_all_decides(five, tmp_path):
    strict = pulls(tmp_path / "strict", 0.05, seed=21, margin="1 %")
    [one] = pool([*five, strict]).answers
    assert one.smallest_that_matters == pytest.approx(1.0)
    assert any("smallest" in said for said in words.cautious(one))


def test_one_stranger_campaign_is_named_as_the_one_it_hangs_on(tmp_path):
    folders = [
        pulls(tmp_path / f"c{k}", d, seed=40 + k, title=f"No. {k}", scatter=0.002)
        for k, d in enumerate((0.05, 0.051, 0.049, -0.05))
    ]
    [one] = pool(folders).answers
    assert one.verdict == "not enough data"
    assert one.hangs_on == ("No. 3",)
    assert float(one.pooled.q_p) < 1e-6


def test_several_processes_and_a_dask_cluster_of_two_workers_give_the_same_figures(five):
    import joblib
    from dask.distributed import Client, LocalCluster

    folders = [*five, *five]
    alone = words.to_json(pool(folders))
    assert words.to_json(pool(folders, jobs=2)) == alone
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, worker_dashboard_address=None
        ) as cluster,
        Client(cluster),
        joblib.parallel_config(backend="dask", n_jobs=-1),
    ):
        assert words.to_json(pool(folders, jobs=-1)) == alone


def test_the_command_prints_writes_the_page_and_json(five, tmp_path):
    page = tmp_path / "together.html"
    told = CliRunner().invoke(app, ["pool", *map(str, five), "--out", str(page)])
    assert told.exit_code == 0
    assert "5 campaigns: new better" in told.output
    text = page.read_text(encoding="utf-8")
    assert text == pool_page(pool(five))
    assert "Aeroplane 4" in text
    assert "http://" not in text.replace("http://www.w3.org", "")
    found = json.loads(CliRunner().invoke(app, ["pool", *map(str, five), "--json"]).output)
    [one] = found["measures"]
    assert sum(each["weight"] for each in one["each"]) == pytest.approx(1.0, abs=1e-3)
    assert one["verdict"] == "new better"


def test_bad_folders_are_told_and_the_rest_is_pooled(five, tmp_path):
    broken = pulls(tmp_path / "broken", title="Broken")
    table = broken / "static_pull.csv"
    table.write_text(table.read_text().replace("new,1", "new,x1", 1))
    found = pool([*five, broken, tmp_path / "nowhere"])
    assert len(found.answers[0].campaigns) == 5
    assert "static_pull.csv" in found.unreadable[0].why
    assert "no such folder" in found.unreadable[1].why


def test_a_single_campaign_is_no_pool(five):
    with pytest.raises(CampaignError, match="No other campaign"):
        pool(five[:1])
