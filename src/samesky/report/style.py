"""How do all our figures look?

One look for the handbook and the report. A configuration is told by marker shape first and colour second, so that a
grey print and a colour-blind reader lose nothing: the colours step evenly in lightness.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

#: Text, axes; helping lines and what is said in passing; the band of what does not matter; what went wrong.
INK, QUIET, BAND, WRONG = "#22262b", "#7a828c", "#e6e9ed", "#b3261e"


@dataclass(frozen=True, slots=True)
class SeriesStyle:
    """Colour, marker and line style of one configuration."""

    colour: str
    marker: str
    line: str

    def as_flown(self) -> dict[str, object]:
        """Plot arguments for a value as flown: an open marker."""
        return {"color": self.colour, "marker": self.marker, "markerfacecolor": "white", "linestyle": "none"}

    def reduced(self) -> dict[str, object]:
        """Plot arguments for a value at the common sky: a filled marker."""
        return {"color": self.colour, "marker": self.marker, "linestyle": "none"}


#: In the campaign's own order, baseline first.
LOOKS = (
    SeriesStyle("#12355b", "o", "-"),
    SeriesStyle("#dd7a0b", "^", "--"),
    SeriesStyle("#8a4f9e", "s", "-."),
    SeriesStyle("#74c9ad", "D", ":"),
)


def look(position: int) -> SeriesStyle:
    """The look of the configuration at this place in the campaign; 0, the baseline, shares its own with no other.

    The others' come round after three: as many as one figure shows beside the baseline.
    """
    return LOOKS[0] if position == 0 else LOOKS[1 + (position - 1) % (len(LOOKS) - 1)]


def looks(keys: Iterable[str], baseline: str) -> dict[str, SeriesStyle]:
    """The look of each configuration of a campaign by key, the baseline taken first."""
    others = [key for key in keys if key != baseline]
    return {key: look(place) for place, key in enumerate([baseline, *others])}


def shown_together(keys: Iterable[str], baseline: str) -> list[list[str]]:
    """The configurations in groups whose looks differ: the baseline with up to three others each."""
    others = [key for key in keys if key != baseline]
    beside = len(LOOKS) - 1
    return [[baseline, *others[start : start + beside]] for start in range(0, len(others), beside)] or [[baseline]]


def use_style() -> None:
    """Set the house style for every figure drawn from now on."""
    import matplotlib as mpl

    mpl.rcParams.update(
        {
            "figure.figsize": (5.4, 3.4),
            "figure.dpi": 150,
            "figure.facecolor": "white",
            "figure.constrained_layout.use": True,
            "savefig.dpi": 150,
            "savefig.facecolor": "white",
            "font.size": 11,
            "axes.titlesize": 12,
            "axes.titlelocation": "left",
            "axes.labelcolor": INK,
            "axes.edgecolor": QUIET,
            "axes.linewidth": 0.8,
            "axes.spines.top": False,
            "axes.spines.right": False,
            "axes.axisbelow": True,
            "axes.prop_cycle": mpl.cycler(color=[each.colour for each in LOOKS]),
            "grid.color": BAND,
            "text.color": INK,
            "xtick.color": INK,
            "ytick.color": INK,
            "lines.markersize": 7,
            "lines.markeredgewidth": 1.4,
            "lines.linewidth": 1.6,
            "legend.frameon": False,
            # A report must come out byte for byte alike from the same campaign.
            "svg.hashsalt": "same sky",
        }
    )
