"""Which one pulls more, at which airspeed? Every measure a mark on one axis, and the line that tells them all."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.tables.write import write_bytes
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, excess_thrust
from samesky.inference.uncertainty import t_quantile
from samesky.report import catalogue as say
from samesky.report import phrases
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, look, use_style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from samesky.arrays import Floats

#: Width [in] and dots an inch of a PNG: sharp on a screen twice as fine as usual.
WIDE, DOTS = 7.0, 200
KINDS = (".png", ".svg")
#: Points of the line, and how far the axis goes beyond the fastest measure.
POINTS, BEYOND = 61, 1.06


def band(found: ExcessThrust) -> tuple[Floats, Floats, Floats]:
    """Airspeeds [m/s], difference of force by all measures and half its 95 % interval [N], each (k,).

    Parameters
    ----------
    found : with a line

    Returns
    -------
    tuple of ndarray
        Hidden drift is in the half width as a limit.
    """
    line = found.line
    if line is None:
        raise ValueError("there is no line to draw")
    speeds = np.linspace(0.0, float(line.airspeed.max()) * BEYOND, POINTS)
    values, halves = np.empty(POINTS), np.empty(POINTS)
    for k, speed in enumerate(speeds):
        told = line.at(float(speed))
        standard, known = told.joined()
        values[k] = float(told.value)
        halves[k] = float(t_quantile(0.975, known) * standard + told.worst)
    return speeds, values, halves


def sentence(found: ExcessThrust) -> str:
    """Where which one pulls more, and where they cross, one sentence.

    Parameters
    ----------
    found : of one pair of configurations

    Returns
    -------
    str
        Empty where there is no line.
    """
    if found.line is None:
        return ""
    speeds, values, halves = band(found)
    sure = [found.other if low > 0 else found.baseline if high < 0 else "" for low, high in _ends(values, halves)]
    parts = []
    start = 0
    for k in range(1, POINTS + 1):
        if k == POINTS or sure[k] != sure[start]:
            if sure[start]:
                parts.append((sure[start], _span(speeds[start], speeds[k - 1], k == POINTS)))
            start = k
    change = np.flatnonzero(np.diff(np.sign(values)) != 0)
    crossing = ""
    if change.size:
        k = int(change[0])
        at = speeds[k] - values[k] * (speeds[k + 1] - speeds[k]) / (values[k + 1] - values[k])
        crossing = f"; the line crosses zero near {_knots(at):.0f}{phrases.NARROW}kt true"
    if not parts:
        return f"At no airspeed is it settled which one pulls more{crossing}."
    who = [f"{key} pulls more {listed(span for own, span in parts if own == key)}" for key in dict(parts)]
    return f"{', '.join(who)}{'; elsewhere it is not settled' * ('' in sure)}{crossing}."


def excess_thrust_figure(found: ExcessThrust, width: float) -> Figure:
    """Difference of force against true airspeed: marks with intervals, the line with its band.

    Parameters
    ----------
    found : with a line
    width : [in]

    Returns
    -------
    matplotlib.figure.Figure
        Its second scale is per cent of the baseline's force at the slowest measure.
    """
    drawn = figure(width, 3.9 if width > PHONE else 3.7)
    axes = drawn.add_subplot()
    speeds, values, halves = band(found)
    shown, mark = _knots(speeds), look(1)
    axes.fill_between(shown, values - halves, values + halves, color=BAND, linewidth=0, zorder=0)
    axes.plot(shown, values, color=INK, linewidth=1.4, linestyle="--", zorder=2)
    axes.axhline(0.0, color=INK, linewidth=1.0, zorder=1)
    for one in found.points:
        x = _knots(one.airspeed)
        axes.plot([x, x], one.force_95, color=mark.colour, linewidth=1.6, zorder=3)
        axes.plot(x, one.force, marker=mark.marker, color=mark.colour, linestyle="none", zorder=4)
    _limits(axes, found, shown, values, halves)
    _labels(axes, found, width)
    axes.set_xlabel(f"true airspeed [{phrases.NARROW}kt]".replace(f"[{phrases.NARROW}", "["))
    axes.set_ylabel(f"thrust less drag, {found.other} minus {found.baseline} [N]")
    share = 100.0 / found.points[0].baseline_force
    per_cent = axes.secondary_yaxis("right", functions=(lambda n: n * share, lambda p: p / share))
    per_cent.set_ylabel(f"% of {found.baseline}'s {found.points[0].title}")
    return drawn


def excess_thrust_alt(found: ExcessThrust) -> str:
    """The same in words.

    Parameters
    ----------
    found : with a line

    Returns
    -------
    str
        Every measure with its airspeed, force and interval.
    """
    marks = "; ".join(
        f"{one.title} at {_knots(one.airspeed):.0f} kt {phrases.number(one.force, 0, sign=True)} N "
        f"({phrases.number(one.force_95[0], 0, sign=True)} to {phrases.number(one.force_95[1], 0, sign=True)})"
        for one in found.points
    )
    return (
        f"Difference of thrust less drag, {found.other} minus {found.baseline}, against true airspeed, with 95 % "
        f"intervals: {marks}. A dashed line with a grey band tells all of them together. {sentence(found)}"
    )


def write_excess_thrust(campaign: Campaign, comparisons: Sequence[Comparison], path: Path) -> list[Path]:
    """Write the figure of each pair; with several pairs the keys stand in the names. Give the paths.

    Raises CampaignError where the name ends otherwise, nothing can be drawn, or a file cannot be written: then none of
    that file is left behind.
    """
    path = Path(path)
    if path.suffix.lower() not in KINDS:
        raise cannot(path, say.PICTURE_KIND())
    found = excess_thrust(campaign, comparisons)
    drawn = [one for one in found if one.line is not None]
    if not drawn:
        raise cannot(path, say.PICTURE_NOTHING(why=found[0].refused if found else "No two configurations were flown."))
    files = {
        path if len(drawn) == 1 else path.with_stem(f"{path.stem}_{one.baseline}_{one.other}"): figure_file(
            one, path.suffix.lower()
        )
        for one in drawn
    }
    return [write_bytes(name, data) for name, data in files.items()]


def figure_file(found: ExcessThrust, kind: str) -> bytes:
    """The figure as bytes of a ``".png"`` or an ``".svg"``; the same campaign gives the same bytes."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    stream = io.BytesIO()
    with mpl.rc_context():
        use_style()
        mpl.rcParams.update({"text.parse_math": False, "font.size": 10, "svg.hashsalt": "same sky"})
        drawn = excess_thrust_figure(found, WIDE)
        canvas = FigureCanvasAgg(drawn) if kind == ".png" else FigureCanvasSVG(drawn)
        canvas.print_figure(
            stream, format=kind[1:], dpi=DOTS, metadata={"Software": None} if kind == ".png" else {"Date": None}
        )
    return stream.getvalue()


