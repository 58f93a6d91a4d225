"""How was it worked out, in words and formulas that a pilot can follow and an engineer can check?

The words about a measure's law come from the measure itself (its coefficients, limits and assumptions); here are the
words for what all measures share.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Comparison
from samesky.instruments.sources import RESULT
from samesky.published import registry
from samesky.reduction.reduction import DRIFTS, Reduction
from samesky.report import phrases
from samesky.report.sections import PageTable, TableCell

#: What corrections of these names do. A name that is not here is explained by the measure's own coefficients.
CORRECTIONS = {
    "wind": "to the headwind of the common sky: a roll shrinks with (1 − W/V)ⁿ, W the headwind, V the true airspeed at "
    "its fast end; a static pull loses a share with the advance ratio J = W/(n D), and the wind's push on the "
    "airframe.",
    "slope": "to the slope of the common sky, by an energy balance: the height gained or lost over the roll.",
    "weight": "to the weight of the common sky, by a power of the weight ratio.",
    "density": "to the air of the common sky: density, from pressure, temperature and dew point, by a power of its "
    "ratio; at full throttle also the engine's power, by the pressure of the dry air and by temperature.",
    "lift-off airspeed": "to one lift-off airspeed: the roll goes with a power of about two of the speed reached.",
    "touch-down airspeed": "to one touch-down airspeed: the roll goes with a power of about two of the speed lost.",
    "tapeline height": "from pressure altitude to true height: a layer is thicker in warm air by T/Tₛ, T the "
    "temperature of the day, Tₛ that of the standard atmosphere.",
    "energy": "for speed gained or lost on the way, as height: V²/2g.",
    "true airspeed": "from what was read to true airspeed in the air of the run.",
    "airspeed": "to one airspeed.",
}

_RATIO = (
    "Values are compared by ratio (differences of natural logarithms), because they scatter in per cent; the "
    "difference is then given in the pilot's unit at the baseline's level."
)
_PLAIN = "Values are compared by difference, in their own unit."

#: By design: how the difference is formed.
_DESIGNS = {
    "blocks with a return": "A level and a straight line in clock time for each day, and a step for the configuration, "
    "are fitted together; the return to the first configuration is what tells drift from configuration. The step is "
    "the difference.",
    "single swap": "The runs change from one configuration to the other once. The difference of the two block means is "
    "all there is, and a drift between them cannot be seen: the difference is held against the worst drift that is "
    "believable of this measure, and against the trend within the blocks, carried on, where that is beyond chance.",
    "days": "Each day that holds both configurations gives one drift-free difference; the interval is Student's t over "
    "the days, because the true difference may change from day to day.",
}
_IRREGULAR = (
    "A step for the configuration, and a level and a steady drift in clock time for each day, are fitted together."
)


def of_comparison(comparison: Comparison) -> list[str]:
    """Paragraphs: how this difference and its interval were formed."""
    measure = comparison.scale.asked.measure
    names = {"a": comparison.baseline, "b": comparison.other}
    weighed = (
        "Whatever the design, the difference is one weighted sum of the reduced runs, Σ wᵢ yᵢ; the same weights give "
        "the part that each correction has in it."
    )
    how = _DESIGNS.get(comparison.design_name, _IRREGULAR)
    said = [f"{phrases.capital(comparison.method)}.", how.format(**names)]
    if comparison.replication == "installation":
        said.append(
            "What counts as one sample is the fitting, not the run: however many runs are flown on one fitting, "
            "its rigging is the same in all of them."
        )
    said.append(f"{_RATIO if measure.ratio else _PLAIN} {weighed}")
    if all(part == part for part in comparison.interval_95):
        u = phrases.amount(comparison.standard_uncertainty, comparison.unit, phrases.places(comparison) + 1)
        degrees = comparison.degrees_of_freedom
        many = f"{degrees:.3g} effective degrees of freedom" if degrees < 1000 else "degrees of freedom without number"
        interval = "interval = difference ± t · u."
        if float(comparison.estimate.worst_drift) > 0:
            interval = (
                "the drift that this order cannot show is no part of it. With d the most that such a drift may do, the "
                "interval is difference ± k · u, k so that |T + d/u| stays below it in 95 of 100 (T Student's t): it "
                "covers under every drift up to the limit (Armstrong and Kolesár 2018). The margins are held by d + t "
                "· u on each side."
            )
        said.append(f"Standard uncertainty of the difference {u}, {many} (JCGM 100:2008, G.4); {interval}")
    return said


def airspeed_system(campaign: Campaign) -> list[str]:
    """Paragraphs: how indicated airspeeds became calibrated; none where they were taken as calibrated."""
    system = campaign.airspeed_system
    if system is None:
        return []
    fit = system.fit
    law = "One correction" if fit.model == "constant" else "A correction that is a straight line in the reading"
    rests = (
        "the uncertainties stated for legs and readings"
        if fit.degrees_of_freedom == float("inf")
        else f"the scatter of the runs about it, {fit.scatter:.1f} times what was stated for them"
    )
    return [
        system.sentence(),
        "On each run true airspeed and wind were found together from the ground speeds and tracks of its legs, and "
        f"true airspeed was made calibrated in the air of the run. {law} was then added to every indicated airspeed, "
        f"before anything else. Its uncertainty rests on {rests}; it is one and the same error in the whole campaign, "
        "cancels in a difference at one airspeed, and stays in a difference between two. It was found in level flight: "
        "another flap setting, a stall nearby or the ground below may change it.",
    ]


def corrections(reduction: Reduction) -> list[tuple[str, str]]:
    """Each correction of the measure: what it does, or why it was not made."""
    rows, explained = [], {**CORRECTIONS, **reduction.table.measure.explained}
    for name in reduction.table.measure.corrections:
        if name in reduction.left_out:
            rows.append((name, f"not made: {reduction.left_out[name]}."))
        else:
            valid = [limit.says for limit in reduction.table.measure.limits if limit.correction == name]
            text = explained.get(name, "by the law of the coefficients below.")
            rows.append((name, " ".join([text, *[f"It {says}." for says in valid]])))
    return rows


def coefficients(reduction: Reduction) -> PageTable:
    """The numbers that the corrections lean on, with what is known of them."""
    rows = [
        [TableCell(f"{one.name}: {one.meaning}", one.source), _uncertain(one.value, one.standard_uncertainty)]
        for one in reduction.table.measure.coefficients
    ]
    return PageTable(["coefficient, and where it comes from", "value ± u"], rows)


def _uncertain(value: float, uncertainty: float) -> str:
    return phrases.significant(value) + (f" ± {uncertainty:.2g}" if uncertainty else "")


def error_sources(reductions: Iterable[Reduction]) -> PageTable:
    """Every error source that acts on any of the measures, once, and where its size comes from."""
    rows = {}
    for reduction in reductions:
        coefficients = {one.name for one in reduction.table.measure.coefficients}
        for source, _ in reduction.contributions:
            if source.target not in coefficients:
                scope = source.scope if source.scope in DRIFTS else f"one each {source.scope}"
                target = source.target if source.target != RESULT else "the result"
                rows.setdefault((source.name, scope, source.source), {})[target] = None
    return PageTable(
        ["source of error", "its size comes from"],
        [
            [TableCell(name, f"acts on {phrases.listed(targets)}; {scope}"), origin]
            for (name, scope, origin), targets in rows.items()
        ],
        words=frozenset({0, 1}),
    )


STANDING = (
    "JCGM 100:2008, Guide to the expression of uncertainty in measurement: Type A and Type B evaluation, "
    "Welch-Satterthwaite degrees of freedom (annex G).",
    "T. B. Armstrong, M. Kolesár, Econometrica 86 (2018) 655-683: an interval under a bias of limited size.",
    "D. J. Schuirmann, Journal of Pharmacokinetics and Biopharmaceutics 15 (1987) 657-680: two one-sided tests, the "
    "90 % interval inside the margins.",
    "S. Holm, Scandinavian Journal of Statistics 6 (1979) 65-70: several measures that do not decide.",
    "B. L. Welch, Biometrika 34 (1947) 28-35: the unpaired comparison shown as the plain average.",
    "ICAO Doc 7488 (1993) and U.S. Standard Atmosphere, 1976: the standard atmosphere.",
    "A. Picard, R. S. Davis, M. Gläser, K. Fujii, Metrologia 45 (2008) 149-155 (CIPM-2007): density of moist air.",
)
_ROW = re.compile(r"\b(?:[A-Z]\d?-\d{2,3}|[A-Z]{1,2}\d{2})\b")


def cited_rows(texts: Iterable[str]) -> PageTable | None:
    """The printed values named by their row in any of the texts, with the document each stands in."""
    named = dict.fromkeys(name for text in texts for name in _ROW.findall(text))
    rows = []
    for name in sorted(named):
        try:
            printed = registry.row(name)
        except KeyError:
            continue
        rows.append([name, TableCell(printed.quantity, f"{printed.source} ({printed.verified})")])
    return (
        PageTable(["row", "quantity, and the document that prints it"], rows, words=frozenset({0, 1})) if rows else None
    )
