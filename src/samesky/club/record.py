"""How far do one's own repeats scatter, over all campaigns that flew the measure?

Of every campaign the corrected runs, blind to configuration, fitting and drift, give a mean square with its degrees of
freedom, as the comparison itself has it for single runs. Over campaigns these are pooled,
``s^2 = sum(nu_i s_i^2) / sum(nu_i)``, measure by measure, never one measure with another, and only where they agree:
Bartlett's test (Proc. R. Soc. A 160 (1937) 268; NIST/SEMATECH e-Handbook, 1.3.5.7), and for each campaign the variance
ratio to all others with Bonferroni's bound, which names the one that stands out. A measure whose campaigns differ is
not recorded: a mean of unlike scatters is nobody's repeat, and its degrees of freedom would promise too much.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import one_line
from samesky.campaign.model.campaign import Campaign, MeasureSettings
from samesky.campaign.reading.files import RECORD, is_record
from samesky.campaign.reading.read import read
from samesky.campaign.tables.write import write_bytes
from samesky.checks.check import check
from samesky.club import catalogue as say
from samesky.club.answers import Unreadable
from samesky.inference.comparison import flown_order
from samesky.inference.design import within_blocks
from samesky.inference.linear import complement
from samesky.inference.result import Scale
from samesky.reduction.reduction import Reduction, reduce_table

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Probability below which campaigns are said to scatter unlike (chosen, as everywhere here).
UNLIKE = 0.05
#: Name of the file where none is given.
USUAL = f"my_{RECORD}"


@dataclass(frozen=True, slots=True, eq=False)
class Scatter:
    """Scatter of single runs of one measure in one campaign: standard deviation on the scale of the comparison
    (logarithm for a ratio, else SI), degrees of freedom, last day flown; ``runs`` tells the same flying twice.
    """

    campaign: str
    asked: MeasureSettings
    scatter: float
    degrees_of_freedom: int
    last: date | None
    runs: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """One measure over the campaigns: pooled ``scatter``, its degrees of freedom, Bartlett's p (NaN with one campaign),
    and the campaigns that stand out; ``alike`` where it may be recorded.
    """

    measure: str
    title: str
    size: str
    scatter: float
    degrees_of_freedom: int
    homogeneity_p: float
    campaigns: tuple[Scatter, ...]
    standing_out: tuple[str, ...]

    @property
    def alike(self) -> bool:
        """Whether the campaigns scatter alike, as far as they can tell."""
        return not self.homogeneity_p < UNLIKE and not self.standing_out

    @property
    def until(self) -> date | None:
        """The last day flown, None where a campaign has none."""
        days = [one.last for one in self.campaigns]
        return max((day for day in days if day is not None), default=None) if all(days) else None


@dataclass(frozen=True, slots=True, eq=False)
class RepeatRecord:
    """What is known of one's own repeats, by measure in the order of the first campaign, and what could not be used."""

    measures: tuple[Recorded, ...]
    unreadable: tuple[Unreadable, ...]
    twice: tuple[str, ...]


def record(folders: Sequence[Path]) -> RepeatRecord:
    """Pool the scatter of corrected repeats over one's own campaigns, measure by measure.

    Parameters
    ----------
    folders
        Campaign folders, one at least.

    Raises
    ------
    CampaignError
        Where no campaign shows the scatter of repeats of any measure; it says why for each.
    """
    unreadable: list[Unreadable] = []
    twice: list[str] = []
    found: dict[str, list[Scatter]] = {}
    for folder in folders:
        one = _scatters(folder)
        if isinstance(one, Unreadable):
            unreadable.append(one)
            continue
        for name, scatter in one.items():
            known = found.setdefault(name, [])
            if any(scatter.runs == other.runs for other in known):
                twice.append(f"{folder}: its {scatter.asked.measure.title} has the same runs as another folder's.")
            else:
                known.append(scatter)
    if not found:
        reasons = " ".join(f"{one.folder}: {one.why}" for one in unreadable[:4])
        raise cannot("record", say.RECORD_NOTHING(campaigns=len(folders), reasons=reasons))
    return RepeatRecord(tuple(_pooled(name, some) for name, some in found.items()), tuple(unreadable), tuple(twice))


