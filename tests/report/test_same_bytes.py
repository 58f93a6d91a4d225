"""The same bytes of report and JSON whatever the processor: its kernels for linear algebra differ in the last bits.

``OPENBLAS_CORETYPE`` makes OpenBLAS take the kernels of another processor: Prescott's are those of 2004.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from samesky.campaign.messages.phrases import meant
from samesky.report.picture import for_both_screens
from samesky.simulator.examples.catalogue import write_example

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
VERBS = (("compare", "--json"), ("report", "--out", "report.html"), ("plan", "--json"))


def told(verb: tuple[str, ...], folder, kernel: str) -> bytes:
    environment = {**os.environ, "OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": "1"}
    words = [sys.executable, "-m", "samesky.cli", verb[0], str(folder), *verb[1:]]
    done = subprocess.run(words, cwd=folder, env=environment, check=True, capture_output=True)
    return (folder / "report.html").read_bytes() if verb[0] == "report" else done.stdout


SOME = [VERBS[0], *(pytest.param(verb, marks=pytest.mark.slow) for verb in VERBS[1:])]


@pytest.mark.parametrize("verb", SOME, ids=[verb[0] for verb in VERBS])
def test_two_kernels_give_the_same_bytes(tmp_path, verb):
    folder = tmp_path / "campaign"
    if verb[0] == "plan":
        shutil.copytree(DATA / "breezy_noon", folder)
    else:
        write_example("finer_pitch", folder)
    assert told(verb, folder, "Haswell") == told(verb, folder, "Prescott")


@pytest.mark.parametrize(
    ("value", "shown"), [(-5.400558566934754, -5.40056), (3e-17, 0.0), (1234567.0, 1234570.0), (float("nan"), None)]
)
def test_numbers_for_machines_have_the_figures_that_mean_something(value, shown):
    assert meant(value) == shown


def test_coordinates_are_drawn_to_a_hundredth_and_scales_kept():
    svg = '<svg><path d="M 1.234567 -0.001 L 10.5 -0.996" transform="scale(0.015625 -0.0975)"/></svg>'
    drawn = for_both_screens(svg)
    assert 'd="M 1.23 0 L 10.5 -1" transform="scale(0.015625 -0.0975)"' in drawn
