"""How does the plain average become the fair difference, and what could still move it?

Upper part: from the difference of plain averages, through the order of flying and each correction, to the difference
at the common sky. Lower part: what each source of doubt could do to that difference, on the same axis.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from samesky.inference.result import BudgetRow, Comparison
from samesky.report import phrases
from samesky.report.adding_up import strides_adding_up
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, look

#: Sources with a smaller share of the variance than this are drawn as one.
SMALL_SHARE = 0.02
#: A bar is drawn for about 95 of 100 cases either way.
REACH = 2.0


@dataclass(frozen=True, slots=True)
class Stride:
    """One line of the bridge: from where to where the difference moves, in the pilot's unit."""

    name: str
    start: float
    end: float

    @property
    def moved(self) -> float:
        """What the line does to the difference."""
        return self.end - self.start


def strides(comparison: Comparison) -> list[Stride]:
    """From the plain averages to the common sky; the ends join without a gap."""
    found = [Stride("order of flying", comparison.naive.difference, comparison.raw_difference)]
    for part in comparison.contributions:
        found.append(Stride(part.name, found[-1].end, found[-1].end + part.difference))
    return found


def moves(comparison: Comparison) -> list[float]:
    """What each line does to the difference, rounded so that the printed numbers add up."""
    parts = [step.moved for step in strides(comparison)]
    return strides_adding_up(comparison.naive.difference, parts, comparison.difference, phrases.places(comparison))[1]


def doubts(comparison: Comparison) -> list[tuple[str, float]]:
    """Sources that are part of the interval, largest first, the small ones as one: name and standard uncertainty."""
    parts = [row for row in comparison.budget if row.added > 0 and math.isfinite(row.added)]
    large = sorted((row for row in parts if row.share >= SMALL_SHARE), key=lambda row: -row.share)
    small = [row for row in parts if row.share < SMALL_SHARE]
    found = [(said_with_scope(row), row.added) for row in large]
    together = math.sqrt(sum(row.added**2 for row in small))
    if large and REACH * together >= 0.5 * 10.0 ** -phrases.places(comparison):
        found.append((f"{len(small)} smaller sources" if len(small) > 1 else said_with_scope(small[0]), together))
    return found


def said_with_scope(row: BudgetRow) -> str:
    """The source, and whether the runs showed it or it had to be stated."""
    return row.source if row.note == "seen" else f"{row.source} (stated)"


def bridge_figure(comparison: Comparison, width: float) -> Figure:
    """Draw the bridge and the doubts of one comparison."""
    steps, parts = strides(comparison), doubts(comparison)
    rows = len(steps) + len(parts) + 4
    drawn = figure(width, 0.75 + (0.30 if width > PHONE else 0.34) * rows)
    axes = drawn.add_subplot()
    decimals = phrases.places(comparison)
    labels: list[str] = []

    def line(label: str) -> float:
        labels.append(label)
        return 1.0 - len(labels)

    _whole(axes, line("plain average"), comparison.naive.difference, decimals, filled=False)
    for step, moved in zip(steps, moves(comparison), strict=True):
        _step(axes, line(step.name), step, phrases.number(moved, decimals, sign=True))
    _whole(axes, line("at the same sky"), comparison.difference, decimals, filled=True)
    axes.axhline(line("") - 0.0, color=QUIET, linewidth=0.6)
    for name, size in parts:
        _doubt(axes, line(name), comparison.difference, REACH * size, decimals)
    _together(axes, line("all together"), comparison)
    _frame(axes, comparison, labels, width)
    return drawn


def bridge_alt(comparison: Comparison) -> str:
    """The same in words."""
    unit, decimals = comparison.unit, phrases.places(comparison)
    steps = ", ".join(
        f"{step.name} {phrases.number(moved, decimals, sign=True)}"
        for step, moved in zip(strides(comparison), moves(comparison), strict=True)
    )
    parts = ", ".join(f"{name} {phrases.number(REACH * size, decimals)}" for name, size in doubts(comparison))
    return (
        f"Bridge from the plain average {phrases.amount(comparison.naive.difference, unit, decimals, sign=True)} by "
        f"{steps} to {phrases.difference(comparison)} at the same sky. What could still move it, either way: {parts}."
    )


