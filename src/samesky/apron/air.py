"""How thin is the air now?

Pressure altitude from the altimeter setting and the strip's elevation (or read with 1013.25 hPa set), density by
CIPM-2007 (:mod:`samesky.air.moisture`), and the altitude at which the standard atmosphere has that density (ICAO
Doc 7488/3). Dry is what most charts and computers show; moist is what the aeroplane feels. Both are given where a
dew point is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from samesky import units
from samesky.air import altimetry, atmosphere, constants, moisture
from samesky.apron import catalogue as say
from samesky.apron.fields import believable, strip, unit_of, wrong
from samesky.apron.limits import OWN, LimitNow, held, own, scrub_bounds
from samesky.apron.sky import sky_of
from samesky.campaign.model.campaign import Campaign, Runway
from samesky.campaign.tables.cross_checks import FOG
from samesky.planning.plan import Plan

CAUTION = (
    "A density altitude says how thin the air is, not how long the roll will be: the aeroplane's own take-off data, "
    "with their allowances for slope, surface and wet grass, decide whether the strip is long enough."
)


@dataclass(frozen=True, slots=True)
class AirNow:
    """The air where it was read.

    Attributes
    ----------
    runway : name of the strip, empty where the pressure altitude was read
    oat, dew_point : [K]; no dew point is None, and the air then counts as dry
    pressure : static pressure [Pa]
    pressure_altitude : [m]
    standard_temperature : of the standard atmosphere there [K]
    density, density_dry : [kg/m^3]; ``density`` is the moist one where a dew point is given, else the dry one
    density_ratio : ``density`` over that of the standard atmosphere at sea level
    density_altitude, density_altitude_dry : [m] of the two densities
    moist : whether ``density`` and ``density_altitude`` take account of moisture
    limits : the limits on temperature, pressure and density, as far as there are any
    sentences : ready to read, in the pilot's units
    notes : what they rest on
    """

    runway: str
    oat: float
    dew_point: float | None
    pressure: float
    pressure_altitude: float
    standard_temperature: float
    density: float
    density_dry: float
    density_ratio: float
    density_altitude: float
    density_altitude_dry: float
    moist: bool
    limits: tuple[LimitNow, ...]
    sentences: tuple[str, ...]
    notes: tuple[str, ...]
    caution: str = CAUTION


def air_now(
    campaign: Campaign,
    oat: float,
    qnh: float | None = None,
    pressure_altitude: float | None = None,
    dew_point: float | None = None,
    runway: str | None = None,
    plan: Plan | None = None,
) -> AirNow:
    """Pressure altitude, density altitude and density ratio.

    Parameters
    ----------
    oat : outside air temperature [K]
    qnh : altimeter setting [Pa]; needs the strip's elevation. Not beside ``pressure_altitude``
    pressure_altitude : altimeter reading with 1013.25 hPa set [m]
    dew_point : [K]; without it the air counts as dry
    runway : name of the strip; by default that of ``[plan]``, or the campaign's only one
    plan : whose limits to scrub at are held too

    Raises
    ------
    CampaignError : a field that is missing, contradictory or beyond belief

    References
    ----------
    ICAO Doc 7488/3 (1993); A. Picard and others, Metrologia 45 (2008) 149-155.
    """
    unit_t = unit_of(campaign, ("oat",), "temperature", "degC")
    unit_p = unit_of(campaign, ("qnh",), "pressure", "hPa")
    unit_h = unit_of(campaign, ("pressure altitude", "altitude", "from"), "length", "ft")
    oat = believable("oat", oat, unit_t)
    place = strip(campaign, runway)
    altitude = _pressure_altitude(place, qnh, pressure_altitude, unit_p, unit_h)
    if dew_point is not None:
        dew_point = believable("dew point", dew_point, unit_t)
        if dew_point > oat + FOG:
            shown = [units.show(value, unit_t, "temperature", 1) for value in (dew_point, oat)]
            raise wrong("dew point", say.APRON_DEW_POINT_ABOVE_OAT(shown=shown[0], shown2=shown[1]))
    pressure = float(atmosphere.pressure(altitude))
    dry = float(moisture.density(pressure, oat))
    density = float(moisture.density(pressure, oat, dew_point))
    heights = [float(atmosphere.density_altitude(one)) for one in (density, dry)]
    name = place.name if place is not None and qnh is not None else ""
    found = AirNow(
        runway=name,
        oat=oat,
        dew_point=dew_point,
        pressure=pressure,
        pressure_altitude=altitude,
        standard_temperature=float(atmosphere.temperature(altitude)),
        density=density,
        density_dry=dry,
        density_ratio=density / constants.RHO0,
        density_altitude=heights[0],
        density_altitude_dry=heights[1],
        moist=dew_point is not None,
        limits=(),
        sentences=(),
        notes=_notes(oat, pressure, dew_point),
    )
    return _with_words(found, _limits(campaign, found, place, qnh, plan, unit_t, unit_p), unit_t, unit_h)


def _pressure_altitude(place: Runway | None, qnh: float | None, read: float | None, unit_p: str, unit_h: str) -> float:
    if read is not None and qnh is not None:
        raise wrong(
            "pressure altitude",
            say.APRON_PRESSURE_GIVEN_TWICE(),
        )
    if read is not None:
        return believable("pressure altitude", read, unit_h)
    if qnh is None:
        raise wrong("qnh", say.APRON_NO_PRESSURE())
    qnh = believable("qnh", qnh, unit_p)
    if place is None or place.elevation is None:
        which = "which strip it is" if place is None else f"the elevation of {place.name}"
        raise wrong("runway", say.APRON_ELEVATION_UNKNOWN(which=which))
    return float(altimetry.pressure_altitude_from_qnh(qnh, place.elevation))


def _notes(oat: float, pressure: float, dew_point: float | None) -> tuple[str, ...]:
    said = []
    if dew_point is None:
        said.append(
            "Dry: no dew point is given. At 30 °C air that is saturated is 1.6 % lighter, which is about 540 ft of "
            "density altitude."
        )
    low, high = moisture.CIPM_TEMPERATURE
    least, most = moisture.CIPM_PRESSURE
    if not (low <= oat <= high and least <= pressure <= most):
        said.append(
            "Outside 15 to 27 °C or 600 to 1100 hPa the density formula's small factors are those of the edge: right "
            "within 0.1 % from -30 to 45 °C."
        )
    return tuple(said)


def _limits(
    campaign: Campaign,
    air: AirNow,
    place: Runway | None,
    qnh: float | None,
    plan: Plan | None,
    unit_t: str,
    unit_p: str,
) -> tuple[LimitNow, ...]:
    def warmth(value: float) -> str:
        return units.show(value, unit_t, "temperature", 1)

    def warmer(value: float) -> str:
        return units.show(value, unit_t, "temperature difference", 1)

    def pressed(value: float) -> str:
        return units.show(value, unit_p, "pressure", 2 if "in" in unit_p else 0)

    found = [held("temperature", OWN, own(campaign, "oat"), (air.oat, air.oat), warmth, spare=warmer)]
    why = "it was not read"
    dew = None if air.dew_point is None else (air.dew_point, air.dew_point)
    found.append(held("dew point", OWN, own(campaign, "dew point"), dew, warmth, why, warmer))
    found.append(held("QNH", OWN, own(campaign, "qnh"), None if qnh is None else (qnh, qnh), pressed, why))
    found.append(held("pressure", OWN, own(campaign, "pressure"), (air.pressure, air.pressure), pressed))
    for limit, whose in scrub_bounds(plan, ("oat", "pressure")):
        ends, now = (limit.low, limit.high), air.oat if limit.condition == "oat" else air.pressure
        if limit.condition == "oat":
            # Temperatures of runs in the air are read there.
            if _on_the_ground(campaign, limit.measure):
                found.append(held("temperature", whose, ends, (now, now), warmth, spare=warmer))
        elif qnh is not None and place is not None:
            # An end that nobody could meet is infinite; the other is still set on the altimeter.
            settings = tuple(float(altimetry.qnh(end, place.elevation)) if math.isfinite(end) else end for end in ends)
            found.append(held("QNH", whose, settings, (qnh, qnh), pressed))
        else:
            found.append(held("pressure", whose, ends, (now, now), pressed))
    found += _density_limits(campaign, air, plan)
    return tuple(limit for limit in found if limit is not None)


def _on_the_ground(campaign: Campaign, measure: str) -> bool:
    """Whether a measure's runs have the air of the strip: those whose pressure is not their own altitude's."""
    return "pressure" in campaign.asked[measure].measure.conditions


def _density_limits(campaign: Campaign, air: AirNow, plan: Plan | None) -> list[LimitNow | None]:
    """Where the density correction of each measure flown on the ground is believed, as a ratio to the common sky's."""
    found = []
    for name, asked in campaign.asked.items():
        sky = sky_of(campaign, name, plan) if _on_the_ground(campaign, name) else {}
        if not {"oat", "pressure"} <= sky.keys():
            continue
        now = {"oat": air.oat, "pressure": air.pressure}
        # Moist air against dry air would compare what was written down: both, or neither.
        if air.moist and "dew point" in sky:
            now["dew point"] = air.dew_point
        else:
            sky.pop("dew point", None)
        for limit in asked.measure.limits:
            if limit.correction == "density":
                ratio = float(limit.quantity(now, sky))
                whose = f"where the density correction of the {asked.measure.title} is believed"
                ends = (limit.low, limit.high)
                found.append(held("density over the common sky's", whose, ends, (ratio, ratio), lambda x: f"{x:.3f}"))
    return found


def _with_words(air: AirNow, limits: tuple[LimitNow, ...], unit_t: str, unit_h: str) -> AirNow:
    def height(value: float) -> str:
        return units.show(value, unit_h, "length", 0)

    where = f" at {air.runway}" if air.runway else ""
    apart = air.oat - air.standard_temperature
    said = [
        f"Pressure altitude{where}: {height(air.pressure_altitude)}.",
        f"Density altitude: {height(air.density_altitude)} ({'moist' if air.moist else 'dry'} air).",
    ]
    if air.moist:
        said.append(f"As a chart shows it, for dry air: {height(air.density_altitude_dry)}.")
    said.append(
        f"Density is {100.0 * air.density_ratio:.1f} % of the standard atmosphere's at sea level; the air is "
        f"{abs(apart):.1f} K {'warmer' if apart >= 0 else 'colder'} than standard."
    )
    said += [limit.says for limit in limits]
    return replace(air, limits=limits, sentences=tuple(said))