def _scatters(folder: Path) -> dict[str, Scatter] | Unreadable:
    try:
        campaign = read(folder)
        errors = [one for one in check(campaign) if one.kind == "error"]
        if errors:
            return Unreadable(str(folder), f"{len(errors)} to mend, first: {errors[0].sentence()}")
        found = {name: _of_runs(folder, campaign, reduce_table(campaign, one)) for name, one in campaign.tables.items()}
    except CampaignError as error:
        return Unreadable(str(folder), str(error))
    shown = {name: one for name, one in found.items() if one is not None}
    return shown or Unreadable(str(folder), "nothing is repeated in it that could show scatter.")


def _of_runs(folder: Path, campaign: Campaign, reduction: Reduction) -> Scatter | None:
    """The scatter of single runs of one table, None where nothing is repeated."""
    table, measure = reduction.table, reduction.table.measure
    with np.errstate(invalid="ignore", divide="ignore"):
        y = measure.to_scale(reduction.value)
    used = table.included & np.isfinite(y)
    keys = sorted(set(table.configuration[used]))
    if not keys:
        return None
    baseline = campaign.baseline if campaign.baseline in keys else keys[0]
    other = next((key for key in keys if key != baseline), baseline)
    order = flown_order(campaign, table, used, other, baseline)
    rows, _ = within_blocks(order)
    if order.has_return and not order.fitted_anew:
        rows = complement(order.mean_model(np.arange(order.runs), np.unique(order.day)))
    square = float(np.square(rows @ y[used]).sum())
    if not rows.shape[0] or not square > 0:
        return None
    days = sorted(filter(None, table.text.get("date", [])))
    return Scatter(
        campaign=one_line(campaign.title) or str(folder),
        asked=campaign.asked[measure.name],
        scatter=math.sqrt(square / rows.shape[0]),
        degrees_of_freedom=rows.shape[0],
        last=date.fromisoformat(days[-1]) if days else campaign.day,
        runs=tuple(float(f"{value:.9g}") for value in reduction.steps[0].value[used]),
    )


def pooled_variance(variances: Floats, degrees_of_freedom: Floats) -> tuple[float, int]:
    """Pooled variance and its degrees of freedom.

    Parameters
    ----------
    variances : of each campaign (k,), in the square of any unit
    degrees_of_freedom : of each (k,)
    """
    df = np.asarray(degrees_of_freedom, dtype=float)
    return float(df @ np.asarray(variances, dtype=float) / df.sum()), int(df.sum())


def bartlett_p(variances: Floats, degrees_of_freedom: Floats) -> float:
    """Probability of variances so unlike if all were one, by Bartlett's test; NaN with one.

    Parameters
    ----------
    variances : of each campaign (k,), in the square of any unit
    degrees_of_freedom : of each (k,)
    """
    v, df = np.asarray(variances, dtype=float), np.asarray(degrees_of_freedom, dtype=float)
    if v.size < 2:
        return math.nan
    pooled, total = pooled_variance(v, df)
    statistic = total * math.log(pooled) - float(df @ np.log(v))
    shrunk = 1.0 + (float((1.0 / df).sum()) - 1.0 / total) / (3.0 * (v.size - 1))
    return float(special.chdtrc(v.size - 1, max(statistic / shrunk, 0.0)))


def standing_out(variances: Floats, degrees_of_freedom: Floats) -> list[int]:
    """Which campaigns scatter unlike all others together: two-sided F, Bonferroni's bound over the campaigns.

    Parameters
    ----------
    variances : of each campaign (k,), in the square of any unit
    degrees_of_freedom : of each (k,)
    """
    v, df = np.asarray(variances, dtype=float), np.asarray(degrees_of_freedom, dtype=float)
    found: list[int] = []
    kept = np.ones(v.size, dtype=bool)
    # The farthest first, then what is left without it: one gross scatter would make all others look small.
    while kept.sum() > 2:
        p = np.ones(v.size)
        for place in np.flatnonzero(kept):
            rest = kept & (np.arange(v.size) != place)
            others, freedom = pooled_variance(v[rest], df[rest])
            ratio = v[place] / others
            p[place] = 2.0 * min(special.fdtrc(df[place], freedom, ratio), special.fdtr(df[place], freedom, ratio))
        farthest = int(p.argmin())
        if p[farthest] * v.size >= UNLIKE:
            break
        found.append(farthest)
        kept[farthest] = False
    return found


