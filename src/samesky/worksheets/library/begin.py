"""The page Start: eight questions, one a screen, then a campaign that can be planned and flown.

Nothing is kept between the screens: each carries the answers given so far.
"""

from __future__ import annotations

import json
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.start.files import campaign_files
from samesky.campaign.start.questions import questions, read_answers
from samesky.worksheets.campaign_context import rendered

#: What the form calls the answers given so far, the number of the question, and its two buttons.
SO_FAR, NUMBER, WAY = "so_far", "number", "way"
#: Longest text of answers that is read [characters].
LONGEST_FORM = 20_000


def first(request: Request) -> Response:
    """The first question."""
    return _screen(0, {})


async def answered(request: Request) -> Response:
    """The next question, the one before, or this one again with what is wrong; after the last one the plan's page."""
    sent = await request.form()
    typed = {name: ",".join(str(value) for value in sent.getlist(name)) for name in sent}
    return await run_in_threadpool(_answered, request, typed)


def _answered(request: Request, typed: dict[str, str]) -> Response:
    so_far, done = _so_far(typed.get(SO_FAR, ""))
    number = typed.get(NUMBER, "")
    # What comes from elsewhere begins again.
    if not (number.isascii() and number.isdecimal() and int(number[:3]) <= min(done, len(questions({})) - 1)):
        return _screen(0, {})
    place = int(number)
    question = questions(so_far)[place]
    # A field of choices with none ticked is sent as nothing at all.
    own = {one.name: typed.get(one.name, "" if one.kind == "several" else one.ready) for one in question.fields}
    if typed.get(WAY) == "back":
        return _screen(max(place - 1, 0), so_far | own)
    try:
        so_far |= read_answers(question, own)
    except CampaignError as error:
        return _screen(place, so_far | own, error.finding.sentence(), 400)
    if place + 1 < len(questions(so_far)):
        return _screen(place + 1, so_far)
    name = request.app.state.store.put(so_far["title"], campaign_files(so_far))
    return RedirectResponse(f"/c/{quote(name, safe='')}/plan", 303)


def _so_far(text: str) -> tuple[dict[str, str], int]:
    """The answers that a screen carried, as far as they can be read from the first question on, and to how many."""
    try:
        carried = json.loads(text) if len(text) < LONGEST_FORM else {}
    except (ValueError, RecursionError):
        return {}, 0
    if not isinstance(carried, dict) or not all(isinstance(one, str) for one in carried.values()):
        return {}, 0
    found: dict[str, str] = {}
    for place in range(len(questions({}))):
        question = questions(found)[place]
        try:
            found |= read_answers(question, {one.name: carried[one.name] for one in question.fields})
        except (KeyError, CampaignError):
            return found, place
    return found, len(questions(found))


def _screen(place: int, so_far: dict[str, str], trouble: str = "", status: int = 200) -> Response:
    every = questions(so_far)
    values = {"question": every[place], "place": place, "count": len(every), "so_far": so_far, "trouble": trouble}
    return HTMLResponse(rendered("begin.html", values | {"carried": json.dumps(so_far)}), status)


ROUTES = [Route("/begin", first), Route("/begin", answered, methods=["POST"])]
