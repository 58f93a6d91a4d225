"""Every sentence that depends on the order or the results is true of them, and is said wherever it is true.

Orders are drawn at random; what each sentence claims is worked out here from the bare runs (who was flown when, with
which fitting, on which day), and held against whether it was said: both ways.
"""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest
from flown import order
from flown_campaigns import ROLL_AS_IT_IS, campaign, climbs, stated, table
from scipy import stats

from samesky.inference.comparison import compare
from samesky.inference.design import recognise

PLAIN = "Drift and configuration cannot be told apart: no day goes back"


def drawn(count=400):
    """Orders of one to four days, of one to five blocks each, parts fitted anew or not."""
    rng = np.random.default_rng(20)
    found = []
    while len(found) < count:
        days = ["".join(rng.choice(list("AB"), rng.integers(1, 6))) for _ in range(rng.integers(1, 5))]
        if {"A", "B"} <= set("".join(days)):
            found.append(("|".join(days), bool(rng.integers(2)), int(rng.integers(1, 4))))
    return found


ORDERS = drawn()


def runs_of(letters):
    """For each day its configurations in turn, a run of the same one counted once."""
    days = [[day[0], *(now for before, now in pairwise(day) if now != before)] for day in letters.split("|")]
    return days


def said(letters, fitted_anew, each):
    return recognise(order(letters, fitted_anew, each=each))


@pytest.mark.parametrize("fitted_anew", [True, False])
def test_no_day_holds_both(fitted_anew):
    for letters, own, each in ORDERS:
        if own is not fitted_anew:
            continue
        days = runs_of(letters)
        none = len(days) > 1 and not any(len(day) > 1 for day in days)
        told = [text for text in said(letters, fitted_anew, each).warnings if "No day holds both" in text]
        assert bool(told) is none, letters


def test_drift_and_configuration():
    for letters, fitted_anew, each in ORDERS:
        days = [day for day in runs_of(letters) if len(day) > 1]
        design = said(letters, fitted_anew, each)
        returns = [len(day) > 2 for day in days]
        told = " ".join(design.warnings)
        over = design.name == "days"
        assert (PLAIN in told) is (bool(days) and not over and not any(returns)), letters
        partly = bool(days) and not over and any(returns) and not all(returns)
        number = re.search(r"On (one day|\d+ days) drift and configuration", told)
        assert bool(number) is partly, letters
        if partly:
            count = returns.count(False)
            assert number[1] == ("one day" if count == 1 else f"{count} days")
        if "comes back daily" in told:
            assert over
            assert not all(returns)
            assert len({day[0] for day in days if len(day) == 2} | {None}) <= 2


def test_how_often_each_side_was_fitted():
    """By counting letters: where parts are fitted anew each of them is a fitting of its own."""
    for letters, fitted_anew, each in ORDERS:
        design = said(letters, fitted_anew, each)
        told = [text for text in design.warnings if "fitted only" in text]
        counts = {key: letters.count(key) for key in "AB"}
        few = min(counts.values())
        leans = design.estimator == "joined" and design.spare_blocks < 3
        assert bool(told) is (fitted_anew and (leans or (few == 1 and design.estimator != "none"))), (
            letters,
            design.estimator,
            told,
        )
        if not told:
            continue
        (text,) = told
        assert text.startswith("Both sides were" if counts["A"] == counts["B"] else "One side was"), (letters, text)
        often = {1: "once", 2: "twice"}.get(few, f"{few} times")
        assert f"fitted only {often}:" in text
        assert ("is entered" in text) is leans


def test_a_fitting_flown_on_several_days_is_counted():
    for count in (0, 1, 2):
        days = ["AB", "BA", "AB"]
        flown = order("|".join(days), True, each=2)
        installation = flown.installation.copy()
        for k in range(count):
            # The fitting that a day ended with is flown again on the next.
            last = installation[flown.day == k][-1]
            first = installation[(flown.day == k + 1)][0]
            installation[installation == first] = last
        again = type(flown)(flown.configuration, installation, flown.day, flown.hours, True)
        several = sum(np.unique(again.day[again.installation == one]).size > 1 for one in np.unique(installation))
        told = [text for text in recognise(again).warnings if "more than one day" in text]
        assert several == count
        assert len(told) == (count > 0)
        if told:
            assert told[0].startswith("One fitting was" if count == 1 else f"{count} fittings were")


