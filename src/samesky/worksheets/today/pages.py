"""On the day: quick answers on the apron, from the few things that are known there."""

from __future__ import annotations

from threading import Lock

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from samesky import apron
from samesky.campaign.messages.errors import CampaignError
from samesky.report.phrases import capital
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.latest import Latest
from samesky.worksheets.plan.work import plan_readiness, planned, remembered
from samesky.worksheets.runs.columns import Runs, runs_of
from samesky.worksheets.server import faults
from samesky.worksheets.today.cards import AnswerCard, ApronInputs, cards, wind
from samesky.worksheets.today.form import Field, form

#: Answers to "one more block?" kept: each may take some seconds.
KEPT = 8

_kept: Latest[tuple, AnswerCard] = Latest(KEPT)
#: One plan is made at a time.
_planning = Lock()


def page(request: Request) -> Response:
    """The form and its answers; with ``more`` also whether one more block is worth it."""
    context = CampaignContext(request)
    answers = context.answers()
    if answers.campaign is None:
        return context.page("today.html", "today", fields=[], cards=[], given=None, more=None, tables=[], chosen="")
    fields, given, runs = _asked(context, request)
    return context.page(
        "today.html",
        "today",
        fields=fields,
        cards=cards(given, runs),
        given=given,
        more=_more(context, given) if "more" in request.query_params else None,
        tables=[file.rpartition(".")[0] for file, one in context.measures().items() if one is not None],
        chosen="" if runs is None else runs.stem,
    )


def fragment(request: Request) -> Response:
    """The answers alone, while numbers are typed."""
    context = CampaignContext(request)
    if context.answers().campaign is None:
        return JSONResponse({"problem": "What is entered under Question cannot be read yet: mend it there."}, 422)
    _, given, runs = _asked(context, request)
    found = cards(given, runs)
    return JSONResponse({"cards": rendered("today_cards.html", {"cards": found}), "wrong": given.wrong})


def more(request: Request) -> Response:
    """One more block or stop, by itself: making the plan anew takes some seconds."""
    context = CampaignContext(request)
    if context.answers().campaign is None:
        return JSONResponse({"problem": "What is entered under Question cannot be read yet: mend it there."}, 422)
    _, given, _ = _asked(context, request)
    return JSONResponse(
        {"cards": rendered("today_cards.html", {"cards": [_more(context, given)]}), "wrong": given.wrong}
    )


def _asked(context: CampaignContext, request: Request) -> tuple[list[Field], ApronInputs, Runs | None]:
    campaign = context.answers().campaign
    fields = form(campaign, {name: text[:100] for name, text in request.query_params.items()})
    return (
        fields,
        ApronInputs.of(campaign, fields, remembered(context, plan_readiness(context))),
        _table(context, request.query_params.get("table", "")),
    )


def _table(context: CampaignContext, stem: str) -> Runs | None:
    """The table asked for, else that of the latest run."""
    files, campaign = context.draft.files(), context.answers().campaign
    there = {
        file.rpartition(".")[0]: file for file, one in context.measures().items() if one is not None and file in files
    }
    if stem not in there:
        latest = sorted(campaign.tables.values(), key=lambda table: float(table.hours.max(initial=-1.0)))
        stem = latest[-1].file.rpartition(".")[0] if latest else next(iter(there), "")
    return runs_of(there[stem], files[there[stem]], context.measures()[there[stem]]) if stem in there else None


def _more(context: CampaignContext, given: ApronInputs) -> AnswerCard:
    title = "One more block, or stop?"
    try:
        now = (given.hours(), given.number("fuel"), wind(given))
    except CampaignError as error:
        given.blame(error)
        return AnswerCard("more", title, needs=error.finding.words())
    key = (context.draft.folder, context.draft.version(), *now[:2], repr(now[2]))
    with _planning:
        return _kept.get(key) or _kept.keep(key, _one_more(context, title, *now))


def _one_more(context: CampaignContext, title: str, clock: float | None, fuel: float | None, blowing) -> AnswerCard:
    try:
        ready = plan_readiness(context)
        plan = planned(context, ready) if ready.ready else None
        found = apron.one_more_or_stop(context.answers().campaign, clock, fuel, plan, wind=blowing)
    except CampaignError as error:
        return AnswerCard("more", title, needs=str(error))
    except Exception as error:
        return AnswerCard("more", title, needs=capital(faults.words(error)))
    return AnswerCard("more", title, found.says, found.sentences[1:], (), (), found.caution)


ROUTES = [
    Route("/c/{name}/today", page),
    Route("/c/{name}/today/cards", fragment),
    Route("/c/{name}/today/more", more),
]
