"""What was measured? One file a measure, all of one shape.

Every module in this folder that holds a ``MEASURE`` is found by itself: adding a measure is adding a file.
"""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace
from functools import cache

from samesky import instruments
from samesky.instruments.sources import ErrorSource
from samesky.measures.free import free
from samesky.measures.shape import Measure

__all__ = ["MEASURES", "default_sources", "free"]


def _discover() -> dict[str, Measure]:
    """Every measure of this folder by name, in alphabetical order."""
    modules = (importlib.import_module(f"{__name__}.{entry.name}") for entry in pkgutil.iter_modules(__path__))
    found = [module.MEASURE for module in modules if hasattr(module, "MEASURE")]
    return {measure.name: measure for measure in found}


#: Every measure with physics, by name.
MEASURES: dict[str, Measure] = _discover()


@cache
def default_sources() -> tuple[ErrorSource, ...]:
    """The documented error sources of every instrument, and those that each measure ships of its own result."""
    own = (replace(source, measures=(one.name,)) for one in MEASURES.values() for source in one.shipped)
    return (*instruments.default_sources(), *own)