def _limits(axes: Axes, found: ExcessThrust, shown: Floats, values: Floats, halves: Floats) -> None:
    """The line's band and every mark in sight; what is far longer than all others is cut off."""
    reach = [abs(end) for one in found.points for end in one.force_95 if math.isfinite(end)]
    inner = float(np.median([*reach, np.median(np.abs(values) + halves)]))
    most = 1.15 * max(min(max(reach), 4.0 * inner), float(np.median(np.abs(values) + halves)))
    axes.set_ylim(-most, most)
    axes.set_xlim(-0.02 * shown[-1], shown[-1])


def _labels(axes: Axes, found: ExcessThrust, width: float) -> None:
    """Who pulls more above and below, every measure by name, and the airspeed of lift-off."""
    low, high = axes.get_ylim()
    middle = 0.5 * sum(axes.get_xlim())
    plain = {"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8}
    axes.text(middle, 0.97 * high, f"{found.other} pulls more", ha="center", va="top", color=INK, fontweight="bold")
    axes.text(
        middle, 0.97 * low, f"{found.baseline} pulls more", ha="center", va="bottom", color=INK, fontweight="bold"
    )
    taken: list[tuple[float, float, float]] = []  # left and right end, and height, of the names that stand
    line, letter = 0.085 * high, (axes.get_xlim()[1] - axes.get_xlim()[0]) * (0.0125 if width > PHONE else 0.026)
    for one in found.points:
        x, name = _knots(one.airspeed), one.title.replace("full-throttle ", "")
        long = letter * len(name)
        left = min(max(x - 0.5 * long, 0.0), axes.get_xlim()[1] - long)

        def free(height: float, left: float = left, right: float = left + long) -> bool:
            return all(right < low_x or left > high_x or abs(height - at) >= line for low_x, high_x, at in taken)

        top, foot = min(one.force_95[1], 0.86 * high) + 0.02 * high, max(one.force_95[0], 0.84 * low) - line
        above = [top + k * line for k in range(4) if top + k * line <= 0.82 * high]
        below = [foot - k * line for k in range(4) if foot - k * line >= 0.84 * low]
        heights = [each for pair in zip_longest(above, below) for each in pair if each is not None]
        height = next((each for each in heights if free(each)), min(top, 0.80 * high))
        taken.append((left, left + long, height))
        axes.text(left, height, name, ha="left", va="bottom", fontsize="small", color=INK, bbox=plain, zorder=5)
    for name, speed in _marked(found):
        at = _knots(speed)
        axes.axvline(at, color=QUIET, linewidth=0.8, linestyle=":", zorder=0)
        right = at > 0.85 * axes.get_xlim()[1]
        axes.text(
            at, 0.80 * low, f" {name} ", ha="right" if right else "left", va="bottom", fontsize="small", color=QUIET
        )


def _marked(found: ExcessThrust) -> list[tuple[str, float]]:
    """Airspeeds that a pilot knows by name: lift-off, climb and top speed, where they are known [m/s]."""
    named = {"timed_climb": "climb", "level_speed": "top speed"}
    flown = [(named[one.measure], one.airspeed) for one in found.points if one.measure in named]
    return [("lift-off", found.lift_off), *flown] if math.isfinite(found.lift_off) else flown


def _ends(values: Floats, halves: Floats) -> list[tuple[float, float]]:
    return [(float(v - h), float(v + h)) for v, h in zip(values, halves, strict=True)]


def _span(start: float, end: float, last: bool) -> str:
    low, high = _knots(start), _knots(end)
    if start == 0.0:
        return "at every airspeed flown" if last else f"up to {high:.0f}{phrases.NARROW}kt"
    return f"from {low:.0f}{phrases.NARROW}kt on" if last else f"from {low:.0f} to {high:.0f}{phrases.NARROW}kt"


def _knots(speed: float | Floats) -> float | Floats:
    return units.from_si(speed, "kt", "speed")
