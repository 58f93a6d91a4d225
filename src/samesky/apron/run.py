"""Is this run valid? Asked of its conditions and readings, never of its result.

The row is read and checked as the campaign's own files are; a reading so far from its like that it is probably a slip
is a doubt, as there. Its result is told besides, with how it stands among its like: a run counts unless a reason is
stated that would hold whatever its result.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from samesky import units
from samesky.apron import catalogue as say
from samesky.apron.fields import fuel_words, mass_unit, wrong
from samesky.apron.limits import OWN, PAPERS, LimitNow, held, own, scrub_bounds
from samesky.apron.outlier_check import OutlierCheck, outlier_check
from samesky.campaign.derived.prepare import prepare
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.phrases import figures
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import did_you_mean, plain_name, quoted
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.model.named_runs import NamedRuns
from samesky.campaign.reading.files import named
from samesky.campaign.reading.read import read_texts
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import columns_shown, header_cell
from samesky.campaign.settings.conditions import conditions
from samesky.campaign.tables.grid import Grid
from samesky.checks.check import check
from samesky.measures.shape import Measure
from samesky.planning.plan import Plan
from samesky.reduction.reduction import Reduction, reduce_table

#: What is said of a run; the first that applies.
NOT_VALID = "not valid as written"
OUTSIDE = "outside a limit that was fixed before flying"
DOUBTFUL = "valid, with a doubt"
VALID = "valid"
UNKNOWN = "not known to be valid: other rows have to be mended first"
#: Share by which entry, exit and held airspeed may differ (the range within which the measures want it held).
AIRSPEEDS_APART = 0.05
ONLY_A_REASON = (
    "A result is never a reason to leave a run out. A reason is something seen that would spoil the run whatever came "
    "of it (traffic, a late start of the watch, a wrong flap): write it into 'exclude' at once, or let the run count."
)


@dataclass(frozen=True, slots=True)
class RunNow:
    """One run, just flown.

    Attributes
    ----------
    verdict : one of the module's words
    findings : errors and doubts that concern it, errors first; ``others``: those that it raises for the whole campaign
    limits : the campaign's, the papers' and the plan's limits on its conditions
    counts : whether no reason for leaving it out is written
    value : its reduced result [SI], NaN where it has none; ``corrections`` what each correction does to it [SI]
    outlier : how it stands among the other runs of its configuration; None with fewer than three
    row : number of the row in a spreadsheet; ``text`` the file's text with it
    sentences : ready to read, in the pilot's units
    """

    verdict: str
    findings: tuple[Finding, ...]
    others: tuple[Finding, ...]
    limits: tuple[LimitNow, ...]
    counts: bool
    value: float
    corrections: Mapping[str, float]
    outlier: OutlierCheck | None
    row: int
    text: str
    sentences: tuple[str, ...]


def valid_run(
    campaign: Campaign,
    measure: str,
    cells: Mapping[str, str],
    files: Mapping[str, str] | None = None,
    plan: Plan | None = None,
) -> RunNow:
    """Whether a run is valid, before it is written down.

    Parameters
    ----------
    measure : name of the measure
    cells : what was written, by column; in the units of the file's header
    files : texts by file name that stand in place of the folder's (drafts)
    plan : whose limits to scrub at are held too

    Raises
    ------
    CampaignError : no such measure, or a name that is no column
    """
    if measure not in campaign.asked:
        raise wrong(
            "measure",
            say.APRON_NO_SUCH_MEASURE(
                measure=quoted(measure),
                hint=did_you_mean(measure, campaign.asked, f"The campaign asks for {', '.join(campaign.asked)}."),
            ),
        )
    one = campaign.asked[measure].measure
    texts = {**campaign.texts, **(files or {})}
    file = named(texts, measure) or f"{measure}.csv"
    if file in texts and texts[file] is None:
        campaign.must_be_text(file)
    # A fresh file has the result in the unit that the campaign asks for, as the cards have.
    fresh = replace(one, unit=campaign.asked[measure].unit or one.unit)
    before, after, row = _with_row(fresh, file, texts.get(file), cells)
    was, now = (read_texts({**texts, file: one}, flown=False) for one in (before, after))
    old, table = check(was), now.tables.get(measure)
    raised = [finding for finding in check(now) if finding not in old]
    index = -1 if table is None else len(table.rows) - 1
    name = "" if table is None else table.text["run"][index]
    mine = [one for one in raised if one.file == file and (one.row == row or _names(one, name))]
    others = [one for one in raised if one not in mine and one.kind == "warning"]
    limits: tuple[LimitNow, ...] = ()
    reduction = None
    if table is not None:
        mine += _own_doubts(now, table, index)
        limits = _limits(now, table, index, plan)
        if is_sound(now.findings) and not any(finding.kind == "error" for finding in mine):
            reduction = _reduced(now, table)
            mine += [] if reduction is None else _beyond_range(reduction, index)
    counts = table is None or bool(table.included[index])
    held_up = None if reduction is None or not counts else _outlier(reduction, index)
    value = math.nan if reduction is None else float(reduction.value[index])
    verdict = _verdict(mine, limits, table is not None)
    elsewhere = [finding for finding in now.findings if finding.kind == "error" and finding not in mine]
    return RunNow(
        verdict=verdict,
        findings=tuple(sorted(mine, key=lambda finding: finding.kind != "error")),
        others=tuple(others),
        limits=limits,
        counts=counts,
        value=value,
        corrections={} if reduction is None else {k: float(v[index]) for k, v in reduction.corrections.items()},
        outlier=held_up,
        row=row,
        text=after,
        sentences=_sentences(campaign, one, verdict, mine, limits, value, held_up, counts, elsewhere, reduction, index),
    )


def _with_row(measure: Measure, file: str, text: str | None, cells: Mapping[str, str]) -> tuple[str, str, int]:
    """The file's text as a grid writes it, the text with the row added, and the row's number in a spreadsheet.

    A column that the measure knows and the file lacks is added in its usual unit; the run's number counts on where none
    is given. Raises CampaignError for a name that is no column.
    """
    columns = {plain_name(column.name): column for column in columns_of(measure)}
    if text is None:
        grid = Grid(tuple(header_cell(column, measure) for column in columns_shown(measure)))
    else:
        grid = Grid.from_text(text, file, [column.name for column in columns.values()]).trimmed()
    before = grid.to_text()
    row = {}
    for name, cell in cells.items():
        plain = plain_name(name.partition("[")[0])
        if grid.column(plain) is None:
            if plain not in columns:
                raise wrong(
                    name,
                    say.APRON_NO_SUCH_COLUMN(
                        name=quoted(name),
                        the_file=file,
                        hint=did_you_mean(plain, columns, "Leave it out, or put it into 'notes'."),
                    ),
                )
            if not cell.strip():
                continue
            grid = grid.with_column(header_cell(columns[plain], measure))
        row[plain] = cell
    if grid.column("run") is not None and not row.get("run", "").strip():
        row["run"] = str(len(grid.rows) + 1)
    grid = grid.with_rows([row])
    return before, grid.to_text(), grid.numbers()[1][-1]


def _names(finding: Finding, run: str) -> bool:
    """Whether a finding about several runs names this one."""
    facts = finding.facts
    return facts.get("run") == run or any(isinstance(one, NamedRuns) and run in one.names for one in facts.values())


def _own_doubts(campaign: Campaign, table: RunTable, index: int) -> list[Finding]:
    """Airspeeds of one run that contradict each other, and fuel below the reserve."""
    found = []
    read = {name: float(values[index]) for name, values in table.columns.items()}
    row, run = int(table.rows[index]), table.text["run"][index]
    pairs = (("entry airspeed", "exit airspeed"), ("airspeed", "entry airspeed"), ("airspeed", "exit airspeed"))
    for first, second in pairs:
        a, b = read.get(first, math.nan), read.get(second, math.nan)
        if abs(a - b) > AIRSPEEDS_APART * 0.5 * (a + b):
            shown = [units.show(value, table.units[name], "speed", 1) for name, value in ((first, a), (second, b))]
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.APRON_AIRSPEEDS_DISAGREE(run=run, first=first, shown=shown[0], second=second, shown2=shown[1]),
                    row,
                    second,
                )
            )
            break
    reserve = None if campaign.plan is None else campaign.plan.reserve
    fuel = read.get("fuel", math.nan)
    if reserve is not None and fuel < reserve - 1e-9:
        found.append(
            Finding(
                "warning",
                table.file,
                say.APRON_FUEL_BELOW_RESERVE(
                    run=run, campaign=fuel_words(campaign, fuel), campaign2=fuel_words(campaign, reserve)
                ),
                row,
                "fuel",
            )
        )
    return found


def _limits(campaign: Campaign, table: RunTable, index: int, plan: Plan | None) -> tuple[LimitNow, ...]:
    runs = {name: float(values[index]) for name, values in prepare(campaign, table).items()}
    runs["tailwind"] = -runs.get("headwind", math.nan)
    runs["crosswind"] = abs(runs.get("crosswind", math.nan))
    known = conditions([table.measure])
    # What was written down of the mean wind; without a crosswind the spread is an upper bound.
    mean = np.hypot(runs.get("headwind", math.nan), np.nan_to_num(runs["crosswind"]))
    spread = runs.get("gust", math.nan) - float(mean)
    spread = spread if math.isnan(spread) else max(spread, 0.0)

    def one(name: str, whose: str, bounds, value: float | None = None, why: str = "it was not read"):
        value = runs.get(name, math.nan) if value is None else value
        column = "headwind" if name in ("tailwind", "gust spread") else name
        dimension = known[column].dimension if column in known else None
        if dimension is None or (column not in runs and column not in table.measure.conditions):
            return None
        now = None if math.isnan(value) else (value, value)
        title = {"gust spread": "gust less mean wind", "oat": "temperature"}.get(name, name)

        # How much is to spare is a difference, which of temperatures is another dimension.
        of_spare = "temperature difference" if dimension == "temperature" else dimension
        shown, spare = (partial(_shown, campaign, table, column, one) for one in (dimension, of_spare))
        return held(title, whose, bounds, now, shown, why, spare)

    found = [one(name, OWN, own(campaign, name)) for name in campaign.limits]
    if campaign.plan is not None and campaign.plan.crosswind_limit is not None:
        found.append(one("crosswind", PAPERS, (None, campaign.plan.crosswind_limit)))
    for limit, whose in scrub_bounds(plan, [*known, "gust spread"]):
        if limit.measure == table.measure.name and limit.condition not in ("entry airspeed", "exit airspeed"):
            value = spread if limit.condition == "gust spread" else None
            found.append(one(limit.condition, whose, (limit.low, limit.high), value))
    return tuple(limit for limit in found if limit is not None)


def _shown(campaign: Campaign, table: RunTable, column: str, dimension: str, value: float) -> str:
    if column == "fuel":
        return fuel_words(campaign, value)
    unit = table.units.get(column, "")
    if not unit or not fits(unit, dimension):
        usual = {"mass": mass_unit(campaign), "pressure": "hPa", "fraction": "%", "temperature": "degC"}
        usual |= {"temperature difference": "degC"}
        unit = usual.get(dimension, units.DIMENSIONS[dimension].examples[0])
    return units.show(value, unit, dimension, 1)


def _reduced(campaign: Campaign, table: RunTable) -> Reduction | None:
    try:
        return reduce_table(campaign, table)
    except ValueError:
        return None


def _beyond_range(reduction: Reduction, index: int) -> list[Finding]:
    """Where a correction of this run is not believed; as the reduction has it for all runs."""
    table = reduction.table
    measure, row = table.measure, int(table.rows[index])
    mine = {name: values[index : index + 1] for name, values in reduction.runs.items()}
    found = []
    for limit in measure.limits:
        if limit.correction in reduction.corrections or limit.correction not in measure.corrections:
            value = float(np.ravel(limit.quantity(mine, reduction.sky))[0])
            if (limit.low is not None and value < limit.low) or (limit.high is not None and value > limit.high):
                found.append(
                    Finding(
                        "warning",
                        table.file,
                        say.APRON_CORRECTION_BEYOND_RANGE(
                            text=table.text["run"][index], correction=limit.correction, says=limit.says
                        ),
                        row,
                    )
                )
    return found


def _outlier(reduction: Reduction, index: int) -> OutlierCheck | None:
    table = reduction.table
    with np.errstate(invalid="ignore", divide="ignore"):
        scaled = table.measure.to_scale(reduction.value)
    like = table.included & (table.configuration == table.configuration[index])
    like[index] = False
    return outlier_check(float(scaled[index]), scaled[like])


def _verdict(findings: list[Finding], limits: tuple[LimitNow, ...], checked: bool) -> str:
    if not is_sound(findings):
        return NOT_VALID
    if not checked:
        return UNKNOWN
    if any(limit.holds is False for limit in limits):
        return OUTSIDE
    return DOUBTFUL if findings else VALID


def _sentences(
    campaign: Campaign,
    measure: Measure,
    verdict: str,
    findings: list[Finding],
    limits: tuple[LimitNow, ...],
    value: float,
    held_up: OutlierCheck | None,
    counts: bool,
    elsewhere: list[Finding],
    reduction: Reduction | None,
    index: int,
) -> tuple[str, ...]:
    said = [f"This run is {verdict}."]
    said += [finding.words() for finding in findings]
    said += [limit.says for limit in limits if limit.holds is False]
    if elsewhere:
        count = "1 other error" if len(elsewhere) == 1 else f"{len(elsewhere)} other errors"
        said.append(
            f"{count} in the campaign: until mended, its result cannot be told. First: {elsewhere[0].sentence()}"
        )
    if not counts:
        said.append("It is left out, with the reason written; the report shows both.")
    unit = campaign.asked[measure.name].unit or measure.unit
    if math.isfinite(value):
        said.append(f"At the common sky its {measure.result} comes to {units.show(value, unit, measure.dimension)}.")
    if held_up is not None and math.isfinite(held_up.p):
        key = reduction.table.configuration[index]
        shown = math.exp(held_up.mean) if measure.ratio else held_up.mean
        scatter = f"{figures(100 * held_up.scatter)} %" if measure.ratio else _size(held_up.scatter, unit, measure)
        said.append(
            f"The other {held_up.others} runs of {key} have {units.show(shown, unit, measure.dimension)} on average "
            f"and scatter by {scatter} (one standard deviation)."
        )
        percent = f"{figures(100 * held_up.p)} %" if held_up.p >= 1e-4 else "less than 0.01 %"
        far = f"one more run of the same is so far away with a probability of {percent}"
        slip = " Hold the cells against the card: a slip in copying is mended, nothing else."
        said.append(f"It stands out: {far}.{slip}" if held_up.stands_out else f"It does not stand out: {far}.")
    said.append(ONLY_A_REASON)
    return tuple(said)


def _size(difference: float, unit: str, measure: Measure) -> str:
    zero = units.from_si(0.0, unit, measure.dimension)
    return f"{figures(float(units.from_si(difference, unit, measure.dimension) - zero))} {unit}"
