"""What does ``campaign.toml`` say of the aeroplane, its places and its configurations?

Bounds are wide (assumed): they catch a slip of the pen or of the unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

from samesky.aeroplane.kinds import ENGINES, PROPELLERS
from samesky.aeroplane.loading import AVGAS_DENSITY, Loading
from samesky.air import atmosphere
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.phrases import spelled
from samesky.campaign.messages.words import did_you_mean, listed, nearest, plain_name, quoted
from samesky.campaign.model.campaign import AirReading, Configuration, EngineSettings, Runway
from samesky.campaign.settings.propellers import with_settings
from samesky.campaign.tables import cells
from samesky.campaign.toml.section import Section
from samesky.measures.shape import Column, Measure, StatedCoefficient

#: Words of entries that describe a configuration and enter no arithmetic: one of them in an entry's name makes it a
#: detail for the report.
DETAIL_WORDS = {
    "age", "angle", "batch", "blade", "blades", "camber", "chord", "colour", "color", "comment", "comments",
    "condition", "cost", "covers", "date", "description", "finish", "fitted", "flap", "flaps", "gap", "hours", "hub",
    "inflation", "laminate", "maker", "material", "mechanic", "model", "note", "notes", "number", "owner", "part",
    "pitch", "pressure", "price", "profile", "reason", "remark", "remarks", "repairs", "serial", "setting", "shape",
    "size", "sources", "source", "spinner", "surface", "technique", "tip", "tips", "torque", "tread", "twist", "type",
    "tyre", "tyres", "tire", "tires", "washers", "width", "year",
}  # fmt: skip
#: What people call an entry of a configuration that is known here by another name.
CALLED = {
    **dict.fromkeys(("mass", "wt", "wgt", "gewicht", "masse", "poids", "peso", "kg", "lb", "lbs"), "weight"),
    **dict.fromkeys(("dia", "diam", "durchmesser", "diametre", "diametro"), "diameter"),
    **dict.fromkeys(("lever", "lever arm", "moment arm", "station", "position", "hebelarm", "bras"), "arm"),
    **dict.fromkeys(("name", "title", "bezeichnung", "nom"), "label"),
}
#: Airspeeds that a configuration may be meant to be flown at by itself, by column.
OWN_SPEEDS = ("lift-off airspeed", "touch-down airspeed")


def one_day(section: Section, name: str = "date") -> date | None:
    """The date in this entry, where it is given: that of a campaign flown on one day stands at the top of the file."""
    value = section.raw(name)
    if value is None:
        return None
    try:
        if isinstance(value, date):
            return cells.flown_on(value.date() if isinstance(value, datetime) else value)
        return cells.day(str(value))
    except cells.CellError as error:
        section.error(name, say.DATE_UNREADABLE(value=quoted(value), wrong=error.wrong, mend=error.mend))
        return None


def swap(top: Section) -> tuple[bool, float | None]:
    """Whether a change of configuration fits a part anew, and how long it takes [h]."""
    section = top.section("swap")
    kind = section.choice("kind", ("refit", "free"), "refit")
    seconds = section.quantity("time", "time", low=0.0, high=30 * 86400.0)
    section.report_unknown()
    return kind == "refit", None if seconds is None else seconds / 3600


def engine(top: Section) -> EngineSettings:
    """Kind, power, rotational-speed limits and gear ratio."""
    section = top.section("engine")
    speed = ("rotational speed", 100 / 60, 30000 / 60)
    found = EngineSettings(
        kind=_kind(section, ENGINES),
        power=section.quantity("power", "power", 1e3, 2e6),
        rated_speed=section.quantity("rated rpm", *speed),
        speed_limit=section.quantity("rpm limit", *speed),
        static_speed_low=section.quantity("static rpm low", *speed),
        static_speed_high=section.quantity("static rpm high", *speed),
        gear_ratio=section.number("gear ratio", 0.3, 10.0) or 1.0,
    )
    low, high = found.static_speed_low, found.static_speed_high
    if low is not None and high is not None and low > high:
        section.error("static rpm low", say.ENGINE_STATIC_RPM_TURNED_ROUND())
    section.report_unknown()
    return found


def _kind(section: Section, kinds: tuple[str, ...]) -> str | None:
    """One of some kinds, hyphens and spaces alike; None where the table does not say."""
    text = section.text("kind")
    by_plain = {plain_name(one).replace("-", " "): one for one in kinds}
    if not text:
        return None
    if plain_name(text).replace("-", " ") in by_plain:
        return by_plain[plain_name(text).replace("-", " ")]
    return section.choice("kind", kinds, kinds[0])


def propeller_kind(top: Section) -> str | None:
    """Whether the blades turn, and who turns them; None where the campaign does not say."""
    section = top.section("propeller")
    found = _kind(section, PROPELLERS)
    section.report_unknown()
    return found


def air_reading(top: Section) -> AirReading:
    """Where wind and temperatures were read."""
    section = top.section("air")
    found = AirReading(
        wind_height=section.quantity("wind height", "length", 0.5, 60.0),
        wing_height=section.quantity("wing height", "length", 0.3, 6.0) or AirReading().wing_height,
        ground_temperature=section.choice("climb temperature", ("aloft", "ground"), "aloft") == "ground",
    )
    section.report_unknown()
    return found


def coefficients(top: Section, measures: Mapping[str, Measure]) -> dict[str, dict[str, StatedCoefficient]]:
    """Coefficients of the corrections that the campaign states itself, by measure and name."""
    found: dict[str, dict[str, StatedCoefficient]] = {}
    by_plain = {plain_name(name): one for name, one in measures.items() if one.coefficients}
    around = top.section("coefficient")
    for key in around.names():
        section, name = around.section(plain_name(key)), plain_name(key)
        if name not in by_plain:
            offers = sorted(one.name for one in by_plain.values())
            around.error(
                name,
                say.COEFFICIENT_NO_SUCH_MEASURE(key=key, hint=did_you_mean(key, offers, f"Known: {listed(offers)}.")),
            )
            continue
        measure = by_plain[name]
        known = {_bare(one.name): one for one in measure.coefficients}
        for inner in section.names():
            entry = section.section(plain_name(inner))
            one = known.get(_bare(inner))
            if one is None:
                names = [spelled(_bare(other)) for other in known]
                section.error(
                    plain_name(inner),
                    say.COEFFICIENT_UNKNOWN(
                        name=measure.name, hint=did_you_mean(inner, names, f"Known: {listed(names)}.")
                    ),
                )
                continue
            value, size = entry.number("value", -1e4, 1e4), entry.number("uncertainty", 0.0, 1e4)
            source = entry.text("source")
            for needed, there in (("value", value), ("uncertainty", size), ("source", source or None)):
                if there is None and needed not in entry:
                    entry.missing(needed, _NEEDED[needed])
            entry.report_unknown()
            if value is not None and size is not None:
                found.setdefault(measure.name, {})[one.name] = StatedCoefficient(value, size, f"entered: {source}")
    return found


#: Why each entry of a stated coefficient is needed.
_NEEDED = {
    "value": "Write the value that takes the place of the package's own.",
    "uncertainty": "Write its standard uncertainty: it enters the interval, in the whole campaign alike.",
    "source": "Write where you know it from, in words: it stands in the report.",
}


def _bare(name: str) -> str:
    """A coefficient's name without the signs that a table's name may not have."""
    return plain_name(name.replace(",", ""))


def loading(top: Section) -> tuple[Loading | None, float]:
    """Weights and arms of the aeroplane, None where its table is absent, and the weight of its fuel by volume."""
    section = top.section("aeroplane")
    present = bool(section.names())
    mass, arm = ("mass", 0.0, 20000.0), ("length", -50.0, 50.0)
    needed = "Take it from the aeroplane's weighing report, with the baseline configuration fitted."
    empty = section.quantity("empty weight", "mass", 20.0, 20000.0, needed if present else "")
    empty_arm = section.quantity("empty arm", *arm)
    stations = {}
    for name, station in section.named("station").items():
        weight = station.quantity("weight", *mass, needed="Write what sat there on every run.")
        at = station.quantity("arm", *arm)
        station.report_unknown()
        if weight is not None:
            stations[name] = (weight, at)
    fuel = section.section("fuel")
    fuel_arm = fuel.quantity("arm", *arm)
    density = fuel.quantity("weight per volume", "density", 500.0, 1100.0)
    fuel.report_unknown()
    maximum = section.quantity("maximum weight", *mass)
    forward, aft = section.quantity("cg forward", *arm), section.quantity("cg aft", *arm)
    if forward is not None and aft is not None and forward > aft:
        section.error("cg forward", say.LOADING_CG_LIMITS_TURNED_ROUND())
    tail, ballast = section.quantity("tail arm", *arm), section.quantity("ballast arm", *arm)
    section.report_unknown()
    density = AVGAS_DENSITY if density is None else density
    if not present or empty is None:
        return None, density
    return (
        Loading(
            empty_mass=empty,
            empty_arm=empty_arm,
            stations=stations,
            fuel_arm=fuel_arm,
            fuel_density=density,
            max_mass=maximum,
            cg_forward=forward,
            cg_aft=aft,
            tail_arm=tail,
            ballast_arm=ballast,
        ),
        density,
    )


def runways(top: Section) -> dict[str, Runway]:
    """The strips by name. Two directions of one strip are two entries, as the slope changes sign."""
    found = {}
    for name, section in top.named("runway").items():
        heading = section.quantity("heading", "angle", 0.0, 2 * math.pi)
        found[name] = Runway(
            name,
            elevation=section.quantity("elevation", "length", -500.0, 6000.0),
            slope=section.quantity("slope", "fraction", -0.25, 0.25),
            heading=heading,
            surface=section.text("surface"),
        )
        section.report_unknown()
    return found


def configurations(top: Section) -> dict[str, Configuration]:
    """The things compared, by key. Entries that mean nothing to the arithmetic are kept as its details."""
    found = {}
    known = ("label", "weight", "arm", "diameter", "of", "tip clearance", "noise", *OWN_SPEEDS)
    for key, section in top.named("configuration").items():
        label = section.text("label") or key
        mass = section.quantity("weight", "mass", 0.0, 5000.0)
        arm = section.quantity("arm", "length", -50.0, 50.0)
        diameter = section.quantity("diameter", "length", 0.1, 10.0)
        own = {name: section.quantity(name, "speed", 5.0, 120.0) for name in OWN_SPEEDS}
        details = {}
        for name in section.names():
            if plain_name(name) in known:
                continue
            value = section.raw(plain_name(name))
            near = nearest(name, known)
            if near is not None and near not in section:
                section.error(plain_name(name), say.CONFIGURATION_MISSPELT(near=near))
            elif isinstance(value, dict | list):
                section.error(plain_name(name), say.CONFIGURATION_NOT_TEXT())
            else:
                details[plain_name(name)] = str(value)
                if not DETAIL_WORDS & set(plain_name(name).split()):
                    meant = CALLED.get(plain_name(name)) or nearest(name, known)
                    meant = None if meant is not None and meant in section else meant
                    section.warning(
                        plain_name(name),
                        say.CONFIGURATION_UNKNOWN_DETAIL(
                            what=f"Did you mean {meant!r}?"
                            if meant
                            else f"Known here: {listed(map(spelled, known))}; what only describes it goes into 'notes'."
                        ),
                    )
        # NaN stands for "not given" until all of them are known, see _parts.
        found[key] = Configuration(
            key,
            label,
            math.nan if mass is None else mass,
            arm,
            details,
            diameter,
            {name: speed for name, speed in own.items() if speed is not None},
            section.quantity("tip clearance", "length", 0.0, 5.0),
            section.quantity("noise", "sound level", 20.0, 160.0),
        )
    _two_or_more(top, found)
    _own_speeds(top, found)
    return _parts(top, with_settings(top.section("configuration"), found))


def _own_speeds(top: Section, found: Mapping[str, Configuration]) -> None:
    """A speed of its own for one configuration says nothing without the other's."""
    for name in OWN_SPEEDS:
        given = [key for key, one in found.items() if name in one.own_speeds]
        missing = [key for key in found if key not in given]
        if given and missing:
            top.section("configuration").section(missing[0]).error(
                None,
                say.CONFIGURATION_AIRSPEED_MISSING(name=name, given=given[0]),
            )


