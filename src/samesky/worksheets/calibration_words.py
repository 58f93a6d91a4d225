"""What does the page say of the airspeed system's calibration?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.campaign.messages.findings import Finding
from samesky.campaign.model.airspeed_system import AirspeedSystem
from samesky.report.phrases import number, places_for
from samesky.worksheets.answers import Answers
from samesky.worksheets.runs.columns import calibration_file


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the calibration stands.

    ``file`` is its name, ``""`` where there is none; ``sentence`` what was found, ``""`` where nothing was; ``unit`` of
    its airspeeds; ``runs`` are (name, indicated, calibrated minus indicated ± twice the standard uncertainty),
    ``line`` the fitted correction in the same way at some readings.
    """

    file: str
    sentence: str = ""
    unit: str = ""
    runs: tuple[tuple[str, str, str], ...] = ()
    line: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()


def calibration(said: Answers, files) -> Calibration:
    """The calibration of the campaign as typed."""
    file = next(iter(calibration_file(files)), "")
    system = None if said.campaign is None else said.campaign.airspeed_system
    findings = tuple(one for one in said.findings if file and one.file == file)
    if system is None:
        return Calibration(file, findings=findings)
    fit, count = system.fit, len(system.runs)
    at = np.unique([fit.low, fit.middle, fit.high] if fit.model == "line" else [fit.middle])
    value, spread = fit.correction(at)
    error = system.calibrated - system.indicated
    return Calibration(
        file,
        f"Calibrated minus indicated airspeed, from {count} run{'s' * (count != 1)} at {system.speed_range()}.",
        system.unit,
        tuple(
            (name, _speed(system, one), _plus_minus(system, by, own))
            for name, one, by, own in zip(system.runs, system.indicated, error, system.uncertainty, strict=True)
        ),
        tuple(
            (_speed(system, one), _plus_minus(system, by, own))
            for one, by, own in zip(at, value, spread, strict=True)
        ),
        findings,
    )  # fmt: skip


def _speed(system: AirspeedSystem, speed: float) -> str:
    return number(float(units.from_si(speed, system.unit, "speed")), 0)


def _plus_minus(system: AirspeedSystem, value: float, spread: float) -> str:
    shown, twice = (float(units.from_si(one, system.unit, "speed")) for one in (value, 2.0 * spread))
    places = places_for(twice)
    return f"{number(shown, places, sign=True)} ± {number(twice, places)}"
