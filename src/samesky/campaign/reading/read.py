"""What does the campaign folder say, and what is wrong with it?

:func:`read` reads everything in a folder, :func:`read_texts` the same from texts; both list everything that is wrong,
and compute nothing. The campaign keeps the texts, so that nobody has to read a file again.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path

from samesky.campaign.derived.air_reading import with_reading
from samesky.campaign.derived.coefficients import with_coefficients
from samesky.campaign.entries.schema import example_of
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.words import listed, nearest, plain_name, quoted
from samesky.campaign.model.airspeed_system import AirspeedSystem
from samesky.campaign.model.campaign import Campaign, Configuration, MeasureSettings, RunTable, UnflownRun
from samesky.campaign.reading.assemble import assemble
from samesky.campaign.reading.files import Sources, is_record, is_table, sources_in, sources_of, stem_of
from samesky.campaign.reading.film_file import filmed_rolls, is_filmed_rolls
from samesky.campaign.reading.position_error_file import airspeed_system, is_position_error, with_calibration
from samesky.campaign.reading.table import Context, TableDraft, read_table
from samesky.campaign.settings import aeroplane as settings
from samesky.campaign.settings import flying
from samesky.campaign.settings.conditions import conditions, dimensions
from samesky.campaign.settings.error_sources import error_sources
from samesky.campaign.settings.measures import asked as asked_of
from samesky.campaign.settings.plan import plan_request
from samesky.campaign.tables.delimited import split
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE, Section
from samesky.campaign.toml.shape import line_numbers
from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES
from samesky.measures.columns import COMMON
from samesky.measures.shape import Measure
from samesky.spellings import plain_speed

#: Tables and entries that the top of ``campaign.toml`` may have.
TOP: tuple[str, ...] = (
    "title",
    "question",
    "date",
    "baseline",
    "swap",
    "aeroplane",
    "engine",
    "runway",
    "configuration",
)
TOP += ("propeller", "air", "coefficient", "measure", "instrument", "limits", "reference", "mission", "papers")
TOP += ("plan", "film")


def read(folder: Path | str, flown: bool = True) -> Campaign:
    """The campaign in a folder, with everything that was found while reading it.

    Parameters
    ----------
    folder : path
        Of a folder that holds ``campaign.toml`` and one CSV file a measure.
    flown : bool
        False to read a campaign that is still to be flown: files without runs are then no fault.

    Returns
    -------
    Campaign
        Its ``findings`` hold every error and every doubt of reading; with an error among them some tables are missing,
        and nothing should be computed. :func:`samesky.check` adds what shows only on the whole. ``tables`` by measure
        hold ``columns`` in SI.

    Raises
    ------
    CampaignError
        There is no campaign to read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import mkdtemp
    >>> import samesky
    >>> from samesky.units import from_si
    >>> campaign = samesky.read(samesky.write_example("finer_pitch", Path(mkdtemp()) / "finer_pitch"))
    >>> roll = campaign.tables["takeoff_roll"].columns["ground roll"][0]
    >>> print(f"{len(campaign.tables)} tables; the first roll took {from_si(roll, 'ft', 'length'):.0f} ft")
    4 tables; the first roll took 186 ft
    """
    folder = Path(folder)
    _must_be_a_campaign(folder)
    return _campaign(sources_in(folder), folder, flown)


def read_texts(files: Mapping[str, str | bytes | None], flown: bool = True, folder: Path | None = None) -> Campaign:
    """The campaign that these files would make, read without a folder.

    Parameters
    ----------
    files : text (or bytes, as they stand on a disk) of ``campaign.toml`` and of each CSV file, by name; other files are
        passed over. ``texts`` of a campaign, with some of them changed, are such files
    flown : as in :func:`read`
    folder : where the campaign stands, if it does

    Raises
    ------
    CampaignError : there is no ``campaign.toml`` among them, or it cannot be read
    """
    if FILE not in files:
        raise cannot(folder or "campaign", say.TEXTS_NO_CAMPAIGN())
    return _campaign(sources_of(files), folder, flown)


def _campaign(sources_by_file: Sources, folder: Path | None, flown: bool) -> Campaign:
    text, findings = _settings_text(sources_by_file)
    written: dict[str, str] = {}
    top = Section(parsed(text), (), line_numbers(text), findings, example_of, written)
    title, question = top.text("title"), top.text("question")
    day = settings.one_day(top)
    fitted_anew, swap_hours = settings.swap(top)
    loading, fuel_density = settings.loading(top)
    engine, propeller_kind, air_reading = settings.engine(top), settings.propeller_kind(top), settings.air_reading(top)
    runways, configurations = settings.runways(top), settings.configurations(top)
    baseline, asked = settings.baseline(top, configurations), asked_of(top)
    measures = {name: one.measure for name, one in asked.items()}
    known = conditions([*MEASURES.values(), *measures.values()])
    sources = error_sources(top, {**MEASURES, **measures}, dimensions(known), fuel_density)
    limits, reference = settings.limits(top, dimensions(known), fuel_density), settings.reference(top, known)
    coefficients = settings.coefficients(top, {**MEASURES, **measures})
    missions, share_of_year = flying.missions(top, {**MEASURES, **measures}, measures)
    papers = flying.papers(top)
    plan = plan_request(top, asked, runways, fuel_density, _records(sources_by_file), findings)
    tables_written = {name: one for name, one in sources_by_file.items() if is_table(name)}
    film = filmed_rolls(top, tables_written, measures, findings)
    top.report_unknown(TOP)
    context = _context(configurations, runways, day, fuel_density)
    named = {plain_name(name) for name in top.section("measure").names()}
    drafts, unflown = _drafts(tables_written, measures, named, context, findings, flown)
    system = _airspeed_system(tables_written, measures, context, sources, findings)
    tables = assemble(drafts, findings)
    asked = {name: _with_unit(one, tables.get(name)) for name, one in asked.items()}
    campaign = Campaign(
        folder=folder,
        title=title,
        question=question,
        baseline=baseline,
        fitted_anew=fitted_anew,
        swap_hours=swap_hours,
        loading=loading,
        engine=engine,
        runways=runways,
        configurations=configurations,
        asked=asked,
        sources=with_reading(with_calibration(sources, system), air_reading),
        limits=limits,
        reference=reference,
        missions=missions,
        share_of_year=share_of_year,
        papers=papers,
        tables=tables,
        findings=tuple(findings),
        plan=plan,
        airspeed_system=system,
        unflown=unflown,
        film=film,
        propeller_kind=propeller_kind,
        air_reading=air_reading,
        coefficients=coefficients,
        day=day,
        first_day=min((one for draft in drafts for one in draft.dates), default=day),
        texts={name: text for name, (text, _) in sources_by_file.items()},
        written_units=written,
    )
    return with_coefficients(campaign) if is_sound(findings) else campaign


def _records(sources_by_file: Sources) -> dict[str, str | None]:
    return {name: text for name, (text, _) in sources_by_file.items() if is_record(name)}


def _settings_text(sources_by_file: Sources) -> tuple[str, list[Finding]]:
    text, found = sources_by_file[FILE]
    if text is None:
        raise CampaignError(found[0])
    return text, list(found)


def _context(
    configurations: Mapping[str, Configuration], runways: Iterable[str], day: date | None, fuel_density: float
) -> Context:
    labels = {key: one.label for key, one in configurations.items()}
    return Context(labels, {name: name for name in runways}, day, fuel_density)


@lru_cache(maxsize=8)
def measures_asked(toml: str) -> Mapping[str, Measure]:
    """The measures that the text of a ``campaign.toml`` asks for, by name; none of one that cannot be read."""
    try:
        top = parsed(toml)
    except CampaignError:
        return {}
    return {name: one.measure for name, one in asked_of(Section(top, (), {}, [])).items()}


def _must_be_a_campaign(folder: Path) -> None:
    # os.path, unlike pathlib, answers for names that the file system cannot even look up.
    if not os.path.exists(folder):
        raise cannot(folder, say.FOLDER_NOT_THERE())
    if not os.path.isdir(folder):
        raise cannot(folder, say.FOLDER_IS_A_FILE())
    if not os.path.isfile(folder / FILE):
        raise cannot(
            folder,
            say.FOLDER_NO_CAMPAIGN(),
        )


def _drafts(
    files: Sources,
    measures: Mapping[str, Measure],
    named: Collection[str],
    context: Context,
    findings: list[Finding],
    flown: bool,
) -> tuple[list[TableDraft], tuple[UnflownRun, ...]]:
    """Every file of runs that is asked for, sound, and flown in; and the rows that are planned and not flown yet."""
    by_plain = {plain_name(name): name for name in measures}
    drafts: list[TableDraft] = []
    ahead: list[UnflownRun] = []
    present, unflown, filled = set(), [], False
    findings += _two_of_one_name(files)
    for file, (text, found) in files.items():
        stem = stem_of(file)
        if is_position_error(file) or is_filmed_rolls(file):
            continue
        present.add(stem)
        findings += found
        if text is None:
            filled = True
        elif stem in by_plain:
            draft, found, planned = read_table(text, file, measures[by_plain[stem]], context)
            findings += found
            ahead += planned
            if draft is not None:
                drafts.append(draft)
            elif is_sound(found):
                unflown.append(file)
            filled = filled or draft is not None or not is_sound(found)
        elif stem in named:
            # The table has an error, which has been reported: that nothing was flown would be untrue besides.
            filled = True
        elif not _holds_no_run(text, file):
            # A file of the template left as it was is none.
            findings.append(_not_asked(file, measures))
    missing = [name for plain, name in by_plain.items() if plain not in present]
    if flown:
        findings += _absences(unflown, missing, filled, Counter(one.file for one in ahead))
    return drafts, tuple(ahead)


def _airspeed_system(
    files: Sources,
    measures: Mapping[str, Measure],
    context: Context,
    sources: Sequence[ErrorSource],
    findings: list[Finding],
) -> AirspeedSystem | None:
    """The calibration of the airspeed system, where its file is there and sound."""
    for file, (text, found) in files.items():
        if is_position_error(file):
            asked = next((name for name in measures if plain_name(name) == stem_of(file)), None)
            if asked is not None:
                findings.append(
                    Finding("error", FILE, say.POSITION_ERROR_NAME_TAKEN(the_file=file), None, f"[measure.{asked}]")
                )
            findings += found
            return None if text is None else airspeed_system(file, text, context, sources, findings)
    return None


def _two_of_one_name(files: Iterable[str]) -> list[Finding]:
    """An error for every file that reads as the same measure as one before it: only one of them could be taken."""
    first: dict[str, str] = {}
    found = []
    for file in files:
        before = first.setdefault(stem_of(file), file)
        if before is not file:
            found.append(Finding("error", file, say.FILE_SAME_MEASURE(before=quoted(before))))
    return found


def _holds_no_run(text: str, file: str) -> bool:
    sheet, _ = split(text, file, [column.name for column in COMMON])
    return sheet is None or not sheet.rows


def _not_asked(file: str, measures: Mapping[str, Measure]) -> Finding:
    near = nearest(stem_of(file), measures)
    return Finding(
        "error",
        file,
        say.FILE_NOT_ASKED(
            what=f"Did you mean {near}.csv?"
            if near
            else f"Add [measure.{stem_of(file).replace(' ', '_')}] to {FILE}, or move the file out of this folder."
        ),
    )


def _absences(unflown: list[str], missing: list[str], filled: bool, ahead: Counter[str]) -> list[Finding]:
    """What to say of measures without runs: one error where nothing was flown at all, else a doubt each.

    ``ahead`` counts the rows of each file that are planned: such a file is waiting, and no doubt.
    """
    if not filled:
        files = listed([*unflown, *(f"{name}.csv" for name in missing)]) if unflown or missing else "any file"
        said = say.CAMPAIGN_NOTHING_FLOWN(files=files)
        if ahead:
            said = say.CAMPAIGN_ALL_PLANNED(count=ahead.total(), files=listed(ahead))
        return [Finding("error", FILE, said)] if files else []
    doubts = [Finding("warning", file, say.FILE_NOTHING_FLOWN()) for file in unflown if not ahead[file]]
    for name in missing:
        doubts.append(Finding("warning", FILE, say.FILE_MISSING(name=name), None, f"[measure.{name}]"))
    return doubts


def _with_unit(one: MeasureSettings, table: RunTable | None) -> MeasureSettings:
    """What is asked, with the unit in which its result is shown: as asked, else as written in the file, else usual."""
    unit = one.unit
    if not unit and table is not None:
        for column in one.measure.columns:
            if column.name in table.units and column.dimension == one.measure.dimension:
                if column.name in one.measure.result:
                    unit = table.units[column.name]
                break
    # A result is no airspeed off the indicator, whatever its readings were.
    return replace(one, unit=plain_speed(unit or one.measure.unit))
