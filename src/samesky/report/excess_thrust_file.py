"""The figure of excess thrust as a file by itself, to be shown or sent: PNG or SVG."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.tables.write import write_bytes
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, excess_thrust
from samesky.report import catalogue as say

#: Width [in] and dots an inch of a PNG: sharp on a screen twice as fine as usual.
WIDE, DOTS = 7.0, 200
KINDS = (".png", ".svg")


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

    from samesky.report.excess_thrust_figure import excess_thrust_figure
    from samesky.report.style import use_style

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
