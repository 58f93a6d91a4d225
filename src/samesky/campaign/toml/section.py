"""What does one table of ``campaign.toml`` say?

A :class:`Section` hands out the values of one table by name, in SI, and collects what is wrong with them. Whatever
has not been asked for when :meth:`Section.report_unknown` is called is a name that nobody knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.phrases import a_dimension, between, sample_of, spelled, unit_of
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import briefly, did_you_mean, listed, nearest, one_line, plain_name, quoted
from samesky.spellings import BARE

FILE = "campaign.toml"


def _no_example(path: tuple[str, ...], name: str, dimension: str) -> str:
    return ""


class Section:
    """One table of the file, by names of any spelling (see :mod:`samesky.campaign.messages.words`).

    Parameters
    ----------
    data : the table as parsed
    path : names of the tables around it, and its own
    lines : line number of each entry, from :func:`samesky.campaign.toml.shape.line_numbers`
    findings : the list to which everything wrong is added
    written : the dictionary to which the unit of every quantity goes as it was written, by its dotted plain name
    example : what could stand at an entry, from path, name and dimension; ``""`` where nothing is known
    """

    def __init__(
        self,
        data: Mapping[str, object],
        path: tuple[str, ...],
        lines: Mapping[tuple[str, ...], int],
        findings: list[Finding],
        example: Callable[[tuple[str, ...], str, str], str] = _no_example,
        written: dict[str, str] | None = None,
    ):
        self.path = path
        self._lines = lines
        self._findings = findings
        self._example = example
        self._written = {} if written is None else written
        self._values: dict[str, object] = {}
        self._spelling: dict[str, str] = {}
        self._asked: set[str] = set()
        self._missing: dict[str, str] = {}
        for key, value in data.items():
            name = plain_name(key)
            if name in self._values:
                self.error(name, say.ENTRY_TWICE(spelling=self._spelling[name], key=key))
            else:
                self._values[name] = value
                self._spelling[name] = key

    # -- what is there ---------------------------------------------------------------------------------------------

    def __contains__(self, name: str) -> bool:
        return name in self._values

    def names(self) -> list[str]:
        """The names in this table as written, in the file's order."""
        return [self._spelling[name] for name in self._values]

    def error(self, name: str | None, said: Said) -> None:
        """Add an error about an entry of this table, or about the table itself."""
        self._find("error", name, said)

    def warning(self, name: str | None, said: Said) -> None:
        """Add a warning about an entry of this table, or about the table itself."""
        self._find("warning", name, said)

    def _find(self, kind: str, name: str | None, said: Said) -> None:
        table = f"[{'.'.join(self.path)}]" if self.path else ""
        where = " ".join(part for part in (table, name) if part) or None
        key = (*self.path, self._spelling.get(name, name)) if name is not None else self.path
        row = self._lines.get(
            tuple(plain_name(part) for part in key), self._lines.get(tuple(map(plain_name, self.path)))
        )
        self._findings.append(Finding(kind, FILE, said, row, where))

    def missing(self, name: str, mend: str) -> None:
        """Note that an entry is absent: :meth:`report_unknown` says so, unless an unknown name is meant for it."""
        self._asked.add(name)
        self._missing[name] = mend

    # -- values ----------------------------------------------------------------------------------------------------

    def raw(self, name: str) -> object | None:
        """The value as parsed; None where it is absent."""
        self._asked.add(name)
        return self._values.get(name)

    def text(self, name: str, default: str = "") -> str:
        """A text entry."""
        value = self.raw(name)
        if value is None:
            return default
        if not isinstance(value, str):
            self.error(name, say.ENTRY_NO_TEXT(value=quoted(value), value2=value))
            return default
        return one_line(value.strip())

    def choice(self, name: str, options: Iterable[str], default: str) -> str:
        """A text entry that is one of a few words."""
        options = list(options)
        value = self.text(name, default)
        if value.casefold() in options:
            return value.casefold()
        self.error(
            name,
            say.ENTRY_NOT_OF_A_LIST(
                value=quoted(value),
                option=listed([repr(option) for option in options], "or"),
                hint=did_you_mean(value, options, "Write one of these."),
            ),
        )
        return default

    def flag(self, name: str) -> bool | None:
        """``true`` or ``false``; None where absent."""
        value = self.raw(name)
        if value is None or isinstance(value, bool):
            return value
        self.error(name, say.ENTRY_NO_FLAG(value=quoted(value)))
        return None

    def number(self, name: str, low: float | None = None, high: float | None = None) -> float | None:
        """A number without a unit, bare or as text; None where absent or wrong."""
        value = self.raw(name)
        if value is None:
            return None
        try:
            if isinstance(value, bool) or not isinstance(value, str | float | int):
                raise ValueError
            found = float(value)
            if found - found != 0.0:
                raise ValueError
        except (TypeError, ValueError, OverflowError):
            self.error(name, say.ENTRY_NOT_A_NUMBER(value=quoted(value)))
            return None
        if (low is not None and found < low) or (high is not None and found > high):
            self.error(name, say.ENTRY_NUMBER_OUT_OF_BOUNDS(found=found, bounds=between(low, high)))
            return None
        return found

    def quantity(
        self,
        name: str,
        dimension: str,
        low: float | None = None,
        high: float | None = None,
        needed: str = "",
        density: float | None = None,
    ) -> float | None:
        """A number with its unit as text, in SI.

        ``needed`` says why the entry may not be absent; with ``density`` [kg/m^3] a mass may be written as a volume.
        """
        value = self.raw(name)
        if value is None:
            if needed:
                self.missing(name, f"{needed} For example: {self._sample(name, dimension)}")
            return None
        return self._quantity(name, value, dimension, low, high, density)

    def _quantity(
        self,
        name: str,
        value: object,
        dimension: str,
        low: float | None = None,
        high: float | None = None,
        density: float | None = None,
    ) -> float | None:
        if isinstance(value, int | float) and not isinstance(value, bool) and BARE.get(dimension):
            value = f"{value} {BARE[dimension]}"
        if not isinstance(value, str):
            self.error(
                name,
                say.ENTRY_NO_QUANTITY(
                    value=quoted(value), dimension=a_dimension(dimension), sample=self._sample(name, dimension)
                ),
            )
            return None
        if not value.strip():
            self.error(
                name,
                say.ENTRY_BLANK(dimension=a_dimension(dimension), sample=self._sample(name, dimension)),
            )
            return None
        try:
            found = units.parse(value, dimension)
        except units.UnitError as error:
            if density is not None and fits(unit_of(value), "volume"):
                volume = self._quantity(name, value, "volume")
                return None if volume is None else volume * density
            self.error(
                name, say.ENTRY_UNIT(value=quoted(value), error=briefly(error), sample=self._sample(name, dimension))
            )
            return None
        if (low is not None and found < low) or (high is not None and found > high):
            unit = unit_of(value)
            unit = (BARE.get(dimension) or "1") if unit == "1" else unit
            ends = [None if bound is None else units.from_si(bound, unit, dimension) for bound in (low, high)]
            bounds = between(ends[0], ends[1], unit)
            self.error(name, say.ENTRY_OUT_OF_BOUNDS(value=quoted(value), bounds=bounds))
            return None
        self._written[".".join((*map(plain_name, self.path), name))] = unit_of(value)
        return found

    def band(self, name: str, dimension: str, density: float | None = None) -> tuple[float | None, float | None]:
        """``"8 kt"`` as an upper bound, ``["43 kt", "47 kt"]`` as both, in SI; ``density`` as in :meth:`quantity`."""
        value = self.raw(name)
        if isinstance(value, list):
            if len(value) != 2:
                self.error(
                    name,
                    say.ENTRY_NO_PAIR(
                        count=len(value),
                        name=spelled(name),
                        rpartition=self._sample(name, dimension).rpartition(" = ")[2],
                    ),
                )
                return None, None
            low, high = (self._quantity(name, part, dimension, density=density) for part in value)
            if low is not None and high is not None and low > high:
                self.error(name, say.ENTRY_BOUNDS_TURNED_ROUND())
            return low, high
        return None, (None if value is None else self._quantity(name, value, dimension, density=density))

    def _sample(self, name: str, dimension: str) -> str:
        """What could stand there: what the template writes there, where it does; a number in the usual unit, else."""
        # Fuel is a mass that people write as a volume.
        also = self._example(self.path, name, "volume") if dimension == "mass" else ""
        return f'{spelled(name)} = "{self._example(self.path, name, dimension) or also or sample_of(dimension)}"'

    # -- tables inside ---------------------------------------------------------------------------------------------

    def section(self, name: str) -> Section:
        """The table of this name inside this one; empty where absent."""
        value = self.raw(name)
        spelling = self._spelling.get(name, name)
        if value is not None and not isinstance(value, dict):
            self.error(name, say.ENTRY_NO_SECTION(value=quoted(value), spelling=spelling))
            value = None
        return Section(value or {}, (*self.path, spelling), self._lines, self._findings, self._example, self._written)

    def named(self, name: str) -> dict[str, Section]:
        """The tables ``[name.X]`` by their names X as written; entries of ``[name]`` itself are reported."""
        around = self.section(name)
        found, strays = {}, []
        for key, value in around._values.items():
            if isinstance(value, dict):
                found[around._spelling[key]] = around.section(key)
            else:
                strays.append(key)
        if strays:
            around.error(
                strays[0],
                say.ENTRY_OUTSIDE_TABLES(
                    what="stands" if len(strays) == 1 else f"and {len(strays) - 1} more stand",
                    path=".".join(around.path),
                ),
            )
        return found

    def report_unknown(self, known: Iterable[str] = ()) -> None:
        """Report every name that was never asked for, and what is missing; ``known`` adds names to offer."""
        unused = [name for name in self._values if name not in self._asked]
        names = sorted({*self._asked, *known})
        offers = [name for name in names if name not in self._values]
        for name in unused:
            near = nearest(name, offers)
            self._missing.pop(near or "", None)
            what = "table" if isinstance(self._values[name], dict) else "entry"
            self.error(
                name,
                say.ENTRY_UNKNOWN(
                    what=what,
                    what2=f"Did you mean {spelled(near)!r}?" if near else f"Known here: {listed(map(spelled, names))}.",
                ),
            )
        for name, mend in self._missing.items():
            self.error(name, say.ENTRY_MISSING(mend=mend))
