"""The numbers of a rehearsal's page, terminal and figures, against tallies that are made up to tell them apart."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.rehearsal.rehearse import TRUTHS, ChangedWorld, rehearse
from samesky.report import rehearsal_figures as figures
from samesky.report import rehearsal_words as words
from samesky.report.picture import PAGE, PHONE
from samesky.report.rehearsal_terminal import print_rehearsal
from samesky.report.style import QUIET, WRONG, look

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
N = 200


@pytest.fixture(scope="module")
def flown():
    return rehearse(read(DATA / "warming_day"), campaigns=10, seed=3)


def tally(like, truth, other, baseline=0, none=0, small=0, half=0.05, covered=None, naive=(100, 40, 60), average=110):
    """So many of 200 campaigns a verdict; the rest have not enough data."""
    codes = [0] * len(like.codes)
    codes[verdict.OTHER_BETTER], codes[verdict.BASELINE_BETTER] = other, baseline
    codes[verdict.NO_DIFFERENCE], codes[verdict.TOO_SMALL] = none, small
    codes[verdict.NOT_ENOUGH] = N - sum(codes)
    return replace(
        like,
        campaigns=N,
        truth=truth,
        codes=tuple(codes),
        intervals=N,
        covered=N if covered is None else covered,
        half=half,
        naive=naive,
        average_for_other=average,
        runs=7.25,
    )


@pytest.fixture(scope="module")
def found(flown):
    """The roll is the primary measure: verdicts rise with the truth by numbers that occur nowhere else."""
    curve = []
    for k, one in enumerate(flown.curve):
        roll = tally(
            one["takeoff_roll"], -0.06 * TRUTHS[k], 10 + 17 * k, 8 - k, none=60 - 7 * k, small=9 - k, covered=180 + k,
            naive=(120 - 9 * k, 40 - 4 * k, 40 + 13 * k), average=110 + 10 * k,
        )  # fmt: skip
        climb = tally(one["timed_climb"], 0.03 * TRUTHS[k], 20 + 12 * k, half=0.02)
        curve.append({"takeoff_roll": roll, "timed_climb": climb})
    at = curve[TRUTHS.index(1.0)]

    def changed(name, other, half) -> ChangedWorld:
        like = flown.without[0]
        tallies = {**at, "takeoff_roll": tally(at["takeoff_roll"], -0.06, other, half=half)}
        return ChangedWorld(name, f"{name}, told", tallies, like.designs)

    return replace(
        flown,
        campaigns=N,
        curve=tuple(curve),
        without=(changed("gusts", 90, 0.045), changed("no rigging", 120, 0.03), changed("watch", 80, 0.049)),
        gains=(changed("more runs", 100, 0.04), changed("two days", 170, 0.02), changed("tape", 100, 0.035)),
    )


def test_the_tallies_are_sound(found):
    for one in found.curve:
        assert all(sum(each.codes) == N and min(each.codes) >= 0 for each in one.values())


def test_the_headline_counts_those_that_find_what_matters(found):
    # 10 + 17 * 4 = 78 of 200 are 39 of 100: below one half.
    assert ", 39 find a real " in words.headline(found)
    at = TRUTHS.index(1.0)
    for other, says in ((0, ", 0 find"), (98, ", 49 find"), (200, ", 100 find")):
        curve = list(found.curve)
        roll = replace(tally(curve[at]["takeoff_roll"], -0.06, other))
        curve[at] = {**curve[at], "takeoff_roll": roll}
        assert says in words.headline(replace(found, curve=tuple(curve)))


def test_where_there_is_none(found):
    # (60 + 9)/200 show that none matters, (10 + 8)/200 name a winner.
    said = words.none_there(found)
    assert f"{round(100 * 69 / 200)} show that no difference matters" in said
    assert "9 call one better" in said


def test_the_share_of_intervals_that_hold_counts_all_truths(found):
    held = sum(180 + k for k in range(len(TRUTHS))) / (N * len(TRUTHS))
    assert words.covered(found).startswith(f"{100 * held:.1f}\u00a0% of the 95\u00a0% intervals contain")


def test_plain_averages_in_words(found):
    said = words.averaged(found)
    assert "favour B 55 times in 100" in said  # 110 of 200
    assert "sure of a winner 40 times in 100" in said  # (40 + 40) of 200
    assert "favour A 25 times in 100" in said  # 200 - 150 of 200
    none = replace(found.curve[0]["takeoff_roll"], average_for_other=70)
    turned = replace(found, curve=({**found.curve[0], "takeoff_roll": none}, *found.curve[1:]))
    assert "favour A 65 times in 100" in words.averaged(turned)


def test_shares_as_whole_per_cent():
    shares = [words.share(x).replace("\u00a0", "") for x in (0.0, 0.001, 0.0049, 0.005, 0.0151, 0.994, 1.0, math.nan)]
    assert shares == ["0%", "<1%", "<1%", "0%", "2%", "99%", "100%", "none"]


def test_sizes_of_a_ratio_are_per_cent_of_it_and_half_widths_the_mean_reach(found):
    """On the scale of logarithms 0.06 is a factor of exp(0.06); up and down it reaches sinh(0.06) in the mean."""
    assert words.size(found, "takeoff_roll", -0.06) == f"{100 * (1 - math.exp(-0.06)):.1f}\u00a0%"
    assert words.size(found, "takeoff_roll", 0.25) == f"{100 * (math.exp(0.25) - 1):.0f}\u00a0%"
    assert words.half_width(found, "takeoff_roll", 0.09) == f"{100 * math.sinh(0.09):.1f}\u00a0%"
    assert words.size(found, "takeoff_roll", math.inf) == "none"
    assert words.difference(found, "takeoff_roll", 0.0) == "none"
    assert words.difference(found, "takeoff_roll", -0.06) == "5.8\u00a0%"


def test_what_costs_and_what_helps_come_in_order(found):
    assert [one.name for one in words.costs(found)] == ["no rigging", "gusts", "watch"]
    assert [one.name for one in words.helps(found)] == ["two days", "tape", "more runs"]
    said = words.dearest(found)
    assert "What costs most: no rigging." in said
    half = [words.half_width(found, "takeoff_roll", size) for size in (0.03, 0.05)]
    assert f"would reach {half[0]} to either side instead of {half[1]}" in said
    assert "60 of 100 campaigns would find the difference" in said
    said = words.best_help(found)
    assert (
        "Two days (two days, told) helps most: 85\u00a0% in place of 39\u00a0%; then tape 50\u00a0% and more runs"
        in said
    )
    assert any(line.startswith("Two days: two days, told") for line in words.would_settle(found))
    assert not any(line.startswith("Tape") for line in words.would_settle(found))


def test_help_that_is_none_is_not_praised(found):
    """Less than 3 of 100 more is nothing."""
    for other, helps in ((83, False), (85, True)):
        gains = tuple(
            replace(one, tallies={**one.tallies, "takeoff_roll": tally(one.tallies["takeoff_roll"], -0.06, other)})
            for one in found.gains
        )
        assert ("helps most" in words.best_help(replace(found, gains=gains))) == helps


def test_another_measure_that_answers_better_is_named(found):
    # The climb finds it in 68 of 200, less than half: not named.
    assert not any("timed climb" in line for line in words.would_settle(found))
    at = TRUTHS.index(1.0)
    for climbs, named in ((99, False), (100, True)):
        curve = list(found.curve)
        curve[at] = {**curve[at], "timed_climb": tally(curve[at]["timed_climb"], 0.03, climbs)}
        assert any("timed climb" in line for line in words.would_settle(replace(found, curve=tuple(curve)))) == named


def test_the_table_of_verdicts_has_five_truths_and_every_verdict(found):
    table = words.verdict_table(found, "takeoff_roll")
    assert len(table.header) == 6
    steps = [0, 2, 4, 6, 8]
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["B better"] == tuple(words.share((10 + 17 * k) / N) for k in steps)
    assert rows["A better"] == tuple(words.share((8 - k) / N) for k in steps)
    assert rows["interval holds the truth"] == tuple(words.share((180 + k) / N) for k in steps)
    assert table.header[1:] == tuple(words.difference(found, "takeoff_roll", -0.06 * TRUTHS[k]) for k in steps)
    changes = words.change_table(found, list(found.gains))
    assert [row[2] for row in changes.rows] == ["39\u00a0%", "50\u00a0%", "85\u00a0%", "50\u00a0%"]
    assert [row[3] for row in changes.rows] == [
        words.half_width(found, "takeoff_roll", half) for half in (0.05, 0.04, 0.02, 0.035)
    ]


def test_the_terminal_prints_the_tables_in_columns(found):
    console = Console(file=io.StringIO(), width=80)
    print_rehearsal(found, console)
    text = console.file.getvalue()
    lines = text.splitlines()
    for name in ("takeoff_roll", "timed_climb"):
        for row in words.verdict_table(found, name).rows:
            assert any(line.split("  ")[2:] and " ".join(row).split() == line.split() for line in lines), row
    for one in (*words.costs(found), *words.helps(found)):
        cells = next(row for row in words.change_table(found, [one]).rows[1:])
        wanted = [*cells[0].split(), *cells[2].split(), *cells[3].split()]
        assert any(line.split() == wanted for line in lines), wanted
    said = " ".join(text.split())
    assert " ".join(words.dearest(found).split()) in said
    assert " ".join(words.best_help(found).split()) in said
    for line in words.would_settle(found):
        assert f"Would answer: {' '.join(line.split())}" in said
    assert "* Take-off roll: A A A A A B B B B B" in said


# --- figures -----------------------------------------------------------------------------------------------------


def test_bands_of_verdicts_stack_to_one(found):
    axes = figures.verdict_figure(found, "takeoff_roll", PAGE).axes[0]
    assert len(axes.collections) == len(words.STACK)
    low = np.zeros(len(TRUTHS))
    for code, band in zip(words.STACK, axes.collections, strict=True):
        share = np.array([one["takeoff_roll"].share(code) for one in found.curve])
        corners = band.get_paths()[0].vertices
        for x, bottom, top in zip(TRUTHS, low, low + share, strict=True):
            at = corners[np.isclose(corners[:, 0], x)][:, 1]
            assert (at.min(), at.max()) == pytest.approx((bottom, top), abs=1e-9)
        low = low + share
    assert low == pytest.approx(np.ones(len(TRUTHS)))
    for width, ticks in ((PAGE, 5), (PHONE, 3)):
        axes = figures.verdict_figure(found, "takeoff_roll", width).axes[0]
        labels = [label.get_text() for label in axes.get_xticklabels()]
        assert len(labels) == ticks
        for place, label in zip(axes.get_xticks(), labels, strict=True):
            truth = found.at(place)["takeoff_roll"].truth
            assert label.splitlines()[0] == words.difference(found, "takeoff_roll", truth)
            assert ("matters" in label) == (place == 1.0)
        assert [label.get_text() for label in axes.get_yticklabels()] == ["0", "25", "50", "75", "100"]
        assert list(axes.get_yticks()) == [0, 0.25, 0.5, 0.75, 1]


def test_a_band_is_named_where_it_is_widest_and_not_where_it_is_narrow(found):
    axes = figures.verdict_figure(found, "takeoff_roll", PAGE).axes[0]
    said = {text.get_text(): text.get_position() for text in axes.texts}
    low = np.zeros(len(TRUTHS))
    for code in words.STACK:
        share = np.array([one["takeoff_roll"].share(code) for one in found.curve])
        name = words.verdict_name(found, code)
        assert (name in said) == (share[1:-1].max() >= 0.09)
        if name in said:
            x, y = said[name]
            middle = np.interp(x, TRUTHS, low + share / 2)
            assert y == pytest.approx(middle)
        low = low + share


def test_the_lines_of_the_measures_are_their_shares(found):
    axes = figures.measures_figure(found, PAGE).axes[0]
    by_colour = {line.get_color(): line for line in axes.lines}
    for place, name in enumerate(found.script.tables):
        line = by_colour[look(place).colour]
        assert list(line.get_xdata()) == list(TRUTHS)
        assert list(line.get_ydata()) == [one[name].better for one in found.curve]
        primary = name == found.script.primary
        assert line.get_linewidth() == (2.4 if primary else 1.5)
    naive = by_colour[WRONG]
    assert list(naive.get_xdata()) == list(TRUTHS[1:])
    assert list(naive.get_ydata()) == [(40 + 13 * k) / N for k in range(1, len(TRUTHS))]
    (enough,) = [line for line in axes.lines if line.get_color() == QUIET]
    assert set(enough.get_ydata()) == {0.8}


def test_each_change_is_a_line_from_now_to_then(found):
    for shown in (found.without, found.gains):
        left, right = figures.changes_figure(found, shown, PAGE).axes
        now = found.at(1.0)["takeoff_roll"]
        for axes, of in ((left, lambda one: one.better), (right, lambda one: one.half)):
            arrows = [line for line in axes.lines if line.get_marker() == "^"]
            paths = [line for line in axes.lines if line.get_color() == QUIET]
            for row, one in enumerate(shown):
                then = of(one.tallies["takeoff_roll"])
                assert (float(arrows[row].get_xdata()[0]), float(arrows[row].get_ydata()[0])) == (then, -row)
                assert list(paths[row].get_xdata()) == [of(now), then]
                assert set(paths[row].get_ydata()) == {-row}
            (line,) = [one for one in axes.lines if one.get_color() == look(0).colour]
            assert set(line.get_xdata()) == {of(now)}
        assert right.get_xlim() == pytest.approx(
            (0.0, 1.12 * max(now.half, *(o.tallies["takeoff_roll"].half for o in shown)))
        )
        names = [label.get_text().replace("\n", " ") for label in left.get_yticklabels()]
        assert names == [one.name[0].upper() + one.name[1:] for one in shown]


def test_words_of_the_figures_tell_their_numbers(found):
    said = figures.measures_alt(found)
    for name in found.script.tables:
        shares = ", ".join(words.share(one[name].better) for one in found.curve)
        assert f"{words.title(found, name)} {shares}" in said
    said = figures.changes_alt(found, found.gains)
    assert "Two days: 85\u00a0%, 2.0\u00a0%" in said
    assert "as it is: 39\u00a0%" in said
    said = figures.verdict_alt(found, "takeoff_roll")
    for row in words.verdict_table(found, "takeoff_roll").rows:
        assert f"{row[0]}: {', '.join(row[1:])}" in said
