"""A ``campaign.toml`` made to do harm is refused before the reader meets it; a slip is one short line."""

from __future__ import annotations

import tomllib

import pytest

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.toml.parse import LONGEST, MOST_DOTS, parsed

HARMFUL = {
    "a name of dots": ("a" + ".a" * 100_000 + " = 1", "line 1: the line holds 100000 dots, 200 at the most"),
    "a table of dots": ("title = 'x'\n[" + ".".join("a" * 100_000) + "]", "line 2: the line holds 99999 dots"),
    "a long file": ("#" * (LONGEST + 1), "the file holds 500001 characters, 500000 at the most"),
    "a deep list": ("a = " + "[" * 100_000, "nested too deeply"),
    "a deep table": ("a = {" + "b = {" * 50_000, "nested too deeply"),
    "many digits": ("a = " + "9" * 100_000, "too many digits"),
    "a long line": ("x" * 100_000, "line 1: the line cannot be read"),
}


@pytest.mark.parametrize("name", HARMFUL)
def test_harm_is_one_short_message(name):
    text, says = HARMFUL[name]
    with pytest.raises(CampaignError) as stopped:
        parsed(text)
    assert says in str(stopped.value)
    assert len(str(stopped.value)) < 500


def test_what_stays_within_the_limits_is_read_as_the_standard_library_reads_it():
    text = "a" + ".a" * MOST_DOTS + " = 1\n" + "#" * 1000 + '\nquestion = "' + "Which one? " * 900 + '"\n'
    assert parsed(text) == tomllib.loads(text)
