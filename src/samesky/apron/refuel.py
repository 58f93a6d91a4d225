"""How much fuel, or ballast, goes in before the next run, so that it is as heavy as its counterpart?

Both sides of a comparison are flown at like weights, less what the changed part itself weighs: that is the change. A
run's counterpart stands at the same place in the last block of another configuration.
"""

from __future__ import annotations

from dataclasses import dataclass

from samesky import units
from samesky.apron import catalogue as say
from samesky.apron.blocks import counterpart
from samesky.apron.fields import arm_unit, bounded, fuel_density, fuel_words, mass_unit, wrong
from samesky.apron.limits import own
from samesky.apron.loading import LoadingNow, arm_words, loading_now
from samesky.campaign.derived.prepare import ballast as ballast_of
from samesky.campaign.model.campaign import Campaign
from samesky.checks.alike import SMALL
from samesky.planning.plan import Plan

#: Difference of weight [kg] below which two runs are alike (as the check of a campaign has it).
ALIKE = SMALL["weight"]
CAUTION = (
    "Engine stopped, magnetos off, aeroplane and pump bonded, no flame, nobody at the propeller or aboard while fuel "
    "flows; the right grade, caps closed, a sample drained and the tank dipped before flying (common practice). "
    "Ballast is carried only where and how the papers allow, tied down."
)


@dataclass(frozen=True, slots=True)
class FuelToAdd:
    """What brings the next run to the weight aimed at.

    Attributes
    ----------
    aim, now : weight without the difference of the changed part [kg]
    aims_at : what the aim is, in words
    short : how much is missing [kg]; negative where it is too heavy
    fuel, volume : to take on [kg, m^3]; zero where none helps
    ballast : to put in instead [kg], where ``[plan]`` allows ballast; else zero
    capped : whether a limit leaves less than what is missing
    after : weight and balance afterwards, with the ballast where fuel is not taken on
    sentences : ready to read, in the pilot's units
    """

    aim: float
    now: float
    aims_at: str
    short: float
    fuel: float
    volume: float
    ballast: float
    capped: bool
    after: LoadingNow
    sentences: tuple[str, ...]
    caution: str = CAUTION


def fuel_to_add(
    campaign: Campaign,
    now: LoadingNow,
    aim: float | None = None,
    plan: Plan | None = None,
    ballast_arm: float | None = None,
) -> FuelToAdd:
    """Fuel, or ballast, to add before the next run.

    Parameters
    ----------
    now : the loading as it stands
    aim : weight [kg] to aim at, without the difference of the changed part; by default that of the counterpart among
        the runs flown, else the fuel with which ``[plan]`` starts each day
    plan : whose limits of weight are held afterwards
    ballast_arm : where ballast would sit [m]

    Raises
    ------
    CampaignError : nothing says which weight to aim at
    """
    unit = mass_unit(campaign)
    loading = campaign.loading
    mass, what = _aim(campaign, now, aim, unit)
    short = mass - now.mass_without_part
    by_ballast = campaign.plan is not None and campaign.plan.ballast and not campaign.plan.refuel
    room = [] if loading.max_mass is None else [loading.max_mass - now.mass]
    most = own(campaign, "fuel")[1]
    if most is not None and not by_ballast:
        room.append(most - now.fuel)
    wanted = 0.0 if abs(short) < ALIKE else max(short, 0.0)
    added = max(0.0, min([wanted, *room]))
    capped = added < wanted - 1e-9
    fuel = 0.0 if by_ballast else added
    weights = added if campaign.plan is not None and campaign.plan.ballast else 0.0
    after = _after(campaign, now, fuel, weights if by_ballast else 0.0, ballast_arm, plan)
    said = [f"Aim: {units.show(mass, unit, 'mass', 1)} without the difference of the changed part, {what}."]
    said += _what_to_do(campaign, now, short, fuel, weights, by_ballast, unit)
    if capped:
        limit = (
            "the maximum weight"
            if room and loading.max_mass is not None and room[0] <= added + 1e-9
            else "your own limit"
        )
        left = units.show(wanted - added, unit, "mass", 1)
        said.append(f"No more than that: {limit} is reached, and {left} is still missing. The weight comes first.")
    if fuel or weights:
        said.append("The campaign does not know what the tank holds: look before you fill." if fuel else "")
        said.append(_afterwards(after, unit, campaign))
    if campaign.plan is not None and campaign.plan.reserve is not None and now.fuel + fuel < campaign.plan.reserve:
        said.append(
            f"On board is less than the reserve of {fuel_words(campaign, campaign.plan.reserve)}: take on fuel before "
            "anything else."
        )
    return FuelToAdd(
        aim=mass,
        now=now.mass_without_part,
        aims_at=what,
        short=short,
        fuel=fuel,
        volume=fuel / fuel_density(campaign),
        ballast=weights,
        capped=capped,
        after=after,
        sentences=tuple(line for line in said if line),
    )


