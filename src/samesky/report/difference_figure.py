"""Which way does each measure point, how surely, and does it matter? All measures in per cent on one axis.

Right is always in favour of the other configuration, whether small or large is good, so that rows can be compared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from samesky.report import phrases
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, look

#: An interval longer than this many times the other rows' reach is cut off with an arrow.
OUT_OF_PROPORTION = 4.0


def in_favour(comparison, value: float) -> float:
    """A difference in the pilot's unit as per cent of the baseline, positive where the other one is better."""
    level = comparison.levels[comparison.baseline]
    sign = -1.0 if comparison.better == "smaller" else 1.0
    return sign * 100.0 * value / abs(level) if level else math.nan


def difference_figure(comparisons: Sequence, titles: Sequence[str], width: float) -> Figure:
    """Draw every comparison over the band of what does not matter.

    The thin interval is the one that has to clear zero (95 %, or that of the look), the thick one that which has to lie
    inside the band (90 %).
    """
    drawn = figure(width, 0.75 + (0.72 if width > PHONE else 0.92) * len(comparisons))
    axes = drawn.add_subplot()
    reach = _reach(comparisons)
    for row, (one, title) in enumerate(zip(comparisons, titles, strict=True)):
        _row(axes, one, -row, reach)
        _says(axes, one, title, -row, reach, width)
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=1)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-len(comparisons) + 0.58, 0.66 if width > PHONE else 0.72)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    ticks = [tick for tick in axes.get_xticks() if abs(tick) <= reach]
    axes.set_xticks(ticks, [f"{abs(tick):g}" for tick in ticks])
    several = len({one.baseline for one in comparisons}) > 1
    baseline = "the second" if several else comparisons[0].baseline
    others = list(dict.fromkeys(one.other for one in comparisons))
    other = others[0] if len(others) == 1 else "the first named" if several else "the other"
    gap = "      " if width > PHONE else "   "
    axes.set_xlabel(f"← {baseline} better{gap}per cent of {baseline}{gap}{other} better →")
    return drawn


def difference_alt(comparisons: Sequence, titles: Sequence[str]) -> str:
    """The same in words."""
    rows = []
    for one, title in zip(comparisons, titles, strict=True):
        rows.append(
            f"{title}: {phrases.percent(one.percent)}, {phrases.level(one.level)} interval "
            f"{phrases.percent(one.percent_interval[0])} to {phrases.percent(one.percent_interval[1])}, "
            f"{phrases.headline(one)}"
        )
    return "Difference of each measure in per cent, with its interval. " + "; ".join(rows) + "."


def _reach(comparisons: Sequence) -> float:
    """Half the width of the axis [%]: all bands and, if they stay in proportion, all intervals."""
    bands, ends = [], []
    for one in comparisons:
        bands.append(abs(in_favour(one, one.smallest_that_matters)))
        ends.append(max(abs(in_favour(one, end)) for end in (*one.interval, one.difference)))
    known = [end for end in ends if math.isfinite(end)]
    bands = [band for band in bands if math.isfinite(band)]
    if not known:
        return 1.3 * max(bands, default=10.0)
    middle = max(float(np.median(known)), *bands) if bands else float(np.median(known))
    return 1.12 * max([end for end in known if end <= OUT_OF_PROPORTION * middle] + bands + [1e-6])


def _row(axes: Axes, one, y: float, reach: float) -> None:
    mark = look(1)
    band = abs(in_favour(one, one.smallest_that_matters))
    low, high = sorted(in_favour(one, end) for end in one.interval)
    if math.isfinite(band):
        axes.fill_between([-band, band], y - 0.24, y + 0.24, color=BAND, linewidth=0, zorder=0)
        for edge in (-band, band):
            axes.plot([edge, edge], [y - 0.24, y + 0.24], color=QUIET, linewidth=0.8, linestyle=":")
    if not (math.isnan(low) or math.isnan(high)):
        axes.plot([max(low, -reach), min(high, reach)], [y, y], color=mark.colour, linewidth=1.4)
        inner = sorted(in_favour(one, end) for end in one.equivalence_interval)
        axes.plot(np.clip(inner, -reach, reach), [y, y], color=mark.colour, linewidth=4.5, solid_capstyle="butt")
        for end, arrow in ((low, "<"), (high, ">")):
            if abs(end) > reach:
                axes.plot(math.copysign(0.985 * reach, end), y, marker=arrow, color=mark.colour, markersize=6)
    at = in_favour(one, one.difference)
    if math.isfinite(at):
        axes.plot(np.clip(at, -reach, reach), y, marker="|", color=INK, markersize=15, markeredgewidth=2.2)


def _says(axes: Axes, one, title: str, y: float, reach: float, width: float) -> None:
    """The measure and its verdict above the row: side by side on a page, one above the other on a phone."""
    over = {"va": "bottom", "bbox": {"facecolor": "white", "edgecolor": "none", "pad": 0.6}, "zorder": 3}
    weight = "bold" if one.primary else "normal"
    if width > PHONE:
        axes.text(-reach, y + 0.29, phrases.capital(title), ha="left", fontweight=weight, **over)
        axes.text(reach, y + 0.29, phrases.headline(one), ha="right", **over)
    else:
        axes.text(-reach, y + 0.45, phrases.capital(title), ha="left", fontweight=weight, **over)
        axes.text(-reach, y + 0.265, phrases.headline(one), ha="left", **over)
