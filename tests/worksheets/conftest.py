"""The pages served as they are for people, on a port of this machine; and visitors who can reach nothing else."""

from __future__ import annotations

import socket
import threading
from dataclasses import dataclass
from pathlib import Path

import pytest

pytest.importorskip("starlette")

from samesky.worksheets.library.folders import CampaignStore
from samesky.worksheets.server import server
from samesky.worksheets.server.application import application

KEY = "a-key-for-tests"


@dataclass
class Pages:
    """Pages that are being served: their address, the store's folder, and the server."""

    address: str
    root: Path
    running: object

    @property
    def door(self) -> str:
        return f"{self.address}/?key={KEY}"


def serve(root: Path, port: int = 0) -> tuple[Pages, threading.Thread]:
    import uvicorn

    listening, port = server.sockets([server.LOOPBACK], port)
    app = application(CampaignStore.at(root), KEY, [f"{server.LOOPBACK}:{port}"])
    running = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off", ws="none"))
    thread = threading.Thread(target=running.run, kwargs={"sockets": listening}, daemon=True)
    thread.start()
    for _ in range(200):
        with socket.socket() as probe:
            if probe.connect_ex((server.LOOPBACK, port)) == 0:
                break
    return Pages(f"http://{server.LOOPBACK}:{port}", root, running), thread


@pytest.fixture
def pages(tmp_path):
    """The pages over an empty folder."""
    root = tmp_path / "hangar"
    root.mkdir()
    served, thread = serve(root)
    yield served
    served.running.should_exit = True
    thread.join(timeout=10)


#: How long a state is waited for, in ms: on a machine that does five other things a report alone takes half a minute.
PATIENCE = 150_000
SIZES = {"desktop": {"width": 1366, "height": 800}, "phone": {"width": 390, "height": 844}}


@pytest.fixture
def visitor(browser, pages):
    """Opens a browser window of a size; fails the test where a page asks for anything from elsewhere, or errs."""
    troubles: list[str] = []
    contexts = []

    def visit(size: str = "desktop", **options):
        context = browser.new_context(viewport=SIZES[size], has_touch=size == "phone", **options)
        contexts.append(context)

        def only_here(route):
            if route.request.url.startswith((pages.address, "data:", "blob:")):
                route.continue_()
            else:
                troubles.append(f"asked for {route.request.url}")
                route.abort()

        context.set_default_timeout(PATIENCE)
        context.route("**/*", only_here)
        page = context.new_page()
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on(
            "console",
            lambda said: (
                troubles.append(said.text) if said.type == "error" and "Failed to load" not in said.text else None
            ),
        )
        page.goto(pages.door)
        return page

    yield visit
    for context in contexts:
        context.close()
    assert not troubles


@pytest.fixture
def own_pictures():
    """Asked for by a test that looks at the pictures of its track."""


_drawn: list[tuple] = []


@pytest.fixture
def drawn_once(request, monkeypatch):
    """The pictures of one track stand in for those of all: most tests hold what is said and put, and drawing takes the
    most of their time."""
    from samesky.report import track_page

    draw = track_page.pictures

    def pictures(fixes, proposal):
        if not _drawn:
            _drawn.append(draw(fixes, proposal))
        return _drawn[0]

    if "own_pictures" not in request.fixturenames:
        monkeypatch.setattr(track_page, "pictures", pictures)
