"""How is a reduction put down as a table that others can check?"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.campaign.tables.write import table_text, write_folder, write_together
from samesky.reduction.reduction import Reduction

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Significant digits of the largest result as flown; everything else has as many places behind the point.
DIGITS = 6


def write_reduction(reduction: Reduction, unit: str, folder: Path) -> Path:
    """Write one CSV file, a row a run: as flown, every correction by name, reduced value, standard uncertainty.

    ``unit`` is that of all these numbers. Gives the path. Raises CampaignError where it cannot be written.

    Parameters
    ----------
    reduction : the reduced table
    unit : unit in which results are written, as people write it
    folder : folder of the new file
    """
    return write_reductions([(reduction, unit)], folder)[0]


def write_reductions(reductions: Sequence[tuple[Reduction, str]], folder: Path) -> list[Path]:
    """Write one file each, all of them or none; give their paths. Parameters and errors of :func:`write_reduction`.

    Parameters
    ----------
    reductions : reductions, each with the unit of its results
    folder : folder of the new file
    """
    folder = Path(folder)
    files = {f"{one.table.measure.name}.csv": reduction_text(one, unit) for one, unit in reductions}
    if os.path.isdir(folder):
        return write_together(folder, files)
    write_folder(folder, files)
    return [folder / name for name in files]


def reduction_text(reduction: Reduction, unit: str) -> str:
    """The text of one such file.

    Parameters
    ----------
    reduction : the reduced table
    unit : unit in which results are written, as people write it
    """
    table, dimension = reduction.table, reduction.table.measure.dimension
    zero = units.from_si(0.0, unit, dimension)

    largest = np.nanmax(np.abs(units.from_si(reduction.steps[0].value, unit, dimension)), initial=1e-9)
    digits = max(0, DIGITS - 1 - int(np.floor(np.log10(largest))))

    def shown(values: Floats) -> list[str]:
        return [_fixed(value, digits) for value in units.from_si(values, unit, dimension)]

    def difference(values: Floats) -> list[str]:
        # Taking the zero off keeps a difference of temperatures a difference.
        return [_fixed(value, digits) for value in units.from_si(values, unit, dimension) - zero]

    columns = {
        "run": table.text["run"],
        "row": [str(row) for row in table.rows],
        "configuration": list(table.configuration),
        "installation": [str(number + 1) for number in table.installation],
        f"as flown [{unit}]": shown(reduction.steps[0].value),
        **{f"{name} [{unit}]": difference(change) for name, change in reduction.corrections.items()},
        f"reduced [{unit}]": shown(reduction.value),
        f"standard uncertainty [{unit}]": difference(reduction.standard_uncertainty),
        "exclude": table.text["exclude"],
    }
    rows = zip(*columns.values(), strict=True)
    return table_text(list(columns), rows)


def _fixed(value: float, digits: int) -> str:
    """So many places behind the point, without a minus sign on zero; blank for NaN."""
    text = "" if np.isnan(value) else f"{value:.{digits}f}"
    return text.removeprefix("-") if text and float(text) == 0 else text
