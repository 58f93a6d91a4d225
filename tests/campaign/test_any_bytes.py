"""Whatever the bytes: findings or one CampaignError, never another exception, and the same answer twice."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import TOP, read
from samesky.checks.check import check
from samesky.reduction.reduction import reduce_table

RARE = [
    "",
    ",",
    ";",
    "\t",
    '"',
    "\n",
    "\r",
    "\0",
    "[",
    "]",
    "[ft]",
    "#",
    "'",
    "1e308",
    "-1e308",
    "nan",
    "A",
    "=",
    "\ufeff",
    "°",
    "1,5",
]
CALM = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


def findings_of(files: dict[str, bytes]) -> list[str]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, data in files.items():
            (folder / file).write_bytes(data)
        try:
            campaign = read(folder)
        except CampaignError as error:
            return [str(error).replace(name, "")]
        findings = check(campaign)
        if all(finding.kind == "warning" for finding in findings):
            for table in campaign.tables.values():
                reduce_table(campaign, table)
        return [finding.sentence() for finding in findings]


def never_a_traceback(files: dict[str, bytes]) -> None:
    first = findings_of(files)
    assert first == findings_of(files)
    assert all(isinstance(sentence, str) and "\n" not in sentence for sentence in first)


@CALM
@given(st.binary(max_size=300))
def test_random_bytes_as_a_file_of_runs(data):
    never_a_traceback({"campaign.toml": TOML.encode(), "takeoff_roll.csv": data})


@CALM
@given(st.binary(max_size=200))
def test_random_bytes_as_the_campaign_file(data):
    never_a_traceback({"campaign.toml": data, "takeoff_roll.csv": ROLL.encode()})


@st.composite
def spoilt(draw, text: str) -> bytes:
    """The text with a few pieces replaced by rare ones, dropped or repeated."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 12)))
        piece = draw(st.one_of(st.sampled_from(RARE), st.text(max_size=6)))
        text = text[:start] + piece * draw(st.integers(1, 3)) + text[end:]
    return text.encode("utf-8", errors="replace")


@CALM
@given(spoilt(ROLL), spoilt(CLIMB))
def test_spoilt_files_of_runs(rolls, climbs):
    never_a_traceback({"campaign.toml": TOML.encode(), "takeoff_roll.csv": rolls, "timed_climb.csv": climbs})


@CALM
@given(spoilt(TOML))
def test_a_spoilt_campaign_file(toml):
    never_a_traceback({"campaign.toml": toml, "takeoff_roll.csv": ROLL.encode(), "timed_climb.csv": CLIMB.encode()})


VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(),
        st.floats(),
        st.dates(),
        st.text(max_size=8),
        st.sampled_from(["5 kg", "3 %", "-1 ft"]),
    ),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc _.", min_size=1, max_size=5), inner, max_size=3)
    ),
    max_leaves=4,
)
KEYS = st.sampled_from([*TOP, "nothing"])


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{as_toml(key)} = {as_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" for c in value) + '"'
    return str(value) if not isinstance(value, float) else repr(value)


@CALM
@given(st.dictionaries(KEYS, VALUES, max_size=5))
def test_any_value_in_any_place_of_the_campaign_file(tables):
    text = "\n".join(f"{key} = {as_toml(value)}" for key, value in tables.items())
    never_a_traceback({"campaign.toml": text.encode(), "takeoff_roll.csv": ROLL.encode()})