def test_runs_that_have_no_part():
    for letters, fitted_anew, each in ORDERS:
        design = said(letters, fitted_anew, each)
        told = next((text for text in design.warnings if "no part in the difference" in text), "")
        if told:
            idle = ~np.isin(design.order.day, design.order.days_with_both)
            assert int(told.split()[0]) == idle.sum()
            assert np.allclose(design.weights[idle], 0.0, atol=1e-9), letters


def test_every_pair_in_the_same_order():
    for letters, fitted_anew, each in ORDERS:
        design = said(letters, fitted_anew, each)
        flown = design.order
        told = any("Every pair was flown in the same order" in text for text in design.warnings)
        if flown.pairs is None or len(flown.pairs) < 2 or not flown.has_return:
            assert not told, letters
            continue
        second = {int(flown.configuration[flown.unit == unit][0]) for unit in flown.pairs[:, 1]}
        assert told is (len(second) == 1), letters


def test_what_the_assumption_names_is_there():
    """Fittings only where parts are fitted anew; days only where there are several."""
    for letters, fitted_anew, each in ORDERS:
        design = said(letters, fitted_anew, each)
        text = design.assumption
        if design.estimator == "none" or "change of level from day to day" in text:
            continue
        assert ("fitting" in text) is (fitted_anew and design.name != "days")
        assert ("the difference is the same on every day" in text) is ("|" in letters and design.name != "days")
        if design.name != "days":
            assert ("drift is steady" in text.lower()) is bool(design.order.has_return), (letters, text)


# --- results ------------------------------------------------------------------------------------------------------


def rolls(letters="ABABAB", each=3, seed=1, sd=0.01, sources=None, clock=True, left_out=()):
    rng = np.random.default_rng(seed)
    n = len(letters.replace("|", "")) * each
    values = 120.0 * np.exp(sd * rng.standard_normal(n))
    own = table(ROLL_AS_IT_IS, letters, values, each=each, clock=clock, left_out=left_out)
    return campaign(own, sources=stated("roll_paced_out") if sources is None else sources)


def only(found):
    (one,) = compare(found)
    return one


def test_no_interval_is_said_where_there_is_none_and_nowhere_else():
    for letters, each in (("AB", 1), ("AB", 3), ("ABAB", 3), ("AB|BA", 2), ("ABAB", 1), ("A|B", 3), ("ABA|BAB", 2)):
        for sources in (stated("roll_paced_out"), ()):
            one = only(rolls(letters, each, sources=sources))
            exists = bool(np.all(np.isfinite(one.interval_95)))
            # An end that is no bound is an interval still.
            exists = exists or np.isinf(one.interval_95[1])
            assert ("No interval" in one.assumption) is not exists, (letters, each, one.assumption)
            if not exists:
                assert one.verdict == "not enough data"


def test_runs_without_a_clock():
    whole = only(rolls("ABAB|BABA", 2))
    assert not any("carry no clock" in text for text in whole.warnings)
    for days in ((0,), (0, 1)):
        found = rolls("ABAB|BABA", 2)
        runs = found.tables["roll_paced_out"]
        for day in days:
            runs.hours[np.flatnonzero(runs.day == day)[1]] = np.nan
        (told,) = [text for text in only(found).warnings if "carry no clock" in text]
        assert ("that day's" in told) is (len(days) == 1)
        assert ("those 2 days'" in told) is (len(days) == 2)


@pytest.mark.parametrize("warmer", [0.0, 6.0])
def test_conditions_that_differed_more_than_the_configurations(warmer):
    """Climbs of which B's were flown warmer: what the conditions make, and what most of it is, by contributions."""
    rng = np.random.default_rng(4)
    letters = "ABABAB"
    # Warm air lets the altimeter read less than was climbed, and the engine pull less.
    seconds = 62.0 * np.exp(0.004 * rng.standard_normal(18))
    found = climbs(letters, seconds, True, each=3)
    columns = found.tables["timed_climb"].columns
    columns["oat"] = 288.0 + warmer * np.repeat([key == "B" for key in letters], 3)
    one = only(found)
    changed = one.difference - one.raw_difference
    told = [text for text in one.warnings if "Conditions mattered more than the change" in text]
    assert bool(told) is (abs(changed) > abs(one.difference))
    for text in told:
        name = re.search(r"(?:mostly|most of all) ([a-z ]+)\.$", text)[1]
        part = next(part.difference for part in one.contributions if part.name == name)
        assert part * changed > 0
        assert ("mostly" in text) is (abs(part) > 0.5 * abs(changed))


