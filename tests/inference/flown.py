"""Flown orders and simulated scatter for the tests of this room."""

from __future__ import annotations

import numpy as np

from samesky.inference.budget import UncertaintyComponent, covariance
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder


def order(
    letters: str, fitted_anew: bool = False, days=None, gap: float = 0.25, swap: float = 0.0, each: int = 1
) -> FlownOrder:
    """``"ABBA"`` with ``each`` runs a letter; ``days`` a day for each letter, ``|`` in the letters starts a new day.

    Where parts are fitted anew every letter is a new installation.
    """
    if "|" in letters:
        days = [day for day, part in enumerate(letters.split("|")) for _ in part]
        letters = letters.replace("|", "")
    days = [0] * len(letters) if days is None else list(days)
    configuration, installation, day, hours = [], [], [], []
    clock = 0.0
    for k, letter in enumerate(letters):
        if k and days[k] != days[k - 1]:
            clock = 0.0
        elif k and letter != letters[k - 1]:
            clock += swap
        for _ in range(each):
            configuration.append(int(letter == "B"))
            installation.append(k)
            day.append(days[k])
            hours.append(clock)
            clock += gap
    return FlownOrder(configuration, installation, day, hours, fitted_anew)


def scatter(
    flown: FlownOrder, rng, campaigns: int, white: float = 1.0, parts: tuple[UncertaintyComponent, ...] = ()
) -> np.ndarray:
    """Values (campaigns, n) without any difference: white noise, and one draw a campaign of every stated part."""
    y = white * rng.standard_normal((campaigns, flown.runs))
    for part in parts:
        values, vectors = np.linalg.eigh(covariance(part, flown))
        y += (rng.standard_normal((campaigns, flown.runs)) * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
    return y


def coverage(
    flown: FlownOrder, y: np.ndarray, parts: tuple[UncertaintyComponent, ...] = (), level: float = 0.95
) -> float:
    """Share of intervals that hold the true difference, zero."""
    low, high = estimate(recognise(flown), y, parts).interval(level)
    return float(np.mean((low <= 0) & (high >= 0)))


def band(campaigns: int, low: float = 0.94, high: float = 0.96, at: float = 0.95) -> tuple[float, float]:
    """A pass band widened by three standard errors of the simulated share."""
    error = 3.0 * np.sqrt(at * (1.0 - at) / campaigns)
    return low - error, high + error


def rigging(flown: FlownOrder, size: float) -> UncertaintyComponent:
    return UncertaintyComponent("rigging", "installation", np.full(flown.runs, size), level=True)


def straight(flown: FlownOrder, size: float) -> UncertaintyComponent:
    return UncertaintyComponent("unseen straight drift", "straight drift", np.full(flown.runs, size), level=True)


def wander(flown: FlownOrder, size: float) -> UncertaintyComponent:
    return UncertaintyComponent("unseen wandering", "wandering", np.full(flown.runs, size), level=True)
