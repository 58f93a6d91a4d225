"""The pages in a process of their own: killed in the middle of typing, and with a disk that takes no more."""

from __future__ import annotations

import threading
import time

import httpx
import pytest
from real_server import RealServer, cell, state
from worksheet_client import STEM, put_campaign

from samesky.worksheets.draft import UNSAVED
from samesky.worksheets.server import server

CSV = f"{STEM}.csv"


@pytest.fixture
def folder(tmp_path):
    return put_campaign(tmp_path / "hangar")


@pytest.fixture
def opened():
    servers = []

    def opening(*given, **named):
        servers.append(RealServer(*given, **named))
        return servers[-1]

    yield opening
    for one in servers:
        if one.process.poll() is None:
            one.kill()


def test_every_cell_that_was_acknowledged_outlives_a_kill(folder, opened):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    first = opened(folder.parent)
    acknowledged: list[tuple[int, str]] = []
    sent: list[tuple[int, str]] = []

    def typing():
        client = first.visitor()
        rows, notes = state(client)["rows"], 15
        try:
            for k in range(10_000):
                row = k % 8
                sent.append((row, f"note {k}"))
                answer = cell(client, row, notes, f"note {k}", rows[row])
                assert answer.status_code == 200
                rows = answer.json()["rows"]
                acknowledged.append((row, f"note {k}"))
        except httpx.HTTPError:
            return

    thread = threading.Thread(target=typing)
    thread.start()
    until = time.monotonic() + 20
    while len(acknowledged) < 9 and time.monotonic() < until:
        time.sleep(0.01)
    first.kill()
    thread.join()
    assert len(acknowledged) >= 9
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before

    second = opened(folder.parent)
    # At the same port, where browsers look for what they had not sent; with another key.
    assert (second.address, second.key) != (first.address, first.key)
    assert second.address == first.address
    client = second.visitor()
    rows = state(client)["rows"]
    last = dict(acknowledged)
    for row in range(8):
        # The cell on its way when the plug was pulled may be there as well.
        assert rows[row][15] in (last[row], dict(sent)[row])
    assert state(client)["changed"] == [CSV]
    assert client.post("/c/climbs/save").status_code == 200
    saved = (folder / CSV).read_text(encoding="utf-8")
    assert all(rows[row][15] in saved for row in range(8))
    assert list(folder.glob(".*")) == []
    assert "Traceback" not in second.stop()


def test_an_old_key_opens_nothing_after_a_new_start(folder, opened):
    first = opened(folder)
    visitor = first.visitor()
    first.kill()
    second = opened(folder)
    assert second.address == first.address
    assert visitor.get("/").status_code == 403


def test_two_at_once_get_a_port_each_and_one_that_is_asked_for_is_not_another(folder, opened):
    first, second = opened(folder), opened(folder)
    assert first.address != second.address
    assert second.visitor().get("/").status_code == 200
    port = first.address.rpartition(":")[2]
    with pytest.raises(AssertionError, match="cannot be opened"):
        opened(folder, "--port", port)


def test_the_usual_port_is_that_of_the_folder(tmp_path):
    ports = {server.usual_port(tmp_path / f"{k}") for k in range(200)}
    assert len(ports) > 190
    assert all(1024 < port < 32_768 for port in ports)
    (tmp_path / "link").symlink_to(tmp_path / "7")
    assert server.usual_port(tmp_path / "link") == server.usual_port(tmp_path / "7")


def test_a_disk_that_takes_no_more(folder, opened):
    """The kernel refuses to make a file larger (EFBIG), as a full disk does (ENOSPC), in the middle of writing."""
    size = max(path.stat().st_size for path in folder.iterdir())
    client = opened(folder.parent, largest_file=size + 2000).visitor()
    rows = state(client)["rows"]
    assert cell(client, 0, 15, "kept", rows[0]).status_code == 200
    rows = state(client)["rows"]
    kept = (folder / UNSAVED / CSV).read_bytes()
    for row in range(8):
        answer = cell(client, row, 15, "x" * 990, rows[row])
        if answer.status_code != 200:
            break
        rows, kept = answer.json()["rows"], (folder / UNSAVED / CSV).read_bytes()
    assert answer.status_code == 507
    assert "cannot be kept (File too large)" in answer.json()["problem"]
    assert (folder / UNSAVED / CSV).read_bytes() == kept
    assert state(client)["rows"] == rows
    assert cell(client, row, 15, "short", rows[row]).status_code == 200


def test_the_pages_are_on_this_machine_alone(folder, opened):
    running = opened(folder.parent)
    port = int(running.address.rpartition(":")[2])
    other = server.local_address()
    if other is not None:
        with pytest.raises(httpx.ConnectError):
            httpx.get(f"http://{other}:{port}/", timeout=5)
    assert running.address.startswith("http://127.0.0.1:")
