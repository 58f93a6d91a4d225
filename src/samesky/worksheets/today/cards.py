"""The answers on the apron, one card each: what it says, what it rests on, or what it still needs.

A card that lacks a reading says so; the others answer all the same. The arithmetic is :mod:`samesky.apron`'s.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import quote

from samesky import apron
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.model.campaign import Campaign, UnflownRun
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.reading.unflown import next_run, place_words, unflown_words
from samesky.campaign.tables.cells import CellError, clock_hours
from samesky.planning.plan import Plan
from samesky.report.phrases import capital
from samesky.worksheets import catalogue as say
from samesky.worksheets.runs.columns import Runs
from samesky.worksheets.server import faults
from samesky.worksheets.today.form import Field, value

#: Words before a limit, so that nothing hangs on colour.
HOLDS = {True: "holds", False: "DOES NOT HOLD", None: "cannot tell"}


@dataclass(frozen=True, slots=True)
class AnswerCard:
    """One answer: ``answer`` in large type, sentences below, then what it rests on; or what it ``needs``.

    ``limits`` pairs a word (does it hold?) with the limit's sentence. ``wrong`` marks an answer of "no". ``leads_to``
    is the address of a page of the campaign, with the words of the link.
    """

    anchor: str
    title: str
    answer: str = ""
    sentences: Sequence[str] = ()
    limits: Sequence[tuple[str, str]] = ()
    rests_on: Sequence[str] = ()
    caution: str = ""
    needs: str = ""
    wrong: bool = False
    leads_to: tuple[str, str] | None = None


@dataclass
class ApronInputs:
    """What the fields say [SI], as far as they can be read; ``wrong`` has a message for each that cannot.

    ``plan`` is the plan flown by, where it has been worked out: its limits are then held as well.
    """

    campaign: Campaign
    fields: Mapping[str, Field]
    plan: Plan | None = None
    wrong: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, campaign: Campaign, fields: Sequence[Field], plan: Plan | None = None) -> ApronInputs:
        """The fields by name, none read yet."""
        return cls(campaign, {one.name: one for one in fields}, plan)

    def text(self, name: str) -> str | None:
        """Words; None where blank."""
        one = self.fields.get(name)
        return one.text or None if one is not None else None

    def number(self, name: str) -> float | None:
        """A reading [SI]; None where blank or unreadable, which is then said at the field."""
        one = self.fields.get(name)
        if one is None or not one.text or name in self.wrong:
            return None
        try:
            return value(self.campaign, one)
        except CampaignError as error:
            self.blame(error)
            return None

    def blame(self, error: CampaignError) -> bool:
        """Note an error at the field that it names; False where it names none of the form."""
        name = error.finding.column
        if name in self.fields:
            self.wrong.setdefault(name, _brief(error))
            return True
        return False

    def needs(self, *names: str) -> str:
        """Which of these are blank or unreadable, in words; ``""`` where none is."""
        lacking = [self.fields[name].label for name in names if name in self.fields and not self._is_there(name)]
        return f"Needs: {', '.join(lacking)}." if lacking else ""

    def _is_there(self, name: str) -> bool:
        one = self.fields[name]
        return bool(one.text) and name not in self.wrong

    def hours(self) -> float | None:
        """The time of day [h]; None where blank or unreadable."""
        text = self.text("clock")
        if text is None or "clock" in self.wrong:
            return None
        try:
            return clock_hours(text)
        except CellError as error:
            self.blame(
                cannot(
                    "on the day",
                    say.TODAY_CLOCK_UNREADABLE(text=text, wrong=error.wrong, mend=error.mend),
                    column="clock",
                )
            )
            return None


def cards(given: ApronInputs, runs: Runs | None) -> list[AnswerCard]:
    """Every quick answer; ``runs`` is the table whose last row is looked at."""
    makers: list[tuple[str, str, Callable[[ApronInputs], AnswerCard]]] = [
        ("wind", "Wind", _wind),
        ("air", "Density altitude", _air),
        ("loading", "Weight and balance", _loading),
        ("fuel", "Before the next run", _fuel),
        ("speeds", "Airspeeds to fly", _speeds),
    ]
    ahead = next_run(given.campaign)
    found = [] if ahead is None else [_ahead(given.campaign, ahead)]
    found += [_guarded(given, anchor, title, make) for anchor, title, make in makers]
    found.append(_guarded(given, "run", "The last run typed", lambda one: _run(one, runs)))
    return found


def _guarded(given: ApronInputs, anchor: str, title: str, make: Callable[[ApronInputs], AnswerCard]) -> AnswerCard:
    try:
        return make(given)
    except CampaignError as error:
        if given.blame(error):
            return AnswerCard(anchor, title, needs=f"Mend first: {given.fields[error.finding.column].label}.")
        return AnswerCard(anchor, title, needs=_brief(error))
    except Exception as error:
        return AnswerCard(anchor, title, needs=capital(faults.words(error)))


def _brief(error: CampaignError) -> str:
    said = error.finding.words()
    return said[:1].upper() + said[1:]


def _limits(limits) -> list[tuple[str, str]]:
    return [(HOLDS[one.holds], one.says) for one in limits]


def _without_limits(found) -> list[str]:
    """The sentences without those of the limits, which stand in a list of their own."""
    said = {one.says for one in found.limits}
    return [one for one in found.sentences if one not in said]


def _air(given: ApronInputs) -> AnswerCard:
    oat, qnh, altitude = given.number("oat"), given.number("qnh"), given.number("pressure altitude")
    needs = given.needs("oat") or ("" if qnh is not None or altitude is not None else given.needs("qnh"))
    if needs:
        return AnswerCard("air", "Density altitude", needs=needs)
    if altitude is not None:
        qnh = None
    dew = given.number("dew point")
    found = apron.air_now(given.campaign, oat, qnh, altitude, dew, given.text("runway"), given.plan)
    pressure, density, *rest = _without_limits(found)
    wrong = any(one.holds is False for one in found.limits)
    said = [pressure, *rest]
    return AnswerCard(
        "air", "Density altitude", density, said, _limits(found.limits), found.notes, found.caution, "", wrong
    )


def wind(given: ApronInputs) -> apron.WindNow | None:
    """The wind as given; None where it is not. Raises CampaignError."""
    speed = given.number("wind")
    if speed is None:
        return None
    heading = apron.direction("wind from", given.text("wind from") or "") if speed > 0 else None
    gust, strip = given.number("gust"), given.text("runway")
    return apron.wind_now(given.campaign, speed, heading, gust, strip, plan=given.plan)


def _wind(given: ApronInputs) -> AnswerCard:
    if given.number("wind") is None:
        return AnswerCard("wind", "Wind", needs=given.needs("wind"))
    found = wind(given)
    first, *rest = _without_limits(found)
    if found.holds is not None:
        rest = [first, *rest]
        first = "The limits on the wind hold." if found.holds else "Do not fly now: a limit on the wind does not hold."
    return AnswerCard(
        "wind", "Wind", first, rest, _limits(found.limits), found.notes, found.caution,
        "", found.holds is False,
    )  # fmt: skip


def _loaded(given: ApronInputs) -> apron.LoadingNow | None:
    fuel, fitted = given.number("fuel"), given.text("configuration")
    if fuel is None or fitted is None:
        return None
    return apron.loading_now(given.campaign, fitted, fuel, given.number("ballast") or 0.0, plan=given.plan)


def _loading(given: ApronInputs) -> AnswerCard:
    found = _loaded(given)
    if found is None:
        return AnswerCard("loading", "Weight and balance", needs=given.needs("configuration", "fuel"))
    first, *rest = _without_limits(found)
    return AnswerCard(
        "loading", "Weight and balance", first, rest, _limits(found.limits),
        [f"{one.name}: {one.mass:.1f} kg" + ("" if one.arm is None else f" at {one.arm:.3f} m") for one in found.items],
        found.caution, "", found.holds is False,
    )  # fmt: skip


def _fuel(given: ApronInputs) -> AnswerCard:
    now = _loaded(given)
    if now is None:
        return AnswerCard("fuel", "Before the next run", needs=given.needs("configuration", "fuel"))
    found = apron.fuel_to_add(given.campaign, now, plan=given.plan)
    aim, first, *rest = (*found.sentences, "")
    return AnswerCard("fuel", "Before the next run", first, [aim, *(one for one in rest if one)], (), (), found.caution)


def _speeds(given: ApronInputs) -> AnswerCard:
    now = _loaded(given)
    if now is None:
        return AnswerCard("speeds", "Airspeeds to fly", needs=given.needs("configuration", "fuel"))
    found = apron.target_airspeeds(given.campaign, now.mass, given.text("configuration"), given.plan)
    if not found:
        return AnswerCard("speeds", "Airspeeds to fly", needs="No measure of this campaign asks for an airspeed.")
    return AnswerCard("speeds", "Airspeeds to fly", "", [one.says for one in found], (), (), found[0].caution)


def _ahead(campaign: Campaign, ahead: UnflownRun) -> AnswerCard:
    """The planned run that comes next."""
    label = campaign.configurations[ahead.configuration].label if ahead.configuration in campaign.configurations else ""
    title = capital(campaign.asked[ahead.measure].measure.title)
    said = [f"{title}, run {ahead.run}" + (f", with {ahead.configuration}: {label}." if label else ".")]
    if ahead.date:
        said.append(f"Planned for {ahead.date}.")
    flown = in_flown_order(campaign.tables)
    fitted = None if not flown else str(flown[-1][0].configuration[flown[-1][1]])
    if campaign.fitted_anew and fitted not in (None, ahead.configuration):
        said.append(f"The last run was flown with {fitted}: fit and check {ahead.configuration} as the papers ask.")
    table = f"runs/{quote(ahead.file.rpartition('.')[0])}"
    said.append(unflown_words(campaign))
    return AnswerCard("next", "Next run", place_words(ahead), said, leads_to=(table, f"To the table: {title}"))


def _run(given: ApronInputs, runs: Runs | None) -> AnswerCard:
    grid = None if runs is None else runs.grid
    flown = [] if runs is None else sorted(set(range(len(grid.trimmed().rows))) - set(runs.unflown))
    flown = [row for row in flown if any(cell.strip() for cell in grid.rows[row])]
    if not flown or runs.measure is None:
        return AnswerCard("run", "The last run typed", needs="No run is typed yet.")
    last = flown[-1]
    cells = {shown.name: text for shown, text in zip(runs.columns, grid.rows[last], strict=False) if shown.name}
    files = {runs.file: grid.without_row(last).to_text()}
    found = apron.valid_run(given.campaign, runs.measure.name, cells, files, given.plan)
    first, *rest = _without_limits(found)
    return AnswerCard("run", f"The last run typed: {runs.title}", first, rest, _limits(found.limits))
