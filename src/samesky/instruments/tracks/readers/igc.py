"""Read a flight log in the format of the FAI's gliding commission (IGC).

B records (fixes) have fixed columns: time, latitude and longitude in minutes and thousandths, validity, pressure
altitude and satellite altitude [m]. The I record says which further columns follow; used here are TDS (decimal
fraction of the second), LAD and LOD (further decimals of the minutes), GSP (ground speed, hundredths of a km/h) and
TRT (true track, degrees). The date is in HFDTE. Layout after the FAI's Technical specification for GNSS flight
recorders, appendix A (columns of B and I records seen in public copies; scales of GSP and TRT from memory).
Signatures (G records) are not verified: this reader measures, it certifies nothing.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from samesky.instruments.tracks.fixes import Fixes, build
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.lines import text_lines

DAY = 86_400.0
_B_RECORD = re.compile(r"B\d{6}\d{7}[NS]\d{8}[EW][AV](-\d{4}|\d{5})(-\d{4}|\d{5})")
_DATE = re.compile(r"H[FOP]DTE(?:DATE:?)?\s*(\d{2})(\d{2})(\d{2})")
_EXTENSION = re.compile(r"(\d{2})(\d{2})([A-Z0-9]{3})")


def read_igc(path: str | Path) -> Fixes:
    """The fixes of an IGC file; altitude by satellite and pressure altitude are kept apart.

    Fixes marked V (no satellite altitude: two-dimensional or none) keep their place and lose that altitude.

    Raises
    ------
    TrackError
        no date record, no B records, or mostly damaged ones
    """
    path = Path(path)
    records: list[str] = []
    extensions: dict[str, tuple[int, int]] = {}
    midnight, damaged = None, 0
    for number, line, complete in text_lines(path):
        if line.startswith("B"):
            whole = complete or len(line) >= max((last for _, last in extensions.values()), default=35)
            if whole and _B_RECORD.match(line):
                records.append(line)
            else:
                damaged += 1
        elif midnight is None and (match := _DATE.match(line)):
            midnight = _date(match, path.name, number)
        elif line.startswith("I") and not extensions:
            extensions = {code: (int(first) - 1, int(last)) for first, last, code in _EXTENSION.findall(line[3:])}
    if not records:
        raise TrackError(path.name, "no fixes (B records)", "Expected an IGC log as the recorder wrote it.")
    if midnight is None:
        raise TrackError(path.name, "no date (HFDTE record)", "Copy the whole file from the recorder again.")
    if damaged > len(records):
        raise TrackError(path.name, f"{damaged} damaged B records", "Copy the file from the recorder again.")
    notes = (f"{damaged} damaged or cut B records skipped",) if damaged else ()
    return _decode(records, extensions, midnight, path.name, notes)


def _date(match: re.Match, name: str, number: int) -> float:
    day, month, year = (int(part) for part in match.groups())
    try:
        return datetime(year + (1900 if year >= 80 else 2000), month, day, tzinfo=UTC).timestamp()
    except ValueError:
        raise TrackError(name, f"the date {match[0]!r}", "Expected HFDTE and day, month, year.", number) from None


def _decode(records: list[str], extensions: dict, midnight: float, name: str, notes: tuple[str, ...]) -> Fixes:
    width = max(35, *(last for _, last in extensions.values())) if extensions else 35
    # Letters that no recorder writes stand in further columns only: there they are no number.
    text = np.array([record[:width].ljust(width).encode("ascii", "replace") for record in records], dtype=f"S{width}")
    letters = text.view("S1").reshape(len(records), width)

    def field(first: int, last: int) -> np.ndarray:
        column = np.ascontiguousarray(letters[:, first:last]).view(f"S{last - first}").ravel()
        try:
            return column.astype(float)
        except ValueError:  # an empty or dashed extension in some records
            return np.array([float(part) if part.strip().isdigit() else np.nan for part in column])

    def extension(code: str) -> np.ndarray | None:
        return field(*extensions[code]) if code in extensions else None

    def fraction(code: str) -> np.ndarray | float:
        """Digits behind the decimal point."""
        if code not in extensions:
            return 0.0
        first, last = extensions[code]
        return np.nan_to_num(field(first, last)) / 10.0 ** (last - first)

    clock = field(1, 3) * 3600 + field(3, 5) * 60 + field(5, 7) + fraction("TDS")
    midnights = _midnights(clock)
    latitude = field(7, 9) + (field(9, 14) + fraction("LAD")) / 60_000
    longitude = field(15, 18) + (field(18, 23) + fraction("LOD")) / 60_000
    latitude[letters[:, 14] == b"S"] *= -1
    longitude[letters[:, 23] == b"W"] *= -1
    pressure_altitude, altitude = field(25, 30).copy(), field(30, 35)
    altitude[letters[:, 24] == b"V"] = np.nan
    speed, direction = extension("GSP"), extension("TRT")
    notes += _without_false_zeros(pressure_altitude, altitude)
    return build(
        midnight + midnights * DAY + clock, np.radians(latitude), np.radians(longitude), altitude,
        pressure_altitude=pressure_altitude,
        ground_speed=None if speed is None else speed / 100 / 3.6,
        track=None if direction is None else np.radians(direction),
        source=name, notes=notes,
    )  # fmt: skip


def _midnights(clock: np.ndarray) -> np.ndarray:
    """How many midnights lie before each fix (n,), from clocks [s] of day: one wild clock is none, and comes home."""
    step, passed, found = np.diff(clock), 0, np.zeros(clock.size, dtype=int)
    for at in np.flatnonzero(np.abs(step) > DAY / 2):
        passed = passed + 1 if step[at] < 0 else max(passed - 1, 0)
        found[at + 1 :] = passed
    return found


#: A pressure altitude of zero that is this far [m] from what the satellite's height and the other fixes make of it.
FALSE_ZERO = 150.0


def _without_false_zeros(pressure_altitude: np.ndarray, altitude: np.ndarray) -> tuple[str, ...]:
    """Take away pressure altitudes of zero where the barometer was silent for some fixes; say how many."""
    zero = pressure_altitude == 0
    if not zero.any() or zero.all():
        return ()
    apart = float(np.nanmedian(np.where(zero, np.nan, pressure_altitude - altitude)))
    false = zero & (np.abs(altitude + apart) > FALSE_ZERO)
    pressure_altitude[false] = np.nan
    return (f"{int(false.sum())} pressure altitudes of zero taken as not recorded",) if false.any() else ()
