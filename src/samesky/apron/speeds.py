"""Which airspeed is to be flown now, at this weight?

What keeps runs alike is what the reduction takes for granted. Where an airspeed is read on every run, the weight
correction holds at one *calibrated airspeed* (see the coefficients of :mod:`samesky.measures.timed_climb` and of the
rolls): fly one and the same, whatever the weight. Where the lift-off or touch-down airspeed is not read, the weight
correction takes the aeroplane to fly off at one *lift coefficient*: then V goes with the root of the weight,
V = V_ref sqrt(W/W_ref) (FAA-H-8083-25A, ch. 10, "Takeoff Performance": 5 % more speed for 10 % more weight; R. D.
Kimberlin, Flight Testing of Fixed-Wing Aircraft, AIAA, 2003, ch. 9, V_IW). That speed is told for the others too.

Where the campaign knows its airspeed system, all of that is done with calibrated airspeeds and told as indicated; else
what is indicated is taken as calibrated, as everywhere: an error of the system is common to all runs.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from samesky import units
from samesky.aeroplane.takeoff import lift_off_speed_ratio
from samesky.apron import catalogue as say
from samesky.apron.fields import believable, configured, mass_unit, unit_of, wrong
from samesky.apron.limits import own
from samesky.apron.sky import sky_of
from samesky.campaign.model.campaign import Campaign, MeasureSettings
from samesky.measures.shape import Column
from samesky.planning.plan import Plan

#: What decides: see the module.
ONE_AIRSPEED, ONE_LIFT, RESULT, UNKNOWN = "one airspeed", "one lift coefficient", "a result", "not known"
CAUTION = (
    "The aircraft's papers decide on every airspeed: the margin over the stall at this weight and flap, the limits, "
    "the speeds for climb and approach. A target here only keeps runs alike; where the two differ, fly the papers'."
)


@dataclass(frozen=True, slots=True)
class TargetSpeed:
    """The airspeed to fly in one measure.

    Attributes
    ----------
    measure, title, column : which airspeed of which measure
    rule : ``"one airspeed"``, ``"one lift coefficient"``, ``"a result"`` (it is what is found out) or ``"not known"``
    airspeed : to fly, as indicated [m/s]; ``calibrated`` the same calibrated; None for the last two rules
    reference, reference_weight : the calibrated airspeed [m/s] and weight [kg] it follows from, None where not known
    source : where the reference comes from, in words
    same_lift : at the lift coefficient of the reference, as indicated [m/s]; None where not known
    low, high : within which to hold it, as indicated [m/s]; None where nothing says
    clipped : whether the campaign's own limits replaced what the rule gives
    says : all of that, in the pilot's units
    """

    measure: str
    title: str
    column: str
    rule: str
    airspeed: float | None
    calibrated: float | None
    reference: float | None
    reference_weight: float | None
    source: str
    same_lift: float | None
    low: float | None
    high: float | None
    clipped: bool
    says: str
    caution: str = CAUTION


def target_airspeeds(
    campaign: Campaign, weight: float, configuration: str | None = None, plan: Plan | None = None
) -> tuple[TargetSpeed, ...]:
    """The airspeed to fly in each measure that asks for one.

    Parameters
    ----------
    weight : of the aeroplane now [kg]
    configuration : key; needed where ``[configuration.NAME]`` gives airspeeds of its own
    plan : whose limits to scrub at narrow the band, and whose expectations stand for runs not yet flown

    Raises
    ------
    CampaignError : a weight beyond belief, or a configuration that is missing or not known
    """
    weight = believable("weight", weight, mass_unit(campaign))
    if configuration is not None:
        configured(campaign, configuration)
    elif any(one.own_speeds for one in campaign.configurations.values()):
        raise wrong("configuration", say.APRON_CONFIGURATION_NEEDED())
    return tuple(
        _target(campaign, asked, column, weight, configuration, plan)
        for asked in campaign.asked.values()
        for column in asked.measure.columns
        if column.name.endswith("airspeed") and column.name not in ("entry airspeed", "exit airspeed")
    )


def _target(
    campaign: Campaign,
    asked: MeasureSettings,
    column: Column,
    weight: float,
    configuration: str | None,
    plan: Plan | None,
) -> TargetSpeed:
    measure, name = asked.measure, column.name
    unit = unit_of(campaign, (name,), "speed", "kt")
    heavy = mass_unit(campaign)

    def shown(value: float) -> str:
        return units.show(value, unit, "speed", 1)

    sky = sky_of(campaign, measure.name, plan)
    reference, source = _reference(campaign, measure.name, name, configuration, sky)
    base = sky.get("weight")
    ratio = float(lift_off_speed_ratio(weight / base)) if base else math.nan
    same_lift = reference * ratio if reference is not None and base else None
    rule = _rule(campaign, asked, name)
    if rule != RESULT and (reference is None or (rule == ONE_LIFT and same_lift is None)):
        rule = UNKNOWN
    wanted = {ONE_AIRSPEED: reference, ONE_LIFT: same_lift}.get(rule)
    low, high = _band(campaign, asked, name, reference, plan)
    least, most = own(campaign, name)
    calibrated = wanted
    if wanted is not None:
        calibrated = min(max(wanted, -math.inf if least is None else least), math.inf if most is None else most)
    clipped = calibrated != wanted
    airspeed, wanted, same_lift, low, high = (
        indicated(campaign, one) for one in (calibrated, wanted, same_lift, low, high)
    )
    return TargetSpeed(
        measure=measure.name,
        title=measure.title,
        column=name,
        rule=rule,
        airspeed=airspeed,
        calibrated=calibrated,
        reference=reference,
        reference_weight=base,
        source=source,
        same_lift=same_lift,
        low=low,
        high=high,
        clipped=clipped,
        says=_says(
            f"{measure.title[0].upper()}{measure.title[1:]}, {name}",
            rule,
            (airspeed, wanted, same_lift, low, high),
            source,
            ""
            if base is None
            else f"{units.show(weight, heavy, 'mass', 0)} (runs are corrected to {units.show(base, heavy, 'mass', 0)})",
            100.0 * (ratio - 1.0),
            shown,
        ),
    )


def _system(campaign: Campaign):
    """The calibration of the airspeed system, None where the campaign has none."""
    return getattr(campaign, "airspeed_system", None)


def indicated(campaign: Campaign, calibrated: float | None) -> float | None:
    """What the indicator shows [m/s] at a calibrated airspeed [m/s], as far as the campaign knows."""
    system = _system(campaign)
    return calibrated if calibrated is None or system is None else float(system.uncorrected(calibrated))


def _rule(campaign: Campaign, asked: MeasureSettings, name: str) -> str:
    """What the reduction takes for granted of this airspeed."""
    if name not in asked.measure.conditions:
        return RESULT
    table = campaign.tables.get(asked.measure.name)
    said = None if campaign.plan is None else campaign.plan.measures.get(asked.measure.name)
    read = name in table.columns if table is not None else said is not None and name in said.expected
    unread = any(c.name.startswith("weight exponent") and c.name.endswith("unread") for c in asked.measure.coefficients)
    return ONE_LIFT if unread and not read else ONE_AIRSPEED


def _reference(
    campaign: Campaign, measure: str, name: str, configuration: str | None, sky: dict[str, float]
) -> tuple[float | None, str]:
    """The airspeed to keep to [m/s] and where it is from: what was fixed before flying comes first."""
    if configuration is not None and name in campaign.configurations[configuration].own_speeds:
        return campaign.configurations[configuration].own_speeds[name], f"what is entered for {configuration}"
    said = None if campaign.plan is None else campaign.plan.measures.get(measure)
    if said is not None and name in said.expected:
        # What is expected is what will be read.
        system = _system(campaign)
        read = said.expected[name]
        return read if system is None else float(system.correct(read)), "the plan"
    if name in campaign.reference:
        return campaign.reference[name], "the reference entered under Question"
    return (sky[name], "the mean of the runs that count") if name in sky else (None, "nothing")


def _band(
    campaign: Campaign, asked: MeasureSettings, name: str, reference: float | None, plan: Plan | None
) -> tuple[float | None, float | None]:
    """The narrowest of what the campaign, the plan and the correction's range allow [m/s]."""
    bands = [own(campaign, name)]
    if reference is not None:
        bands += [
            tuple(None if end is None else end * reference for end in (limit.low, limit.high))
            for limit in asked.measure.limits
            if limit.correction == name
        ]
    if plan is not None:
        bands += [
            tuple(end if math.isfinite(end) else None for end in (limit.low, limit.high))
            for limit in plan.limits
            if limit.measure == asked.measure.name and limit.condition == name
        ]
    lows, highs = ([band[k] for band in bands if band[k] is not None] for k in (0, 1))
    return max(lows, default=None), min(highs, default=None)


