"""A connection on which no request comes is closed; one on which something is worked out is not."""

from __future__ import annotations

import asyncio
import socket
import threading

import pytest
import uvicorn

from samesky.worksheets.server import impatient


async def _slow(scope, receive, send):
    """An answer that takes longer than the head of a request may."""
    await asyncio.sleep(3 * impatient.HEAD_SECONDS)
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"4")]})
    await send({"type": "http.response.body", "body": b"done"})


@pytest.fixture
def address(monkeypatch):
    monkeypatch.setattr(impatient, "HEAD_SECONDS", 0.3)
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(_slow, http=impatient.Impatient, log_level="critical", lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    yield listening.getsockname()
    server.should_exit = True
    thread.join(30)


def everything(connection: socket.socket) -> bytes:
    """What comes until the other side closes; a test fails by its time-out where it never does."""
    found = b""
    while piece := connection.recv(4096):
        found += piece
    return found


@pytest.mark.parametrize("begun", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: "])
def test_a_head_that_never_ends_is_not_waited_for(address, begun):
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(begun)
        assert b"200" not in everything(connection)


def test_an_answer_that_takes_its_time_comes(address):
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        found = everything(connection)
    assert found.startswith(b"HTTP/1.1 200")
    assert found.endswith(b"done")


def test_the_second_request_of_a_connection_is_not_waited_for_either(address):
    with socket.create_connection(address, timeout=60) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        found = b""
        while not found.endswith(b"done"):
            found += connection.recv(4096)
        connection.sendall(b"GET / HT")
        assert everything(connection) == b""


def test_the_pages_are_served_so(monkeypatch, tmp_path):
    from samesky.worksheets.server import server

    seen = {}
    monkeypatch.setattr(uvicorn, "Config", lambda app, **settings: seen.update(settings))
    monkeypatch.setattr(uvicorn, "Server", lambda config: type("Nothing", (), {"run": lambda self, sockets: None})())
    server.serve(tmp_path, 0, None, lambda line: None)
    assert seen["http"] is impatient.Impatient
