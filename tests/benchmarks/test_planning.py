"""How long does a plan take that nothing settles, so that every way is tried? Printed beside one trial of one order."""

from __future__ import annotations

from pathlib import Path

import pytest
from short_form import size

from samesky.campaign.reading.read import read
from samesky.planning.plan import plan
from samesky.planning.trial import Bench

BREEZY = Path(__file__).parents[2] / "data_synthetic" / "breezy_noon"


@pytest.fixture(scope="module")
def campaign():
    return read(BREEZY)


def test_plan_with_every_way(benchmark, campaign):
    benchmark.pedantic(plan, (campaign,), rounds=size(5, 1))


def test_one_order_on_trial(benchmark, campaign):
    found = plan(campaign)
    benchmark.pedantic(
        lambda: Bench(found.question).approximate(found.schedule, found.question.primary), rounds=size(20, 1)
    )
