"""How near to the rpm limit did each configuration run, and was it held below it by the throttle?

A propeller that pulls harder or goes faster because the engine over-speeds is not the better one, and one whose runs
were throttled back for the limit has not shown what it can do. So the rpm in hand stands with the answer, by measure
and configuration, with the reading error of the tachometer; runs that were left out were flown as well, and count here.

Caution: the limits are those of the engine's and propeller's papers, and they decide, not this reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.aeroplane.engine import speed_margin
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable

#: The column of engine speeds, and the one that says that a run was throttled back.
RPM, THROTTLED = "rpm", "throttled"
#: Coverage factor of a 95 % interval of a reading (JCGM 100:2008, 6.3.3).
COVERAGE = 2.0
#: Share of the limit within which a run stands at it (assumed: 27 of 5,300 rpm).
AT_LIMIT = 0.005


@dataclass(frozen=True, slots=True)
class RpmInHand:
    """The engine speed of one configuration in one measure, against the limit.

    Attributes
    ----------
    configuration : its key
    runs : how many of its runs have an engine speed, left-out ones among them
    highest, limit : [rev/s]; ``run`` names the run that reached the first
    standard_uncertainty : of one reading [rev/s]
    throttled : names of the runs that were throttled back for the limit, as written
    at_limit : how many of its runs stand at the limit
    unit : in which the engine speed was written
    """

    configuration: str
    runs: int
    highest: float
    run: str
    limit: float
    standard_uncertainty: float
    throttled: tuple[str, ...] = ()
    at_limit: int = 0
    unit: str = "rpm"

    @property
    def in_hand(self) -> float:
        """Fraction of the limit that the highest reading leaves; negative above it."""
        return float(speed_margin(self.highest, self.limit))

    @property
    def uncertainty(self) -> float:
        """Half the 95 % interval of a reading, as a fraction of the limit."""
        return COVERAGE * self.standard_uncertainty / self.limit

    @property
    def over_limit(self) -> str:
        """``"yes"`` where a reading is above the limit, ``"possible"`` where its 95 % interval is, else ``"no"``."""
        if self.in_hand < -1e-9:
            return "yes"
        return "possible" if self.in_hand < self.uncertainty else "no"

    def words(self) -> str:
        """``B 7.8 % (highest 4890 of 5300 rpm)``."""
        highest, limit = self._shown(self.highest), self._shown(self.limit)
        return f"{self.configuration} {100.0 * self.in_hand:.1f} % (highest {highest} of {limit} {self.unit})"

    def reached(self) -> str:
        """``B reached 5850 rpm in run 3``."""
        return f"{self.configuration} reached {self._shown(self.highest)} {self.unit} in run {self.run}"

    def limit_words(self) -> str:
        """``5300 rpm``."""
        return f"{self._shown(self.limit)} {self.unit}"

    def to_json(self) -> dict:
        """The same for machines: engine speeds in rpm, the rest in per cent of the limit."""
        return {
            "runs": self.runs,
            "highest": round(60.0 * self.highest, 1),
            "run": self.run,
            "limit": round(60.0 * self.limit, 1),
            "in_hand_percent": round(100.0 * self.in_hand, 2),
            "reading_error_percent": round(100.0 * self.uncertainty, 2),
            "over_limit": self.over_limit,
            "throttled": list(self.throttled),
        }

    def _shown(self, speed: float) -> str:
        return units.show(speed, self.unit, "rotational speed", 0 if self.unit == "rpm" else 1).partition(" ")[0]


def cautions(found: Iterable[RpmInHand]) -> tuple[str, ...]:
    """What has to be said of over-speeds, sure ones first and then possible ones; empty where there are none."""
    over = [one for one in found if one.over_limit == "yes"]
    near = [one for one in found if one.over_limit == "possible"]
    said = []
    if over:
        within = [one.configuration for one in over if -one.in_hand <= one.uncertainty]
        doubt = f" (of {listed(within)} by less than the reading error of {_error(over)})" if within else ""
        said.append(
            f"Over-speed: {listed(one.reached() for one in over)}, above the limit of {over[0].limit_words()}{doubt}. "
            "It is looked into by the engine's papers before the next flight."
        )
    if near:
        said.append(
            f"Possible over-speed: {listed(one.reached() for one in near)}, nearer to the limit of "
            f"{near[0].limit_words()} than the reading error of {_error(near)}. Check the tachometer before the next "
            "flight, and keep more rpm in hand."
        )
    return tuple(said)


def _error(found: Iterable[RpmInHand]) -> str:
    return f"{100.0 * max(one.uncertainty for one in found):.1f} %"


def rpm_in_hand(campaign: Campaign, table: RunTable) -> dict[str, RpmInHand]:
    """The engine speed of each configuration against the limit; only those that have both."""
    speed, limit = table.columns.get(RPM), campaign.engine.speed_limit
    if speed is None or limit is None:
        return {}
    unit = table.units.get(RPM, "rpm")
    found = {}
    for key in campaign.configurations:
        rows = np.flatnonzero((table.configuration == key) & np.isfinite(speed))
        if not rows.size:
            continue
        top = rows[np.argmax(speed[rows])]
        found[key] = RpmInHand(
            configuration=key,
            runs=int(rows.size),
            highest=float(speed[top]),
            run=table.text["run"][top],
            limit=limit,
            standard_uncertainty=_reading_error(campaign, table, float(speed[top])),
            throttled=throttled_runs(table, key),
            at_limit=int((np.abs(speed[rows] / limit - 1.0) <= AT_LIMIT).sum()),
            unit=unit,
        )
    return found


def _reading_error(campaign: Campaign, table: RunTable, speed: float) -> float:
    """Standard uncertainty [rev/s] of one reading of the engine speed: every source that disturbs it."""
    sizes = [
        source.standard_uncertainty * (abs(speed - source.about) if source.relative else 1.0)
        for source in (*campaign.sources, *table.measure.sources)
        if source.target == RPM and source.applies_to(table.measure.name)
    ]
    return float(np.sqrt(np.sum(np.square(sizes))))


def throttled_runs(table: RunTable, key: str) -> tuple[str, ...]:
    """Names of the counted runs of a configuration that were written down as throttled back for the rpm limit."""
    words = table.text.get(THROTTLED, [""] * len(table.rows))
    rows = np.flatnonzero(table.included & (table.configuration == key))
    return tuple(table.text["run"][row] for row in rows if words[row])


def held_back(table: RunTable, keys: tuple[str, str], found: Mapping[str, RpmInHand]) -> list[str]:
    """What has to be said of runs that the limit held back, or may have held back; for two configurations."""
    said = []
    for key in keys:
        runs = throttled_runs(table, key)
        if runs:
            one, was, shows = ("Runs", "were", "they show") if len(runs) > 1 else ("Run", "was", "it shows")
            said.append(
                f"{one} {listed(runs)} of {key} {was} throttled back for the rpm limit: {shows} {key} at the limit, "
                "not at full throttle."
            )
    near = [key for key in keys if key in found and found[key].at_limit == found[key].runs and not found[key].throttled]
    clear = [key for key in keys if key in found and not found[key].at_limit]
    if len(near) == 1 and len(clear) == 1:
        said.append(
            f"Every run of {near[0]} stands at the rpm limit, and none of {clear[0]} does: if {near[0]} was throttled "
            f"back for it, write yes in its rows under {THROTTLED!r}."
        )
    return said


def in_short(found: Mapping[str, RpmInHand], keys: tuple[str, ...]) -> str:
    """``A 9.8 %, B 7.8 %``, and which runs were throttled back for the limit; empty where none was read."""
    own = [found[key] for key in keys if key in found]
    if not own:
        return ""
    missing = [f"{key} not read" for key in keys if key not in found]
    said = [f"{one.configuration} {100 * one.in_hand:.1f} %" for one in own]
    return f"{', '.join([*said, *missing])}{_held(own)}"


def in_words(found: Mapping[str, RpmInHand], keys: tuple[str, str]) -> str:
    """``rpm in hand: A 9.8 % (...), B 7.8 % (...); a reading is within 2.3 % (95 %)``; empty where none was read."""
    own = [found[key] for key in keys if key in found]
    if not own:
        return ""
    silent = [key for key in keys if key not in found]
    missing = f"; {silent[0]} not read" if silent else ""
    return (
        f"rpm in hand: {', '.join(one.words() for one in own)}{missing}{_held(own, '; ')}; "
        f"reading error {_error(own)} (95 %)"
    )


def _held(own: Iterable[RpmInHand], before: str = ", ") -> str:
    """Which runs were throttled back for the limit."""
    held = [
        f"{one.configuration} in run{'s' * (len(one.throttled) > 1)} {listed(one.throttled)}"
        for one in own
        if one.throttled
    ]
    return f"{before}throttled back for the limit: {listed(held)}" if held else ""
