"""How well was it read? Error sources with a scope, one file an instrument.

Every module in this folder that holds ``SOURCES`` is found by itself: adding an instrument is adding a file. The
defaults are for ordinary instruments in ordinary hands; a campaign states its own where it knows better.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from samesky.instruments.sources import ErrorSource

__all__ = ["default_sources"]


@cache
def default_sources() -> tuple[ErrorSource, ...]:
    """The documented error sources of every instrument in this folder."""
    names = (entry.name for entry in pkgutil.iter_modules(__path__) if not entry.ispkg)
    modules = [importlib.import_module(f"{__name__}.{name}") for name in names]
    return tuple(source for module in modules for source in getattr(module, "SOURCES", ()))
