"""Numbers, intervals and verdicts in words: rounding, signs, and that no verdict claims more than its interval."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from samesky.inference import verdict
from samesky.report import phrases
from samesky.report.phrases import Answer


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2212", "-")


@pytest.fixture
def roll(pages):
    """A take-off roll with the numbers to be set: shorter is better, 12 ft would matter."""
    one = next(one for one in pages["warming_day"].comparisons if one.measure == "takeoff_roll")
    one = replace(one, smallest_that_matters=12.0, smallest_text="12 ft", conditional="")

    def with_interval(difference, low, high, says, half_90=0.84):
        middle, half = (low + high) / 2, half_90 * (high - low) / 2
        return replace(
            one,
            difference=difference,
            interval_95=(low, high),
            interval_90=(middle - half, middle + half),
            verdict=says,
        )

    return with_interval


@pytest.mark.parametrize(
    ("size", "places"),
    [(0.04, 2), (0.012, 3), (0.46, 1), (0.196, 2), (1.0, 1), (1.5, 1), (2.0, 0), (12.0, 0), (300.0, 0), (0.0, 0)],
)
def test_places_show_one_digit_of_the_uncertainty_or_two_that_begin_with_one(size, places):
    assert phrases.places_for(size) == places


@pytest.mark.parametrize(
    ("value", "decimals", "sign", "shown"),
    [
        (-0.04, 1, True, "0.0"),
        (-21.4, 0, True, "-21"),
        (21.4, 0, True, "+21"),
        (1234.5, 1, False, "1 234.5"),
        (math.nan, 1, True, "?"),
    ],
)
def test_a_number_has_its_sign_and_no_minus_zero(value, decimals, sign, shown):
    assert plain(phrases.number(value, decimals, sign)) == shown


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (-33.0, -9.0, "9 to 33 ft shorter"),
        (9.0, 33.0, "9 to 33 ft longer"),
        (-46.0, 7.0, "46 ft shorter to 7 ft longer"),
        (-0.2, 14.0, "no different to 14 ft longer"),
    ],
)
def test_an_interval_is_said_from_the_near_end_to_the_far_one(roll, low, high, said):
    one = roll((low + high) / 2, low, high, "not enough data")
    assert plain(phrases.changes(one, one.interval_95)) == said


def test_an_end_that_is_no_bound_is_said_in_words(roll):
    """Runs that only grow across one swap: see tests/inference/test_comparison.py."""
    one = replace(roll(120.0, -281.0, 1509.0, "not enough data"), interval_95=(-281.0, math.inf))
    one = replace(one, interval_90=(-240.0, math.inf), percent_95=(-60.0, math.inf))
    said = plain(phrases.sentence(one))
    assert said == "The runs allow anything from 281 ft shorter up for B, with no upper bound from this order."
    assert plain(phrases.interval(one, one.interval_95)) == "-281 ft to no upper bound"
    assert plain(phrases.changes(one, one.interval_95)) == "281 ft shorter to no upper bound"
    assert plain(phrases.percent(one.percent_95[1])) == "no upper bound"
    claimed = replace(one, interval_95=(281.0, math.inf), verdict="A better")
    assert "(95 % interval 281 ft longer to no upper bound): more than" in plain(phrases.sentence(claimed))


def test_an_answer_that_drift_keeps_open_is_told_with_its_condition(roll):
    """The interval first, then what it hangs on; neither that it differs nor that it does not."""
    one = replace(roll(-19.0, -46.0, 7.0, "not enough data"), conditional="B better if drift stayed below 5 % an hour")
    said = plain(phrases.sentence(one))
    assert said == (
        "B is 19 ft shorter (95 % interval 46 ft shorter to 7 ft longer). B better if drift stayed below 5 % an hour."
    )
    upwards = replace(one, interval_95=(-281.0, math.inf))
    assert "(95 % interval 281 ft shorter to no upper bound). B better if" in plain(phrases.sentence(upwards))


def test_better_by_more_than_matters_is_said_so(roll):
    said = plain(phrases.sentence(roll(-21.0, -28.0, -14.0, "B better")))
    assert said == "B is 21 ft shorter (95 % interval 14 to 28 ft shorter): more than your margin of 12 ft."


def test_better_by_an_unsettled_size_does_not_claim_the_size(roll):
    said = plain(phrases.sentence(roll(-21.0, -33.0, -9.0, "B better")))
    assert said.endswith("Whether the difference reaches your margin of 12 ft is still open.")


def test_not_enough_data_never_says_that_there_is_no_difference(roll):
    said = plain(phrases.sentence(roll(-19.0, -46.0, 7.0, "not enough data")))
    assert said.startswith("B is 19 ft shorter by these runs, but the 95 % interval goes from 46 ft shorter to 7 ft")
    assert said.endswith("; your margin is 12 ft.")
    assert "no difference" not in said


def test_a_secondary_claim_that_fell_to_holm_is_no_proof(roll):
    said = plain(phrases.sentence(roll(-21.0, -33.0, -9.0, "not enough data")))
    assert "by itself is no proof" in said


def test_too_small_and_none_that_matters(roll):
    small = plain(phrases.sentence(roll(-3.0, -5.0, -1.0, "real, but too small to matter")))
    assert small.startswith("B is 3 ft shorter (95 % interval 1 to 5 ft shorter)")
    assert small.endswith("real, but less than your margin of 12 ft.")
    none = plain(phrases.sentence(roll(1.0, -8.0, 10.0, "no difference that matters")))
    assert none.startswith("Any difference is smaller than your margin of 12 ft (90 % interval")


@pytest.mark.parametrize(
    ("code", "kind", "better"),
    [
        (verdict.OTHER_BETTER, Answer.OTHER, "B"),
        (verdict.BASELINE_BETTER, Answer.BASELINE, "A"),
        (verdict.NO_DIFFERENCE, Answer.SAME, None),
        (verdict.TOO_SMALL, Answer.SMALL, None),
        (verdict.NOT_ENOUGH, Answer.OPEN, None),
    ],
)
def test_every_verdict_is_recognised(roll, code, kind, better):
    one = roll(-5.0, -9.0, -1.0, verdict.words(code, "A", "B"))
    assert phrases.answer(one) is kind
    assert phrases.winner(one) == better
    assert phrases.headline(one) == (f"{better} is better" if better else kind.value.capitalize())


def test_the_margin_is_given_as_written_beside_the_unit_of_the_answer(roll):
    one = roll(-5.0, -9.0, -1.0, "B better")
    assert plain(phrases.matters(one)) == "12 ft"
    assert plain(phrases.matters(replace(one, smallest_text="5 %"))).endswith("(5 %)")


def test_an_end_that_would_read_like_the_margin_gets_another_digit(roll):
    said = plain(phrases.sentence(roll(-1.0, -13.0, 12.0, "no difference that matters", half_90=0.9)))
    assert said.startswith("Any difference is smaller than your margin of 12.0 ft")
    assert "11.8 ft shorter to 10.8 ft longer" in said


def test_a_plain_number_has_no_unit_and_a_key_keeps_its_letters(roll):
    said = phrases.sentence(replace(roll(-21.0, -33.0, -9.0, "third better"), unit="1", other="third"))
    assert plain(said).startswith("third is 21 shorter (95 % interval 9 to 33 shorter).")
    assert phrases.unit_in_brackets("1") == ""
    assert phrases.unit_in_brackets("degC") == " [°C]"


def test_no_number_breaks_from_its_unit(example):
    for one in example.comparisons:
        for said in (phrases.sentence(one), phrases.difference(one), phrases.interval(one, one.interval_95)):
            assert not re.search(rf"\d {re.escape(one.unit)}", said), said


def test_p_values_have_the_digits_they_deserve():
    assert [phrases.p_value(p) for p in (0.0004, 0.0123, 0.27, math.nan)] == ["below 0.001", "0.012", "0.27", "none"]


@pytest.mark.parametrize(("value", "shown"), [(12345.6, "12350"), (-0.012345, "−0.01235"), (7.0, "7")])
def test_four_figures_are_written_out(value, shown):
    """By hand: four figures, never a power of ten."""
    assert phrases.significant(value) == shown
