"""What to fly on Saturday: what the plan goes by, the plan, the cards to print, and whether it would find anything."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.entries.outline import Group, outline
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import plain_name, quoted
from samesky.campaign.reading.unflown import next_run
from samesky.campaign.tables.write import write_bytes
from samesky.campaign.toml.section import FILE
from samesky.planning.cards.paper import PAPERS
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.evidence.track import StaleError
from samesky.worksheets.page_words import sentence
from samesky.worksheets.plan.work import (
    LARGEST_SEED,
    MOST_CAMPAIGNS,
    PlanReadiness,
    card_files,
    offered_to_tables,
    plan_readiness,
    planned,
    put_into_tables,
    rehearsal,
    remembered,
)
from samesky.worksheets.server.flash import with_words, words_for
from samesky.worksheets.server.guard import REPORT_POLICY
from samesky.worksheets.settings.pages import BETWEEN, PLAN_PART, parts, shown, wrong_entries

#: Campaigns of a rehearsal that are offered: about a quarter of a minute.
OFFERED_CAMPAIGNS = 300
#: Names of the cards' files, in the campaign's folder and in downloads.
CARDS, CARDS_PDF = "cards.html", "cards.pdf"


def page(request: Request) -> Response:
    """What the plan goes by, and the plan where it is known; worked out only where ``work`` asks for it."""
    context = CampaignContext(request)
    asked = request.query_params
    found = plan_readiness(context, asked.get("other", ""))
    refused, plan = "", remembered(context, found)
    if "work" in asked and found.ready:
        try:
            plan = planned(context, found)
        except CampaignError as error:
            refused = _in_words(error)
    with context.draft.lock():
        try:
            groups = outline(context.draft.files()[FILE])
        except CampaignError:
            groups = ()
        settings = shown(context.answers())
        settings["wrong"] |= dict(wrong_entries(found.findings))
        return context.page(
            "plan.html",
            "plan",
            said=words_for(request),
            groups=_shown_groups(groups),
            lacking=_lacking(found, groups),
            refused=refused,
            found=found,
            **_result(context, plan, _flown(context, found)),
            **settings,
        )


def state(request: Request) -> Response:
    """What the page should show of the campaign as typed now; 204 where it shows that already."""
    context = CampaignContext(request)
    asked = request.query_params
    if asked.get("version") == context.draft.version():
        return Response(status_code=204)
    found = plan_readiness(context, asked.get("other", ""))
    values = {"found": found, "base": context.base, "refused": ""}
    return JSONResponse(
        {
            "version": found.version,
            "state": rendered("plan_state.html", values),
            "wrong": [[BETWEEN.join(key), text] for key, text in wrong_entries(found.findings)],
        }
    )


def worked(request: Request) -> Response:
    """The plan as a piece of the page, worked out where it is new."""
    context = CampaignContext(request)
    found = plan_readiness(context, request.query_params.get("other", ""))
    values = {"base": context.base, "found": found, **_result(context, planned(context, found), _flown(context, found))}
    return JSONResponse({"version": found.version, "plan": rendered("planned.html", values)})


def cards(request: Request) -> Response:
    """The cards to look at and print."""
    context, found, paper = _cards_asked(request, request.query_params)
    made = card_files(context, found, paper, pdf=False)
    return HTMLResponse(made[CARDS], headers={"Content-Security-Policy": REPORT_POLICY})


def cards_pdf(request: Request) -> Response:
    """The cards as PDF, to be kept."""
    context, found, paper = _cards_asked(request, request.query_params)
    made = card_files(context, found, paper, pdf=True)
    headers = {"Content-Disposition": f'attachment; filename="{CARDS_PDF}"'}
    return Response(made[CARDS_PDF], media_type="application/pdf", headers=headers)


async def write_cards(request: Request) -> Response:
    """The cards, put into the campaign's folder."""
    sent = await request.form()

    def work() -> Response:
        context, found, paper = _cards_asked(request, sent)
        made = card_files(context, found, paper, pdf=False)
        with context.draft.lock():
            write_bytes(context.draft.folder / CARDS, made[CARDS])
        where = f"{context.base}/plan?{urlencode({'other': found.other})}"
        return RedirectResponse(with_words(where, f"In the campaign's folder now: {CARDS}."), 303)

    return await run_in_threadpool(work)


async def rehearse(request: Request) -> Response:
    """A rehearsal flown; the answer says where its page is."""
    sent = await request.form()
    campaigns, seed = _numbers(sent)

    def work() -> Response:
        context = CampaignContext(request)
        found = plan_readiness(context, _text(sent.get("other")))
        rehearsal(context, found, campaigns, seed, work=True)
        if "application/json" in request.headers.get("accept", ""):
            return JSONResponse({"version": found.version, "page": _rehearsal_page(context, found, campaigns, seed)})
        query = urlencode({"other": found.other, "campaigns": campaigns, "seed": seed})
        return RedirectResponse(f"{context.base}/plan?{query}&work=1#rehearsal", 303)

    return await run_in_threadpool(work)


def rehearsal_page(request: Request) -> Response:
    """The page of a rehearsal that was flown before."""
    context = CampaignContext(request)
    asked = request.query_params
    campaigns, seed = _numbers(asked)
    text = rehearsal(context, plan_readiness(context, asked.get("other", "")), campaigns, seed, work=False)
    headers = {"Content-Security-Policy": REPORT_POLICY}
    if "download" in asked:
        headers["Content-Disposition"] = 'attachment; filename="rehearsal.html"'
    return HTMLResponse(text, headers=headers)


