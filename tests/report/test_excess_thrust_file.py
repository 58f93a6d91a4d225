"""The figure of excess thrust as a file: PNG and SVG, whole or not at all."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.cli import app
from samesky.inference.comparison import compare
from samesky.report.excess_thrust_figure import write_excess_thrust

EXAMPLE = Path(__file__).parents[2] / "data_synthetic" / "one_saturday"


@pytest.fixture(scope="module")
def flown():
    campaign = read(EXAMPLE)
    return campaign, compare(campaign)


def test_an_svg_says_lift_off_and_climb_and_is_the_same_each_time(flown, tmp_path):
    [first] = write_excess_thrust(*flown, tmp_path / "one.svg")
    [second] = write_excess_thrust(*flown, tmp_path / "two.svg")
    assert first.read_bytes() == second.read_bytes()
    text = first.read_text("utf-8")
    assert "<svg" in text
    for word in ("lift-off", "climb ", "static pull", "B pulls more", "A pulls more"):
        assert word in text, word


def test_the_command_writes_a_png_beside_its_answers(tmp_path):
    told = CliRunner().invoke(app, ["compare", str(EXAMPLE), "--picture", str(tmp_path / "it.PNG")])
    assert told.exit_code == 0
    assert "Picture: " in told.output
    assert (tmp_path / "it.PNG").read_bytes().startswith(b"\x89PNG\r\n")
    assert [path.name for path in tmp_path.iterdir()] == ["it.PNG"], "nothing half-written stays"


def test_other_kinds_and_nothing_to_draw_are_refused(flown, tmp_path):
    campaign, comparisons = flown
    with pytest.raises(CampaignError, match="neither a PNG nor an SVG"):
        write_excess_thrust(campaign, comparisons, tmp_path / "it.jpg")
    lone = [one for one in comparisons if one.measure == "static_pull"]
    alone = replace(campaign, asked={"static_pull": campaign.asked["static_pull"]})
    with pytest.raises(CampaignError, match="cannot be drawn: Two measures must see"):
        write_excess_thrust(alone, lone, tmp_path / "it.svg")
    assert not list(tmp_path.iterdir())
