"""What is asked, what is compared, what flew, where: the entries of ``campaign.toml`` as a page to fill in."""

from __future__ import annotations

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.entries.edit import with_entry, with_group, without_group
from samesky.campaign.entries.outline import Group, outline
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.settings.flying import ASKED
from samesky.campaign.toml.section import FILE
from samesky.worksheets import catalogue as say
from samesky.worksheets.answers import Answers
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.page_words import entry_words
from samesky.worksheets.server.flash import words_for
from samesky.worksheets.settings.changes import (
    EntryChangedError,
    change_entry,
    change_group,
    unchanged_since,
    undecided,
)

#: The parts of the page, and the tables of ``campaign.toml`` that each shows.
PARTS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("question", "The question", ("",)),
    ("flying", "What flying do you do?", ("mission",)),
    ("compared", "What is compared", ("configuration", "swap")),
    ("asked", "What is asked", ("measure",)),
    ("flew", "What flew", ("aeroplane", "engine", "propeller", "papers")),
    ("where", "Where", ("runway", "air")),
    ("limits", "Limits, fixed before flying", ("limits",)),
    ("readings", "How well it was read", ("instrument", "coefficient", "reference")),
    ("film", "Rolls on film", ("film",)),
)
#: The part that the Plan page shows.
PLAN_PART = ("plan", "What to plan", ("plan",))
#: Tables of which there may be several, each with a name of its own, and what one is called.
SEVERAL = {
    "configuration": "configuration",
    "measure": "measure",
    "runway": "runway",
    "station": "station",
    "instrument": "error source",
    "mission": "kind of flying",
}
#: What stands between the names of a table's path in a form.
BETWEEN = "\x1f"


def page(request: Request) -> Response:
    """The settings; as plain text where ``campaign.toml`` cannot be taken apart."""
    context = CampaignContext(request)
    with context.draft.lock():
        text = context.draft.files()[FILE]
        values = {"said": words_for(request), "text": text}
        try:
            groups = outline(text)
        except CampaignError as error:
            return context.page("settings_text.html", "settings", problem=str(error), **values)
        return context.page(
            "settings.html", "settings", parts=parts(groups, PARTS), **shown(context.answers()), **values
        )


def parts(groups: tuple[Group, ...], wanted) -> list[tuple[str, str, list[Group], list[str]]]:
    """Anchor, title, groups and kinds that may be added, of each part of a page."""
    found = []
    for anchor, title, heads in wanted:
        own = [group for group in groups if (group.path[0] if group.path else "") in heads]
        kinds = [kind for kind in SEVERAL if kind in heads or (kind == "station" and "aeroplane" in heads)]
        found.append((anchor, title, own, kinds))
    return found


def shown(said: Answers) -> dict[str, object]:
    """What the templates of settings need beside the groups."""
    return {
        "between": BETWEEN,
        "several": SEVERAL,
        "kinds_of_flying": list(ASKED),
        "wrong": dict(wrong_entries(said.findings)),
        "key_of": lambda path, name: (*path, plain_name(name)),
    }


def wrong_entries(findings: list[Finding]):
    """(path and plain name of an entry, what is wrong with it) of every finding about ``campaign.toml``."""
    for finding in findings:
        if finding.file == FILE and finding.column:
            table, _, name = finding.column.rpartition("]")
            path = tuple(part.strip().strip('"') for part in table.strip(" [").split(".")) if table.strip(" [") else ()
            yield (*path, plain_name(name.strip())), entry_words(finding)


async def entry(request: Request) -> Response:
    """One entry typed, as JSON or as a form: the path of its table, its name, its text."""
    if request.headers.get("content-type", "").startswith("application/json"):
        try:
            sent = await request.json()
        except (ValueError, RecursionError):
            sent = None
        sent = {name: value for name, value in sent.items() if isinstance(value, str)} if isinstance(sent, dict) else {}
    else:
        sent = {name: value for name, value in (await request.form()).items() if isinstance(value, str)}
    if not sent.get("name") or "seen" not in sent:
        raise cannot("this page", say.PAGE_NO_CHANGE())

    def work() -> Response:
        context = CampaignContext(request)
        path, name, text = _path(sent.get("path", "")), sent["name"], sent.get("text", "")
        with context.draft.lock():
            before = context.draft.files()[FILE]
            try:
                after = change_entry(before, path, name, text, sent["seen"])
            except EntryChangedError as error:
                return JSONResponse({"problem": str(error), "there": error.there, **_state(context)}, 409)
            if after != before:
                context.draft.write(FILE, after)
            return JSONResponse(_state(context))

    return await run_in_threadpool(work)


