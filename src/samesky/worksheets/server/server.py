"""How are the pages opened: on this machine alone, or on the local network as well?"""

from __future__ import annotations

import hashlib
import os
import secrets
import socket
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.worksheets import catalogue as say
from samesky.worksheets.library.folders import CampaignStore

#: This machine, and nobody else.
LOOPBACK = "127.0.0.1"
#: Bytes of chance in the key.
KEY_BYTES = 24
#: First of the ports that a folder's pages are opened at where none is asked for, and how many there are: below those
#: that the usual systems hand out to others.
USUAL_PORTS = (20_000, 12_000)


def local_address() -> str | None:
    """The address of this machine on the network that it would send from; None without one. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # A block for documentation (RFC 5737): connecting a datagram socket only looks up the route.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        found = probe.getsockname()[0]
    return None if found.startswith("127.") or found == "0.0.0.0" else found


def exposes(store: CampaignStore, address: str) -> str:
    """What opening the pages to the local network means, in words to be agreed to."""
    what = f"the campaign {store.only!r}" if store.only is not None else f"every campaign in {store.root}"
    return (
        f"On the local network ({address}) everybody who has the address with its key can read and change {what} "
        "while this runs. What is sent is not encrypted: others on the network could listen in, and learn the key. "
        "Do so on your own hotspot, not in a public network; nothing can be reached from the internet unless "
        "your network lets it in."
    )


def usual_port(folder: Path) -> int:
    """The port at which the pages of a folder are opened, whenever they are.

    What a browser still holds of the typing when the pages stop (a crash, an empty battery) belongs to the address that
    it was typed at: opened there again, it is sent and kept.
    """
    first, count = USUAL_PORTS
    digest = hashlib.sha256(os.path.realpath(folder).encode("utf-8", "surrogateescape")).digest()
    return first + int.from_bytes(digest[:4]) % count


def sockets(addresses: list[str], port: int) -> tuple[list[socket.socket], int]:
    """Listening sockets at one port of all addresses, and that port; 0 takes a free one. Raises CampaignError."""
    opened: list[socket.socket] = []
    for address in addresses:
        one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            # Elsewhere it would let another program take the port over.
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            one.bind((address, port))
            # From now on a browser that is quicker than the pages waits for them.
            one.listen(128)
        except OSError as error:
            for before in (*opened, one):
                before.close()
            raise cannot(f"port {port} of {address}", say.SERVER_PORT(reason=error.strerror)) from None
        port = one.getsockname()[1]
        opened.append(one)
    return opened, port


def authority(address: str, port: int) -> str:
    """Address and port as a browser names them in ``Host`` and ``Origin``: port 80 goes without saying (RFC 9110)."""
    return address if port == 80 else f"{address}:{port}"


def serve(folder: Path, port: int, lan: str | None, say) -> None:
    """Serve the pages of a folder until interrupted; at ``port`` 0 the folder's usual one is taken if it is free.

    ``lan`` is the address on the local network to open as well; ``say`` is given each line to print. Raises
    CampaignError where the folder or the port cannot be used.
    """
    import uvicorn

    from samesky.worksheets.server.application import application
    from samesky.worksheets.server.impatient import Impatient

    store = CampaignStore.at(folder)
    addresses = [LOOPBACK, *([lan] if lan else [])]
    try:
        listening, port = sockets(addresses, port or usual_port(folder))
    except CampaignError:
        if port:
            raise
        listening, port = sockets(addresses, 0)
    key = secrets.token_urlsafe(KEY_BYTES)
    app = application(store, key, [authority(address, port) for address in (*addresses, "localhost")])
    say(f"Open in a browser on this machine: http://{LOOPBACK}:{port}/?key={key}")
    if lan:
        say(f"Open on a phone in the same network: http://{lan}:{port}/?key={key}")
    say("The address is a key: give it only to those who may change the numbers. Stop with Ctrl-C; nothing is lost.")
    config = uvicorn.Config(
        app,
        http=Impatient,
        log_level="warning",
        lifespan="off",
        server_header=False,
        date_header=False,
        ws="none",
    )
    uvicorn.Server(config).run(sockets=listening)
