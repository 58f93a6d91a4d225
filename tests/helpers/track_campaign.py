"""A campaign that is to be filled from a track: two configurations, the measures that are asked for, nothing flown."""

from __future__ import annotations

from pathlib import Path

#: Smallest differences that matter, where they are not 2 %.
SIZES = {"level_speed": "2 kt", "takeoff_roll": "5 %", "landing_roll": "5 %"}


def toml(*measures: str, title: str = "By track", primary: str = "", more: str = "") -> str:
    """``campaign.toml``; the first measure is primary unless another is named, ``more`` is added at its end."""
    lines = [f'title = "{title}"', 'baseline = "A"']
    lines += ["[configuration.A]", 'label = "as it was"', "[configuration.B]", 'label = "changed"']
    for name in measures:
        lines.append(f"[measure.{name}]")
        if name == (primary or measures[0]):
            lines.append("primary = true")
        lines.append(f'smallest_difference_that_matters = "{SIZES.get(name, "2 %")}"')
    return "\n".join(lines) + "\n" + more


def put(folder: Path, text: str) -> Path:
    """The campaign in a new folder of this name."""
    folder.mkdir()
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    return folder
