"""Which files come of the eight answers? A campaign with only what is needed, that can be planned at once."""

from __future__ import annotations

from collections.abc import Iterator

from samesky import units
from samesky.campaign.reading.template import columns_shown, header_cell, measure_text, readme_text
from samesky.campaign.settings.flying import kind_of_flying
from samesky.campaign.start.questions import ASKS, CHANGES, FLYING, Answers, chosen, deciding, measures_of
from samesky.campaign.toml.lines import quoted_text
from samesky.campaign.toml.section import FILE
from samesky.measures import MEASURES
from samesky.measures.shape import Column, Measure

#: Columns that hardly anybody fills in on a first morning; each may be added to the head of a table.
SELDOM = frozenset(
    ("pilot", "pressure altitude", "dew point", "ballast", "crosswind", "slope", "runway", "fuel flow", "throttled")
)
#: The unit of a column where it is not the package's usual one, by the units that the pilot likes.
LIKED = {
    "aviation": {"length": "ft", "force": "kgf", "acceleration": "kt/s"},
    "metric": {"length": "m", "force": "N", "acceleration": "m/s^2"},
    "american": {
        "length": "ft",
        "force": "lbf",
        "acceleration": "kt/s",
        "temperature": "degF",
        "pressure": "inHg",
        "volume": "US gal",
        "volume flow": "US gal/h",
        "mass": "lb",
    },
}
#: Heights are read in feet where the altimeter shows feet.
HEIGHTS = frozenset(("from", "to", "altitude", "end altitude"))
#: What a run takes, and what it may read: guesses to plan with, by measure; numbers with their unit.
EXPECTED = {
    "static_pull": {"time": "4 min", "pull": "1800 N"},
    "takeoff_roll": {"time": "8 min", "ground_roll": "150 m", "lift-off_airspeed": "40 kt"},
    "ground_acceleration": {
        "time": "1 min",
        "first_ground_speed": "10 kt",
        "second_ground_speed": "30 kt",
        "elapsed": "7 s",
    },
    "timed_climb": {"time": "8 min", "from": "1000 ft", "to": "2000 ft", "elapsed": "80 s", "airspeed": "60 kt"},
    "level_acceleration": {
        "time": "4 min",
        "first_airspeed": "60 kt",
        "second_airspeed": "80 kt",
        "elapsed": "12 s",
        "altitude": "2000 ft",
    },
    "level_speed": {"time": "10 min", "altitude": "2000 ft", "airspeed": "95 kt"},
}


def campaign_files(answers: Answers) -> dict[str, str]:
    """The files of the campaign, by name, from answers to all eight questions."""
    return {
        FILE: "\n".join(_campaign(answers)) + "\n",
        "README.txt": readme_text([MEASURES[name] for name in measures_of(answers)]),
        **{f"{name}.csv": _table(MEASURES[name], answers) for name in measures_of(answers)},
    }


def _table(measure: Measure, answers: Answers) -> str:
    # One day has its date in campaign.toml or in a column of its own; the column serves both.
    shown = [column for column in columns_shown(measure) if column.name not in SELDOM]
    if answers["change"] == "free":
        shown = [column for column in shown if column.name != "installation"]
    if not answers["rpm_limit"]:
        shown = [column for column in shown if column.name != "rpm"]
    return measure_text(measure, shown, {column.name: _head(column, measure, answers) for column in shown})


def _head(column: Column, measure: Measure, answers: Answers) -> str:
    """The cell of the head: the name, and the unit that the pilot likes."""
    usual = header_cell(column, measure)
    unit = LIKED[answers["units"]].get(column.dimension)
    if unit is None or column.name in HEIGHTS or "[" not in usual:
        return usual
    return f"{column.name} [{unit}]"


