"""One way from a template of this room to the text of a page."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from samesky import __version__
from samesky.report.phrases import capital

TEMPLATES = Path(__file__).parent / "templates"


def rendered(template: str, **values) -> str:
    """The template filled in; every value is text, never markup. Raises where the template asks for what is missing."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["capital"] = capital
    return environment.get_template(template).render(values, version=__version__)
