"""What do the campaigns say together, and what is to be expected on an aeroplane that none of them flew?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.club import catalogue as say
from samesky.club.answers import CampaignAnswer, Unreadable, answers
from samesky.club.likeness import LeftOut, alike, same_name
from samesky.club.random_effects import Findings, Together, together
from samesky.inference import verdict


@dataclass(frozen=True, slots=True, eq=False)
class Without:
    """The pooled difference with one campaign left out, in the unit of the pool, and its verdict."""

    campaign: str
    difference: float
    interval_95: tuple[float, float]
    verdict: str


@dataclass(frozen=True, slots=True, eq=False)
class PooledAnswer:
    """One measure over the campaigns that asked the same of it.

    Numbers are in ``unit``: ``%`` of the baseline for a ratio measure, else the measure's own. ``each`` holds every
    campaign's difference and 95 % interval, in the order of ``campaigns``.
    """

    measure: str
    title: str
    unit: str
    better: str
    primary: bool
    baseline: str
    other: str
    campaigns: tuple[CampaignAnswer, ...]
    left_out: tuple[LeftOut, ...]
    pooled: Together
    each: tuple[tuple[float, float, float], ...]
    difference: float
    interval_95: tuple[float, float]
    interval_90: tuple[float, float]
    expected_95: tuple[float, float]
    between: float
    smallest_that_matters: float
    margins_differ: bool
    verdict: str
    without: tuple[Without, ...]

    @property
    def hangs_on(self) -> tuple[str, ...]:
        """Campaigns without which the verdict would be another."""
        return tuple(one.campaign for one in self.without if one.verdict != self.verdict)


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """All measures, the deciding one first, and what could not be used."""

    answers: tuple[PooledAnswer, ...]
    unreadable: tuple[Unreadable, ...]
    alone: tuple[LeftOut, ...]
    campaigns: int


def pool(
    folders: Sequence[Path],
    measure: str | None = None,
    jobs: int = 1,
    step: Callable[[int, int], None] | None = None,
) -> Pool:
    """Pool the answers of campaigns that asked the same question.

    Parameters
    ----------
    folders
        Campaign folders, two at least. The first that answers sets which configuration is the baseline.
    measure
        Only this one; every measure by default.
    jobs
        Processes of joblib; within ``joblib.parallel_config`` another engine does the work.
    step
        Called with campaigns done and campaigns in all.

    Raises
    ------
    CampaignError
        Where fewer than two campaigns can be pooled on any measure; it says why for each.
    """
    read = _each(folders, jobs, step)
    unreadable = tuple(one for one in read if isinstance(one, Unreadable))
    found = [answer for one in read if not isinstance(one, Unreadable) for answer in one]
    pooled, alone = [], []
    for name in dict.fromkeys(one.measure for one in found):
        if measure is not None and name != measure:
            continue
        for same in _by_pair([one for one in found if one.measure == name]):
            kept, left = alike(same)
            if len(kept) >= 2:
                pooled.append(_pooled(kept, left))
            else:
                alone += [*left, *(LeftOut(one.name, name, _nobody_else(one)) for one in kept)]
    if not pooled:
        reasons = _reasons(unreadable, alone)
        raise cannot("pool", say.POOL_NOTHING_TO_POOL(campaigns=len(read), reasons=reasons))
    pooled.sort(key=lambda one: not one.primary)
    return Pool(tuple(pooled), unreadable, tuple(alone), len(read))


def _each(folders: Sequence[Path], jobs: int, step: Callable[[int, int], None] | None) -> list:
    from joblib import Parallel, delayed

    if jobs == 1 and len(folders) < 8:
        read = []
        for done, folder in enumerate(folders, 1):
            read.append(answers(folder))
            if step is not None:
                step(done, len(folders))
        return read
    # By bundles: one campaign alone takes less time than its way to another process.
    size = max(1, min(32, math.ceil(len(folders) / 64)))
    bundles = [list(folders[start : start + size]) for start in range(0, len(folders), size)]
    read = []
    for some in Parallel(n_jobs=jobs, return_as="generator")(delayed(_bundle)(one) for one in bundles):
        read += some
        if step is not None:
            step(len(read), len(folders))
    return read


def _bundle(folders: list[Path]) -> list:
    return [answers(folder) for folder in folders]


def _by_pair(found: list[CampaignAnswer]) -> list[list[CampaignAnswer]]:
    """Answers of one measure by the two configurations that they compare, whichever of the two is the baseline."""
    groups: dict[frozenset[str], list[CampaignAnswer]] = {}
    for one in found:
        groups.setdefault(frozenset((same_name(one.baseline), same_name(one.other))), []).append(one)
    return list(groups.values())


def _nobody_else(one: CampaignAnswer) -> str:
    return (
        f"No other campaign compares {one.baseline} with {one.other} on it: give the same thing the same name in every "
        "campaign."
    )


def _reasons(unreadable: Sequence[Unreadable], alone: Sequence[LeftOut]) -> str:
    told = [f"{one.folder}: {one.why}" for one in unreadable] + [f"{one.campaign}: {one.why}" for one in alone]
    return " ".join(dict.fromkeys(told[:4]))


def _pooled(kept: list[CampaignAnswer], left: list[LeftOut]) -> PooledAnswer:
    first = kept[0]
    numbers = findings(kept)
    found = together(numbers)
    show = _shown(first)
    # The strictest margin of all: who asked for less is answered as well.
    sizes = [verdict.margins(one.smallest, one.smallest_is_fraction, one.ratio, one.level) for one in kept]
    lower, upper = max(low for low, _ in sizes), min(high for _, high in sizes)
    differ = any(not math.isclose(high, upper, rel_tol=1e-6) for _, high in sizes)

    def judged(of: Together) -> str:
        code = int(verdict.judge(of.interval(0.95), of.equivalence_interval(0.90), lower, upper, first.better))
        return verdict.words(code, first.baseline, first.other)

    without = []
    for place, one in enumerate(kept if len(kept) > 2 else ()):
        rest = together(numbers.without(place))
        without.append(Without(one.name, show(rest.difference), _ends(show, rest.interval()), judged(rest)))
    return PooledAnswer(
        measure=first.measure,
        title=first.title,
        unit="%" if first.ratio else first.unit,
        better=first.better,
        primary=first.primary,
        baseline=first.baseline,
        other=first.other,
        campaigns=tuple(kept),
        left_out=tuple(left),
        pooled=found,
        each=tuple((show(one.difference), *_ends(show, one.interval_95)) for one in kept),
        difference=show(found.difference),
        interval_95=_ends(show, found.interval()),
        interval_90=_ends(show, found.equivalence_interval()),
        expected_95=_ends(show, found.expected()),
        between=show(found.between),
        smallest_that_matters=show(upper),
        margins_differ=differ,
        verdict=judged(found),
        without=tuple(without),
    )


def findings(kept: Sequence[CampaignAnswer]) -> Findings:
    """The answers as arrays; an error that two or more campaigns share by name counts as common to them."""
    names = [name for one in kept for name in one.common]
    shared = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    return Findings(
        difference=np.array([one.difference for one in kept]),
        standard_uncertainty=np.array([one.standard_uncertainty for one in kept]),
        limit=np.array([one.limit for one in kept]),
        common=np.array([[one.common.get(name, 0.0) for one in kept] for name in shared]).reshape(-1, len(kept)),
    )


def _ends(show: Callable[[npt.ArrayLike], float], ends: tuple[npt.ArrayLike, npt.ArrayLike]) -> tuple[float, float]:
    return show(ends[0]), show(ends[1])


def _shown(first: CampaignAnswer) -> Callable[[npt.ArrayLike], float]:
    """From the scale of the comparison to per cent of the baseline, or to the first campaign's unit."""
    if first.ratio:
        return lambda on_scale: 100.0 * math.expm1(float(np.asarray(on_scale)))

    def in_unit(on_scale: npt.ArrayLike) -> float:
        zero = units.from_si(0.0, first.unit, first.dimension)
        return float(units.from_si(float(np.asarray(on_scale)), first.unit, first.dimension) - zero)

    return in_unit
