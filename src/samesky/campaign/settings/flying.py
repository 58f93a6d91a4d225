"""What flying does the pilot do, and what do papers and rules ask: ``[mission.X]`` and ``[papers]``.

A kind of flying that is known here by its name brings what it asks with it; whatever weights stand in its table take
their place. Nothing of the papers is known here: what was not entered is not held against anything.
"""

from __future__ import annotations

from collections.abc import Mapping

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.model.papers import Papers
from samesky.campaign.toml.section import Section
from samesky.measures.shape import Measure

#: The entry that says how much of a year's flying is of this kind.
SHARE = "share of year"
#: What each known kind of flying asks, by measure: more means that it counts more; only the order of the numbers is
#: leant on by itself (:mod:`samesky.mission.weights`). The first measure of a kind is one that it cannot do without.
ASKED: Mapping[str, Mapping[str, float]] = {
    "short strip": {"takeoff_roll": 3.0, "timed_climb": 2.0},
    "climb": {"timed_climb": 1.0},
    "cross country": {"level_speed": 2.0, "cruise_fuel": 1.0},
    "economy": {"cruise_fuel": 1.0},
    "noise": {},
}
#: Other names of the same kinds.
CALLED = {
    "short strips": "short strip",
    "short field": "short strip",
    "climbs": "climb",
    "cross-country": "cross country",
    "touring": "cross country",
    "tours": "cross country",
    "fuel": "economy",
    "quiet": "noise",
}


def kind_of_flying(name: str) -> str | None:
    """The known kind that a table of this name is of; None for one of the pilot's own."""
    plain = plain_name(name)
    plain = CALLED.get(plain, plain)
    return plain if plain in ASKED else None


def asks(name: str, measures: Mapping[str, Measure]) -> dict[str, float]:
    """What a known kind of flying asks, by measure: of noise every measure of the campaign that is a sound level."""
    kind = kind_of_flying(name)
    if kind == "noise":
        return {key: 1.0 for key, one in measures.items() if one.dimension == "sound level" or "noise" in key}
    return {} if kind is None else dict(ASKED[kind])


def not_counted(name: str, weights: Mapping[str, float]) -> tuple[str, ...]:
    """Measures that a known kind of flying asks for and that its ``weights`` do not count, as nobody flies them."""
    kind = kind_of_flying(name)
    return () if kind is None else tuple(one for one in ASKED[kind] if one not in weights)


def missions(
    top: Section, known: Mapping[str, Measure], asked: Mapping[str, Measure]
) -> tuple[dict[str, dict[str, float]], dict[str, float]]:
    """What each measure counts in each kind of flying (weights, zero or more), and the share of the year of each kind.

    A known kind without weights of its own gets what it asks among the measures ``asked``; its first measure counts
    also where nobody flies it, for without it there is no answer.
    """
    found: dict[str, dict[str, float]] = {}
    shares: dict[str, float] = {}
    by_plain = {plain_name(name): name for name in known}
    for mission, section in top.named("mission").items():
        found[mission] = {}
        share = section.quantity(SHARE, "fraction", 0.0, 1.0)
        if share is not None:
            shares[mission] = share
        for name in map(plain_name, section.names()):
            if name in by_plain:
                weight = section.number(name, low=0.0)
                if weight is not None:
                    found[mission][by_plain[name]] = weight
        section.report_unknown(by_plain)
        if found[mission] and not any(found[mission].values()):
            section.error(None, say.MISSION_NO_WEIGHT())
        if not any(name in by_plain for name in map(plain_name, section.names())):
            needs = asks(mission, asked)
            first = next(iter(needs), None)
            found[mission] = {name: weight for name, weight in needs.items() if name in asked or name == first}
            if not found[mission]:
                section.warning(None, say.MISSION_ASKS_NOTHING(known=listed(ASKED)))
    if sum(shares.values()) > 1.0 + 1e-9:
        top.error("mission", say.MISSION_SHARES(total=100.0 * sum(shares.values())))
    return found, shares


def papers(top: Section) -> Papers:
    """What the aeroplane's papers and local rules ask, as entered."""
    section = top.section("papers")
    found = Papers(
        tip_clearance=section.quantity("tip clearance", "length", 0.0, 5.0),
        noise=section.quantity("noise", "sound level", 20.0, 160.0),
    )
    section.report_unknown()
    return found
