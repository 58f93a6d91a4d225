"""Of the cases of a study some run with every ``make test``, the others with ``make test-all``."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable

import pytest


def slow_unless(quick: Container | Callable[[object], bool], cases: Iterable) -> list:
    """The cases for ``parametrize``, marked slow where they are not in ``quick`` (or it does not say so of them)."""
    wanted = quick if callable(quick) else quick.__contains__
    return [case if wanted(case) else _slow(case) for case in cases]


def _slow(case):
    values = case if isinstance(case, tuple) else (case,)
    return pytest.param(*values, marks=pytest.mark.slow)
