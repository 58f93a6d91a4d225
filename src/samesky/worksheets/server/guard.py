"""Who may see the pages, and how much may they send?

The pages run on the pilot's own machine. Whoever opens them needs the key in the address that the command printed; it
is then kept in a cookie that other sites cannot use. The address asked for must be one of ours (a name that somebody
else points at this machine is none: DNS rebinding), what is posted must come from our own pages (its ``Origin``), and
no page may load anything from elsewhere. HTTP semantics after RFC 9110, cookies after RFC 6265,
``Content-Security-Policy`` after the W3C's level 3.
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, Collection
from urllib.parse import parse_qs, quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response

#: Most bytes that one request may carry: a season's campaign as a zip is a hundredth of it.
LARGEST_BODY = 30_000_000
METHODS = ("GET", "HEAD", "POST")

#: A page takes script, style and pictures from this machine alone, posts to it alone, and stands in no foreign frame.
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-src 'self'; frame-ancestors 'self'; base-uri 'none'"
)
#: A report carries its own style and pictures, and never runs a script.
REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; frame-ancestors 'self'; "
    "base-uri 'none'"
)

_NO_KEY = (
    "This page opens with the whole address that `samesky worksheet` printed, key included. "
    "Look at the window in which it runs, and copy the address from there."
)


class TooMuchError(Exception):
    """A request with more in it than :data:`LARGEST_BODY`."""


class Guard:
    """The one door: an ASGI application around another, its answers to failures included.

    Parameters
    ----------
    app : the application behind the door
    key : what opens it
    hosts : the addresses, ``host:port``, under which the pages may be asked for
    """

    def __init__(self, app, key: str, hosts: Collection[str]):
        self.app, self.key, self.hosts = app, key, frozenset(hosts)
        self.cookie = "samesky-" + "".join(c if c.isalnum() else "-" for c in sorted(self.hosts)[0])

    async def __call__(self, scope, receive: Callable[[], Awaitable], send: Callable[..., Awaitable]) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            # No page opens a socket that stays.
            await send({"type": "websocket.close", "code": 1008, "reason": "Only pages are answered here."})
            return
        answer = self._refusal(scope)
        if answer is not None:
            _dress(answer.headers)
            await answer(scope, receive, send)
            return

        async def sending(message) -> None:
            if message["type"] == "http.response.start":
                _dress(MutableHeaders(scope=message))
            await send(message)

        await self.app(scope, _counted(receive), sending)

    def _refusal(self, scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if headers.getlist("host") != [host] or host not in self.hosts:
            return _refused(headers, "This address is none of ours.", 421)
        if scope["method"] not in METHODS:
            return _refused(headers, "Only GET and POST are understood.", 405, {"Allow": ", ".join(METHODS)})
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if given and scope["method"] == "GET":
            if not hmac.compare_digest(given.encode(), self.key.encode()):
                return _refused(headers, _NO_KEY, 403)
            # Away from the address, so that the key stays out of the history and of what is copied from there.
            # One slash at its head: two would lead to another machine.
            inside = RedirectResponse("/" + quote(scope["path"].lstrip("/\\")), 303)
            inside.set_cookie(self.cookie, self.key, httponly=True, samesite="strict", path="/")
            return inside
        if not hmac.compare_digest(self._kept(headers).encode(), self.key.encode()):
            return _refused(headers, _NO_KEY, 403)
        if scope["method"] == "POST":
            if headers.getlist("origin") != [f"http://{host}"]:
                return _refused(headers, "What is posted has to come from these pages.", 403)
            length = headers.get("content-length", "")
            if length.isdecimal() and (len(length) > 12 or int(length) > LARGEST_BODY):
                return too_much(headers)
        return None

    def _kept(self, headers: Headers) -> str:
        # Browsers send the cookies of every port of a machine: what another program's may look like is not ours to say.
        return cookie_parser("; ".join(headers.getlist("cookie"))).get(self.cookie, "")


def too_much(headers: Headers) -> Response:
    """The answer to a request that carries more than may be sent at once."""
    message = (
        f"More than {LARGEST_BODY / 1e6:.0f} MB at once. Send the campaign's files, not recordings of every second; "
        "a longer track is read by `samesky track` in the window from which the pages were opened."
    )
    return _refused(headers, message, 413, {"Connection": "close"})


def _refused(headers: Headers, message: str, status: int, more: dict[str, str] | None = None) -> Response:
    if "application/json" in headers.get("accept", ""):
        return JSONResponse({"problem": message}, status, more)
    return PlainTextResponse(f"{message}\n", status, more)


def _counted(receive):
    seen = 0

    async def receiving():
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BODY:
            raise TooMuchError
        return message

    return receiving


def _dress(headers: MutableHeaders) -> None:
    headers.setdefault("Content-Security-Policy", PAGE_POLICY)
    headers.setdefault("Cache-Control", "no-store")
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "same-origin"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
