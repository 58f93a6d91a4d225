"""The figures: every run in its place, the bridge joins, names stay text, and all of it can be told apart."""

from __future__ import annotations

import math
import re
import warnings
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from samesky import units
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.reduction.reduction import reduce_table
from samesky.report.bridge_figure import bridge_figure, doubts, strides
from samesky.report.difference_figure import difference_figure, in_favour
from samesky.report.page import page
from samesky.report.picture import ON_DARK, PAGE, PHONE, for_both_screens, picture
from samesky.report.runs_figure import runs_alt, runs_figure
from samesky.report.style import BAND, INK, LOOKS, QUIET, WRONG, shown_together


def points(axes, marker: str) -> list[tuple[float, float]]:
    lines = [line for line in axes.lines if line.get_marker() == marker]
    return [point for line in lines for point in zip(line.get_xdata(), line.get_ydata(), strict=True)]


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_every_run_is_drawn_as_flown_and_reduced(example, width):
    for one in example.comparisons:
        table, reduction = one.reduction.table, one.reduction
        axes = runs_figure(example.campaign, reduction, one.unit, width).axes[0]
        for place, key in enumerate(example.campaign.configurations):
            chosen = table.included & (table.configuration == key)
            expected = [
                units.from_si(values[chosen], one.unit, table.measure.dimension)
                for values in (reduction.steps[0].value, reduction.value)
            ]
            drawn = [y for _, y in points(axes, LOOKS[place].marker)]
            assert sorted(drawn) == pytest.approx(sorted(np.concatenate(expected)))
        crossed = points(axes, "x")
        assert len(crossed) == int((~table.included).sum())
        low, high = axes.get_ylim()
        assert all(low < y < high for _, y in crossed)


def test_runs_stand_in_flown_order_with_the_clock_kept_within_a_day(example):
    for one in example.comparisons:
        table = one.reduction.table
        axes = runs_figure(example.campaign, one.reduction, one.unit, PAGE).axes[0]
        xs = sorted({x for look in LOOKS for x, _ in points(axes, look.marker)} | {x for x, _ in points(axes, "x")})
        assert len(xs) == len(table.rows)
        for day in np.unique(table.day):
            rows = np.flatnonzero(table.day == day)
            assert np.diff([xs[row] for row in rows]) == pytest.approx(np.diff(table.hours[rows]))


def test_the_reason_of_a_run_left_out_stands_under_the_figure(example):
    for one in example.comparisons:
        table = one.reduction.table
        drawn = runs_figure(example.campaign, one.reduction, one.unit, PAGE)
        foot = drawn._supxlabel.get_text() if drawn._supxlabel else ""
        for index in np.flatnonzero(~table.included):
            assert table.text["exclude"][index][:40] in " ".join(foot.split())


def test_a_campaign_without_a_clock_is_drawn_in_order(pages):
    one = pages["warming_day"].comparisons[0]
    table = replace(one.reduction.table, hours=np.full(len(one.reduction.table.rows), np.nan))
    axes = runs_figure(pages["warming_day"].campaign, replace(one.reduction, table=table), one.unit, PAGE).axes[0]
    assert "no clock" in axes.get_xlabel()


def test_many_days_and_installations_stay_readable(pages):
    one = pages["warming_day"].comparisons[0]
    table, count = one.reduction.table, len(one.reduction.table.rows)
    day = np.arange(count)
    dates = [f"2026-04-{11 + k}" for k in day]
    many = replace(table, day=day, installation=day, hours=table.hours + 24.0 * day, text={**table.text, "date": dates})
    for width, most in ((PAGE, 9), (PHONE, 5)):
        drawn = runs_figure(pages["warming_day"].campaign, replace(one.reduction, table=many), one.unit, width)
        named = [label.get_text() for label in drawn.axes[0].get_xticklabels()]
        assert 1 < len(named) <= most
        assert named[0] == "11 Apr"
        assert drawn.axes[0].get_xlabel().startswith("day")


def test_many_configurations_come_in_figures_that_can_be_read(many_configurations):
    """With 40 in one key matplotlib gives the figure up; in groups, every run stands in one figure."""
    campaign = read(many_configurations(40))
    reduction = reduce_table(campaign, campaign.tables["takeoff_roll"])
    groups = shown_together(campaign.configurations, campaign.baseline)
    named = []
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for keys in (groups[0], groups[-1]):
            for width in (PAGE, PHONE):
                picture(lambda width, keys=keys: runs_figure(campaign, reduction, "ft", width, keys), "")
    for keys in groups:
        drawn = runs_figure(campaign, reduction, "ft", PAGE, keys)
        said = [text.get_text().split()[0] for text in drawn.legends[0].get_texts()][:-1]
        assert said == keys
        assert sum(len(points(drawn.axes[0], look.marker)) for look in LOOKS) == 2 * 2 * len(keys)
        named += said[1:]
    assert named == list(campaign.configurations)[1:]


def test_names_of_installations_do_not_run_into_each_other(many_configurations, example):
    folder = many_configurations(24)
    toml = folder / "campaign.toml"
    toml.write_text(toml.read_text().replace('"free"', '"refit"'))
    campaign = read(folder)
    first = shown_together(campaign.configurations, campaign.baseline)[0]
    crowded = (campaign, reduce_table(campaign, campaign.tables["takeoff_roll"]), "ft")
    names = []

    def draw(one, width):
        drawn = runs_figure(*one, width, first if one is crowded else None)
        FigureCanvasAgg(drawn).draw()
        feet = [text for text in drawn.axes[0].texts if text.get_position()[1] == 0.05]
        boxes = sorted((text.get_window_extent() for text in feet), key=lambda box: box.x0)
        assert all(before.x1 <= after.x0 for before, after in pairwise(boxes))
        names.append(len(boxes))
        return drawn

    for one in (crowded, *((example.campaign, one.reduction, one.unit) for one in example.comparisons)):
        picture(lambda width, one=one: draw(one, width), "")
        table = one[1].table
        fitted = set(zip(table.day.tolist(), table.installation.tolist(), strict=True))
        page, _ = names[-2:]
        # Ten fittings of a run or two leave no room for every name.
        most = 2 * len(first) - 2 if one is crowded else len(fitted)
        least = most if one is not crowded and most < 10 else 1
        assert least <= page <= most, (page, len(fitted))


