"""How long does a typed cell take, as a ratio to one comparison of the same campaign? Nothing here asserts a time."""

from __future__ import annotations

from itertools import count

import pytest
from worksheet_client import STEM, Visitor, index, put_campaign

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.simulator.examples.catalogue import write_example


def told(capsys, text: str) -> None:
    with capsys.disabled():
        print(f"\n    {text}")


def best_of(function, repeats: int = 7) -> float:
    from timeit import repeat

    return min(repeat(function, number=1, repeat=repeats))


@pytest.mark.parametrize("which", ["one measure, 8 runs", "four measures, 70 runs"])
def test_a_typed_cell_against_one_comparison(benchmark, capsys, tmp_path, which):
    """From the page's request to the verdict in its answer: the cell kept on the disk, read, checked, compared."""
    small = which.startswith("one")
    folder = put_campaign(tmp_path) if small else write_example("finer_pitch", tmp_path / "climbs")
    campaign = read(folder)
    one = best_of(lambda: compare(campaign))
    visitor = Visitor(tmp_path)
    state = visitor.state()
    elapsed = index(state["header"], "elapsed")
    # Each number is new: no answer that is remembered serves.
    rows, texts = state["rows"], (f"{91 + k / 100:.2f}" for k in count())

    def type_one():
        nonlocal rows
        sent = {"row": 1, "column": elapsed, "text": next(texts), "seen": rows[1]}
        answer = visitor.send(f"/c/climbs/runs/{STEM}/cell", sent)
        assert answer.status_code == 200
        rows = answer.json()["rows"]

    benchmark.pedantic(type_one, rounds=20, warmup_rounds=2)
    seconds = benchmark.stats.stats.median
    told(capsys, f"a cell, {which}: {seconds * 1e3:.0f} ms, {seconds / one:.2f}x one comparison ({one * 1e3:.0f} ms)")
