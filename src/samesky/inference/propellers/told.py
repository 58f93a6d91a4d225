"""Is it the propeller or its pitch? What the settings flown tell, of a whole campaign."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.campaign.derived.coefficients import known_of
from samesky.campaign.derived.rpm_in_hand import throttled_runs
from samesky.campaign.messages.phrases import meant
from samesky.campaign.model.campaign import Campaign, MeasureSettings
from samesky.inference import verdict
from samesky.inference.propellers import reasons
from samesky.inference.propellers.levels import Levels, correlation, of_engine_speed, of_results
from samesky.inference.propellers.lines import Apart, Coordinate, own_variances
from samesky.inference.propellers.tilt import BEND, CLIMB, GROUND, LEVEL_RPM, PULL, ROLL, SPEED, STATIC_RPM, TILT
from samesky.inference.result import Comparison
from samesky.inference.uncertainty import t_quantile
from samesky.measures.shape import Sight, Vantage

if TYPE_CHECKING:
    from samesky.arrays import Floats
    from samesky.inference.looks import Look

#: Measures that are told against top speed and engine speed, and what they are held against, first ones first.
TOLD, AGAINST = (ROLL, GROUND, CLIMB, PULL), (LEVEL_RPM, SPEED, STATIC_RPM)
#: The measure whose runs show an engine speed.
SHOWN_BY = {LEVEL_RPM: SPEED, STATIC_RPM: PULL}
#: Measures that are flown at one airspeed, at which an engine speed stands in the picture.
STEADY = (PULL, CLIMB, SPEED)
#: Places at which a line is drawn.
DRAWN = np.linspace(0.0, 1.0, 21)


@dataclass(frozen=True, slots=True)
class Mark:
    """One setting of a propeller: natural logarithms of SI, and their own standard uncertainties."""

    configuration: str
    setting: float | None
    x: float
    y: float
    x_known: float
    y_known: float


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One propeller's line of a measure against an abscissa: marks, and the line with half its 95 % interval.

    ``line`` (k, 3) of x, y and half, natural logarithms of SI; without rows where one setting was flown.
    """

    propeller: str
    measure: str
    against: str
    marks: tuple[Mark, ...]
    line: Floats
    degrees_of_freedom: float


@dataclass(frozen=True, slots=True)
class Answer:
    """Two propellers on one measure at the same value of an abscissa: the second minus the first, in per cent.

    ``flown`` is the setting at whose value they are held together, ``between`` the two of the other propeller.
    ``verdict`` and ``refused`` are words, one of them empty; ``level`` of the interval that the verdict has to clear.
    """

    first: str
    second: str
    measure: str
    title: str
    against: str
    value: float = math.nan
    flown: str = ""
    between: tuple[str, ...] = ()
    percent: float = math.nan
    percent_95: tuple[float, float] = (math.nan, math.nan)
    verdict: str = ""
    refused: str = ""
    deciding: bool = False
    level: float = 0.95


@dataclass(frozen=True, slots=True)
class Tilted:
    """Two propellers flown at one setting each: how much of a difference another setting could make, in per cent.

    ``as_set`` is the difference as flown, ``by_setting`` what setting the second to the engine speed of the first would
    change, ``left`` what would be left; each with its 95 % interval.
    """

    first: str
    second: str
    configurations: tuple[str, str]
    measure: str
    title: str
    against: str
    as_set: tuple[float, float, float]
    by_setting: tuple[float, float, float]
    left: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Turning:
    """The engine speed of one configuration in one measure: true airspeed [m/s], engine speed [rev/s], limit."""

    configuration: str
    measure: str
    title: str
    airspeed: float
    speed: float
    limit: float | None
    throttled: bool

    @property
    def in_hand(self) -> float:
        """Fraction of the limit that is left; NaN without a limit."""
        return math.nan if self.limit is None else 1.0 - self.speed / self.limit


