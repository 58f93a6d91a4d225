"""Nobody gets in without the key, nothing comes from elsewhere, nothing too large; every answer says what it may do.

What is held against: RFC 9110 (methods, 413, 421), RFC 6454 (Origin), RFC 6265 (cookies), Content Security Policy
Level 3.
"""

from __future__ import annotations

import asyncio
import hmac
from concurrent.futures import ThreadPoolExecutor

import pytest
from worksheet_client import HOST, KEY, ORIGIN, STEM, Visitor, put_campaign

from samesky.worksheets import campaign_context
from samesky.worksheets.library import pages as library_pages
from samesky.worksheets.server import guard

PAGES = ("/", "/c/climbs/settings", f"/c/climbs/runs/{STEM}", "/c/climbs/verdict", "/c/climbs/report.html")


@pytest.fixture
def visitor(tmp_path):
    root = tmp_path / "hangar"
    put_campaign(root)
    return Visitor(root)


@pytest.fixture
def stranger(tmp_path):
    root = tmp_path / "hangar"
    put_campaign(root)
    return Visitor(root, login=False)


# ---- the key -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("where", [*PAGES, "/static/worksheet.css", "/nothing", "/c/none/settings"])
@pytest.mark.parametrize("query", ["", "?key=", "?key=wrong", "?key=é", f"?key={KEY[:-1]}", "?key=%00", f"?KEY={KEY}"])
def test_without_the_key_nothing_is_told(stranger, where, query):
    answer = stranger.get(where + query)
    assert answer.status_code == 403
    assert "samesky worksheet" in answer.text
    assert "climb" not in answer.text
    assert "set-cookie" not in answer.headers


def test_the_key_goes_into_a_cookie_and_out_of_the_address(stranger):
    answer = stranger.get(f"/c/climbs/settings?key={KEY}")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/c/climbs/settings"
    cookie = answer.headers["set-cookie"].lower()
    for part in ("httponly", "samesite=strict", "path=/"):
        assert part in cookie
    assert "domain" not in cookie
    assert stranger.get("/c/climbs/settings").status_code == 200


def test_no_page_holds_the_key(visitor):
    for where in (*PAGES, "/c/climbs", "/nothing"):
        answer = visitor.get(where)
        assert KEY not in answer.text
        assert all(KEY not in value for value in answer.headers.values())


@pytest.mark.parametrize("where", ["//elsewhere.invalid/", "///elsewhere.invalid", "/\\elsewhere.invalid/"])
def test_the_way_in_leads_nowhere_else(stranger, where):
    from starlette.testclient import httpx as spoken

    answer = stranger.client.request("GET", spoken.URL(f"{ORIGIN}{where}?key={KEY}"))
    assert answer.status_code == 303
    assert not answer.headers["location"].startswith(("//", "/\\", "http"))


@pytest.mark.parametrize(
    "cookies",
    ['notebook={"a": "b"}; {mine}', 'x=é"; {mine}', "{mine}; y=2|1:0|10:17", 'broken="; {mine}', "; ; =; {mine}"],
)
def test_cookies_of_other_programs_on_this_machine_shut_nobody_out(stranger, cookies):
    """Browsers send the cookies of all ports of a machine (RFC 6265, 8.5)."""
    mine = stranger.get(f"/?key={KEY}").headers["set-cookie"].partition(";")[0]
    stranger.client.cookies.clear()
    sent = cookies.replace("{mine}", mine).encode("utf-8")
    assert stranger.get("/", headers={b"cookie": sent}).status_code == 200
    wrong = sent.replace(KEY.encode(), b"another")
    assert stranger.get("/", headers={b"cookie": wrong}).status_code == 403


def test_keys_are_compared_in_a_time_that_tells_nothing(stranger, monkeypatch):
    compared = []
    plain = hmac.compare_digest
    monkeypatch.setattr(guard.hmac, "compare_digest", lambda a, b: (compared.append((a, b)), plain(a, b))[1])
    stranger.get("/?key=wrong")
    stranger.get("/", headers={"cookie": f"{stranger.client.app.cookie}=other"})
    assert compared == [(b"wrong", KEY.encode()), (b"other", KEY.encode())]


