"""Read a log of NMEA 0183 sentences: RMC, GGA and VTG of any talker.

Every sentence is held against its checksum (the exclusive or of all characters between $ and *). Sentences of one
instant make one fix: place and speed from RMC, altitude above mean sea level from GGA, a finer speed and track from
VTG, which carries no time and belongs to the sentences around it. The date comes from RMC; where a log holds GGA only,
midnight is seen by the clock going back by more than half a day. Sentence layouts: NMEA 0183 (fields as published in
receiver manuals); 1 knot = 1852/3600 m/s.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np

from samesky.instruments.tracks.fixes import Fixes, build
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.lines import text_lines

KNOT, KM_PER_HOUR = 1852 / 3600, 1 / 3.6
DAY = 86_400.0
#: Share of sentences with a wrong checksum beyond which the log is refused.
MOST_DAMAGED = 0.5

_SENTENCE = re.compile(r"\$([A-Z]{2})(RMC|GGA|VTG),([^*$]*)\*([0-9A-Fa-f]{2})$")


def checksum(body: str) -> int:
    """The NMEA 0183 checksum of the characters between $ and *."""
    return reduce(xor, body.encode("ascii", errors="replace"), 0)


def read_nmea(path: str | Path, *, date: str | None = None) -> Fixes:
    """The valid fixes of an NMEA 0183 log.

    ``date`` (ISO 8601, such as ``"2024-05-01"``) is that of the first fix, needed only where no RMC sentence tells it.

    Raises
    ------
    TrackError
        no such sentences, mostly damaged ones, or no date anywhere
    """
    path = Path(path)
    log = _NmeaLog(_midnight(date, path.name))
    for _, line, _ in text_lines(path):
        log.take(line)
    log.finish()
    _refuse_a_bad_log(path.name, log)
    notes = [
        f"{count} {what}"
        for count, what in (
            (log.damaged, "sentences with a wrong checksum or cut short skipped"),
            (log.void, "sentences marked not valid by the receiver skipped"),
            (log.undated, "fixes before the first date skipped"),
        )
        if count
    ]
    columns = np.array(log.fixes).T
    return build(
        columns[0], columns[1], columns[2], columns[3],
        ground_speed=columns[4], track=columns[5], source=path.name, notes=tuple(notes),
    )  # fmt: skip


def _midnight(date: str | None, name: str) -> float:
    if date is None:
        return math.nan
    try:
        return datetime.fromisoformat(date).replace(tzinfo=UTC).timestamp()
    except ValueError:
        raise TrackError(name, f"the date {date!r}", "Expected a date such as 2024-05-01.") from None


def _refuse_a_bad_log(name: str, log: _NmeaLog) -> None:
    total = log.good + log.damaged
    if not total:
        raise TrackError(
            name, "no NMEA 0183 sentences (RMC, GGA)", "Expected lines such as $GPRMC,... with *hh behind."
        )
    if log.damaged > MOST_DAMAGED * total:
        found = f"{log.damaged} of {total} sentences have a wrong checksum"
        raise TrackError(name, found, "The log was damaged on the way: copy it again from the receiver.")
    if not log.fixes:
        if log.undated:
            raise TrackError(
                name, "no date: the log has no RMC sentence that tells it", "Give the date (UTC) of its first fix."
            )
        raise TrackError(name, "no valid fix", "The receiver had not found its place: use a later part of the log.")


class _NmeaLog:
    """Gathers the sentences of one instant into a fix."""

    def __init__(self, midnight: float):
        self.midnight, self.clock = midnight, math.nan
        self.fixes: list[tuple[float, ...]] = []
        self.good = self.damaged = self.void = self.undated = self.passed = 0
        self.now: dict[str, float] = {}

    def take(self, line: str) -> None:
        # logs often carry a time stamp of their own before the sentence
        at = line.find("$")
        if at < 0:
            return
        line = line[at:]
        match = _SENTENCE.match(line)
        if not match:
            cut = re.match(r"\$[A-Z]{2}(RMC|GGA|VTG)", line)
            self.damaged += bool(cut)
            return
        if checksum(line[1:].rpartition("*")[0]) != int(match[4], 16):
            self.damaged += 1
            return
        try:
            getattr(self, "_" + match[2].lower())(match[3].split(","))
            self.good += 1
        except (ValueError, IndexError):
            self.damaged += 1

    def _rmc(self, field: list[str]) -> None:
        if field[1] != "A":
            self.void += 1
            return
        midnight = _date(field[8])
        place = _place(field[2:6])
        self._instant(_clock(field[0]))
        if not math.isnan(midnight):
            self.midnight = self.now["midnight"] = midnight
        self.now |= place
        if field[6]:
            self.now.setdefault("speed", float(field[6]) * KNOT)
        if field[7]:
            self.now.setdefault("track", math.radians(float(field[7])))

    def _gga(self, field: list[str]) -> None:
        if field[5] in ("", "0"):
            self.void += 1
            return
        place, altitude = _place(field[1:5]), float(field[8]) if field[8] else math.nan
        self._instant(_clock(field[0]))
        self.now |= place | {"altitude": altitude}

    def _vtg(self, field: list[str]) -> None:
        values = {}
        if field[0]:
            values["track"] = math.radians(float(field[0]))
        if len(field) > 6 and field[6]:
            values["speed"] = float(field[6]) * KM_PER_HOUR
        elif field[4]:
            values["speed"] = float(field[4]) * KNOT
        self.now |= values

    def _instant(self, clock: float) -> None:
        """Close the fix before where this sentence is of another instant."""
        if "clock" in self.now and clock != self.now["clock"]:
            self.finish()
        self.now["clock"] = clock

    def finish(self) -> None:
        now, self.now = self.now, {}
        if "clock" not in now or "latitude" not in now:
            return
        if "midnight" not in now and abs(now["clock"] - self.clock) > DAY / 2:
            # midnight, or one wild clock and back from it
            back = now["clock"] > self.clock
            self.midnight += DAY if not back else -DAY if self.passed else 0.0
            self.passed = max(self.passed + (-1 if back else 1), 0)
        self.clock = now["clock"]
        if math.isnan(self.midnight):
            self.undated += 1
            return
        values = (now.get(name, math.nan) for name in ("latitude", "longitude", "altitude", "speed", "track"))
        self.fixes.append((self.midnight + now["clock"], *values))


def _date(text: str) -> float:
    """Midnight [s since 1970] of ddmmyy, NaN where it is blank: the receiver knew its place before the day."""
    if not text:
        return math.nan
    day, month, year = int(text[:2]), int(text[2:4]), int(text[4:6])
    return datetime(year + (1900 if year >= 80 else 2000), month, day, tzinfo=UTC).timestamp()


def _clock(text: str) -> float:
    hours, minutes, seconds = int(text[:2]), int(text[2:4]), float(text[4:])
    if hours > 23 or minutes > 59 or seconds >= 61:
        raise ValueError(text)
    return hours * 3600 + minutes * 60 + seconds


def _place(field: list[str]) -> dict[str, float]:
    """Latitude and longitude [rad] of ddmm.mmm,N,dddmm.mmm,E."""
    latitude = float(field[0][:2]) + float(field[0][2:]) / 60
    longitude = float(field[2][:3]) + float(field[2][3:]) / 60
    if field[1] not in ("N", "S") or field[3] not in ("E", "W") or latitude > 90 or longitude > 180:
        raise ValueError(field)
    return {
        "latitude": math.radians(-latitude if field[1] == "S" else latitude),
        "longitude": math.radians(-longitude if field[3] == "W" else longitude),
    }
