"""How does typing change an entry of ``campaign.toml``?

As with the cells of a table, every change says what the page showed when it was made. Where somebody else has changed
that entry meanwhile, nothing is written: the page keeps what was typed, shows the other's, and the person chooses.
"""

from __future__ import annotations

from collections.abc import Mapping

from samesky import units
from samesky.campaign.entries.edit import with_entry
from samesky.campaign.entries.outline import Path, table
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import briefly, quoted
from samesky.campaign.settings.measures import kind_of_size
from samesky.campaign.toml.section import FILE
from samesky.measures.shape import Measure
from samesky.worksheets import catalogue as say

#: Before the name of an entry in a form: what was typed, and what the page showed.
TYPED, SEEN = "e.", "s."


class EntryChangedError(CampaignError):
    """The entry was changed since the page showed it; ``there`` is what it says now."""

    def __init__(self, name: str, there: str):
        shown = quoted(there) if there else "nothing"
        super().__init__(cannot(FILE, say.SETTINGS_ENTRY_CHANGED(what=name.replace("_", " "), shown=shown)).finding)
        self.there = there


def entry_text(text: str, path: Path, name: str) -> str:
    """An entry as a page shows it; ``""`` where it is off, or not there."""
    found = table(text, path).entry(name)
    return "" if found is None or not found.on else found.text


def change_entry(text: str, path: Path, name: str, typed: str, seen: str) -> str:
    """The file's text with an entry as typed; ``seen`` is what the page showed of it.

    Raises EntryChangedError where it says something else by now (other than what was typed), and CampaignError for a
    value that is not of the entry's kind.
    """
    after, there = with_entry(text, path, name, typed), entry_text(text, path, name)
    if after != text and there != seen:
        raise EntryChangedError(name, there)
    return after


def change_group(text: str, path: Path, sent: Mapping[str, str]) -> str:
    """The same for a table that was sent as a plain form: what the person did not touch stays as it is by now."""
    for name, typed in _entries(sent, TYPED):
        seen = _seen(sent, name)
        if " ".join(typed.split()) != " ".join(seen.split()):
            text = change_entry(text, path, name, typed, seen)
    return text


def unchanged_since(text: str, path: Path, sent: Mapping[str, str]) -> None:
    """Raises EntryChangedError where an entry of a table is no longer what the page showed of it."""
    for name, seen in _entries(sent, SEEN):
        if (there := entry_text(text, path, name)) != seen:
            raise EntryChangedError(name, there)


def undecided(title: str) -> CampaignError:
    """That nobody has said which difference of a measure matters: what the pages fill in nobody has decided."""
    return cannot("measures", say.SETTINGS_SMALLEST_MISSING(title=title))


def decided(text: str, measure: Measure) -> None:
    """Raises CampaignError where the smallest difference that matters of a measure is missing or cannot be read."""
    if not text.strip():
        raise undecided(measure.title)
    is_fraction, dimension = kind_of_size(text.strip(), measure)
    try:
        size = float(units.parse(text.strip(), dimension))
    except units.UnitError as error:
        found = briefly(error)
    else:
        if size > 0.0 and (size < 1.0 or not is_fraction):
            return
        found = f"a difference {'between 0 and 100 %' if is_fraction else 'above zero'} is expected"
    unit = f", or in {measure.unit}" if measure.unit not in ("", "1", "%") else ""
    raise cannot(
        "measures",
        say.SETTINGS_SMALLEST_UNREADABLE(title=measure.title, text=quoted(text.strip()), found=found, unit=unit),
    )


def _entries(sent: Mapping[str, str], mark: str) -> list[tuple[str, str]]:
    return [(key[len(mark) :], one) for key, one in sent.items() if key.startswith(mark) and isinstance(one, str)]


def _seen(sent: Mapping[str, str], name: str) -> str:
    seen = sent.get(f"{SEEN}{name}")
    if not isinstance(seen, str):
        raise cannot("this page", say.PAGE_NO_CHANGE())
    return seen
