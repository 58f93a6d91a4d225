"""Which eight questions does a new campaign need answered, why is each asked, and what is a sensible answer?

The terminal and the pages ask the same ones. An answer is text by the name of its field; several choices are their
keys with commas between.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import briefly, capital, quoted
from samesky.campaign.settings.measures import kind_of_size
from samesky.campaign.tables import cells
from samesky.measures import MEASURES

#: Answers by the name of the field, as typed.
Answers = Mapping[str, str]
#: Longest text that is taken for a name or a sentence.
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to type or to choose.

    Attributes
    ----------
    name : of the answer
    label : what stands before it
    ready : the answer that is there already
    kind : ``text``, ``one`` or ``several`` of the options, ``clock``, ``whole``, ``difference``, or a dimension of
        :data:`samesky.units.DIMENSIONS` for a number with its unit
    options : key and words of each choice
    needed : whether it may not be left empty
    """

    name: str
    label: str
    ready: str = ""
    kind: str = "text"
    options: tuple[tuple[str, str], ...] = ()
    needed: bool = True


@dataclass(frozen=True, slots=True)
class Question:
    """One screen: what is asked, why, and its fields."""

    name: str
    title: str
    why: str
    fields: tuple[Field, ...]


CHANGES = (
    ("propeller", "the propeller"),
    ("pitch", "the pitch of the propeller"),
    ("wheels", "tyres or wheels"),
    ("drag", "fairings, or anything else that changes the drag"),
    ("lift", "vortex generators, or anything else that changes the lift"),
    ("free", "something set in flight or by habit: a flap setting, a technique"),
)
FLYING = (
    ("short_strip", "short strips"),
    ("climb", "climbing out, towing, hills"),
    ("cross_country", "cross-country"),
    ("everyday", "a bit of everything"),
)
TOOLS = (
    ("scale", "a scale in the tie-down line (static pull)"),
    ("tape", "a tape or markers along the strip (take-off roll)"),
    ("receiver", "a phone or receiver that records the take-off (acceleration on the ground)"),
    ("watch", "a watch and the altimeter (timed climb)"),
    ("film", "a phone that films the airspeed indicator (acceleration in level flight)"),
    ("speed", "a satellite receiver in level flight at full throttle (level speed)"),
)
#: Which measure each tool is for, in the order in which they are flown after a fitting.
MEASURE_OF = {
    "scale": "static_pull",
    "tape": "takeoff_roll",
    "receiver": "ground_acceleration",
    "watch": "timed_climb",
    "film": "level_acceleration",
    "speed": "level_speed",
}
#: What each kind of flying asks, the most important first, and how much each counts.
ASKS = {
    "short_strip": {"takeoff_roll": 3, "ground_acceleration": 2, "timed_climb": 2, "static_pull": 1},
    "climb": {"timed_climb": 3, "takeoff_roll": 1, "static_pull": 1},
    "cross_country": {"level_speed": 3, "level_acceleration": 2, "timed_climb": 1},
    "everyday": {"timed_climb": 2, "level_speed": 2, "takeoff_roll": 1, "static_pull": 1},
}
UNITS = (
    ("aviation", "feet, knots, °C, hPa, litres, kilograms of pull"),
    ("metric", "metres for rolls, feet for heights, knots, °C, hPa, litres, newtons"),
    ("american", "feet, knots, °F, inHg, US gallons, pounds of pull"),
)
#: Differences that would change most minds (a proposal: only the pilot can say), by measure.
MARGINS = {
    "static_pull": "3 %",
    "takeoff_roll": "5 %",
    "ground_acceleration": "4 %",
    "timed_climb": "4 %",
    "level_acceleration": "8 %",
    "level_speed": "2 kt",
}


#: What is asked before the differences that would matter, and after them.
_BEFORE = (
    Question(
        "change",
        "What did you change?",
        "It says how a change is made, and what may go with it. A is what you compare with, B is the change.",
        (
            Field("title", "Name of this campaign", "My campaign"),
            Field("change", "I changed", "propeller", "one", CHANGES),
            Field("label.A", "A is", "as it was"),
            Field("label.B", "B is", "the change"),
        ),
    ),
    Question(
        "flying",
        "What flying do you do?",
        "The answer is given for each kind; the first that you name says which measure decides.",
        (Field("flying", "I fly", "short_strip,everyday", "several", FLYING),),
    ),
    Question(
        "tools",
        "What can you measure?",
        "Each tool is a measure of its own. Two or three that agree are worth more than many runs of one.",
        (Field("tools", "I have", "tape,watch", "several", TOOLS),),
    ),
    Question(
        "swap",
        "How long does a change take, and how often in a morning will you make it?",
        "Going back to A before the day ends takes out what the day did meanwhile: two changes (A B A) at least.",
        (
            Field("swap", "One change takes", "45 min", "time"),
            Field("swaps", "Changes in a morning", "2", "whole"),
        ),
    ),
    Question(
        "hours",
        "Which hours, and how much fuel?",
        "The plan has to fit. The reserve is what your papers and rules ask for; the plan never touches it.",
        (
            Field("days", "Mornings", "1", "whole"),
            Field("start", "From", "07:00", "clock"),
            Field("end", "To", "11:00", "clock"),
            Field("fuel", "Fuel on board each morning", "60 L", "volume"),
            Field("reserve", "Never touched", "20 L", "volume"),
            Field("burn", "Burnt in an hour of this flying", "18 L/h", "volume flow"),
        ),
    ),
)
_AFTER = (
    Question(
        "aeroplane",
        "Your aeroplane, from its papers?",
        "With these, runs at different weights compare, and rpm in hand is watched. All may be left for later.",
        (
            Field("empty", "Empty weight", "", "mass", needed=False),
            Field("crew", "People and what they carry", "", "mass", needed=False),
            Field("power", "Rated power", "", "power", needed=False),
            Field("rpm_limit", "Limit of engine speed", "", "rotational speed", needed=False),
        ),
    ),
    Question(
        "units",
        "Which units do you like?",
        "The tables and cards come in them. Each can be changed later in the head of its column.",
        (Field("units", "I read", "aviation", "one", UNITS),),
    ),
)