# ---- where it comes from -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    ["rebound.invalid", "rebound.invalid:8123", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8123.", "[::1]:8123", "",
     "127.0.0.1:8123, rebound.invalid", "0.0.0.0:8123", "127.1:8123"],
)  # fmt: skip
def test_a_name_that_somebody_points_here_is_none_of_ours(visitor, host):
    answer = visitor.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "Campaigns" not in answer.text


def test_two_hosts_are_one_too_many(visitor):
    asked = [(b"host", HOST.encode()), (b"host", b"rebound.invalid")]
    assert told(visitor, headers=asked)[0] == 421


FOREIGN = ["null", "http://elsewhere.invalid", "http://127.0.0.1:9999", f"https://{HOST}", f"http://{HOST}.invalid",
           "http://[", f"{ORIGIN}/", f"http://a@{HOST}", "", f"{ORIGIN}, {ORIGIN}", ORIGIN.upper()]  # fmt: skip


@pytest.mark.parametrize("origin", [*FOREIGN, None])
def test_what_is_posted_from_elsewhere_changes_nothing(visitor, origin):
    headers = {} if origin is None else {"origin": origin}
    answer = visitor.client.post("/c/climbs/throw-away", data={"sure": "yes"}, headers=headers)
    assert answer.status_code == 403
    answer = visitor.client.post(
        "/start", data={"title": "x", f"measure.{STEM}": "on", f"matters.{STEM}": "5 %"}, headers=headers
    )
    assert answer.status_code == 403
    assert [path.name for path in visitor.root.iterdir()] == ["climbs"]


def test_looking_changes_nothing(visitor):
    """GET is safe (RFC 9110, 9.2.1): a picture in somebody's page cannot save or delete."""
    for where in ("/start", "/take-in", "/c/climbs/save", "/c/climbs/throw-away", "/c/climbs/report"):
        answer = visitor.get(where)
        assert answer.status_code == 405
        assert "POST" in answer.headers["allow"]
    for change in ("cell", "paste", "delete", "form"):
        assert visitor.get(f"/c/climbs/runs/{STEM}/{change}").status_code == 405


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "NONE"])
def test_other_methods(visitor, method):
    answer = visitor.client.request(method, "/", headers={"origin": ORIGIN})
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD, POST"


def test_head_tells_what_get_does_without_it(visitor):
    answer = visitor.client.head("/")
    assert answer.status_code == 200
    assert answer.content == b""


def test_no_socket_stays_open(visitor):
    from starlette.websockets import WebSocketDisconnect

    with pytest.raises(WebSocketDisconnect), visitor.client.websocket_connect(f"ws://{HOST}/c/climbs"):
        pass


# ---- how much ------------------------------------------------------------------------------------------------------


def told(visitor, method="GET", where="/", headers=(), pieces=()):
    """The pages asked piece by piece: status, headers, how many pieces were taken."""
    pieces, taken, said = list(pieces) or [b""], 0, {}
    cookie = f"{visitor.client.app.cookie}={KEY}".encode()
    scope = {
        "type": "http", "http_version": "1.1", "method": method, "path": where, "raw_path": where.encode(),
        "query_string": b"", "scheme": "http", "server": ("127.0.0.1", 8123), "client": ("127.0.0.1", 1),
        "headers": [(b"cookie", cookie), (b"origin", ORIGIN.encode()), *headers],
    }  # fmt: skip

    async def receive():
        nonlocal taken
        taken += 1
        return {"type": "http.request", "body": pieces[taken - 1], "more_body": taken < len(pieces)}

    async def send(message):
        if message["type"] == "http.response.start":
            said.update(status=message["status"], headers={k.decode(): v.decode() for k, v in message["headers"]})

    # In a thread of its own: a browser test before this one leaves a loop running in this one.
    with ThreadPoolExecutor(1) as other:
        other.submit(asyncio.run, visitor.client.app(scope, receive, send)).result()
    return said["status"], said["headers"], taken


OURS = [(b"host", HOST.encode())]


