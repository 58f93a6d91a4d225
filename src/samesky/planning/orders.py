"""In which order should the two be flown?

Where changing is free: neighbouring pairs, turned round so that four runs are A B B A or B A A B. Each eight runs hold
both kinds once, in an order drawn by a seed: straight drift cancels within four, and most of a curved one within
eight. Where changing means fitting a part anew: blocks that go back to the first configuration, each day beginning
with the other one than the day before; which comes first is drawn by the same seed.
"""

from __future__ import annotations

import numpy as np

from samesky.inference.design import Design

#: The two orders of four that a straight drift leaves alone.
FOURS = ("ABBA", "BAAB")


def alternating(days: int, blocks_a_day: int, seed: int) -> tuple[str, ...]:
    """Configurations (``A`` baseline, ``B`` other) of each day's blocks, A B A ... and B A B ... in turn.

    Raises ValueError without a day or with fewer than two blocks a day: nothing is compared then.
    """
    if days < 1 or blocks_a_day < 2:
        raise ValueError("an order of blocks needs a day and two blocks in it")
    first = int(np.random.default_rng(seed).integers(2))
    return tuple("".join("AB"[(first + day + k) % 2] for k in range(blocks_a_day)) for day in range(days))


def fours(days: int, fours_a_day: int, seed: int) -> tuple[tuple[str, ...], ...]:
    """The fours of each day, ``ABBA`` or ``BAAB``; of each two in flown order one is of either kind.

    Raises ValueError without a day or a four in it.
    """
    if days < 1 or fours_a_day < 1:
        raise ValueError("an order of fours needs a day and a four in it")
    generator = np.random.default_rng(seed)
    drawn: list[str] = []
    while len(drawn) < days * fours_a_day:
        first = int(generator.integers(2))
        drawn += [FOURS[first], FOURS[1 - first]]
    return tuple(tuple(drawn[day * fours_a_day : (day + 1) * fours_a_day]) for day in range(days))


def left_by_drift(design: Design) -> tuple[float, float]:
    """What a drift that nobody sees leaves in the difference: hours that multiply a straight one per hour, and hours
    squared that multiply a curved one per hour squared (about the middle of each day).
    """
    time = design.order.time
    return float(design.weights @ time), float(design.weights @ np.square(time))
