"""Can the text of ``campaign.toml`` be read as TOML at all?"""

from __future__ import annotations

import re
import tomllib

from samesky.campaign.messages.errors import cannot
from samesky.campaign.toml.section import FILE

#: Longest file in characters, and most dots of a line: over a name of a hundred thousand dots the standard library's
#: reader takes all the memory there is.
LONGEST = 500_000
MOST_DOTS = 200
#: A whole number beyond all measure in any of the ways to write one: of such a one not even a message can be printed.
#: Read from the last equals sign before it on, so that a line of many equals signs is gone through once and not anew
#: from each of them.
_ENDLESS = re.compile(r"=[^=\"'#]*\b0[xob][0-9A-Fa-f_]{40}")
#: Longest part of a line that a message repeats.
SHOWN = 120


def parsed(text: str) -> dict[str, object]:
    """The file's tables and entries; CampaignError with the line where they cannot be read."""
    if len(text) > LONGEST:
        message = f"the file holds {len(text)} characters, {LONGEST} at the most."
        raise cannot(FILE, message, "Keep to the tables of the template; notes go into a file of their own.")
    lines = text.splitlines()
    if deep := next((row for row, line in enumerate(lines, start=1) if line.count(".") > MOST_DOTS), None):
        message = f"the line holds {lines[deep - 1].count('.')} dots, {MOST_DOTS} at the most."
        raise cannot(FILE, message, "Keep to the tables of the template; long text goes over several lines.", deep)
    if endless := next((row for row, line in enumerate(lines, start=1) if _ENDLESS.search(line)), None):
        raise cannot(FILE, "a number has too many digits.", "Write it as it was read.", endless)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        row = int(place[1]) if place else len(lines)
        line = (lines or [""])[min(row, len(lines)) - 1].strip() if text else ""
        reason = str(error).partition(" (at")[0]
        raise cannot(
            FILE,
            f"the line cannot be read ({_short(reason)}): {_short(line)}",
            'An entry is written name = "text" or name = 2.5; text, and numbers with a unit, go in quotes; '
            "a name or a table stands once.",
            row,
        ) from None
    except ValueError:
        # Python itself refuses to read a whole number of more than some thousand digits.
        raise cannot(FILE, "a number has too many digits.", "Write it as it was read.") from None
    except RecursionError:
        raise cannot(FILE, "tables or lists are nested too deeply.", "Keep to the tables of the template.") from None


def _short(text: str) -> str:
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
