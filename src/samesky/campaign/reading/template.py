"""What does a pilot fill in? A campaign folder to start from, explained line by line.

The columns come from the measures themselves: a new measure has its file here without any change.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from textwrap import fill

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables.header import usual_unit
from samesky.campaign.tables.write import write_folder
from samesky.measures import MEASURES
from samesky.measures.shape import Column, Measure

#: The measure that a fresh campaign proposes as the deciding one; the first of all where it is not there.
PRIMARY = "takeoff_roll"
#: Columns numbered beyond this (legs of one run) are named in a remark and not in the header.
LEGS_SHOWN = 3
#: Columns that few files need: named in the remark, not in the header.
SELDOM = ("throttled",)
#: Cautions that hold for every campaign; each measure adds its own.
CAUTIONS = (
    "A turning propeller kills. Nobody stands in its plane or in front of it; before any static run: chocks, brakes, a "
    "tie-down that cannot slip, one person on the throttle and one who watches.",
    "Stay below the rpm limit, in the level run and the dive as well: a finer pitch over-speeds sooner.",
    "Know where you stop if it does not fly, before every run. Scrub rather than hurry: the last run of a tired crew "
    "proves nothing.",
)


def write_fresh(folder: Path | str, contents: Mapping[str, str | bytes]) -> Path:
    """Write files into a folder that is new or empty. Raises CampaignError where it is not, or cannot be written."""
    refuse_unless_empty(folder)
    return write_folder(Path(folder), contents)


def refuse_unless_empty(folder: Path | str) -> None:
    """Raises CampaignError where the folder holds something already, or cannot be opened."""
    folder = Path(folder)
    try:
        empty = not os.path.isdir(folder) or not os.listdir(folder)
    except OSError as error:
        raise cannot(folder, say.FOLDER_NOT_OPENED(reason=error.strerror)) from error
    if not empty:
        raise cannot(folder, say.FOLDER_NOT_EMPTY())


def template_files(workbook: bool = False) -> dict[str, str]:
    """The files of a fresh campaign, by name; with ``workbook`` its README speaks of sheets in place of files."""
    measures = list(MEASURES.values())
    primary = PRIMARY if PRIMARY in MEASURES else next(iter(MEASURES), "")
    return {
        "campaign.toml": _rendered("campaign.toml", measures=measures, primary=primary),
        "README.txt": readme_text(measures, workbook),
        **{f"{measure.name}.csv": measure_file(measure) for measure in measures},
    }


def readme_text(measures: Iterable[Measure], workbook: bool = False) -> str:
    """The README of a campaign of these measures, with the cautions of each."""
    own = (caution for measure in measures for caution in measure.cautions)
    cautions = [fill(text, 110, subsequent_indent="  ") for text in dict.fromkeys([*CAUTIONS, *own])]
    return _rendered("README.txt", cautions=cautions, workbook=workbook)


def columns_shown(measure: Measure) -> list[Column]:
    """The columns that a fresh file has, in its order."""
    return [column for column in _in_order(measure) if _is_shown(column)]


def _in_order(measure: Measure) -> list[Column]:
    return sorted(columns_of(measure), key=lambda column: column.name in ("exclude", "notes"))


def measure_file(measure: Measure) -> str:
    """The text of a fresh file of a measure: remarks that explain its columns, and the header."""
    shown = columns_shown(measure)
    return measure_text(measure, shown, {column.name: header_cell(column, measure) for column in shown})


def measure_text(measure: Measure, shown: Sequence[Column], cells: Mapping[str, str]) -> str:
    """The text of a file with these columns and these cells in its head; the others are named in a remark."""
    spare = ", ".join(column.name for column in _in_order(measure) if column not in shown)
    return _rendered(
        "measure.csv",
        measure=measure,
        columns=list(shown),
        cells=dict(cells),
        header=",".join(cells.values()),
        more=spare,
    )


def _is_shown(column: Column) -> bool:
    number = column.name.rpartition(" ")[2]
    if column.name in SELDOM:
        return False
    return not number.isdigit() or int(number) <= LEGS_SHOWN


def header_cell(column: Column, measure: Measure) -> str:
    """The header cell that a fresh file has for a column: its name, and a usual unit where it needs one."""
    if column.dimension == "text" or fits(column.name, column.dimension):
        return column.name
    if column.dimension == "fraction" and not measure.common:
        # Frames are counted.
        return column.name
    unit = usual_unit(column)
    if column.dimension == measure.dimension and column.name in measure.result:
        unit = measure.unit
    return f"{column.name} [{unit}]"


@cache
def _environment():
    from jinja2 import Environment, StrictUndefined

    return Environment(undefined=StrictUndefined, keep_trailing_newline=True, autoescape=False)


def _rendered(name: str, **values: object) -> str:
    text = (files("samesky.campaign") / "templates" / name).read_text(encoding="utf-8")
    return _environment().from_string(text).render(values)
