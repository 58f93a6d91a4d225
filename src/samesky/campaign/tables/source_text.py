"""Can the file be read as text at all?

Accepts what the usual spreadsheets and editors write: UTF-8 with or without a byte-order mark, UTF-16 with one, and
the Windows western code page (for the degree sign), which is reported because it is a guess.
"""

from __future__ import annotations

import codecs
from pathlib import Path

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said

#: Largest file that is read [bytes]; a season of test flying by hand is a thousandth of it.
LARGEST = 50_000_000


def read_text(path: Path) -> tuple[str | None, list[Finding]]:
    """The text of a file and what is wrong with it; the text is None where it cannot be read."""

    def refuse(said: Said) -> tuple[None, list[Finding]]:
        return None, [Finding("error", path.name, said)]

    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            # A pipe would keep us waiting for a writer that never comes.
            return refuse(say.FILE_DEVICE())
        size = path.stat().st_size
        if size > LARGEST:
            return refuse(
                say.FILE_TOO_LARGE(size=size / 1000000.0, largest=LARGEST / 1000000.0),
            )
        data = path.read_bytes()
    except OSError as error:
        return refuse(say.FILE_NOT_OPENED(reason=error.strerror or error))
    return decode(data, path.name)


def decode(data: bytes, file: str) -> tuple[str | None, list[Finding]]:
    """Bytes as text, with findings; None where they are no text."""
    not_text = Finding(
        "error",
        file,
        say.FILE_NOT_TEXT(),
    )
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16"), []
        except UnicodeDecodeError:
            return None, [not_text]
    if b"\0" in data:
        return None, [not_text]
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        return None, [not_text]
    if any(ord(character) < 32 and character not in "\t\r\n\f" for character in text):
        return None, [not_text]
    warning = Finding(
        "warning",
        file,
        say.FILE_NOT_UTF_8(),
        row,
    )
    return text, [warning]
