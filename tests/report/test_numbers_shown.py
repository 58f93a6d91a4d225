"""The numbers that reach a reader, taken out of the drawn figures and the written tables, against the comparison."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from samesky import units
from samesky.campaign.settings.conditions import conditions
from samesky.inference.result import BudgetRow
from samesky.report import methods, missions, phrases, pitfalls, sections
from samesky.report.bridge_figure import SMALL_SHARE, bridge_figure, doubts, strides
from samesky.report.difference_figure import difference_figure, in_favour
from samesky.report.picture import PAGE, PHONE
from samesky.report.runs_figure import runs_alt, runs_figure
from samesky.report.style import INK, QUIET, look


def plain(text: str) -> float:
    """A written number as a number."""
    return float(text.replace("\u202f", "").replace("\u2212", "-").replace("±", ""))


# --- how a number is written -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "places"),
    [
        (0.1, 2),
        (0.19, 2),
        (0.2, 1),
        (0.9, 1),
        (1.0, 1),
        (1.99, 1),
        (2.0, 0),
        (15.0, 0),
        (300.0, 0),
        (0.03, 2),
        (0.0, 0),
    ],
)
def test_an_uncertainty_is_shown_with_one_digit_or_two_where_it_begins_with_one(size, places):
    assert phrases.places_for(size) == places
    assert phrases.places_for(math.nan) == 0


@pytest.mark.parametrize(
    ("value", "decimals", "sign", "text"),
    [
        (1234.5, 1, False, "1\u202f234.5"),
        (-1234.56, 1, True, "\u22121\u202f234.6"),
        (0.04, 1, True, "0.0"),
        (-0.04, 1, True, "0.0"),
        (3.0, 0, True, "+3"),
        (3.0, 0, False, "3"),
        (math.nan, 1, True, "?"),
        (math.inf, 1, False, "?"),
    ],
)
def test_numbers_as_written(value, decimals, sign, text):
    assert phrases.number(value, decimals, sign) == text


def test_p_values_as_written():
    assert [phrases.p_value(p) for p in (0.0004, 0.001, 0.0456, 0.0999, 0.1, 0.456, math.nan)] == [
        "below 0.001", "0.001", "0.046", "0.100", "0.10", "0.46", "none",
    ]  # fmt: skip


def test_per_cent_and_levels_as_written():
    assert phrases.percent(-3.26) == "\u22123.3\u00a0%"
    assert phrases.percent(3.26, sign=False) == "3.3\u00a0%"
    assert phrases.percent(math.inf) == "no upper bound"
    assert phrases.level(0.95) == "95\u00a0%"
    assert phrases.level(0.98765) == "98.77\u00a0%"


def test_an_end_never_reads_like_the_smallest_difference_that_matters(pages):
    """One place more where an end of an interval would else be written as the size that matters."""
    one = pages["warming_day"].comparisons[0]
    apart = replace(one, interval_95=(-50.0, 30.0), interval_90=(-45.0, 25.0), smallest_that_matters=20.0)
    assert phrases.places(apart) == 0
    for field in ("interval_95", "interval_90"):
        for ends in ((-20.4, 30.0), (-50.0, 19.6)):
            assert phrases.places(replace(apart, **{field: ends})) == 1
    assert phrases.places(replace(apart, interval_95=(math.nan, math.nan), smallest_that_matters=math.nan)) == 1


def test_ranges_of_change_say_less_and_more(pages):
    one = replace(
        next(each for each in pages["warming_day"].comparisons if each.measure == "takeoff_roll"),
        interval_95=(-50.0, 30.0),
        interval_90=(-45.0, 25.0),
        smallest_that_matters=20.0,
    )
    unit = phrases.unit_behind(one.unit)
    assert phrases.changes(one, (-33.0, -9.0)) == f"9 to 33{unit} shorter"
    assert phrases.changes(one, (9.0, 33.0)) == f"9 to 33{unit} longer"
    assert phrases.changes(one, (-46.0, 7.0)) == f"46{unit} shorter to 7{unit} longer"
    assert phrases.changes(one, (-46.0, math.inf)) == f"46{unit} shorter to no upper bound"
    assert phrases.changes(one, (-46.0, 0.0)) == f"46{unit} shorter to no different"
    assert phrases.change(one, 0.2) == "no different"
    assert phrases.change(one, math.nan) == "an unknown amount"


# --- the bridge --------------------------------------------------------------------------------------------------


def bars(axes) -> list[tuple[float, float, float]]:
    """Place (row), start and end of every bar, downwards."""
    found = [(patch.get_y() + patch.get_height() / 2, patch.get_x(), patch.get_x() + patch.get_width())
             for patch in axes.patches if min(abs(patch.get_height() - h) for h in (0.5, 0.62)) < 1e-9]  # fmt: skip
    return sorted(found, reverse=True)


def level_lines(axes, colour: str, width: float) -> list[tuple[float, float, float]]:
    return [
        (float(line.get_ydata()[0]), *map(float, line.get_xdata()))
        for line in axes.lines
        if line.get_color() == colour and line.get_linewidth() == width and len(set(line.get_ydata())) == 1
    ]


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_the_bars_of_the_bridge_are_its_steps(example, width):
    for one in example.comparisons:
        axes = bridge_figure(one, width).axes[0]
        steps = strides(one)
        expected = [(0.0, one.naive.difference), *((step.start, step.end) for step in steps), (0.0, one.difference)]
        assert len(bars(axes)) == len(expected)
        for (_, *drawn), wanted in zip(bars(axes), expected, strict=True):
            assert sorted(drawn) == pytest.approx(sorted(wanted), abs=1e-9)
        rows = [row for row, *_ in bars(axes)]
        assert rows == pytest.approx(-np.arange(len(rows)), abs=1e-9)
        # Beside each bar stands what it does, with its sign.
        decimals = phrases.places(one)
        said = {text.xy[1]: text.get_text() for text in axes.texts}
        moves = [one.naive.difference, *(step.end - step.start for step in steps), one.difference]
        # Printed parts add up to the printed whole, so that one of them may be one last digit beside its own rounding.
        shown = [plain(said[row]) for row in rows]
        assert shown == pytest.approx(moves, abs=1.01 * 10.0**-decimals)
        assert (shown[0], shown[-1]) == pytest.approx((moves[0], moves[-1]), abs=0.51 * 10.0**-decimals)
        assert sum(shown[:-1]) == pytest.approx(shown[-1], abs=1e-9)


def test_the_doubts_are_drawn_two_standard_uncertainties_either_way(example):
    for one in example.comparisons:
        axes = bridge_figure(one, PAGE).axes[0]
        drawn = sorted(level_lines(axes, QUIET, 3.2), reverse=True)
        parts = doubts(one)
        assert len(drawn) == len(parts)
        said = {text.xy[1]: text.get_text() for text in axes.texts}
        for (row, low, high), (_, size) in zip(drawn, parts, strict=True):
            assert (low, high) == pytest.approx((one.difference - 2 * size, one.difference + 2 * size))
            assert said[row] == f"±{phrases.number(2 * size, phrases.places(one))}"
        (thin,) = level_lines(axes, INK, 1.4)
        (thick,) = level_lines(axes, INK, 4.5)
        assert thin[1:] == pytest.approx(one.interval)
        assert thick[1:] == pytest.approx(one.equivalence_interval)


def test_the_band_of_what_does_not_matter_is_that_of_the_pilot(example):
    for one in example.comparisons:
        axes = bridge_figure(one, PAGE).axes[0]
        (band,) = [patch for patch in axes.patches if patch.get_height() == 1.0]
        assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx(
            (-one.smallest_that_matters, one.smallest_that_matters)
        )


def test_small_sources_are_drawn_as_one_and_none_is_lost(pages):
    one = pages["warming_day"].comparisons[0]
    row = one.budget[0]

    def made(name, added, share, note="seen") -> BudgetRow:
        return replace(row, source=name, added=added, share=share, note=note)

    budget = (made("small a", 3.0, SMALL_SHARE - 1e-3), made("big", 10.0, 0.5), made("stated", 8.0, 0.4, "stated"),
              made("small b", 4.0, 0.01), made("edge", 5.0, SMALL_SHARE), made("none", 0.0, 0.3))  # fmt: skip
    found = doubts(replace(one, budget=budget))
    assert found == [("big", 10.0), ("stated (stated)", 8.0), ("edge", 5.0), ("2 smaller sources", pytest.approx(5.0))]
    single = doubts(replace(one, budget=budget[1:3] + budget[3:4]))
    assert single[-1] == ("small b", 4.0)


# --- all measures on one axis ------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_intervals_of_the_differences_are_drawn_in_favour_of_the_other(example, width):
    shown = example.comparisons
    axes = difference_figure(shown, [one.title for one in shown], width).axes[0]
    low, high = axes.get_xlim()
    thin = {row: ends for row, *ends in level_lines(axes, look(1).colour, 1.4)}
    thick = {row: ends for row, *ends in level_lines(axes, look(1).colour, 4.5)}
    marks = {float(line.get_ydata()[0]): float(line.get_xdata()[0]) for line in axes.lines if line.get_marker() == "|"}
    for row, one in enumerate(shown):
        sign = 1.0 if one.better == "larger" else -1.0
        scale = sign * 100.0 / abs(one.levels[one.baseline])
        assert thin[-row] == pytest.approx(np.clip(sorted(scale * end for end in one.interval), low, high))
        assert thick[-row] == pytest.approx(np.clip(sorted(scale * e for e in one.equivalence_interval), low, high))
        assert marks[-row] == pytest.approx(scale * one.difference)
    edges = [line for line in axes.lines if line.get_linestyle() == ":"]
    for row, one in enumerate(shown):
        own = [float(line.get_xdata()[0]) for line in edges if abs(np.mean(line.get_ydata()) + row) < 0.1]
        band = 100.0 * one.smallest_that_matters / abs(one.levels[one.baseline])
        assert sorted(own) == pytest.approx([-band, band])
    for tick, label in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True):
        assert float(label.get_text()) == pytest.approx(abs(tick))


def test_the_axis_reaches_over_everything_in_proportion_and_cuts_what_is_not(pages):
    first, second = pages["finer_pitch"].comparisons[:2]
    shown = [first, second]
    axes = difference_figure(shown, ["a", "b"], PAGE).axes[0]
    ends = [abs(in_favour(one, end)) for one in shown for end in (*one.interval, one.difference)]
    bands = [abs(in_favour(one, one.smallest_that_matters)) for one in shown]
    assert axes.get_xlim()[1] == pytest.approx(1.12 * max(ends + bands))
    level = first.levels[first.baseline]
    wild = replace(first, interval_95=(-9.0 * level, 9.0 * level))
    wide = difference_figure([wild, second, first], ["a", "b", "c"], PAGE).axes[0]
    reach = wide.get_xlim()[1]
    assert reach < 100
    arrows = {line.get_marker(): float(line.get_xdata()[0]) for line in wide.lines if line.get_marker() in "<>"}
    assert arrows["<"] == pytest.approx(-0.985 * reach)
    assert arrows[">"] == pytest.approx(0.985 * reach)


# --- every run ---------------------------------------------------------------------------------------------------


def test_the_mean_of_each_fitting_is_drawn_at_the_common_sky(pages):
    for shown in pages.values():
        if not shown.campaign.fitted_anew:
            continue
        for one in shown.comparisons:
            table = one.reduction.table
            reduced = units.from_si(one.reduction.value, one.unit, table.measure.dimension)
            axes = runs_figure(shown.campaign, one.reduction, one.unit, PAGE).axes[0]
            drawn = sorted(
                float(line.get_ydata()[0])
                for line in axes.lines
                if line.get_alpha() == 0.75 and len(set(line.get_ydata())) == 1
            )
            wanted = []
            for pair in dict.fromkeys(zip(table.day.tolist(), table.installation.tolist(), strict=True)):
                own = (table.day == pair[0]) & (table.installation == pair[1]) & table.included
                if own.sum() > 1:
                    wanted.append(reduced[own].mean())
            assert drawn == pytest.approx(sorted(wanted))


def test_a_run_left_out_far_away_is_drawn_at_the_edge_and_its_value_said(pages):
    shown = pages["warming_day"]
    one = shown.comparisons[0]
    table = one.reduction.table
    out = np.zeros(len(table.rows), dtype=bool)
    out[2] = True
    reasons = ["dog on the strip" if k == 2 else "" for k in range(len(table.rows))]
    steps = [replace(step, value=np.where(out, 20.0 * step.value, step.value)) for step in one.reduction.steps]
    far = replace(one.reduction, table=replace(table, text={**table.text, "exclude": reasons}), steps=steps)
    drawn = runs_figure(shown.campaign, far, one.unit, PAGE)
    low, high = drawn.axes[0].get_ylim()
    counted = units.from_si(far.value[~out], one.unit, table.measure.dimension)
    assert low < counted.min() < counted.max() < high < 3 * counted.max()
    (cross,) = [line for line in drawn.axes[0].lines if line.get_marker() == "x"]
    assert float(cross.get_ydata()[0]) == pytest.approx(high - 0.05 * (high - low))
    value = float(units.from_si(steps[0].value[2], one.unit, table.measure.dimension))
    foot = drawn._supxlabel.get_text()
    assert f"{phrases.significant(value)}{phrases.unit_behind(one.unit)}, off the scale" in foot
    assert f"× {table.text['run'][2]} left out" in foot
    assert "1 left out." in runs_alt(shown.campaign, far, one.unit)


def test_each_day_bears_its_date_or_its_number(pages):
    shown = pages["finer_pitch"]
    one = shown.comparisons[0]
    table = one.reduction.table
    dates = list(dict.fromkeys(table.text["date"]))
    assert len(dates) > 1

    def said(text):
        changed = replace(one.reduction, table=replace(table, text=text))
        axes = runs_figure(shown.campaign, changed, one.unit, PAGE).axes[0]
        return [label.get_text() for label in axes.texts if label.get_position()[1] == 1.015]

    written = [f"{date.fromisoformat(day):%-d %b %Y}" for day in dates]
    assert said(table.text) == written
    without = {name: words for name, words in table.text.items() if name != "date"}
    assert said(without) == [f"day {k + 1}" for k in range(len(dates))]


def test_every_correction_is_told_with_what_it_does_or_why_it_was_not_made(pages):
    missing = 0
    for shown in pages.values():
        for one in shown.comparisons:
            reduction = one.reduction
            rows = methods.corrections(reduction)
            assert [name for name, _ in rows] == list(reduction.table.measure.corrections)
            for name, said in rows:
                if name in reduction.left_out:
                    missing += 1
                    assert said == f"not made: {reduction.left_out[name]}."
                else:
                    own = [limit.says for limit in reduction.table.measure.limits if limit.correction == name]
                    assert all(f"It {says}." in said for says in own)
    assert missing


# --- tables ------------------------------------------------------------------------------------------------------


def test_conditions_are_the_means_and_ranges_of_the_runs_that_count(example):
    for one in example.comparisons:
        reduction, table = one.reduction, one.reduction.table
        found = sections.flown_conditions(example.campaign, reduction)
        rows = {str(row[0]).partition(" [")[0]: row for row in found.rows}
        keys = [head.partition(":")[0] for head in found.header[1:-1]]
        named = [name for name in conditions([table.measure]) if name in rows]
        assert named
        for name in named:
            _, values, sky = sections.in_units(
                example.campaign, table, name, reduction.runs[name], reduction.sky.get(name)
            )
            for key, cell in zip(keys, rows[name][1:-1], strict=True):
                own = values[table.included & (table.configuration == key)]
                own = own[np.isfinite(own)]
                if not own.size:
                    assert cell == "not read"
                    continue
                said = [plain(part) for part in cell.replace("(", "").replace(")", "").replace(" to ", " ").split(" ")]
                room = 0.51 * 10.0 ** -len(cell.split(" ")[0].partition(".")[2])
                wanted = [own.mean()] if np.ptp(own) == 0 else [own.mean(), own.min(), own.max()]
                assert said == pytest.approx(wanted, abs=room), (name, cell)
                # Fine enough that the spread among the runs shows, up to three places.
                spread = np.nanmax(values) - np.nanmin(values)
                assert np.ptp(own) == 0 or room <= max(0.5 * spread, 0.0006)
            if sky is not None:
                assert plain(rows[name][-1]) == pytest.approx(sky, abs=0.51 * max(1e-3, np.ptp(values) / 2, 1e-3))


def test_fuel_is_shown_in_the_litres_of_its_column_by_the_campaigns_own_density(example):
    table = next(iter(example.campaign.tables.values()))
    if table.units.get("fuel") != "L":
        pytest.skip("fuel is not in litres here")
    density = example.campaign.loading.fuel_density
    unit, values, sky = sections.in_units(example.campaign, table, "fuel", np.array([36.0]), 18.0)
    assert unit == "L"
    assert values == pytest.approx([36.0 / density * 1000.0])
    assert sky == pytest.approx(18.0 / density * 1000.0)


def test_the_budget_table_is_the_budget_largest_first_and_the_rest_named(example):
    for one in example.comparisons:
        table, small = sections.budget(one)
        decimals = phrases.places(one) + 1
        large = {row.source: row for row in one.budget if max(row.whole, row.added) >= 0.05 * one.standard_uncertainty}
        named = [row[0].main for row in table.rows]
        assert sorted(named) == sorted(large)
        assert set(small) == {row.source for row in one.budget} - set(large)
        large = [large[name] for name in named]
        # Largest first; those alike to a millionth, as two readings of one needle are, stand in any order.
        assert all(first.share > second.share - 1e-6 for first, second in pairwise(large))
        for cells, row in zip(table.rows, large, strict=True):
            assert plain(cells[1]) == pytest.approx(row.whole, abs=0.51 * 10.0**-decimals)
            added = cells[2] if isinstance(cells[2], str) else cells[2].main
            assert plain(added) == pytest.approx(row.added, abs=0.51 * 10.0**-decimals)
            if row.share >= 0.005:
                assert plain(cells[2].under.split("\u00a0")[0]) == pytest.approx(100 * row.share, abs=0.51)
        # Shares of the variance are shares of one whole.
        assert sum(row.share for row in one.budget) == pytest.approx(1.0, abs=0.01)


def test_missions_are_told_with_their_own_numbers(pages):
    shown = pages["finer_pitch"]
    found = missions.suited(shown.campaign, shown.comparisons)
    rows = missions.table(found).rows
    assert len(rows) == len(found) >= 2
    for one, (name, _, value, ahead, counts) in zip(found, rows, strict=True):
        assert name == one.mission
        first, low, _, high = value.replace("(", "").replace(")", "").split(" ")
        assert [plain(first), plain(low), plain(high)] == pytest.approx([one.value, *one.interval_95], abs=0.051)
        shares = [float(part.split(" ")[-2]) for part in ahead.split(",")]
        assert shares == pytest.approx([100 * one.other_ahead, 100 * one.baseline_ahead], abs=0.51)
        assert sum(float(part.split(" ")[-2]) for part in counts.split(",")) == pytest.approx(100, abs=1.01)


# --- what could have fooled --------------------------------------------------------------------------------------


def swap(pages):
    return next(one for one in pages["warming_day"].comparisons if one.design_name == "single swap")


@pytest.mark.parametrize(
    ("within", "uncertainty", "erases", "words"),
    [
        (5.0, 1.0, 3.0, "drift faster than that, the same way"),
        (-5.0, 1.0, -3.0, "drift faster than that, the same way"),
        (3.0, 1.0, 3.0, "drift faster than that, the same way"),
        (2.5, 1.0, 3.0, "cannot rule out a drift of that size"),
        (1.0, 1.0, 3.0, "cannot rule out a drift of that size"),
        (0.9, 1.0, 3.0, ""),
        (-5.0, 1.0, 3.0, ""),
        (5.0, 2.6, 3.0, "cannot rule out a drift of that size"),
        (math.nan, 1.0, 3.0, ""),
        (5.0, math.nan, 3.0, ""),
    ],
)
def test_drift_within_blocks_against_the_drift_that_would_make_it_all(pages, within, uncertainty, erases, words):
    """Two standard uncertainties either way: faster and the same way beyond doubt; not ruled out; ruled out."""
    one = swap(pages)
    drift = replace(one.drift, within=within, within_uncertainty=uncertainty, erases=erases)
    said = pitfalls._drift_alone(replace(one, drift=drift))
    assert (words in said[0]) if words else said == []


def test_corrections_are_named_by_size_and_their_sum_is_theirs(example):
    for one in example.comparisons:
        said = pitfalls._conditions(one)
        smallest = 0.5 * 10.0 ** -phrases.places(one)
        large = sorted(
            (p for p in one.contributions if abs(p.difference) >= smallest), key=lambda p: -abs(p.difference)
        )
        assert bool(said) == bool(large)
        # The sizes are rounded so that they add up: by name the order is plain.
        at = [said.index(f"{part.name} ") for part in large[:4]]
        assert at == sorted(at)
        if len(large) > 1:
            net = sum(part.difference for part in one.contributions)
            assert f"{phrases.amount(net, one.unit, phrases.places(one), sign=True)} in all" in said


def test_large_corrections_that_cancel_are_said_to_be_luck(pages):
    one = pages["finer_pitch"].comparisons[0]
    size = 3.0 * one.smallest_that_matters
    first, second = one.contributions[:2]

    def told(a, b):
        parts = (replace(first, difference=a), replace(second, difference=b))
        return pitfalls._conditions(replace(one, contributions=parts, difference=one.raw_difference + a + b))

    assert "happened to cancel" in told(size, -0.9 * size)
    assert "happened to cancel" not in told(size, -0.2 * size)
    assert "happened to cancel" not in told(size, 0.9 * size)
