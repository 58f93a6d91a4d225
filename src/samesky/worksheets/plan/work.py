"""What takes seconds: the plan and its rehearsal, worked out once for each state of the typing and remembered."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, quoted
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.section import FILE
from samesky.checks.check import check
from samesky.planning.cards.paper import PAPERS
from samesky.planning.question import question
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.evidence.track import keep_all, must_be_of
from samesky.worksheets.latest import Latest
from samesky.worksheets.server import faults
from samesky.worksheets.verdict_pages import DRAWING

if TYPE_CHECKING:
    from samesky.planning.into_tables import IntoTables
    from samesky.planning.plan import Plan

#: Plans and rehearsals kept.
KEPT = 8
#: Most simulated campaigns, at each true difference, that a page waits for.
MOST_CAMPAIGNS = 1_000
#: Largest seed.
LARGEST_SEED = 2**32 - 1
#: Campaigns of a rehearsal that go through real files as well.
THROUGH_FILES = 3

_plans: Latest[tuple[Path, str, str], Plan | CampaignError] = Latest(KEPT)
_rehearsals: Latest[tuple[Path, str, str, int, int], str] = Latest(KEPT)
#: One plan at a time: the next waits, and finds it remembered where it is the same.
_planning = Lock()
#: One rehearsal at a time: the next is told so.
_rehearsing = Lock()


@dataclass(frozen=True, slots=True)
class PlanReadiness:
    """Whether the campaign as typed can be planned.

    ``version`` of the typing; ``errors`` that have to be mended first; ``others`` the configurations beside the
    baseline, ``other`` the one chosen (None: still to choose); ``refusal`` why nothing can be planned, None where it
    can; ``unplanned`` where there is no ``[plan]`` yet.
    """

    version: str
    campaign: Campaign | None
    errors: tuple[Finding, ...]
    others: tuple[str, ...]
    other: str | None
    refusal: Finding | None
    unplanned: bool = False

    @property
    def ready(self) -> bool:
        """Whether a plan can be worked out."""
        return not self.errors and self.refusal is None and self.other is not None and not self.unplanned

    @property
    def findings(self) -> list[Finding]:
        """Everything in the way."""
        return [*self.errors, *([self.refusal] if self.refusal is not None else [])]


def plan_readiness(context: CampaignContext, other: str = "") -> PlanReadiness:
    """How the campaign stands before planning; some milliseconds."""
    with context.draft.lock():
        version = context.draft.version()
        try:
            campaign = context.as_typed()
        except CampaignError as error:
            return PlanReadiness(version, None, (error.finding,), (), None, None)
        errors = tuple(finding for finding in check(campaign) if finding.kind == "error")
    others = tuple(key for key in campaign.configurations if key != campaign.baseline)
    if errors:
        return PlanReadiness(version, campaign, errors, others, None, None)
    if campaign.plan is None:
        return PlanReadiness(version, campaign, (), others, None, None, unplanned=True)
    if other and other not in others:
        finding = cannot(
            FILE,
            say.PAGE_NO_SUCH_CONFIGURATION(
                other=quoted(other), baseline=campaign.baseline, others=listed(others, "or")
            ),
        ).finding
        return PlanReadiness(version, campaign, (), others, None, finding)
    chosen = other or (others[0] if len(others) == 1 else None)
    try:
        # What is missing or contradicts itself is the same whichever configuration is chosen, but for its weight.
        question(campaign, chosen or others[0])
    except CampaignError as error:
        return PlanReadiness(version, campaign, (), others, chosen, error.finding)
    except Exception as error:
        return PlanReadiness(version, campaign, (), others, chosen, faults.as_campaign_error(error, "the plan").finding)
    return PlanReadiness(version, campaign, (), others, chosen, None)


def remembered(context: CampaignContext, found: PlanReadiness) -> Plan | None:
    """The plan of this state of the typing, where it was worked out before."""
    plan = _plans.get((context.draft.folder, found.version, found.other or ""))
    return None if isinstance(plan, CampaignError) else plan


def planned(context: CampaignContext, found: PlanReadiness) -> Plan:
    """The plan; some seconds where it is new. Raises CampaignError where nothing can be planned."""
    _must_be_ready(found)
    from samesky.planning.plan import plan

    key = (context.draft.folder, found.version, found.other)
    with _planning:
        made = _plans.get(key)
        if made is None:
            try:
                made = plan(found.campaign, found.other)
            except CampaignError as error:
                made = error
            except Exception as error:
                made = faults.as_campaign_error(error, "the plan")
            _plans.keep(key, made)
    if isinstance(made, CampaignError):
        raise CampaignError(made.finding)
    return made


def offered_to_tables(context: CampaignContext, plan: Plan) -> IntoTables:
    """What putting the plan into the tables as typed comes to. Raises CampaignError where it cannot be put."""
    from samesky.planning.into_tables import into_tables

    return into_tables(plan, context.draft.files())


def put_into_tables(context: CampaignContext, found: PlanReadiness, version: str) -> IntoTables:
    """Put the planned order into the tables as typed, all of them or none; the plan stays remembered.

    Raises StaleError where something was typed since the page of ``version``, CampaignError where it cannot be put.
    """
    plan = planned(context, found)
    with context.draft.lock():
        must_be_of(context.draft, version)
        put = offered_to_tables(context, plan)
        keep_all(context.draft, put.files)
        # Rows that are not flown yet change nothing of the plan.
        _plans.keep((context.draft.folder, context.draft.version(), found.other), plan)
    return put


def card_files(context: CampaignContext, found: PlanReadiness, paper: str, pdf: bool) -> dict[str, bytes]:
    """The test cards by file name: HTML, and PDF where asked. Raises CampaignError for another paper, or no library."""
    from samesky.planning.cards.html import write_cards

    if paper not in PAPERS:
        raise cannot("the cards", say.PAGE_NO_PAPER(paper=quoted(paper), papers=listed(PAPERS, "or")))
    plan = planned(context, found)
    with context.draft.lock(), tempfile.TemporaryDirectory(prefix="samesky-") as place:
        # The blanks follow the header of each file of runs, wherever the typing stands by now.
        campaign = replace(plan.question.campaign, texts=context.draft.files())
        made = replace(plan, question=replace(plan.question, campaign=campaign))
        try:
            written = write_cards(made, Path(place) / "cards.html", paper, pdf)
        except CampaignError as error:
            raise error.of("the cards") from None
        return {path.name: path.read_bytes() for path in written}


def rehearsal(context: CampaignContext, found: PlanReadiness, campaigns: int, seed: int, work: bool) -> str:
    """The page of a rehearsal; a quarter of a minute where it is new, which is worked out only with ``work``.

    Raises CampaignError where it is not known without work, cannot be planned, or while another is being worked out.
    """
    _must_be_ready(found)
    key = (context.draft.folder, found.version, found.other, campaigns, seed)
    before = _rehearsals.get(key)
    if before is not None:
        return before
    if not work:
        raise cannot("the rehearsal", say.PAGE_REHEARSAL_STALE())
    if not _rehearsing.acquire(blocking=False):
        raise cannot("the rehearsal", say.PAGE_REHEARSAL_BUSY())
    try:
        return _rehearsals.keep(key, _rehearsed(context, found, campaigns, seed))
    except CampaignError:
        raise
    except Exception as error:
        raise faults.as_campaign_error(error, "the rehearsal") from error
    finally:
        _rehearsing.release()


def _rehearsed(context: CampaignContext, found: PlanReadiness, campaigns: int, seed: int) -> str:
    from samesky.rehearsal.rehearse import rehearse, with_truth
    from samesky.rehearsal.through_files import through_files
    from samesky.report.rehearsal_page import rehearsal_page

    with context.draft.lock():
        if context.draft.version() != found.version:
            raise cannot("the rehearsal", say.PAGE_REHEARSAL_CHANGED())
        campaign = context.as_typed()
    made = rehearse(campaign, campaigns, seed, other=found.other)
    both = through_files(with_truth(made.scene, 1.0), made.ready, THROUGH_FILES, seed)
    with DRAWING:
        return rehearsal_page(made, both)


def _must_be_ready(found: PlanReadiness) -> None:
    if found.findings:
        raise CampaignError(found.findings[0])
    if found.unplanned:
        raise cannot("the plan", say.PAGE_NO_PLAN())
    if found.other is None:
        raise cannot(
            "the plan",
            say.PAGE_CONFIGURATION_NOT_CHOSEN(baseline=found.campaign.baseline, others=listed(found.others, "or")),
        )