@pytest.mark.parametrize("length", [str(guard.LARGEST_BODY + 1), "1" + "0" * 30, "1" + "0" * 5000], ids=len)
def test_more_than_may_be_sent_is_refused_before_it_is_read(visitor, length):
    asked = [*OURS, (b"content-length", length.encode())]
    status, headers, taken = told(visitor, "POST", f"/c/climbs/runs/{STEM}/paste", asked, [b"x"] * 3)
    assert (status, taken) == (413, 0)
    assert headers["connection"] == "close"


@pytest.mark.parametrize("kind", [b"application/json", b"multipart/form-data; boundary=x", b"text/plain"])
@pytest.mark.parametrize("where", [f"/c/climbs/runs/{STEM}/paste", "/take-in", f"/c/climbs/runs/{STEM}/form"])
def test_more_in_pieces_without_a_length_is_stopped(visitor, monkeypatch, kind, where):
    monkeypatch.setattr(guard, "LARGEST_BODY", 10_000)
    piece = b"--x\r\n" if kind.startswith(b"multi") else b"["
    pieces = [piece, *[b"y" * 1000] * 50]
    asked = [*OURS, (b"content-type", kind), (b"transfer-encoding", b"chunked")]
    status, headers, taken = told(visitor, "POST", where, asked, pieces)
    assert taken < 15
    # What is no form is not read at all, where a form is awaited.
    assert status in (413, 400) or taken == 0
    assert headers["content-security-policy"]


def test_a_lying_length_is_no_way_round(visitor, monkeypatch):
    monkeypatch.setattr(guard, "LARGEST_BODY", 10_000)
    asked = [*OURS, (b"content-type", b"application/json"), (b"content-length", b"5")]
    status, _, taken = told(visitor, "POST", f"/c/climbs/runs/{STEM}/paste", asked, [b"[" * 1000] * 50)
    assert status == 413
    assert taken < 15


# ---- what the answers say of themselves ----------------------------------------------------------------------------


def test_every_answer_wears_the_same_headers(visitor, monkeypatch):
    monkeypatch.setattr(library_pages, "rendered", lambda *_: 1 / 0)
    answers = {
        "a page": visitor.get("/c/climbs/settings"),
        "a file": visitor.get("/static/worksheet.css"),
        "nothing there": visitor.get("/nothing"),
        "no file there": visitor.get("/static/nothing"),
        "cannot": visitor.post("/start", data={}),
        "not allowed": visitor.get("/start"),
        "no key": visitor.get("/?key=wrong"),
        "foreign": visitor.client.post("/start"),
        "other host": visitor.get("/", headers={"host": "elsewhere.invalid"}),
        "way in": visitor.get(f"/?key={KEY}"),
        "json": visitor.get(f"/c/climbs/runs/{STEM}/state"),
        "report": visitor.get("/c/climbs/report.html"),
        "our fault": visitor.get("/"),
    }
    assert answers["our fault"].status_code == 500
    assert answers["cannot"].status_code == 422
    for name, answer in answers.items():
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'"), name
        assert "frame-ancestors 'self'" in policy, name
        assert "base-uri 'none'" in policy, name
        assert answer.headers["x-content-type-options"] == "nosniff", name
        assert answer.headers["referrer-policy"] == "same-origin", name
        assert answer.headers["cross-origin-opener-policy"] == "same-origin", name
        assert answer.headers["cross-origin-resource-policy"] == "same-origin", name
        assert answer.headers["cache-control"] == "no-store", name
        assert "access-control-allow-origin" not in answer.headers, name


def test_scripts_come_from_files_of_ours_and_never_in_a_report(visitor):
    page = visitor.get("/c/climbs/settings").headers["content-security-policy"]
    assert "script-src 'self';" in page
    assert "unsafe" not in page
    report = visitor.get("/c/climbs/report.html").headers["content-security-policy"]
    assert "script-src" not in report


def test_a_failure_of_ours_tells_no_secrets(visitor, monkeypatch):
    monkeypatch.setattr(campaign_context, "rendered", lambda *_: 1 / 0)
    answer = visitor.get("/c/climbs/verdict")
    assert answer.status_code == 500
    assert "ZeroDivisionError" in answer.text
    for secret in ("Traceback", "File ", KEY, str(visitor.root)):
        assert secret not in answer.text