def _two_or_more(top: Section, found: Mapping[str, Configuration]) -> None:
    if len(found) < 2:
        has = f"only [configuration.{next(iter(found))}] is" if found else "no configuration is"
        top.error(
            "configuration",
            say.CONFIGURATION_TOO_FEW(has=has),
        )


def _parts(top: Section, found: dict[str, Configuration]) -> dict[str, Configuration]:
    """Weights of the changed part: all or none; an arm wherever the weights differ."""
    given = [key for key, one in found.items() if not math.isnan(one.mass)]
    missing = [key for key in found if key not in given]
    if given and missing:
        top.section("configuration").section(missing[0]).error(
            None,
            say.CONFIGURATION_WEIGHT_MISSING(given=given[0]),
        )
    differ = len({one.mass for one in found.values() if not math.isnan(one.mass)}) > 1
    if differ and not missing:
        for key, one in found.items():
            if one.arm is None:
                top.section("configuration").section(key).warning(
                    None,
                    say.CONFIGURATION_ARM_MISSING(),
                )
    return {key: replace(one, mass=0.0) if math.isnan(one.mass) else one for key, one in found.items()}


def baseline(top: Section, found: Mapping[str, Configuration]) -> str:
    """Key of the configuration that the others are compared with; the first one where none is named."""
    first = next(iter(found), "")
    name = top.text("baseline", first)
    by_plain = {plain_name(key): key for key in found}
    if plain_name(name) in by_plain:
        return by_plain[plain_name(name)]
    if found:
        top.error(
            "baseline",
            say.BASELINE_UNKNOWN(
                name=quoted(name), hint=did_you_mean(name, found, f"Write one of {', '.join(found)}.")
            ),
        )
    return first


