"""How long do `samesky check` and `samesky report` take, beside an interpreter that only imports what others would?

Goals: check within 3 times an interpreter importing pandas; report within 4 times one importing numpy, scipy.stats,
pandas and matplotlib.pyplot. The ratio is printed, never asserted.
"""

from __future__ import annotations

import subprocess
import sys
import time

import pytest
from short_form import size

from samesky.simulator.examples.catalogue import EXAMPLES, write_example

#: Starts of each; the median counts, in turn so that a busy machine slows both alike.
STARTS = size(7, 1)

PANDAS = "import pandas"
ALL = "import numpy, scipy.stats, pandas, matplotlib.pyplot"


def start(*words: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, capture_output=True)
    return time.perf_counter() - began


@pytest.mark.parametrize("name", sorted(EXAMPLES)[: size(len(EXAMPLES), 1)])
@pytest.mark.parametrize(("verb", "bare", "goal"), [("check", PANDAS, 3), ("report", ALL, 4)])
def test_beside_bare_imports(benchmark, tmp_path, name, verb, bare, goal):
    folder = write_example(name, tmp_path / name)
    words = ("-m", "samesky.cli", verb, str(folder))
    start(*words), start("-c", bare)
    bare_times = []

    def between():
        bare_times.append(start("-c", bare))

    benchmark.pedantic(lambda: start(*words), setup=between, rounds=STARTS)
    ours, theirs = benchmark.stats.stats.median, sorted(bare_times)[STARTS // 2]
    benchmark.extra_info["ratio"] = ours / theirs
    print(f"\n{verb} {name}: {ours:.2f} s, {bare!r} {theirs:.2f} s, ratio {ours / theirs:.2f} (goal {goal})")
