"""pytest plugin: write down every value that a test holds against print.

``pytest -p record_checks`` with the folder of the record in SAMESKY_RECORD. :func:`samesky.published.registry.check`
is wrapped before any test module imports it; each process writes a file of its own. Tests of the registry itself do
not count: they feed it what it prints.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

from samesky.published import registry

_held: list[dict[str, object]] = []
_check = registry.check


def _recording(id, computed):
    found = _check(id, computed)
    test = os.environ.get("PYTEST_CURRENT_TEST", "").partition("::")[0]
    if test and not test.startswith(("tests/published/", "tests/book/")):
        values = found.computed if isinstance(found.computed, tuple) else (found.computed,)
        _held.append({"id": id, "computed": values, "agrees": found.agrees, "digits": found.digits, "where": test})
    return found


def pytest_configure(config):
    """Wrap the check."""
    registry.check = _recording


def pytest_sessionfinish(session):
    """Write what this process saw."""
    registry.check = _check
    if _held:
        path = Path(os.environ["SAMESKY_RECORD"]) / f"{os.getpid()}.json"
        path.write_text(json.dumps(_held), encoding="utf-8")
