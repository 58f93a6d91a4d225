"""Draw the picture of the README: the primary measure of the demonstration campaign, every run as flown and reduced."""

from __future__ import annotations

from pathlib import Path

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg

from samesky.campaign.reading.read import read
from samesky.reduction.reduction import reduce_table
from samesky.report.runs_figure import runs_figure
from samesky.report.style import use_style

ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    """Write book/_static/readme.png."""
    campaign = read(ROOT / "data_synthetic" / "finer_pitch")
    with mpl.rc_context():
        use_style()
        figure = runs_figure(campaign, reduce_table(campaign, campaign.tables["timed_climb"]), "ft/min", 8.0)
        figure.set_canvas(FigureCanvasAgg(figure))
        figure.savefig(ROOT / "book" / "_static" / "readme.png", dpi=120, facecolor="white")


if __name__ == "__main__":
    main()
