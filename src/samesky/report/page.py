"""What do I show others? One self-contained page: the question, the answers, and everything needed to doubt them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from samesky.campaign.derived.cautions import of_the_change
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.unflown import unflown_words
from samesky.campaign.tables.write import write_text
from samesky.checks.check import check
from samesky.inference.propellers.told import Propellers, propellers
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, excess_thrust
from samesky.reduction.reduction import Reduction, reduce_table
from samesky.report import by_all_words, methods, missions, phrases, pitfalls, sections
from samesky.report.bridge_figure import bridge_alt, bridge_figure
from samesky.report.choice import club_page, hard_limits
from samesky.report.difference_figure import difference_alt, difference_figure
from samesky.report.excess_thrust_figure import excess_thrust_alt, excess_thrust_figure
from samesky.report.excess_thrust_figure import sentence as where
from samesky.report.picture import Picture, picture
from samesky.report.propellers import words as propeller_words
from samesky.report.propellers.figure import propeller_alt, propeller_figure
from samesky.report.rendering import rendered
from samesky.report.runs_figure import runs_alt, runs_figure
from samesky.report.style import looks, shown_together
from samesky.report.terminal import primary_first, rankings, title

#: The figures' markers as characters, so that text and figures tell configurations alike.
GLYPHS = {"o": "●", "^": "▲", "s": "■", "D": "◆"}


@dataclass(frozen=True, slots=True)
class Answered:
    """One comparison with its figure and words."""

    comparison: Comparison
    title: str
    anchor: str
    bridge: Picture | None


@dataclass(frozen=True, slots=True)
class FlownMeasure:
    """One measure's table with its figures, whether it could be compared or not; several where many are compared."""

    table: RunTable
    reduction: Reduction
    unit: str
    pictures: list[Picture]
    answers: list[Answered]


def write_report(
    campaign: Campaign,
    comparisons: Sequence[Comparison],
    path: Path,
    progress: Callable[[str], None] | None = None,
) -> Path:
    """Write the page; give its path. The same campaign gives the same page, byte for byte.

    ``progress`` is called with a few words before each slow step. Raises CampaignError where the page cannot be
    written; then nothing is left behind.
    """
    return write_text(Path(path), page(campaign, comparisons, progress))


def page(campaign: Campaign, comparisons: Sequence[Comparison], progress: Callable[[str], None] | None = None) -> str:
    """The page as HTML text."""
    says = progress or (lambda words: None)
    ordered = primary_first(comparisons)
    titles = [title(one, comparisons) for one in ordered]
    flown = [_flown(campaign, table, ordered, titles, says) for table in _primary_tables(campaign)]
    answers = [answer for one in flown for answer in one.answers]
    answers.sort(key=lambda answer: ordered.index(answer.comparison))
    together = excess_thrust(campaign, comparisons)
    says("drawing all measures together")
    overall, withheld = None, ordered[0].withheld if ordered else ""
    if ordered and not withheld:
        overall = picture(lambda width: difference_figure(ordered, titles, width), difference_alt(ordered, titles))
    thrust = _thrust_pictures(together)
    pitched, pitched_picture = _propellers(campaign, comparisons)
    says("writing the page")
    return rendered(
        "report.html",
        campaign=campaign,
        comparisons=ordered,
        flown=flown,
        answers=answers,
        overall=overall,
        numbers=sections.numbers(ordered, titles) if ordered and not withheld else None,
        withheld=withheld,
        rankings=rankings(ordered),
        together=together,
        thrust=thrust,
        pitched=pitched,
        pitched_picture=pitched_picture,
        propeller_words=propeller_words,
        by_all_words=by_all_words,
        verdict_withheld=phrases.capital(phrases.Answer.WITHHELD.value),
        looked=ordered[0].look if ordered else None,
        levels=_levels(ordered),
        club=club_page.table(ordered, titles) if ordered and not withheld else None,
        club_page=club_page,
        hard_limits=hard_limits,
        hard_table=hard_limits.table(campaign, ordered),
        flying=missions.sentences(campaign, ordered),
        assumed=_assumed(answers),
        suited=missions.suited(campaign, ordered),
        traded=missions.traded(ordered),
        missions=missions,
        findings=[finding for finding in check(campaign) if finding.kind == "warning"],
        unflown=unflown_words(campaign),
        glyphs={key: GLYPHS[own.marker] for key, own in looks(campaign.configurations, campaign.baseline).items()},
        dates=_dates(campaign),
        cited=methods.cited_rows(_texts(flown)),
        documents=methods.STANDING,
        fingerprints=sections.fingerprints(campaign),
        limits=sections.limits(campaign),
        change_cautions=of_the_change(campaign),
        configurations=sections.configurations(campaign),
        sections=sections,
        methods=methods,
        pitfalls=pitfalls,
        phrases=phrases,
    )