def _whole(axes: Axes, y: float, value: float, decimals: int, filled: bool) -> None:
    face = INK if filled else "white"
    axes.barh(y, value, height=0.62, facecolor=face, edgecolor=INK, linewidth=1.2, zorder=2)
    _say(axes, y, 0.0, value, phrases.number(value, decimals, sign=True), bold=True)


def _step(axes: Axes, y: float, step: Stride, moved: str) -> None:
    colour = look(1).colour
    axes.barh(y, step.moved, left=step.start, height=0.5, color=colour, linewidth=0, zorder=2)
    axes.plot([step.start, step.start], [y + 1.31, y - 0.25], color=QUIET, linewidth=0.7, zorder=1)
    axes.plot([step.end, step.end], [y + 0.25, y - 0.69], color=QUIET, linewidth=0.7, zorder=1)
    _say(axes, y, step.start, step.end, moved)


def _doubt(axes: Axes, y: float, centre: float, reach: float, decimals: int) -> None:
    axes.plot([centre - reach, centre + reach], [y, y], color=QUIET, linewidth=3.2, solid_capstyle="butt", zorder=2)
    axes.plot(centre, y, marker="|", color=INK, markersize=8, zorder=3)
    _say(axes, y, centre - reach, centre + reach, f"±{phrases.number(reach, decimals)}")


def _together(axes: Axes, y: float, comparison: Comparison) -> None:
    low, high = comparison.interval
    if not math.isnan(low):
        edge = max(_reached(comparison))
        axes.plot([low, min(high, edge)], [y, y], color=INK, linewidth=1.4, zorder=2)
        inner = np.minimum(comparison.equivalence_interval, edge)
        axes.plot(inner, [y, y], color=INK, linewidth=4.5, solid_capstyle="butt", zorder=2)
        if high == math.inf:
            axes.plot(edge, y, marker=">", color=INK, markersize=7, zorder=2)
    axes.plot(comparison.difference, y, marker="o", color="white", markeredgecolor=INK, markersize=8, zorder=3)


def _say(axes: Axes, y: float, start: float, end: float, text: str, bold: bool = False) -> None:
    # Beside the end that points away from zero, so that it does not lie on the zero line.
    right = (start + end) / 2 >= 0
    at = max(start, end) if right else min(start, end)
    axes.annotate(
        text,
        (at, y),
        xytext=(5 if right else -5, 0),
        textcoords="offset points",
        ha="left" if right else "right",
        va="center",
        fontsize=9,
        fontweight="bold" if bold else "normal",
    )


def _frame(axes: Axes, comparison: Comparison, labels: list[str], width: float) -> None:
    band = comparison.smallest_that_matters
    if math.isfinite(band):
        axes.axvspan(-band, band, color=BAND, linewidth=0, zorder=0)
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=1)
    reached = _reached(comparison)
    low, high = min(reached), max(reached)
    room = (0.12 if width > PHONE else 0.26) * (high - low or 1.0)
    axes.set_xlim(low - room, high + room)
    axes.set_ylim(0.6 - len(labels), 0.6)
    names = [_wrapped(label, width) for label in labels]
    axes.set_yticks(-np.arange(len(labels)), names, fontsize=10 if width > PHONE else 8.5, linespacing=0.95)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_xlabel(f"{comparison.other} minus {comparison.baseline}{phrases.unit_in_brackets(comparison.unit)}")


def _reached(comparison: Comparison) -> list[float]:
    """Everything that has to lie inside the axes."""
    reached = [0.0, comparison.difference, comparison.naive.difference]
    reached += [step.end for step in strides(comparison)]
    reached += [comparison.difference + sign * REACH * size for _, size in doubts(comparison) for sign in (-1, 1)]
    return reached + [end for end in comparison.interval if math.isfinite(end)]


def _wrapped(label: str, width: float) -> str:
    return "\n".join(textwrap.wrap(label, 34 if width > PHONE else 18)) if label else ""
