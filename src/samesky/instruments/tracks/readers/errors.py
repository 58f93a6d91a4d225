"""What is said when a track cannot be read? One clear message: file, place, what was found, how to mend it."""

from __future__ import annotations


class TrackError(ValueError):
    """A track that cannot be used.

    Attributes
    ----------
    file : name of the file, as the pilot knows it
    found : what was found there
    mend : how to mend it
    line : line number in the file, counted from one, or None
    """

    def __init__(self, file: str, found: str, mend: str, line: int | None = None):
        self.file, self.found, self.mend, self.line = file, found, mend, line
        place = f"{file}, line {line}" if line else file
        super().__init__(f"{place}: {found}. {mend}")
