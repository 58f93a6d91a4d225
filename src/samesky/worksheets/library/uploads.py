"""What is in a file that somebody dropped on a page? Believed neither for its name nor for its size."""

from __future__ import annotations

from collections.abc import Mapping

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.reading.files import is_record
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.source_text import decode
from samesky.campaign.toml.section import FILE
from samesky.exchange.own_files import is_campaign_file
from samesky.measures.columns import COMMON
from samesky.worksheets import catalogue as say
from samesky.worksheets.runs.columns import Runs


def table_text(data: bytes, name: str, runs: Runs) -> str:
    """The rows of one measure from a CSV file, or from the sheet of its name in a workbook. Raises CampaignError."""
    name = base_name(name)
    if not data:
        raise cannot(name or "nothing", say.UPLOAD_EMPTY())
    if name.casefold().endswith(".xlsx"):
        from samesky.exchange.workbook.workbook import read_workbook

        sheets = read_workbook(data, name)
        by_plain = {plain_name(file.rpartition(".")[0]): text for file, text in sheets.items() if file != FILE}
        text = by_plain.get(plain_name(runs.stem))
        if text is None:
            raise cannot(name, say.UPLOAD_NO_SUCH_SHEET(stem=runs.stem, by_plain=listed(by_plain)))
        return text
    return _text(data, name)


def campaign_texts(uploads: Mapping[str, bytes]) -> dict[str, str]:
    """The files of a campaign from a zip, a workbook, or its files dropped together, by the names they came under.

    A folder comes with what lies in folders below it, which is no part of it. Raises CampaignError.
    """
    named = {name: data for name, data in uploads.items() if data and base_name(name).strip(".")}
    if not named:
        raise cannot("nothing", say.UPLOAD_NOTHING_CHOSEN())
    first = base_name(next(iter(named)))
    if len(named) == 1 and first.casefold().endswith(".zip"):
        from samesky.exchange.zip.archive import campaign_files

        found = campaign_files(*named.values(), first)
    elif len(named) == 1 and first.casefold().endswith(".xlsx"):
        from samesky.exchange.workbook.workbook import read_workbook

        found = read_workbook(*named.values(), first)
    else:
        found = _together(named)
    if FILE not in found:
        shown = listed(list(dict.fromkeys(base_name(name) for name in named))[:5])
        raise cannot(shown, say.UPLOAD_NO_CAMPAIGN())
    kept = {
        name: text
        for name, text in found.items()
        if name == FILE or is_record(name) or name.casefold().endswith((".csv", ".txt"))
    }
    return {name: _not_endless(text, name) for name, text in kept.items()}


def _together(named: Mapping[str, bytes]) -> dict[str, str]:
    """The files beside the one ``campaign.toml`` that lies highest. Raises CampaignError where two lie as high."""
    places = sorted((len(_folder(name)), _folder(name)) for name in named if base_name(name) == FILE)
    if not places:
        return {}
    if len(places) > 1 and places[0][0] == places[1][0]:
        where = listed(["/".join(folder) or "no folder" for _, folder in places[:5]])
        raise cannot("what was chosen", say.UPLOAD_SEVERAL_CAMPAIGNS(where=where))
    beside = {base_name(name): data for name, data in named.items() if _folder(name) == places[0][1]}
    return {name: _text(data, name) for name, data in beside.items() if is_campaign_file(name)}


def _folder(name: str) -> tuple[str, ...]:
    return tuple(part for part in name.replace("\\", "/").split("/")[:-1] if part not in ("", "."))


def base_name(name: str) -> str:
    """The last part of a file's name: what comes before it was a path on somebody's machine, and leads nowhere here."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(c for c in last if c.isprintable())


def _text(data: bytes, name: str) -> str:
    text, findings = decode(data, name)
    if text is None:
        raise CampaignError(findings[0])
    return _not_endless(text, name)


def _not_endless(text: str, name: str) -> str:
    """The text of a CSV file that the reader will take: no more lines than a file of runs may have, none endless.

    Raises CampaignError: better before it is kept than on every page from then on.
    """
    if name.casefold().endswith(".csv"):
        found = split(text, base_name(name), [column.name for column in COMMON])[1]
        # A quotation mark without its partner can be mended on the pages; a recording of every second cannot.
        if any(one.code in ("file.too-many-rows", "file.too-long") for one in found):
            raise CampaignError(found[0])
    return text
