"""Evidence: runs out of a satellite track, rolls out of a film, air out of weather reports, and the airspeed system.

Each is shown before it is put, and put into what is typed. What a track leaves open is asked, never chosen.
"""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.reading.template import measure_file
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.worksheets import catalogue as say
from samesky.worksheets.calibration_words import calibration
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.draft import NotKeptError
from samesky.worksheets.evidence import film as film_work
from samesky.worksheets.evidence import kept_tracks
from samesky.worksheets.evidence import track_form as track_asked
from samesky.worksheets.evidence import weather as weather_work
from samesky.worksheets.evidence.track import StaleError, TrackView, look, put_rows
from samesky.worksheets.runs.columns import calibration_file
from samesky.worksheets.server.flash import with_words, words_for
from samesky.worksheets.server.guard import LARGEST_BODY, REPORT_POLICY

#: The file of the airspeed system's calibration where one is begun.
CALIBRATION_FILE = f"{CALIBRATION.name}.csv"


def page(request: Request) -> Response:
    """The ways in."""
    return _page(CampaignContext(request), {}, {}, said=words_for(request))


def _page(
    context: CampaignContext, track: Mapping[str, str], weather: Mapping[str, str], status: int = 200, **values
) -> Response:
    said = context.answers()
    measures = {} if said.campaign is None else track_asked.measures_of(said.campaign)
    values = {
        "said": "", "wrong": {}, "wrong_weather": {}, "problem": "", "weather_problem": "",
        "words": track_asked.words_of(track), "asked": weather_work.words_of(weather), "measures": measures,
        "configurations": {} if said.campaign is None else said.campaign.configurations,
        "airspeeds": calibration(said, context.draft.files()), "film": film_work.state_of(said, context.draft.files()),
        "largest": LARGEST_BODY // 1_000_000, **values,
    }  # fmt: skip
    answer = context.page("evidence.html", "evidence", **values)
    answer.status_code = status
    return answer


async def upload(request: Request) -> Response:
    """A track, read and kept; the answer says where it is looked at."""
    sent = await _sent(request)

    def work() -> Response:
        context, words = CampaignContext(request), track_asked.words_of(sent)
        file = sent.get("file")
        try:
            if not isinstance(file, UploadFile):
                raise cannot(track_asked.CALLED["file"], say.UPLOAD_NO_TRACK())
            track_asked.ready(context.as_typed())
            fixes = kept_tracks.read_upload(file.file, file.filename or "", track_asked.day_of_log(words))
        except CampaignError as error:
            place, said = track_asked.place_of(error)
            return _page(context, words, {}, 422, wrong={place or "file": said})
        return RedirectResponse(_where(context, kept_tracks.keep(context.draft.folder, fixes), words), 303)

    return await run_in_threadpool(work)


def track(request: Request) -> Response:
    """What a kept track offers; nothing is put."""
    context, word = CampaignContext(request), request.path_params["word"]
    words = track_asked.words_of(request.query_params)
    try:
        kept_tracks.kept(context.draft.folder, word)
    except CampaignError as error:
        return _page(context, words, {}, 422, wrong={"file": track_asked.place_of(error)[1]})
    try:
        found = look(context, word, words)
        if "first" in request.query_params:
            between = track_asked.only(words, found.fixes, found.proposal, *_chosen(found, request.query_params))
            return RedirectResponse(_where(context, word, between), 303)
    except CampaignError as error:
        return _track_page(context, word, words, None, error)
    return _track_page(context, word, words, found)


def _track_page(
    context: CampaignContext, word: str, words: Mapping[str, str], found: TrackView | None, error=None
) -> Response:
    from samesky.measures import MEASURES
    from samesky.report import track_page as sayings

    said, fixes = context.answers(), kept_tracks.kept(context.draft.folder, word)
    place, problem = ("", "") if error is None else track_asked.place_of(error)
    values = {
        "word": word, "words": words, "found": found, "source": fixes.source, "sayings": sayings, "problem": problem,
        "wrong": {place: problem} if place else {}, "said": words_for(context.request),
        "measures": {} if said.campaign is None else track_asked.measures_of(said.campaign),
        "configurations": {} if said.campaign is None else said.campaign.configurations,
        "alone_page": f"{context.base}/evidence/track/{word}/page.html?{urlencode(words)}",
        "measure": None if found is None else MEASURES[found.proposal.measure],
        "all_of_them": "", "links": [],
    }  # fmt: skip
    if found is not None and not found.proposal.rows:
        values |= _ways_out(context, word, words, found)
    answer = context.page("evidence_track.html", "evidence", **values)
    answer.status_code = 200 if error is None else 422
    return answer


def _ways_out(context: CampaignContext, word: str, words: Mapping[str, str], found: TrackView) -> dict[str, object]:
    """Where the pilot can go from a track that leaves a choice: one candidate alone, or all of them."""
    count = len(found.proposal.found.candidates)
    if found.proposal.measure == "level_speed" or not count:
        # One leg is no run: the page asks for the first and the last.
        return {}
    alone = [track_asked.only(words, found.fixes, found.proposal, k, k) for k in range(count)]
    every = dict(words) | {"expected": str(count)} if count > 1 and str(count) != words["expected"] else None
    if found.proposal.measure == "idle_descent":
        every = None  # that they were flown at idle can be said of each alone
    return {
        "links": [_where(context, word, one) for one in alone],
        "all_of_them": _where(context, word, every) if every else "",
    }


