"""Which ready-made campaigns are there to try everything on, with known truth?

Invented, people-free, made by the simulator from a seed and written exactly as a pilot's folder would be, with a
``TRUTH.md`` beside it that says what was really there.
``python -m samesky.simulator.examples.catalogue DIR`` writes all of them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import listed, nearest
from samesky.campaign.tables.write import campaign_files, write_folder
from samesky.simulator import catalogue as say
from samesky.simulator.examples.finer_pitch import FINER_PITCH
from samesky.simulator.examples.one_saturday import ONE_SATURDAY
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.truth import truth_text
from samesky.simulator.examples.two_pitches import TWO_PITCHES
from samesky.simulator.examples.warming_day import WARMING_DAY
from samesky.simulator.examples.wheel_fairings import WHEEL_FAIRINGS
from samesky.simulator.examples.willing_hands import WILLING_HANDS
from samesky.simulator.writing import Table, campaign_tables

#: The examples by name, which is also their folder's.
EXAMPLES: dict[str, Example] = {
    one.name: one for one in (FINER_PITCH, WARMING_DAY, WHEEL_FAIRINGS, WILLING_HANDS, ONE_SATURDAY, TWO_PITCHES)
}


def write_example(name: str, folder: Path, replace: bool = False) -> Path:
    """Write one example campaign, invented and with known truth.

    Parameters
    ----------
    name : str
        ``"finer_pitch"``, ``"warming_day"``, ``"wheel_fairings"``, ``"willing_hands"``, ``"one_saturday"`` or
        ``"two_pitches"``.
    folder : path
        Of a folder that is not there yet, or is empty.
    replace : bool
        Write into a folder that holds files all the same.

    Returns
    -------
    Path
        The folder: ``campaign.toml``, a CSV file a measure in everyday units, and ``TRUTH.md``.

    Raises
    ------
    CampaignError
        There is no example of this name, the folder cannot be written, or it holds files already and ``replace`` is
        false.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> folder = samesky.write_example("finer_pitch", Path(mkdtemp()) / "finer_pitch")
    >>> (folder / "takeoff_roll.csv").read_text(encoding="utf-8").split(",")[4]
    'oat [degC]'
    """
    if name not in EXAMPLES:
        near = nearest(name, EXAMPLES)
        raise cannot(
            name, say.EXAMPLE_UNKNOWN(what=f"Did you mean {near!r}?" if near else f"There are {listed(EXAMPLES)}.")
        )
    folder = Path(folder)
    if folder.is_dir() and any(folder.iterdir()) and not replace:
        raise cannot(folder, say.EXAMPLE_FOLDER_NOT_EMPTY())
    return write_folder(folder, example_files(name))


def example_files(name: str) -> dict[str, str]:
    """The texts of an example's files by name, what was really there among them."""
    example = EXAMPLES[name]
    files = campaign_files(example.toml, tables_of(example))
    return files | {"TRUTH.md": truth_text(example, files)}


def tables_of(example: Example) -> dict[str, Table]:
    """Header and rows of every file of the example, simulated from its seed."""
    rng = np.random.default_rng(example.seed)
    return campaign_tables(example.scenario, example.hand, rng, example.remarks, example.with_installation)


def write_all(folder: Path) -> list[Path]:
    """Write every example to a folder of its own name in ``folder``."""
    return [write_example(name, Path(folder) / name, replace=True) for name in EXAMPLES]


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python -m samesky.simulator.examples.catalogue DIR")
    for place in write_all(Path(sys.argv[1])):
        print(place)
