"""What was flown, when, with which configuration, and what did the common sky change?

One figure a measure: every run against the clock, days side by side, as flown (open) and at the common sky (filled).
With more configurations than there are looks, one for each group of them, all on the same axes.
"""

from __future__ import annotations

import calendar
import datetime
import textwrap
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.textpath import TextPath

from samesky import units
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.reduction.reduction import Reduction
from samesky.report import phrases
from samesky.report.picture import PHONE, figure
from samesky.report.style import QUIET, WRONG, SeriesStyle, looks

#: Hours between runs that carry no clock: only their order shows then.
UNTIMED_STEP = 0.25
#: Room between two days, as a share of all flown hours.
NIGHT = 0.10
#: Most days that each get a clock of their own, and most installations that are drawn as such.
SINGLE_DAYS, BLOCKS = 6, 48
#: Size [pt] of the names of installations.
NAME = 8.5
#: About the width [in] that the labels of the axes take.
BESIDE = 0.8
#: Most reasons written under the figure, and the longest of them; the table gives all of them in full.
REASONS, REASON = 3, 90


@dataclass(frozen=True)
class _Flown:
    """Places of the runs on the figure: ``x`` in hours with the nights cut out, values in the pilot's unit."""

    x: np.ndarray
    raw: np.ndarray
    reduced: np.ndarray
    days: list[tuple[float, float, float, str]]
    timed: bool


def runs_figure(
    campaign: Campaign, reduction: Reduction, unit: str, width: float, keys: Collection[str] | None = None
) -> Figure:
    """Draw every run of one measure in flown order; of the configurations ``keys`` alone where they are given."""
    table = reduction.table
    chosen = _chosen(campaign, reduction, keys)
    flown = _flown(reduction, unit)
    drawn = figure(width, 4.0 if width > PHONE else 4.4)
    axes = drawn.add_subplot()
    own = looks(campaign.configurations, campaign.baseline)
    _limits(axes, flown, table.included)
    axes.set_xlabel("clock" if flown.timed else "in flown order (no clock written down)")
    if len(flown.days) <= SINGLE_DAYS:
        _days(axes, flown, width)
    else:
        _dates(axes, flown, width)
    if campaign.fitted_anew:
        _installations(axes, reduction, flown, chosen, own, width)
    for key in dict.fromkeys(table.configuration[chosen]):
        _counted(axes, flown, np.flatnonzero(table.included & (table.configuration == key)), own[key])
    for index in np.flatnonzero(~table.included & chosen):
        _left_out(axes, flown, index, table.text["run"][index])
    axes.set_ylabel(f"{table.measure.title}{phrases.unit_in_brackets(unit)}")
    axes.grid(axis="y")
    _reasons(drawn, reduction, flown, chosen, unit, width)
    _key(drawn, campaign, table, chosen, own, width)
    return drawn


def _chosen(campaign: Campaign, reduction: Reduction, keys: Collection[str] | None) -> np.ndarray:
    """Boolean (n,): runs of the configurations to be drawn."""
    return np.isin(reduction.table.configuration, list(campaign.configurations if keys is None else keys))


def runs_alt(campaign: Campaign, reduction: Reduction, unit: str, keys: Collection[str] | None = None) -> str:
    """The same in words."""
    table, here = reduction.table, _chosen(campaign, reduction, keys)
    flown, behind = _flown(reduction, unit), phrases.unit_behind(unit)
    parts = []
    for key in dict.fromkeys(table.configuration[here]):
        chosen = table.included & (table.configuration == key)
        if chosen.any():
            raw, reduced = flown.raw[chosen], flown.reduced[chosen]
            parts.append(
                f"{key}: {chosen.sum()} runs, {_span(raw)}{behind} as flown, {_span(reduced)}{behind} at the common sky"
            )
    out = int((~table.included & here).sum())
    left = f" {out} left out." if out else ""
    return f"{table.measure.title}, every run against the clock. {'; '.join(parts)}.{left} The table gives each run."


def _span(values: np.ndarray) -> str:
    return f"{phrases.significant(values.min())} to {phrases.significant(values.max())}"


