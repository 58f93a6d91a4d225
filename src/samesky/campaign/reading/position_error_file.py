"""What does ``position_error.csv`` say of the airspeed system, and what is wrong with it?

One row a run: the airspeed as indicated, the altitude and the temperature, and ground speed and track of three legs or
more. Read by the machinery of every file of runs; its errors by the machinery of every measure, with their scopes: what
runs share (one thermometer) does not average out over them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samesky.air import legs
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.airspeed_system import AirspeedSystem
from samesky.campaign.reading.files import stem_of
from samesky.campaign.reading.table import Context, TableDraft, read_table
from samesky.instruments.airspeed_indicator import INDICATED, SYSTEM
from samesky.instruments.position_error import SPEEDS_FOR_A_LINE, PositionErrorError, fit_position_error
from samesky.instruments.sources import ErrorSource
from samesky.measures import default_sources, speeds
from samesky.measures.airspeed_calibration import CALIBRATION, static_pressure
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.spellings import is_calibrated

#: The file, whatever the spelling of its name.
STEM = plain_name(CALIBRATION.name)
#: Share of the reading beyond which a correction is hard to believe (assumed).
HARD_TO_BELIEVE = 0.15


def is_position_error(file: str) -> bool:
    """Whether a file of this name is the airspeed system's calibration."""
    return stem_of(file) == STEM


def airspeed_system(
    file: str, text: str, context: Context, sources: Sequence[ErrorSource], findings: list[Finding]
) -> AirspeedSystem | None:
    """The calibration in a file; None where it holds no run, or faults, which go to ``findings``."""
    draft, found, _ = read_table(text, file, CALIBRATION, context)
    if draft is not None:
        found += _cannot_answer(draft)
        if is_calibrated(draft.units.get("airspeed")):
            found.append(Finding("error", draft.file, say.POSITION_ERROR_CALIBRATED_AIRSPEEDS(), None, "airspeed"))
    findings += found
    if draft is None or not is_sound(found):
        return None
    counted = _counted(draft)
    if not counted.any():
        findings.append(Finding("warning", draft.file, say.POSITION_ERROR_NO_RUN_COUNTS()))
        return None
    runs = {name: values[counted] for name, values in draft.columns.items()}
    error = reduce_runs(CALIBRATION, runs, {})[-1].value
    alone, shared = _errors(runs, np.array([day.toordinal() for day in draft.dates])[counted], sources)
    try:
        fit = fit_position_error(runs["airspeed"], runs["airspeed"] + error, alone, shared=shared)
    except PositionErrorError as wrong:
        findings.append(Finding("error", draft.file, say.POSITION_ERROR_NOT_FITTED(wrong=wrong)))
        return None
    system = AirspeedSystem(
        file=draft.file,
        unit=draft.units["airspeed"],
        runs=tuple(name for name, one in zip(draft.text["run"], counted, strict=True) if one),
        rows=draft.rows[counted],
        indicated=runs["airspeed"],
        calibrated=runs["airspeed"] + error,
        uncertainty=alone,
        fit=fit,
    )
    findings += _doubts(system)
    return system


def with_calibration(sources: Sequence[ErrorSource], system: AirspeedSystem | None) -> tuple[ErrorSource, ...]:
    """The error sources with that of the fit in place of the shipped one of the airspeed system.

    One that the campaign states itself stays: there may be more to it than the fit knows.
    """
    if system is None:
        return tuple(sources)
    shipped = {source for source in default_sources() if source.name == SYSTEM}
    return tuple(source for source in sources if source not in shipped) + system.fit.error_sources()


def _counted(draft: TableDraft) -> np.ndarray:
    return np.array([not reason for reason in draft.text["exclude"]], dtype=bool)


def _cannot_answer(draft: TableDraft) -> list[Finding]:
    """Counted runs without altitude, without enough legs, or with legs that cannot tell airspeed from wind."""
    if static_pressure(draft.columns) is None:
        return [Finding("error", draft.file, say.POSITION_ERROR_ALTITUDE_UNKNOWN())]
    flown = speeds.legs_of(draft.columns)
    count = np.zeros(len(draft.rows)) if flown is None else (~np.isnan(flown[0])).sum(axis=-1)
    found = []
    for index in np.flatnonzero(_counted(draft)):
        row = int(draft.rows[index])
        if flown is None or count[index] < 3:
            found.append(Finding("error", draft.file, say.POSITION_ERROR_FEW_LEGS(int=int(count[index])), row))
        elif legs.spread(flown[1][index]) < speeds.LEAST_SPREAD:
            found.append(Finding("error", draft.file, say.POSITION_ERROR_TRACKS_TOO_CLOSE(), row, "track 1"))
    return found


def _errors(runs, day: np.ndarray, sources: Sequence[ErrorSource]) -> tuple[np.ndarray, np.ndarray]:
    """Standard uncertainty of each run by itself (n,), and what runs share, a row each (k, n) [m/s]."""
    # What the airspeed system itself may err is what is looked for here.
    used = [source for source in sources if not (source.scope == "campaign" and source.target in INDICATED)]
    alone, shared = np.zeros(len(day)), []
    for source, effect in sensitivities(CALIBRATION, runs, {}, used):
        if source.scope == "run":
            alone = alone + np.square(effect)
        elif source.scope == "day":
            shared += [np.where(day == one, effect, 0.0) for one in np.unique(day)]
        else:
            shared.append(effect)
    return np.sqrt(alone), np.reshape(np.array(shared), (-1, len(day)))


def _doubts(system: AirspeedSystem) -> list[Finding]:
    found, fit = [], system.fit
    error = system.calibrated - system.indicated
    far = np.flatnonzero(np.abs(error) > HARD_TO_BELIEVE * system.indicated)
    if far.size:
        share = 100 * error[far[0]] / system.indicated[far[0]]
        said = say.POSITION_ERROR_LARGE(run=system.runs[far[0]], share=share)
        found.append(Finding("warning", system.file, said, int(system.rows[far[0]]), "airspeed"))
    if fit.model == "constant":
        found.append(
            Finding("warning", system.file, say.POSITION_ERROR_FEW_AIRSPEEDS(speeds_for_a_line=SPEEDS_FOR_A_LINE))
        )
    if np.isfinite(fit.degrees_of_freedom):
        found.append(Finding("warning", system.file, say.POSITION_ERROR_SCATTER(scatter=fit.scatter)))
    return found