def _aim(campaign: Campaign, now: LoadingNow, aim: float | None, unit: str) -> tuple[float, str]:
    if aim is not None:
        return bounded("weight aimed at", aim, 50.0, 20_000.0, unit, "mass"), "as asked for"
    run = counterpart(campaign, now.configuration)
    if run is not None and "fuel" in run[0].columns:
        table, index = run
        mass = float(campaign.loading.mass_at(table.columns["fuel"][index] + ballast_of(table)[index]))
        if mass == mass:
            return (
                mass,
                f"as on run {table.text['run'][index]} of the {table.measure.title}, with {table.configuration[index]}",
            )
    if campaign.plan is not None and campaign.plan.fuel is not None:
        return float(
            campaign.loading.mass_at(campaign.plan.fuel)
        ), "with the fuel that the plan has on board each morning"
    raise wrong(
        "weight aimed at",
        say.APRON_NO_WEIGHT_AIMED_AT(),
    )


def _after(
    campaign: Campaign, now: LoadingNow, fuel: float, ballast: float, ballast_arm: float | None, plan: Plan | None
) -> LoadingNow:
    by_name = {item.name: item for item in now.items}
    stations = {name: by_name[name].mass for name in campaign.loading.stations}
    arm = by_name["ballast"].arm if "ballast" in by_name else ballast_arm
    return loading_now(campaign, now.configuration, now.fuel + fuel, now.ballast + ballast, stations, arm, plan)


def _what_to_do(
    campaign: Campaign, now: LoadingNow, short: float, fuel: float, weights: float, by_ballast: bool, unit: str
) -> list[str]:
    size = units.show(abs(short), unit, "mass", 1)
    if abs(short) < ALIKE:
        return [f"It weighs within {units.show(ALIKE, unit, 'mass', 0)} of the weight aimed at: add nothing."]
    if short < 0:
        said = [f"It is {size} heavier than aimed at: fuel cannot mend it."]
        if now.ballast > 0:
            said.append(f"Take out ballast, of which {units.show(now.ballast, unit, 'mass', 1)} is on board.")
        elif campaign.plan is not None and campaign.plan.burn:
            minutes = 60.0 * -short / campaign.plan.burn
            said.append(f"{minutes:.0f} min of flying burns that; or leave it, and let the weight be corrected for.")
        return said
    if by_ballast:
        amount = units.show(weights, unit, "mass", 1)
        return [f"It is {size} lighter than aimed at: put in {amount} of ballast in place of the burnt fuel."]
    volume = fuel / fuel_density(campaign)
    litres, gallons = (units.show(volume, one, "volume", 1) for one in ("L", "US gal"))
    said = [
        f"It is {size} lighter than aimed at: add {litres} of fuel ({gallons}, {units.show(fuel, unit, 'mass', 1)})."
    ]
    if weights:
        said.append(f"Or put in {units.show(weights, unit, 'mass', 1)} of ballast.")
    if campaign.plan is not None and not campaign.plan.refuel:
        said.append("The plan says nothing of refuelling: see that it is possible, and say 'refuelled' in the notes.")
    else:
        said.append("Say 'refuelled' in the notes of the next run.")
    return said


def _afterwards(after: LoadingNow, unit: str, campaign: Campaign) -> str:
    balance = "not known" if after.cg != after.cg else arm_words(after.cg, arm_unit(campaign))
    limits = {True: "all limits hold", False: "a limit does NOT hold", None: "not every limit can be told"}[after.holds]
    return f"Then it weighs {units.show(after.mass, unit, 'mass', 1)} and balances at {balance}: {limits}."