def _flown(reduction: Reduction, unit: str) -> _Flown:
    table, dimension = reduction.table, reduction.table.measure.dimension
    hours = np.array(table.hours, dtype=float)
    timed = bool(np.isfinite(hours).all())
    if not timed:
        for day in np.unique(table.day):
            chosen = table.day == day
            hours[chosen] = UNTIMED_STEP * np.arange(chosen.sum())
    spans = [(hours[table.day == day].min(), hours[table.day == day].max()) for day in np.unique(table.day)]
    lengths = [max(last - first, UNTIMED_STEP) for first, last in spans]
    night = NIGHT * sum(lengths) + UNTIMED_STEP
    x, days, place = np.empty(len(hours)), [], 0.0
    for day, (first, _), length in zip(np.unique(table.day), spans, lengths, strict=True):
        chosen = table.day == day
        x[chosen] = place + hours[chosen] - first
        date = table.text["date"][int(np.flatnonzero(chosen)[0])] if "date" in table.text else ""
        days.append((place, place + length, first, date or f"day {len(days) + 1}"))
        place += length + night
    values = (reduction.steps[0].value, reduction.value)
    raw, reduced = (np.asarray(units.from_si(value, unit, dimension), dtype=float) for value in values)
    return _Flown(x, raw, reduced, days, timed)


def _limits(axes: Axes, flown: _Flown, included: np.ndarray) -> None:
    # A run that was left out may lie anywhere: it must not flatten the ones that count.
    values = np.concatenate([flown.raw[included], flown.reduced[included]])
    values = values[np.isfinite(values)]
    if not values.size:
        values = flown.raw[np.isfinite(flown.raw)]
    low, high = (values.min(), values.max()) if values.size else (0.0, 1.0)
    room = (high - low) or abs(high) or 1.0
    axes.set_ylim(low - 0.26 * room, high + 0.12 * room)
    length = flown.days[-1][1]
    axes.set_xlim(-0.04 * length - 0.05, 1.04 * length + 0.05)


def _days(axes: Axes, flown: _Flown, width: float) -> None:
    most = 9 if width > PHONE else 5
    hours = sum(end - start for start, end, *_ in flown.days)
    step = next(step for step in (0.25, 0.5, 1, 2, 3, 6, 12, 1e9) if hours / step <= most)
    ticks, labels = [], []
    for number, (start, end, first, date) in enumerate(flown.days):
        if number:
            axes.axvline((flown.days[number - 1][1] + start) / 2, color=QUIET, linewidth=0.8)
        if len(flown.days) > 1 or date[:3] != "day":
            said = _date(date, with_year=width > PHONE)
            axes.text((start + end) / 2, 1.015, said, transform=axes.get_xaxis_transform(), ha="center", color=QUIET)
        times = np.arange(np.ceil(first / step - 1e-9), np.floor((first + end - start) / step + 1e-9) + 1) * step
        if not times.size:
            times = np.array([first])
        ticks += list(start + times - first)
        minutes = [round(60 * float(time)) for time in times]
        labels += [f"{minute // 60 % 24:02d}:{minute % 60:02d}" for minute in minutes]
    axes.set_xticks(ticks, labels if flown.timed else [""] * len(ticks))


