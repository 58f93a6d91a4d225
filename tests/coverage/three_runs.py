"""Three runs a side: what do the reading errors as a bound, and a documented repeatability, cost and gain?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from samesky.inference.estimate import estimate
from samesky.inference.repeatability import pool
from samesky.rehearsal.flight import brought_together, ready, true_on_scale, written
from samesky.rehearsal.scene import scene
from tests.coverage.orders import campaign, script

#: Degrees of freedom of the documentation.
DOCUMENTED = 10
ORDERS = ("pairs", "single swap")


def three_runs(campaigns: int, seed: int) -> str:
    """A table: coverage and median half width of the difference, by order, measure and method."""
    base = campaign()
    said = [
        "Three runs a side under a fair day with everything as stated: coverage of the 95 % interval, and its median "
        f"half width in per cent. Documented: a repeatability from earlier flights with {DOCUMENTED} degrees of "
        "freedom, right, or 0.7 times too small; its use is refused where the flights contradict it.",
        "",
        "| order, measure | scatter seen alone | readings as a bound (printed) | documented, right | documented, too small |",  # noqa: E501
        "| --- | ---: | ---: | ---: | ---: |",
    ]
    for order in ORDERS:
        flown = scene(script(base, order, 3))
        prepared = ready(flown)
        columns = written(flown, campaigns, np.random.default_rng(seed))
        for name, one in prepared.items():
            truth = true_on_scale(flown, name)
            y = one.table.measure.to_scale(brought_together(flown, one.table, columns[name])[2][-1].value)
            unread = tuple(replace(p, level=True) if p.scope == "run" else p for p in one.parts)
            alone, printed = estimate(one.design, y, unread), estimate(one.design, y, one.parts)
            true_scatter = float(np.sqrt(np.mean(np.square(alone.scatter))))
            rng = np.random.default_rng(seed)
            cells = [_cell(alone, truth), _cell(printed, truth)]
            for factor in (1.0, 0.7):
                # The documentation is itself an estimate, so it is drawn anew for every campaign.
                drawn = factor * true_scatter * np.sqrt(rng.chisquare(DOCUMENTED, campaigns) / DOCUMENTED)
                cells.append(_pooled(alone, drawn, truth))
            said.append(f"| {order}, {name} | " + " | ".join(cells) + " |")
    return "\n".join([*said, ""])


def _pooled(found, drawn: np.ndarray, truth: float) -> str:
    """Each campaign with the documentation drawn for it, in classes of like size so that one call serves many."""
    edges = np.quantile(drawn, np.linspace(0.0, 1.0, 81))
    classes = np.clip(np.searchsorted(edges, drawn), 1, 80)
    low, high = np.empty(drawn.size), np.empty(drawn.size)
    for each in np.unique(classes):
        chosen = classes == each
        low[chosen], high[chosen] = (
            end[chosen] for end in pool(found, float(np.median(drawn[chosen])), DOCUMENTED).estimate.interval()
        )
    return _said(low, high, truth)


def _cell(found, truth: float) -> str:
    return _said(*found.interval(), truth)


def _said(low: np.ndarray, high: np.ndarray, truth: float) -> str:
    covered = np.mean((low <= truth) & (truth <= high))
    return f"{100 * covered:.1f} %, ±{100 * np.median(high - low) / 2:.1f}"
