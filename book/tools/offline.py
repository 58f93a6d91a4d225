"""Sphinx extension: a book that asks nothing of the network.

Jupyter Book loads two extensions (live code, comments) that write addresses of outside servers into every page even
when they are switched off. Their event handlers are taken off again; nothing else is touched.
"""

from __future__ import annotations

ASK_THE_NETWORK = ("sphinx_thebe", "sphinx_comments")


def silence(app, config) -> None:
    """Take event handlers and style sheets of the extensions in ASK_THE_NETWORK off the application."""
    for listeners in app.events.listeners.values():
        listeners[:] = [listener for listener in listeners if listener.handler.__module__ not in ASK_THE_NETWORK]
    app.registry.css_files[:] = [file for file in app.registry.css_files if "thebe" not in file[0]]


def setup(app) -> dict[str, object]:
    """Register with Sphinx."""
    app.connect("config-inited", silence, priority=900)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
