"""The plan for machines: the same as the page says, in plain SI."""

from __future__ import annotations

from samesky.campaign.messages.phrases import meant
from samesky.planning.plan import Plan
from samesky.planning.power import MeasurePower
from samesky.planning.question import clock
from samesky.planning.schedule import weight_of


def to_json(plan: Plan) -> dict:
    """The plan as plain data: SI, numbers that do not exist are null."""
    question = plan.question
    return {
        "baseline": question.campaign.baseline,
        "other": question.other,
        "answers": plan.answers,
        "order": [list(day) for day in plan.order],
        "seed": question.request.seed,
        "days": plan.schedule.days,
        "hours": meant(plan.schedule.hours_in_the_field()),
        "measures": [_measure(plan, wanted.name) for wanted in question.wanted],
        "blocks": [_block(plan, block) for block in plan.schedule.blocks],
        "limits": [_limit(limit) for limit in plan.limits],
        "drift": {"straight": meant(plan.drift[0]), "curved": meant(plan.drift[1])},
        "looks": [
            {
                "look": look.number,
                "after_block": look.after_block,
                "after_run": look.after_run,
                "level": meant(look.level),
                "degrees_of_freedom": meant(look.degrees_of_freedom),
                "t_limit": None if look.t_limit is None else meant(look.t_limit),
            }
            for look in plan.looks
        ],
        "would_settle_it": [
            {"change": way.says, "days": way.days, "hours": meant(way.hours), "power": meant(way.power, 3)}
            for way in plan.alternatives
        ],
        "notes": list(plan.notes),
    }


def _measure(plan: Plan, name: str) -> dict:
    wanted = next(one for one in plan.question.wanted if one.name == name)
    found = plan.powers[name]
    return {
        "measure": name,
        "primary": wanted.asked.primary,
        "runs": len(plan.schedule.runs_of(name)),
        "runs_a_block": plan.runs_a_block[name],
        "smallest_that_matters": wanted.asked.smallest_text,
        "design": found.design_name,
        "method": found.method,
        "assumption": found.assumption,
        "scale": "logarithm" if wanted.asked.measure.ratio else "difference",
        "scatter": meant(found.scatter),
        "standard_uncertainty": meant(found.combined),
        "degrees_of_freedom": meant(found.degrees_of_freedom),
        "smallest_on_scale": meant(found.smallest),
        "power_difference": meant(found.found, 3),
        "power_no_difference": meant(found.none, 3),
        "power_if_it_scatters_more": meant(found.with_more_scatter, 3),
        "by_all_measures": _by_all(plan.by_all.get(name)),
        "settles": plan.settles(name),
    }


def _by_all(found: MeasurePower | None) -> dict | None:
    """What the measure would answer by all of them, on the scale of the comparison."""
    if found is None or found.chances is None:
        return None
    return {
        "standard_uncertainty": meant(found.combined),
        "half_width": meant(found.chances.half_width()),
        "power_difference": meant(found.found, 3),
        "power_no_difference": meant(found.none, 3),
    }


def _block(plan: Plan, block) -> dict:
    return {
        "block": block.number,
        "day": block.day + 1,
        "configurations": list(block.configurations),
        "before": block.before,
        "start": clock(block.start),
        "end": clock(block.end),
        "fuel": meant(block.fuel),
        "fuel_left": meant(block.fuel_left),
        "ballast": meant(block.ballast),
        "runs": [
            {
                "measure": run.measure,
                "run": run.number,
                "clock": clock(run.hours),
                "configuration": run.configuration,
                "installation": run.installation + 1,
                "fuel": meant(run.fuel),
                "weight": meant(weight_of(plan.question, run)),
            }
            for run in block.runs
        ],
    }


def _limit(limit) -> dict:
    return {
        "condition": limit.condition,
        "measure": limit.measure,
        "low": meant(limit.low),
        "high": meant(limit.high),
        "common_sky": meant(limit.middle),
        "rule": limit.rule,
        "why": limit.why,
        "reading_share": meant(limit.reading),
    }