@dataclass(frozen=True, slots=True, eq=False)
class Propellers:
    """What a campaign tells of its propellers.

    Attributes
    ----------
    settings : configurations of each propeller, finest number first
    curves, answers, tilted, turning : as their classes say
    refused : why nothing is told, a sentence; empty where something is
    units, dimensions : of each measure, as the pilot reads it
    """

    settings: dict[str, tuple[str, ...]]
    curves: tuple[Curve, ...] = ()
    answers: tuple[Answer, ...] = ()
    tilted: tuple[Tilted, ...] = ()
    turning: tuple[Turning, ...] = ()
    refused: str = ""
    units: dict[str, str] = field(default_factory=dict)
    dimensions: dict[str, str] = field(default_factory=dict)

    @property
    def limit(self) -> float | None:
        """Limit of the engine speed [rev/s]; None where none is entered or no engine speed was read."""
        return next((one.limit for one in self.turning), None)

    @property
    def told(self) -> list[Answer]:
        """The answers that are not refused, the deciding one first."""
        return sorted((one for one in self.answers if not one.refused), key=lambda one: not one.deciding)

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines: engine speeds in rpm, airspeeds in kt, results in the pilot's unit."""
        return {
            "settings": {name: list(keys) for name, keys in self.settings.items()},
            "refused": self.refused or None,
            "answers": [self._answer_to_json(one) for one in self.answers],
            "curves": [self._curve_to_json(one) for one in self.curves],
            "one_setting_each": [
                {
                    "first": one.first,
                    "second": one.second,
                    "measure": one.measure,
                    "against": one.against,
                    **{
                        name: {"percent": meant(value[0]), "percent_95": [meant(end) for end in sorted(value[1:])]}
                        for name, value in (("as_set", one.as_set), ("by_setting", one.by_setting), ("left", one.left))
                    },
                }
                for one in self.tilted
            ],
            "rpm": [
                {
                    "configuration": one.configuration,
                    "measure": one.measure,
                    "airspeed_kt": meant(float(units.from_si(one.airspeed, "kt", "speed"))),
                    "rpm": meant(60.0 * one.speed),
                    "in_hand_percent": meant(100.0 * one.in_hand),
                    "throttled": one.throttled,
                }
                for one in self.turning
            ],
        }

    def shown(self, name: str, logarithm: float) -> float:
        """A level of a measure or abscissa in the pilot's unit, an engine speed in rpm.

        Parameters
        ----------
        name : of the measure or abscissa
        logarithm : of the level in SI

        Returns
        -------
        float
            [1], in the pilot's unit.
        """
        if name in SHOWN_BY:
            return 60.0 * math.exp(logarithm)
        return float(units.from_si(math.exp(logarithm), self.units[name], self.dimensions[name]))

    def _answer_to_json(self, one: Answer) -> dict[str, object]:
        return {
            "first": one.first,
            "second": one.second,
            "measure": one.measure,
            "against": one.against,
            "at": meant(self.shown(one.against, math.log(one.value))) if not one.refused else None,
            "flown": one.flown or None,
            "between": list(one.between),
            "percent": meant(one.percent),
            "percent_95": [meant(end) for end in one.percent_95],
            "verdict": one.verdict or None,
            "deciding": one.deciding,
            "level": meant(one.level),
            "refused": one.refused or None,
        }

    def _curve_to_json(self, one: Curve) -> dict[str, object]:
        return {
            "propeller": one.propeller,
            "measure": one.measure,
            "against": one.against,
            "settings": [
                {
                    "configuration": mark.configuration,
                    "setting": mark.setting,
                    "x": meant(self.shown(one.against, mark.x)),
                    "y": meant(self.shown(one.measure, mark.y)),
                }
                for mark in one.marks
            ],
            "line": [
                {
                    "x": meant(self.shown(one.against, x)),
                    "y": meant(self.shown(one.measure, y)),
                    "y_95": [meant(self.shown(one.measure, y - half)), meant(self.shown(one.measure, y + half))],
                }
                for x, y, half in one.line
            ],
        }


