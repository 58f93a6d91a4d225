"""Several campaigns on one self-contained page."""

from __future__ import annotations

from pathlib import Path

from samesky.campaign.tables.write import write_text
from samesky.club.pool import Pool
from samesky.report import phrases
from samesky.report.picture import picture
from samesky.report.pool import words
from samesky.report.pool.figure import forest_alt, forest_figure
from samesky.report.rendering import rendered


def write_pool(found: Pool, path: Path) -> Path:
    """Write the page; give its path. Raises CampaignError where it cannot be written; nothing is left behind then."""
    return write_text(Path(path), pool_page(found))


def pool_page(found: Pool) -> str:
    """The page as HTML text; the same pool gives the same page, byte for byte."""
    pictures = [picture(lambda width, one=one: forest_figure(one, width), forest_alt(one)) for one in found.answers]
    return rendered(
        "pool.html",
        found=found,
        shown_answers=list(zip(found.answers, pictures, strict=True)),
        phrases=phrases,
        words=words,
    )
