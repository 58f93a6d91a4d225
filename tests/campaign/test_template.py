"""A fresh campaign explains itself, and everything in it that is switched off works when it is switched on."""

from __future__ import annotations

import re

import pytest

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import template_files, write_fresh
from samesky.checks.check import check
from samesky.measures import MEASURES


def test_a_fresh_campaign_has_one_finding_nothing_flown_yet(tmp_path):
    findings = check(read(write_fresh(tmp_path / "fresh", template_files())))
    assert len(findings) == 1
    assert findings[0].message.startswith("nothing flown yet: there is no run in ")
    assert all(f"{name}.csv" in findings[0].message for name in MEASURES)


def test_every_measure_has_its_file_with_every_column_explained(tmp_path):
    folder = write_fresh(tmp_path / "fresh", template_files())
    for measure in MEASURES.values():
        text = (folder / f"{measure.name}.csv").read_text(encoding="utf-8")
        for column in columns_of(measure):
            assert column.name in text, (measure.name, column.name)
            if column.required:
                assert column.meaning in text


def test_what_is_switched_off_reads_without_error_when_it_is_switched_on(tmp_path):
    folder = write_fresh(tmp_path / "fresh", template_files())
    path = folder / "campaign.toml"
    # An entry or table that is switched off is a remark of the form `# name = ...` or `# [table]`.
    switched_on = re.sub(r'^# (?=(\[[a-z_.A-Z0-9]+\]$)|(["a-z_ \-A-Z]+ = ))', "", path.read_text(), flags=re.MULTILINE)
    assert switched_on.count("\n[") > path.read_text().count("\n[") + 8
    path.write_text(switched_on)
    (folder / "cabin_noise.csv").write_text("run,date,clock,configuration,cabin noise [1]\n")
    (folder / "my_record.toml").write_text('[takeoff_roll]\nscatter = "4 %"\ndegrees_of_freedom = 9\n')
    campaign = read(folder)
    errors = [finding.sentence() for finding in campaign.findings if finding.kind == "error"]
    # The part's weight and an airspeed of its own are switched on for A alone: to mend, beside having flown nothing.
    assert len(errors) == 3, errors
    assert any("has no weight, while [configuration.A] has one" in error for error in errors)
    assert any("has no lift-off airspeed, while [configuration.A] has one" in error for error in errors)
    assert "nothing flown yet" in errors[-1]
    assert campaign.loading.cg_aft == 2.05
    assert set(campaign.limits) == {"headwind", "tailwind", "crosswind", "gust", "fuel", "lift-off airspeed"}
    assert {"tape", "pitch setting"} <= {source.name for source in campaign.sources}
    assert campaign.missions == {
        "short_strip": {"takeoff_roll": 3.0, "timed_climb": 2.0},
        "cross_country": {"level_speed": 2.0, "cruise_fuel": 1.0},
        "towing": {"takeoff_roll": 1.0, "timed_climb": 3.0},
    }
    assert campaign.share_of_year == {"short_strip": 0.4, "cross_country": 0.3, "towing": 0.3}
    assert (campaign.papers.tip_clearance, campaign.papers.noise) == (0.23, 68.0)


def test_what_flying_do_you_do_is_asked_before_what_is_compared():
    text = template_files()["campaign.toml"]
    assert text.index("question = ") < text.index("What flying do you do?") < text.index("[configuration.A]")


def test_one_measure_is_primary(tmp_path):
    asked = read(write_fresh(tmp_path / "fresh", template_files())).asked
    assert set(asked) == set(MEASURES)
    assert sum(one.primary for one in asked.values()) == 1


def test_cautions_come_with_it():
    text = template_files()["README.txt"]
    assert "A turning propeller kills" in text
    for measure in MEASURES.values():
        for caution in measure.cautions:
            assert caution in " ".join(text.split())


def test_nobody_s_runs_are_overwritten(tmp_path):
    (tmp_path / "campaign.toml").write_text("mine")
    with pytest.raises(CampaignError, match="the folder is not empty"):
        write_fresh(tmp_path, template_files())
    assert (tmp_path / "campaign.toml").read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 1


def test_an_empty_folder_will_do(tmp_path):
    write_fresh(tmp_path, template_files())
    assert (tmp_path / "campaign.toml").is_file()


def test_lines_fit_a_page():
    for name, text in template_files().items():
        if not name.endswith(".csv"):
            assert max(map(len, text.splitlines())) <= 122, name
