"""How is a method, and what it rests on, said in a pilot's words?"""

from __future__ import annotations

import numpy as np

from samesky.inference.order import FlownOrder

NOTHING = "difference only: nothing is repeated that could show the scatter"
NOTHING_ASSUMED = "No interval: too few runs to show how far repeats of the same thing scatter."


def _units(order: FlownOrder) -> str:
    return "fittings (means of their runs)" if order.fitted_anew else "runs"


def _days(order: FlownOrder) -> str:
    return "a level and a steady drift for each day" if np.unique(order.day).size > 1 else "level and steady drift"


def regression(order: FlownOrder) -> str:
    """The regression estimator in words.

    Parameters
    ----------
    order : the order in which the runs were flown
    """
    return f"regression on {_units(order)}: configuration, {_days(order)}; t interval"


def over_days(days: int, equal: bool) -> str:
    """The estimator over days in words.

    Parameters
    ----------
    days : days whose own slope is a column
    equal : whether all days weigh alike
    """
    if equal:
        return f"one drift-free difference a day, t interval over {days} days"
    return f"one drift-free difference a day, {days} days of unequal effort (Paule-Mandel weights, Hartung-Knapp t)"


def joined(order: FlownOrder) -> str:
    """The joined estimator in words.

    Parameters
    ----------
    order : the order in which the runs were flown
    """
    stated = "fitting error and random drift" if order.fitted_anew else "random drift"
    removed = "steady drift of each day that goes back removed, " if order.has_return else ""
    return f"generalised least squares, {removed}scatter of the runs joined with the {stated} entered"


def _sentence(*clauses: str) -> str:
    """The clauses that are there, as one sentence."""
    return f"Assumes: {'; '.join(filter(None, clauses))}."


def _one_look(order: FlownOrder) -> str:
    return "each fitting is one sample, however many runs" if order.fitted_anew else ""


def _alike_days(order: FlownOrder) -> str:
    return "the difference is the same on every day" if np.unique(order.day).size > 1 else ""


def regressed(order: FlownOrder) -> str:
    """What the regression interval rests on.

    Parameters
    ----------
    order : the order in which the runs were flown
    """
    straight = "drift is steady within each day, with a slope of its own"
    return _sentence(straight, _one_look(order), "both scatter alike", _alike_days(order))


def by_days(order: FlownOrder, with_time: bool) -> str:
    """What the interval over days rests on.

    Parameters
    ----------
    order : the order in which the runs were flown
    with_time : whether the slope of every day is taken out
    """
    drift = "is steady within each day" if with_time else "does not come back the same way every day"
    return _sentence("each day is one sample", f"drift {drift}", "days scatter alike")


def rests_on_stated(order: FlownOrder, spare: int = 0) -> str:
    """What the joined interval rests on; the sizes are added from the stated sources.

    ``spare`` degrees of freedom between installations tell how far these differ.

    Parameters
    ----------
    order : the order in which the runs were flown
    spare : degrees of freedom between blocks
    """
    if order.day_confounded:
        return "The change of level from day to day is no larger than entered: this order cannot show it."
    drift = (
        "drift between the blocks, which this order cannot show, is no faster than is believed of this measure"
        if not order.has_return
        else "drift is steady within each day apart from the random drift entered"
        if not order.days_without_return.size
        else f"drift is steady on the days that go back, and no faster than is believed of this measure on "
        f"{_numbered(order)} that cannot show it"
    )
    rigging = "each fitting is off by no more than the fitting error entered" if order.fitted_anew else ""
    if order.fitted_anew and spare:
        rigging = "fittings differ as the fittings flown and the fitting error entered say together"
    return _sentence(drift, rigging, "both scatter alike", _alike_days(order))


def _numbered(order: FlownOrder) -> str:
    days = order.days_without_return.size
    return "one day" if days == 1 else f"{days} days"


def warnings(
    order: FlownOrder, over_days: bool = False, rigging_stated: bool = False, plain: bool = False
) -> tuple[str, ...]:
    """What a reader should be told about this order, whatever the results.

    ``over_days``: days are the samples, so that their scatter shows a drift of its own each day, though not one that
    comes back daily. ``rigging_stated``: the interval takes the re-rigging scatter as stated, not as the installations
    show it. ``plain``: the difference is that of the plain means, in which every run has a part, and has no interval.

    Parameters
    ----------
    order : the order in which the runs were flown
    over_days : whether days are the samples
    rigging_stated : whether the interval takes the fitting error as entered
    plain : whether the difference is that of the plain means and has no interval
    """
    same_first = _always_same_first(order)
    said = []
    if order.day_confounded and np.unique(order.day).size > 1:
        said.append("No day holds both configurations: the day and the configuration cannot be told apart.")
    elif over_days and order.days_without_return.size and same_first:
        said.append(
            "Drift that comes back daily and configuration cannot be told apart: every day began with the same "
            "configuration. Go back to the first configuration before the day ends, or begin every second day with the "
            "other one."
        )
    elif not over_days and not order.has_return:
        said.append(
            "Drift and configuration cannot be told apart: no day goes back to its first configuration. "
            "Go back to the first configuration before the day ends."
        )
    elif not over_days and order.days_without_return.size:
        said.append(
            f"On {_numbered(order)} drift and configuration cannot be told apart: there the worst drift believed is "
            "reckoned with. Go back to the first configuration before the day ends."
        )
    said += _fittings(order, rigging_stated, plain)
    idle = np.setdiff1d(np.unique(order.day), order.days_with_both)
    if idle.size and not order.day_confounded and not plain:
        runs = int(np.isin(order.day, idle).sum())
        said.append(f"{runs} run{'s' * (runs > 1)} on a day with one configuration only: no part in the difference.")
    if order.pairs is not None and len(order.pairs) > 1 and order.has_return:
        second = order.first_of(order.unit, order.configuration)[order.pairs[:, 1]]
        if np.unique(second).size == 1:
            said.append("Every pair was flown in the same order: turn every second pair round next time.")
    return tuple(said)


def _fittings(order: FlownOrder, rigging_stated: bool, plain: bool) -> list[str]:
    """What few fittings, and fittings flown on several days, leave open."""
    if not order.fitted_anew:
        return []
    said = []
    fewest, most = min(order.fittings), max(order.fittings)
    sides = "Both sides were" if fewest == most else "One side was"
    if rigging_stated and fewest == 1:
        said.append(f"{sides} fitted only once: how far a new fitting would differ is entered, not measured.")
    elif rigging_stated:
        often = {2: "twice"}.get(fewest, f"{fewest} times")
        said.append(f"{sides} fitted only {often}: how far a new fitting would differ is entered, hardly measured.")
    elif fewest == 1 and not plain:
        said.append(f"{sides} fitted only once: that its fittings differ as the other side's do is assumed.")
    several = sum(
        np.unique(order.day[order.installation == fitted]).size > 1 for fitted in np.unique(order.installation)
    )
    if several == 1:
        said.append("One fitting was flown on more than one day: its fitting error is common to those days.")
    elif several:
        said.append(
            f"{several} fittings were flown on more than one day each: their fitting errors are common to those days."
        )
    return said


def _always_same_first(order: FlownOrder) -> bool:
    firsts = set()
    for day in order.days_with_both:
        chosen = (order.day == day) & (order.configuration < 2)
        trend = np.polyfit(order.time[chosen], order.configuration[chosen], 1)[0] if np.ptp(order.time[chosen]) else 0.0
        firsts.add(bool(trend > 0))
    return len(firsts) == 1
