"""What do standard methods make of the same reduced runs? Many campaigns at once, by the textbook's arithmetic.

Welch's t (Biometrika 34 (1947) 28), the paired t of neighbours, least squares on configuration and day with and without
a slope of each day, and the t test of block means within days, which is the mixed model of balanced blocks. The
tests hold each against scipy or statsmodels.
"""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from tests.worlds.flown import Order

#: Fewest degrees of freedom at which a method is worth the name (chosen).
FEWEST = 2


def welch(y: np.ndarray, script: Order) -> tuple[np.ndarray, np.ndarray]:
    """Difference B less A and half width of the 95 % interval, of y (campaigns, n)."""
    a, b = (y[:, script.configuration == key] for key in "AB")
    va, vb = (one.var(axis=1, ddof=1) / one.shape[1] for one in (a, b))
    df = (va + vb) ** 2 / (va**2 / (a.shape[1] - 1) + vb**2 / (b.shape[1] - 1))
    return b.mean(axis=1) - a.mean(axis=1), stdtrit(df, 0.975) * np.sqrt(va + vb)


def paired(y: np.ndarray, script: Order) -> tuple[np.ndarray, np.ndarray] | None:
    """Of neighbouring runs of unlike configuration, each used once."""
    pairs, last = [], -1
    letters = script.letters
    for k in range(len(letters) - 1):
        if k > last and letters[k] != letters[k + 1] and script.day[k] == script.day[k + 1]:
            pairs.append((k, k + 1) if letters[k] == "A" else (k + 1, k))
            last = k + 1
    if len(pairs) < FEWEST + 1:
        return None
    a, b = np.array(pairs).T
    return _t(y[:, b] - y[:, a])


def _t(differences: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    count = differences.shape[1]
    return differences.mean(axis=1), stdtrit(count - 1, 0.975) * differences.std(axis=1, ddof=1) / np.sqrt(count)


def model(script: Order, slope: str, blocks: bool) -> tuple[np.ndarray, np.ndarray]:
    """Columns of least squares and the averages (k, n) that it works on: configuration, day levels, ``slope`` none,
    one, or own for each day."""
    unit = script.block if blocks else np.arange(len(script.letters))
    labels = np.unique(unit)
    averages = np.array([(unit == label) / np.sum(unit == label) for label in labels])
    other = averages @ (script.configuration == "B")
    days = np.unique(script.day)
    inside = np.array([averages @ (script.day == day) for day in days]).T
    wide = [other[:, None], inside]
    hours = averages @ script.hours
    if slope == "one":
        wide.append(hours[:, None] - hours.mean())
    elif slope == "own":
        wide.append(inside * (hours[:, None] - hours.mean()))
    return np.hstack(wide), averages


def least_squares(y: np.ndarray, script: Order, slope: str, blocks: bool) -> tuple[np.ndarray, np.ndarray] | None:
    """None where the order does not allow it. Block means are weighed alike."""
    x, averages = model(script, slope, blocks)
    df = x.shape[0] - np.linalg.matrix_rank(x)
    if np.linalg.matrix_rank(x) < x.shape[1] or df < FEWEST:
        return None
    inverse = np.linalg.pinv(x)
    means = y @ averages.T
    found = means @ inverse.T
    left = means - found @ x.T
    spread = np.sqrt(np.sum(left**2, axis=1) / df * (inverse @ inverse.T)[0, 0])
    return found[:, 0], stdtrit(df, 0.975) * spread


METHODS = {
    "Welch": welch,
    "paired t": paired,
    "runs on day": lambda y, o: least_squares(y, o, "none", False),
    "runs on day and slope": lambda y, o: least_squares(y, o, "one", False),
    "runs on day and own slope": lambda y, o: least_squares(y, o, "own", False),
    "blocks on day": lambda y, o: least_squares(y, o, "none", True),
    "blocks on day and slope": lambda y, o: least_squares(y, o, "one", True),
    "blocks on day and own slope": lambda y, o: least_squares(y, o, "own", True),
}


def all_of(y: np.ndarray, script: Order) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Every method that the order allows: difference and half width (campaigns,)."""
    found = {name: method(y, script) for name, method in METHODS.items()}
    return {name: one for name, one in found.items() if one is not None}