def propellers(campaign: Campaign, comparisons: Sequence[Comparison]) -> Propellers | None:
    """Propellers on their lines; None where the campaign does not say which propeller its configurations are of.

    Parameters
    ----------
    campaign : the campaign
    comparisons : the comparisons of the campaign
    """
    settings = of_campaign(campaign)
    if not settings:
        return None
    withheld = next((one.withheld for one in comparisons if one.withheld), "")
    nothing = Propellers(
        settings,
        refused=withheld,
        units={one.measure: one.scale.unit for one in comparisons},
        dimensions={one.measure: one.scale.asked.measure.dimension for one in comparisons},
    )
    if withheld or not comparisons:
        return nothing
    flown = _Flown(campaign, comparisons)
    several = {name for name, keys in settings.items() if len(keys) > 1}
    curves, answers, tilted = [], [], []
    for measure in TOLD:
        for against in AGAINST:
            if measure not in flown.results or (measure, against) == (PULL, STATIC_RPM):
                continue
            curves += [curve for name, keys in settings.items() if (curve := flown.curve(name, keys, measure, against))]
            for first, second in combinations(settings, 2):
                if {first, second} & several:
                    answers.append(flown.answer(settings, first, second, measure, against))
    for first, second in combinations(settings, 2):
        if not {first, second} & several:
            tilted += flown.tilted(first, second, settings[first][0], settings[second][0])
    return replace(
        nothing,
        curves=tuple(curves),
        answers=tuple(flown.judged(answers)),
        tilted=tuple(tilted),
        turning=tuple(flown.turning()),
    )


def of_campaign(campaign: Campaign) -> dict[str, tuple[str, ...]]:
    """The configurations of each propeller by the number of their setting, the baseline's propeller first.

    Parameters
    ----------
    campaign : the campaign
    """
    keys = sorted(campaign.configurations, key=lambda key: key != campaign.baseline)
    found: dict[str, list[str]] = {}
    for key in keys:
        name = campaign.configurations[key].of
        if name:
            found.setdefault(name, []).append(key)

    def number(key: str) -> float:
        setting = campaign.configurations[key].setting
        return math.inf if setting is None else setting

    return {name: tuple(sorted(own, key=number)) for name, own in found.items()}


