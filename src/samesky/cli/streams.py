"""What may leave by the terminal, and what happens where it cannot?

A file may hold any sign: one that moves the cursor or turns the writing round, one that the terminal's code page does
not have. Nothing of it is an error of the person at the keyboard, so that the first becomes a space, and the second its
nearest plain sign. Where nobody takes what is written (a full disk, a pager that has gone) the verb ends with one
sentence, or none.
"""

from __future__ import annotations

import codecs
import os
import re
import sys
import unicodedata

#: Signs of ours that a code page may lack, and what stands for them there.
PLAIN = {
    "\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2026": "...", "\u00b1": "+-", "\u00d7": "x", "\u00b7": ".",
    "\u2192": "->", "\u2190": "<-", "\u2265": ">=", "\u2264": "<=", "\u2248": "~", "\u00b0": "deg", "\u2103": "degC",
    "\u2109": "degF", "\u00b5": "u", "\u03bc": "u", "\u03c3": "sigma", "\u0394": "delta ", "\u221a": "sqrt",
    "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2022": "*", "\u2500": "-", "\u2502": "|",
    "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u00df": "ss", "\u00e6": "ae", "\u00f8": "o", "\u00ba": "deg",
}  # fmt: skip
#: Narrowest terminal that is believed; one without a size says 0.
NARROWEST = 20
#: Colours and weights, which are ours; every other sequence moves the cursor or worse.
_COLOUR = re.compile(r"(\x1b\[[0-9;]*m)")
_HANDLER = "samesky-plain"


class OutputError(Exception):
    """What was printed cannot be taken: the disk is full, the terminal is gone."""


class ReaderGone(Exception):
    """Whoever read what is printed (a pager, ``head``) has seen enough: that is no error of ours."""


def plain_sign(sign: str) -> str:
    """The nearest sign that every code page has."""
    if sign in PLAIN:
        return PLAIN[sign]
    if "\u2500" <= sign <= "\u257f":
        return "+"
    bare = unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode("ascii")
    return bare or "?"


def _degraded(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(plain_sign, error.object[error.start : error.end])), error.end


def harmless(text: str) -> str:
    """The text with a space for every sign that prints nothing or moves the cursor; line ends and colours stay."""
    if text.isprintable():
        return text
    parts = _COLOUR.split(text)
    return "".join(
        part if index % 2 else "".join(sign if _may_be_shown(sign) else " " for sign in part)
        for index, part in enumerate(parts)
    )


def _may_be_shown(sign: str) -> bool:
    # Blanks that do not break, and the joiners that some scripts need between letters, move nothing.
    return sign.isprintable() or sign in "\n\t\u200c\u200d" or unicodedata.category(sign) == "Zs"


class Guarded:
    """A text stream that lets nothing through but what a terminal may show."""

    def __init__(self, stream, clean: bool):
        self._stream = stream
        self._clean = clean

    def write(self, text: str) -> int:
        """Write the text, made harmless; OutputError where nobody takes it."""
        try:
            self._stream.write(harmless(text) if self._clean else text)
        except OSError as error:
            raise _gone(error) from None
        return len(text)

    def flush(self) -> None:
        """Send on what is held back; OutputError where nobody takes it."""
        try:
            self._stream.flush()
        except OSError as error:
            raise _gone(error) from None

    def writelines(self, lines) -> None:
        """Write one text after the other."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str):
        return getattr(self._stream, name)


def _gone(error: OSError) -> Exception:
    # No OSError again: the library of verbs has an exit code of its own for a pipe that broke.
    return ReaderGone() if isinstance(error, BrokenPipeError) else OutputError(error.strerror or str(error))


def guard() -> None:
    """Put both streams of this process under guard, and forget a width that no terminal has."""
    codecs.register_error(_HANDLER, _degraded)
    columns = os.environ.get("COLUMNS", "")
    if columns and not (columns.isascii() and columns.isdigit() and int(columns[:6]) >= NARROWEST):
        del os.environ["COLUMNS"]
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None or isinstance(stream, Guarded):
            continue
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_HANDLER)
        # Progress moves the cursor of the error stream; what is said there is made harmless where it is said.
        setattr(sys, name, Guarded(stream, clean=name == "stdout"))


def leave(code: int) -> int:
    """The exit code, once all that was printed has left; what stays behind is thrown away without a traceback."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            continue
        try:
            stream.flush()
        except ReaderGone:
            _to_nowhere(stream)
        except OutputError as error:
            _to_nowhere(stream)
            code = cannot_print(error)
    return code


def cannot_print(error: OutputError) -> int:
    """Say on the error stream that the output was not taken; give the exit code of bad input."""
    try:
        sys.stderr.write(f"samesky: the output cannot be written ({error}). Make room there, or send it elsewhere.\n")
        sys.stderr.flush()
    except (OSError, OutputError, ReaderGone):
        pass
    return 2


def _to_nowhere(stream) -> None:
    """Let the interpreter's own last flush succeed."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError, AttributeError):
        pass


def is_unicode(stream=None) -> bool:
    """Whether the stream takes every sign as it is."""
    encoding = getattr(stream or sys.stdout, "encoding", None) or "ascii"
    try:
        return codecs.lookup(encoding).name.startswith("utf")
    except LookupError:
        return False
