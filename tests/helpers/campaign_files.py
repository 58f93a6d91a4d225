"""campaign.toml of the template and of every synthetic campaign, for tests of its outline."""

from __future__ import annotations

from pathlib import Path

import pytest

from samesky.campaign.reading.template import template_files

TEMPLATE = template_files()["campaign.toml"]
DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
FILES = {"template": TEMPLATE}
FILES |= {path.parent.name: path.read_text(encoding="utf-8") for path in sorted(DATA.glob("*/campaign.toml"))}
every_file = pytest.mark.parametrize("text", FILES.values(), ids=FILES.keys())


def leaves(data, path=()):
    """Every entry of parsed tables: path, name, value."""
    for name, value in data.items():
        if isinstance(value, dict):
            yield from leaves(value, (*path, name))
        else:
            yield path, name, value
