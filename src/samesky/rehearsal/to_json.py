"""The rehearsal for machines: the same as the page says, in plain numbers on the scale of the comparison."""

from __future__ import annotations

from samesky.campaign.messages.phrases import meant
from samesky.inference import verdict
from samesky.rehearsal.flight import Ready
from samesky.rehearsal.rehearse import TRUTHS, Rehearsal, Tally

_KEYS = {
    verdict.BASELINE_BETTER: "baseline better",
    verdict.OTHER_BETTER: "other better",
    verdict.NO_DIFFERENCE: "no difference that matters",
    verdict.TOO_SMALL: "real, but too small to matter",
    verdict.NOT_ENOUGH: "not enough data",
}


def to_json(found: Rehearsal) -> dict:
    """The rehearsal as plain data; numbers that do not exist are null."""
    return {
        "baseline": found.script.campaign.baseline,
        "other": found.script.other,
        "primary": found.script.primary,
        "answer_from": found.script.campaign.asked[found.script.primary].answer_from,
        "planned": found.script.planned is not None,
        "campaigns": found.campaigns,
        "seed": found.seed,
        "simulated": found.flown,
        "measures": {
            name: {
                "design": one.design.name,
                "method": one.design.method,
                "assumption": one.design.assumption,
                "judged_at": [_look(at) for at in (*one.earlier, one) if at is not None],
                "true_differences": [
                    {"smallest_that_matters_times": multiple, **_tally(tallies[name])}
                    for multiple, tallies in zip(TRUTHS, found.curve, strict=True)
                ],
            }
            for name, one in found.ready.items()
        },
        "without": [_changed(one) for one in found.without],
        "gains": [_changed(one) for one in found.gains],
        "notes": list(found.scene.notes),
    }


def _look(one: Ready) -> dict:
    sure, alike = (one.look.level, one.look.equivalence_level) if one.look else (0.95, 0.90)
    number = one.look.number if one.look else None
    return {"look": number, "runs": int(one.rows.size), "level": sure, "level_inside_margins": alike}


def _changed(one) -> dict:
    return {"name": one.name, "says": one.says, "measures": {name: _tally(t) for name, t in one.tallies.items()}}


def _tally(one: Tally) -> dict:
    return {
        "true_difference": meant(one.truth),
        "verdicts": {_KEYS[code]: count for code, count in enumerate(one.codes)},
        "coverage": meant(one.coverage),
        "half_width": meant(one.half),
        "mean_difference": meant(one.mean),
        "scatter_of_difference": meant(one.scatter),
        "average_runs": one.runs,
        "ended_at_look": list(one.ended),
        "averages_point_to_other": one.average_for_other,
        "t_test_of_raw_results": dict(zip(("unsure", "baseline", "other"), one.naive, strict=True)),
        "by_all_measures": None if one.by_all is None else _by_all(one.by_all),
    }


def _by_all(one: Tally) -> dict:
    """The answer by all measures: the runs, and what averages make of them, are those of the measure."""
    return {
        "verdicts": {_KEYS[code]: count for code, count in enumerate(one.codes)},
        "coverage": meant(one.coverage),
        "half_width": meant(one.half),
        "mean_difference": meant(one.mean),
        "scatter_of_difference": meant(one.scatter),
    }
