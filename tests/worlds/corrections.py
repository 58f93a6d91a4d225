"""How far off is a corrected run, in worlds whose truth is known? One configuration, many conditions, one common sky.

``python -m tests.worlds.corrections`` prints the table: for each measure, cause and world the largest change as flown,
the largest residual after the correction, the share of runs that are believed without a warning, and how many of these
lie within two of the standard uncertainties that the measure itself states for its coefficients.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from samesky.campaign.messages.findings import sentences
from samesky.campaign.reading.read import read
from samesky.reduction.reduction import Reduction, reduce_table
from tests.worlds.aeroplanes import CONSTANT_SPEED, FOUR_SEATER, GEARED, TWO_SEATER, Aeroplane
from tests.worlds.air import (
    KNOT,
    calibrated,
    pressure_altitude,
    standard_pressure,
    standard_temperature,
    vapour_pressure,
)
from tests.worlds.flown import (
    MEASURES,
    Conditions,
    Kind,
    columns,
    ground_marks,
    level_marks,
    order,
    result,
    write,
)

RUNS, PLACE = 120, 600.0
#: What no coefficient is asked to answer for: rounding of the worlds' own tables and quadratures.
SLACK = 0.0015
#: Conditions over which one thing is varied, and all together.
CAUSES = {
    "static_pull": ("wind", "height", "oat", "moist", "wind height oat moist"),
    "takeoff_roll": ("wind", "height", "oat", "moist", "mass", "lift-off", "wind height oat mass lift-off"),
    "timed_climb": ("height", "oat", "moist", "mass", "height oat mass"),
    "level_speed": ("height", "oat", "moist", "mass", "height oat mass"),
    "ground_acceleration": (
        "wind", "height", "oat", "moist", "mass", "slope", "marks", "wind height oat mass slope marks",
    ),
    "level_acceleration": ("height", "oat", "moist", "mass", "path", "marks", "half height oat mass path marks"),
}  # fmt: skip


@dataclass(frozen=True)
class World:
    """An aeroplane with one law of power, and what its campaign says of engine and propeller."""

    name: str
    plane: Aeroplane
    kind: Kind


def _worlds() -> dict[str, World]:
    found = {}
    for plane in (FOUR_SEATER, TWO_SEATER, GEARED, CONSTANT_SPEED):
        for law in "AB":
            kind = Kind("normally aspirated", "constant-speed" if plane.machine.governed else "fixed")
            name = f"{plane.name}, {law}"
            found[name] = World(name, plane.of_law(law), kind)
    return found


def _other_engines() -> dict[str, World]:
    """Engines that lose less by height, or nothing: flat-rated, and electric."""
    found = {}
    for law, engine, planes in (
        ("turbo", "turbo-normalised", (FOUR_SEATER, CONSTANT_SPEED)),
        ("electric", "electric", (TWO_SEATER, CONSTANT_SPEED)),
    ):
        for plane in planes:
            kind = Kind(engine, "constant-speed" if plane.machine.governed else "fixed")
            found[f"{plane.name}, {law}"] = World(f"{plane.name}, {law}", plane.of_law(law), kind)
    return found


WORLDS = _worlds()
OTHER_ENGINES = _other_engines()


@dataclass(frozen=True, eq=False)
class Held:
    """What came of one cell; arrays (runs,) of natural logarithms: as flown and reduced over the truth at the common
    sky, the standard uncertainty stated by the measure itself, and which runs are believed without a warning."""

    raw: np.ndarray
    residual: np.ndarray
    stated: np.ndarray
    believed: np.ndarray
    reduction: Reduction
    density: np.ndarray

    def inside(self, times: float) -> np.ndarray:
        """Boolean (runs,): whether the residual lies within so many stated standard uncertainties."""
        return np.abs(self.residual) <= times * self.stated + SLACK

    @property
    def within(self) -> float:
        """Share of the believed runs whose residual lies within two of them."""
        return float(np.mean(self.inside(2.0)[self.believed]))


def conditions(plane: Aeroplane, cause: str, runs: int, rng: np.random.Generator) -> tuple[Conditions, Conditions]:
    """The common sky and conditions (runs,): -3 to 10 kt, 0 to 8,000 ft, -10 to 35 degC, +-15 % weight, +-4 kt.

    Slopes of +-1 %, speeds at which the watch is pressed +-1.5 kt, paths of +-0.6 % in level flight; ``"half"`` halves
    every range.
    """
    sky = Conditions(PLACE, standard_temperature(PLACE) + 2.0, plane.mass, wind=2.0, lift_off=plane.lift_off)
    flown, half = replace(sky), 0.5 if "half" in cause else 1.0

    def draw(low: float, high: float, runs: int) -> np.ndarray:
        return half * rng.uniform(low, high, runs)

    if "wind" in cause:
        flown.wind = draw(-3.0, 10.0, runs) * KNOT
    if "height" in cause:
        flown.height = 160.0 + draw(0.0, 2278.0, runs)
        flown.oat = standard_temperature(flown.height) + 2.0
    if "oat" in cause:
        flown.oat = np.clip(flown.oat + draw(-22.0, 22.0, runs), 263.15, 308.15)
    if "mass" in cause:
        flown.mass = plane.mass * (1.0 + draw(-0.15, 0.15, runs))
    if "lift-off" in cause:
        flown.lift_off = plane.lift_off + draw(-4.0, 4.0, runs) * KNOT
    if "slope" in cause:
        flown.slope = draw(-0.01, 0.01, runs)
    if "marks" in cause:
        flown.marks = tuple(one + draw(-1.5, 1.5, runs) * KNOT for one in ground_marks(plane, sky))
        flown.level_marks = tuple(one + draw(-1.5, 1.5, runs) * KNOT for one in level_marks(plane, sky))
    if "path" in cause:
        flown.path = draw(-0.006, 0.006, runs)
    if "moist" in cause:
        flown.oat = np.minimum(flown.oat + rng.uniform(0.0, 20.0, runs), 308.15)
        flown.vapour = rng.uniform(0.1, 0.9, runs) * vapour_pressure(flown.oat)
    return sky, flown


def held(world: World, measure: str, cause: str, runs: int = RUNS, seed: int = 5) -> Held:
    """Fly one configuration without any error of reading through files, reduction and all."""
    plane = world.plane
    sky, flown = conditions(plane, cause, runs, np.random.default_rng(seed))
    written = {
        name: {k: np.broadcast_to(v, (runs,)) for k, v in columns(plane, name, flown).items()}
        for name in (measure, *(one for one in MEASURES if one != measure))
    }
    script = order("AB" * (runs // 2), fitted_anew=False, step=0.05, start=0.0)
    with tempfile.TemporaryDirectory() as place:
        write(Path(place), plane, script, written, world.kind)
        campaign = read(Path(place))
    if measure not in campaign.tables:
        raise ValueError("\n".join(sentences(campaign.findings)))
    reduction = reduce_table(campaign, campaign.tables[measure])
    truth = truth_at(world, measure, reduction, sky)
    own = [size for source, size in reduction.contributions if source not in campaign.sources]
    stated = np.sqrt(sum(np.square(size) for size in own)) + np.zeros(runs)
    if not reduction.table.measure.ratio:
        stated = stated / truth
    return Held(
        np.log(reduction.steps[0].value / truth), np.log(reduction.value / truth), stated, believed(reduction),
        reduction, np.broadcast_to(np.log(flown.air.density) - np.mean(np.log(flown.air.density)), (runs,)),
    )  # fmt: skip


def believed(reduction: Reduction) -> np.ndarray:
    """Boolean (n,): runs that no limit names, and that the air does not change by more than a quarter."""
    fine = np.isfinite(reduction.value)
    for before, after in pairwise(reduction.steps):
        if after.name == "density":
            fine &= np.abs(np.log(after.value / before.value)) <= np.log(1.25)
    for limit in reduction.table.measure.limits:
        quantity = np.broadcast_to(limit.quantity(reduction.runs, reduction.sky), fine.shape)
        if limit.low is not None:
            fine &= ~(quantity < limit.low)
        if limit.high is not None:
            fine &= ~(quantity > limit.high)
    return fine


def truth_at(world: World, measure: str, reduction: Reduction, spare: Conditions) -> float:
    """What the measure comes to at the common sky of a reduction [SI]; ``spare`` where the sky does not say."""
    sky = reduction.sky
    at = replace(spare)
    if "from" in sky:
        at.height, at.band = 0.5 * (sky["from"] + sky["to"]), sky["to"] - sky["from"]
    elif "altitude" in sky:
        at.height = sky["altitude"]
    elif "pressure" in sky:
        at.height = pressure_altitude(sky["pressure"])
    at.oat, at.mass = sky.get("oat", at.oat), sky.get("weight", at.mass)
    at.vapour = vapour_pressure(sky["dew point"]) if "dew point" in sky else at.vapour
    at.wind = sky.get("headwind", at.wind)
    at.slope = sky.get("slope", at.slope)
    if "first ground speed" in sky:
        at.marks = (sky["first ground speed"], sky["second ground speed"])
    if "first airspeed" in sky:
        pressure = standard_pressure(at.height)
        read = (sky["first airspeed"], sky["second airspeed"])
        at.level_marks = tuple(one * one / calibrated(one, pressure) for one in read)
    if "lift-off airspeed" in sky:
        wanted = sky["lift-off airspeed"]
        at.lift_off = wanted * wanted / calibrated(wanted, standard_pressure(at.height))
    return float(result(world.plane, measure, at))


def table(worlds=WORLDS, says=print) -> None:
    """Print every cell."""
    says(
        f"{'measure':13s} {'varied':30s} {'world':18s} raw, residual: largest; believed: share, largest, within 2 u, u"
    )
    for measure, causes in CAUSES.items():
        for cause in causes:
            for world in worlds.values():
                one = held(world, measure, cause)
                fine = one.believed
                worst = np.abs(one.residual[fine]).max(initial=0.0)
                middle = np.median(one.stated[fine]) if fine.any() else np.nan
                says(
                    f"{measure:13s} {cause:30s} {world.name:18s} {100 * np.nanmax(np.abs(one.raw)):5.1f} "
                    f"{100 * np.nanmax(np.abs(one.residual)):5.1f} %; {100 * fine.mean():3.0f} % {100 * worst:5.2f} % "
                    f"{100 * one.within if fine.any() else np.nan:3.0f} % {100 * middle:4.2f} %"
                )


if __name__ == "__main__":
    table()
