"""Would more of the same settle it, how much of it, and what does reading the result again cost?

A range in place of a number: the scatter is known from few runs. Twice, because nobody knows which of the two is true:
a difference as large as the smallest that matters, or none at all. And with what a further reading costs: whoever looks
again after more flying has looked twice (:mod:`samesky.inference.looks`).
"""

from __future__ import annotations

from samesky.inference.power import Settling, settling
from samesky.inference.result import Comparison

#: From so many times the flying on, more of the same is not the way (chosen: nobody flies a season for one question).
TOO_MUCH = 4


def times(low: int | None, high: int | None) -> str:
    """A range of multiples in words.

    Parameters
    ----------
    low : smallest multiple, None beyond what is looked at
    high : largest multiple, None beyond what is looked at
    """
    if low is None:
        return "more than a thousand times this flying"
    if high is None:
        return f"{low} times this flying or far more"
    if high == 1:
        return "as much flying again"
    return f"{low} to {high} times this flying" if low < high else f"about {high} times this flying"


def said(
    comparison: Comparison, seen: float, df: float, fixed: float, margins: tuple[float, float], hint: str, advice: bool
) -> str:
    """What more of the same would take, what is cheaper (``hint``, may be empty), and the price of a further reading.

    ``advice``: whether the hint says what to do, and not only where the doubt comes from.

    ``seen`` and ``fixed`` are standard uncertainties on the scale, as :func:`samesky.inference.power.settling` has
    them.

    Parameters
    ----------
    comparison : the comparison
    seen : standard uncertainty that shrinks with more flying
    df : its degrees of freedom
    fixed : standard uncertainty that more of the same does not shrink
    margins : differences that matter, down and up, on the scale of the comparison
    hint : what is cheaper, a sentence; may be empty
    advice : whether the hint says what to do, and not only where the doubt comes from
    """
    lower, upper = margins
    size = -lower if comparison.better == "smaller" else upper
    found = settling(size, seen, df, fixed, lower, upper)
    return " ".join(
        filter(None, (_how_much(comparison, found), _cheaper(found, hint, advice), another_look(comparison)))
    )


def too_much(found: Settling) -> bool:
    """Whether neither answer may be had for a few times the flying.

    Parameters
    ----------
    found : how often the flying would have to be repeated
    """
    lows = [low for low, _ in (found.found, found.none) if low is not None]
    return not lows or min(lows) > TOO_MUCH


def _how_much(comparison: Comparison, found: Settling) -> str:
    if found.found[0] is None and found.none[0] is None:
        return "More of the same flying would not settle it."
    sentence = (
        f"to find a real difference of {comparison.smallest_text} 80 times in 100 takes {times(*found.found)}; to show "
        f"that none matters, if the two are equal, takes {times(*found.none)}."
    )
    return ("More of the same is not the way: " if too_much(found) else "More of the same: ") + sentence


def _cheaper(found: Settling, hint: str, advice: bool) -> str:
    """The hint; as the cheaper way where it says what to do and more of the same is too much."""
    if not advice or not too_much(found):
        return hint
    return f"Cheaper: {hint[0].lower()}{hint[1:]}"


def another_look(comparison: Comparison) -> str:
    """What reading the result again costs, and how it is paid for.

    Two looks at 5 % each claim falsely in 8 of 100 campaigns, the second by Pocock's limit of two in 7 (the recursion
    of :mod:`samesky.inference.looks`, equally spaced).

    Parameters
    ----------
    comparison : the comparison
    """
    now = int(comparison.reduction.table.included.sum())
    price = "Reading the result again after more flying is a second look: false claims rise from 5 to 8 in 100."
    if comparison.look is not None or not comparison.primary:
        return f"{price} Let it be a look that [plan] fixes beforehand (looks, looks_after_runs)."
    return (
        f'{price} Before you fly on, write into [plan] looks = 2, stopping_limits = "pocock" and looks_after_runs = '
        f"[{now}, N], N the runs that you will have by then: the second answer then asks for more, and 7 in 100 remain."
    )
