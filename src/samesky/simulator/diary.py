"""How does a day of flying go by the clock? A diary that turns what the pilot does into the plan of every measure."""

from __future__ import annotations

import numpy as np

from samesky.simulator.schedule import RunPlan


class Diary:
    """Runs one after another, with fuel going down, swaps, refuelling and whole minutes that are never quite even.

    Parameters
    ----------
    rng : draws how many minutes more or less each thing takes
    fuel_density : [kg/L]
    """

    def __init__(self, rng: np.random.Generator, fuel_density: float):
        self._rng = rng
        self._density = fuel_density
        self._minute, self._litres, self._installation, self._configuration = 0, 0.0, -1, ""
        self._rows: dict[str, list[tuple[float, str, int, float]]] = {}
        self._remark = ""
        #: Notes by measure and index of the run.
        self.notes: dict[tuple[str, int], str] = {}

    def morning(self, day: int, clock: str, litres: float) -> None:
        """Begin a day (from 0) at ``clock`` with this much fuel."""
        hours, minutes = clock.split(":")
        self._minute = (24 * day + int(hours)) * 60 + int(minutes)
        self._litres, self._remark = litres, ""

    def fit(self, configuration: str) -> None:
        """Fit a configuration anew."""
        self._configuration = configuration
        self._installation += 1

    def wait(self, minutes: int) -> None:
        """Let time pass: a swap, a taxi, a shower."""
        self._minute += minutes + int(self._rng.integers(-1, 5))

    def refuel(self, litres: float) -> None:
        """Fill up to ``litres``."""
        self._litres, self._remark = litres, f"refuelled to {litres:g} L"

    def run(self, measure: str, minutes: int, litres: float) -> None:
        """One run, starting now; ``minutes`` until the next thing starts, ``litres`` burnt until then."""
        rows = self._rows.setdefault(measure, [])
        if self._remark:
            self.notes[measure, len(rows)], self._remark = self._remark, ""
        rows.append((self._minute / 60, self._configuration, self._installation, self._litres * self._density))
        self._minute += max(2, minutes + int(self._rng.integers(-1, 2)))
        self._litres -= litres * self._rng.uniform(0.9, 1.1)

    def beside(self, measure: str) -> None:
        """A run that the next one is as well: no time passes and nothing is burnt."""
        row = (self._minute / 60, self._configuration, self._installation, self._litres * self._density)
        self._rows.setdefault(measure, []).append(row)

    def plans(self) -> dict[str, RunPlan]:
        """The plan of every measure, in the order in which it was first flown."""
        return {
            name: RunPlan(*(np.array(column) for column in zip(*rows, strict=True)))
            for name, rows in self._rows.items()
        }
