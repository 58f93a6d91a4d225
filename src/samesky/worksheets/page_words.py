"""What a table, an entry or a message about ``campaign.toml`` is called on the pages, where nobody sees that file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from samesky.campaign.entries.outline import Group
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.toml.section import FILE
from samesky.measures import MEASURES

#: Kinds of tables whose heading is not simply their path.
HEADINGS = {
    ("aeroplane", "station"): "Station:",
    ("aeroplane", "fuel"): "Fuel",
    ("coefficient",): "Coefficient of a correction:",
    ("film",): "How rolls were filmed",
    ("instrument",): "Error source:",
    ("limits",): "Limits",
    ("measure",): "Measure:",
    ("mission",): "Kind of flying:",
    ("papers",): "What the papers ask",
    ("plan",): "Plan",
    ("reference",): "Reference conditions",
    ("swap",): "Changing from one to the other",
}
#: Remarks of the template that speak of the file itself, and what stands on the pages in their place.
HELP = {
    "One table for each configuration; the word after the point is what the files have in their column "
    "'configuration'.": "Its name is what the runs have under configuration.",
    "One table for each kind of flying that you do. Known by name, with what each asks: short_strip (roll and climb "
    "out), climb, cross_country (speed, fuel), economy (fuel), noise.": (
        "Known by name, with what each asks: short strip (roll and climb out), climb, cross country (speed, fuel), "
        "economy (fuel), noise."
    ),
    "For a kind of your own, or to weigh otherwise, name the measures that count, more for those that count more.": (
        "For a kind of your own, or to weigh otherwise, give a number to each measure that counts, a larger one where "
        "it counts more."
    ),
    "One table for each measure that you fly, and one file of runs of the same name. Delete those you do not fly.": "",
    "a file cabin_noise.csv with a column 'cabin noise [..]', and a table like this": "cabin noise, say",
    "One table for each DIRECTION of a strip": "Each DIRECTION of a strip stands by itself",
    "With one table the files need no column 'runway'.": "With one alone, the runs need not name it.",
    "One value is the most; two in brackets are the least and the most.": (
        "One value is the most; two with a comma, such as 43 kt, 47 kt, are the least and the most."
    ),
    "Without this table:": "Left empty:",
    "A table of the same name takes the place of one; another name adds one.": (
        "One of the same name takes its place; another name adds one."
    ),
    "The frames go into a file filmed_rolls.csv (`samesky film THIS_FOLDER --begin` writes one), one row a run; then "
    "`samesky film` fills the blank cells of the runs.": (
        "The frames go into a table that is begun under Evidence, one row a run; there they fill the blank cells."
    ),
    "everywhere: [coefficient.MEASURE.NAME], names as the report's list of coefficients has them.": (
        "everywhere; measure and name are those of the report's list of coefficients."
    ),
    "and leave the column 'date' out of the files": "and leave it out of the runs",
    "without this line the first one below": "left empty, the first one below",
    "without this line the planning value": "left empty, the planning value",
}
_EXAMPLE = re.compile(r"((?:For example|From one start to the next): )[^=\"]+ = ")
#: A line of the file with its value left open, and two values of one as the file has them.
_OPEN, _TWO = re.compile(r' [a-z_0-9-]+ = "… ?[^"]*"'), 'For example: ["…", "…"],'


def heading(path: tuple[str, ...]) -> str:
    """What a table is called: ``("measure", "timed_climb")`` is "Measure: timed climb"."""
    if not path:
        return "Title and question"
    head = next((path[:count] for count in (2, 1) if path[:count] in HEADINGS), None)
    rest = " ".join(path if head is None else path[len(head) :]).replace("_", " ")
    if head in (("measure",), ("plan",)) and path[-1] in MEASURES:
        rest = MEASURES[path[-1]].title
    return rest if head is None else f"{HEADINGS[head]} {rest}".strip()


def away(path: tuple[str, ...]) -> str:
    """What the button says that takes a table away: ``("measure", "timed_climb")`` is "Remove the timed climb"."""
    known = MEASURES.get(path[-1]) if path[0] in ("measure", "plan") else None
    return f"Remove {path[-1].replace('_', ' ') if known is None else f'the {known.title}'}"


def help_words(text: str) -> str:
    """A remark of the template, for somebody who fills in a page."""
    for said, instead in HELP.items():
        text = text.replace(said, instead)
    return text.replace("`", "").strip()


def entry_words(finding: Finding) -> str:
    """What is wrong with an entry, shown right under it."""
    words = _EXAMPLE.sub(r"\1", _OPEN.sub("", finding.words()))
    return words.replace(_TWO, "One with its unit, or two with a comma between them:").strip()


def sentence(finding: Finding) -> str:
    """A finding in one line; one about ``campaign.toml`` names the page, the heading and the entry there.

    One that names a line of that file and no entry stays as it is: there the file itself is shown.
    """
    if finding.file != FILE or (finding.row is not None and finding.column is None):
        return finding.sentence()
    table, _, name = (finding.column or "").rpartition("]")
    path = tuple(part.strip().strip('"') for part in table.strip(" [").split(".")) if table.strip(" [") else ()
    place = [heading(path).replace(":", "")] if path else []
    place = place if path[:1] == ("plan",) else ["Question", *place]
    place += [name.strip().replace("_", " ")] if name.strip() else []
    words = entry_words(finding).replace("delete the table", "take the measure away")
    return f"{', '.join(dict.fromkeys(place))}: {words}"


@lru_cache
def peeking(looks: int = 5) -> str:
    """What reading the verdict so often on the way costs, against the 5 % that a 95 % interval promises."""
    from samesky.apron.looks import false_alarm

    return (
        f"Checking after each of {looks} blocks and stopping when the answer pleases finds false differences "
        f"{100.0 * false_alarm(looks):.0f} times in 100 instead of 5."
    )


def better(path: tuple[str, ...], example: str) -> str:
    """The example beside ``better``: of a measure that is known here, its own direction."""
    known = MEASURES.get(path[1]) if len(path) == 2 and path[0] == "measure" else None
    return example if known is None else known.better


#: Longest text beside the heading of a folded table [characters].
GLANCE = 90


def at_a_glance(group: Group) -> str:
    """What is entered in a table, in one line beside its heading: ``weight 8.4 kg, arm -0.95 m``."""
    said = ", ".join(f"{entry.name.replace('_', ' ')} {entry.text}" for entry in group.entries if entry.text)
    return said if len(said) <= GLANCE else f"{said[: GLANCE - 2].rstrip()} …"


def has_problem(group: Group, wrong: Mapping[tuple[str, ...], str]) -> bool:
    """Whether an entry of this table is wrong: then it stands open."""
    return any((*group.path, plain_name(entry.name)) in wrong for entry in group.entries)
