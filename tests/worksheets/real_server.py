"""The pages as the command opens them, in a process of their own that can be killed."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx
from worksheet_client import STEM

COMMAND = "from samesky.cli import main; main()"


class RealServer:
    """``samesky worksheet FOLDER`` until it is killed or stopped; ``address`` and ``key`` are what it printed."""

    def __init__(self, folder: Path, *options: str, largest_file: int | None = None):
        def limited():
            import resource

            resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))

        self.process = subprocess.Popen(
            [sys.executable, "-c", COMMAND, "worksheet", str(folder), "--no-browser", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
            preexec_fn=limited if largest_file else None,
        )
        line = self.process.stdout.readline()
        found = re.search(r"(http://[\d.]+:\d+)/\?key=(\S+)", line)
        # Where it opens nothing it has said why by the time it ends, not by the time it closes its output.
        assert found, (line, self.process.communicate()[1])
        self.address, self.key = found.groups()

    def visitor(self) -> httpx.Client:
        """Somebody who has opened the printed address."""
        client = httpx.Client(base_url=self.address, headers={"origin": self.address, "accept": "application/json"})
        client.timeout = 150
        assert client.get("/", params={"key": self.key}).status_code == 303
        return client

    def kill(self) -> None:
        """As a crash or an empty battery does: not a line more is run."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(timeout=60)
        self.process.stdout.close()
        self.process.stderr.close()

    def stop(self) -> str:
        """Ctrl-C; give what was said on the way."""
        self.process.send_signal(signal.SIGINT)
        said, trouble = self.process.communicate(timeout=120)
        return said + trouble


def state(client: httpx.Client, name: str = "climbs") -> dict:
    return client.get(f"/c/{name}/runs/{STEM}/state").json()


def cell(client: httpx.Client, row: int, column: int, text: str, seen: list[str], name: str = "climbs"):
    sent = {"row": row, "column": column, "text": text, "seen": seen}
    return client.post(f"/c/{name}/runs/{STEM}/cell", json=sent)