def _dates(axes: Axes, flown: _Flown, width: float) -> None:
    """Dates in place of clock times, where there are more days than can each have their clock."""
    every = -(-len(flown.days) // (9 if width > PHONE else 5))
    shown = flown.days[::every]
    axes.set_xticks([start for start, *_ in shown], [_date(day[-1], with_year=False) for day in shown])
    axes.set_xlabel("day" if every == 1 else f"day (every {every} days one is named)")


def _installations(
    axes: Axes, reduction: Reduction, flown: _Flown, here: np.ndarray, own: dict[str, SeriesStyle], width: float
) -> None:
    """A bracket below each installation's runs, their mean at the common sky, and a dotted line at each swap.

    A name that would run into the one before it is left out: colour and marks still tell.
    """
    table = reduction.table
    foot = axes.get_xaxis_transform()
    blocks = list(dict.fromkeys(zip(table.day.tolist(), table.installation.tolist(), strict=True)))
    shown = len(set(zip(table.day[here].tolist(), table.installation[here].tolist(), strict=True)))
    if shown > BLOCKS:
        return
    named = width > PHONE and shown <= 10 and max(map(len, table.text["run"])) <= 3
    reach = 0.012 * np.diff(axes.get_xlim())[0]
    before, free = None, -np.inf
    for day, fitted in blocks:
        chosen = np.flatnonzero((table.day == day) & (table.installation == fitted))
        first, last = flown.x[chosen].min(), flown.x[chosen].max()
        key, drawn = table.configuration[chosen[0]], here[chosen[0]]
        if before is not None and before[0] == day and (drawn or before[2]):
            axes.axvline((before[1] + first) / 2, color=QUIET, linewidth=1.0, linestyle=":")
        before = (day, last, drawn)
        if not drawn:
            continue
        axes.plot([first - reach, last + reach], [0.035, 0.035], transform=foot, color=own[key].colour, linewidth=2.2)
        says = f"{key}  {_first_to_last([table.text['run'][index] for index in chosen])}" if named else key
        middle, half = (first + last) / 2, 0.5 * _inches(says) / (width - BESIDE) * np.diff(axes.get_xlim())[0]
        if middle - half >= free:
            axes.text(middle, 0.05, says, transform=foot, ha="center", va="bottom", fontsize=NAME)
            free = middle + half
        counted = chosen[table.included[chosen] & np.isfinite(flown.reduced[chosen])]
        if counted.size > 1:
            mean = flown.reduced[counted].mean()
            axes.plot([first - reach, last + reach], [mean, mean], color=own[key].colour, linewidth=1.2, alpha=0.75)


def _inches(name: str) -> float:
    """Width [in] of a name of an installation, with a blank behind it."""
    return TextPath((0, 0), name + " ", size=NAME).get_extents().width / 72 + 0.3 * NAME / 72


def _first_to_last(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{names[0]}–{names[-1]}"


def _counted(axes: Axes, flown: _Flown, chosen: np.ndarray, own: SeriesStyle) -> None:
    """The runs of one configuration that count: as flown, reduced, and a line that joins the two."""
    x, raw, reduced = flown.x[chosen], flown.raw[chosen], flown.reduced[chosen]
    axes.vlines(x, raw, reduced, color=own.colour, linewidth=0.7, alpha=0.6)
    axes.plot(x, raw, markersize=5, markeredgewidth=0.9, alpha=0.8, **own.as_flown())
    axes.plot(x, reduced, **own.reduced())


def _left_out(axes: Axes, flown: _Flown, index: int, name: str) -> None:
    """A cross where the run lies, at the edge where that is off the scale; its reason stands under the figure."""
    height = _inside(axes, flown.raw[index])
    axes.plot([flown.x[index]], [height], marker="x", color=WRONG, markersize=7.5, markeredgewidth=1.8)
    axes.annotate(
        name,
        (flown.x[index], height),
        xytext=(6, 0),
        textcoords="offset points",
        va="center",
        fontsize=8.5,
        color=WRONG,
    )


def _inside(axes: Axes, value: float) -> float:
    low, high = axes.get_ylim()
    edge = low if not np.isfinite(value) else value
    return float(np.clip(edge, low + 0.16 * (high - low), high - 0.05 * (high - low)))


def _reasons(drawn: Figure, reduction: Reduction, flown: _Flown, chosen: np.ndarray, unit: str, width: float) -> None:
    table, axes = reduction.table, drawn.axes[0]
    out = np.flatnonzero(~table.included & chosen)
    lines = []
    for index in out[:REASONS]:
        value, off = flown.raw[index], ""
        if not np.isfinite(value):
            off = " (no result)"
        elif _inside(axes, value) != value:
            off = f" ({phrases.significant(value)}{phrases.unit_behind(unit)}, off the scale)"
        said = f"× {table.text['run'][index]} left out{off}: {_short(table.text['exclude'][index], REASON)}"
        lines += textwrap.wrap(said, 96 if width > PHONE else 48, subsequent_indent="    ")
    if out.size > REASONS:
        lines.append(f"× and {out.size - REASONS} more: see the table of runs.")
    if lines:
        drawn.supxlabel("\n".join(lines), x=0.015, ha="left", fontsize=8.5, color=WRONG)


def _key(
    drawn: Figure, campaign: Campaign, table: RunTable, chosen: np.ndarray, own: dict[str, SeriesStyle], width: float
) -> None:
    flown = [key for key in campaign.configurations if key in set(table.configuration[chosen])]
    longest = 34 if width > PHONE else 26
    handles = [
        Line2D([], [], label=f"{key}  {_short(campaign.configurations[key].label, longest)}", **own[key].reduced())
        for key in flown
    ]
    plain = {"color": QUIET, "linestyle": "none"}
    handles.append(Line2D([], [], marker="o", markerfacecolor="white", markersize=5, label="open: as flown", **plain))
    if not table.included[chosen].all():
        handles.append(Line2D([], [], marker="x", color=WRONG, linestyle="none", markeredgewidth=1.8, label="left out"))
    columns = 2 if width > PHONE else 1
    drawn.legend(handles=handles, loc="outside upper left", ncols=columns, handletextpad=0.2, borderpad=0.1)


def _date(text: str, with_year: bool) -> str:
    """``9 May 2026`` for a date in the order of ISO 8601, any other text as it is."""
    try:
        found = datetime.date.fromisoformat(text.strip())
    except ValueError:
        return text
    month = calendar.month_abbr[found.month]
    return f"{found.day} {month} {found.year}" if with_year else f"{found.day} {month}"


def _short(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
