"""How do people spell the names, and which one did they mean?

Names are compared without regard to capitals, underscores and repeated spaces, so that ``ground_roll``,
``Ground roll`` and ``ground  roll`` are one name.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

#: How alike two spellings must be before one is offered for the other (difflib ratio; assumed).
ALIKE = 0.65
_HARMLESS = "\u200c\u200d\u00a0\u202f\u2009"
#: Longest piece of somebody's file that a message repeats.
SHOWN = 40


def plain_name(text: str) -> str:
    """The name in lower case, with single spaces for underscores and runs of white space."""
    return " ".join(str(text).replace("_", " ").split()).casefold()


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name closest to ``word``, or None where nothing is close."""
    by_plain = {plain_name(name): name for name in known}
    found = get_close_matches(plain_name(word), by_plain, n=1, cutoff=ALIKE)
    return by_plain[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A sentence that offers the nearest known name; ``otherwise`` where nothing is near."""
    near = nearest(word, known)
    return f"Did you mean {near!r}?" if near is not None else otherwise


def listed(names: Iterable[object], last: str = "and") -> str:
    """``a, b and c``."""
    said = [str(name) for name in names]
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + f" {last} {said[-1]}" if said else "none"


def one_line(text: str) -> str:
    """The text with a space for every sign that prints nothing, moves the cursor or turns what stands around it.

    Joiners without width, which some scripts need between letters, and blanks that do not break stay.
    """
    if text.isprintable():
        return text
    return "".join(sign if sign.isprintable() or sign in _HARMLESS else " " for sign in text)


def quoted(found: object) -> str:
    """What was found, in quotes on one line, shortened where it is long."""
    text = " ".join(one_line(str(found)).split())
    return repr(text if len(text) <= SHOWN else text[: SHOWN - 1] + "…")


def briefly(problem: Exception) -> str:
    """The cause alone, without the expectation that a unit error carries and without a full stop."""
    return str(problem).partition("; expected")[0].rstrip(".")


def capital(text: str) -> str:
    """The text with its first letter large, the rest untouched."""
    return text[:1].upper() + text[1:]
