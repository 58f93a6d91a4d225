"""Which parts of the track were taken? Height and ground speed against the clock, and the path over the ground.

What was taken is told by more than colour: a thick line between two markers with the run's number on it, over a hatched
band; what was found and not taken is dashed. The path is drawn to scale, north up.
"""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from samesky import units
from samesky.evidence.tracks.propose import TrackProposal
from samesky.evidence.tracks.rows import local
from samesky.instruments.tracks import Fixes, Segment
from samesky.instruments.tracks.fixes import local_metres
from samesky.report.picture import PHONE, figure
from samesky.report.style import BAND, INK, QUIET, look

#: Points that a line is drawn with at most: more cannot be seen, and make a page slow on a phone.
MOST_POINTS = 1500
#: Share of the track below which what was found would be too small to see in a picture of all of it.
SHORT = 0.15
#: Minutes between ticks of the clock.
_STEPS = (0.25, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 240)
_TAKEN, _ELSE = look(0), look(1)


def taken(proposal: TrackProposal) -> list[tuple[str, Segment]]:
    """Every segment of a run with its name: the run's number, and for legs that of the leg behind a point."""
    named = []
    for number, run in enumerate(proposal.runs, start=1):
        name = proposal.rows[number - 1].get("run", str(number))
        for leg, segment in enumerate(run.segments, start=1):
            named.append((f"{name}.{leg}" if len(run.segments) > 1 else name, segment))
    return named


def passed_over(proposal: TrackProposal) -> list[Segment]:
    """Candidates that no run was made of."""
    return [segment for segment in proposal.found.candidates if segment not in proposal.found.chosen]


def near(fixes: Fixes, proposal: TrackProposal, least: float = 45.0) -> Fixes:
    """The part of a long track about what was found in it, where that is short; else the whole track.

    ``least`` [s] is shown before and after what was found.
    """
    found = proposal.found.candidates
    if not found:
        return fixes
    first, last = min(one.start for one in found), max(one.end for one in found)
    if last - first > SHORT * float(np.ptp(fixes.time)):
        return fixes
    margin = max(least, 0.5 * (last - first))
    part = fixes.between(first - margin, last + margin)
    return part if len(part) > 1 else fixes


def against_clock(fixes: Fixes, proposal: TrackProposal, width: float) -> Figure:
    """Draw height and ground speed against the local clock, what was taken and what was passed over marked."""
    drawn = figure(width, 4.6)
    upper, lower = drawn.subplots(2, 1, sharex=True)
    heights, name = fixes.heights()
    shown = {kind: proposal.units[kind] for kind in ("length", "speed")}
    rows = (
        (upper, units.from_si(np.asarray(heights), shown["length"], "length"), f"{name} [{shown['length']}]"),
        (lower, units.from_si(fixes.ground_speed, shown["speed"], "speed"), f"ground speed [{shown['speed']}]"),
    )
    minutes = (fixes.time - fixes.time.min()) / 60.0
    for axes, values, label in rows:
        # On a phone the name of the axis stands above it: beside it there is no room.
        axes.set_title(label, fontsize=9.5, loc="left")
        axes.plot(*_thinned(minutes, values, fixes.piece), color=QUIET, linewidth=0.9)
        if np.isfinite(values).any():
            low, high = np.nanmin(values), np.nanmax(values)
            room = (high - low) or 1.0
            axes.set_ylim(low - 0.08 * room, high + 0.22 * room)
        for segment in passed_over(proposal):
            _stretch(axes, fixes, minutes, values, segment, None, width)
        for label_of, segment in taken(proposal):
            _stretch(axes, fixes, minutes, values, segment, label_of, width)
    _clock(lower, fixes, proposal, width)
    _key(drawn, proposal, width)
    return drawn


