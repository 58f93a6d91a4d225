"""What does a rehearsal look like? How often each verdict comes, what plain averages say, what costs, what helps."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from samesky.inference import verdict
from samesky.rehearsal.rehearse import TRUTHS, ChangedWorld, Rehearsal
from samesky.report import phrases
from samesky.report import rehearsal_words as words
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, WRONG, look

#: Filling of each verdict; hatches tell them apart in grey print.
_FILL = {
    verdict.OTHER_BETTER: (look(1).colour, ""),
    verdict.TOO_SMALL: (look(3).colour, "//"),
    verdict.NO_DIFFERENCE: (look(3).colour, ""),
    verdict.NOT_ENOUGH: (BAND, ""),
    verdict.BASELINE_BETTER: (look(0).colour, ""),
}
_LINES = ("-", "--", "-.", ":")
#: A share of campaigns below which a band gets no name.
_ROOM = 0.09


def verdict_figure(found: Rehearsal, name: str, width: float) -> Figure:
    """Draw how often each verdict comes for true differences from none to twice the smallest that matters."""
    drawn = figure(width, 3.3)
    axes = drawn.add_subplot()
    tallies = [one[name] for one in found.curve]
    low = np.zeros(len(TRUTHS))
    for code in words.STACK:
        high = low + [one.share(code) for one in tallies]
        colour, hatch = _FILL[code]
        axes.fill_between(TRUTHS, low, high, facecolor=colour, edgecolor="white", linewidth=0.8, hatch=hatch)
        _name_band(axes, found, code, low, high, width)
        low = high
    _truth_axis(axes, found, name, width)
    axes.axvline(1.0, color=INK, linewidth=1.0, linestyle=":")
    return drawn


def verdict_alt(found: Rehearsal, name: str) -> str:
    """The same in words."""
    rows = words.verdict_table(found, name)
    said = [f"{row[0]}: {', '.join(row[1:])}" for row in rows.rows]
    return (
        f"Share of campaigns by verdict in the {words.title(found, name)}, for true differences of "
        f"{', '.join(rows.header[1:])}. " + "; ".join(said) + "."
    )


def _name_band(axes: Axes, found: Rehearsal, code: int, low: np.ndarray, high: np.ndarray, width: float) -> None:
    """Write the verdict where its band is widest."""
    room = high - low
    inner = room[1:-1]
    if inner.max(initial=0.0) < _ROOM:
        return
    at = 1 + int(np.argmax(inner))
    text = words.verdict_name(found, code)
    if width <= PHONE:
        text = textwrap.fill(text, 16)
    dark = code in (verdict.BASELINE_BETTER,)
    where = "left" if at <= 2 else "right" if at >= len(TRUTHS) - 3 else "center"
    x = {"left": 0.06, "right": 1.94, "center": TRUTHS[at]}[where]
    y = float(np.interp(x if where != "center" else TRUTHS[at], TRUTHS, 0.5 * (low + high)))
    axes.text(x, y, text, ha=where, va="center", color="white" if dark else _ON_FILL.get(code, INK), fontsize=9.5)


#: Writing on each filling: dark, for the fillings are light (the baseline's is dark on paper, light on a dark screen).
_ON_FILL = {verdict.OTHER_BETTER: "#111111", verdict.NO_DIFFERENCE: "#111111", verdict.TOO_SMALL: "#111111"}


def _truth_axis(axes: Axes, found: Rehearsal, name: str, width: float) -> None:
    axes.set_xlim(0.0, 2.0)
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100"])
    axes.set_ylabel("of 100 campaigns")
    ticks = (0.0, 0.5, 1.0, 1.5, 2.0) if width > PHONE else (0.0, 1.0, 2.0)
    labels = []
    for tick in ticks:
        truth = found.at(tick)[name].truth
        text = words.difference(found, name, truth)
        labels.append(text + ("\nmatters" if tick == 1.0 and name == found.script.primary else ""))
    axes.set_xticks(ticks, labels)
    axes.set_xlabel(f"by how much {found.script.other} is truly better")


def measures_figure(found: Rehearsal, width: float) -> Figure:
    """Draw how often each measure finds the other one better, against the true difference in the primary measure."""
    drawn = figure(width, 3.3)
    axes = drawn.add_subplot()
    ends = []
    for place, name in enumerate(found.script.tables):
        mark = look(place)
        found_by = [one[name].better for one in found.curve]
        primary = name == found.script.primary
        axes.plot(
            TRUTHS, found_by, color=mark.colour, linestyle=_LINES[place % 4], marker=mark.marker,
            linewidth=2.4 if primary else 1.5, markersize=5, label=phrases.capital(words.title(found, name)),
        )  # fmt: skip
        ends.append(found_by)
    naive = [one[found.script.primary] for one in found.curve]
    sure = [
        (one.naive[1] + one.naive[2]) / one.campaigns if k == 0 else one.naive[2] / one.campaigns
        for k, one in enumerate(naive)
    ]
    axes.plot(
        TRUTHS[1:],
        sure[1:],
        color=WRONG,
        linewidth=1.2,
        linestyle=(0, (1, 1)),
        label="t test of the raw primary results",
    )
    axes.axhline(words.ENOUGH, color=QUIET, linewidth=0.8)
    _truth_axis(axes, found, found.script.primary, width)
    axes.axvline(1.0, color=INK, linewidth=1.0, linestyle=":")
    axes.set_ylabel(f"find {found.script.other} better, of 100" if width > PHONE else "find it, of 100")
    drawn.legend(loc="outside upper left", ncols=2 if width > PHONE else 1, fontsize=9)
    return drawn


def measures_alt(found: Rehearsal) -> str:
    """The same in words."""
    said = [
        f"{words.title(found, name)} {', '.join(words.share(one[name].better) for one in found.curve)}"
        for name in found.script.tables
    ]
    return "Share of campaigns that find the difference, from none to twice the smallest that matters. " + "; ".join(
        said
    )


def changes_figure(found: Rehearsal, changes: Sequence[ChangedWorld], width: float) -> Figure:
    """Draw what each change makes of the share that finds the difference, and of the interval's half width."""
    name = found.script.primary
    now = found.at(1.0)[name]
    shown = list(changes)
    wide = width > PHONE
    drawn = figure(width, 1.0 + (0.34 if wide else 0.52) * len(shown))
    left, right = drawn.subplots(1, 2, sharey=True)
    for row, one in enumerate(shown):
        tally = one.tallies[name]
        for axes, before, after in ((left, now.better, tally.better), (right, now.half, tally.half)):
            axes.plot([before, after], [-row, -row], color=QUIET, linewidth=1.2)
            axes.plot(after, -row, color=look(1).colour, marker="^", markersize=7)
    for axes, before in ((left, now.better), (right, now.half)):
        axes.axvline(before, color=look(0).colour, linewidth=1.4)
        axes.set_ylim(-len(shown) + 0.4, 0.6)
    names = [textwrap.fill(phrases.capital(one.name), 34 if wide else 15) for one in shown]
    left.set_yticks([-row for row in range(len(shown))], names, fontsize=9.5 if wide else 8.5)
    left.set_xlim(-0.03, 1.03)
    left.set_xticks([0, 0.5, 1.0], ["0", "50", "100"])
    left.set_xlabel("find it, of 100")
    halves = [now.half, *(one.tallies[name].half for one in shown)]
    right.set_xlim(0.0, 1.12 * max([half for half in halves if np.isfinite(half)], default=1.0))
    right.locator_params(axis="x", nbins=3 if wide else 2)
    ticks = [tick for tick in right.get_xticks() if tick <= right.get_xlim()[1]]
    right.set_xticks(ticks, [words.half_width(found, name, tick) if tick else "0" for tick in ticks])
    right.set_xlabel("interval, ±")
    return drawn


def changes_alt(found: Rehearsal, changes: Sequence[ChangedWorld]) -> str:
    """The same in words."""
    table = words.change_table(found, list(changes))
    return "Share that finds the difference, and half width of the interval. " + "; ".join(
        f"{row[0]}: {row[2]}, {row[3]}" for row in table.rows
    )
