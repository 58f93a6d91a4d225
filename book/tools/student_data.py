"""A campaign for each student: ``python book/tools/student_data.py FOLDER --example finer_pitch --students 12``.

The same question for all, other mornings for each: everything that is drawn comes from a seed made of the course, the
example and the student's number. With ``--vary`` the true difference is another one as well: none, half, all or half as
much again. What was really there stands in ``FOLDER/key.md`` and nowhere in a student's folder.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from dataclasses import fields, replace
from pathlib import Path

import numpy as np

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.tables.write import write_campaign, write_text
from samesky.inference.comparison import compare
from samesky.simulator.examples.catalogue import EXAMPLES, tables_of
from samesky.simulator.examples.shape import Example
from samesky.simulator.examples.truth import truth_text

#: Shares of the example's own difference among which ``--vary`` draws.
SHARES = (0.0, 0.5, 1.0, 1.5)


def seed_of(course: str, example: str, student: int) -> int:
    """The seed of one student's data."""
    return int.from_bytes(hashlib.sha256(f"{course}/{example}/{student}".encode()).digest()[:6], "big")


def of_student(example: Example, course: str, student: int, vary: bool = False) -> tuple[Example, float]:
    """The example as this student gets it, and the share of its own difference that is true for it."""
    seed = seed_of(course, example.name, student)
    share = float(np.random.default_rng([seed, 1]).choice(SHARES)) if vary else 1.0
    base = example.scenario.effects[min(example.scenario.effects)]
    effects = {key: _scaled(base, effect, share) for key, effect in example.scenario.effects.items()}
    return replace(example, seed=seed, scenario=replace(example.scenario, effects=effects)), share


def write_student(example: Example, folder: Path) -> str:
    """Write one student's campaign; give what was really there, for the key."""
    write_campaign(
        folder,
        example.toml.replace("with known truth (TRUTH.md). Read that last.", "for you alone.", 1),
        tables_of(example),
    )
    campaign = read(folder)
    said = "\n".join(f"- {one.title}: {one.verdict}, {one.percent:+.1f} %" for one in compare(campaign))
    truth = truth_text(example, campaign.texts).partition("| measure |")[2]
    return f"| measure |{truth.partition('Each value is')[0]}What the package finds:\n\n{said}\n"


def write_course(folder: Path, name: str, students: int, course: str, vary: bool = False) -> Path:
    """Write a folder for each student and the key; give the path of the key.

    Raises CampaignError where a folder cannot be written or holds files already.
    """
    example = EXAMPLES[name]
    width = len(str(students))
    parts = [f"# Key: {name}, course {course!r}", "", example.story.strip(), ""]
    for student in range(1, students + 1):
        own, share = of_student(example, course, student, vary)
        parts += [f"## Student {student}", "", f"Seed {own.seed}; {100 * share:.0f} % of the example's difference.", ""]
        parts.append(write_student(own, folder / f"student_{student:0{width}d}"))
    return write_text(folder / "key.md", "\n".join(parts))


def _scaled(base, effect, share: float):
    """An effect whose distance from the baseline's is this share of what it was, factor by factor."""
    found = {}
    for field in fields(effect):
        one, other = getattr(base, field.name), getattr(effect, field.name)
        found[field.name] = one * (other / one) ** share if one > 0 and other > 0 else one + share * (other - one)
    return type(effect)(**found)


def main(arguments: list[str] | None = None) -> int:
    """Write the folders and say where the key is."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--example", choices=sorted(EXAMPLES), default="finer_pitch")
    parser.add_argument("--students", type=int, default=12)
    parser.add_argument("--course", default="1", help="another course gets other data")
    parser.add_argument("--vary", action="store_true", help="another true difference for each, none among them")
    given = parser.parse_args(arguments)
    if given.folder.is_dir() and any(given.folder.iterdir()):
        print(f"{given.folder}: holds files already. Name a folder that is not there yet.", file=sys.stderr)
        return 2
    try:
        key = write_course(given.folder, given.example, given.students, given.course, given.vary)
    except CampaignError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{given.students} folders; the key, for you alone: {key}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
