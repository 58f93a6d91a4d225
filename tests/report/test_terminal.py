"""The terminal: one line a measure, within 80 columns, the same in a pipe, no meaning in colour alone."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from samesky.report import phrases
from samesky.report.terminal import print_comparisons, print_verdicts


def printed(how, shown, width=80, **console) -> str:
    stream = io.StringIO()
    how(shown.campaign, shown.comparisons, Console(file=stream, width=width, **console))
    return stream.getvalue()


@pytest.mark.parametrize("how", [print_comparisons, print_verdicts])
@pytest.mark.parametrize("width", [60, 80, 132])
def test_nothing_is_wider_than_the_window_or_padded(example, how, width):
    for line in printed(how, example, width).splitlines():
        assert len(line) <= min(width, 100), line
        assert line == line.rstrip()


def test_each_measure_has_its_line_with_difference_interval_and_verdict(example):
    lines = printed(print_comparisons, example, 100).splitlines()
    for one in example.comparisons:
        line = next(line for line in lines if line[2:].startswith(one.title))
        assert phrases.difference(one) in line
        assert phrases.interval(one, one.interval_95) in line
        assert line.endswith(phrases.headline(one))
        assert line.startswith("*") == one.primary


def test_the_primary_measure_comes_first_and_the_foot_says_what_the_star_means(example):
    text = printed(print_comparisons, example)
    first = text.split("\n\n")[1].splitlines()[0]
    primary = next(one for one in example.comparisons if one.primary)
    assert first.startswith(f"* {primary.title}")
    assert "* = deciding measure. Differences are B minus A." in text


def test_what_it_rests_on_and_every_warning_is_printed(example):
    text = " ".join(printed(print_comparisons, example).split())
    for one in example.comparisons:
        assert " ".join(one.assumption.split()) in text
        for warning in one.warnings:
            assert " ".join(warning.split()) in text


def test_a_warning_for_all_measures_is_said_once(pages):
    shown = pages["warming_day"]
    common = set.intersection(*[set(one.warnings) for one in shown.comparisons])
    assert common
    text = " ".join(printed(print_comparisons, shown).split())
    for warning in common:
        assert text.count(" ".join(warning.split())) == 1


def test_a_pipe_carries_no_control_codes_and_a_terminal_the_same_words(example):
    piped = printed(print_comparisons, example)
    assert "\x1b" not in piped
    coloured = printed(print_comparisons, example, force_terminal=True, color_system="standard")
    assert "\x1b" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == piped


def test_markup_in_a_title_is_text(pages):
    shown = pages["warming_day"]
    campaign = replace(shown.campaign, title="[bold]loud[/bold] [link=x]y")
    stream = io.StringIO()
    print_verdicts(campaign, shown.comparisons, Console(file=stream, width=80))
    assert "[bold]loud[/bold] [link=x]y" in stream.getvalue()


def test_nothing_to_compare_is_said(pages):
    stream = io.StringIO()
    print_comparisons(pages["warming_day"].campaign, [], Console(file=stream, width=80))
    assert "nothing to compare yet" in " ".join(stream.getvalue().split())
