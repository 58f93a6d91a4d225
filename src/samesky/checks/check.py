"""What is wrong or doubtful about the campaign as a whole, before any arithmetic on its results?

Nothing here looks at a result: only at how the runs were flown, loaded and ordered.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from samesky import units
from samesky.aeroplane import propeller
from samesky.air import constants, moisture
from samesky.campaign.derived.prepare import centre_of_gravity, prepare
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.model.named_runs import named_runs
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.settings.aeroplane import OWN_SPEEDS
from samesky.campaign.settings.conditions import shown
from samesky.campaign.toml.section import FILE
from samesky.checks import catalogue as say
from samesky.checks.airspeeds import airspeed_findings
from samesky.checks.alike import alike_findings
from samesky.checks.order import order_findings
from samesky.checks.slips import slip_findings
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.measures.shape import Runs
from samesky.reduction.reduction import steps_of, too_far

#: The measure whose pull and engine speed at a standstill have bounds of their own.
STATIC = "static_pull"
#: Share of the airspeed by which two configurations may differ before that is reported (assumed).
OTHER_SPEED = 0.03
#: Share of the smallest result from which on a smallest difference that matters, in a unit, is taken for a slip
#: (assumed).
NEARLY_ALL = 0.8
#: Successive runs with the same fuel after which that is reported; one or two are within the reading of a gauge.
STILL = 3


def check(campaign: Campaign) -> list[Finding]:
    """Everything found: what reading found, and then, if that was sound, what shows only on the whole.

    Errors come first. With an error among them nothing should be computed.
    """
    findings = list(campaign.findings)
    if is_sound(findings):
        prepared = {}
        for name, table in campaign.tables.items():
            runs = prepared[name] = prepare(campaign, table)
            findings += _outside_limits(campaign, table, runs)
            findings += _engine_speed(campaign, table)
            findings += _loading(campaign, table, runs)
            findings += _static_pull(campaign, table, runs)
            findings += _results(campaign, table, runs)
            findings += _other_speed(campaign, table)
            findings += alike_findings(campaign, table, runs)
            findings += airspeed_findings(campaign, table)
        findings += _fuel(campaign)
        findings += order_findings(campaign)
        if is_sound(findings):
            findings += slip_findings(campaign, prepared)
    return sorted(findings, key=lambda finding: finding.kind != "error")


def _outside_limits(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """Counted runs outside the limits that the pilot set before flying."""
    found = []
    # A limit of an airspeed is one of what the pilot sees, not of what it stands for.
    runs = {**runs, **{name: table.columns[name] for name in INDICATED if name in table.columns}}
    for name, (low, high) in campaign.limits.items():
        values = runs.get("headwind" if name == "tailwind" else name)
        if values is None:
            continue
        values = -values if name == "tailwind" else np.abs(values) if name == "crosswind" else values
        column = "headwind" if name == "tailwind" else name
        for bound, outside, word in ((low, np.less, "below"), (high, np.greater, "above")):
            if bound is None:
                continue
            where = np.flatnonzero(outside(values, bound) & ~np.isclose(values, bound, rtol=1e-9, atol=0.0))
            named = named_runs(table, where)
            if named is None:
                continue
            worst = values[where].min() if word == "below" else values[where].max()
            says, row = named
            furthest, limit = (shown(campaign, table, column, value) for value in (worst, bound))
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.LIMIT_EXCEEDED(says=says, name=name, word=word, limit=limit, furthest=furthest),
                    row,
                    column if column in table.columns else None,
                )
            )
    return found


def _engine_speed(campaign: Campaign, table: RunTable) -> list[Finding]:
    speed, engine = table.columns.get("rpm"), campaign.engine
    if speed is None:
        return []
    found = []
    if engine.speed_limit is not None:
        where = np.flatnonzero(speed > engine.speed_limit * (1 + 1e-9))
        named = named_runs(table, where, counted_only=False)
        if named:
            says, row = named
            limit, worst = (f"{60 * value:.0f} rpm" for value in (engine.speed_limit, speed[where].max()))
            said = say.RPM_ABOVE_LIMIT(says=says, limit=limit, worst=worst)
            found.append(Finding("warning", table.file, said, row, "rpm"))
    low, high = engine.static_speed_low, engine.static_speed_high
    if table.measure.name == STATIC and (low is not None or high is not None):
        low, high = (-np.inf if low is None else low), (np.inf if high is None else high)
        named = named_runs(table, np.flatnonzero((speed < low * (1 - 1e-9)) | (speed > high * (1 + 1e-9))))
        if named:
            says, row = named
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.RPM_OUTSIDE_STATIC_RANGE(says=says, low=60 * low, high=60 * high),
                    row,
                    "rpm",
                )
            )
    return found


def _loading(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """Runs of no weight or too heavy (errors), or balanced outside the envelope; left-out runs were flown too."""
    loading = campaign.loading
    weight = runs.get("weight")
    if loading is None or weight is None:
        return []
    found = []
    named = named_runs(table, np.flatnonzero(weight <= 0), counted_only=False)
    if named:
        says, row = named
        found.append(
            Finding("error", table.file, say.WEIGHT_NOT_BELIEVABLE(says=says, weight=np.nanmin(weight)), row, "fuel")
        )
    if loading.max_mass is not None:
        named = named_runs(table, np.flatnonzero(weight > loading.max_mass * (1 + 1e-9)), counted_only=False)
        if named:
            says, row = named
            found.append(
                Finding(
                    "error",
                    table.file,
                    say.WEIGHT_ABOVE_MAXIMUM(says=says, weight=np.nanmax(weight), max_mass=loading.max_mass),
                    row,
                    "fuel",
                )
            )
    balance = centre_of_gravity(campaign, table)
    if balance is None:
        return found
    low = -np.inf if loading.cg_forward is None else loading.cg_forward
    high = np.inf if loading.cg_aft is None else loading.cg_aft
    named = named_runs(table, np.flatnonzero((balance < low - 1e-9) | (balance > high + 1e-9)), counted_only=False)
    if named:
        says, row = named
        found.append(
            Finding(
                "warning",
                table.file,
                say.BALANCE_OUTSIDE_ENVELOPE(says=says, balance=_range(balance), low=low, high=high),
                row,
            )
        )
    return found


def _range(values: np.ndarray) -> str:
    low, high = np.nanmin(values), np.nanmax(values)
    return f"{low:.3f}" if high - low < 5e-4 else f"{low:.3f} to {high:.3f}"


def _static_pull(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """Pulls beyond what an ideal propeller of the diameter could make of the engine's full power."""
    power = campaign.engine.power
    diameter = np.array([campaign.configurations[key].diameter or np.nan for key in table.configuration], dtype=float)
    if table.measure.name != STATIC or power is None or np.all(np.isnan(diameter)) or "pull" not in runs:
        return []
    air = runs if "pressure" in runs and "oat" in runs else {"pressure": constants.P0, "oat": constants.T0}
    density = moisture.density(air["pressure"], air["oat"], runs.get("dew point"))
    bound = propeller.static_thrust(power, diameter, density)
    named = named_runs(table, np.flatnonzero(runs["pull"] > bound))
    if named is None:
        return []
    says, row = named
    unit = table.units["pull"]
    most = units.show(float(np.nanmax(bound)), unit, "force")
    return [Finding("warning", table.file, say.PULL_MORE_THAN_IDEAL(says=says, most=most), row, "pull")]


