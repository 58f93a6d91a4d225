"""The page says which configuration suits which flying, and where one gain is another's loss."""

from __future__ import annotations

import re

import pytest

from samesky.campaign.reading.read import read_texts
from samesky.inference.comparison import compare
from samesky.mission.trade_off import correlated, gains, judge_mission
from samesky.report import by_all_words, missions


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
    assert re.search(r"Short strip: B \(set two degrees finer\)", shown.html)


def test_without_missions_and_without_a_trade_the_page_is_silent(pages):
    page = pages["warming_day"].html
    assert "<h3>Which one for which flying</h3>" not in page
    assert "no kind of flying was entered" in page


def with_flying(shown, tables, change=None):
    """The campaign with these kinds of flying in place of its own, and its comparisons."""
    texts = dict(shown.campaign.texts)
    toml = texts["campaign.toml"].partition("[mission.")[0]
    texts["campaign.toml"] = (toml if change is None else change(toml)) + tables
    campaign = read_texts(texts)
    assert [one.sentence() for one in campaign.findings if one.kind == "error"] == []
    return campaign, compare(campaign)


def test_each_answer_has_its_reason_and_its_risk(pages):
    shown = pages["finer_pitch"]
    said = missions.sentences(shown.campaign, shown.comparisons)
    by_name = {one.measure: one for one in shown.comparisons}
    short, touring, everyday, both = said
    climb, speed = by_name["timed_climb"], by_name["level_speed"]
    low, high = climb.percent_95
    reason = f"timed climb {climb.percent:.1f} % more ({low:.1f} to {high:.1f} %)"
    assert reason in short.replace("\u00a0", " ")
    assert "costs full-throttle level speed" in short
    assert f"{abs(speed.difference):.1f} kt less" in short.replace("\u00a0", " ")
    # What B loses is what A gains, and the other way round.
    assert touring.startswith("Cross country: A (as it was set), full-throttle level speed")
    assert f"{abs(speed.difference):.1f} kt more" in touring.replace("\u00a0", " ")
    assert "either; weighed together they differ by less than matters" in everyday
    assert both.startswith("Keep both and swap (25\u00a0min a change): A for cross country; B for short strip")
    assert "share_of_year" in both


def test_a_per_cent_of_the_other_is_turned_round_exactly(pages):
    shown = pages["finer_pitch"]
    climb = next(one for one in shown.comparisons if one.measure == "timed_climb")
    level = climb.levels
    a, b = level["A"], level["A"] + climb.difference
    words = missions.favour(climb, "A").replace("\u00a0", " ")
    assert words.startswith(f"{100 * (1 - a / b):.1f} % less")
    assert missions.favour(climb, "B").replace("\u00a0", " ").startswith(f"{100 * (b / a - 1):.1f} % more")


@pytest.mark.parametrize(("strip", "touring"), [(90, 10), (10, 90)])
def test_with_shares_of_the_year_the_one_that_stays_on_follows_them(pages, strip, touring):
    tables = (
        f'[mission.short_strip]\nshare_of_year = "{strip} %"\ntimed_climb = 3\nstatic_pull = 1\n'
        f'[mission.cross_country]\nshare_of_year = "{touring} %"\nlevel_speed = 1\n'
    )
    campaign, found = with_flying(pages["finer_pitch"], tables)
    said = missions.over_the_year(campaign, found)
    assert "Keep both and swap" in said
    # By hand: the weighted gains of the two kinds, by their shares.
    own = gains(found)
    worth = (
        strip * (0.75 * own["timed_climb"].gain + 0.25 * own["static_pull"].gain) + touring * own["level_speed"].gain
    )
    better = "B" if worth > 0 else "A"
    assert f"over the year {better} is ahead" in said or "neither is ahead for sure" in said or "either will do" in said
    assert ("A is ahead" in said) <= (better == "A")
    assert ("B is ahead" in said) <= (better == "B")
    assert strip < 50 or "share_of_year" not in said


def test_where_kinds_agree_nobody_is_told_to_swap(pages):
    tables = '[mission.climb]\nshare_of_year = "50 %"\n'
    tables += '[mission.towing]\nshare_of_year = "50 %"\ntimed_climb = 2\nstatic_pull = 1\n'
    campaign, found = with_flying(pages["finer_pitch"], tables)
    said = missions.over_the_year(campaign, found)
    assert "swap" not in said
    assert said.endswith("B is ahead.")


def test_what_a_kind_asks_and_nobody_flew_is_said(pages):
    campaign, found = with_flying(pages["finer_pitch"], "[mission.cross_country]\n[mission.economy]\n")
    touring, economy = missions.sentences(campaign, found)[:2]
    assert touring.rstrip(".").endswith("fuel in the cruise not flown")
    assert "cannot be said" in economy
    campaign, found = with_flying(pages["finer_pitch"], "[mission.climb]\n")
    assert "not flown" not in missions.sentences(campaign, found)[0]


def test_a_limit_that_is_broken_stands_behind_the_answer_and_no_other_does(pages):
    def with_clearance(own):
        def change(toml):
            toml = toml.replace("[configuration.B]\n", f'[configuration.B]\ntip_clearance = "{own} cm"\n')
            return toml + '[papers]\ntip_clearance = "23 cm"\n'

        return change

    for own, outside in ((22, True), (24, False)):
        campaign, found = with_flying(pages["finer_pitch"], "[mission.climb]\n", with_clearance(own))
        (said,) = missions.sentences(campaign, found)
        assert said.startswith("Climb: B")
        assert ("but outside a limit: B: tip clearance 22\u00a0cm" in said) is outside


def test_no_kind_calls_better_what_its_only_measure_leaves_undecided(pages):
    for shown in pages.values():
        campaign, found = with_flying(
            shown, "".join(f"[mission.only_{one}]\n{one} = 1\n" for one in shown.campaign.tables)
        )
        if missions.before_the_end(found):
            continue
        by_name = {(one.measure, one.other): one for one in found}
        for answer in missions.answers(campaign, found):
            (measure,) = answer.suited.weights
            one = by_name.get((measure, answer.suited.other))
            if one is None or one.baseline != answer.suited.baseline or len(campaign.configurations) > 2:
                continue
            if answer.suited.answer in ("A", "B") and answer.suited.answer in campaign.configurations:
                assert one.verdict != "not enough data", (campaign.title, measure)
                assert by_all_words.decided(one) in (answer.suited.answer, None)
            if one.verdict == "not enough data" and not answer.suited.unsure:
                assert answer.suited.answer in ("open", "either")
                assert (
                    "fly this first" in answer.sentence
                    or "either" in answer.sentence
                    or "not settled" in answer.sentence
                )