def _thrust_pictures(together: Sequence[ExcessThrust]) -> list[tuple[ExcessThrust, Picture, str]]:
    """The figure of excess thrust of every pair that has a line, with its sentence."""
    return [
        (one, picture(lambda width, one=one: excess_thrust_figure(one, width), excess_thrust_alt(one)), where(one))
        for one in together
        if one.line is not None
    ]


def _propellers(campaign: Campaign, comparisons: Sequence[Comparison]) -> tuple[Propellers | None, Picture | None]:
    """What settings of propellers tell, and its figure; None where nothing is asked, or told yet."""
    found = propellers(campaign, comparisons)
    if found is None or found.refused:
        return None, None
    if not found.curves and not found.turning:
        return found, None
    return found, picture(lambda width: propeller_figure(found, campaign, width), propeller_alt(found, campaign))


def _flown(
    campaign: Campaign,
    table: RunTable,
    comparisons: Sequence[Comparison],
    titles: Sequence[str],
    says: Callable[[str], None],
) -> FlownMeasure:
    name = table.measure.name
    says(f"drawing {table.measure.title}")
    own = [(one, said) for one, said in zip(comparisons, titles, strict=True) if one.measure == name]
    reduction = own[0][0].reduction if own else reduce_table(campaign, table)
    unit = campaign.asked[name].unit or table.measure.unit
    flown = [key for key in campaign.configurations if key in set(table.configuration)]
    # A picture of both configurations between planned looks would be a look.
    withheld = bool(own and own[0][0].withheld)
    drawn = (
        []
        if withheld
        else [
            picture(
                lambda width, keys=keys: runs_figure(campaign, reduction, unit, width, keys),
                runs_alt(campaign, reduction, unit, keys),
            )
            for keys in shown_together(flown, campaign.baseline)
        ]
    )
    answers = [
        Answered(
            comparison=one,
            title=phrases.capital(said),
            anchor=_anchor(campaign, one),
            bridge=None if withheld else picture(lambda width, one=one: bridge_figure(one, width), bridge_alt(one)),
        )
        for one, said in own
    ]
    return FlownMeasure(table, reduction, unit, drawn, answers)


def _anchor(campaign: Campaign, one: Comparison) -> str:
    """Name of one comparison's place on the page; the baseline of the campaign is not named."""
    keys = list(campaign.configurations)
    against = "" if one.baseline == campaign.baseline else f"-{keys.index(one.baseline)}"
    return f"{one.measure}-{keys.index(one.other)}{against}"


def _assumed(answers: Sequence[Answered]) -> list[tuple[str, str]]:
    """What the answers assume, each once, with the titles of those that do."""
    by_words: dict[str, list[str]] = {}
    for answer in answers:
        by_words.setdefault(answer.comparison.assumption, []).append(answer.title)
    return [(words, listed([titles[0], *map(phrases.small, titles[1:])])) for words, titles in by_words.items()]


def _levels(comparisons: Sequence[Comparison]) -> tuple[str, str]:
    """The levels of the two intervals that a verdict asks for, in words; a look that is still to come has its own."""
    if comparisons and comparisons[0].withheld:
        return "look's own", "look's own, narrower"
    one = comparisons[0] if comparisons else None
    return phrases.level(one.level if one else 0.95), phrases.level(one.equivalence_level if one else 0.90)


def _primary_tables(campaign: Campaign) -> list[RunTable]:
    return sorted(campaign.tables.values(), key=lambda table: not campaign.asked[table.measure.name].primary)


def _dates(campaign: Campaign) -> list[str]:
    found = {date for table in campaign.tables.values() for date in table.text.get("date", []) if date}
    return sorted(found)


def _texts(flown: Sequence[FlownMeasure]) -> list[str]:
    """Every text that may name a printed row."""
    texts = []
    for one in flown:
        texts += [coefficient.source for coefficient in one.table.measure.coefficients]
        texts += [source.source for source, _ in one.reduction.contributions]
    return texts