def limits(
    top: Section, dimensions: Mapping[str, str], fuel_density: float
) -> dict[str, tuple[float | None, float | None]]:
    """Bounds that the pilot set before flying, by condition, in SI; fuel by mass or by volume."""
    section = top.section("limits")
    known = {**dimensions, "tailwind": "speed"}
    found = {}
    for name in map(plain_name, section.names()):
        if name in known:
            found[name] = section.band(name, known[name], fuel_density if name == "fuel" else None)
    section.report_unknown(known)
    return found


def reference(top: Section, known: Mapping[str, Column]) -> dict[str, float]:
    """The common sky where the pilot names one, by condition, in SI; pressure altitude becomes pressure."""
    section = top.section("reference")
    found = {}
    for name in map(plain_name, section.names()):
        if name == "pressure altitude":
            altitude = section.quantity(name, "length", -1000.0, 11000.0)
            if altitude is not None:
                found["pressure"] = float(atmosphere.pressure(altitude))
        elif name in known:
            column = known[name]
            value = section.quantity(name, column.dimension, column.low, column.high)
            if value is not None:
                found[name] = value
    section.report_unknown(known)
    if "pressure" in section and "pressure altitude" in section:
        section.error("pressure", say.AIR_PRESSURE_GIVEN_TWICE())
    return found
