"""The terminal: one line for each other measure, within 80 columns, the same in a pipe, no meaning in colour alone."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from samesky.report import phrases
from samesky.report.terminal import print_answers, title


def printed(shown, width=80, details=False, **console) -> str:
    stream = io.StringIO()
    print_answers(shown.campaign, shown.comparisons, Console(file=stream, width=width, **console), details)
    return stream.getvalue()


@pytest.mark.parametrize("details", [False, True])
@pytest.mark.parametrize("width", [60, 80, 132])
def test_nothing_is_wider_than_the_window_or_padded(example, details, width):
    for line in printed(example, width, details).splitlines():
        assert len(line) <= min(width, 100), line
        assert line == line.rstrip()


def test_each_measure_beside_the_deciding_one_has_its_line_with_difference_interval_and_answer(example):
    lines = printed(example, 100).splitlines()
    for one in example.comparisons:
        if not one.primary and len({each.other for each in example.comparisons}) == 1:
            line = next(line for line in lines if line.strip().startswith(one.title))
            assert phrases.difference(one) in line
            assert phrases.interval(one, one.interval_95) in line
            assert line.endswith(phrases.headline(one))


def test_the_deciding_measure_comes_first_and_the_opening_says_which_is_taken_from_which(example):
    opening, *parts = printed(example, 100).split("\n\n")
    first = next(part for part in parts if ", the deciding measure: " in part)
    deciding = next(one for one in example.comparisons if one.primary)
    head = (
        f"{phrases.capital(title(deciding, example.comparisons))}, the deciding measure: {phrases.headline(deciding)}."
    )
    assert first.splitlines()[0] == head
    assert " ".join(phrases.sentence(deciding).split()) in " ".join(first.split())
    several = len({one.baseline for one in example.comparisons}) > 1
    minus = "the first named minus the second" if several else "B minus A"
    assert f"Differences are {minus}." in " ".join(opening.split())


def test_every_warning_is_printed_and_what_it_rests_on_when_asked_for(example):
    short, long = (" ".join(printed(example, details=details).split()) for details in (False, True))
    for one in example.comparisons:
        assert " ".join(one.assumption.split()) not in short
        assert " ".join(one.assumption.split()) in long
        for warning in one.warnings:
            assert " ".join(warning.split()) in short
            assert " ".join(warning.split()) in long


def test_a_warning_for_all_measures_is_said_once(pages):
    shown = pages["warming_day"]
    common = set.intersection(*[set(one.warnings) for one in shown.comparisons])
    assert common
    text = " ".join(printed(shown).split())
    for warning in common:
        assert text.count(" ".join(warning.split())) == 1


def test_a_pipe_carries_no_control_codes_and_a_terminal_the_same_words(example):
    piped = printed(example)
    assert "\x1b" not in piped
    coloured = printed(example, force_terminal=True, color_system="standard")
    assert "\x1b" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == piped


def test_markup_in_a_title_is_text(pages):
    shown = pages["warming_day"]
    campaign = replace(shown.campaign, title="[bold]loud[/bold] [link=x]y")
    stream = io.StringIO()
    print_answers(campaign, shown.comparisons, Console(file=stream, width=80))
    assert "[bold]loud[/bold] [link=x]y" in stream.getvalue()


def test_nothing_to_compare_is_said(pages):
    stream = io.StringIO()
    print_answers(pages["warming_day"].campaign, [], Console(file=stream, width=80))
    assert "nothing to compare yet" in " ".join(stream.getvalue().split())