@pytest.mark.parametrize(("letters", "back"), [("AB", "Go back to A after B"), ("BA", "Go back to B after A")])
def test_the_way_back_is_that_of_the_day(letters, back):
    assert only(rolls(letters, 4, sd=0.05)).settle.startswith(back)


def test_a_return_alone_is_advised_only_where_it_would_settle_something():
    """Student's t of the difference without its drift, worked out here: where it is open, more flying is asked for."""
    seen = set()
    for letters, each in (("AB", 4), ("ABA|BAB|AB", 2), ("AB|AB|AB", 3)):
        for seed, sd in ((1, 0.004), (2, 0.004), (3, 0.02), (4, 0.06), (5, 0.06)):
            one = only(rolls(letters, each, seed=seed, sd=sd, sources=stated("roll_paced_out", straight=0.03)))
            if one.verdict != "not enough data" or not one.estimate.worst_drift > 0:
                continue
            t = stats.t(float(one.estimate.degrees_of_freedom))
            d, u = float(one.estimate.difference), float(one.estimate.standard_uncertainty)
            clear = abs(d) > t.ppf(0.975) * u
            share = one.smallest_that_matters / one.levels["A"]
            inner = t.ppf(0.95) * u
            alike = np.log1p(-share) < d - inner and d + inner < np.log1p(share)
            settled = bool(clear or alike)
            assert ("Even without drift these runs leave the answer open" in one.settle) is not settled
            seen.add(settled)
    assert seen == {True, False}


@pytest.mark.parametrize(("letters", "each"), [("AB", 4), ("ABAB", 3), ("ABAB|BABA", 2), ("AB|BA|AB|BA", 2)])
def test_the_sizes_of_the_budget_by_propagation(letters, each):
    """Each source of the budget as large as its draws make the difference scatter, added ones add up to the interval.

    The draws are made here, source by source, for the runs of its scope; weights are those of the comparison.
    """
    found = rolls(letters, each)
    one = only(found)
    flown, weights = one.design.order, one.weights
    rng = np.random.default_rng(11)
    draws = 20_000
    groups = {"installation": flown.installation, "day": flown.day}
    for source in found.sources:
        row = next(row for row in one.budget if row.source == source.name)
        size = source.standard_uncertainty
        if source.scope in groups:
            labels = np.unique(groups[source.scope], return_inverse=True)[1]
            error = size * rng.standard_normal((draws, labels.max() + 1))[:, labels]
        elif source.scope == "straight drift":
            # Each day has a slope of its own.
            labels = np.unique(flown.day, return_inverse=True)[1]
            error = size * rng.standard_normal((draws, labels.max() + 1))[:, labels] * flown.time
        else:
            error = np.zeros((draws, flown.runs))
            for day in np.unique(flown.day):
                own = np.flatnonzero(flown.day == day)
                gaps = np.diff(flown.since_morning[own], prepend=0.0)
                error[:, own] = size * np.cumsum(rng.standard_normal((draws, own.size)) * np.sqrt(gaps), axis=1)
        effect = (error @ weights).std() * one.levels["A"]
        assert row.whole == pytest.approx(effect, rel=0.03, abs=1e-3 * one.levels["A"] * size), (source.name, letters)
        assert row.added <= row.whole * (1 + 1e-9)
    added = np.sqrt(sum(row.added**2 for row in one.budget if "limit either way" not in row.note))
    assert added == pytest.approx(one.standard_uncertainty, rel=1e-6)
    assert sum(row.share for row in one.budget) == pytest.approx(1.0, abs=1e-9) or any(
        "limit either way" in row.note for row in one.budget
    )


MORE = re.compile(
    r"More of the same(?: is not the way)?: to find a real difference of 5\s?% 80 times in 100 takes (.+?); to show "
    r"that none matters, if the two are equal, takes (.+?)\."
)


def ends(words):
    """Lowest and highest number of a range in words; None where it is open."""
    numbers = [int(text) for text in re.findall(r"\d+", words)]
    if words.startswith("as much"):
        return 1, 1
    if words.startswith("more than a thousand"):
        return None, None
    return numbers[0], None if words.endswith("far more") else numbers[-1]