def _stretch(
    axes: Axes, fixes: Fixes, minutes: np.ndarray, values: np.ndarray, segment: Segment, name: str | None, width: float
) -> None:
    own = np.flatnonzero((fixes.time >= segment.start) & (fixes.time <= segment.end))
    if not own.size:
        return
    x, y = minutes[own], values[own]
    style = _TAKEN if name else _ELSE
    if name:
        axes.axvspan(x[0], x[-1], facecolor="none", edgecolor=BAND, hatch="///", linewidth=0.0, zorder=0.5)
    axes.plot(
        *_thinned(x, y, fixes.piece[own]), color=style.colour, linewidth=2.6 if name else 1.8,
        linestyle="-" if name else (0, (2, 1.2)),
    )  # fmt: skip
    ends = {"color": style.colour, "linestyle": "none", "markersize": 5.5}
    axes.plot(
        x[[0, -1]], y[[0, -1]], marker=style.marker, markerfacecolor=style.colour if name else "white", **ends
    )  # fmt: skip
    leg = name is not None and "." in name
    if name and (not leg or width > PHONE or name.endswith(".1")):
        said = name.partition(".")[0] if leg and width <= PHONE else name
        top = axes.get_ylim()[1]
        axes.text((x[0] + x[-1]) / 2, top, said, ha="center", va="top", fontsize=9 if not leg else 8, color=INK)


