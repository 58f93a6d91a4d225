"""Docstrings: every parameter is named, numbers bear their unit, and what an example prints is what it computes."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[1] / "src" / "samesky"
#: The rooms whose functions are called by hand: numpydoc in all that is public.
ROOMS = ("aeroplane", "air", "inference", "measures", "reduction")
FILES = [path for room in ROOMS for path in sorted((SOURCE / room).rglob("*.py"))]
#: A unit, a shape or words that say which unit: "[m/s]", "(n,)", "unit of the readings", "scale of the comparison".
UNIT = re.compile(r"\[[^\]]+\]|\(\.\.\.|\(n|unit |scale of the comparison|Degrees of freedom")


def public(body: list[ast.stmt], owner: str = "") -> list[tuple[str, ast.FunctionDef]]:
    found = []
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            found += public(node.body, f"{node.name}.")
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            how = {ast.unparse(one).split("(")[0] for one in node.decorator_list}
            if not how & {"property", "cached_property", "overload"}:
                found.append((owner + node.name, node))
    return found


def section(text: str, name: str) -> str:
    match = re.search(rf"^{name}\n-+\n(.*?)(?=^\w+\n-+\n|\Z)", text, re.M | re.S)
    return match[1] if match else ""


def faults(node: ast.FunctionDef) -> list[str]:
    text = ast.get_docstring(node) or ""
    taken = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    names = {one.arg for one in taken} - {"self", "cls"} | ({node.args.vararg.arg} if node.args.vararg else set())
    heads = " ".join(line.split(" :")[0] for line in section(text, "Parameters").splitlines() if not line[:1].isspace())
    missing = names - {name.strip(" *") for name in heads.replace(",", " ").split()}
    found = [f"no parameter {name}" for name in sorted(missing)]
    gives = "" if node.returns is None else ast.unparse(node.returns)
    numbers = re.search(r"\b(Floats|Numbers|float)\b", gives) and "Callable" not in gives
    if numbers and not UNIT.search(section(text, "Returns") or section(text, "Yields")):
        found.append("returns numbers without a unit or shape")
    raised = {one.exc for one in ast.walk(node) if isinstance(one, ast.Raise) and one.exc is not None}
    if raised and "raise" not in text.casefold():
        found.append("raises, and does not say so")
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_parameters_units_and_errors_are_told(path):
    wrong = {name: faults(node) for name, node in public(ast.parse(path.read_text(encoding="utf-8")).body)}
    assert not {name: found for name, found in wrong.items() if found}


def test_a_silent_docstring_would_be_found():
    silent = ast.parse('def drag(speed: Floats) -> Floats:\n    """Drag."""\n    raise ValueError').body[0]
    assert isinstance(silent, ast.FunctionDef)
    assert faults(silent) == [
        "no parameter speed",
        "returns numbers without a unit or shape",
        "raises, and does not say so",
    ]


WITH_EXAMPLES = [path for path in sorted(SOURCE.rglob("*.py")) if ">>>" in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", WITH_EXAMPLES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_examples_print_what_they_compute(path):
    name = ".".join(("samesky", *path.relative_to(SOURCE).with_suffix("").parts)).removesuffix(".__init__")
    result = doctest.testmod(importlib.import_module(name))
    assert result.attempted
    assert not result.failed