def _says(
    what: str,
    rule: str,
    speeds: tuple[float | None, ...],
    source: str,
    weights: str,
    percent: float,
    shown: Callable[[float], str],
) -> str:
    airspeed, wanted, same_lift, low, high = speeds
    if rule == RESULT:
        return f"{what}: none to hold; it is what the run finds out."
    if rule == UNKNOWN:
        more = (
            f" Beside that at the weight which runs are corrected to, it is {percent:+.1f} % at the same lift "
            "coefficient."
            if weights
            else ""
        )
        return f"{what}: not known, as {_missing(wanted, weights)}.{more}"
    said = f"{what}: {shown(airspeed)} as indicated"
    if low is not None and high is not None:
        said += f", within {shown(low)} to {shown(high)}"
    why = {
        ONE_AIRSPEED: "the same on every run, whatever the weight",
        ONE_LIFT: f"the same lift coefficient on every run, at {weights}",
    }[rule]
    said += f" ({why}; from {source})."
    if airspeed != wanted:
        said += f" The rule alone gives {shown(wanted)}, beyond the campaign's own limit: the limit stands."
    if rule == ONE_AIRSPEED and same_lift is not None and shown(same_lift) != shown(wanted):
        said += f" The same lift coefficient would be {shown(same_lift)} at {weights}."
    return said


def _missing(wanted: float | None, weights: str) -> str:
    if not weights:
        return "neither the runs nor the plan say which airspeed, or at which weight"
    return (
        "nothing says which airspeed the others were flown at: read it, or enter it under Plan, or as the reference "
        "under Question"
    )
