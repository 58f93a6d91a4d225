"""What does the airspeed indicator tell, once its position error has been flown?

From a file ``position_error.csv`` in the campaign's folder (:mod:`samesky.campaign.reading.position_error_file`). The
correction is applied where columns are prepared (:mod:`samesky.campaign.derived.prepare`), to every airspeed as
indicated; the error of the fit is among the campaign's error sources in place of the shipped one of the airspeed
system.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.instruments.position_error import PositionError


@dataclass(frozen=True, slots=True, eq=False)
class AirspeedSystem:
    """The calibration of the airspeed system; arrays (n,) over its runs that count [SI].

    Attributes
    ----------
    file : name of its file
    unit : of its airspeeds, as written
    runs : their names
    rows : their numbers in a spreadsheet
    indicated : airspeeds as read
    calibrated : airspeeds that the legs tell
    uncertainty : standard, of calibrated minus indicated, of each run by itself
    fit : the correction
    """

    file: str
    unit: str
    runs: tuple[str, ...]
    rows: np.ndarray
    indicated: np.ndarray
    calibrated: np.ndarray
    uncertainty: np.ndarray
    fit: PositionError

    def correct(self, indicated: np.ndarray) -> np.ndarray:
        """Calibrated airspeeds [m/s] of readings of any shape."""
        return self.fit.apply(indicated)[0]

    def uncorrected(self, calibrated: np.ndarray) -> np.ndarray:
        """Readings [m/s] at calibrated airspeeds of any shape."""
        return self.fit.indicated(calibrated)

    def speed_range(self) -> str:
        """``55 to 100 kt``: the readings between which it was found."""
        low, high = (units.from_si(end, self.unit, "speed") for end in (self.fit.low, self.fit.high))
        return f"{low:.0f} to {high:.0f} {self.unit}" if round(high) > round(low) else f"{low:.0f} {self.unit}"

    def sentence(self) -> str:
        """What was found, in the pilot's unit."""
        ends = np.unique(
            [self.fit.low, self.fit.middle, self.fit.high] if self.fit.model == "line" else [self.fit.middle]
        )
        value, spread = (units.from_si(part, self.unit, "speed") for part in self.fit.correction(ends))
        at = units.from_si(ends, self.unit, "speed")
        told = ", ".join(
            f"{v:+.1f} ± {u:.1f} {self.unit} at {where:.0f} {self.unit}"
            for v, u, where in zip(value, spread, at, strict=True)
        )
        return (
            f"Calibrated minus indicated airspeed, from {len(self.runs)} run{'s' * (len(self.runs) != 1)} at "
            f"{self.speed_range()} ({self.file}): {told} (± standard uncertainty)."
        )
