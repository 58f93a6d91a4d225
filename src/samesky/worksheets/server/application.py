"""Which address shows which page, and what is said when something cannot be done?"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from samesky.campaign.messages.errors import CampaignError
from samesky.worksheets import verdict_pages
from samesky.worksheets.campaign_context import rendered
from samesky.worksheets.draft import ChangedOutsideError, NotKeptError
from samesky.worksheets.evidence import film_pages
from samesky.worksheets.evidence import pages as evidence_pages
from samesky.worksheets.library import begin as begin_pages
from samesky.worksheets.library import pages as library_pages
from samesky.worksheets.library.folders import CampaignStore
from samesky.worksheets.plan import pages as plan_pages
from samesky.worksheets.runs import pages as runs_pages
from samesky.worksheets.server.guard import Guard, TooMuchError, too_much
from samesky.worksheets.settings import pages as settings_pages
from samesky.worksheets.settings.changes import EntryChangedError
from samesky.worksheets.today import pages as today_pages

STATIC = Path(__file__).parents[1] / "static"


def application(store: CampaignStore, key: str, hosts: Collection[str]) -> Guard:
    """The pages over one store, behind a door that ``key`` opens, at the addresses ``hosts`` (``host:port``)."""
    routes: list[Route | Mount] = [Mount("/static", StaticFiles(directory=STATIC))]
    rooms = (library_pages, begin_pages, settings_pages, runs_pages, verdict_pages, today_pages, plan_pages)
    for pages in (*rooms, evidence_pages, film_pages):
        routes += pages.ROUTES
    app = Starlette(
        routes=routes,
        exception_handlers={
            CampaignError: _cannot,
            KeyError: _not_here,
            HTTPException: _http,
            TooMuchError: _too_much,
            Exception: _our_fault,
        },
    )
    app.state.store = store
    # Around all of it, so that its answers to failures are guarded as well.
    return Guard(app, key, hosts)


def _cannot(request: Request, error: CampaignError) -> Response:
    # 507: the disk is full, or refuses; what was typed is sent again.
    changed = isinstance(error, ChangedOutsideError | EntryChangedError)
    status = 409 if changed else 507 if isinstance(error, NotKeptError) else 422
    return _said(request, str(error), status)


def _not_here(request: Request, error: KeyError) -> Response:
    return _said(request, "There is no such page or table here. Go back, and choose one that is listed.", 404)


def _http(request: Request, error: HTTPException) -> Response:
    if error.status_code == 404:
        return _not_here(request, KeyError(""))
    said = _said(request, f"That request is not understood ({error.detail}).", error.status_code)
    said.headers.update(error.headers or {})
    return said


def _too_much(request: Request, error: TooMuchError) -> Response:
    return too_much(request.headers)


def _our_fault(request: Request, error: Exception) -> Response:
    message = (
        f"Something went wrong in the pages themselves ({type(error).__name__}), not in your numbers. "
        "What was typed is kept in the campaign's folder; the window in which samesky runs says more."
    )
    return _said(request, message, 500)


def _said(request: Request, message: str, status: int) -> Response:
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"problem": message}, status)
    return HTMLResponse(rendered("problem.html", {"message": message}), status)