def test_so_many_times_this_flying_is_what_settles_it():
    """Both ranges in the sentence, by scipy: the limits of a normal scatter by chi-squared, and at each of them the
    least flying that settles it 80 times in 100, by the noncentral t and by drawing (two one-sided tests at 5 %)."""
    rng = np.random.default_rng(8)
    z, bigger = rng.standard_normal(200_000), []
    for seed in range(12):
        one = only(rolls("ABAB|BABA", 1, seed=seed, sd=0.03))
        found = MORE.match(one.settle)
        assert bool(found) is (one.verdict == "not enough data"), one.settle
        if not found:
            continue
        df = float(one.estimate.degrees_of_freedom)
        lower, upper = np.log1p(-0.05), np.log1p(0.05)
        tails = stats.chi2.ppf([0.9, 0.1], df)
        for words, answer in zip(found.groups(), ("found", "none"), strict=True):
            for said_end, tail in zip(ends(words), tails, strict=True):
                scatter = float(one.estimate.standard_uncertainty) * np.sqrt(df / tail)

                def settled(times, answer=answer, scatter=scatter, df=df, lower=lower, upper=upper):
                    error, freedom = scatter / np.sqrt(times), df * times + 2.0 * (times - 1.0)
                    if answer == "found":
                        t, shift = stats.t.ppf(0.975, freedom), -lower / error
                        return stats.nct.sf(t, freedom, shift) + stats.nct.cdf(-t, freedom, shift)
                    seen = error * np.sqrt(np.random.default_rng(9).chisquare(freedom, len(z)) / freedom)
                    half = stats.t.ppf(0.95, freedom) * seen
                    return np.mean((error * z - half > lower) & (error * z + half < upper))

                if said_end is not None and said_end <= 60:
                    assert settled(said_end) > 0.795, (seed, words)
                    assert said_end == 1 or settled(said_end - 1) < 0.805, (seed, words)
                    bigger.append(said_end > 1)
    assert sum(bigger) > 10


def test_what_the_order_shows_of_an_entered_fitting_error():
    """Fitting errors alone are drawn: what is left of the means of the fittings after configuration, level of each day
    and slope of each day that goes back is what the order shows of them."""
    rng, seen = np.random.default_rng(14), set()
    for letters, fitted_anew, each in ORDERS[:160]:
        if (
            not fitted_anew
            or len(set(letters)) < 2
            or ("|" in letters and not any(len(set(d)) > 1 for d in letters.split("|")))
        ):
            continue
        one = only(rolls(letters, max(2, each)))
        if one.design.name == "days" or one.design.estimator == "none":
            continue
        row = next(row for row in one.budget if row.source == "rigging")
        flown = one.design.order
        labels = np.unique(flown.block)
        means = np.array([flown.block == k for k in labels]) / np.array([[np.sum(flown.block == k)] for k in labels])
        days = np.array([flown.day[flown.block == k][0] for k in labels])
        hours, other = means @ flown.hours, means @ (flown.configuration == 1)
        columns = [other, *(1.0 * (days == d) for d in np.unique(days))]
        back = [d for d in np.unique(days) if np.count_nonzero(np.diff(other[days == d])) > 1]
        if back:
            # A day of one configuration tells nothing of the difference; its slope goes with the others'.
            alone = [d for d in np.unique(days) if len(set(other[days == d])) == 1]
            columns += [(days == d) * (hours - hours[days == d].mean()) for d in (*back, *alone)]
        x = np.column_stack(columns)
        left = rng.standard_normal(len(labels))
        left = left - x @ np.linalg.lstsq(x, left, rcond=None)[0]
        shown = bool(np.abs(left).max() > 1e-9)
        if row.note.startswith("added"):
            assert row.note == ("added: this order shows part of it" if shown else "added: this order does not show it")
            seen.add(shown)
        told = re.search(r"and these runs show part of it: ([^.]*?)rigging", one.assumption.replace("0.", "0,"))
        hidden = re.search(r"because these runs cannot show it: ([^.]*?)rigging", one.assumption.replace("0.", "0,"))
        assert not (told and not shown), (letters, one.assumption)
        assert not (hidden and shown), (letters, one.assumption)
    assert seen == {True, False}
