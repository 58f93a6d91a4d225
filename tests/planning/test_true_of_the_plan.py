"""Sentences of a plan that depend on data are true of it, and are said wherever they are true.

Here: the notes, whether a measure is settled, and looks after blocks. Held elsewhere: limits and what they are for
(``test_scrub.py``, ``test_flyable.py``), what would settle it (``test_plan.py``: what each way says is flown again),
cards and planned rows (``test_cards.py``, ``test_into_tables.py``).
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
import saturday

from samesky.campaign.reading.read import read
from samesky.planning import plan as planning
from samesky.planning.output import words
from samesky.planning.plan import plan


@pytest.fixture(scope="module")
def flown_plan(tmp_path_factory):
    folder = saturday.write(tmp_path_factory.mktemp("plan"), ('scatter = "3 %"', 'scatter = "2 %"'))
    return plan(read(folder, flown=False))


@pytest.mark.parametrize("unknown", [(), ("takeoff_roll",), ("takeoff_roll", "timed_climb")])
def test_whose_scatter_is_not_documented(flown_plan, unknown):
    asked = flown_plan.question
    wanted = tuple(replace(one, scatter=None if one.name in unknown else 0.02) for one in asked.wanted)
    chosen = SimpleNamespace(schedule=flown_plan.schedule)
    said = " ".join(planning._notes(replace(asked, wanted=wanted), chosen, flown_plan.trials))
    assert ("No scatter is documented for" in said) is bool(unknown)
    for one in asked.wanted:
        part = said.split("No scatter is documented for ")[-1].split(": that of")[0] if unknown else ""
        assert (one.asked.measure.title in part) is (one.name in unknown), said


@pytest.mark.parametrize("off_weight", [0, 3])
@pytest.mark.parametrize(("fitted_anew", "hours"), [(True, 0.5), (False, 0.5), (False, 0.2)])
def test_weight_and_swaps(flown_plan, off_weight, fitted_anew, hours):
    asked = flown_plan.question
    asked = replace(asked, swap_hours=hours, campaign=replace(asked.campaign, fitted_anew=fitted_anew))
    chosen = SimpleNamespace(schedule=SimpleNamespace(off_weight=off_weight))
    said = " ".join(planning._notes(asked, chosen, flown_plan.trials))
    assert ("The weight falls further than its correction is trusted" in said) is bool(off_weight)
    assert ("Changing takes long for something that is free" in said) is (not fitted_anew and hours > 0.25)


def test_whether_a_measure_is_settled(flown_plan):
    wanted = flown_plan.question.request.power
    for name, power in flown_plan.powers.items():
        said = words.verdict_words(flown_plan, power)
        assert (said == "likely") is (min(power.found, power.none) >= wanted), name
    one = next(iter(flown_plan.powers.values()))
    for least, says in ((wanted, "likely"), (wanted - 0.01, "perhaps"), (0.49, "unlikely")):
        assert words.verdict_words(flown_plan, replace(one, found=least, none=1.0)) == says
        assert words.verdict_words(flown_plan, replace(one, found=1.0, none=least)) == says
    assert words.verdict_words(flown_plan, replace(one, uncertainty=float("nan"))) == "no interval"
