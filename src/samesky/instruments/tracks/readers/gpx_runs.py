"""Read a long run of track points that are all written alike, without asking Python about each of them.

A logger writes every point in the same layout: take the digits away, and what is left is one and the same text over
and over. Where that holds, letter for letter, the numbers can be cut out at known places and read many at once. Where
it does not, nothing is lost: the points go to the XML parser one by one (:mod:`.gpx`), which also says what is wrong.

Which number is which is not guessed: the parser itself reads the first point with its numbers counted off, 0, 1, 2 ...
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

#: Letters of which numbers, dates and clock times are made; taken away they leave the layout.
LETTERS = b"0123456789.+-:"
_GAPS = bytes(letter if letter in LETTERS else 32 for letter in range(256))
_TOKEN = re.compile(rb"[0-9.+:-]+")
_TIME = re.compile(r"(\d+)T(\d+)Z")
OPENING, CLOSING = b"<trkpt", b"</trkpt>"


@dataclass(frozen=True, slots=True)
class Layout:
    """How every point of a run is written.

    Attributes
    ----------
    frame : one point with white space behind it, less all :data:`LETTERS`
    tokens : number of words made of these letters in one point
    fields : for latitude, longitude, elevation, speed and course the place of its word, or None
    time : places of date and clock
    fixed : words that belong to names of elements and so must not change, by place
    """

    frame: bytes
    tokens: int
    fields: tuple[int | None, ...]
    time: tuple[int, int]
    fixed: dict[int, bytes]


def layout_of(point: bytes, parse: Callable[[bytes], list[str] | None]) -> Layout | None:
    """The layout of one point (with the white space behind it); None where its numbers cannot be told apart by place.

    ``parse`` reads one point and gives its texts: latitude, longitude, elevation, time, speed, course.
    """
    counted, at, fixed, count = [], 0, {}, 0
    for match in _TOKEN.finditer(point):
        before = point[: match.start()]
        opened = before.rfind(b"<")
        tag = before[opened:] if opened > before.rfind(b">") else b""
        counted.append(point[at : match.start()])
        if tag and not (tag.count(b'"') % 2 or tag.count(b"'") % 2):
            fixed[count] = match[0]
            counted.append(match[0])
        else:
            counted.append(str(count).encode())
        at, count = match.end(), count + 1
    counted.append(point[at:])
    texts = parse(b"".join(counted))
    if texts is None:
        return None
    time = _TIME.fullmatch(texts[3])
    numbers = [texts[k].strip() for k in (0, 1, 2, 4, 5)]
    if time is None or not all(text == "nan" or text.isdecimal() for text in numbers) or "nan" in numbers[:2]:
        return None
    return Layout(
        point.translate(None, LETTERS),
        count,
        tuple(None if text == "nan" else int(text) for text in numbers),
        (int(time[1]), int(time[2])),
        fixed,
    )


def read_run(run: bytes, layout: Layout, clock: Callable[[np.ndarray], np.ndarray | None]) -> np.ndarray | None:
    """Columns (6, n) of a run of points from the first ``<trkpt`` to the last ``</trkpt>``; None if not all are alike.

    Latitude, longitude [deg], elevation [m], time [s], speed [m/s], course [deg], NaN where the layout has none.
    ``clock`` turns letters (n, width) of ISO 8601 times into seconds, or gives None.
    """
    frame = run.translate(None, LETTERS)
    number = (len(frame) + len(layout.frame) - len(layout.frame.rstrip())) // len(layout.frame)
    if frame != layout.frame * (number - 1) + layout.frame.rstrip():
        return None
    words = run.translate(_GAPS).split()
    if len(words) != number * layout.tokens:
        return None
    if any(words[place :: layout.tokens].count(word) != number for place, word in layout.fixed.items()):
        return None
    times = _letters(words[layout.time[0] :: layout.tokens], words[layout.time[1] :: layout.tokens])
    seconds = None if times is None else clock(times)
    if seconds is None:
        return None
    columns = np.full((6, number), np.nan)
    columns[3] = seconds
    try:
        for row, place in zip((0, 1, 2, 4, 5), layout.fields, strict=True):
            if place is not None:
                columns[row] = numbers(words[place :: layout.tokens])
    except ValueError:
        return None
    return columns


def numbers(words: list[bytes]) -> np.ndarray:
    """Decimal numbers (n,) of words; ValueError where one is none.

    Words of one width with the point in one place, 15 digits at most, are whole numbers over a power of ten: both are
    exact, so that their quotient is the same double that reading word by word gives.
    """
    width, dot = len(words[0]), words[0].find(b".")
    joined = b"".join(words)
    if dot > 0 and width <= 16 and len(joined) == width * len(words):
        letters = np.frombuffer(joined, dtype=np.uint8).reshape(len(words), width)
        digits = np.delete(letters, dot, axis=1)
        if (letters[:, dot] == 46).all() and digits.min() >= 48 and digits.max() <= 57:
            worth = 10.0 ** np.arange(width - 2, -1, -1)
            return ((digits - 48.0) @ worth) / 10.0 ** (width - 1 - dot)
    return np.array(words).astype(float)


def _letters(dates: list[bytes], clocks: list[bytes]) -> np.ndarray | None:
    """Letters (n, width) of the times as they were written; None where they are not all of one width."""
    count, wide = len(dates), len(clocks[0])
    joined = b"".join(dates), b"".join(clocks)
    if len(joined[0]) != 10 * count or len(joined[1]) != wide * count:
        return None
    if len(dates[0]) != 10:
        return None
    letters = np.empty((count, wide + 12), dtype=np.uint8)
    letters[:, :10] = np.frombuffer(joined[0], dtype=np.uint8).reshape(count, 10)
    letters[:, 10] = ord("T")
    letters[:, 11:-1] = np.frombuffer(joined[1], dtype=np.uint8).reshape(count, wide)
    letters[:, -1] = ord("Z")
    return letters
