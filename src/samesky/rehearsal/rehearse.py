"""Would this plan find it? The campaign rehearsed many times with known truth, before any fuel is burnt.

For true differences from none to twice the smallest that matters: how often each verdict comes, whether the interval
covers the truth, and what plain averages would have said. Then, at the smallest difference that matters, the same with
one disturbance switched off, and with one thing done better. Every case flies through the same chances (common random
numbers), one generator for each chunk of campaigns, so a seed fixes every figure whatever the number of jobs. Planned
looks are rehearsed as they will be flown: each with its own limits, and the flying ends at the first that decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import optimize

from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import Campaign
from samesky.inference import verdict
from samesky.inference.design import Design
from samesky.rehearsal import catalogue as say
from samesky.rehearsal import changes as rehearse_changes
from samesky.rehearsal.flight import COUNTED, Outcome, Ready, fly, ready, true_on_scale
from samesky.rehearsal.scatter import as_documented
from samesky.rehearsal.scene import Scene, scene
from samesky.rehearsal.script import Script, script
from samesky.simulator.campaign_sim import result_at

#: True differences, in smallest differences that matter.
TRUTHS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0)
#: Campaigns flown at once: a chunk has its own generator.
CHUNK = 250
#: Factors on thrust or drag among which a true difference is looked for.
_KNOB_REACH = (0.55, 1.9)


@dataclass(frozen=True, slots=True)
class Tally:
    """What many campaigns came to in one measure.

    ``truth`` on the scale of the comparison; ``codes`` how often each verdict (by its number in
    :mod:`samesky.inference.verdict`); ``intervals`` campaigns with an interval, ``covered`` of these hold the truth;
    ``half`` median half width; ``scatter`` standard deviation of the difference; ``naive``: how often the raw
    averages point to the other configuration, and how often Welch's t is sure of neither, the baseline, the other.
    ``runs`` flown on average; ``ended``: how many campaigns end at each planned look (one number where there is none).
    ``by_all``: the same measure told by all of them, None where they do not tell it.
    """

    campaigns: int
    truth: float
    codes: tuple[int, ...]
    intervals: int
    covered: int
    half: float
    mean: float
    scatter: float
    average_for_other: int
    naive: tuple[int, int, int]
    runs: float
    ended: tuple[int, ...]
    by_all: Tally | None = None

    @property
    def coverage(self) -> float:
        """Share of the intervals that hold the truth; NaN where there are none."""
        return self.covered / self.intervals if self.intervals else float("nan")

    def share(self, *codes: int) -> float:
        """Share of campaigns with one of these verdicts."""
        return sum(self.codes[code] for code in codes) / self.campaigns

    @property
    def better(self) -> float:
        """Share of campaigns that find the other configuration better."""
        return self.share(verdict.OTHER_BETTER)


@dataclass(frozen=True, slots=True)
class ChangedWorld:
    """The rehearsal at the smallest difference that matters, with one thing changed; tallies and designs by measure."""

    name: str
    says: str
    tallies: Mapping[str, Tally]
    designs: Mapping[str, Design]


@dataclass(frozen=True, slots=True, eq=False)
class Rehearsal:
    """A campaign rehearsed.

    Attributes
    ----------
    script : what was flown; ``scene`` the world; ``ready`` recognised order and sources by measure
    campaigns, seed : campaigns at each true difference, and the seed of all
    curve : for each of :data:`TRUTHS` the tallies by measure
    without : one disturbance switched off each; ``gains`` : one thing done better each; both at the smallest
        difference that matters
    flown : how many campaigns were simulated in all
    """

    script: Script
    scene: Scene
    ready: Mapping[str, Ready]
    campaigns: int
    seed: int
    curve: tuple[Mapping[str, Tally], ...]
    without: tuple[ChangedWorld, ...]
    gains: tuple[ChangedWorld, ...]
    flown: int

    def at(self, multiple: float) -> Mapping[str, Tally]:
        """Tallies at a true difference of so many smallest differences that matter."""
        return self.curve[TRUTHS.index(multiple)]


def rehearse(
    campaign: Campaign,
    campaigns: int = 1000,
    seed: int = 1,
    jobs: int = 1,
    other: str | None = None,
    flown: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Rehearsal:
    """Rehearse a campaign: as planned, or with ``flown``, or without a plan, in the order of its files.

    Parameters
    ----------
    campaigns : at each true difference and for each change
    jobs : processes (joblib; another back end chosen by :func:`joblib.parallel_config` is used as it is)
    progress : called with chunks done and chunks in all

    Raises
    ------
    CampaignError : nothing can be planned or rehearsed
    """
    return rehearse_script(script(campaign, other, flown), campaigns, seed, jobs, progress)


def rehearse_script(
    found: Script,
    campaigns: int = 1000,
    seed: int = 1,
    jobs: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Rehearsal:
    """Rehearse what a script holds; parameters and errors as for :func:`rehearse`."""
    if campaigns < 1:
        raise cannot("--campaigns", say.REHEARSAL_NO_CAMPAIGNS(campaigns=campaigns))
    base = as_documented(scene(found))
    smallest = with_truth(base, 1.0)
    cases = [with_truth(base, multiple) for multiple in TRUTHS]
    without, gains = rehearse_changes.disturbances(smallest), rehearse_changes.gains(smallest)
    cases += [change.apply(smallest) for change in (*without, *gains)]
    prepared = ready(base)
    # What a true difference does to the effect of an error source is of second order.
    rest = [prepared] * len(TRUTHS) + [ready(case) for case in cases[len(TRUTHS) :]]
    flights = flown_all(cases, rest, campaigns, seed, jobs, progress)
    changed = [
        ChangedWorld(change.name, change.says, tallies, {name: own.design for name, own in then.items()})
        for change, tallies, then in zip((*without, *gains), flights[len(TRUTHS) :], rest[len(TRUTHS) :], strict=True)
    ]
    return Rehearsal(
        script=found,
        scene=base,
        ready=prepared,
        campaigns=campaigns,
        seed=seed,
        curve=tuple(flights[: len(TRUTHS)]),
        without=tuple(changed[: len(without)]),
        gains=tuple(changed[len(without) :]),
        flown=campaigns * len(cases),
    )


def with_truth(base: Scene, multiple: float) -> Scene:
    """The scene whose other configuration is truly better by so many smallest differences in the primary measure.

    By thrust at the same torque, or by drag where the primary measure answers to that. Raises CampaignError where no
    believable change makes so much of a difference.
    """
    name = base.script.primary
    asked, measure = base.script.campaign.asked[name], base.script.tables[name].measure
    effects = base.scenario.effects
    baseline = result_at(base.scenario, measure, base.skies[name], effects[base.script.campaign.baseline])
    lower, upper = verdict.margins(asked.smallest, asked.smallest_is_fraction, measure.ratio, baseline)
    whole = lower if asked.better == "smaller" else upper
    target = multiple * float(whole) if not measure.ratio else float(np.log1p(multiple * np.expm1(whole)))

    def turned(factor: float) -> Scene:
        effect = replace(effects[base.script.other], **{base.knob: factor})
        scenario = replace(base.scenario, effects={**effects, base.script.other: effect})
        return replace(base, scenario=scenario)

    def short(factor: float) -> float:
        return true_on_scale(turned(factor), name) - target

    low, high = _KNOB_REACH
    if not short(low) * short(high) < 0:
        raise cannot(
            f"[measure.{name}]",
            say.REHEARSAL_DIFFERENCE_TOO_LARGE(smallest_text=asked.smallest_text, knob=base.knob),
        )
    return turned(optimize.brentq(short, low, high, xtol=1e-10))


def flown_all(
    cases: Sequence[Scene],
    prepared: Sequence[Mapping[str, Ready]],
    campaigns: int,
    seed: int,
    jobs: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> list[dict[str, Tally]]:
    """Tallies of every scene, by measure, with what :func:`ready` says of each. All fly through the same chances."""
    from joblib import Parallel, delayed

    sizes = [min(CHUNK, campaigns - start) for start in range(0, campaigns, CHUNK)]
    seeds = np.random.SeedSequence(seed).spawn(len(sizes))
    tasks = [(k, chunk) for k in range(len(cases)) for chunk in range(len(sizes))]
    work = (delayed(_chunk)(k, cases[k], prepared[k], sizes[chunk], seeds[chunk]) for k, chunk in tasks)
    gathered: list[list[dict[str, Outcome]]] = [[] for _ in cases]
    done = Parallel(n_jobs=jobs, return_as="generator")(work)
    for count, (k, outcome) in enumerate(done, start=1):
        gathered[k].append(outcome)
        if progress is not None:
            progress(count, len(tasks))
    return [
        {
            name: _tally(case, name, [one[name] for one in outcomes], 1 + len(now[name].earlier))
            for name in case.script.tables
        }
        for case, now, outcomes in zip(cases, prepared, gathered, strict=True)
    ]


def _chunk(
    number: int, case: Scene, prepared: Mapping[str, Ready], campaigns: int, seed: np.random.SeedSequence
) -> tuple[int, dict[str, Outcome]]:
    return number, fly(case, prepared, campaigns, np.random.default_rng(seed))


def _tally(case: Scene, name: str, outcomes: Sequence[Outcome], looks: int) -> Tally:
    joined = {one: np.concatenate([getattr(part, one) for part in outcomes]) for one in COUNTED}
    by_all = [part.by_all for part in outcomes if part.by_all is not None]
    known = np.isfinite(joined["half"])
    found = joined["difference"][np.isfinite(joined["difference"])]
    claims = np.bincount(joined["claims"], minlength=3)
    return Tally(
        campaigns=known.size,
        truth=true_on_scale(case, name),
        codes=tuple(int(count) for count in np.bincount(joined["code"], minlength=5)),
        intervals=int(known.sum()),
        covered=int(joined["covers"][known].sum()),
        half=float(np.median(joined["half"][known])) if known.any() else float("nan"),
        mean=float(found.mean()) if found.size else float("nan"),
        scatter=float(found.std(ddof=1)) if found.size > 1 else float("nan"),
        average_for_other=int((joined["raw"] > 0).sum()),
        naive=(int(claims[0]), int(claims[1]), int(claims[2])),
        runs=float(joined["runs"].mean()),
        ended=tuple(int(count) for count in np.bincount(joined["ended"], minlength=looks)),
        by_all=_tally(case, name, by_all, looks) if by_all else None,
    )
