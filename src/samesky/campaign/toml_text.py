"""Can the text of ``campaign.toml`` be read as TOML at all?"""

from __future__ import annotations

import re
import tomllib

from samesky.campaign.errors import cannot
from samesky.campaign.sections import FILE


def parsed(text: str) -> dict[str, object]:
    """The file's tables and entries; CampaignError with the line where they cannot be read."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        row = int(place[1]) if place else len(text.splitlines())
        line = (text.splitlines() or [""])[min(row, len(text.splitlines())) - 1].strip() if text else ""
        reason = str(error).partition(" (at")[0]
        raise cannot(
            FILE,
            f"the line cannot be read ({reason}): {line}",
            'An entry is written name = "text" or name = 2.5; text, and numbers with a unit, go in quotes; '
            "a name or a table stands once.",
            row,
        ) from None
    except RecursionError:
        raise cannot(FILE, "tables or lists are nested too deeply.", "Keep to the tables of the template.") from None
