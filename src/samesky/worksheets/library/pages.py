"""The first page: which campaigns are here; start one, or take one in. And what holds for a whole campaign: save it."""

from __future__ import annotations

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.entries.edit import with_entry, without_group
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.template import PRIMARY, template_files
from samesky.campaign.toml.section import FILE
from samesky.measures import MEASURES
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.draft import ChangedOutsideError
from samesky.worksheets.library.folders import title_of
from samesky.worksheets.library.uploads import campaign_texts
from samesky.worksheets.server.flash import with_words
from samesky.worksheets.settings.changes import decided


def store(request: Request) -> Response:
    """Every campaign here, and the ways to one more."""
    here = request.app.state.store
    values = {"campaigns": here.campaigns(), "root": here.root.name, "alone": here.only is not None}
    values |= {"measures": list(MEASURES.values()), "primary": PRIMARY, "quote": lambda text: quote(text, safe="")}
    return HTMLResponse(rendered("campaigns.html", values))


async def start(request: Request) -> Response:
    """A new campaign from a title, a question, two labels and the measures to be flown."""
    sent = await request.form()
    words = {name: str(value) for name, value in sent.items() if isinstance(value, str)}
    asked = [name for name in MEASURES if f"measure.{name}" in words]

    def work() -> str:
        if not words.get("title", "").strip():
            raise cannot("title", say.SHELF_NO_TITLE())
        if not asked:
            raise cannot("measures", say.SHELF_NO_MEASURE())
        for name in asked:
            decided(words.get(f"matters.{name}", ""), MEASURES[name])
        decides = words.get("primary", PRIMARY)
        if decides in MEASURES and decides not in asked and (len(asked) > 1 or decides != PRIMARY):
            raise cannot("measures", say.SHELF_DECIDER_NOT_TICKED(title=MEASURES[decides].title))
        return request.app.state.store.put(words["title"], _fresh(words, asked))

    return _to(await run_in_threadpool(work))


def _fresh(words: dict[str, str], asked: list[str]) -> dict[str, str]:
    """The files of a new campaign: the template's, with what was chosen filled in and the rest left out."""
    files = template_files()
    text = files[FILE]
    for path, name, sent in (
        ((), "title", "title"),
        ((), "question", "question"),
        (("configuration", "A"), "label", "label.A"),
        (("configuration", "B"), "label", "label.B"),
    ):
        if words.get(sent, "").strip():
            text = with_entry(text, path, name, words[sent].strip())
    primary = words["primary"] if words.get("primary") in asked else asked[0]
    for name in MEASURES:
        if name not in asked:
            text = without_group(text, ("measure", name))
            continue
        text = with_entry(text, ("measure", name), "primary", "true" if name == primary else "false")
        matters = words[f"matters.{name}"].strip()
        text = with_entry(text, ("measure", name), "smallest_difference_that_matters", matters)
    left_out = {plain_name(name) for name in MEASURES} - {plain_name(name) for name in asked}
    return {FILE: text} | {
        name: content for name, content in files.items()
        if name != FILE and plain_name(name.rpartition(".")[0]) not in left_out
    }  # fmt: skip


async def take_in(request: Request) -> Response:
    """A campaign from a zip, a workbook, or its files dropped together."""
    sent = await request.form()
    uploads = {one.filename or "": await one.read() for one in sent.getlist("files") if isinstance(one, UploadFile)}

    def work() -> tuple[str, str]:
        texts = campaign_texts(uploads)
        names = [name for name in uploads if name]
        title, store = title_of(texts[FILE]), request.app.state.store
        stem = names[0].rpartition(".")[0] if len(names) == 1 else title
        here = [one.name for one in store.campaigns() if one.title == title]
        name = store.put(stem or "campaign", texts)
        return name, _beside(name, here) if here else ""

    name, said = await run_in_threadpool(work)
    return _to(name, said)


def _beside(name: str, here: list[str]) -> str:
    """What to say where campaigns of that title were here already: whoever brings a file back expects its own."""
    return (
        f"A campaign of this title was here already (folder {', '.join(here[:3])}) and is as it was; what you brought "
        f"is a copy of its own, in the folder {name}."
    )


async def save(request: Request) -> Response:
    """Put what was typed into the campaign's own files."""
    sent = await request.form()

    def work() -> Response:
        context = CampaignContext(request)
        with context.draft.lock():
            try:
                names = context.draft.save(over=sent.get("over") == "yes")
            except ChangedOutsideError as error:
                return context.page("save_over.html", "save", message=str(error), files=error.files)
        return context.page("saved.html", "save", names=names)

    return await run_in_threadpool(work)


async def throw_away(request: Request) -> Response:
    """Go back to what is saved."""
    sent = await request.form()

    def work() -> Response:
        context = CampaignContext(request)
        if sent.get("sure") != "yes":
            return context.page("throw_away.html", "save")
        with context.draft.lock():
            context.draft.throw_away()
        return _to(context.name)

    return await run_in_threadpool(work)


def take_along(request: Request) -> Response:
    """The campaign as typed in one file: a data package as a zip, or a workbook."""
    context, kind = CampaignContext(request), request.path_params["kind"]
    with context.draft.lock():
        files = context.draft.files()
    if kind == "zip":
        from samesky.exchange.data_package.describe import package
        from samesky.exchange.zip.archive import zip_bytes

        content, media = zip_bytes(package(files)), "application/zip"
    elif kind == "xlsx":
        from samesky.exchange.workbook.sheets import workbook_bytes

        content = workbook_bytes(files, f"{context.name}.xlsx")
        media = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    else:
        raise KeyError(kind)
    # RFC 6266: a name outside ASCII goes percent-encoded.
    named = f"attachment; filename*=UTF-8''{quote(context.name, safe='')}.{kind}"
    return Response(content, media_type=media, headers={"Content-Disposition": named})


def _to(name: str, said: str = "") -> Response:
    return RedirectResponse(with_words(f"/c/{quote(name, safe='')}", said), 303)


ROUTES = [
    Route("/", store),
    Route("/start", start, methods=["POST"]),
    Route("/take-in", take_in, methods=["POST"]),
    Route("/c/{name}/save", save, methods=["POST"]),
    Route("/c/{name}/take-along/{kind}", take_along),
    Route("/c/{name}/throw-away", throw_away, methods=["POST"]),
]
