"""Read a GPX 1.1 track, of any length, from any hand.

The file is streamed through expat a block at a time: nothing but the numbers is kept. A document type declaration is
refused before anything in it can be expanded or fetched, which shuts out entity bombs and external entities; GPX has no
use for one. Layout after the GPX 1.1 schema (topografix.com/GPX/1/1): ``trkpt`` with ``lat``,
``lon`` [degrees] and ``ele`` [m], ``time`` (ISO 8601). Speed [m/s] and course [degrees] are read from GPX 1.0 or from
any extension that names its elements ``speed`` and ``course``.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from xml.parsers import expat

import numpy as np

from samesky.instruments.tracks.fixes import Fixes, build
from samesky.instruments.tracks.readers.errors import TrackError

BLOCK_BYTES = 1 << 18
BLOCK_FIXES = 1 << 13
#: Limits that no honest track meets: fixes in a file, characters in one number, depth of nesting.
MOST_FIXES, LONGEST_TEXT, DEEPEST = 20_000_000, 100, 32

FIELDS = {"ele": 2, "time": 3, "speed": 4, "course": 5}


def read_gpx(path: str | Path, *, allow_truncated: bool = False) -> Fixes:
    """The track points of a GPX file, in file order; routes and way points are left aside.

    With ``allow_truncated`` a file that stops in the middle gives the fixes before that, and a note.

    Raises
    ------
    TrackError
        not GPX, a document type declaration, a truncated or malformed file, no track points, no times
    """
    path = Path(path)
    reader = _Reader(path.name)
    notes: tuple[str, ...] = ()
    try:
        with path.open("rb") as stream:
            while block := stream.read(BLOCK_BYTES):
                reader.parser.Parse(block, False)
        reader.parser.Parse(b"", True)
    except expat.ExpatError as error:
        if not (allow_truncated and reader.begun and error.code in _AT_END):
            raise _said_plainly(path.name, error, reader) from None
        notes = ("the file stops in the middle; the fixes before that are kept",)
    except OSError as error:
        raise TrackError(path.name, f"the file cannot be read ({error.strerror})", "Check the path.") from None
    except TrackError:
        raise
    except (LookupError, ValueError):  # what expat says of encodings it has never heard of
        found = "letters in an encoding that is not known here"
        raise TrackError(path.name, found, "Export the track again as GPX 1.1, in UTF-8.") from None
    columns = reader.columns()
    if not columns.shape[1]:
        raise TrackError(path.name, "no track points (trkpt)", "Export the recorded track, not a route or way points.")
    if np.isnan(columns[3]).all():
        raise TrackError(path.name, "track points without times", "Export the track as recorded, with its times.")
    if reader.without_zone:
        notes += (f"{reader.without_zone} times without an offset from UTC were taken as UTC",)
    return build(
        columns[3], np.radians(columns[0]), np.radians(columns[1]), columns[2],
        ground_speed=columns[4], track=np.radians(columns[5]), source=path.name, notes=notes,
    )  # fmt: skip


_AT_END = {
    expat.errors.codes[text]
    for text in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
    )
}


def _said_plainly(name: str, error: expat.ExpatError, reader: _Reader) -> TrackError:
    if reader.begun and error.code in _AT_END:
        found = f"the file stops in the middle, after {reader.count + len(reader.points)} fixes"
        mend = "Copy it from the receiver again; if it ends there as well, have the receiver export the track anew."
        return TrackError(name, found, mend)
    found = f"not well-formed XML ({expat.errors.messages[error.code]})"
    return TrackError(name, found, "Export the track again as GPX 1.1.", error.lineno)


class _Reader:
    """Collects the texts of track points and turns them into numbers block by block."""

    def __init__(self, name: str):
        self.name, self.count, self.begun = name, 0, False
        self.without_zone = 0
        self.points: list[list[str]] = []
        self.blocks: list[np.ndarray] = []
        self.parser = parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._refuse
        parser.EntityDeclHandler = self._refuse
        parser.StartElementHandler = self._root

    def _refuse(self, *_):
        raise TrackError(
            self.name, "a document type declaration (<!DOCTYPE ...>)",
            "GPX needs none and such files can do harm: nothing of it was read. Export the track again.",
        )  # fmt: skip

    def _root(self, tag, attributes):
        if tag.rpartition(":")[2] != "gpx":
            raise TrackError(self.name, f"an XML file of another kind (<{tag[:40]}>)", "Expected GPX: <gpx ...>.")
        self.begun = True
        self.parser.StartElementHandler, self.parser.CharacterDataHandler, self.parser.EndElementHandler = (
            self._handlers()
        )

    def _handlers(self):
        """Closures over local names: this is the loop that every point goes through."""
        points, fields = self.points, FIELDS
        text, depth, point, point_depth = "", 1, None, 0

        def start(tag, attributes):
            nonlocal text, depth, point, point_depth
            text = ""
            depth += 1
            if tag == "trkpt" or (":" in tag and tag.rpartition(":")[2] == "trkpt"):
                if point is not None:
                    raise TrackError(self.name, "a track point inside a track point", "Export the track again.")
                point = [attributes.get("lat", ""), attributes.get("lon", ""), "nan", "", "nan", "nan"]
                point_depth = depth
            elif depth > DEEPEST:
                raise TrackError(self.name, "elements nested too deep", "Export the track again.")

        def characters(data):
            nonlocal text
            text += data
            if len(text) > LONGEST_TEXT:
                text = text[:LONGEST_TEXT]

        def end(tag):
            nonlocal depth, point
            depth -= 1
            if point is None:
                return
            field = fields.get(tag) or (fields.get(tag.rpartition(":")[2]) if ":" in tag else None)
            # height and time are the point's own; speed and course may lie deeper, in an extension
            if field and (field > 3 or depth == point_depth):
                point[field] = text
            elif depth < point_depth:
                points.append(point)
                point = None
                if len(points) >= BLOCK_FIXES:
                    self._settle()

        return start, characters, end

    def _settle(self):
        """Turn the collected texts into numbers and forget them."""
        if not self.points:
            return
        block = np.empty((6, len(self.points)))
        for index, row in enumerate(zip(*self.points, strict=True)):
            block[index] = times(row, self.name) if index == 3 else self._numbers(row, index)
        self.without_zone += sum(_has_no_zone(point[3]) for point in self.points if point[3][-1:] != "Z")
        self.points.clear()
        self.count += block.shape[1]
        if self.count > MOST_FIXES:
            raise TrackError(self.name, f"more than {MOST_FIXES} fixes", "Split the file.")
        self.blocks.append(block)

    def _numbers(self, row: tuple[str, ...], index: int) -> np.ndarray | float:
        if row.count("nan") == len(row):
            return np.nan
        try:
            return np.array(row, dtype=float)
        except ValueError:
            what = ("lat", "lon", "ele", "time", "speed", "course")[index]
            for number, text in enumerate(row, start=self.count + 1):
                try:
                    float(text)
                except ValueError:
                    found = f"{what} of track point {number} is {text[:40]!r}"
                    raise TrackError(self.name, found, "Expected a number with a decimal point.") from None
            raise

    def columns(self) -> np.ndarray:
        """Latitude, longitude [deg], elevation [m], time [s], speed [m/s], course [deg]: (6, n)."""
        self._settle()
        return np.concatenate([np.empty((6, 0)), *self.blocks], axis=1)


def times(row: Sequence[str], name: str) -> np.ndarray:
    """Times (n,) [s since 1970-01-01 UTC] of ISO 8601 texts, NaN where empty; the usual layouts by array arithmetic."""
    width = len(row[0]) if row else 0
    # 2024-05-01T08:00:00Z, or with a decimal fraction: all of one width and ending in Z
    if width >= 20 and row[0].endswith("Z") and all(len(text) == width for text in (row[0], row[-1])):
        try:
            letters = np.frombuffer("".join(row).encode("ascii"), dtype=np.uint8).reshape(len(row), width)
        except ValueError:
            letters = None
        if letters is not None and _usual(letters):
            return _from_digits(letters, name)
    return np.array([_one_time(text, name) for text in row])


def _has_no_zone(text: str) -> bool:
    """Whether a time says nothing of its offset from UTC."""
    clock = text.strip()[10:]
    return bool(clock) and not clock.endswith(("Z", "z")) and "+" not in clock and "-" not in clock


_MARKS = {4: "-", 7: "-", 10: "T", 13: ":", 16: ":"}


def _usual(letters: np.ndarray) -> bool:
    width = letters.shape[1]
    marks = {**_MARKS, width - 1: "Z", **({19: "."} if width > 20 else {})}
    digits = np.delete(letters, list(marks), axis=1)
    if (
        not all((letters[:, at] == ord(mark)).all() for at, mark in marks.items())
        or digits.min() < 48
        or digits.max() > 57
    ):
        return False
    # an hour, minute or second that no clock shows goes to the slow way, which says so
    hour, minute, second = (10 * (letters[:, at] - 48) + letters[:, at + 1] - 48 for at in (11, 14, 17))
    return bool(hour.max() < 24 and minute.max() < 60 and second.max() < 60)


def _from_digits(letters: np.ndarray, name: str) -> np.ndarray:
    days = np.ascontiguousarray(letters[:, :10]).view("S10").ravel()
    new = np.r_[True, days[1:] != days[:-1]]
    midnight = np.array([_one_time(day.decode() + "T00:00:00Z", name) for day in days[new]])[np.cumsum(new) - 1]
    places = [11, 12, 14, 15, 17, 18, *range(20, letters.shape[1] - 1)]
    worth = [36000.0, 3600.0, 600.0, 60.0, 10.0, 1.0, *(10.0 ** -(k + 1) for k in range(len(places) - 6))]
    return midnight + (letters[:, places] - 48.0) @ np.array(worth)


def _one_time(text: str, name: str) -> float:
    text = text.strip()
    if not text:
        return float("nan")
    # a leap second is the first of the next minute: POSIX time has no other place for it
    leap = text[16:19] == ":60"
    try:
        moment = datetime.fromisoformat(f"{text[:16]}:59{text[19:]}" if leap else text)
    except ValueError:
        raise TrackError(name, f"the time {text[:40]!r}", "Expected ISO 8601, such as 2024-05-01T08:00:00Z.") from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp() + leap
