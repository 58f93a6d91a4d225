"""Can the text of ``campaign.toml`` be read as TOML at all?"""

from __future__ import annotations

import re
import tomllib

from samesky.campaign.messages import catalogue as say
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
        raise cannot(FILE, say.TOML_TOO_LONG(count=len(text), longest=LONGEST))
    lines = text.splitlines()
    if deep := next((row for row, line in enumerate(lines, start=1) if line.count(".") > MOST_DOTS), None):
        raise cannot(FILE, say.TOML_TOO_MANY_DOTS(count=lines[deep - 1].count("."), most_dots=MOST_DOTS), deep)
    if endless := next((row for row, line in enumerate(lines, start=1) if _ENDLESS.search(line)), None):
        raise cannot(FILE, say.TOML_ENDLESS_NUMBER(), endless)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"\(at line (\d+), column \d+\)", str(error))
        row = int(place[1]) if place else len(lines)
        line = (lines or [""])[min(row, len(lines)) - 1].strip() if text else ""
        reason = str(error).partition(" (at")[0]
        raise cannot(
            FILE,
            say.TOML_UNREADABLE_LINE(reason=_short(reason), line=_short(line)),
            row,
        ) from None
    except ValueError:
        # Python itself refuses to read a whole number of more than some thousand digits.
        raise cannot(FILE, say.TOML_ENDLESS_NUMBER()) from None
    except RecursionError:
        raise cannot(FILE, say.TOML_TOO_DEEP()) from None


def _short(text: str) -> str:
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
