"""Airspeeds to fly: what the reduction takes for granted, seen by reducing runs flown so."""

from __future__ import annotations

import math
from dataclasses import fields
from types import SimpleNamespace

import flown_saturday
import numpy as np
import pytest
import saturday

from samesky.apron import target_airspeeds
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.measures import MEASURES
from samesky.measures.sensitivity import reduce_runs
from samesky.planning.plan import plan
from samesky.published.registry import check, row

KT = 1852 / 3600
#: The plan without a lift-off airspeed, and one that the common sky has.
UNREAD = (
    ('lift-off_airspeed = "38 kt"\n', ""),
    ("\n[plan]\n", '\n[reference]\n"lift-off airspeed" = "38 kt"\nweight = "500 kg"\n\n[plan]\n'),
)


def campaign(tmp_path, *changes):
    return read(saturday.write(tmp_path / "c", *changes), flown=False)


def of(found, measure):
    return next(one for one in found if one.measure == measure)


def test_where_it_is_read_one_airspeed_is_kept(tmp_path):
    flown = campaign(tmp_path)
    found = target_airspeeds(flown, 540.0, plan=plan(flown))
    roll, climb = of(found, "takeoff_roll"), of(found, "timed_climb")
    assert (roll.rule, climb.rule) == ("one airspeed", "one airspeed")
    assert roll.airspeed == pytest.approx(38 * KT)
    assert climb.airspeed == pytest.approx(60 * KT)
    assert roll.source == "the plan"
    # The band is that in which the climb is believed: within 5 % of the common airspeed.
    assert (climb.low, climb.high) == (pytest.approx(57 * KT), pytest.approx(63 * KT))
    assert roll.same_lift == pytest.approx(38 * KT * math.sqrt(540 / roll.reference_weight))
    assert not any(one.measure == "static_pull" for one in found)


def test_ten_per_cent_more_weight_is_five_per_cent_more_speed(tmp_path):
    """FAA-H-8083-25A ch. 10 (row T5-048); V_IW of Kimberlin (row T6-009)."""
    assert "V_e (Ws/Wt)^0.5" in row("T6-009").printed
    roll = of(target_airspeeds(campaign(tmp_path, *UNREAD), 550.0), "takeoff_roll")
    assert roll.rule == "one lift coefficient"
    assert check("T5-048", 100 * (roll.airspeed / (38 * KT) - 1)).agrees
    assert "the same lift coefficient on every run" in roll.says


@pytest.mark.parametrize("read_it", [True, False])
def test_runs_flown_so_are_brought_to_one_roll(read_it):
    """A roll by the law that the reduction inverts, at two weights: flown at the target, nothing is left over."""
    measure = MEASURES["takeoff_roll"]
    law = measure.coefficient_values()
    weight, reference = np.array([500.0, 550.0]), 38 * KT
    exponent = law["weight exponent, lift-off airspeed " + ("read" if read_it else "unread")]
    speed = reference * np.ones(2) if read_it else reference * np.sqrt(weight / 500.0)
    roll = 80.0 * (weight / 500.0) ** exponent
    runs = {"ground roll": roll, "weight": weight, **({"lift-off airspeed": speed} if read_it else {})}
    sky = {"weight": 500.0, "lift-off airspeed": reference}
    reduced = reduce_runs(measure, runs, sky)[-1].value
    assert reduced == pytest.approx([80.0, 80.0])


def test_the_campaigns_own_limit_stands(tmp_path):
    limits = ("\n[plan]\n", '\n[limits]\n"lift-off airspeed" = ["33 kt", "37 kt"]\n\n[plan]\n')
    flown = campaign(tmp_path, limits, ('lift-off_airspeed = "38 kt"', 'lift-off_airspeed = "37 kt"'))
    roll = of(target_airspeeds(flown, 540.0), "takeoff_roll")
    assert roll.airspeed == pytest.approx(37 * KT)
    assert not roll.clipped
    changes = (UNREAD[0], (UNREAD[1][0], '\n[limits]\n"lift-off airspeed" = ["33 kt", "37 kt"]\n' + UNREAD[1][1]))
    (tmp_path / "c" / "campaign.toml").unlink()
    clipped = of(target_airspeeds(campaign(tmp_path, *changes), 550.0), "takeoff_roll")
    assert clipped.clipped
    assert clipped.airspeed == pytest.approx(37 * KT)
    assert "the limit stands" in clipped.says


def test_runs_that_were_flown_give_the_airspeed(tmp_path):
    text = flown_saturday.rows("AB", 2).replace(",38,2,4,", ",39,2,4,")
    unplanned = saturday.TOML[saturday.TOML.index("[plan]\n") :]
    folder = flown_saturday.write(tmp_path / "c", text, (unplanned, ""))
    found = target_airspeeds(read(folder), 500.0)
    roll, climb = of(found, "takeoff_roll"), of(found, "timed_climb")
    assert roll.airspeed == pytest.approx(39 * KT)
    assert "mean of the runs" in roll.source
    assert climb.rule == "not known"
    assert climb.airspeed is None


def test_a_configuration_may_have_its_own(tmp_path):
    own = [
        (f'label = "{label}"', f'label = "{label}"\nlift-off_airspeed = "{speed} kt"')
        for label, speed in (("as delivered", 38), ("coarse", 35))
    ]
    flown = campaign(tmp_path, *own)
    assert of(target_airspeeds(flown, 500.0, "B"), "takeoff_roll").airspeed == pytest.approx(35 * KT)
    with pytest.raises(CampaignError, match="airspeeds of their own"):
        target_airspeeds(flown, 500.0)


def test_a_full_throttle_speed_is_a_result(tmp_path):
    more = '[measure.level_speed]\nprimary = false\nsmallest_difference_that_matters = "2 kt"\n\n[aeroplane]\n'
    level = of(target_airspeeds(campaign(tmp_path, ("[aeroplane]\n", more)), 500.0), "level_speed")
    assert level.rule == "a result"
    assert level.airspeed is None


def test_a_known_airspeed_system(tmp_path):
    """It reads 2 kt high and 3 % more: aims are told as indicated, limits and one lift coefficient are calibrated."""
    system = SimpleNamespace(
        correct=lambda read: (np.asarray(read) - 2 * KT) / 1.03,
        uncorrected=lambda calibrated: np.asarray(calibrated) * 1.03 + 2 * KT,
    )

    def known(folder, *changes):
        plain = campaign(folder, *changes)
        values = {one.name: getattr(plain, one.name) for one in fields(plain)}
        return SimpleNamespace(**values | {"airspeed_system": system})

    # What the plan expects is what is read.
    roll = of(target_airspeeds(known(tmp_path / "a"), 500.0), "takeoff_roll")
    assert roll.airspeed == pytest.approx(38 * KT)
    assert roll.calibrated == pytest.approx(36 / 1.03 * KT)
    # The common sky's is calibrated.
    lift = of(target_airspeeds(known(tmp_path / "b", *UNREAD), 550.0), "takeoff_roll")
    assert lift.calibrated == pytest.approx(38 * KT * math.sqrt(1.1))
    assert lift.airspeed == pytest.approx((38 * math.sqrt(1.1) * 1.03 + 2) * KT)
    assert (lift.low, lift.high) == (pytest.approx((34.2 * 1.03 + 2) * KT), pytest.approx((41.8 * 1.03 + 2) * KT))


def test_a_weight_beyond_belief(tmp_path):
    with pytest.raises(CampaignError) as caught:
        target_airspeeds(campaign(tmp_path), 5.0)
    assert caught.value.finding.column == "weight"
