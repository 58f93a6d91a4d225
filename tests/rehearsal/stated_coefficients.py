"""A campaign that states every coefficient of its corrections, as it has them."""

from __future__ import annotations

import shutil
from pathlib import Path

from samesky.campaign.reading.read import read


def with_its_coefficients(source: Path, folder: Path, flown: bool) -> Path:
    """A copy in ``folder`` whose ``campaign.toml`` states what the campaign's corrections rest on.

    Exponents follow from what was flown; a rehearsed campaign has flown something else, and with it its own exponents.
    Stated ones are the same in both.
    """
    shutil.copytree(source, folder)
    entries = [
        f'[coefficient.{name}."{one.name.replace(",", "")}"]\nvalue = {one.value!r}\n'
        f'uncertainty = {one.standard_uncertainty!r}\nsource = "a test"\n'
        for name, asked in read(source, flown=flown).asked.items()
        for one in asked.measure.coefficients
    ]
    file = folder / "campaign.toml"
    file.write_text(file.read_text(encoding="utf-8") + "\n" + "\n".join(entries), encoding="utf-8")
    return folder
