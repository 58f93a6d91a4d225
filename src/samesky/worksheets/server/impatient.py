"""Who opens a connection and never says what for?

A client that sends its request a sign at a time, or nothing at all, holds a connection open for nothing; some hundred
of them and nobody else gets in. The server behind the pages waits for the head of a request as long as the client
likes, so the pages wait by themselves.
"""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

#: Seconds for the head of a request, from the first sign or the opening of the connection on (chosen: a phone at the
#: edge of a hotspot needs one or two).
HEAD_SECONDS = 20.0


class Impatient(H11Protocol):
    """A connection that is closed where the head of a request does not come in time."""

    _clock: asyncio.TimerHandle | None = None

    def connection_made(self, transport) -> None:
        """Begin to wait with the connection itself."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Stop waiting once there is a request; wait for the next as soon as something of it comes."""
        super().data_received(data)
        if self.cycle is not None and not self.cycle.response_complete:
            self._stop()
        elif self._clock is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing any more."""
        self._stop()
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        """Between requests the server's own shorter patience with idle connections holds."""
        self._stop()
        super().on_response_complete()

    def _wait(self) -> None:
        self._stop()
        self._clock = self.loop.call_later(HEAD_SECONDS, self._close)

    def _stop(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
            self._clock = None

    def _close(self) -> None:
        self._clock = None
        if self.transport is not None and not self.transport.is_closing():
            self.transport.close()
