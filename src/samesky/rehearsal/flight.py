"""What would the whole of a campaign come to? Simulate, read, prepare, reduce, compare and judge, many at once.

The readings are put into the columns that a pilot writes and take the campaign's own way from there: the same
preparation, the same common sky (each campaign's own), the same reduction, the same recognised order, estimate and
verdict. One thing is shared by all campaigns of a scene: the effect of those error sources that are not campaign-wide
is taken at the mean readings, where a campaign by itself takes it at its own (a few per cent of its width). So is the
airspeed at which a measure sees the excess thrust: the mean wind counts, where a campaign has its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from samesky.aeroplane.loading import Loading
from samesky.campaign.derived.air_reading import aloft, wind_share
from samesky.campaign.derived.prepare import ballast, elevations, part_change, prepare
from samesky.campaign.model.campaign import ANSWERS, Campaign, RunTable
from samesky.inference import verdict
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.comparison import flown_order, stated_parts
from samesky.inference.design import Design, recognise
from samesky.inference.estimate import Estimate, estimate
from samesky.inference.looks import Look
from samesky.inference.result import Scale
from samesky.inference.together.seen import Seen, in_one_air, refused, sight_of
from samesky.inference.together.told import ends, estimate_by_all, judge_by_all
from samesky.inference.together.witness import Witness, campaign_wide
from samesky.inference.uncertainty import t_quantile, welch_satterthwaite
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.measures.shape import Runs, Sky, Step
from samesky.reduction.reduction import own_sky, reduce_table, sources_of
from samesky.rehearsal.looks import Stage, stages
from samesky.rehearsal.scene import Scene, qnh_of
from samesky.rehearsal.script import rows_of
from samesky.simulator.campaign_sim import result_at, simulate
from samesky.spellings import is_calibrated

if TYPE_CHECKING:
    from samesky.arrays import Numbers

#: Campaigns from which the mean readings are taken, and the seed of these.
_TYPICAL, _SEED = 200, 20_260_101


@dataclass(frozen=True, slots=True, eq=False)
class Ready:
    """A measure ready to be compared again and again.

    ``rows`` (k,) of the script that are flown by then, whose limits the planned ``look`` has (None: 95 % and 90 %);
    ``earlier``: the same at each look before, None where this measure has runs of one configuration only.
    ``seen``: what it sees of the excess thrust at the mean readings, None where it sees nothing.
    """

    table: RunTable
    design: Design
    parts: tuple[UncertaintyComponent, ...]
    rows: np.ndarray
    look: Look | None = None
    earlier: tuple[Ready | None, ...] = ()
    seen: Seen | None = None

    def flown(self, columns: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
        """Of columns (..., n) the runs flown by then (..., k)."""
        return {name: values[..., self.rows] for name, values in columns.items()}


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What campaigns came to in one measure; arrays (campaigns,).

    ``code`` of the verdict; ``difference`` and ``half`` width of the 95 % interval on the scale of the comparison (NaN
    where there is none); ``covers`` the true difference; ``raw``: difference of the plain averages [SI], positive in
    favour of the other one; ``claims``: Welch's t of the raw results is sure of neither (0), the baseline (1), the
    other (2). ``runs`` flown, and ``ended``: at which of the planned looks, counted from 0. ``by_all``: the
    same told by all measures, None where they do not tell it.
    """

    code: np.ndarray
    difference: np.ndarray
    half: np.ndarray
    covers: np.ndarray
    raw: np.ndarray
    claims: np.ndarray
    runs: np.ndarray
    ended: np.ndarray
    by_all: Outcome | None = None


#: Standard uncertainty, as a share of the result, of a measure that says nothing (chosen: far above any).
NOTHING = 10.0
#: What is counted over campaigns.
COUNTED = tuple(one.name for one in fields(Outcome) if one.name != "by_all")


