"""Read a text log line by line, without trusting its length or its letters."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from samesky.instruments.tracks.readers.errors import TrackError

#: Longest line that is looked at; the rest of a longer one is skipped.
LONGEST_LINE = 1000


def text_lines(path: Path) -> Iterator[tuple[int, str, bool]]:
    """Number, text and "ends with a line end" of each line; a line without an end is the last of a cut file.

    Raises
    ------
    TrackError
        the file cannot be read, or is no text
    """
    try:
        with path.open("rb") as stream:
            number = 0
            while line := stream.readline(LONGEST_LINE):
                number += 1
                complete = line.endswith((b"\n", b"\r"))
                if b"\0" in line:
                    raise TrackError(path.name, "not a text file", "Expected a log as the receiver wrote it.", number)
                while not line.endswith(b"\n") and (rest := stream.readline(LONGEST_LINE)):
                    line = line[:LONGEST_LINE] + rest[-1:]
                    complete = rest.endswith(b"\n")
                yield number, line.decode("ascii", errors="replace").strip(), complete
    except OSError as error:
        raise TrackError(path.name, f"the file cannot be read ({error.strerror})", "Check the path.") from None
