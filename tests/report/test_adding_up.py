"""What is printed adds up to the last digit, and no part is a whole unit off."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from samesky.report import missions, phrases, pitfalls
from samesky.report.adding_up import adding_up, strides_adding_up
from samesky.report.bridge_figure import bridge_alt
from samesky.report.sections import numbers


def test_thirds_and_a_printed_example():
    """Three thirds of a hundred: 34, 33, 33, Hamilton's method of largest remainders."""
    assert adding_up([100 / 3] * 3, 0) == [34.0, 33.0, 33.0]
    assert adding_up([-0.4, -0.4, -0.4], 0) == [0.0, 0.0, -1.0] or sum(adding_up([-0.4, -0.4, -0.4], 0)) == -1.0


@pytest.mark.parametrize("decimals", [0, 1, 3])
def test_any_parts_add_up_and_none_is_a_whole_unit_off(decimals):
    rng = np.random.default_rng(decimals)
    unit = 10.0**-decimals
    for _ in range(2000):
        start, *parts = rng.normal(0, 30, rng.integers(2, 8))
        end = start + sum(parts)
        first, shown, last = strides_adding_up(start, parts, end, decimals)
        assert first + sum(shown) == pytest.approx(last, abs=1e-6)
        assert abs(first - start) <= 0.5 * unit + 1e-9
        assert abs(last - end) <= 0.5 * unit + 1e-9
        # The printed ends move the whole by up to a unit, which is shared out.
        assert max(abs(a - b) for a, b in zip(shown, parts, strict=True)) < 2.0 * unit + 1e-9


def test_numbers_that_do_not_exist_stay_so():
    assert np.isnan(adding_up([1.0, float("nan")], 1)[1])
    assert strides_adding_up(float("nan"), [1.26], 2.0, 1)[1] == [1.26]


def shown_numbers(text):
    text = text.replace("\u2212", "-").replace("\u202f", "")
    return [float(one) for one in re.findall(r"(?<![\d.])[+-]?\d+(?:\.\d+)?", text)]


def test_the_sentence_of_the_corrections_adds_up(example):
    for one in example.comparisons:
        for said in pitfalls.why_not(one):
            listed, _, whole = said.partition("same sky: ")[2].partition("; ")
            if not whole:
                continue
            assert sum(shown_numbers(listed)) == pytest.approx(shown_numbers(whole)[0], abs=1e-9), said


def test_the_bridge_adds_up(example):
    for one in example.comparisons:
        said = bridge_alt(one).partition("What could")[0].replace(f"{phrases.NARROW}{one.unit}", "")
        start, *steps, end = shown_numbers(said)
        assert start + sum(steps) == pytest.approx(end, abs=1e-9), said


def test_the_levels_and_the_difference_add_up(example):
    found = numbers(example.comparisons, [one.title for one in example.comparisons])
    for row in found.rows:
        first, second = (shown_numbers(text.partition(phrases.NARROW)[2])[0] for text in (row[1].main, row[1].under))
        assert first + shown_numbers(row[2].main)[0] == pytest.approx(second, abs=1e-9)


def test_shares_of_a_mission_are_a_hundred(pages):
    shown = pages["finer_pitch"]
    (one, *_) = missions.suited(shown.campaign, shown.comparisons)
    thirds = replace(one, weights={"a": 1 / 3, "b": 1 / 3, "c": 1 / 3}, other_ahead=0.625, baseline_ahead=0.375)
    row = missions.table([thirds]).rows[0]
    assert sum(shown_numbers(row[4])) == 100
    assert sum(shown_numbers(row[3])) == 100
