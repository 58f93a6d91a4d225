"""Speed of the statistics, as ratios to general libraries on the same data. Nothing here asserts a time."""

import warnings

import numpy as np
import pytest
from short_form import sizes

from samesky.inference import exact, verdict
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder


def seconds(benchmark) -> float:
    return benchmark.stats.stats.min


def told(capsys, text: str) -> None:
    with capsys.disabled():
        print(f"\n    {text}")


def alternating(pairs: int) -> FlownOrder:
    configuration = np.resize([0, 1, 1, 0, 1, 0, 0, 1], 2 * pairs)
    n = configuration.size
    return FlownOrder(configuration, np.arange(n), np.zeros(n), 0.25 * np.arange(n), False)


def blocks(letters: str, each: int) -> FlownOrder:
    k = np.repeat(np.arange(len(letters)), each)
    configuration = np.repeat([int(letter == "B") for letter in letters], each)
    return FlownOrder(configuration, k, np.zeros(k.size), 0.25 * np.arange(k.size) + 0.75 * k, True)


def best_of(function, repeats: int = 5) -> float:
    from timeit import Timer

    timer = Timer(function)
    number, _ = timer.autorange()
    return min(timer.repeat(repeats, max(1, number // 4))) / max(1, number // 4)


@pytest.mark.parametrize("n", sizes(6, 8, 10, below=6))
def test_exact_sign_flip_p_against_scipy(benchmark, capsys, n):
    from scipy import stats

    d = np.random.default_rng(n).normal(0.5, 1.0, n)
    theirs = best_of(
        lambda: stats.permutation_test(
            (d,), lambda x, axis: x.mean(axis=axis), permutation_type="samples", vectorized=True, n_resamples=np.inf
        ),
        3,
    )
    benchmark(lambda: exact.sign_flip_p(d))
    told(capsys, f"sign flips, {n} pairs: {theirs / seconds(benchmark):.0f}x scipy's p")


@pytest.mark.parametrize("n", sizes(4, 6, 8, below=4))
def test_exact_relabelling_p_against_scipy(benchmark, capsys, n):
    from scipy import stats

    rng = np.random.default_rng(n)
    a, b = rng.normal(size=n), rng.normal(0.8, 1.0, n)
    y, labels = np.concatenate([a, b]), np.repeat([0, 1], n)
    theirs = best_of(
        lambda: stats.permutation_test(
            (b, a), lambda x, y, axis: x.mean(axis=axis) - y.mean(axis=axis), vectorized=True, n_resamples=np.inf
        ),
        3,
    )
    benchmark(lambda: exact.relabelling_p(y, labels))
    told(capsys, f"relabelling, {n} a side: {theirs / seconds(benchmark):.0f}x scipy's p")


@pytest.mark.parametrize(("name", "flown"), [("alternating", alternating(8)), ("A B A", blocks("ABA", 4))])
def test_comparisons_a_second(benchmark, capsys, name, flown):
    """Ten thousand campaigns flown in one order: difference, interval and verdict."""
    n = flown.runs
    y = np.random.default_rng(1).normal(size=(10_000, n))
    design = recognise(flown)
    parts = (
        UncertaintyComponent("rigging", "installation", np.full(n, 0.5)),
        UncertaintyComponent("slope", "straight drift", np.full(n, 0.5)),
        UncertaintyComponent("walk", "wandering", np.full(n, 0.2)),
        UncertaintyComponent("stopwatch", "run", np.full(n, 0.1)),
    )

    def analysed():
        found = estimate(design, y, parts)
        return verdict.judge(found.interval(), found.interval(0.90), -1.0, 1.0, "larger")

    benchmark(analysed)
    told(capsys, f"{name}: {10_000 / seconds(benchmark):,.0f} comparisons a second")


def test_comparison_against_a_mixed_model(benchmark, capsys):
    """Three A B B A days: one comparison from the order on, against a statsmodels mixed model of the same runs."""
    import pandas as pd
    import statsmodels.formula.api as smf

    flown = alternating(8)
    day = np.arange(16) // 4
    flown = FlownOrder(flown.configuration, flown.installation, day, flown.hours, False)
    y = np.random.default_rng(2).normal(size=16) + day
    frame = pd.DataFrame({"y": y, "configuration": flown.configuration, "day": day, "time": flown.time})

    def mixed():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            smf.mixedlm("y ~ configuration + time", frame, groups=frame["day"]).fit()

    theirs = best_of(mixed, 3)
    names = ("configuration", "installation", "day", "hours")

    def ours():
        again = FlownOrder(*(getattr(flown, name) for name in names), False)
        found = estimate(recognise(again), y)
        return verdict.judge(found.interval(), found.interval(0.90), -1.0, 1.0, "larger")

    benchmark(ours)
    design, many = recognise(flown), np.random.default_rng(3).normal(size=(10_000, 16))
    each = best_of(lambda: estimate(design, many).interval()) / len(many)
    told(
        capsys,
        f"one comparison, order and all: {theirs / seconds(benchmark):.0f}x a mixed model; "
        f"of ten thousand in one order: {theirs / each:,.0f}x",
    )
