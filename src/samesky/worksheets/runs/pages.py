"""The table of runs: typed, pasted, dropped, deleted, its units changed; and what the numbers say after each change."""

from __future__ import annotations

import re
from collections.abc import Callable
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext, rendered
from samesky.worksheets.library.uploads import table_text
from samesky.worksheets.runs.changes import (
    GridChange,
    SomebodyElseError,
    add_column,
    change_cell,
    change_unit,
    delete_row,
    keep,
    typed_table,
)
from samesky.worksheets.runs.columns import Runs
from samesky.worksheets.runs.pasted import paste, take
from samesky.worksheets.server.flash import with_words, words_for

#: Fields of a table that was sent as a form: as many runs as a file may have, with all columns of any measure.
MOST_FIELDS = 100_000
#: The name of a cell's field in a form: its row and its column.
_CELL = re.compile(r"c-([0-9]{1,5})-([0-9]{1,4})")


def page(request: Request) -> Response:
    """The table of one file of runs."""
    context = CampaignContext(request)
    with context.draft.lock():
        runs = context.runs(request.path_params["stem"])
        here, said = f"runs/{runs.stem}", words_for(request)
        return context.page("runs.html", here, runs=runs, state=_state(context, runs), said=said)


async def cell(request: Request) -> Response:
    """One cell typed, as JSON: its row, column, text, and the row's cells as the page showed them."""
    sent = await _json(request)
    row, column, text, seen = (sent.get(name) for name in ("row", "column", "text", "seen"))
    if not (_is_place(row) and _is_place(column) and isinstance(text, str) and _are_cells(seen)):
        raise cannot("this page", say.PAGE_NO_CHANGE())
    return await _changed(request, lambda runs: change_cell(runs, row, column, text, seen), row)


async def pasted(request: Request) -> Response:
    """A block of cells from a spreadsheet."""
    sent = await _json(request)
    row, column, text = (sent.get(name) for name in ("row", "column", "text"))
    if not (_is_place(row) and _is_place(column) and isinstance(text, str)):
        raise cannot("this page", say.PAGE_NO_CHANGE())
    return await _changed(request, lambda runs: paste(runs, row, column, text))


async def deleted(request: Request) -> Response:
    """A row taken away."""
    sent = await _json(request)
    row, seen = sent.get("row"), sent.get("seen")
    if not (_is_place(row) and _are_cells(seen)):
        raise cannot("this page", say.PAGE_NO_CHANGE())
    return await _changed(request, lambda runs: delete_row(runs, row, seen))


def state(request: Request) -> Response:
    """What a page that is open should show now; 204 where it shows that already."""
    context = CampaignContext(request)
    with context.draft.lock():
        if request.query_params.get("version") == context.draft.version():
            return Response(status_code=204)
        return JSONResponse(_state(context, context.runs(request.path_params["stem"])))


async def form(request: Request) -> Response:
    """The whole table as a plain form, for browsers without scripts; a button may change a column besides."""
    sent = await request.form(max_fields=MOST_FIELDS)
    typed, doing = {}, str(sent.get("do", "keep"))
    for name, text in sent.items():
        place = _CELL.fullmatch(name)
        if place and isinstance(text, str):
            typed[int(place[1]), int(place[2])] = text
    upload = sent.get("file")
    taken = doing == "take" and isinstance(upload, UploadFile)
    name, data = (upload.filename or "", await upload.read()) if taken else ("", b"")

    def change(context: CampaignContext) -> tuple[str, str]:
        runs, words = context.runs(request.path_params["stem"]), []
        if typed:
            if sent.get("version") != context.draft.version():
                raise cannot(runs.file, say.PAGE_TABLE_CHANGED())
            by_hand = typed_table(runs, typed)
            keep(context.draft, runs, by_hand)
            words.append(by_hand.said)
            runs = context.runs(runs.stem)
        changed = _done(doing, runs, sent, name, data)
        keep(context.draft, runs, changed)
        return runs.stem, " ".join(filter(None, [*words, changed.said]))

    stem, said = await run_in_threadpool(_locked, request, change)
    where = "/c/" + "/runs/".join(quote(part, safe="") for part in (request.path_params["name"], stem))
    return RedirectResponse(with_words(where, said), 303)


def _done(doing: str, runs: Runs, sent, name: str, data: bytes) -> GridChange:
    if doing == "take":
        return take(runs, table_text(data, name, runs))
    if doing == "add":
        return add_column(runs, str(sent.get("header", "")))
    if doing in ("convert", "relabel"):
        column = re.fullmatch(r"[0-9]{1,4}", str(sent.get("column", "")))
        return change_unit(runs, int(column[0]) if column else -1, str(sent.get("unit", "")), doing == "convert")
    return GridChange(runs.grid, "")


def _locked(request: Request, change: Callable[[CampaignContext], tuple[str, str]]) -> tuple[str, str]:
    context = CampaignContext(request)
    with context.draft.lock():
        return change(context)


async def _changed(request: Request, change: Callable[[Runs], GridChange], row: int | None = None) -> Response:
    def work() -> Response:
        context = CampaignContext(request)
        with context.draft.lock():
            runs = context.runs(request.path_params["stem"])
            try:
                changed = change(runs)
            except SomebodyElseError as error:
                there = {"row": row, "cells": error.row, "changed": context.draft.changed()}
                return JSONResponse({"problem": str(error), **there}, 409)
            keep(context.draft, runs, changed)
            return JSONResponse({**_state(context, context.runs(runs.stem)), "said": changed.said})

    return await run_in_threadpool(work)


def _state(context: CampaignContext, runs: Runs) -> dict:
    """What the page shows of a table, and of what the numbers say."""
    said = context.answers()
    marks = [
        {"row": row, "column": column, "kind": finding.kind, "text": finding.words()}
        for finding, row, column in runs.places(said.findings)
    ]
    values = {"answers": said, "base": context.base, "here": f"runs/{runs.stem}", "tabs": context.tabs()}
    return {
        "version": context.draft.version(),
        "header": list(runs.grid.header),
        "rows": runs.rows,
        "numbers": runs.numbers,
        "marks": marks,
        "unflown": runs.unflown,
        "next": runs.next_row,
        "verdict": rendered("so_far.html", values),
        "mend": rendered("to_mend.html", values),
        "tabs": rendered("tabs.html", values),
        "changed": context.draft.changed(),
    }


async def _json(request: Request) -> dict:
    try:
        sent = await request.json()
    except (ValueError, RecursionError):
        sent = None
    if not isinstance(sent, dict):
        raise CampaignError(cannot("this page", say.PAGE_NO_CHANGE()).finding)
    return sent


def _is_place(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 100_000


def _are_cells(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(text, str) for text in value)


ROUTES = [
    Route("/c/{name}/runs/{stem}", page),
    Route("/c/{name}/runs/{stem}/state", state),
    Route("/c/{name}/runs/{stem}/cell", cell, methods=["POST"]),
    Route("/c/{name}/runs/{stem}/paste", pasted, methods=["POST"]),
    Route("/c/{name}/runs/{stem}/delete", deleted, methods=["POST"]),
    Route("/c/{name}/runs/{stem}/form", form, methods=["POST"]),
]
