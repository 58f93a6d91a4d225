"""How is a file put down so that it is there whole or not at all?

Every file is written beside its place and then renamed onto it, so that a full disk, a pulled plug or an impatient
Ctrl-C leaves the old file or the new one, never half of one.
"""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.tables.cells import LONGEST, guarded

#: A table to be written: header cells, and rows of cells.
Table = tuple[Sequence[str], Iterable[Sequence[object]]]

_PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)


def write_text(path: Path, text: str, lasting: bool = False) -> Path:
    """Write UTF-8 text with plain line ends; give the path. Raises CampaignError where it cannot be written."""
    return write_bytes(path, text.encode("utf-8"), lasting)


def write_bytes(path: Path, data: bytes, lasting: bool = False) -> Path:
    """Write bytes beside ``path``, then rename; folders on the way are made. Raises CampaignError.

    Where it is to be ``lasting`` it is on the disk, not only in the machine's memory, before it is renamed.
    """
    path = Path(path)
    beside = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if os.path.isdir(path):
            raise cannot(path, say.FILE_IS_A_FOLDER())
        if os.path.exists(path) and not os.path.isfile(path):
            # Renaming onto a device or a pipe would put a plain file in its place, for every program of the machine.
            raise cannot(path, say.FILE_NOT_REPLACEABLE())
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            if lasting:
                stream.flush()
                os.fsync(stream.fileno())
        _usual_permissions(Path(beside))
        os.replace(beside, path)
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        if beside is not None and os.path.exists(beside):
            os.unlink(beside)
    return path


def _write(path: Path, content: str | bytes, lasting: bool) -> Path:
    return write_bytes(path, content.encode("utf-8") if isinstance(content, str) else content, lasting)


def _usual_permissions(path: Path) -> None:
    # mkstemp makes files for the owner alone; a report is meant to be shared, so use what the user's umask allows.
    mask = os.umask(0)
    os.umask(mask)
    os.chmod(path, 0o666 & ~mask)


def _unwritable(path: Path, error: OSError) -> CampaignError:
    return cannot(
        path,
        say.FILE_NOT_WRITTEN(reason=error.strerror or error),
    )


def table_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Comma-separated text of a table; floats at their shortest exact form, None as blank, text made safe for
    spreadsheets (see :func:`samesky.campaign.tables.cells.guarded`).
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([cell_text(name) for name in header])
    for row in rows:
        writer.writerow([cell_text(value) for value in row])
    return stream.getvalue()


def cell_text(value: object) -> str:
    """A value as the text of a cell: see :func:`table_text`."""
    if value is None:
        return ""
    if isinstance(value, float):
        return "" if value != value else repr(float(value))
    text = str(value)
    # Of a text longer than any number the expression would try every way to part it.
    return text if len(text) <= LONGEST and _PLAIN_NUMBER.fullmatch(text) else guarded(text)


def write_campaign(
    folder: Path, toml_text: str, tables: Mapping[str, Table], others: Mapping[str, str] | None = None
) -> Path:
    """Write a campaign folder: ``campaign.toml``, one ``NAME.csv`` a table, and other text files by name.

    A folder that is not there yet appears whole or not at all; in one that is there each file is replaced whole and
    the rest is left alone. Raises CampaignError where it cannot be written.
    """
    return write_folder(Path(folder), campaign_files(toml_text, tables, others))


def campaign_files(
    toml_text: str, tables: Mapping[str, Table], others: Mapping[str, str] | None = None
) -> dict[str, str]:
    """The texts of a campaign's files by name: ``campaign.toml``, one ``NAME.csv`` a table, and others."""
    files = {"campaign.toml": toml_text}
    return files | {f"{name}.csv": table_text(*table) for name, table in tables.items()} | dict(others or {})


def write_together(folder: Path, files: Mapping[str, str | bytes]) -> list[Path]:
    """Write files into a folder that is there, all of them or none; give their paths. Raises CampaignError.

    Each appears whole. Where one cannot be written, those before it are put back as they were.
    """
    before = {name: _bytes(folder / name) for name in files}
    done: list[Path] = []
    try:
        for name, content in files.items():
            done.append(_write(folder / name, content, lasting=False))
    except CampaignError:
        for path in done:
            data = before[path.name]
            path.unlink(missing_ok=True) if data is None else write_bytes(path, data)
        raise
    return done


def _bytes(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise cannot(path, say.FILE_NOT_READ(reason=error.strerror)) from None


def write_folder(folder: Path, files: Mapping[str, str | bytes], lasting: bool = False) -> Path:
    """Write files, text as UTF-8, into a folder, which appears whole if it is new. Raises CampaignError.

    ``lasting`` as in :func:`write_bytes`.
    """
    # os.path, unlike pathlib, answers for names that the file system cannot even look up.
    if os.path.exists(folder):
        if not os.path.isdir(folder):
            raise cannot(folder, say.FOLDER_NOT_MADE())
        for name, content in files.items():
            _write(folder / name, content, lasting)
        return folder
    beside = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=folder.parent))
        for name, content in files.items():
            _write(beside / name, content, lasting)
        mask = os.umask(0)
        os.umask(mask)
        beside.chmod(0o777 & ~mask)
        beside.rename(folder)
    except OSError as error:
        raise _unwritable(folder, error) from error
    except CampaignError as error:
        # The folder beside is gone by the time that this is read: name the file as it would have been.
        found = error.finding
        raise error.of(folder / Path(found.file).name) from error
    finally:
        if beside is not None and beside.exists():
            shutil.rmtree(beside, ignore_errors=True)
    return folder
