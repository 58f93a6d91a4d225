"""Campaign folders of a few static pulls, with a true difference, in one call."""

from __future__ import annotations

from pathlib import Path

import numpy as np


def pulls(
    folder: Path,
    difference: float = 0.05,
    seed: int = 0,
    title: str = "A club aeroplane",
    names: tuple[str, str] = ("old", "new"),
    order: str = "ABABAB",
    scatter: float = 0.01,
    margin: str = "2 %",
    blades: str = "",
) -> Path:
    """Write the folder; ``difference`` is the logarithm of the second's pull over the first's."""
    folder.mkdir(parents=True)
    detail = f'blades = "{blades}"\n' if blades else ""
    (folder / "campaign.toml").write_text(
        f'title = "{title}"\nquestion = "Which pulls harder?"\nbaseline = "{names[0]}"\n'
        f'[configuration.{names[0]}]\nlabel = "one"\n[configuration.{names[1]}]\nlabel = "two"\n{detail}'
        '[swap]\nkind = "refit"\n'
        f'[measure.static_pull]\nprimary = true\nsmallest_difference_that_matters = "{margin}"\nunit = "N"\n',
        encoding="utf-8",
    )
    rng = np.random.default_rng(seed)
    rows = ["run,date,clock,configuration,pull [N]"]
    for k, side in enumerate(order):
        pull = 1800.0 * np.exp((side == "B") * difference + rng.normal(0.0, scatter))
        rows.append(f"{k + 1},2026-05-09,{8 + k // 2:02d}:{30 * (k % 2):02d},{names[side == 'B']},{pull:.1f}")
    (folder / "static_pull.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return folder