def chosen(answers: Answers, name: str) -> list[str]:
    """The keys chosen in a field of several."""
    return [key for key in (part.strip() for part in answers.get(name, "").split(",")) if key]


def measures_of(answers: Answers) -> list[str]:
    """The measures that the tools allow, in the order in which they are flown."""
    tools = chosen(answers, "tools")
    return [measure for tool, measure in MEASURE_OF.items() if tool in tools]


def deciding(answers: Answers) -> str:
    """The measure that the first kind of flying asks for most, of those that can be measured."""
    can = measures_of(answers)
    for flying in chosen(answers, "flying"):
        for measure in ASKS.get(flying, {}):
            if measure in can:
                return measure
    return can[0]


def questions(answers: Answers) -> tuple[Question, ...]:
    """The eight questions; which differences are asked for depends on what can be measured."""
    can = measures_of(answers)
    decides = deciding(answers) if can else ""
    margins = tuple(
        Field(
            f"margin.{name}",
            f"{capital(MEASURES[name].title)}{' (decides)' * (name == decides)}",
            MARGINS[name],
            "difference",
        )
        for name in can
    )
    mind = Question(
        "margins",
        "Which difference would change your mind?",
        "Anything less will count as none. Only you can say it, before flying: these are proposals.",
        margins,
    )
    return (*_BEFORE, mind, *_AFTER)


def read_answers(question: Question, typed: Answers) -> dict[str, str]:
    """The answers to one question, blanks filled with what was ready. Raises CampaignError where one cannot be read."""
    return {field.name: _read(field, typed.get(field.name, field.ready).strip()) for field in question.fields}


def _read(field: Field, text: str) -> str:
    if not text:
        if field.needed:
            raise cannot(field.label, say.START_EMPTY(ready=field.ready))
        return ""
    if len(text) > LONGEST or not text.isprintable():
        raise cannot(field.label, say.START_TOO_LONG(longest=LONGEST))
    if field.kind in ("one", "several"):
        return _read_choice(field, text)
    if field.kind == "whole":
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:3]) <= 20 and len(text) < 3):
            raise cannot(field.label, say.START_NOT_WHOLE(value=quoted(text)))
    elif field.kind == "clock":
        try:
            cells.clock_hours(text)
        except ValueError as error:
            raise cannot(field.label, say.START_UNREADABLE(why=briefly(error), ready=field.ready)) from error
    elif field.kind != "text":
        _read_size(field, text)
    return text


def _read_choice(field: Field, text: str) -> str:
    keys = [key for key, _ in field.options]
    named = [part.strip() for part in text.split(",") if part.strip()]
    # A person at a keyboard counts from one.
    found = [keys[int(part) - 1] if part.isdecimal() and 0 < int(part[:3]) <= len(keys) else part for part in named]
    strange = [one for one in found if one not in keys]
    if strange or not found or (field.kind == "one" and len(found) > 1):
        count = "one" if field.kind == "one" else "one or more"
        raise cannot(field.label, say.START_NOT_OFFERED(value=quoted(text), count=count, most=len(keys)))
    return ",".join(dict.fromkeys(found))


def _read_size(field: Field, text: str) -> None:
    """Raises CampaignError where a number with its unit cannot be read, or is not above zero."""
    dimension = field.kind
    if dimension == "difference":
        dimension = kind_of_size(text, MEASURES[field.name.partition(".")[2]])[1]
    try:
        size = float(units.parse(text, dimension))
    except units.UnitError as error:
        ready = field.ready or units.DIMENSIONS[dimension].examples[0]
        raise cannot(field.label, say.START_UNREADABLE(why=briefly(error), ready=ready)) from error
    if not size > 0.0:
        raise cannot(field.label, say.START_NOT_POSITIVE(value=quoted(text)))
