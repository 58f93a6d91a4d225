"""Can the file be read as text at all?

Accepts what the usual spreadsheets and editors write: UTF-8 with or without a byte-order mark, UTF-16 with one, and
the Windows western code page (for the degree sign), which is reported because it is a guess.
"""

from __future__ import annotations

import codecs
from pathlib import Path

from samesky.campaign.messages.findings import Finding

#: Largest file that is read [bytes]; a season of test flying by hand is a thousandth of it.
LARGEST = 50_000_000


def read_text(path: Path) -> tuple[str | None, list[Finding]]:
    """The text of a file and what is wrong with it; the text is None where it cannot be read."""

    def refuse(message: str, mend: str) -> tuple[None, list[Finding]]:
        return None, [Finding("error", path.name, message, mend)]

    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            # A pipe would keep us waiting for a writer that never comes.
            return refuse("it is a device or a pipe, not a file.", "Put a file of runs there, or move it away.")
        size = path.stat().st_size
        if size > LARGEST:
            return refuse(
                f"the file is {size / 1e6:.3g} MB; a file of runs may have at most {LARGEST / 1e6:.3g} MB.",
                "Write one row a run: recordings of every second belong elsewhere, outside this folder.",
            )
        data = path.read_bytes()
    except OSError as error:
        return refuse(
            f"the file cannot be read ({error.strerror or error}).", "Check that it is a file that you may open."
        )
    return decode(data, path.name)


def decode(data: bytes, file: str) -> tuple[str | None, list[Finding]]:
    """Bytes as text, with findings; None where they are no text."""
    not_text = Finding(
        "error",
        file,
        "the file is not text: it holds bytes that no text file has.",
        "From a spreadsheet, save as CSV (comma separated, UTF-8), not as a workbook under another name.",
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
        "the file is not UTF-8; it was read as Windows western text (cp1252).",
        "Check that signs such as ° read right, or save it as UTF-8.",
        row,
    )
    return text, [warning]
