"""Which columns may every measure's file have?

The measures' own columns stand in their own files; these are the ones that describe any run: when it was flown, with
which configuration, in which air, with how much fuel. Bounds are wide (assumed): they catch a slip of the
pen or of the unit.
"""

from __future__ import annotations

from samesky.measures.shape import Column

#: Columns of every file, in the order in which a template shows them.
COMMON: tuple[Column, ...] = (
    Column("run", "text", "number or name of the run"),
    Column("date", "text", "day of the run, written year-month-day", required=True),
    Column("clock", "text", "time of day at the start of the run, written hour:minute", required=True),
    Column("configuration", "text", "key of the configuration flown, such as A", required=True),
    Column("installation", "text", "counts up each time a configuration is fitted; read from the order where absent"),
    Column("pilot", "text", "who flew, as initials or a number"),
    Column("oat", "temperature", "outside air temperature where the run was made", low=223.15, high=328.15),
    Column("qnh", "pressure", "altimeter setting", low=92_000.0, high=108_000.0),
    Column("pressure altitude", "length", "altimeter reading with 1013.25 hPa set", low=-600.0, high=8_000.0),
    Column("dew point", "temperature", "dew point of the air; blank means dry air", low=203.15, high=308.15),
    Column("fuel", "volume", "fuel on board at the start of the run", low=0.0, high=2.0, also=("mass",)),
    Column("ballast", "mass", "ballast beyond the stations of campaign.toml; 0 without", low=0.0, high=500.0),
    Column("rpm", "rotational speed", "engine speed, steady, during the run", low=0.0, high=150.0),
    Column("throttled", "text", "yes where the throttle was pulled back to stay below the rpm limit"),
    Column("exclude", "text", "reason for leaving the run out; blank means it counts"),
    Column("notes", "text", "anything worth remembering"),
)

RPM = next(column for column in COMMON if column.name == "rpm")

HEADWIND = Column("headwind", "speed", "mean wind along the run, from ahead positive", low=-25.0, high=40.0)
GUST = Column("gust", "speed", "strongest wind during the run", low=0.0, high=50.0)
CROSSWIND = Column("crosswind", "speed", "wind across the run, either sign", low=-30.0, high=30.0)
SLOPE = Column("slope", "fraction", "slope along the run, uphill positive; else that of the runway", low=-0.2, high=0.2)
RUNWAY = Column("runway", "text", "name of the runway in the campaign file")

ALTITUDE = Column(
    "altitude", "length", "pressure altitude of the run (1013.25 hPa set)", required=True, low=-600.0, high=8_000.0
)
AIRSPEED = Column("airspeed", "speed", "airspeed as indicated", low=5.0, high=200.0)
FUEL_FLOW = Column("fuel flow", "volume flow", "fuel flow, steady", low=1e-7, high=1e-3)

#: The most satellite-navigation legs that one run may have.
MOST_LEGS = 8

LEGS: tuple[Column, ...] = tuple(
    column
    for leg in range(1, MOST_LEGS + 1)
    for column in (
        Column(f"speed {leg}", "speed", f"ground speed on leg {leg}", low=3.0, high=250.0),
        Column(f"track {leg}", "angle", f"ground track of leg {leg}, the same north throughout", low=-6.3, high=12.6),
    )
)


def band(start: str, end: str) -> tuple[Column, ...]:
    """The columns of a run timed through a band of pressure altitude; ``start`` and ``end`` say which is higher.

    Parameters
    ----------
    start : which end of the band comes first, ``"lower"`` or ``"upper"``
    end : which comes last
    """
    return (
        Column("from", "length", f"{start} of the band, pressure altitude", required=True, low=-600.0, high=8_000.0),
        Column("to", "length", f"{end} of the band, pressure altitude", required=True, low=-600.0, high=8_000.0),
        Column("elapsed", "time", "time from the one to the other", required=True, low=3.0, high=3_600.0),
        AIRSPEED,
        Column("entry airspeed", "speed", "airspeed at the start of the band, as indicated", low=5.0, high=200.0),
        Column("exit airspeed", "speed", "airspeed at the end of the band, as indicated", low=5.0, high=200.0),
    )
