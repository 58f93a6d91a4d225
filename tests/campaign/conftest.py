"""A sound campaign in a folder of its own, to be spoilt one way at a time."""

from __future__ import annotations

import pytest
from sound_campaign import CLIMB, ROLL, TOML


@pytest.fixture
def sound(tmp_path):
    """The folder of the sound campaign; files are replaced by name."""

    def write(**files: str | bytes | None):
        folder = tmp_path / "campaign"
        folder.mkdir(exist_ok=True)
        texts = {"campaign.toml": TOML, "takeoff_roll.csv": ROLL, "timed_climb.csv": CLIMB}
        texts |= {name.replace("__", "."): text for name, text in files.items()}
        for name, text in texts.items():
            if text is None:
                (folder / name).unlink(missing_ok=True)
            else:
                (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return folder

    return write