def test_a_page_of_many_configurations_shows_them_all(many_configurations):
    campaign = read(many_configurations(6))
    html = page(campaign, compare(campaign))
    assert "Figure 1 of 2, on the same axes: C0 with up to three others each." in html
    for keys in (["C0", "C1", "C2", "C3"], ["C0", "C4", "C5"]):
        sides = "; ".join(rf'{key}: [^;"]*' for key in keys)
        assert re.search(rf'alt="take-off roll, every run[^"]*\. {sides}"', html)


def test_the_words_beside_the_figure_tell_its_range(example):
    for one in example.comparisons:
        said = runs_alt(example.campaign, one.reduction, one.unit)
        table = one.reduction.table
        for key in set(table.configuration):
            chosen = table.included & (table.configuration == key)
            raw = units.from_si(one.reduction.steps[0].value[chosen], one.unit, table.measure.dimension)
            ends = re.search(rf"{key}: {chosen.sum()} runs, (\S+) to (\S+)\s", said).groups()
            assert [float(end) for end in ends] == pytest.approx([raw.min(), raw.max()], rel=5e-3), said


def test_the_bridge_joins_from_the_plain_average_to_the_fair_difference(example):
    for one in example.comparisons:
        steps = strides(one)
        assert steps[0].start == pytest.approx(one.naive.difference)
        assert all(after.start == before.end for before, after in pairwise(steps))
        assert steps[-1].end == pytest.approx(one.difference, rel=1e-9, abs=1e-9 * abs(one.levels[one.baseline]))
        assert [step.name for step in steps[1:]] == [part.name for part in one.contributions]


def test_the_doubts_drawn_are_the_whole_uncertainty(example):
    """Drawn in quadrature they are the standard uncertainty, but for sources too small to be drawn.

    A limit of drift stands beside it, as the rectangular distribution of that half-width (JCGM 100:2008, 4.3.7).
    """
    for one in example.comparisons:
        together = math.sqrt(sum(size**2 for _, size in doubts(one)))
        level = one.scale.level if one.scale.asked.measure.ratio else 1.0
        limit = abs(one.scale.shown(level * float(one.estimate.worst_drift))) / math.sqrt(3.0)
        assert together == pytest.approx(math.hypot(one.standard_uncertainty, limit), rel=0.03)


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_bridge_and_differences_keep_all_marks_inside(example, width):
    for one in example.comparisons:
        axes = bridge_figure(one, width).axes[0]
        low, high = axes.get_xlim()
        assert low < min(one.interval_95) < max(one.interval_95) < high
        assert low < one.naive.difference < high
    drawn = difference_figure(example.comparisons, [one.title for one in example.comparisons], width)
    low, high = drawn.axes[0].get_xlim()
    assert low == -high
    assert all(low < in_favour(one, one.difference) < high for one in example.comparisons)


def test_right_is_in_favour_of_the_other_one_whatever_is_better(example):
    for one in example.comparisons:
        shorter_or_less = one.difference < 0
        assert (in_favour(one, one.difference) > 0) == (shorter_or_less == (one.better == "smaller"))
        assert abs(in_favour(one, one.difference)) == pytest.approx(abs(one.percent), rel=1e-6)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (W3C Recommendation, 2023), definition."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2, definition."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_standards_own_ends():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # from memory: the grey just below 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_and_marks_stand_out_on_paper_and_on_a_dark_screen(scheme):
    """WCAG 2.2: 7:1 for text in sunlight (1.4.6), 3:1 for marks (1.4.11)."""
    shown = (lambda colour: colour) if scheme == "light" else ON_DARK.__getitem__
    paper = shown("#ffffff")
    assert contrast(shown(INK), paper) >= 7
    assert contrast(shown(WRONG), paper) >= 4.5
    for look in LOOKS[:3]:
        assert contrast(shown(look.colour), paper) >= 2.7, look
    assert contrast(shown(QUIET), paper) >= 3
    assert contrast(shown(INK), shown(BAND)) >= 7


def test_page_text_stands_out_in_both_schemes():
    """WCAG 2.2, 1.4.6: body text 7:1; 1.4.3: quiet text and links 4.5:1."""
    from samesky.report.rendering import TEMPLATES

    css = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    schemes = re.findall(r":root \{([^}]*)\}", css)
    assert len(schemes) == 2
    for declared in schemes:
        colours = dict(re.findall(r"--(\w+): (#\w{6})", declared))
        for paper in (colours["paper"], colours["wash"]):
            assert contrast(colours["ink"], paper) >= 7
            for name in ("quiet", "link", "wrong"):
                assert contrast(colours[name], paper) >= 4.5, (name, paper)


def test_every_colour_of_a_figure_turns_on_a_dark_screen():
    svg = '<?xml version="1.0"?>\n<svg width="1"><path style="fill: #22262B; stroke: #ffffff"/></svg>'
    turned = for_both_screens(svg)
    assert turned.startswith("<svg")
    assert "fill: var(--22262b,#22262b)" in turned
    assert "stroke: var(--ffffff,#ffffff)" in turned
    assert "prefers-color-scheme:dark" in turned
