"""How is a sentence kept apart from the code that says it?

A room's ``catalogue`` holds its sentences: each a :class:`Sentence` with a stable code, what it says, and how to mend
it. Whoever finds something fills it in (:class:`Said`) and hangs nothing on the wording.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence with its facts filled in.

    ``code`` is stable; ``message`` is what was found and expected, ``mend`` how to mend it; ``facts`` are what was
    filled in, by name.
    """

    code: str
    message: str
    mend: str = ""
    facts: tuple[tuple[str, object], ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a catalogue: its code, and two templates of :meth:`str.format`."""

    code: str
    says: str
    mend: str = ""

    def __call__(self, **facts: object) -> Said:
        """The sentence with these facts. Raises KeyError where one of its names is not among them."""
        said = (self.says.format(**facts).strip(), self.mend.format(**facts).strip())
        return Said(self.code, *said, tuple((name, _plain(fact)) for name, fact in facts.items()))


def _plain(fact: object) -> object:
    """A fact that can be compared, kept and sent: text, or a number of Python's own."""
    if isinstance(fact, str | int | float):
        return fact
    return fact.item() if hasattr(fact, "item") else str(fact)
