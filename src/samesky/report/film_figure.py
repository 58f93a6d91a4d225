"""Where did each filmed roll end? The strip where the rolls end, the markers that stand there, and a mark a run.

What goes into the table is a filled mark, a reading that stays an open one; the bar is the film's plus or minus.
"""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from samesky import units
from samesky.campaign.messages.words import listed
from samesky.evidence.film.propose import FilmedRun, FilmProposal
from samesky.report.picture import PHONE, figure
from samesky.report.style import INK, QUIET, look

_FILM, _HAND = look(0), look(1)
#: Height [in] of a run and of what stands around all of them.
_RUN, _AROUND = 0.3, 1.4


def columns_of(proposal: FilmProposal) -> list[tuple[str, str]]:
    """File and column of each picture: what the film says something of."""
    return list(dict.fromkeys((one.file, one.column) for one in proposal.runs))


def of(proposal: FilmProposal, file: str, column: str) -> list[FilmedRun]:
    """The runs of one file and column."""
    return [one for one in proposal.runs if (one.file, one.column) == (file, column)]


def by_run(proposal: FilmProposal, file: str, column: str, width: float) -> Figure:
    """Draw every run's value from the film with its plus or minus; for a roll, the markers as well."""
    runs = of(proposal, file, column)
    unit, dimension = runs[0].unit, runs[0].dimension
    drawn = figure(width, _AROUND + _RUN * len(runs))
    axes = drawn.subplots()
    values = units.from_si(np.array([one.value for one in runs]), unit, dimension)
    spread = 2.0 * units.from_si(np.array([one.uncertainty for one in runs]), unit, dimension)
    places = np.arange(len(runs))
    if dimension == "length":
        marks = units.from_si(proposal.found.setup.markers, unit, "length")
        for number, mark in enumerate(marks, start=1):
            axes.axvline(mark, color=QUIET, linewidth=0.9, linestyle=(0, (2, 2)), zorder=0.6)
            axes.annotate(
                f"marker {number}", (mark, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 2),
                textcoords="offset points", ha="center", va="bottom", fontsize=8, color=INK, annotation_clip=True,
            )  # fmt: skip
    axes.errorbar(values, places, xerr=spread, fmt="none", ecolor=_FILM.colour, elinewidth=1.6, capsize=4.5, zorder=2)
    axes.plot(values, places, zorder=3, markersize=4.5, **_FILM.reduced())
    apart = [k for k, one in enumerate(runs) if one.kind == "apart" and np.isfinite(one.reading)]
    if apart:
        read = units.from_si(np.array([runs[k].reading for k in apart]), unit, dimension)
        axes.plot(read, apart, zorder=4, **_HAND.as_flown())
    axes.set_yticks(places, [f"run {one.run}"[:14] for one in runs])
    axes.set_ylim(len(runs) - 0.4, -0.6)
    # A ± of a metre or two is to be seen: the strip is drawn where the rolls end, not from its start.
    known = [values - spread, values + spread, *([read] if apart else [])]
    low, high = min(map(np.min, known)), max(map(np.max, known))
    axes.set_xlim(low - 0.06 * (high - low), high + 0.06 * (high - low))
    axes.set_xlabel(f"{column} [{unit}]")
    handles = [Line2D([], [], label="film, ± about 95 %", **_FILM.reduced())]
    if apart:
        handles.append(Line2D([], [], label="written by hand, stays", **_HAND.as_flown()))
    drawn.legend(handles=handles, loc="outside upper left", ncols=2 if width > PHONE else 1, fontsize=9)
    return drawn


def alt(proposal: FilmProposal, file: str, column: str) -> str:
    """What the picture shows, in words."""
    said = []
    for one in of(proposal, file, column):
        spread = units.show(2 * one.uncertainty, one.unit, one.dimension, 2)
        said.append(f"run {one.run} {one.text} {one.unit} within {spread}")
    return f"The {column} of each filmed run: {listed(said)}."