def ready(scene: Scene) -> dict[str, Ready]:
    """Recognised order and stated sources of every measure of a scene, at the end and at each planned look before."""
    script = scene.script
    typical = written(scene, _TYPICAL, np.random.default_rng(_SEED))
    mean = {name: {key: values.mean(axis=0) for key, values in columns.items()} for name, columns in typical.items()}
    seen = [_at_stage(scene, mean, stage) for stage in stages(script)]
    found = {}
    for name in typical:
        last = seen[-1][name]
        if last is None:
            raise ValueError(f"{name} has runs of one configuration only")
        found[name] = replace(last, earlier=tuple(one[name] for one in seen[:-1]))
    return found


def _at_stage(scene: Scene, mean: Mapping[str, Mapping[str, np.ndarray]], stage: Stage) -> dict[str, Ready | None]:
    """Every measure at one look, with what it sees of the excess thrust in the air of the ground."""
    found = {name: _ready(scene, name, own, stage) for name, own in mean.items()}
    there = on_one_ground({name: one for name, one in found.items() if one is not None})
    return {name: there.get(name) for name in found}


def on_one_ground(found: Mapping[str, Ready]) -> dict[str, Ready]:
    """The measures with the forces that they see brought to the air of the ground."""
    in_air = {one.measure: one for one in in_one_air([one.seen for one in found.values() if one.seen is not None])}
    return {name: replace(one, seen=in_air.get(name)) for name, one in found.items()}


def _ready(scene: Scene, name: str, mean: Mapping[str, np.ndarray], stage: Stage) -> Ready | None:
    script, rows = scene.script, stage.rows[name]
    table = rows_of(script.tables[name], rows)
    if np.unique(table.configuration).size < 2:
        return None
    flown = replace(table, columns={column: values[rows] for column, values in mean.items()})
    return replace(ready_of(script.campaign, flown, script.other, stage.look), table=table, rows=rows)


def ready_of(campaign: Campaign, flown: RunTable, other: str, look: Look | None = None) -> Ready:
    """Order, sources and sight of a measure whose table holds mean readings; its own air is not yet the ground's."""
    used = np.ones(len(flown.rows), dtype=bool)
    reduction = reduce_table(campaign, flown)
    design = recognise(flown_order(campaign, flown, used, other))
    pair, seen = (campaign.baseline, other), None
    if not refused(campaign, *pair):
        with np.errstate(invalid="ignore", divide="ignore"):
            y = flown.measure.to_scale(reduction.value)
        low = float(y[design.order.configuration == 0].mean())
        scale = Scale(campaign.asked[flown.measure.name], float(np.exp(low)) if flown.measure.ratio else low)
        sighted = sight_of(campaign, reduction, used, pair, scale, 0.0)
        seen = None if isinstance(sighted, str) else sighted
    return Ready(flown, design, stated_parts(campaign, reduction, used), np.arange(used.size), look, seen=seen)


def written(scene: Scene, campaigns: int, rng: np.random.Generator) -> dict[str, dict[str, np.ndarray]]:
    """The columns that the pilot would write, by measure and column, (campaigns, n) [SI], before rounding."""
    flown = simulate(scene.scenario, campaigns, rng)
    return {name: _as_written(scene, name, readings) for name, readings in flown.columns.items()}


