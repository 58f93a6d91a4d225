"""Do the stated 95 % intervals hold the truth as often as they say?

Made-up flights through receivers of 1 to 10 Hz with dropouts and duplicate fixes. By default 100 seeded cases a kind,
with bounds from the Monte Carlo error; with SAMESKY_CASES=1000 the full run, held to 94 to 97 %.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from made_tracks import BEGIN, Receiver, box_of_legs, level_climb_level, take_off

from samesky.instruments.tracks import Estimate, level_legs, takeoff_roll, timed_climb

CASES = int(os.environ.get("SAMESKY_CASES", "100"))
SATELLITE = {"barometer": False, "height": (13.0 / 1.959964, 300.0, 0.0)}


def leg_speed(rng, receiver):
    truth = box_of_legs(rng, leg=rng.uniform(50, 80), tracks=(0.3, 1.9))
    found = level_legs(receiver.fixes(truth, rng), expected=2)
    if found.ambiguous:
        return None
    leg = found.chosen[0]
    first, last = leg.start - BEGIN, leg.end - BEGIN
    way = [truth.at(last, axis) - truth.at(first, axis) for axis in ("east", "north")]
    return leg.values["ground speed"], np.hypot(*way) / (last - first)


def climb_rate(rng, receiver):
    truth = level_climb_level(rng)
    found = timed_climb(receiver.fixes(truth, rng))
    if found.ambiguous:
        return None
    climb = found.chosen[0]
    first, last = climb.start - BEGIN, climb.end - BEGIN
    return climb.values["rate of climb"], (truth.at(last, "height") - truth.at(first, "height")) / (last - first)


def roll_by_height(rng, receiver):
    made = take_off(rng)
    found = takeoff_roll(receiver.fixes(made.truth, rng))
    return None if found.ambiguous else (found.chosen[0].values["roll"], made.roll)


def lift_off_time(rng, receiver):
    made = take_off(rng)
    found = takeoff_roll(receiver.fixes(made.truth, rng))
    return None if found.ambiguous else (found.chosen[0].values["lift-off time"], BEGIN + made.lifted)


def roll_by_speed(rng, receiver):
    made = take_off(rng)
    said = Estimate(made.lift_off_speed + rng.normal(0, 0.5), 0.5)
    found = takeoff_roll(receiver.fixes(made.truth, rng), lift_off_speed=said)
    return None if found.ambiguous else (found.chosen[0].values["roll"], made.roll)


KINDS = {
    "ground speed 1 Hz": (leg_speed, {"rate": 1.0, "dropouts": 2}),
    "ground speed 10 Hz": (leg_speed, {"rate": 10.0, "dropouts": 2}),
    "ground speed from positions": (leg_speed, {"rate": 2.0, "dropouts": 2, "writes_speed": False}),
    "climb 1 Hz": (climb_rate, {"rate": 1.0, "dropouts": 1}),
    "climb 10 Hz": (climb_rate, {"rate": 10.0, "dropouts": 1}),
    "climb in whole metres": (climb_rate, {"rate": 1.0, "dropouts": 1, "height_step": 1.0}),
    "climb by satellite": (climb_rate, {"rate": 2.0, "dropouts": 1, **SATELLITE}),
    "roll by height 1 Hz": (roll_by_height, {"rate": 1.0}),
    "lift-off time 4 Hz": (lift_off_time, {"rate": 4.0}),
    "roll by height, satellite": (roll_by_height, {"rate": 2.0, **SATELLITE}),
    "roll by speed 1 Hz": (roll_by_speed, {"rate": 1.0}),
    "roll by speed 5 Hz": (roll_by_speed, {"rate": 5.0}),
    "roll by speed from positions": (roll_by_speed, {"rate": 5.0, "writes_speed": False}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_stated_intervals_hold_the_truth(kind, capsys):
    measure, receiver = KINDS[kind]
    held, unclear = [], 0
    for case in range(CASES):
        result = measure(np.random.default_rng([2024, case]), Receiver(duplicates=3, **receiver))
        if result is None:
            unclear += 1
            continue
        low, high = result[0].interval
        held.append(low <= result[1] <= high)
    share = np.mean(held)
    with capsys.disabled():
        if CASES >= 1000:
            print(f"\n{kind}: {share:.3f} of {len(held)} held, {unclear} ambiguous")
    # a dropout in a climb can break it in two: then the finder has to ask, but not often
    assert unclear <= 0.02 * CASES
    if CASES >= 1000:
        assert 0.94 <= share <= 0.97
    else:
        # k = 2 holds 95.45 %; four Monte Carlo standard errors
        assert abs(share - 0.9545) <= 4 * np.sqrt(0.9545 * 0.0455 / len(held))


@pytest.mark.parametrize(
    ("measure", "noise"), [(leg_speed, {"speed": (0.3, 10.0)}), (climb_rate, {"height": (3.0, 300.0, 0.33)})]
)
def test_three_times_the_stated_noise_is_noticed(measure, noise):
    """The scatter shows a worse receiver; the interval follows it."""
    held = []
    for case in range(150):
        result = measure(np.random.default_rng([77, case]), Receiver(**noise))
        if result:
            held.append(result[0].interval[0] <= result[1] <= result[0].interval[1])
    assert np.mean(held) > 0.9