def _pooled(name: str, some: list[Scatter]) -> Recorded:
    v = np.square([one.scatter for one in some])
    df = np.array([one.degrees_of_freedom for one in some], dtype=float)
    pooled, total = pooled_variance(v, df)
    scatter = math.sqrt(pooled)
    return Recorded(
        measure=name,
        title=some[0].asked.measure.title,
        size=_written(some[0].asked, scatter),
        scatter=scatter,
        degrees_of_freedom=total,
        homogeneity_p=bartlett_p(v, df),
        campaigns=tuple(some),
        standing_out=tuple(some[place].campaign for place in standing_out(v, df)),
    )


def _written(asked: MeasureSettings, scatter: float) -> str:
    """A scatter on the scale of the comparison as ``[plan.NAME]`` takes it."""
    if asked.measure.ratio:
        return f"{100.0 * scatter:.4g} %"
    scale = Scale(asked, math.nan)
    return f"{abs(scale.shown(scatter)):.4g} {scale.unit}"


def record_text(found: RepeatRecord) -> str:
    """The file that campaigns name: one table a measure whose campaigns scatter alike."""
    kept = [one for one in found.measures if one.alike]
    days = [one.until for one in kept]
    lines = ["# How far my own repeats scatter, corrected, pooled over my earlier campaigns by `samesky record`."]
    lines += [
        f"# Name it before flying: [plan] record = {json.dumps(USUAL)} and record_named = the day, in campaign.toml."
    ]
    if kept and all(days):
        lines.append(f"last_flown = {max(day for day in days if day is not None).isoformat()}")
    for one in kept:
        names = ", ".join(json.dumps(each.campaign, ensure_ascii=False) for each in one.campaigns)
        lines += ["", f"[{one.measure}]", f'scatter = "{one.size}"', f"degrees_of_freedom = {one.degrees_of_freedom}"]
        lines += [f"campaigns = [{names}]"]
        if math.isfinite(one.homogeneity_p):
            lines.append(f"homogeneity_p = {one.homogeneity_p:.2g}")
    return "\n".join(lines) + "\n"


def write_record(found: RepeatRecord, path: Path) -> Path:
    """Write the record. Raises CampaignError where nothing may be recorded, or the file's name does not fit."""
    if not is_record(path.name):
        raise cannot(path, say.RECORD_NAME(ending=RECORD, usual=USUAL))
    if not any(one.alike for one in found.measures):
        raise cannot(path, say.RECORD_ALL_UNLIKE())
    write_bytes(path, record_text(found).encode("utf-8"))
    return path


def said(found: RepeatRecord) -> list[str]:
    """What is recorded and what is not, a line each."""
    lines = []
    for one in found.measures:
        count = len(one.campaigns)
        p = "" if count < 2 else f", alike (p {one.homogeneity_p:.2g})"
        whose = "1 campaign" if count == 1 else f"{count} campaigns"
        if one.alike:
            lines.append(
                f"{one.title}: repeats scatter by {one.size}, {one.degrees_of_freedom} degrees of freedom, {whose}{p}."
            )
            continue
        each = ", ".join(f"{part.campaign} {_written(part.asked, part.scatter)}" for part in one.campaigns[:6])
        out = f" Standing out: {', '.join(one.standing_out)}." if one.standing_out else ""
        lines.append(
            f"{one.title}: not recorded. Its campaigns scatter unlike (p {one.homogeneity_p:.2g}): {each}.{out} Look "
            "for the reason; leave a campaign away only for one that you knew before you saw its scatter."
        )
    lines += list(found.twice)
    return lines + [f"Not used: {one.folder}: {one.why}" for one in found.unreadable]


def to_json(found: RepeatRecord) -> dict[str, object]:
    """The same for machines."""
    return {
        "measures": [
            {
                "measure": one.measure,
                "scatter": one.size,
                "degrees_of_freedom": one.degrees_of_freedom,
                "homogeneity_p": one.homogeneity_p if math.isfinite(one.homogeneity_p) else None,
                "recorded": one.alike,
                "standing_out": list(one.standing_out),
                "campaigns": [
                    {
                        "campaign": part.campaign,
                        "scatter": _written(part.asked, part.scatter),
                        "degrees_of_freedom": part.degrees_of_freedom,
                    }
                    for part in one.campaigns
                ],
            }
            for one in found.measures
        ],
        "unreadable": [{"folder": one.folder, "why": one.why} for one in found.unreadable],
        "twice": list(found.twice),
    }