def _thinned(x: np.ndarray, y: np.ndarray, piece: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Fewer points where there are very many, and a gap wherever the track breaks."""
    every = max(1, -(-x.size // MOST_POINTS))
    chosen = np.unique(np.r_[np.arange(0, x.size, every), np.flatnonzero(np.diff(piece)), x.size - 1])
    breaks = np.flatnonzero(np.diff(piece[chosen])) + 1
    return tuple(np.insert(np.asarray(values, dtype=float)[chosen], breaks, np.nan) for values in (x, y))


def _clock(axes: Axes, fixes: Fixes, proposal: TrackProposal, width: float) -> None:
    """Ticks at whole minutes of the local clock."""
    begin = local(float(fixes.time.min()), proposal.utc_offset_hours)
    length = float(np.ptp(fixes.time)) / 60.0
    step = next((step for step in _STEPS if length / step <= (8 if width > PHONE else 4)), _STEPS[-1])
    first = begin.hour * 60 + begin.minute + begin.second / 60
    ticks = np.arange(np.ceil(first / step), np.floor((first + length) / step) + 1) * step
    labels = [f"{int(tick // 60) % 24:02d}:{int(tick % 60):02d}" for tick in ticks]
    if step < 1:
        labels = [f"{label}:{round(tick % 1 * 60):02d}" for label, tick in zip(labels, ticks, strict=True)]
    axes.set_xticks(list(ticks - first), labels)
    axes.set_xlim(-0.02 * length, 1.02 * length)
    axes.set_xlabel(f"local clock, {begin:%Y-%m-%d}")


def _key(drawn: Figure, proposal: TrackProposal, width: float) -> None:
    handles = [Line2D([], [], color=QUIET, linewidth=0.9, label="the track")]
    if proposal.runs:
        handles.append(
            Line2D(
                [],
                [],
                color=_TAKEN.colour,
                marker=_TAKEN.marker,
                linewidth=2.6,
                markersize=5.5,
                label="taken, with number",
            )
        )
    if passed_over(proposal):
        handles.append(
            Line2D(
                [], [], color=_ELSE.colour, marker=_ELSE.marker, markerfacecolor="white", markersize=5.5, linewidth=1.8,
                linestyle=(0, (2, 1.2)), label="found, not taken",
            )
        )  # fmt: skip
    if proposal.runs and width > PHONE:
        handles.append(Patch(facecolor="none", edgecolor=QUIET, hatch="///", linewidth=0.0, label="its time"))
    drawn.legend(handles=handles, loc="outside upper left", ncols=len(handles) if width > PHONE else 2, fontsize=9)


def over_ground(fixes: Fixes, proposal: TrackProposal, width: float) -> Figure:
    """Draw the path over the ground to scale, north up, with what was taken and passed over."""
    drawn = figure(width, min(width, 4.8))
    axes = drawn.add_subplot()
    east, north = local_metres(fixes.latitude, fixes.longitude)
    unit = "m" if max(np.ptp(east), np.ptp(north)) < 3000.0 else "km"
    if unit == "km":
        east, north = east / 1000.0, north / 1000.0
    axes.plot(*_thinned(east, north, fixes.piece), color=QUIET, linewidth=0.9)
    for segment in passed_over(proposal):
        _way(axes, fixes, east, north, segment, None)
    for name, segment in taken(proposal):
        _way(axes, fixes, east, north, segment, name)
    axes.plot(east[:1], north[:1], marker="s", color=INK, markersize=5, markerfacecolor="white", zorder=1.5)
    axes.annotate("start", (east[0], north[0]), xytext=(6, -10), textcoords="offset points", fontsize=8.5, color=INK)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel(f"{unit} east of the start")
    axes.set_ylabel(f"{unit} north")
    return drawn


def _way(axes: Axes, fixes: Fixes, east: np.ndarray, north: np.ndarray, segment: Segment, name: str | None) -> None:
    own = np.flatnonzero((fixes.time >= segment.start) & (fixes.time <= segment.end))
    if own.size < 2:
        return
    style = _TAKEN if name else _ELSE
    x, y = east[own], north[own]
    axes.plot(
        *_thinned(x, y, fixes.piece[own]), color=style.colour, linewidth=2.6 if name else 1.8,
        linestyle="-" if name else (0, (2, 1.2)),
    )  # fmt: skip
    if name is None:
        return
    middle = own.size // 2
    axes.plot(x[:1], y[:1], marker=style.marker, color=style.colour, markersize=5)
    axes.annotate(
        "", (x[-1], y[-1]), (x[-2] if own.size < 6 else x[-5], y[-2] if own.size < 6 else y[-5]),
        arrowprops={"arrowstyle": "-|>", "color": style.colour, "linewidth": 1.6},
    )  # fmt: skip
    across = np.array([y[-1] - y[0], x[0] - x[-1]])
    shift = 9 * across / max(float(np.hypot(*across)), 1e-9)
    axes.annotate(
        name, (x[middle], y[middle]), xytext=tuple(shift), textcoords="offset points", ha="center", va="center",
        fontsize=8.5, color=INK,
    )  # fmt: skip


def clock_alt(fixes: Fixes, proposal: TrackProposal) -> str:
    """The first figure in words."""
    heights, name = fixes.heights()
    length, speed = proposal.units["length"], proposal.units["speed"]
    between = "no heights"
    if np.isfinite(heights).any():
        low, high = (
            units.show(float(value), length, "length", 0) for value in (np.nanmin(heights), np.nanmax(heights))
        )
        between = f"{name} between {low} and {high}"
    fastest = units.show(float(np.nanmax(fixes.ground_speed)), speed, "speed", 0)
    said = f"{between} and ground speed up to {fastest} against the local clock. "
    return said[0].upper() + said[1:] + _in_words(proposal)


def ground_alt(fixes: Fixes, proposal: TrackProposal) -> str:
    """The second figure in words."""
    east, north = local_metres(fixes.latitude, fixes.longitude)
    size = f"{np.ptp(east) / 1000:.1f} km east to west and {np.ptp(north) / 1000:.1f} km north to south"
    return f"The path over the ground, north up, {size}. " + _in_words(proposal)


def _in_words(proposal: TrackProposal) -> str:
    def times(segment: Segment) -> str:
        first, last = (local(moment, proposal.utc_offset_hours) for moment in (segment.start, segment.end))
        return f"{first:%H:%M:%S} to {last:%H:%M:%S}"

    parts = [f"{name} from {times(segment)}" for name, segment in taken(proposal)]
    others = [times(segment) for segment in passed_over(proposal)]
    said = f"Taken: {', '.join(parts)}." if parts else "Nothing was taken."
    return said + (f" Found and not taken: {', '.join(others)}." if others else "")
