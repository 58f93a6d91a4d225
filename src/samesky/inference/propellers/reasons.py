"""Why are two propellers not compared at one value? Sentences."""

from __future__ import annotations

from collections.abc import Sequence

from samesky.campaign.messages.words import listed
from samesky.inference.propellers.tilt import LEVEL_RPM, SPEED, STATIC_RPM

#: What an abscissa is called.
CALLED = {SPEED: "top speed", LEVEL_RPM: "rpm in level flight", STATIC_RPM: "static rpm"}
#: Where it is read.
READ_IN = {
    SPEED: "full-throttle level runs",
    LEVEL_RPM: "the rpm of full-throttle level runs",
    STATIC_RPM: "the rpm of static pulls",
}


def not_read(keys: Sequence[str], against: str) -> str:
    """That an abscissa was not read of these configurations.

    Parameters
    ----------
    keys : of the configurations
    against : name of the abscissa
    """
    own = f" of {listed(keys)}" if keys else ""
    return f"The {CALLED[against]}{own} is not known: it takes {READ_IN[against]} that give an interval."


def throttled(keys: Sequence[str], against: str) -> str:
    """That these configurations were throttled back where the abscissa is read.

    Parameters
    ----------
    keys : of the configurations
    against : name of the abscissa
    """
    return (
        f"{listed(keys)} {'was' if len(keys) == 1 else 'were'} throttled back for the rpm limit, so the "
        f"{CALLED[against]} is the limit's, not the propeller's."
    )


def no_interval(title: str) -> str:
    """That a measure has no interval of its own.

    Parameters
    ----------
    title : of the measure
    """
    return f"The runs of the {title} give no interval."


def no_overlap(first: str, second: str, against: str) -> str:
    """That the settings flown of two propellers do not reach one another.

    Parameters
    ----------
    first : one propeller
    second : the other
    against : name of the abscissa
    """
    return (
        f"No setting flown of {first} or {second} has a {CALLED[against]} between those of the other, and a line is "
        "not carried on beyond the settings flown: fly one in between."
    )


def turns_round(name: str, against: str) -> str:
    """That an abscissa rises and falls again with the setting.

    Parameters
    ----------
    name : of the propeller
    against : name of the abscissa
    """
    return f"The {CALLED[against]} of {name} rises and falls again with its setting: one value stands for two settings."
