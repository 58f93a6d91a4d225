"""What does ``filmed_rolls.csv`` say, and which of its rows cannot be?

One row a roll, a frame number a cell. What a roll comes to is worked out in :mod:`samesky.evidence.film.propose`.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.words import plain_name, quoted
from samesky.campaign.reading.files import Sources, stem_of
from samesky.campaign.settings.film import film_setup
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.header import places
from samesky.campaign.tables.number_column import number_column
from samesky.campaign.tables.sheet_rows import SheetRows
from samesky.campaign.toml.section import FILE, Section
from samesky.instruments.roll_film import FilmSetup, RollFrames, acceleration_seen
from samesky.measures.filmed_rolls import BRAKES, FILMED, LAST_FRAME, LIFT_OFF, MOST_MARKERS, UNCERTAIN, passage
from samesky.measures.shape import Measure

#: The file, whatever the spelling of its name.
STEM = plain_name(FILMED.name)
#: What has to be said of a film.
HOW = "Give frame_rate, markers, marker_offset, camera and camera_distance."
#: Speeds over the ground [m/s] that a roll can have between two markers (assumed: a slip of a digit is outside).
SPEEDS = (0.5, 120.0)
#: Accelerations [m/s2] that a roll can have (assumed).
ACCELERATIONS = (-3.0, 8.0)


@dataclass(frozen=True, slots=True, eq=False)
class FilmedRolls:
    """The film of a campaign: its set-up, None where it is not told, and of each row its run, its number and frames."""

    file: str
    setup: FilmSetup | None
    runs: tuple[str, ...]
    rows: np.ndarray
    frames: RollFrames


def is_filmed_rolls(file: str) -> bool:
    """Whether a file of this name is the frames of filmed rolls."""
    return stem_of(file) == STEM


def filmed_rolls(
    top: Section, files: Sources, measures: Mapping[str, Measure], findings: list[Finding]
) -> FilmedRolls | None:
    """The film as written down; None where there is no file, or it has faults, which go to ``findings``."""
    setup = film_setup(top)
    file = next((one for one in files if is_filmed_rolls(one)), None)
    if file is None:
        return None
    asked = next((name for name in measures if plain_name(name) == STEM), None)
    if asked is not None:
        findings.append(Finding("error", FILE, say.FILM_NAME_TAKEN(the_file=file), None, f"[measure.{asked}]"))
    text, found = files[file]
    findings += found
    if text is None or not text.strip():
        return None
    sheet, found = split(text, file, [column.name for column in FILMED.columns])
    rows = None
    if sheet is not None:
        where = places(sheet, file, FILMED.columns, (), found)
        rows = SheetRows(sheet, file, where, found) if where else None
    film = None if rows is None else _film(rows, setup, found)
    seen = film is not None and bool(np.isfinite(film.frames.passages).any() or np.isfinite(film.frames.lift_off).any())
    if seen and not top.section("film").names():
        found.append(Finding("error", FILE, say.FILM_NOT_TOLD(), None, "[film]"))
    findings += found
    return film if is_sound(found) else None


def _film(rows: SheetRows, setup: FilmSetup | None, found: list[Finding]) -> FilmedRolls:
    names = [BRAKES, *(passage(k) for k in range(1, MOST_MARKERS + 1)), LIFT_OFF, UNCERTAIN]
    numbers = {name: np.full(len(rows), np.nan) for name in names}
    for name in names:
        if name in rows.where:
            numbers[name] = number_column(rows, rows.where[name], [False] * len(rows), 1.0)
    for name in names[:-1]:
        _whole(rows, name, numbers[name])
        # What is no frame at all has been reported, and says nothing of the order.
        numbers[name][~((numbers[name] >= 0.0) & (numbers[name] <= LAST_FRAME))] = np.nan
    runs = tuple(rows.words("run") or [""] * len(rows))
    passages = np.column_stack([numbers[passage(k)] for k in range(1, MOST_MARKERS + 1)])
    _named_once(rows, runs, ~np.isnan(passages).all(axis=1) | ~np.isnan(numbers[LIFT_OFF]))
    _in_order(rows, numbers)
    if setup is not None:
        _markers_stand(rows, passages, len(setup.markers))
        passages = passages[:, : len(setup.markers)]
    frames = RollFrames(passages, numbers[BRAKES], numbers[LIFT_OFF], numbers[UNCERTAIN])
    if setup is not None and is_sound(found):
        _believable(rows, setup, frames)
    return FilmedRolls(rows.file, setup, runs, np.array([row for row, _ in rows.rows], dtype=int), frames)


def _whole(rows: SheetRows, name: str, values: np.ndarray) -> None:
    for index in np.flatnonzero(np.isfinite(values) & (values != np.floor(values))):
        rows.error(rows.rows[index][0], name, say.FILM_FRAME_NOT_WHOLE(value=values[index]))


def _named_once(rows: SheetRows, runs: Sequence[str], filled: np.ndarray) -> None:
    first: dict[str, int] = {}
    for index, run in enumerate(runs):
        row = rows.rows[index][0]
        if not run and filled[index]:
            rows.error(row, "run", say.FILM_RUN_BLANK())
        elif run and run in first:
            rows.error(row, "run", say.FILM_RUN_TWICE(run=quoted(run), first=first[run]))
        elif run:
            first[run] = row


def _in_order(rows: SheetRows, numbers: Mapping[str, np.ndarray]) -> None:
    """Frames must come in the order in which a roll passes: brakes, markers one after another, lift-off not first."""
    marks = [passage(k) for k in range(1, MOST_MARKERS + 1)]
    for index in range(len(rows)):
        row = rows.rows[index][0]
        seen = [(name, numbers[name][index]) for name in (BRAKES, *marks) if np.isfinite(numbers[name][index])]
        for (before, early), (name, late) in itertools.pairwise(seen):
            if late <= early:
                rows.error(row, name, say.FILM_FRAMES_OUT_OF_ORDER(late=late, before=before, early=early))
                break
        lift = numbers[LIFT_OFF][index]
        if not np.isfinite(lift) or not seen:
            continue
        passed = [(name, frame) for name, frame in seen if name != BRAKES]
        first, frame = seen[0] if not passed else passed[0]
        if lift < frame or (first == BRAKES and lift <= frame):
            rows.error(row, LIFT_OFF, say.FILM_LIFT_OFF_TOO_EARLY(lift=lift, first=first, frame=frame))


def _markers_stand(rows: SheetRows, passages: np.ndarray, count: int) -> None:
    for k in range(count, MOST_MARKERS):
        where = np.flatnonzero(np.isfinite(passages[:, k]))
        if where.size:
            rows.error(rows.rows[where[0]][0], passage(k + 1), say.FILM_MARKER_WITHOUT_PLACE(k=k + 1, count=count))


def _believable(rows: SheetRows, setup: FilmSetup, frames: RollFrames) -> None:
    """Refuse speeds that no roll has: a digit too many in a frame, a wrong frame rate or place of a marker."""
    for index, row in enumerate(frames.passages):
        seen = [int(marker) for marker in np.flatnonzero(~np.isnan(row))]
        for early, late in itertools.pairwise(seen):
            taken = (row[late] - row[early]) / setup.frame_rate
            speed = (setup.markers[late] - setup.markers[early]) / taken
            if not SPEEDS[0] <= speed <= SPEEDS[1]:
                rows.error(
                    rows.rows[index][0],
                    passage(late + 1),
                    say.FILM_SPEED_NOT_BELIEVABLE(
                        early=early + 1, late=late + 1, taken=taken, speed=speed, speed2=SPEEDS[0], speed3=SPEEDS[1]
                    ),
                )
                break
    if is_sound(rows.findings):
        shown = acceleration_seen(setup, frames)
        for index in map(int, np.flatnonzero((shown < ACCELERATIONS[0]) | (shown > ACCELERATIONS[1]))):
            rows.warning(rows.rows[index][0], LIFT_OFF, say.FILM_ACCELERATION_NOT_BELIEVABLE(shown=shown[index]))
