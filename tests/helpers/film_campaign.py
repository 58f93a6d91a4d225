"""A morning of rolls filmed from beside the strip, with known truth, as the files of a campaign."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from filmed import films

from samesky.instruments.roll_film import FilmSetup

FILM = """\
[film]
frame_rate = 60
markers = ["90 m", "115 m", "140 m", "165 m"]
marker_offset = "6 m"
camera = "120 m"
camera_distance = "35 m"
readout = "20 ms"
"""
TOML = f"""\
title = "Rolls on film"
baseline = "A"
date = "2025-06-14"
[configuration.A]
label = "as it was"
[configuration.B]
label = "changed"
[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "5 %"
{FILM}"""
SETUP = FilmSetup(
    frame_rate=60.0,
    markers=np.array([90.0, 115.0, 140.0, 165.0]),
    marker_offset=6.0,
    camera=120.0,
    camera_distance=35.0,
    readout=0.02,
)
ORDER = "AABBAABBAABB"
#: What the rolls really were [m].
TRUTH = np.where([key == "A" for key in ORDER], 140.0, 126.0) + np.tile([-2.0, 1.5, 0.5], 4)
HEADER = "run,brakes released,marker 1,marker 2,marker 3,marker 4,lift-off,uncertain frames,notes"


def roll_file(readings: dict[int, str] | None = None, unit: str = "m") -> str:
    """The runs as typed on the day, their rolls blank but for ``readings`` by run."""
    rows = [f"run,clock,configuration,ground roll [{unit}],exclude,notes"]
    rows += [
        f"{k},{7 + k // 6:02d}:{k % 6 * 10:02d},{key},{(readings or {}).get(k, '')},,"
        for k, key in enumerate(ORDER, start=1)
    ]
    return "\n".join(rows) + "\n"


def frame_file(seed: int = 4, **changed: str) -> str:
    """The frames; ``changed`` replaces rows by ``run_K``."""
    seen = films(np.random.default_rng(seed), SETUP, TRUTH, alike=True)
    rows = [HEADER]
    for k in range(len(TRUTH)):
        cells = [seen.brakes[k], *seen.passages[k], seen.lift_off[k]]
        row = ",".join([str(k + 1), *(f"{cell + 10_000:.0f}" for cell in cells), "", ""])
        rows.append(changed.get(f"run_{k + 1}", row))
    return "\n".join(rows) + "\n"


def put_campaign(folder: Path, **files: str) -> Path:
    """Write the campaign; ``files`` replaces the text of a file by its name without ending, ``""`` leaves it out."""
    texts = {"campaign.toml": TOML, "takeoff_roll.csv": roll_file(), "filmed_rolls.csv": frame_file()}
    texts |= {f"{name}.{'toml' if name == 'campaign' else 'csv'}": text for name, text in files.items()}
    folder.mkdir(parents=True)
    for name, text in texts.items():
        if text:
            (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder
