"""A take-off whose heights do not show when the wheels left: the width is said, and the speed is asked for.

The take-offs are integrated from lift, drag and a pilot's hand (:mod:`gradual_climb_outs`); their heights follow no
profile that the finder knows.
"""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from gradual_climb_outs import climb_out
from made_tracks import BEGIN, Receiver
from slow_cases import slow_unless

from samesky.instruments.tracks import TrackEstimate, takeoff_roll

CASES = 48
RECEIVERS = {
    "barometer 1 Hz": {"rate": 1.0},
    "barometer 4 Hz": {"rate": 4.0},
    "satellite 2 Hz": {"rate": 2.0, "barometer": False, "height": (13.0 / 1.959964, 300.0, 0.0)},
}


@cache
def flown(hand, seed):
    return climb_out(np.random.default_rng([seed, 41, hand == "gradual"]), hand == "gradual")


def seen(hand, seed, **known):
    made = flown(hand, seed)
    receiver = list(RECEIVERS.values())[seed % len(RECEIVERS)]
    return made, takeoff_roll(Receiver(**receiver).fixes(made.truth, np.random.default_rng([seed, 42])), **known)


def known_of(found):
    return [one for one in found.candidates if "roll" in one.values]


@pytest.mark.parametrize("hand", slow_unless(["smart"], ["gradual", "smart"]))
def test_without_a_speed_the_interval_holds_the_roll_and_the_speed_is_asked_for(hand):
    held, said, asked = [], 0, 0
    for seed in range(CASES):
        made, found = seen(hand, seed)
        for one in known_of(found):
            low, high = one.values["roll"].interval
            held.append(low <= made.roll <= high)
            # What is known to a quarter of itself (a very long roll) may be taken; nothing else.
            assert bool(found.chosen) is (high - low <= 0.5 * one.values["roll"].value)
            asked += not found.chosen
            if found.chosen:
                continue
            assert abs(one.values["lift-off time"].value - BEGIN - made.lifted) < 12.0
            assert any("ground speed at lift-off" in note for note in one.notes)
            metres = re.search(r"a roll to (\d+) m give or take (\d+) m", found.reason)
            said += metres is not None and [int(number) for number in metres.groups()] == [
                round(one.values["roll"].value),
                round(2 * one.values["roll"].standard_uncertainty),
            ]
    assert len(held) >= 0.9 * CASES
    assert np.mean(held) >= 0.94
    assert said == asked
    assert asked >= 0.95 * len(held)


@pytest.mark.parametrize("hand", slow_unless(["smart"], ["gradual", "smart"]))
def test_the_width_is_needed(hand):
    """With nothing allowed for a while held low, the rolls are too long, far outside their intervals."""
    held, apart = [], []
    for seed in range(24):
        made, found = seen(hand, seed, held_low=TrackEstimate(0.0, 0.0))
        for one in known_of(found):
            low, high = one.values["roll"].interval
            held.append(low <= made.roll <= high)
            apart.append(one.values["roll"].value - made.roll)
    assert np.mean(held) < 0.94
    assert np.mean(apart) > 5.0


@pytest.mark.parametrize("hand", slow_unless(["smart"], ["gradual", "smart"]))
def test_with_the_speed_the_roll_is_chosen_and_its_interval_holds(hand):
    z = []
    for seed in range(CASES):
        said = TrackEstimate(flown(hand, seed).lift_off_speed + np.random.default_rng([seed, 43]).normal(0, 0.5), 0.5)
        made, found = seen(hand, seed, lift_off_speed=said)
        (roll,) = found.chosen
        z.append((roll.values["roll"].value - made.roll) / roll.values["roll"].standard_uncertainty)
    held = np.mean(np.abs(z) <= 2.0)
    assert held >= 0.9545 - 3 * np.sqrt(0.9545 * 0.0455 / CASES)
    assert 0.6 < np.std(z) < 1.3
