"""In worlds that are not ours: tilt and bend of a line, and how often one propeller is called two."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from samesky.inference import several
from samesky.inference.propellers.tilt import BEND, LEVEL_RPM, STATIC_RPM, TILT
from samesky.inference.uncertainty import t_quantile
from tests.helpers.slow_cases import slow_unless
from tests.worlds.campaigns import flown
from tests.worlds.excess_thrust import fixed_pitch
from tests.worlds.flown import Conditions, result
from tests.worlds.same_propeller import cell, named, told, true_difference

#: Blade angles [deg] that a propeller is turned by.
TURNED = np.arange(-3.0, 3.1, 1.0)
MEASURES = ("takeoff_roll", "ground_acceleration", "timed_climb", "static_pull", "level_speed")


@pytest.fixture(scope="module", params=[name for name in fixed_pitch() if name.endswith("A")])
def line(request):
    """ln of every result and engine speed (angles,) of one propeller, turned."""
    plane = fixed_pitch()[request.param].plane
    rows = {}
    for angle in np.radians(TURNED):
        own = plane.with_propeller(replace(plane.machine.propeller, turned=angle))
        c = Conditions(240.0, 287.0, own.mass, lift_off=own.lift_off)
        for name in MEASURES:
            rows.setdefault(name, []).append(float(np.log(result(own, name, c))))
        rows.setdefault(STATIC_RPM, []).append(float(np.log(own.machine.speed(0.0, c.air))))
        rows.setdefault(LEVEL_RPM, []).append(float(np.log(own.machine.speed(np.exp(rows["level_speed"][-1]), c.air))))
    return {name: np.array(values) for name, values in rows.items()}


@pytest.mark.parametrize("against", [LEVEL_RPM, STATIC_RPM])
def test_a_line_tilts_as_said(line, against):
    # Blade elements, some stalled when standing; no code in common with the simulator that the tilt is from.
    for measure in MEASURES:
        known = TILT[against][measure]
        tilt = np.diff(line[measure]) / np.diff(line[against])
        inside = np.abs(tilt - known.value) <= 2.0 * known.uncertainty
        assert inside.mean() >= 0.8, (measure, tilt.round(2))
        assert abs(np.median(tilt) - known.value) <= 2.0 * known.uncertainty, (measure, tilt.round(2))


def test_a_line_bends_as_said(line):
    # From its chord over four degrees, in the middle.
    for name, known in BEND.items():
        for low in range(len(TURNED) - 4):
            a, m, b = low, low + 2, low + 4
            gap = line[LEVEL_RPM][b] - line[LEVEL_RPM][a]
            place = (line[LEVEL_RPM][m] - line[LEVEL_RPM][a]) / gap
            off = line[name][m] - (1.0 - place) * line[name][a] - place * line[name][b]
            bend = off / (4.0 * place * (1.0 - place) * gap**2)
            assert abs(bend - known.value) <= 3.0 * known.uncertainty + 1e-9, (name, bend)


@pytest.mark.parametrize("world", slow_unless(["four-seater, A"], sorted(fixed_pitch())))
def test_one_propeller_at_other_settings_is_not_called_another(world, monkeypatch):
    # Deciding and other answers each hold 5 in 100; two fittings of each setting and a return.
    # The pairs' own intervals are not asked: their studentised range, a slow integral, is exchanged for its bound.
    monkeypatch.setattr(
        several, "together", lambda level, groups, df: t_quantile(0.5 + several.each_of_pairs(level, groups) / 2.0, df)
    )
    campaigns = 40 if world != "four-seater, A" else 12
    deciding = others = holds = counted = 0
    for answers in told(
        fixed_pitch()[world], cell(fixed_pitch()[world], 0.0, "AABBCCAABBCCAA"), campaigns, np.random.default_rng(7)
    ):
        better = [one for one in answers if one.verdict.endswith(" better")]
        deciding += any(one.deciding for one in better)
        others += any(not one.deciding for one in better)
        for one in answers:
            if one.deciding:
                counted += 1
                holds += one.percent_95[0] <= 0.0 <= one.percent_95[1]
    room = 3.0 * np.sqrt(0.05 * 0.95 / campaigns)
    assert counted > 0.8 * campaigns
    assert deciding / campaigns <= 0.05 + room
    assert others / campaigns <= 0.05 + room
    assert holds / counted >= 0.95 - room


@pytest.mark.slow
@pytest.mark.parametrize("world", sorted(fixed_pitch()))
def test_another_propeller_is_told_at_the_same_engine_speed(world, monkeypatch):
    # 3 % more diameter and 6 % less pitch, turned to the engine speed of the first: the true difference is in the
    # intervals of 16 campaigns, all but two of them at the most.
    monkeypatch.setattr(
        several, "together", lambda level, groups, df: t_quantile(0.5 + several.each_of_pairs(level, groups) / 2.0, df)
    )
    own = fixed_pitch()[world]
    one = cell(own, 0.03, "AABBCCAABBCCAA")
    campaign = named(own, one, flown(own, one, 4, np.random.default_rng(1)))
    true = {name: true_difference(own, one, name, LEVEL_RPM, campaign) for name in ("static_pull", "takeoff_roll")}
    # Far from none, geared engines too: an interval that held zero alone would miss it.
    assert true["static_pull"] > 2.5
    missed = dict.fromkeys(true, 0)
    for answers in told(own, one, 16, np.random.default_rng(6)):
        for answer in answers:
            if answer.against == LEVEL_RPM and answer.measure in true:
                low, high = answer.percent_95
                missed[answer.measure] += not low <= true[answer.measure] <= high
    assert max(missed.values()) <= 2
