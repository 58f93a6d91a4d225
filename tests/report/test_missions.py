"""The page says which configuration suits which flying, and where one gain is another's loss."""

from __future__ import annotations

import re

from samesky.mission.trade_off import correlated, gains, judge_mission
from samesky.report import missions


def test_the_demonstration_is_a_trade(pages):
    shown = pages["finer_pitch"]
    said = missions.traded(shown.comparisons)
    # Known truth of the simulated campaign: finer pitch pulls and climbs better and is slower (its TRUTH.md).
    assert said.startswith("It is a trade: A is better on full-throttle level speed")
    assert "B is better on static pull and timed climb" in said
    answers = {one.mission: one.answer for one in missions.suited(shown.campaign, shown.comparisons)}
    assert answers["short strip"] == "B"
    assert answers["cross country"] == "A"


def test_the_page_shows_each_mission_with_its_numbers(pages):
    shown = pages["finer_pitch"]
    for one in missions.suited(shown.campaign, shown.comparisons):
        weights = shown.campaign.missions[one.mission.replace(" ", "_")]
        found = shown.comparisons
        by_hand = judge_mission(one.mission, weights, gains(found), "A", "B", correlated(found))
        assert by_hand == one
        cell = f"{one.value:+.1f} ({one.interval_95[0]:+.1f} to {one.interval_95[1]:+.1f})".replace("-", "\u2212")
        assert cell.replace("+", "&#43;") in shown.html or cell in shown.html
    assert re.search(r"Short strip: B suits it", shown.html)


def test_without_missions_and_without_a_trade_the_page_is_silent(pages):
    assert "Which one for which flying" not in pages["warming_day"].html