def _results(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """Counted runs whose readings give no number at all, such as a headwind above the lift-off airspeed.

    Asks only whether there is a number: how large it is belongs to the reduction. Where there is, whether a smallest
    difference that matters is about all of it.
    """
    try:
        *_, steps = steps_of(campaign, table, runs)
    except ValueError as error:
        return [Finding("error", table.file, say.RESULT_NOT_COMPUTED(error=error))]
    for step in steps:
        with np.errstate(divide="ignore", invalid="ignore"):
            named = named_runs(table, np.flatnonzero(~np.isfinite(table.measure.to_scale(step.value))))
        if named is not None:
            says, row = named
            return [
                Finding(
                    "error", table.file, say.RESULT_NONE(says=says, result=table.measure.result, name=step.name), row
                )
            ]
    far = too_far(table, steps)
    return [far] if far is not None else _all_of_it(campaign, table, steps[-1].value)


def _all_of_it(campaign: Campaign, table: RunTable, value: np.ndarray) -> list[Finding]:
    """A smallest difference that matters, in a unit, as large as the result itself: a slip of the unit, most likely."""
    asked, measure = campaign.asked[table.measure.name], table.measure
    if asked.smallest_is_fraction or not measure.ratio:
        return []
    value = value[table.included & (table.configuration == campaign.baseline)]
    if not value.size or not asked.smallest >= NEARLY_ALL * np.min(value):
        return []
    least = units.show(float(np.min(value)), asked.unit or measure.unit, measure.dimension)
    where = f"[measure.{measure.name}] smallest difference that matters"
    return [
        Finding(
            "error",
            FILE,
            say.MEASURE_SMALLEST_IS_ALL(smallest_text=asked.smallest_text, result=measure.result, least=least),
            None,
            where,
        )
    ]


def _other_speed(campaign: Campaign, table: RunTable) -> list[Finding]:
    """A configuration flown off or touched down at another airspeed, where none of its own is given."""
    found = []
    for name in OWN_SPEEDS:
        speed = table.columns.get(name)
        if speed is None or any(name in one.own_speeds for one in campaign.configurations.values()):
            continue
        sides = {key: speed[table.included & (table.configuration == key)] for key in campaign.configurations}
        sides = {key: side[np.isfinite(side)] for key, side in sides.items()}
        first = sides.pop(campaign.baseline)
        for key, side in sides.items():
            if min(first.size, side.size) < 2:
                continue
            apart = side.mean() - first.mean()
            chance = np.hypot(first.std(ddof=1) / first.size**0.5, side.std(ddof=1) / side.size**0.5)
            if abs(apart) < max(OTHER_SPEED * first.mean(), 3.0 * chance):
                continue
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.AIRSPEED_OF_CONFIGURATION(
                        key=key,
                        name=name,
                        baseline=campaign.baseline,
                        apart=units.show(apart, table.units[name], "speed"),
                        what=name.replace(" ", "_"),
                    ),
                    column=name,
                )
            )
    return found


def _fuel(campaign: Campaign) -> list[Finding]:
    """Fuel that rises, or stands still, from run to run of one day, over all files, without a note that says why."""
    runs = [run for run in in_flown_order(campaign.tables) if "fuel" in run[0].columns]
    runs = [(table, index) for table, index in runs if not np.isnan(table.columns["fuel"][index])]
    found, still = [], 0
    for (before, i), (now, j) in pairwise(runs):
        change = now.columns["fuel"][j] - before.columns["fuel"][i]
        noted = "fuel" in now.text["notes"][j].casefold()
        same_day = before.day[i] == now.day[j]
        still = still + 1 if change == 0 and same_day and not noted else 0
        row, names = int(now.rows[j]), (before.text["run"][i], now.text["run"][j])
        place = "" if before is now else f" of {before.file}"
        if change > 1e-9 and same_day and not noted:
            found.append(
                Finding("warning", now.file, say.FUEL_RISES(name=names[0], place=place, name2=names[1]), row, "fuel")
            )
        elif still == STILL:
            found.append(
                Finding("warning", now.file, say.FUEL_STANDS_STILL(still=STILL + 1, name=names[1]), row, "fuel")
            )
    return found
