"""What is asked of a track on the page: which measure, whose runs, when, how many? And what is wrong at which field?"""

from __future__ import annotations

import math
from collections.abc import Mapping

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import quoted
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.section import FILE
from samesky.evidence.local_clock import date_said, moments, utc_offset
from samesky.evidence.tracks.finding import MEASURED
from samesky.evidence.tracks.propose import TrackProposal
from samesky.evidence.tracks.rows import local
from samesky.evidence.tracks.words import BELIEVABLE, told
from samesky.instruments.tracks import Fixes
from samesky.report.phrases import capital
from samesky.worksheets import catalogue as say

#: Every field of the form, with its name in messages about others.
CALLED = {
    "file": "the track", "measure": "the measure", "configuration": "the configuration",
    "utc_offset": "the offset from UTC", "expected": "how many were flown", "from": "the earliest time",
    "to": "the latest time", "date": "the date", "legs": "the number of legs", "bottom": "the bottom", "top": "the top",
    "lift_off_speed": "the speed at lift-off", "touch_down_speed": "the speed at touch-down",
    "first_speed": "the first ground speed", "second_speed": "the second ground speed", "oat": "the temperature",
    "qnh": "the altimeter setting", "installation": "the installation",
}  # fmt: skip
#: Fields that one needs; all others may stay blank.
NEEDED = ("measure", "configuration", "utc_offset", "expected")
#: Seconds beside a candidate that are looked at with it, where no other one is as near.
BESIDE = 60.0
#: Longest text of a field.
LONGEST = 60


def words_of(sent: Mapping[str, object]) -> dict[str, str]:
    """The fields as sent, blank where they were not."""
    texts = ((name, sent.get(name, "")) for name in CALLED if name != "file")
    return {name: text.strip()[:LONGEST] if isinstance(text, str) else "" for name, text in texts}


def measures_of(campaign: Campaign) -> dict[str, str]:
    """Name and title of every measure that is asked for and that a track can give."""
    return {name: one.measure.title for name, one in campaign.asked.items() if name in MEASURED}


def ready(campaign: Campaign) -> None:
    """Raises CampaignError where ``campaign.toml`` has to be mended before a track can help, or nothing is asked."""
    for finding in campaign.findings:
        if finding.kind == "error" and finding.file == FILE:
            raise CampaignError(finding)
    if not measures_of(campaign):
        raise cannot(FILE, say.PAGE_NO_TRACK_MEASURE(measured=", ".join(MEASURED)))


def options(words: Mapping[str, str], fixes: Fixes) -> dict[str, object]:
    """The fields as :func:`samesky.evidence.tracks.propose.propose` takes them. Raises CampaignError."""
    for name in NEEDED:
        if not words[name]:
            raise cannot(CALLED[name], say.PAGE_FIELD_BLANK(missing=_MISSING[name]))
    offset = utc_offset(words["utc_offset"], CALLED["utc_offset"])
    expected = _whole(words["expected"], "expected", 1, 200)
    said: dict[str, object] = {name: words[name] or None for name in BELIEVABLE}
    said["legs"] = _whole(words["legs"], "legs", 2, 8) if words["legs"] else None
    known = told(words["measure"], said, CALLED)
    span = float(fixes.time.min()), float(fixes.time.max())
    times = (words[name] or None for name in ("from", "to", "date"))
    return {
        "measure": words["measure"],
        "configuration": words["configuration"],
        "between": moments(*times, span, offset, CALLED),
        "utc_offset_hours": offset,
        "expected": expected,
        "installation": words["installation"],
        **known,
    }


def day_of_log(words: Mapping[str, str]) -> str | None:
    """The date for a log that tells none itself; None where none is given, or one that is complained of later on."""
    try:
        return date_said(words["date"], CALLED["date"]).isoformat() if words["date"] else None
    except CampaignError:
        return None


def place_of(error: CampaignError) -> tuple[str, str]:
    """The field that a message belongs to, and its words; ``""`` where it belongs to none."""
    finding = error.finding
    said = capital(finding.words())
    for name, called in CALLED.items():
        if finding.file == called or finding.file.startswith(f"{called} and "):
            return name, said
    if finding.column == "installation":
        return "installation", capital(f"{finding.message} Give its number.")
    if finding.code == "track.no-fixes":
        return "from", f"The track {finding.words()}"
    return "", error.finding.sentence()


def only(words: Mapping[str, str], fixes: Fixes, proposal: TrackProposal, first: int, last: int) -> dict[str, str]:
    """The fields that look at the candidates from number ``first`` to ``last`` alone, and take one run."""
    found = proposal.found.candidates
    start, end = found[first].start, found[last].end
    before = found[first - 1].end if first else -math.inf
    after = found[last + 1].start if last + 1 < len(found) else math.inf
    low = math.floor(start - max(0.0, min(BESIDE, (start - before) / 2)))
    high = math.ceil(end + max(0.0, min(BESIDE, (after - end) / 2)))
    offset = proposal.utc_offset_hours
    days = {local(float(moment), offset).date() for moment in (fixes.time.min(), fixes.time.max())}
    day = local(low, offset)
    return dict(words) | {
        "from": f"{day:%H:%M:%S}",
        "to": f"{local(high, offset):%H:%M:%S}",
        "date": day.date().isoformat() if len(days) > 1 else "",
        "expected": "1",
    }


_MISSING = {
    "measure": "Choose what was flown.",
    "configuration": "Choose which one was fitted.",
    "utc_offset": "Write such as +02:00, -05:00 or Z: a track counts in UTC, your card in the clock on the wall.",
    "expected": "Say how many runs of this kind are in this track, or in this part of it.",
}


def _whole(text: str, name: str, low: int, high: int) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 6 and low <= int(text) <= high):
        raise cannot(CALLED[name], say.PAGE_NOT_WHOLE(text=quoted(text), low=low, high=high))
    return int(text)
