"""Would this plan find it, on one self-contained page?"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from samesky.campaign.tables.write import write_text
from samesky.rehearsal.rehearse import Rehearsal
from samesky.rehearsal.through_files import Both
from samesky.report import phrases
from samesky.report import rehearsal_figures as figures
from samesky.report import rehearsal_words as words
from samesky.report.picture import picture
from samesky.report.rendering import rendered


def write_rehearsal(
    found: Rehearsal, path: Path, files: list[Both] | None = None, progress: Callable[[str], None] | None = None
) -> Path:
    """Write the page; give its path. ``files`` are campaigns that went through real files as well.

    Raises CampaignError where the page cannot be written; then nothing is left behind.
    """
    return write_text(Path(path), rehearsal_page(found, files, progress))


def rehearsal_page(
    found: Rehearsal, files: list[Both] | None = None, progress: Callable[[str], None] | None = None
) -> str:
    """The page as HTML text; the same rehearsal gives the same page, byte for byte."""
    if progress is not None:
        progress("drawing the figures")
    primary = found.script.primary
    verdicts = {
        name: picture(
            lambda width, name=name: figures.verdict_figure(found, name, width), figures.verdict_alt(found, name)
        )
        for name in found.script.tables
    }
    costs, helps = words.costs(found), words.helps(found)
    return rendered(
        "rehearsal.html",
        found=found,
        campaign=found.script.campaign,
        primary=primary,
        verdicts=verdicts,
        measures=picture(lambda width: figures.measures_figure(found, width), figures.measures_alt(found)),
        costs=costs,
        helps=helps,
        cost_picture=picture(
            lambda width: figures.changes_figure(found, costs, width), figures.changes_alt(found, costs)
        ),
        help_picture=picture(
            lambda width: figures.changes_figure(found, helps, width), figures.changes_alt(found, helps)
        ),
        files=files or [],
        phrases=phrases,
        words=words,
    )