def track_alone(request: Request) -> Response:
    """The same as a page of its own, to be kept."""
    context = CampaignContext(request)
    found = look(context, request.path_params["word"], track_asked.words_of(request.query_params))
    from samesky.report.track_page import track_page

    text = track_page(found.campaign, found.fixes, found.proposal, found.left, (found.clock, found.ground, found.part))
    return HTMLResponse(text, headers={"Content-Security-Policy": REPORT_POLICY})


async def put_track(request: Request) -> Response:
    """The rows of a track, put into what is typed."""
    sent = await _sent(request)

    def work() -> Response:
        context, word = CampaignContext(request), request.path_params["word"]
        words = track_asked.words_of(sent)
        try:
            proposal = put_rows(context, word, words, str(sent.get("version", "")))
        except StaleError as error:
            # Worked out anew, for what is typed now.
            return RedirectResponse(with_words(_where(context, word, words), _message(error)), 303)
        count = len(proposal.rows)
        said = f"{count} row{'s' * (count > 1)} from the track {'were' if count > 1 else 'was'} put in."
        return _to_table(context, proposal.file, f"{said} Fill in what only you can know.")

    return await run_in_threadpool(work)


async def weather(request: Request) -> Response:
    """What weather reports would fill in; filled into what is typed where ``do`` says so."""
    sent = await _sent(request, weather_work.LONGEST)
    file = sent.get("file")
    data = await file.read() if isinstance(file, UploadFile) else b""

    def work() -> Response:
        context, words = CampaignContext(request), weather_work.words_of(sent)
        try:
            if data:
                words["reports"] = weather_work.text_of(data, file.filename or "")
            if sent.get("do") == "fill":
                proposal = weather_work.fill(context, words, str(sent.get("version", "")))
                count = len(proposal.fills)
                return _to_table(
                    context, proposal.fills[0].file, f"{count} cells were filled from the weather reports."
                )
            proposal = weather_work.offered(context, words)
        except NotKeptError:
            raise
        except StaleError as error:
            return _weather_page(context, words, weather_work.offered(context, words), _message(error))
        except CampaignError as error:
            place, said = weather_work.place_of(error)
            return _page(context, {}, words, 422, wrong_weather={place: said} if place else {}, weather_problem=said)
        return _weather_page(context, words, proposal)

    return await run_in_threadpool(work)


def _weather_page(context: CampaignContext, words: Mapping[str, str], proposal, said: str = "") -> Response:
    values = {"asked": words, "proposal": proposal, "tables": weather_work.shown(proposal.fills), "said": said}
    return context.page("evidence_weather.html", "evidence", **values)


def begin_calibration(request: Request) -> Response:
    """A table of the airspeed system's calibration, where there is none."""
    context = CampaignContext(request)
    with context.draft.lock():
        file = next(iter(calibration_file(context.draft.files())), "")
        if not file:
            file = CALIBRATION_FILE
            context.draft.write(file, measure_file(CALIBRATION))
    return _to_table(context, file, "")


def _chosen(found: TrackView, asked: Mapping[str, str]) -> tuple[int, int]:
    """Numbers of the first and the last candidate that are meant. Raises CampaignError."""
    last = len(found.proposal.found.candidates) - 1
    numbers = [asked.get(name, "") for name in ("first", "last")]
    if not all(text.isascii() and text.isdigit() and len(text) < 6 for text in numbers):
        raise cannot("the track", say.PAGE_NO_LEG_CHOSEN())
    first, end = sorted(int(text) for text in numbers)
    if end > last:
        raise cannot("the track", say.PAGE_NO_SUCH_LEG())
    return first, end


def _where(context: CampaignContext, word: str, words: Mapping[str, str]) -> str:
    return f"{context.base}/evidence/track/{word}?{urlencode(words)}"


def _to_table(context: CampaignContext, file: str, said: str) -> Response:
    where = f"{context.base}/runs/{quote(file.rpartition('.')[0], safe='')}"
    return RedirectResponse(with_words(where, said), 303)


def _message(error: CampaignError) -> str:
    return error.finding.words().capitalize()


async def _sent(request: Request, longest: int = 100_000):
    """A form as sent. Raises CampaignError where it cannot be taken apart, or a field is far too long."""
    try:
        return await request.form(max_files=4, max_fields=60, max_part_size=longest)
    except HTTPException as error:
        raise cannot("what was sent", say.PAGE_NOT_UNDERSTOOD(detail=error.detail)) from None


ROUTES = [
    Route("/c/{name}/evidence", page),
    Route("/c/{name}/evidence/track", upload, methods=["POST"]),
    Route("/c/{name}/evidence/track/{word}", track),
    Route("/c/{name}/evidence/track/{word}/page.html", track_alone),
    Route("/c/{name}/evidence/track/{word}/put", put_track, methods=["POST"]),
    Route("/c/{name}/evidence/weather", weather, methods=["POST"]),
    Route("/c/{name}/evidence/position-error", begin_calibration, methods=["POST"]),
]