def state(request: Request) -> Response:
    """What a page of settings that is open should show now; 204 where it shows that already."""
    context = CampaignContext(request)
    with context.draft.lock():
        if request.query_params.get("version") == context.draft.version():
            return Response(status_code=204)
        return JSONResponse(_state(context))


def _state(context: CampaignContext) -> dict:
    """What a page shows of the settings, and of what the numbers say."""
    said = context.answers()
    values = {"answers": said, "base": context.base, "here": "settings", "tabs": context.tabs()}
    groups = outline(context.draft.files()[FILE])
    return {
        "version": context.draft.version(),
        "entries": [
            [BETWEEN.join((*group.path, plain_name(entry.name))), entry.text]
            for group in groups
            for entry in group.entries
        ],
        "on": [BETWEEN.join(group.path) for group in groups if group.on],
        "shown": [BETWEEN.join(group.path) for _, _, own, _ in parts(groups, PARTS) for group in own],
        "wrong": [[BETWEEN.join(key), text] for key, text in wrong_entries(said.findings)],
        "mend": rendered("to_mend.html", values),
        "verdict": rendered("so_far.html", values),
        "tabs": rendered("tabs.html", values),
        "changed": context.draft.changed(),
    }


async def group(request: Request) -> Response:
    """A whole table: its entries as a plain form; or one added, or taken away."""
    sent = await request.form()
    doing, path = str(sent.get("do", "keep")), _path(str(sent.get("path", "")))

    def work() -> Response:
        context = CampaignContext(request)
        with context.draft.lock():
            text = context.draft.files()[FILE]
            if doing == "add":
                name = str(sent.get("name", "")).strip()
                if not name:
                    raise cannot(FILE, say.SETTINGS_TABLE_WITHOUT_NAME())
                text = with_group(text, (*path, name))
                if path == ("measure",):
                    if not (matters := str(sent.get("matters", "")).strip()):
                        raise undecided(name.replace("_", " "))
                    text = with_entry(text, (*path, name), "smallest_difference_that_matters", matters)
            elif doing == "remove":
                unchanged_since(text, path, sent)
                _may_go(context, path)
                text = without_group(text, path)
            else:
                text = change_group(text, path, sent)
            if text != context.draft.files()[FILE]:
                context.draft.write(FILE, text)
        back = "plan" if path[:1] == ("plan",) else "settings"
        # What was just added stands open.
        place = (*path, name) if doing == "add" else path
        return RedirectResponse(f"{context.base}/{back}#{quote('.'.join(place)) or 'question'}", 303)

    return await run_in_threadpool(work)


async def whole_text(request: Request) -> Response:
    """``campaign.toml`` as a whole, where the page of settings cannot show it."""
    sent = await request.form()

    def work() -> Response:
        context = CampaignContext(request)
        with context.draft.lock():
            if sent.get("version") != context.draft.version():
                raise cannot(FILE, say.SETTINGS_FILE_CHANGED())
            context.draft.write(FILE, str(sent.get("text", "")).replace("\r\n", "\n"))
        return RedirectResponse(f"{context.base}/settings", 303)

    return await run_in_threadpool(work)


def _may_go(context: CampaignContext, path: tuple[str, ...]) -> None:
    """A measure goes only with a file that holds no run, which then goes as well."""
    if path[:1] != ("measure",):
        return
    for file, measure in context.measures().items():
        if plain_name(file.rpartition(".")[0]) == plain_name(path[-1]) and file in context.draft.files():
            if context.runs(file.rpartition(".")[0]).grid.trimmed().rows:
                raise cannot(file, say.SETTINGS_MEASURE_HAS_RUNS())
            del measure
            context.draft.remove(file)


def _path(text: str) -> tuple[str, ...]:
    return tuple(text.split(BETWEEN)) if text else ()


def first_page(request: Request) -> Response:
    """The first page of a campaign: the runs of the measure that decides where there are any, else the settings."""
    context = CampaignContext(request)
    campaign = context.answers().campaign
    tables = {} if campaign is None else campaign.tables
    # What was to be said of the way here is said by the page that is shown.
    words = f"?{request.url.query}" if request.url.query else ""
    for name in sorted(tables, key=lambda name: not campaign.asked[name].primary):
        return RedirectResponse(f"{context.base}/runs/{quote(tables[name].file.rpartition('.')[0])}{words}", 303)
    return RedirectResponse(f"{context.base}/settings{words}", 303)


ROUTES = [
    Route("/c/{name}", first_page),
    Route("/c/{name}/settings", page),
    Route("/c/{name}/settings/state", state),
    Route("/c/{name}/settings/entry", entry, methods=["POST"]),
    Route("/c/{name}/settings/group", group, methods=["POST"]),
    Route("/c/{name}/settings/text", whole_text, methods=["POST"]),
]
