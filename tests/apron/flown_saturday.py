"""The Saturday campaign with take-off rolls in it, block by block, so that what is asked on the apron has runs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import saturday

HEADER = (
    "run,date,clock,configuration,oat [degC],qnh [hPa],dew point [degC],fuel [L],ground roll [ft],"
    "lift-off airspeed [kt],headwind [kt],gust [kt],crosswind [kt],exclude,notes\n"
)


def rows(blocks: str, runs: int = 4, scatter: float = 0.03, difference: float = 0.0, seed: int = 1, **more) -> str:
    """One row a run: blocks such as ``"ABA"`` from 06:00, a run every 15 min and 15 more between blocks.

    ``difference`` of B on the logarithmic scale; ``crosswind`` [kt] at first, its ``rise`` an hour; ``every`` [min].
    """
    generator = np.random.default_rng(seed)
    minutes, lines, fuel, every = 360, [], 60.0, more.get("every", 15)
    for block, key in enumerate(blocks):
        for _ in range(runs):
            roll = 250.0 * np.exp(scatter * generator.standard_normal() + (difference if key == "B" else 0.0))
            cross = more.get("crosswind", 1.0) + more.get("rise", 0.0) * (minutes - 360) / 60
            lines.append(
                f"{len(lines) + 1},2026-05-09,{minutes // 60:02d}:{minutes % 60:02d},{key},10,1018,5,{fuel:.1f},"
                f"{roll:.1f},38,2,4,{cross:.2f},,{'refuelled' if block and fuel == 60.0 else ''}"
            )
            minutes, fuel = minutes + every, fuel - 4.5
        minutes, fuel = minutes + every, 60.0
    return "\n".join(lines) + "\n"


def write(folder: Path, text: str, *changes: tuple[str, str], measure: str = "takeoff_roll") -> Path:
    """The campaign with these rows in the file of one measure."""
    saturday.write(folder, *changes)
    (folder / f"{measure}.csv").write_text(HEADER + text, encoding="utf-8")
    return folder
