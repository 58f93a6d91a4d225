"""Which configurations are settings of one propeller, and which number does each setting have?

``of`` names the propeller; ``pitch_setting`` begins with a number in whatever the pilot counts (degrees, turns, marks).
Only the order of the numbers of one propeller is used, and they must count the same thing.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import plain_name, quoted
from samesky.campaign.model.campaign import Configuration
from samesky.campaign.toml.section import Section

SETTING = "pitch setting"
#: A number with point or comma at the beginning, and the word behind it.
_NUMBER = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)(?![\d.,])\s*([^\s,;()]*)")


def with_settings(around: Section, found: Mapping[str, Configuration]) -> dict[str, Configuration]:
    """The configurations with the propeller that each is a setting of, and its number.

    A number that is missing, unreadable, given twice or in another unit is an error only where a propeller was flown at
    several settings: what one setting is called is the pilot's own.
    """
    named = {key: around.section(plain_name(key)).text("of") for key in found}
    read = {key: _read(one.details.get(SETTING, "")) for key, one in found.items()}
    groups: dict[str, list[str]] = {}
    for key, name in named.items():
        if name:
            groups.setdefault(name, []).append(key)
    for name, keys in groups.items():
        if len(keys) > 1:
            _one_line(around, name, keys, read, found)
    return {
        key: replace(one, of=named[key], setting=read[key][0] if named[key] else None) for key, one in found.items()
    }


def _one_line(
    around: Section,
    name: str,
    keys: list[str],
    read: Mapping[str, tuple[float | None, str]],
    found: Mapping[str, Configuration],
) -> None:
    """Every setting of one propeller needs a number of its own, of the same thing."""
    taken: dict[float, str] = {}
    unit, first = "", ""
    for key in keys:
        section, (number, own) = around.section(plain_name(key)), read[key]
        text = found[key].details.get(SETTING)
        if text is None:
            section.error(None, say.CONFIGURATION_SETTING_MISSING(name=quoted(name)))
        elif number is None:
            section.error(SETTING, say.CONFIGURATION_SETTING_NO_NUMBER(text=quoted(text)))
        elif number in taken:
            section.error(SETTING, say.CONFIGURATION_SETTING_TWICE(text=quoted(text), other=taken[number]))
        else:
            taken[number] = key
            if not first:
                unit, first = own, key
            elif own != unit:
                section.error(SETTING, say.CONFIGURATION_SETTING_UNIT(text=quoted(text), other=first))


def _read(text: str) -> tuple[float | None, str]:
    """Number and word behind it; None where it does not begin with a number."""
    match = _NUMBER.match(text)
    if match is None:
        return None, ""
    number = float(match.group(1).replace(",", "."))
    return (number if math.isfinite(number) else None), match.group(2).casefold()
