"""Which numbers define the standard atmosphere?

Primary constants of ISO 2533:1975 and ICAO Doc 7488/3 (1993), the same below 20 km as the US Standard Atmosphere 1976
but for its gas constant (287.05307, 7e-7 higher). Exact by definition where the comment says so.
"""

from __future__ import annotations

G0 = 9.80665  #: standard gravity [m/s^2], exact
R_AIR = 287.05287  #: specific gas constant of dry air [J/(kg K)], ICAO
GAMMA = 1.4  #: ratio of specific heats [1], exact
P0 = 101325.0  #: standard pressure at sea level [Pa], exact
T0 = 288.15  #: standard temperature at sea level [K], exact
RHO0 = 1.225  #: standard density at sea level [kg/m^3], exact (P0 / (R_AIR T0) = 1.22500002)
A0 = (GAMMA * R_AIR * T0) ** 0.5  #: standard speed of sound at sea level [m/s]
LAPSE_RATE = 0.0065  #: temperature fall per geopotential metre below the tropopause [K/m], exact
EARTH_RADIUS = 6356766.0  #: nominal radius for geopotential altitude [m], exact
H_TROPOPAUSE = 11000.0  #: geopotential altitude of the tropopause [m], exact
H_LOWEST = -5000.0  #: lowest geopotential altitude of the printed tables [m]
H_HIGHEST = 20000.0  #: highest geopotential altitude treated here [m]
T_TROPOPAUSE = T0 - LAPSE_RATE * H_TROPOPAUSE  #: 216.65 K
EXPONENT = G0 / (R_AIR * LAPSE_RATE)  #: of temperature ratio in pressure ratio, 5.25588
P_TROPOPAUSE = P0 * (T_TROPOPAUSE / T0) ** EXPONENT  #: [Pa]
SUTHERLAND_BETA = 1.458e-6  #: [kg/(m s K^0.5)], exact
SUTHERLAND_S = 110.4  #: [K], exact
