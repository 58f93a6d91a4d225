"""`samesky rehearse`: the page and the numbers, and one message for what cannot be rehearsed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from samesky import cli

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(DATA / "warming_day", tmp_path / "day"))


def test_it_prints_one_page_and_writes_one(run, folder):
    code, said, complaint = run("rehearse", folder, "--campaigns", 20, "--files", 1)
    assert (code, complaint) == (0, "")
    assert "not enough data" in said
    assert "Rehearsal:" in said
    page = (folder / "rehearsal.html").read_text(encoding="utf-8")
    assert "2 comparisons went through real files" in page


def test_the_numbers_are_the_same_for_the_same_seed(run, folder):
    found = [run("rehearse", folder, "--campaigns", 20, "--json", "--seed", seed) for seed in (4, 4, 5)]
    assert [code for code, _, _ in found] == [0, 0, 0]
    assert found[0] == found[1] != found[2]
    told = json.loads(found[0][1])
    assert told["planned"] is False
    assert sum(told["measures"]["takeoff_roll"]["true_differences"][0]["verdicts"].values()) == 20
    assert not (folder / "rehearsal.html").exists()


@pytest.mark.parametrize(
    ("words", "complains"),
    [(("--other", "Z"), "no configuration beside"), (("--campaigns", "0"), "campaigns"), (("--jobs", "two"), "--jobs")],
)
def test_what_cannot_be_rehearsed_is_one_message(run, folder, words, complains):
    code, _, complaint = run("rehearse", folder, *words)
    assert code == cli.BAD_INPUT
    assert complains in complaint
    assert "Traceback" not in complaint
    assert not (folder / "rehearsal.html").exists()


def test_a_folder_that_is_not_there_is_one_message(run, tmp_path):
    code, _, complaint = run("rehearse", tmp_path / "nowhere")
    assert code == cli.BAD_INPUT
    assert "Traceback" not in complaint


SPARSE = """\
title = "Only what was asked for"
baseline = "A"
[configuration.A]
label = "as it came"
[configuration.B]
label = "the change"
[swap]
kind = "refit"
[measure.takeoff_roll]
smallest_difference_that_matters = "5 %"
"""


def test_a_campaign_without_weights_and_without_air_is_rehearsed_too(run, tmp_path):
    swap = {"A": "7", "B": "8"}
    rolls = [(f"{swap[key]}:{10 + 5 * k}", key, 130 + k) for key in "AB" for k in range(3)]
    rows = [f"{k + 1},2025-05-17,{clock},{key},{roll}" for k, (clock, key, roll) in enumerate(rolls)]
    (tmp_path / "campaign.toml").write_text(SPARSE, encoding="utf-8")
    (tmp_path / "takeoff_roll.csv").write_text(
        "\n".join(["run,date,clock,configuration,ground roll [m]", *rows]) + "\n", encoding="utf-8"
    )
    code, said, complaint = run("rehearse", tmp_path, "--campaigns", 5, "--files", 0, "--json")
    assert (code, complaint) == (0, "")
    assert json.loads(said)["measures"]["takeoff_roll"]
