"""In which order was it flown, and what is one independent look at a configuration?

When changing configuration means fitting a part anew, ten runs on one installation are one look: the unit of
replication is the installation. When the change is free, it is the run. Everything here depends on the order alone,
never on the results.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from samesky.inference.linear import indicators, rank

if TYPE_CHECKING:
    from samesky.arrays import Counts, Floats

    #: Numbers of one kind, whichever: what goes in comes out.
    Values = TypeVar("Values", Floats, Counts)

#: Above this squared correlation between configuration and time, straight drift and configuration are not told
#: apart (chosen: there, removing the drift makes the variance of the difference ten times as large, 1/(1 - r^2)).
INSEPARABLE = 0.9


@dataclass(frozen=True, eq=False)
class FlownOrder:
    """The included runs of two configurations, in flown order.

    Attributes
    ----------
    configuration : (n,) int, 0 the baseline, 1 the other; from 2 on further ones, which share day, drift and scatter
    installation : (n,) int, a new number each time a configuration is fitted
    day : (n,) int
    hours : (n,) clock time in hours; only differences within a day are used
    fitted_anew : whether changing configuration means fitting a part anew

    Raises
    ------
    ValueError : arrays of different lengths, a negative configuration, an installation that changes
        configuration, or a time that is not a number
    """

    configuration: Counts
    installation: Counts
    day: Counts
    hours: Floats
    fitted_anew: bool

    def __post_init__(self) -> None:
        for name, kind in (("configuration", int), ("installation", int), ("day", int), ("hours", float)):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=kind))
        sizes = {getattr(self, name).shape for name in ("configuration", "installation", "day", "hours")}
        if len(sizes) > 1 or self.configuration.ndim != 1:
            raise ValueError("configuration, installation, day and hours need one value a run each")
        if np.any(self.configuration < 0):
            raise ValueError("configuration must be 0 (baseline), 1 (other) or above (further ones) for every run")
        if not np.isfinite(self.hours).all():
            raise ValueError("every run needs a clock time")
        for fitted in np.unique(self.installation) if self.fitted_anew else ():
            if np.unique(self.configuration[self.installation == fitted]).size > 1:
                raise ValueError(f"installation {fitted} carries two configurations")

    @property
    def runs(self) -> int:
        """Number of runs."""
        return self.configuration.size

    @cached_property
    def sequence(self) -> Counts:
        """Indices (n,) of the runs by day and clock; runs at the same time stay as written."""
        return np.lexsort((np.arange(self.runs), self.hours, self.day))

    @cached_property
    def time(self) -> Floats:
        """Hours (n,) from the mean time of the run's own day."""
        each_day = indicators(self.day)
        return self.hours - each_day @ (each_day.T @ self.hours / each_day.sum(axis=0))

    @cached_property
    def since_morning(self) -> Floats:
        """Hours (n,) from the first run of the run's own day."""
        first = {day: self.hours[self.day == day].min() for day in np.unique(self.day)}
        return self.hours - np.array([first[day] for day in self.day])

    def _numbered(self, *keys: Counts) -> Counts:
        """Numbers (n,) that step up, in flown order, whenever one of the keys changes."""
        stacked = np.stack(keys)[:, self.sequence]
        steps = np.concatenate([[0], np.cumsum((np.diff(stacked, axis=1) != 0).any(axis=0))])
        numbers = np.empty(self.runs, dtype=int)
        numbers[self.sequence] = steps
        return numbers

    @cached_property
    def stretch(self) -> Counts:
        """Number (n,) of the unbroken stretch of one configuration on one day that the run belongs to."""
        return self._numbered(self.configuration, self.day)

    @cached_property
    def block(self) -> Counts:
        """Number (n,) of the block: a stretch, broken also by a new installation where parts are fitted anew."""
        return self._numbered(self.configuration, self.day, self.installation) if self.fitted_anew else self.stretch

    @cached_property
    def unit(self) -> Counts:
        """Number (n,) of the unit of replication: the run, or one installation on one day."""
        return self.block if self.fitted_anew else self._numbered(np.arange(self.runs))

    @property
    def unit_name(self) -> str:
        """``"installation"`` or ``"run"``."""
        return "installation" if self.fitted_anew else "run"

    def averages(self, labels: Counts) -> Floats:
        """Rows (k, n) that take the mean over the runs of each label.

        Parameters
        ----------
        labels : labels, (n,)

        Returns
        -------
        ndarray
            (k, n) [1].
        """
        members = indicators(labels).T
        return members / members.sum(axis=1, keepdims=True)

    def first_of(self, labels: Counts, values: Values) -> Values:
        """The value (k,) shared by the runs of each label.

        Parameters
        ----------
        labels : labels, (n,)
        values : values of the runs, (n,)
        """
        return np.array([values[np.flatnonzero(labels == label)[0]] for label in np.unique(labels)])

    @cached_property
    def fittings(self) -> tuple[int, int]:
        """Number of installations (or, where the change is free, of stretches) of the baseline and of the other."""
        labels = self.installation if self.fitted_anew else self.stretch
        baseline, other = (int(np.unique(labels[self.configuration == key]).size) for key in (0, 1))
        return baseline, other

    @cached_property
    def days_with_both(self) -> Floats:
        """The days on which both configurations were flown."""
        return np.array(
            [d for d in np.unique(self.day) if np.isin((0, 1), self.configuration[self.day == d]).all()], dtype=int
        )

    @property
    def further(self) -> int:
        """Number of further configurations, beyond the two compared."""
        return int(np.unique(self.configuration[self.configuration > 1]).size)

    def indicators_of(self, labels: Counts) -> Floats:
        """Columns (k, 1 + further) at the level of the labels: the other configuration, then each further one.

        Parameters
        ----------
        labels : labels, (n,)

        Returns
        -------
        ndarray
            (k, 1 + further) [1].
        """
        own = self.first_of(labels, self.configuration)
        keys = [1, *np.unique(self.configuration[self.configuration > 1])]
        return (own[:, None] == np.array(keys)[None, :]).astype(float)

    @cached_property
    def day_confounded(self) -> bool:
        """Whether no comparison survives once every day has a level of its own."""
        return not self.days_with_both.size

    @cached_property
    def days_without_return(self) -> Floats:
        """The days with both configurations that do not go back: their own drift cannot be told from a difference."""
        return np.array([d for d in self.days_with_both if not separable(self, self.day == d)], dtype=int)

    @cached_property
    def has_return(self) -> bool:
        """Whether a day goes back to its first configuration, so that its own steady drift can be taken out.

        Drift has a slope of its own each day: a swap that is turned round on the next day does not cancel it.
        """
        return self.days_without_return.size < self.days_with_both.size

    @cached_property
    def sloped_days(self) -> Floats:
        """The days whose own slope is taken out: those that go back, and those that hold one configuration only."""
        return np.setdiff1d(np.unique(self.day), self.days_without_return) if self.has_return else np.array([], int)

    def mean_model(self, labels: Counts, sloped: Iterable[int] = ()) -> Floats:
        """Columns (k, p) at the level of the labels: configuration, the level of each day, slopes of ``sloped`` days.

        The configuration is column 0, the slopes come last. Without days that hold both, one level for all. A day
        whose labels all have one time has no slope.

        Parameters
        ----------
        labels : labels, (n,)
        sloped : days with a slope of their own

        Returns
        -------
        ndarray
            (k, p) [1], slopes in [h].
        """
        configuration = self.indicators_of(labels)
        days = self.first_of(labels, self.day)
        level = np.ones((days.size, 1)) if self.day_confounded else indicators(days)
        time = self.averages(labels) @ self.time
        slopes = [np.where(days == day, time - time[days == day].mean(), 0.0)[:, None] for day in sloped]
        return np.hstack([configuration, level, *(slope for slope in slopes if np.abs(slope).max() > 1e-9)])

    @cached_property
    def pairs(self) -> Counts | None:
        """Units of replication as neighbouring pairs (k, 2) within a day, one of each configuration, or None.

        None unless every unit finds its neighbour: with a unit left over, regression uses all of them.
        """
        units = np.unique(self.unit)
        configuration, day = self.first_of(self.unit, self.configuration), self.first_of(self.unit, self.day)
        if units.size < 2 or units.size % 2 or self.further:
            return None
        pairs = units.reshape(-1, 2)
        alike = configuration[pairs[:, 0]] == configuration[pairs[:, 1]]
        apart = day[pairs[:, 0]] != day[pairs[:, 1]]
        return None if (alike | apart).any() else pairs


def separable(order: FlownOrder, chosen: Floats) -> bool:
    """Whether, among the chosen runs (n,) bool, straight drift and configuration can be told apart by stretches.

    Judged on the means of unbroken stretches, so that a trend inside one stretch is never stretched over another.

    Parameters
    ----------
    order : the order in which the runs were flown
    chosen : the runs looked at, bool (n,)
    """
    labels = np.where(chosen, order.stretch, -1)
    keep = np.unique(order.stretch[chosen])
    rows = np.isin(np.unique(labels), keep)
    days = order.first_of(labels, order.day)[rows]
    columns = order.indicators_of(labels)[rows]
    configuration, others = columns[:, 0], columns[:, 1:]
    time = (order.averages(labels) @ order.time)[rows]
    level = np.hstack([indicators(days), others[:, others.any(axis=0)]])
    if rank(np.column_stack([level, configuration])) == rank(level):
        return False
    hat = level @ np.linalg.pinv(level)
    configuration, time = configuration - hat @ configuration, time - hat @ time
    spread = (configuration @ configuration) * (time @ time)
    if len(days) < rank(level) + 2 or spread <= 1e-18:
        return False
    return bool((configuration @ time) ** 2 < INSEPARABLE * spread)
