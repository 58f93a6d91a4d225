"""The same functions for notebook readers: pint quantities in, pint quantities out.

Each function here is the plain-SI one of its module behind :func:`samesky.units.quantities`: it takes quantities (or
text such as ``"75 kt"``), refuses bare numbers where a unit is needed, and answers in the unit of the first argument of
the result's kind, else in SI. The plain function stays reachable as ``.si``. Kept apart from the plain modules, so that
vectorised work never meets a quantity. One name is told apart: ``density`` is that of the air at hand, from pressure,
temperature and dew point; ``standard_density`` that of the standard atmosphere at a height, which ``density_altitude``
turns back.

>>> from samesky.air import quantities as air
>>> tas = air.cas_to_tas("60 kt", air.pressure("5000 ft"), air.temperature("5000 ft"))
>>> round(float(tas.to("knot").magnitude), 2)
64.62
"""

from __future__ import annotations

from samesky.air import airspeed, altimetry, atmosphere, legs, moisture, saturation, wind
from samesky.units import quantities as _quantities

_mach = {"pressure": "pressure"}
_air = {"pressure": "pressure", "temperature": "temperature"}
_wind = {"wind_speed": "speed", "wind_from": "angle"}

temperature = _quantities("temperature", H="length")(atmosphere.temperature)
pressure = _quantities("pressure", H="length")(atmosphere.pressure)
standard_density = _quantities("density", H="length")(atmosphere.density)
pressure_altitude = _quantities("length", p="pressure")(atmosphere.pressure_altitude)
density_altitude = _quantities("length", rho="density")(atmosphere.density_altitude)
geopotential = _quantities("length", Z="length")(atmosphere.geopotential)
geometric = _quantities("length", H="length")(atmosphere.geometric)
speed_of_sound = _quantities("speed", T="temperature")(atmosphere.speed_of_sound)

pressure_altitude_from_qnh = _quantities("length", qnh="pressure", elevation="length")(
    altimetry.pressure_altitude_from_qnh
)
static_pressure = _quantities("pressure", qnh="pressure", elevation="length")(altimetry.static_pressure)
qnh = _quantities("pressure", pressure="pressure", elevation="length")(altimetry.qnh)

density = _quantities("density", **_air, dew_point="temperature")(moisture.density)
saturation_pressure = _quantities("pressure", temperature="temperature")(saturation.saturation_pressure)
dew_point = _quantities("temperature", temperature="temperature", relative_humidity="fraction")(saturation.dew_point)
relative_humidity = _quantities("fraction", temperature="temperature", dew_point="temperature")(
    saturation.relative_humidity
)

impact_pressure = _quantities("pressure", cas="speed")(airspeed.impact_pressure)
calibrated_airspeed = _quantities("speed", impact_pressure="pressure")(airspeed.calibrated_airspeed)
cas_to_mach = _quantities("fraction", cas="speed", **_mach)(airspeed.cas_to_mach)
mach_to_cas = _quantities("speed", mach="fraction", **_mach)(airspeed.mach_to_cas)
cas_to_eas = _quantities("speed", cas="speed", **_mach)(airspeed.cas_to_eas)
eas_to_cas = _quantities("speed", eas="speed", **_mach)(airspeed.eas_to_cas)
cas_to_tas = _quantities("speed", cas="speed", **_air)(airspeed.cas_to_tas)
tas_to_cas = _quantities("speed", tas="speed", **_air)(airspeed.tas_to_cas)
eas_to_tas = _quantities("speed", eas="speed", density="density")(airspeed.eas_to_tas)
tas_to_eas = _quantities("speed", tas="speed", density="density")(airspeed.tas_to_eas)

components = _quantities(("speed", "speed"), speed="speed", from_direction="angle", runway_heading="angle")(
    wind.components
)
drift_correction = _quantities("angle", tas="speed", track="angle", **_wind)(wind.drift_correction)
ground_speed_on_track = _quantities("speed", tas="speed", track="angle", **_wind)(wind.ground_speed_on_track)
over_ground = _quantities(("speed", "angle"), tas="speed", heading="angle", **_wind)(wind.over_ground)
airspeed_from_tracks = _quantities(("speed", "speed", "angle"), ground_speed="speed", track="angle")(
    legs.airspeed_from_tracks
)
sets_of_three = _quantities(("speed", "speed", "angle"), ground_speed="speed", track="angle")(legs.sets_of_three)
horseshoe = _quantities(("speed", "speed", "angle"), first="speed", across="speed", back="speed")(legs.horseshoe)
airspeed_from_headings_120 = _quantities(("speed", "speed"), one="speed", two="speed", three="speed")(
    legs.airspeed_from_headings_120
)
airspeed_from_headings_90 = _quantities(("speed", "speed"), first="speed", across="speed", back="speed")(
    legs.airspeed_from_headings_90
)
airspeed_from_reciprocal_tracks = _quantities(("speed", "speed"), out="speed", back="speed", crosswind="speed")(
    legs.airspeed_from_reciprocal_tracks
)
airspeed_from_reciprocal_headings = _quantities(("speed", "speed"), out="speed", back="speed", crosswind="speed")(
    legs.airspeed_from_reciprocal_headings
)
