"""How does a figure get into one page that needs nothing else, on a phone as on paper?

Each figure is drawn twice, for a page and for a phone, as SVG in a data address: sharp in print, no outside request,
and no element names that clash between figures. Its colours turn light on a dark screen and stay as they are on paper.
"""

from __future__ import annotations

import base64
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from samesky.report.style import BAND, INK, LOOKS, QUIET, WRONG, use_style

#: Widths [in] at 96 dots an inch: the column of the page, and a phone of 390 dots less its margins.
PAGE, PHONE = 7.0, 3.7
#: What each colour becomes on a dark screen.
ON_DARK = {
    "#ffffff": "#15181c",
    INK: "#e9ecef",
    QUIET: "#98a2ad",
    BAND: "#2c323a",
    WRONG: "#ff8a80",
    LOOKS[0].colour: "#8ebfef",
    LOOKS[1].colour: "#f2a24d",
    LOOKS[2].colour: "#c99ad9",
    LOOKS[3].colour: "#74c9ad",
}
#: What matplotlib says about itself: names of vocabularies that a reader might take for outside addresses.
#: Coordinates with more figures than anybody sees: points of 1/72 inch, of which a hundredth is drawn.
_COORDINATE = re.compile(r"scale\([^)]*\)|-?\d+\.\d{3,}")
#: Names that matplotlib gives to clips, markers and hatches.
_NAME = re.compile(r"\b[hmp][0-9a-f]{10}\b")
_METADATA = re.compile(r"\s*<metadata>.*?</metadata>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Picture:
    """One figure in two widths, as data addresses, with its size [px] and what it shows in words."""

    page: str
    phone: str
    width: int
    height: int
    alt: str


def picture(draw: Callable[[float], Figure], alt: str) -> Picture:
    """Draw for the page and for the phone; ``draw(width)`` gives the figure for a width [in]."""
    with mpl.rc_context(), warnings.catch_warnings():
        # A label in a script that the font lacks comes out as boxes in the figure, and as itself in the text.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        use_style()
        # A dollar sign in somebody's label is a dollar sign, not mathematics.
        mpl.rcParams.update({"text.parse_math": False, "font.size": 10, "lines.markersize": 6.5})
        page, phone = draw(PAGE), draw(PHONE)
        wide, high = page.get_size_inches() * 96
        return Picture(_address(page), _address(phone), round(wide), round(high), alt)


def figure(width: float, height: float) -> Figure:
    """An empty figure that belongs to nobody else: no window, no list of open figures."""
    return Figure(figsize=(width, height))


def _address(drawn: Figure) -> str:
    stream = io.StringIO()
    # Straight to the canvas: `savefig` would draw everything once more beforehand.
    FigureCanvasSVG(drawn).print_svg(stream, metadata={"Date": None})
    svg = for_both_screens(stream.getvalue())
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode("utf-8")).decode("ascii")


def _rounded(found: str) -> str:
    """A coordinate to a hundredth: the same bytes whatever the processor makes of its last figures. Scales stay."""
    if found.startswith("scale"):
        return found
    text = f"{float(found):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def for_both_screens(svg: str) -> str:
    """The SVG with every colour a variable: as drawn by default and on paper, turned round on a dark screen."""
    svg = _METADATA.sub("", svg[svg.index("<svg") :])
    svg = _COORDINATE.sub(lambda found: _rounded(found[0]), svg)
    # Names of clips and markers are made of their coordinates to the last figure: numbered, they hang on nothing.
    names: dict[str, str] = {}
    svg = _NAME.sub(lambda found: names.setdefault(found[0], f"{found[0][0]}{len(names)}"), svg)
    known = re.compile("|".join(re.escape(colour) for colour in ON_DARK), re.IGNORECASE)
    svg = known.sub(lambda found: f"var(--{found[0][1:].lower()},{found[0].lower()})", svg)
    dark = ";".join(f"--{colour[1:].lower()}:{turned}" for colour, turned in ON_DARK.items())
    style = f"<style>@media screen and (prefers-color-scheme:dark){{svg{{{dark}}}}}</style>"
    opening = svg.index(">") + 1
    return svg[:opening] + style + svg[opening:]
