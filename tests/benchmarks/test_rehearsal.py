"""How fast is a rehearsal? Ratios and rates are printed, times never asserted."""

from __future__ import annotations

import time
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from short_form import size, sizes
from statsmodels.regression.mixed_linear_model import MixedLM

from samesky.campaign.reading.read import read
from samesky.rehearsal.flight import brought_together, fly, ready, written
from samesky.rehearsal.rehearse import flown_all, with_truth
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import script

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"


@pytest.fixture(scope="module")
def four_measures():
    """Ten blocks in two mornings, 69 runs of four measures; and the same with twelve runs a measure at most."""
    base = with_truth(scene(script(read(DATA / "finer_pitch"))), 1.0)
    return base, ready(base)


def rate(base, prepared, campaigns: int) -> float:
    start = time.perf_counter()
    fly(base, prepared, campaigns, np.random.default_rng(1))
    return campaigns / (time.perf_counter() - start)


def test_campaigns_from_sky_to_verdict(benchmark, four_measures):
    base, prepared = four_measures
    benchmark(fly, base, prepared, size(500, 50), np.random.default_rng(1))
    runs = sum(len(table.rows) for table in base.script.tables.values())
    print(f"\n{size(500, 50) / benchmark.stats.stats.median:.0f} whole campaigns a second: four measures, {runs} runs")


def test_against_a_mixed_model(benchmark, four_measures):
    """The same comparison of one measure by a mixed model, installations as groups (statsmodels)."""
    base, prepared = four_measures
    benchmark(fly, base, prepared, size(500, 50), np.random.default_rng(1))
    ours = benchmark.stats.stats.median / size(500, 50) / len(prepared)
    table = base.script.tables["timed_climb"]
    columns = written(base, size(20, 2), np.random.default_rng(1))["timed_climb"]
    y = np.log(brought_together(base, table, columns)[2][-1].value)
    model = pd.DataFrame(
        {"other": (table.configuration == "B").astype(float), "hours": table.hours % 24, "day": table.day}
    )
    model.insert(0, "one", 1.0)
    start = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for values in y:
            MixedLM(values, model, groups=table.installation).fit(reml=True)
    theirs = (time.perf_counter() - start) / len(y)
    print(
        f"\na comparison with its simulation and reduction {1e6 * ours:.0f} us, a mixed model alone "
        f"{1e6 * theirs:.0f} us: {theirs / ours:.0f} times slower"
    )


def test_ten_thousand_campaigns_on_two_cores(benchmark, four_measures):
    base, prepared = four_measures
    benchmark.pedantic(lambda: flown_all([base], [prepared], size(10_000, 500), 1, jobs=2), rounds=1)
    print(f"\n{size(10_000, 500):,} campaigns rehearsed in {benchmark.stats.stats.median:.1f} s with two processes")


def test_cost_is_linear(benchmark, four_measures):
    base, prepared = four_measures

    def costs():
        found = {}
        for campaigns in sizes(100, 1000, 10_000, 100_000, below=100):
            start = time.perf_counter()
            flown_all([base], [prepared], campaigns, 1)
            found[campaigns] = (time.perf_counter() - start) / campaigns
        return found

    found = benchmark.pedantic(costs, rounds=1)
    print("\n" + ", ".join(f"{n} campaigns {1e6 * each:.0f} us each" for n, each in found.items()))