class _Flown:
    """The levels of a campaign, each computed once."""

    def __init__(self, campaign: Campaign, comparisons: Sequence[Comparison]) -> None:
        self.campaign = campaign
        self.by_measure = {
            name: [one for one in comparisons if one.measure == name]
            for name in dict.fromkeys(one.measure for one in comparisons)
        }
        found = {name: of_results(own) for name, own in self.by_measure.items() if name in (*TOLD, SPEED)}
        self.results = {name: levels for name, levels in found.items() if levels is not None}
        self.engine = {
            name: levels
            for name, own in self.by_measure.items()
            if name in STEADY and (levels := of_engine_speed(campaign, own)) is not None
        }
        self.throttled = {
            name: {key for key in campaign.configurations if throttled_runs(own[0].reduction.table, key)}
            for name, own in self.by_measure.items()
        }

    # -- what is read --------------------------------------------------------------------------------------------------

    def abscissa(self, against: str) -> Levels | None:
        """Levels of an abscissa, of the configurations that were at full throttle there."""
        shown_by = SHOWN_BY.get(against, against)
        levels = (self.engine if against in SHOWN_BY else self.results).get(shown_by)
        if levels is None:
            return None
        return levels.only([key for key in levels.keys if key not in self.throttled[shown_by]])

    def ordinate(self, measure: str) -> Levels | None:
        """Levels of a measure, of the configurations that were at full throttle in it."""
        levels = self.results.get(measure)
        return levels and levels.only([key for key in levels.keys if key not in self.throttled[measure]])

    def gap(self, i: str, j: str, measure: str) -> float:
        """Change of ln(level engine speed) between two settings; from what else shows it where that was not read."""
        for against, share in (
            (LEVEL_RPM, 1.0),
            (STATIC_RPM, TILT[STATIC_RPM][PULL].value / TILT[LEVEL_RPM][PULL].value),
        ):
            levels = self.abscissa(against)
            if levels is not None and {i, j} <= set(levels.keys):
                return share * float(levels.level[levels.at(j)] - levels.level[levels.at(i)])
        levels = self.results[measure]
        change = float(levels.level[levels.at(j)] - levels.level[levels.at(i)])
        return change / TILT[LEVEL_RPM][measure].value

    def _why_not(self, against: str, keys: Sequence[str]) -> str:
        """Why an abscissa does not tell these configurations, a sentence."""
        shown_by = SHOWN_BY.get(against, against)
        pulled = [key for key in keys if key in self.throttled.get(shown_by, ())]
        if pulled:
            return reasons.throttled(pulled, against)
        return reasons.not_read(keys, against)

    # -- curves --------------------------------------------------------------------------------------------------------

    def curve(self, name: str, keys: Sequence[str], measure: str, against: str) -> Curve | None:
        """One propeller's line; None where neither coordinate knows its settings."""
        x, y = self.abscissa(against), self.ordinate(measure)
        if x is None or y is None:
            return None
        own = [key for key in keys if key in x.keys and key in y.keys]
        if not own:
            return None
        var_x, var_y = (dict(zip(levels.keys, own_variances(levels.variance), strict=True)) for levels in (x, y))
        marks = tuple(
            Mark(
                key, self.campaign.configurations[key].setting, float(x.level[x.at(key)]), float(y.level[y.at(key)]),
                float(np.sqrt(var_x[key])), float(np.sqrt(var_y[key])),
            )
            for key in own
        )  # fmt: skip
        freedom = min(float(x.degrees_of_freedom.min()), float(y.degrees_of_freedom.min()))
        wide = float(t_quantile(0.975, freedom))
        pieces = [
            self._piece(a, b, self.gap(a.configuration, b.configuration, measure), measure, against, wide)
            for a, b in pairwise(marks)
        ]
        line = np.vstack(pieces) if pieces else np.empty((0, 3))
        return Curve(name, measure, against, marks, line, freedom)

    def _piece(self, a: Mark, b: Mark, gap: float, measure: str, against: str, wide: float) -> Floats:
        t = DRAWN
        bow = 4.0 * t * (1.0 - t) * gap**2
        x = a.x + t * (b.x - a.x) + bow * BEND[against].value
        y = a.y + t * (b.y - a.y) + bow * BEND[measure].value
        slope = (b.y - a.y) / (b.x - a.x) if abs(b.x - a.x) > 1e-9 else 0.0
        share = np.stack([1.0 - t, t]) ** 2
        of_y = share.T @ np.square([a.y_known, b.y_known]) + (bow * BEND[measure].uncertainty) ** 2
        of_x = share.T @ np.square([a.x_known, b.x_known]) + (bow * BEND[against].uncertainty) ** 2
        return np.column_stack([x, y, wide * np.sqrt(of_y + slope**2 * of_x)])

    # -- propellers on their lines -------------------------------------------------------------------------------------

    def answer(
        self, settings: dict[str, tuple[str, ...]], first: str, second: str, measure: str, against: str
    ) -> Answer:
        """Two propellers at one value of an abscissa, or why they are not compared there."""
        asked = self.campaign.asked[measure]
        nothing = Answer(first, second, measure, asked.measure.title, against)
        x, y = self.abscissa(against), self.ordinate(measure)
        both = (*settings[first], *settings[second])
        if x is None:
            return replace(nothing, refused=self._why_not(against, both))
        if y is None:
            return replace(nothing, refused=reasons.no_interval(asked.measure.title))
        known = {name: [key for key in settings[name] if key in x.keys and key in y.keys] for name in (first, second)}
        absent = [key for key in both if key not in known[first] and key not in known[second]]
        if not all(known.values()) or max(len(own) for own in known.values()) < 2:
            return replace(nothing, refused=self._why_not(against, absent))
        for name, own in known.items():
            if not _one_way(x, own):
                return replace(nothing, refused=reasons.turns_round(name, against))
        tried = [
            (point, pair, self.apart(x, y, point, pair, measure, against))
            for name, other in ((first, second), (second, first))
            for point in known[name]
            for pair in pairwise(known[other])
        ]
        point, pair, apart = min(tried, key=lambda one: (max(one[2].beyond, 0.0), abs(one[2].place - 0.5)))
        if not apart.overlaps:
            return replace(nothing, refused=reasons.no_overlap(first, second, against))
        sign = -1.0 if point in known[first] else 1.0
        ends = sorted(sign * end for end in apart.interval(0.95))
        return replace(
            nothing,
            value=math.exp(float(x.level[x.at(point)])),
            flown=point,
            between=pair,
            percent=_percent(sign * apart.difference),
            percent_95=(_percent(ends[0]), _percent(ends[1])),
            verdict=verdict.WORDS[verdict.NOT_ENOUGH],
        )

    def apart(self, x: Levels, y: Levels, point: str, pair: tuple[str, str], measure: str, against: str) -> Apart:
        """One setting over the line between two others."""
        gap = self.gap(*pair, measure)
        coordinates = []
        for levels, name in ((x, against), (y, measure)):
            p, i, j = (levels.at(key) for key in (point, *pair))
            variance, freedom = levels.variance, levels.degrees_of_freedom
            coordinates.append(
                Coordinate(
                    float(levels.level[p]),
                    float(levels.level[i]),
                    float(levels.level[j]),
                    (float(variance[p, i]), float(variance[p, j]), float(variance[i, j])),
                    (float(levels.worst[p, i]), float(levels.worst[p, j])),
                    float(min(freedom[p, i], freedom[p, j], freedom[i, j])),
                    BEND[name].value * gap**2,
                    BEND[name].uncertainty * gap**2,
                )
            )
        shared = float(np.mean([correlation(x, y, {point, other}) for other in pair]))
        return Apart(coordinates[0], coordinates[1], shared)

    # -- verdicts ------------------------------------------------------------------------------------------------------

    def judged(self, answers: Sequence[Answer]) -> list[Answer]:
        """The answers with their verdicts.

        Of each pair of propellers the deciding measure at the first abscissa that tells it decides, by Bonferroni's
        bound over pairs; all others together hold the same level.
        """
        told = [one for one in answers if not one.refused]
        deciding: dict[tuple[str, str], Answer] = {}
        for one in sorted(told, key=lambda each: not self.campaign.asked[each.measure].primary):
            deciding.setdefault((one.first, one.second), one)
        first = set(map(id, deciding.values()))
        others = len(told) - len(first)
        found = []
        for one in answers:
            if one.refused:
                found.append(one)
                continue
            decides = id(one) in first
            found.append(self._verdict(replace(one, deciding=decides), len(first) if decides else others))
        return found

    def _verdict(self, one: Answer, count: int) -> Answer:
        asked = self.campaign.asked[one.measure]
        look: Look | None = self.by_measure[one.measure][0].look
        sure, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
        level = 1.0 - (1.0 - sure) / count
        x, y = self.abscissa(one.against), self.ordinate(one.measure)
        if x is None or y is None:
            raise ValueError("an answer that is told has both coordinates")
        apart = self.apart(x, y, one.flown, (one.between[0], one.between[1]), one.measure, one.against)
        sign = -1.0 if self.campaign.configurations[one.flown].of == one.first else 1.0
        outer, inner = (
            tuple(np.array(end) for end in sorted(sign * end for end in apart.interval(each)))
            for each in (level, 1.0 - (1.0 - alike) / count)
        )
        code = int(verdict.judge((outer[0], outer[1]), (inner[0], inner[1]), *_margins(asked, y), asked.better))
        return replace(one, verdict=verdict.words(code, one.first, one.second), level=level)

    # -- one setting each ----------------------------------------------------------------------------------------------

    def tilted(self, first: str, second: str, a: str, b: str) -> list[Tilted]:
        """How much of each difference another setting could make; nothing where no engine speed tells."""
        for against in (LEVEL_RPM, STATIC_RPM):
            x = self.abscissa(against)
            if x is not None and {a, b} <= set(x.keys):
                break
        else:
            return []
        found = []
        for measure in (*TOLD, SPEED):
            y = self.ordinate(measure)
            if y is None or not {a, b} <= set(y.keys):
                continue
            tilt = TILT[against][measure]
            (more, more_known, more_df, more_worst), (d, known, df, worst) = (
                _difference(levels, a, b) for levels in (x, y)
            )
            by = -tilt.value * more
            by_known = math.hypot(tilt.uncertainty * more, tilt.value * more_known)
            by_worst = abs(tilt.value) * more_worst
            wide = float(t_quantile(0.975, min(more_df, df)))
            # Errors of engine speed and result may point the same way: the sum of both is the most they do.
            left_known = math.hypot(tilt.uncertainty * more, known + abs(tilt.value) * more_known)
            found.append(
                Tilted(
                    first, second, (a, b), measure, self.campaign.asked[measure].measure.title, against,
                    _per_cents(d, wide * known + worst),
                    _per_cents(by, wide * by_known + by_worst),
                    _per_cents(d + by, wide * left_known + worst + by_worst),
                )
            )  # fmt: skip
        return found

    # -- engine speed against airspeed ---------------------------------------------------------------------------------

    def turning(self) -> list[Turning]:
        """The engine speed of every configuration in every measure flown at one airspeed."""
        found = []
        for name in STEADY:
            levels = self.engine.get(name)
            if levels is None:
                continue
            title = self.campaign.asked[name].measure.title
            for key, level in zip(levels.keys, levels.level, strict=True):
                airspeed = self._airspeed(name, key)
                if airspeed is not None:
                    found.append(
                        Turning(
                            key, name, title, airspeed, math.exp(float(level)), self.campaign.engine.speed_limit,
                            key in self.throttled[name],
                        )
                    )  # fmt: skip
        return found

    def _airspeed(self, name: str, key: str) -> float | None:
        if name == SPEED:
            levels = self.results.get(name)
            return math.exp(float(levels.level[levels.at(key)])) if levels and key in levels.keys else None
        one = self.by_measure[name][0]
        view = one.scale.asked.measure.thrust
        if view is None or any(needed not in one.reduction.sky for needed in view.needs):
            return 0.0 if name == PULL else None
        runs = {column: float(np.mean(values[one.used])) for column, values in one.reduction.runs.items()}
        sight = view.see(Vantage(one.reduction.sky, runs, one.scale.level, known_of(self.campaign)))
        return sight.airspeed if isinstance(sight, Sight) else None