def _as_written(scene: Scene, name: str, readings: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    table, campaign = scene.script.tables[name], scene.script.campaign
    shape = next(iter(readings.values())).shape
    found = {}
    for column, expected in table.columns.items():
        if column == "qnh":
            values = qnh_of(scene.script, name, readings["pressure"]) if "pressure" in readings else expected
        elif column == "fuel":
            # The loading follows from the fuel, so an error of the weight is written as one of the fuel.
            own = campaign.loading
            values = readings["fuel"] if own is None else _fuel(campaign, own, table, readings["weight"])
        elif column == "gust":
            values = np.maximum(readings["gust"], 0.0)
        else:
            values = readings.get(column, expected)
        if column == "headwind":
            values = values / wind_share(campaign.air_reading)
        elif column == "oat" and "from" in table.columns:
            values = values - aloft(campaign.air_reading, table.columns, elevations(campaign, table))
        if column in INDICATED and campaign.airspeed_system is not None and not is_calibrated(table.units.get(column)):
            # What the indicator shows, so that the campaign's own correction brings it back.
            values = campaign.airspeed_system.uncorrected(values)
        # A cell that is blank in the files stays blank.
        found[column] = np.where(np.isnan(expected), np.nan, np.broadcast_to(values, shape))
    return found


def _fuel(campaign: Campaign, loading: Loading, table: RunTable, weight: np.ndarray) -> np.ndarray:
    without = loading.mass_at(0.0) + part_change(campaign, table)[0] + ballast(table)
    return weight - without


def brought_together(scene: Scene, table: RunTable, columns: Mapping[str, np.ndarray]) -> tuple[Runs, Sky, list[Step]]:
    """Prepared columns, each campaign's own common sky and the steps of the reduction, all (campaigns, n)."""
    campaign = scene.script.campaign
    table = replace(table, columns=columns)
    runs = prepare(campaign, table)
    common: dict[str, Numbers] = {}
    for condition in table.measure.conditions:
        if condition in campaign.reference:
            common[condition] = campaign.reference[condition]
        elif condition in runs and not np.isnan(runs[condition]).any():
            common[condition] = np.mean(runs[condition], axis=-1, keepdims=True)
    sky = own_sky(campaign, table, common, np.ones(len(table.rows), dtype=bool))
    return runs, sky, reduce_runs(table.measure, runs, sky)


def _witness(scene: Scene, name: str, one: Ready, runs: Runs, sky: Sky, steps: list[Step]) -> Witness:
    """What the measure's runs say in each campaign.

    Errors of the whole campaign act as at each campaign's own readings: they answer to how unequal the conditions of
    the two configurations came out, which is chance.
    """
    wide = [source for source in sources_of(scene.script.campaign, one.table) if source.scope == "campaign"]
    shape = next(iter(runs.values())).shape
    effects = [
        (source, np.broadcast_to(size, shape))
        for source, size in sensitivities(one.table.measure, runs, sky, wide)
        if source.scope == "campaign"
    ]
    parts = tuple(part for part in one.parts if part.scope != "campaign") + tuple(
        UncertaintyComponent(source.name, source.scope, size, source.degrees_of_freedom) for source, size in effects
    )
    y = one.table.measure.to_scale(steps[-1].value)
    found = estimate(one.design, y, parts)
    better = scene.script.campaign.asked[name].better
    return Witness(better, one.design, found, y, campaign_wide(effects, found.weights))


def true_on_scale(scene: Scene, name: str) -> float:
    """The true difference of the other configuration at the common sky, on the scale of the comparison."""
    script = scene.script
    measure, sky = script.tables[name].measure, scene.skies[name]
    ends = []
    for key in (script.campaign.baseline, script.other):
        own = {k: v for k, v in script.campaign.configurations[key].own_speeds.items() if k in sky}
        result = result_at(scene.scenario, measure, {**sky, **own}, scene.scenario.effects[key])
        ends.append(float(measure.to_scale(np.array(result))))
    return ends[1] - ends[0]


def fly(scene: Scene, prepared: Mapping[str, Ready], campaigns: int, rng: np.random.Generator) -> dict[str, Outcome]:
    """Fly and judge ``campaigns`` campaigns of a scene; outcomes by measure.

    Each campaign ends at the first planned look at which the deciding measure is settled, for all measures.
    """
    columns = written(scene, campaigns, rng)
    count = 1 + len(prepared[scene.script.primary].earlier)
    looks = [
        {name: (*one.earlier, one)[number] for name, one in prepared.items() if name in columns}
        for number in range(count)
    ]
    seen = [_at_look(scene, look, columns) for look in looks]
    asked = scene.script.campaign.asked[scene.script.primary]
    settled = np.stack([_deciding(asked.answer_from, look[scene.script.primary]) for look in seen])
    settled[-1] = True
    ended = settled.argmax(axis=0)
    return {name: _as_ended([look[name] for look in seen], ended) for name in columns}


def _deciding(answer_from: str, one: Outcome) -> np.ndarray:
    """Whether each campaign (campaigns,) is settled by the answer that decides."""
    by_all = None if answer_from == ANSWERS[0] else one.by_all
    return (one if by_all is None else by_all).code != verdict.NOT_ENOUGH


def _at_look(
    scene: Scene, look: Mapping[str, Ready | None], columns: Mapping[str, Mapping[str, np.ndarray]]
) -> dict[str, Outcome]:
    """What every measure says at one look, by its own runs and by all measures."""
    found, views = {}, []
    for name, one in look.items():
        found[name], seen = _judge(scene, name, one, columns[name])
        views += [] if seen is None else [seen]
    views.sort(key=lambda each: each.sight.airspeed)
    for each in views:
        own = found[each.measure]
        found[each.measure] = replace(own, by_all=_by_all(scene, look[each.measure], own, views, each))
    return found


def _by_all(scene: Scene, one: Ready | None, own: Outcome, views: list[Seen], told: Seen) -> Outcome | None:
    """One measure by all of them; None where they see fewer than two airspeeds."""
    try:
        estimated = estimate_by_all(views, told)
    except ValueError:
        return None
    code = judge_by_all(told, estimated, None if one is None else one.look)
    low, high = ends(told, estimated.interval(0.95))
    truth = true_on_scale(scene, told.measure)
    covers = (low <= truth) & (truth <= high)
    return replace(
        own, code=code, difference=told.on_scale(estimated.difference), half=0.5 * (high - low), covers=covers
    )


def _as_ended(outcomes: list[Outcome], ended: np.ndarray) -> Outcome:
    """What stood at the look that ended each campaign (campaigns,)."""
    every = {name: np.stack([getattr(outcome, name) for outcome in outcomes]) for name in COUNTED}
    chosen = {name: values[ended, np.arange(ended.size)] for name, values in every.items()}
    by_all = None
    if outcomes[-1].by_all is not None:
        by_all = _as_ended([one.by_all or _nothing(ended.size) for one in outcomes], ended)
    return Outcome(**{**chosen, "ended": ended, "by_all": by_all})


def _nothing(campaigns: int) -> Outcome:
    """Campaigns in which a measure has no answer yet."""
    none, unknown = np.zeros(campaigns, dtype=int), np.full(campaigns, np.nan)
    code = np.full(campaigns, verdict.NOT_ENOUGH)
    return Outcome(code, unknown, unknown, none.astype(bool), unknown, none, none, none)


def judged(scene: Scene, name: str, one: Ready, columns: Mapping[str, np.ndarray]) -> tuple[Estimate, np.ndarray]:
    """Estimate and verdict code of one measure's columns (campaigns, n), by the limits of its look."""
    heard = hear(scene, name, one, columns)[0]
    return heard.estimate, _code(scene, name, one, heard)


def _code(scene: Scene, name: str, one: Ready, heard: Witness) -> np.ndarray:
    """Codes of the verdict (campaigns,) by the measure's own runs."""
    measure, asked, found = one.table.measure, scene.script.campaign.asked[name], heard.estimate
    level = _level(one, heard)
    margins = verdict.margins(asked.smallest, asked.smallest_is_fraction, measure.ratio, level)
    sure, alike = (one.look.level, one.look.equivalence_level) if one.look else (0.95, 0.90)
    return verdict.judge(found.interval(sure), found.equivalence_interval(alike), *margins, asked.better)


def _level(one: Ready, heard: Witness) -> np.ndarray:
    """The baseline's result (campaigns,) [SI]."""
    low = heard.values.mean(axis=-1) - one.design.order.configuration.mean() * heard.estimate.difference
    return np.exp(low) if one.table.measure.ratio else low


def _judge(
    scene: Scene, name: str, one: Ready | None, columns: Mapping[str, np.ndarray]
) -> tuple[Outcome, Seen | None]:
    """What a measure's own runs come to, and what they see of the excess thrust."""
    campaigns = len(next(iter(columns.values())))
    if one is None:
        return _nothing(campaigns), None
    heard, seen, steps = hear(scene, name, one, columns)
    found = heard.estimate
    low, high = found.interval(0.95)
    truth = true_on_scale(scene, name)
    raw, claims = _naive(steps[0].value, one.design.order.configuration, scene, name)
    covers = (low <= truth) & (truth <= high)
    flown, none = np.full(campaigns, one.rows.size), np.zeros(campaigns, dtype=int)
    code = _code(scene, name, one, heard)
    return Outcome(code, found.difference, 0.5 * (high - low), covers, raw, claims, flown, none), seen


def hear(
    scene: Scene, name: str, one: Ready, columns: Mapping[str, np.ndarray]
) -> tuple[Witness, Seen | None, list[Step]]:
    """What a measure's own runs say, what they see of the excess thrust (None: nothing), and the reduction's steps."""
    # A run that gives no number leaves its campaign without an interval.
    with np.errstate(invalid="ignore", divide="ignore"):
        runs, sky, steps = brought_together(scene, one.table, one.flown(columns))
        heard = _witness(scene, name, one, runs, sky, steps)
    sure = np.isfinite(heard.estimate.standard_uncertainty)
    if one.seen is None or not np.any(sure):
        return heard, None, steps
    baseline_runs = int((one.design.order.configuration == 0).sum())
    level = _level(one, heard)
    of_scatter = np.asarray(heard.estimate.scatter) / baseline_runs**0.5
    known = of_scatter / (1.0 if one.table.measure.ratio else np.abs(level))
    if not np.all(sure):
        level, known = np.where(sure, level, one.seen.scale.level), np.where(sure, known, 1.0)
    told = replace(heard, estimate=_or_nothing(heard.estimate, sure, one.table.measure.ratio, level))
    return heard, replace(one.seen, witness=told, level=level, level_known=known), steps


def _or_nothing(found: Estimate, sure: np.ndarray, ratio: bool, level: np.ndarray) -> Estimate:
    """The estimate, where it has no interval (a run gave no number) one that says nothing beside the other measures."""
    if np.all(sure):
        return found
    nothing = NOTHING * (1.0 if ratio else np.abs(level))
    instead = {"difference": 0.0, "standard_uncertainty": nothing, "degrees_of_freedom": 1.0, "worst_drift": 0.0}
    parts: dict[str, Any] = {name: np.where(sure, getattr(found, name), value) for name, value in instead.items()}
    return replace(found, **parts)


def _naive(raw: np.ndarray, configuration: np.ndarray, scene: Scene, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Difference of the plain averages, and whom Welch's t calls better: 0 nobody, 1 the baseline, 2 the other."""
    sides = [raw[:, configuration == key] for key in (0, 1)]
    difference = sides[1].mean(axis=1) - sides[0].mean(axis=1)
    sign = -1.0 if scene.script.campaign.asked[name].better == "smaller" else 1.0
    gained, counts = sign * difference, np.array([side.shape[1] for side in sides])
    if counts.min() < 2:
        return gained, np.zeros(len(raw), dtype=int)
    errors = np.stack([side.std(axis=1, ddof=1) for side in sides], axis=-1) / np.sqrt(counts)
    standard, df = welch_satterthwaite(errors, counts - 1)
    clear = np.abs(difference) > t_quantile(0.975, df) * standard
    return gained, np.where(clear, np.where(gained > 0, 2, 1), 0)