async def into_tables(request: Request) -> Response:
    """The planned order, put into the tables as typed; then the table in which the next run stands."""
    sent = await request.form()

    def work() -> Response:
        context = CampaignContext(request)
        other = _text(sent.get("other"))
        try:
            put = put_into_tables(context, plan_readiness(context, other), _text(sent.get("version")))
        except StaleError as error:
            # Worked out anew, for what is typed now.
            where = f"{context.base}/plan?{urlencode({'other': other, 'work': 1})}"
            return RedirectResponse(with_words(where, _in_words(error).capitalize()), 303)
        campaign = context.answers().campaign
        ahead = None if campaign is None else next_run(campaign)
        stem = (put.puts[0].file if ahead is None else ahead.file).rpartition(".")[0]
        count = f"{put.count} planned runs are" if put.count > 1 else "1 planned run is"
        said = f"{count} in the tables. As each is flown, type its clock and its readings into its row."
        return RedirectResponse(with_words(f"{context.base}/runs/{quote(stem, safe='')}", said), 303)

    return await run_in_threadpool(work)


def _result(context: CampaignContext, plan, flown: dict[str, object]) -> dict[str, object]:
    """What the templates need of a plan, and of what was flown of it in a rehearsal."""
    values = {"plan": plan, "papers": PAPERS, "flown": flown}
    values |= {"most_campaigns": MOST_CAMPAIGNS, "offered_campaigns": OFFERED_CAMPAIGNS}
    if plan is not None:
        from samesky.planning.output import terminal as words
        from samesky.planning.output import words as sayings
        from samesky.worksheets.plan import words as plan_words

        values |= {"words": words, "sayings": sayings, "plan_words": plan_words}
        try:
            values |= {"into": offered_to_tables(context, plan), "not_into": ""}
        except CampaignError as error:
            values |= {"into": None, "not_into": sentence(error.finding)}
    return values


def _shown_groups(groups) -> list[Group]:
    """The plan's own tables, open; those of measures that are not planned stand behind buttons instead."""
    own = parts(groups, (PLAN_PART,))[0][2] if groups else []
    return [
        replace(group, on=True) if len(group.path) == 1 else group for group in own if group.on or not group.path[1:]
    ]


def _lacking(found: PlanReadiness, groups) -> list[tuple[str, str]]:
    """Name and title of every measure that is asked for and not yet planned."""
    there = {
        plain_name(group.path[1]) for group in groups if group.on and group.path[:1] == ("plan",) and group.path[1:]
    }
    asked = {} if found.campaign is None else found.campaign.asked
    return [(name, one.measure.title) for name, one in asked.items() if plain_name(name) not in there]


def _flown(context: CampaignContext, found: PlanReadiness) -> dict[str, object]:
    """Campaigns and seed of the rehearsal that the page's own address names, and where its page is; else the offer."""
    asked = context.request.query_params
    offer = {"campaigns": OFFERED_CAMPAIGNS, "seed": 1, "page": ""}
    if "campaigns" not in asked:
        return offer
    try:
        campaigns, seed = _numbers(asked)
        rehearsal(context, found, campaigns, seed, work=False)
    except CampaignError:
        return offer
    return {"campaigns": campaigns, "seed": seed, "page": _rehearsal_page(context, found, campaigns, seed)}


def _rehearsal_page(context: CampaignContext, found: PlanReadiness, campaigns: int, seed: int) -> str:
    query = urlencode({"other": found.other, "campaigns": campaigns, "seed": seed})
    return f"{context.base}/plan/rehearsal.html?{query}"


def _numbers(asked) -> tuple[int, int]:
    campaigns = _whole(asked.get("campaigns"), "the number of campaigns", 1, MOST_CAMPAIGNS)
    return campaigns, _whole(asked.get("seed"), "the seed", 0, LARGEST_SEED)


def _cards_asked(request: Request, asked) -> tuple[CampaignContext, PlanReadiness, str]:
    context = CampaignContext(request)
    return context, plan_readiness(context, _text(asked.get("other"))), _text(asked.get("paper")) or next(iter(PAPERS))


def _in_words(error: CampaignError) -> str:
    return error.finding.words()


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _whole(text: object, what: str, low: int, high: int) -> int:
    """A whole number of a form. Raises CampaignError for anything else, and outside its bounds."""
    text = _text(text).strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 10 and low <= int(text) <= high):
        raise cannot(what, say.PAGE_NOT_WHOLE(text=quoted(text), low=low, high=high))
    return int(text)


ROUTES = [
    Route("/c/{name}/plan", page),
    Route("/c/{name}/plan/state", state),
    Route("/c/{name}/plan/worked", worked),
    Route(f"/c/{{name}}/plan/{CARDS}", cards),
    Route(f"/c/{{name}}/plan/{CARDS_PDF}", cards_pdf),
    Route("/c/{name}/plan/cards", write_cards, methods=["POST"]),
    Route("/c/{name}/plan/tables", into_tables, methods=["POST"]),
    Route("/c/{name}/plan/rehearse", rehearse, methods=["POST"]),
    Route("/c/{name}/plan/rehearsal.html", rehearsal_page),
]