def _one_way(levels: Levels, keys: Sequence[str]) -> bool:
    """Whether the levels rise or fall throughout with the setting, as far as their errors tell."""
    ways = set()
    for i, j in pairwise(keys):
        change, known, df, worst = _difference(levels, i, j)
        if abs(change) > float(t_quantile(0.975, df)) * known + worst:
            ways.add(change > 0)
    return len(ways) < 2


def _difference(levels: Levels, i: str, j: str) -> tuple[float, float, float, float]:
    """ln of j over i, its standard uncertainty, degrees of freedom and limit of hidden drift."""
    a, b = levels.at(i), levels.at(j)
    return (
        float(levels.level[b] - levels.level[a]),
        float(np.sqrt(levels.variance[a, b])),
        float(levels.degrees_of_freedom[a, b]),
        float(levels.worst[a, b]),
    )


def _margins(asked: MeasureSettings, levels: Levels) -> tuple[float, float]:
    low, high = verdict.margins(
        asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, math.exp(float(levels.level[0]))
    )
    return float(low), float(high)


def _percent(logarithm: float) -> float:
    return 100.0 * math.expm1(logarithm)


def _per_cents(logarithm: float, half: float) -> tuple[float, float, float]:
    return _percent(logarithm), _percent(logarithm - half), _percent(logarithm + half)