def _campaign(answers: Answers) -> Iterator[str]:
    decides, can = deciding(answers), measures_of(answers)
    label = {key: quoted_text(answers[f"label.{key}"]) for key in "AB"}
    yield "# Made from eight answers. Every entry may be changed; `samesky new DIR` explains them all."
    yield f"title = {quoted_text(answers['title'])}"
    asks = f"Which suits our flying better, {answers['label.A']} (A) or {answers['label.B']} (B)?"
    yield f"question = {quoted_text(asks)}"
    yield f"# Changed: {dict(CHANGES)[answers['change']]}."
    yield 'baseline = "A"'
    yield from ("", "[configuration.A]", f"label = {label['A']}", "", "[configuration.B]", f"label = {label['B']}")
    if answers["change"] == "lift":
        yield "# Fly each at its own lift-off airspeed? Then enter it for A and B:"
        yield '# lift-off_airspeed = "38 kt"'
    kind = "free" if answers["change"] == "free" else "refit"
    yield from ("", "[swap]", f'kind = "{kind}"', f"time = {quoted_text(answers['swap'])}")
    for name in can:
        yield from ("", f"[measure.{name}]", f"primary = {'true' if name == decides else 'false'}")
        yield f"smallest_difference_that_matters = {quoted_text(answers[f'margin.{name}'])}"
        unit = _unit(MEASURES[name], answers)
        if unit:
            yield f'unit = "{unit}"'
    yield from _aeroplane(answers)
    for flying in chosen(answers, "flying"):
        known = kind_of_flying(flying)
        counts = {} if known else {name: weight for name, weight in ASKS[flying].items() if name in can}
        if known or counts:
            yield from ("", f"# {dict(FLYING)[flying]}", f"[mission.{flying}]")
            yield "# How much of a year's flying it is:"
            yield '# share_of_year = "40 %"'
            yield from (f"{name} = {weight}" for name, weight in counts.items())
    yield from _plan(answers, can)


def _unit(measure: Measure, answers: Answers) -> str:
    """The unit of the answers of a measure where the pilot's is not its own."""
    unit = LIKED[answers["units"]].get(measure.dimension, "")
    return "" if unit == measure.unit else unit


def _aeroplane(answers: Answers) -> Iterator[str]:
    if answers["empty"]:
        yield from ("", "[aeroplane]", f"empty_weight = {quoted_text(answers['empty'])}")
        if answers["crew"]:
            yield from ("[aeroplane.station.crew]", f"weight = {quoted_text(answers['crew'])}")
    engine = {"power": answers["power"], "rpm_limit": answers["rpm_limit"]}
    if any(engine.values()):
        yield from ("", "[engine]")
        yield from (f"{name} = {quoted_text(value)}" for name, value in engine.items() if value)


def _plan(answers: Answers, can: list[str]) -> Iterator[str]:
    yield from ("", "[plan]", f"days = {answers['days']}")
    for name in ("start", "end", "fuel", "reserve", "burn"):
        yield f"{name} = {quoted_text(answers[name])}"
    yield "refuel = true"
    yield "# The air that you expect: put in the forecast."
    yield 'oat = ["10 degC", "15 degC"]'
    yield 'qnh = "1013 hPa"'
    if answers["change"] != "free":
        yield f"swaps = {answers['swaps']}"
    for name in can:
        yield from ("", "# Guesses to plan with: put in what your aeroplane reads.", f"[plan.{name}]")
        columns = {column.name.replace(" ", "_"): column for column in MEASURES[name].columns}
        for entry, value in EXPECTED[name].items():
            column = columns.get(entry)
            yield f"{entry} = {quoted_text(_liked(value, column, answers) if column else value)}"


def _liked(value: str, column: Column, answers: Answers) -> str:
    """A guess in the unit that the pilot likes, to two figures."""
    unit = LIKED[answers["units"]].get(column.dimension)
    if unit is None or column.name in HEIGHTS:
        return value
    shown = float(units.from_si(units.parse(value, column.dimension), unit, column.dimension))
    return f"{float(f'{shown:.2g}'):g} {unit}"
