"""What does the pilot say beside a track, in words with units, and does it belong to what is looked for?

``called`` is how a message names what was said: options on the command line, fields on a page.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import listed, plain_name, quoted
from samesky.evidence import catalogue as say
from samesky.instruments.tracks import TrackEstimate

#: What means something for some measures alone.
OWN = {
    ("bottom", "top"): ("timed_climb", "idle_descent"),
    ("legs",): ("level_speed",),
    ("lift_off_speed",): ("takeoff_roll",),
    ("touch_down_speed",): ("landing_roll",),
    ("first_speed", "second_speed"): ("ground_acceleration",),
}
#: Dimension of each, and what can be believed of it [SI].
BELIEVABLE = {
    "oat": ("temperature", 223.15, 328.15),
    "qnh": ("pressure", 92_000.0, 108_000.0),
    "bottom": ("length", -600.0, 8_000.0),
    "top": ("length", -600.0, 8_000.0),
    "lift_off_speed": ("speed", 5.0, 120.0),
    "touch_down_speed": ("speed", 5.0, 120.0),
    "first_speed": ("speed", 1.0, 60.0),
    "second_speed": ("speed", 3.0, 90.0),
}
#: How each is written, by its dimension.
SAMPLES = {"temperature": "12 degC", "pressure": "1018 hPa", "length": "1000 ft", "speed": "50 kt"}
#: Standard uncertainty [m/s] with which a pilot knows the ground speed: one knot at lift-off, two at touch-down, where
#: nobody looks at a dial (assumed).
KNOWN = {"lift_off_speed": 0.5, "touch_down_speed": 1.0}


def told(measure: str, said: Mapping[str, str | int | None], called: Mapping[str, str]) -> dict[str, Any]:
    """What was said, as :func:`samesky.evidence.tracks.propose.propose` takes it.

    ``said`` has the keys of :data:`BELIEVABLE`, and ``legs``; None for what was not said. ``called`` has the same, and
    ``measure``. Raises CampaignError for what cannot be read or believed, and for what would be passed over in silence.
    """
    for own, names in OWN.items():
        if any(said.get(one) is not None for one in own) and plain_name(measure) not in map(plain_name, names):
            belongs = "belong" if len(own) > 1 else "belongs"
            raise cannot(
                " and ".join(called[one] for one in own),
                say.TRACK_NOT_OF_MEASURE(
                    belongs=belongs, names=listed(names), called=called["measure"], measure=measure
                ),
            )
    for low, high, needed in (
        ("bottom", "top", say.TRACK_HALF_A_BAND),
        ("first_speed", "second_speed", say.TRACK_ONE_SPEED),
    ):
        if (said.get(low) is None) != (said.get(high) is None):
            raise cannot(f"{called[low]} and {called[high]}", needed())
    found: dict[str, object] = {name: _value(name, said, called) for name in ("oat", "qnh")}
    found["legs"] = said.get("legs")
    for key, low, high in (("band", "bottom", "top"), ("marks", "first_speed", "second_speed")):
        if said.get(low) is not None:
            ends = _value(low, said, called), _value(high, said, called)
            if not ends[0] < ends[1]:
                raise cannot(
                    called[high],
                    say.TRACK_BAND_TURNED_ROUND(said=quoted(said[high]), called=called[low], said2=quoted(said[low])),
                )
            found[key] = ends
    for name, known in KNOWN.items():
        if said.get(name) is not None:
            found[name] = TrackEstimate(_value(name, said, called), known)
    return found


def _value(name: str, said: Mapping[str, str | int | None], called: Mapping[str, str]) -> float | None:
    text = said.get(name)
    if text is None:
        return None
    dimension, low, high = BELIEVABLE[name]
    try:
        value = units.parse(str(text), dimension)
    except units.UnitError as error:
        raise cannot(called[name], say.TRACK_UNIT(error=error, sample=SAMPLES[dimension])) from None
    if not low <= value <= high:
        raise cannot(called[name], say.TRACK_NOT_BELIEVABLE(text=quoted(text)))
    return value
