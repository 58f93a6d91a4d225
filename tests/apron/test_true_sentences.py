"""Sentences of the apron that depend on data are true of them, and are said wherever they are true.

Here: how far the plan is flown and whether a look is due; what one more block brings; where the wind is on its way to.
Held elsewhere: the next run and what of its conditions fails (``test_run.py``), fuel and balance (``test_refuel.py``,
``test_loading.py``), airspeeds (``test_speeds.py``), the verdict and what unplanned looks cost (``test_stop.py``).
"""

from __future__ import annotations

import math
import re
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest

from samesky.apron import stop_words
from samesky.apron.gain import BlockGain
from samesky.apron.limits import LimitNow
from samesky.apron.looks import Progress
from samesky.apron.today import WindTrend
from samesky.campaign.model.campaign import MeasureSettings
from samesky.inference.looks import Look
from samesky.measures import MEASURES

KNOT = 1852.0 / 3600.0


def test_how_far_the_plan_is_flown():
    """Every state: with and without a plan, before, at and between looks, at and beyond the end."""
    with_plan, without = SimpleNamespace(plan=object()), SimpleNamespace(plan=None)
    for planned, flown, number in product((None, 6), range(9), (None, 1, 2, 3)):
        look = None if number is None or planned is None else Look(number, 3, "pocock")
        upcoming = None if planned is None or look is not None or flown >= planned else flown + 1
        far = Progress(flown, planned, None, look, flown == planned, upcoming)
        (said,) = stop_words.of_the_plan(with_plan if planned else without, far)
        assert ("No looks were planned" in said) is (planned is None)
        assert said.startswith("This is look") is (look is not None)
        if look is not None:
            assert f"look {number} of 3" in said
        assert ("next look is planned after block" in said) is (upcoming is not None)
        if upcoming is not None:
            assert f"after block {upcoming};" in said
        assert ("More is flown than was planned" in said) is (planned is not None and look is None and flown > planned)
        assert ("The plan is flown" in said) is (look is None and flown == planned)
    (said,) = stop_words.of_the_plan(with_plan, Progress(2, None, None, None, False, None))
    assert said.startswith("Nothing can be flown by the plan")


def power(found, none, method="regression"):
    return SimpleNamespace(found=found, none=none, method=method)


@pytest.mark.parametrize("now", [None, 0.06, math.nan])
@pytest.mark.parametrize("then", [0.04, math.nan])
@pytest.mark.parametrize("method", ["regression", "days"])
def test_what_one_more_block_brings(now, then, method):
    measure = MEASURES["takeoff_roll"]
    asked = MeasureSettings(measure, True, 0.05, True, "smaller", "ft", "5 %")
    before = None if now is None else power(0.31, 0.12)
    more = BlockGain(
        ("B", "A"), 4, 0.03, "documented", before, power(0.52, 0.33, method), math.nan if now is None else now, then,
        130.0, (-0.05, 0.05),
    )  # fmt: skip
    said = " ".join(stop_words.of_the_gain(SimpleNamespace(asked={"takeoff_roll": asked}), "takeoff_roll", more))
    both = now is not None and math.isfinite(now) and math.isfinite(then)
    assert ("from ± 6 % to ± 4 %" in said) is both
    assert ("would give an interval, of about ± 4 %" in said) is (math.isfinite(then) and not both)
    assert ("The method changes" in said) is (before is not None and method == "days")
    assert ("goes from 31 % to 52 %; of showing none, 12 % to 33 %" in said) is (before is not None)
    assert ("would be 52 %; of showing none, 33 %" in said) is (before is None)
    assert "scatter of one run of 3 %, documented" in said
    assert said.count("(B A)") == (1 if math.isfinite(then) else 0)


@pytest.mark.parametrize("fails_now", [True, False])
@pytest.mark.parametrize("rates", [(2.0,), (-1.5,), (0.1,), (2.0, 0.1), ()])
def test_where_the_wind_is_on_its_way_to(rates, fails_now):
    """A limit of 5 kt either way, the wind at 2 kt and four hours to go."""
    trends = []
    for rate in rates:
        then = 2.0 + 4.0 * rate
        limit = LimitNow(
            "headwind", "yours", -5 * KNOT, 5 * KNOT, (then * KNOT,) * 2, (5 - abs(then)) * KNOT, abs(then) <= 5.0,
            "Headwind fails.",
        )  # fmt: skip
        trends.append(WindTrend("headwind", 6, 2.0 * KNOT, rate * KNOT, then * KNOT, limit))
    said = stop_words.of_the_wind(tuple(trends), not fails_now)
    beyond = [rate for rate in rates if abs(2.0 + 4.0 * rate) > 5.0]
    told = [text for text in said if "kt an hour over 6 runs" in text]
    assert len(told) == len(beyond)
    for text, rate in zip(told, beyond, strict=True):
        word, size = re.search(r"\((rising|falling) by ([\d.]+) kt an hour", text).groups()
        assert (word == "rising") is (rate > 0)
        assert float(size) == pytest.approx(abs(rate))
    comfort = any("still hold at the end of one more block" in text for text in said)
    assert comfort is bool(rates and not beyond and not fails_now)
    assert np.sum([comfort, bool(beyond)]) <= 1
