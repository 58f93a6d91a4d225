"""Propeller or pitch? Every propeller's line against engine speed or top speed, and engine speed against airspeed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.inference.propellers.reasons import CALLED
from samesky.inference.propellers.told import AGAINST, SHOWN_BY, Curve, Propellers
from samesky.inference.uncertainty import t_quantile
from samesky.report import phrases
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, SeriesStyle, look, looks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from samesky.campaign.model.campaign import Campaign


def shown(found: Propellers, campaign: Campaign) -> list[Curve]:
    """The curves of the picture: of the deciding measure, else the first, against what tells most settings.

    Parameters
    ----------
    found : what a campaign tells of its propellers
    campaign : the campaign
    """
    measures = sorted(
        dict.fromkeys(curve.measure for curve in found.curves), key=lambda name: not campaign.asked[name].primary
    )
    for measure in measures[:1]:
        groups = [
            [curve for curve in found.curves if (curve.measure, curve.against) == (measure, against)]
            for against in AGAINST
        ]
        return max(groups, key=lambda curves: sum(len(curve.marks) for curve in curves))
    return []


def propeller_figure(found: Propellers, campaign: Campaign, width: float) -> Figure:
    """Left, or above on a phone: the lines. Right or below: engine speed against airspeed, by configuration.

    Parameters
    ----------
    found : with curves or engine speeds
    campaign : the campaign
    width : [in]
    """
    curves = shown(found, campaign)
    panels = [bool(curves), bool(found.turning)]
    narrow, count = width <= PHONE, sum(panels)
    drawn = figure(width, (2.9 * count if narrow else 3.4))
    axes = [drawn.add_subplot(*((count, 1) if narrow else (1, count)), place + 1) for place in range(count)]
    mine = looks(campaign.configurations, campaign.baseline)
    if panels[0]:
        _lines(axes[0], found, campaign, curves, mine)
    if panels[1]:
        _speeds(axes[-1], found, mine)
    return drawn


def propeller_alt(found: Propellers, campaign: Campaign) -> str:
    """The same in words.

    Parameters
    ----------
    found : with curves or engine speeds
    campaign : the campaign
    """
    said = []
    for curve in shown(found, campaign):
        title = campaign.asked[curve.measure].measure.title
        marks = ", ".join(
            f"{mark.configuration} {_value(found, curve.measure, mark.y)} at {_value(found, curve.against, mark.x)}"
            for mark in curve.marks
        )
        said.append(f"{title} of {curve.propeller} against {CALLED[curve.against]}: {marks}")
    speeds = [
        f"{one.configuration} {60.0 * one.speed:.0f} rpm at {units.from_si(one.airspeed, 'kt', 'speed'):.0f} kt"
        for one in found.turning
    ]
    if speeds:
        said.append(f"engine speed against true airspeed: {', '.join(speeds)}")
    return phrases.capital("; ".join(said)) + "."


def _lines(
    axes: Axes, found: Propellers, campaign: Campaign, curves: Sequence[Curve], mine: dict[str, SeriesStyle]
) -> None:
    """Lines of propellers in ink, marks of configurations in their own colours."""
    for place, curve in enumerate(curves):
        wide = float(t_quantile(0.975, curve.degrees_of_freedom))
        if len(curve.line):
            x = [found.shown(curve.against, value) for value in curve.line[:, 0]]
            y, low, high = (
                [found.shown(curve.measure, value) for value in curve.line[:, 1] + sign * curve.line[:, 2]]
                for sign in (0.0, -1.0, 1.0)
            )
            axes.fill_between(x, low, high, color=BAND, linewidth=0, zorder=0)
            axes.plot(x, y, color=INK, linestyle=look(place).line, linewidth=1.3, zorder=2)
        for mark in curve.marks:
            colour = mine[mark.configuration].colour
            x, y = found.shown(curve.against, mark.x), found.shown(curve.measure, mark.y)
            across = [found.shown(curve.against, mark.x + sign * wide * mark.x_known) for sign in (-1.0, 1.0)]
            upright = [found.shown(curve.measure, mark.y + sign * wide * mark.y_known) for sign in (-1.0, 1.0)]
            axes.plot(across, [y, y], color=colour, linewidth=1.0, zorder=3)
            axes.plot([x, x], upright, color=colour, linewidth=1.0, zorder=3)
            axes.plot(x, y, color=colour, marker=mine[mark.configuration].marker, linestyle="none", zorder=4)
            # A propeller at one setting has no line to bear its name.
            name = mark.configuration if len(curve.line) else f"{mark.configuration} {curve.propeller}"
            axes.annotate(name, (x, y), xytext=(6, -13), textcoords="offset points", fontsize="small", color=INK)
        if len(curve.line):
            middle = len(curve.line) // 2
            at = found.shown(curve.against, curve.line[middle, 0]), found.shown(curve.measure, curve.line[middle, 1])
            axes.annotate(
                curve.propeller, at, xytext=(-8, 14), textcoords="offset points", ha="right", fontsize="small",
                color=INK,
            )  # fmt: skip
    first = curves[0]
    _axis(axes, first.against in SHOWN_BY)
    unit = "" if first.against in SHOWN_BY else f" [{found.units[first.against]}]"
    axes.set_xlabel(f"{CALLED[first.against]}{unit}")
    axes.set_ylabel(f"{campaign.asked[first.measure].measure.title} [{found.units[first.measure]}]")
    axes.margins(x=0.14, y=0.16)


def _speeds(axes: Axes, found: Propellers, mine: dict[str, SeriesStyle]) -> None:
    limit = next((one.limit for one in found.turning if one.limit is not None), None)
    for key in dict.fromkeys(one.configuration for one in found.turning):
        own = sorted((one for one in found.turning if one.configuration == key), key=lambda one: one.airspeed)
        x = np.array([units.from_si(one.airspeed, "kt", "speed") for one in own])
        y = np.array([60.0 * one.speed for one in own])
        style = mine[key]
        axes.plot(x, y, color=style.colour, marker=style.marker, linestyle=style.line, linewidth=1.3)
        for one, across, up in zip(own, x, y, strict=True):
            if one.throttled:
                axes.annotate(
                    "throttled", (across, up), xytext=(0, 6), textcoords="offset points", ha="center", fontsize="small",
                    color=QUIET,
                )  # fmt: skip
        axes.annotate(key, (x[-1], y[-1]), xytext=(6, -3), textcoords="offset points", fontsize="small", color=INK)
    if limit is not None:
        axes.axhline(60.0 * limit, color=QUIET, linewidth=0.9, linestyle=":")
        axes.text(0.02, 60.0 * limit, "limit", transform=axes.get_yaxis_transform(), va="bottom", fontsize="small",
                  color=QUIET)  # fmt: skip
    axes.set_xlabel("true airspeed [kt]")
    axes.set_ylabel("engine speed [rpm]")
    axes.margins(x=0.10, y=0.12)


def _axis(axes: Axes, engine_speed: bool) -> None:
    """Few numbers below, so that four-figure ones stand apart."""
    from matplotlib.ticker import MaxNLocator

    axes.xaxis.set_major_locator(MaxNLocator(4, integer=engine_speed))


def _value(found: Propellers, name: str, logarithm: float) -> str:
    unit = "rpm" if name in SHOWN_BY else found.units[name]
    return f"{found.shown(name, logarithm):.4g} {unit}"
