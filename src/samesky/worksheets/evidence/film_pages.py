"""Evidence from a film of the rolls: its table is begun, what it gives is looked at, and filled into what is typed.

The frames are typed like runs, in a table of their own (:mod:`samesky.worksheets.runs.pages`), how it was filmed under
Question; nothing is filled in before it was shown.
"""

from __future__ import annotations

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.messages.errors import CampaignError
from samesky.measures.filmed_rolls import FILMED
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.draft import NotKeptError
from samesky.worksheets.evidence import film as film_work
from samesky.worksheets.evidence.track import StaleError
from samesky.worksheets.server.flash import with_words, words_for
from samesky.worksheets.verdict_pages import DRAWING


def begin(request: Request) -> Response:
    """A table of filmed rolls, where there is none."""
    context = CampaignContext(request)
    file = film_work.begin(context)
    said = "Type one row a roll, a frame number a cell; then look under Evidence what they give."
    return RedirectResponse(with_words(_table(context, file), said), 303)


def page(request: Request) -> Response:
    """What the film offers for what is typed; nothing is filled in."""
    return _page(CampaignContext(request), words_for(request))


def _page(context: CampaignContext, said: str = "", status: int = 200) -> Response:
    from samesky.report import film_page as sayings

    state = film_work.state_of(context.answers(), context.draft.files())
    values = {"said": said, "film": state, "problem": "", "proposal": None, "sayings": sayings, "pictures": []}
    try:
        version, proposal = film_work.look(context)
    except CampaignError as error:
        status = 422
        values |= {"problem": film_work.words_of(error)}
    else:
        with DRAWING:
            values |= {"proposal": proposal, "version": version, "pictures": sayings.pictures(proposal)}
    answer = context.page("evidence_film.html", "evidence", **values, cautions=FILMED.cautions)
    answer.status_code = status
    return answer


async def put(request: Request) -> Response:
    """What the film offers, filled into what is typed."""
    sent = await request.form(max_files=0, max_fields=4, max_part_size=1_000)

    def work() -> Response:
        context = CampaignContext(request)
        try:
            proposal = film_work.fill(context, str(sent.get("version", "")))
        except NotKeptError:
            raise
        except StaleError as error:
            # Worked out anew, for what is typed now.
            return _page(context, error.finding.words().capitalize())
        except CampaignError:
            # The page says what is wrong now, at its place.
            return _page(context, status=422)
        count = len(proposal.fills)
        if not count:
            return _page(context, "There is nothing to fill in.")
        said = f"{count} cell{'s were' if count > 1 else ' was'} filled from the film."
        return RedirectResponse(with_words(_table(context, proposal.fills[0].file), said), 303)

    return await run_in_threadpool(work)


def _table(context: CampaignContext, file: str) -> str:
    return f"{context.base}/runs/{quote(file.rpartition('.')[0], safe='')}"


ROUTES = [
    Route("/c/{name}/evidence/film", page),
    Route("/c/{name}/evidence/film/begin", begin, methods=["POST"]),
    Route("/c/{name}/evidence/film/put", put, methods=["POST"]),
]
