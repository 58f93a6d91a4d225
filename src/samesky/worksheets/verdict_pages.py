"""The verdict: the whole report of what is typed so far, drawn anew as it changes, and saved when it is wanted."""

from __future__ import annotations

from pathlib import Path
from threading import Lock

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.tables.write import write_text
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.draft import ChangedOutsideError
from samesky.worksheets.latest import Latest
from samesky.worksheets.server import faults
from samesky.worksheets.server.flash import with_words, words_for
from samesky.worksheets.server.guard import REPORT_POLICY

#: Reports kept: the one shown, and those that other pages show.
KEPT = 4
#: The name of the report in a campaign's folder.
REPORT = "report.html"

#: Verdicts of some of the runs do not look like verdicts of all of them.
PARTIAL = "<style>.verdict { color: #454d55; font-weight: 400; }</style>"

_kept: Latest[tuple[Path, str], str] = Latest(KEPT)
#: Figures are drawn one after another: the drawing library is not made for several at once.
DRAWING = Lock()


def page(request: Request) -> Response:
    """The verdict, with the report in it."""
    return CampaignContext(request).page("verdict.html", "verdict", said=words_for(request))


def state(request: Request) -> Response:
    """What the page should show now; 204 where it shows that already."""
    context = CampaignContext(request)
    version = context.draft.version()
    if request.query_params.get("version") == version:
        return Response(status_code=204)
    said = context.answers()
    values = {"answers": said, "base": context.base, "here": "verdict", "tabs": context.tabs()}
    return JSONResponse(
        {
            "version": version,
            "verdict": rendered("so_far.html", values),
            "mend": rendered("to_mend.html", values),
            "tabs": rendered("tabs.html", values),
            "report": bool(said.comparisons),
            "changed": context.draft.changed(),
        }
    )


def report(request: Request) -> Response:
    """The report of what is typed so far."""
    context = CampaignContext(request)
    headers = {"Content-Security-Policy": REPORT_POLICY}
    if "download" in request.query_params:
        headers["Content-Disposition"] = f'attachment; filename="{REPORT}"'
    # What goes out of the house shows every run; what is only looked at says which runs it lacks.
    return HTMLResponse(_report(context, whole="download" in request.query_params), headers=headers)


async def save_report(request: Request) -> Response:
    """Save what was typed, and write the report beside it."""
    sent = await request.form()

    def work() -> Response:
        context = CampaignContext(request)
        text = _report(context, whole=True)
        with context.draft.lock():
            try:
                context.draft.save(over=sent.get("over") == "yes")
            except ChangedOutsideError as error:
                return context.page("save_over.html", "save", message=str(error), files=error.files)
            write_text(context.draft.folder / REPORT, text)
        return RedirectResponse(with_words(f"{context.base}/verdict", f"Saved, with {REPORT} beside it."), 303)

    return await run_in_threadpool(work)


def _report(context: CampaignContext, whole: bool = False) -> str:
    """The report as text. Raises CampaignError where there is no verdict, or a ``whole`` one lacks a row."""
    said = context.answers()
    if not said.comparisons or said.compared is None:
        raise cannot(
            "the report", say.REPORT_NO_VERDICT(waiting=said.waiting or "Type in runs of both configurations.")
        )
    if whole and said.without:
        raise cannot("the report", say.REPORT_ROW_UNFINISHED(without=", ".join(said.without)))
    key = (context.draft.folder, context.draft.version())
    with DRAWING:
        text = _kept.get(key)
        if text is None:
            from samesky.report.page import page as report_page

            try:
                text = report_page(said.compared, said.comparisons)
            except CampaignError:
                raise
            except Exception as error:
                raise faults.as_campaign_error(error, "the report") from error
            if said.without:
                left_out = rendered("left_out.html", {"answers": said})
                text = text.replace("<body>", f"<body>\n{PARTIAL}{left_out}", 1)
            _kept.keep(key, text)
        return text


ROUTES = [
    Route("/c/{name}/verdict", page),
    Route("/c/{name}/verdict/state", state),
    Route("/c/{name}/report.html", report),
    Route("/c/{name}/report", save_report, methods=["POST"]),
]
