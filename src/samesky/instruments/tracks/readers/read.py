"""Which kind of track is this file? Its name says one thing, its first bytes must say the same."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.gpx import read_gpx
from samesky.instruments.tracks.readers.igc import read_igc
from samesky.instruments.tracks.readers.nmea import read_nmea

READERS: dict[str, Callable[..., Fixes]] = {".gpx": read_gpx, ".nmea": read_nmea, ".nma": read_nmea, ".igc": read_igc}
KINDS = {read_gpx: "GPX", read_nmea: "NMEA 0183", read_igc: "IGC"}

_SIGNS = (
    (re.compile(rb"PK\x03\x04"), "a zip archive", None),
    (re.compile(rb"\x1f\x8b"), "a gzip archive", None),
    (re.compile(rb"%PDF"), "a PDF document", None),
    (re.compile(rb"(?i)\s*(<\?xml[^>]*>)?\s*<(!doctype\s+)?html"), "a web page", None),
    (re.compile(rb"\s*<|\xff\xfe<|\xfe\xff\x00<"), "an XML file", read_gpx),
    (re.compile(rb"A[A-Z0-9]{3}.*[\r\n]+(?s:.*[\r\n])?[HIB]", re.DOTALL), "an IGC file", read_igc),
    (re.compile(rb"(?s).*\$[A-Z]{2}(RMC|GGA|VTG|GSA|GSV|GLL|ZDA|TXT),"), "an NMEA 0183 log", read_nmea),
)


def read_track(path: str | Path, *, date: str | None = None) -> Fixes:
    """Read a track by its kind: ``.gpx``, ``.nmea`` (or ``.nma``), ``.igc``; for ``.txt`` and ``.log`` by its content.

    ``date`` (ISO 8601) is that of the first fix in UTC, for an NMEA 0183 log that tells none.

    Raises
    ------
    TrackError
        an unknown kind, a file whose content is not what its name says, or any error of the reader
    """
    path = Path(path)
    try:
        with path.open("rb") as stream:
            head = stream.read(4096)
    except OSError as error:
        raise TrackError(path.name, f"the file cannot be read ({error.strerror})", "Check the path.") from None
    if not head.strip():
        raise TrackError(path.name, "an empty file", "Copy it from the receiver again.")
    head = head.removeprefix(b"\xef\xbb\xbf")
    named = READERS.get(path.suffix.lower())
    seen, reader = next(((seen, reader) for sign, seen, reader in _SIGNS if sign.match(head)), ("unknown", None))
    if named is None and path.suffix.lower() not in (".txt", ".log", ""):
        raise TrackError(path.name, f"a file of kind {path.suffix!r}", "Expected .gpx, .nmea or .igc.")
    if seen != "unknown" and reader is not named and named is not None:
        raise TrackError(
            path.name, f"named as {KINDS[named]}, but its content is {seen}",
            f"Rename it to {_suffix(reader)}." if reader else f"Export the track as {KINDS[named]}.",
        )  # fmt: skip
    if named is None and reader is None:
        raise TrackError(path.name, "neither GPX, NMEA 0183 nor IGC", "Export the track in one of these.")
    chosen: Callable[..., Fixes] = read_gpx if reader is None else reader
    chosen = chosen if named is None else named
    return read_nmea(path, date=date) if chosen is read_nmea else chosen(path)


def _suffix(reader) -> str:
    return next(suffix for suffix, known in READERS.items() if known is reader)
