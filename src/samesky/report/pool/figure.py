"""What did each campaign find, and what do they say together? One row a campaign, the mean and what to expect below."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from samesky.club.pool import PooledAnswer
from samesky.report.phrases import unit_in_brackets
from samesky.report.picture import PHONE, figure
from samesky.report.pool import words
from samesky.report.style import BAND, INK, QUIET, look

#: Rows that a figure can show and still be read; further campaigns are in the table.
MOST = 40
#: An interval is cut off at so many times the reach of the pooled answer.
OUT_OF_PROPORTION = 4.0


def forest_figure(one: PooledAnswer, width: float) -> Figure:
    """Draw every campaign's difference and 95 % interval, the pooled one, and what a further aeroplane may expect."""
    shown = range(min(len(one.campaigns), MOST))
    drawn = figure(width, 1.3 + 0.34 * (len(shown) + 2) * (1.0 if width > PHONE else 1.35))
    axes = drawn.add_subplot()
    reach = _reach(one)
    axes.axvspan(-one.smallest_that_matters, one.smallest_that_matters, color=BAND, linewidth=0, zorder=0)
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=1)
    heaviest = float(np.max(one.pooled.weights))
    for row in shown:
        d, low, high = one.each[row]
        size = 4.0 + 5.0 * float(one.pooled.weights[row]) / heaviest
        _row(axes, one, -row, d, (low, high), reach, look(1).colour, size)
        _name(axes, one.campaigns[row].name, -row, reach, width)
    below = -len(shown)
    _row(axes, one, below - 0.2, one.difference, one.interval_95, reach, look(0).colour, 9.0, heavy=True)
    _name(axes, "All together", below - 0.2, reach, width, bold=True)
    _row(axes, one, below - 1.2, math.nan, one.expected_95, reach, QUIET, 0.0)
    _name(axes, "One more like these", below - 1.2, reach, width)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(below - 1.8, 0.8)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(f"{words.pair(one)}{unit_in_brackets(one.unit)}")
    return drawn


def forest_alt(one: PooledAnswer) -> str:
    """The same in words."""
    rows = [
        f"{answer.name}: {words.interval(one, d, (low, high))}"
        for answer, (d, low, high) in list(zip(one.campaigns, one.each, strict=True))[:MOST]
    ]
    return (
        f"{words.headline(one)} Each campaign with its 95 % interval: {'; '.join(rows)}. "
        f"All together: {words.interval(one, one.difference, one.interval_95)}. {words.expected(one)}"
    )


def _reach(one: PooledAnswer) -> float:
    ends = [abs(end) for _, low, high in one.each for end in (low, high) if math.isfinite(end)]
    own = [abs(end) for end in (*one.interval_95, one.smallest_that_matters) if math.isfinite(end)]
    middle = max([float(np.median(ends)) if ends else 0.0, *own[-1:]])
    return 1.15 * max([end for end in (*ends, *own) if end <= OUT_OF_PROPORTION * middle] or [middle])


def _row(
    axes: Axes,
    one: PooledAnswer,
    y: float,
    at: float,
    ends: tuple[float, float],
    reach: float,
    colour: str,
    size: float,
    heavy: bool = False,
) -> None:
    low, high = ends
    axes.plot([max(low, -reach), min(high, reach)], [y, y], color=colour, linewidth=3.2 if heavy else 1.5)
    for end, arrow in ((low, "<"), (high, ">")):
        if abs(end) > reach:
            axes.plot(math.copysign(0.985 * reach, end), y, marker=arrow, color=colour, markersize=6)
    if math.isfinite(at):
        marker = "D" if heavy else "o"
        axes.plot(np.clip(at, -reach, reach), y, marker=marker, color=colour, markersize=size, zorder=3)


def _name(axes: Axes, name: str, y: float, reach: float, width: float, bold: bool = False) -> None:
    longest = 44 if width > PHONE else 34
    text = name if len(name) <= longest else name[: longest - 1] + "…"
    axes.text(-reach, y + 0.2, text, ha="left", va="bottom", fontsize=8.5, fontweight="bold" if bold else "normal")
