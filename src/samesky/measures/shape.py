"""What shape does every measure have?

A measure is one way of asking the aeroplane a question: its columns, the corrections that bring a run to the common
sky, the coefficients those corrections lean on, their validity, and what disturbs the readings. Each measure is one
file beside this one that builds one :class:`Measure`; nothing else has to change when a measure is added.

Everything here is plain SI on arrays whose last axis is the runs, so that one campaign ``(n,)`` and ten thousand
simulated ones ``(10000, n)`` take the same path.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import NO_LAW, Known
from samesky.instruments.sources import ErrorSource

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Prepared columns of some runs, by column name, SI, last axis the runs.
Runs = Mapping[str, "Floats"]
#: The common sky: one value a condition, by column name, SI (scalars, or arrays that broadcast against the runs).
Sky = Mapping[str, "Numbers"]
#: Values of the coefficients by name.
Coefficients = Mapping[str, "Numbers"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a measure's file.

    ``dimension`` is a key of :data:`samesky.units.DIMENSIONS`, or ``"text"``. ``low`` and ``high`` [SI] bound what is
    believable at all: outside them the cell is refused as a slip of the pen or of the unit. ``also`` names other
    dimensions in which people write the same thing (fuel by mass); the bounds are those of ``dimension``.
    """

    name: str
    dimension: str
    meaning: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A number that a correction leans on, with what is known of it.

    ``standard_uncertainty`` is zero only for a definition; a number without a printed source says so in ``source``
    and carries an uncertainty, which enters the budget of the difference.
    """

    name: str
    value: float
    standard_uncertainty: float
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """The value of every run [SI of the measure] after the correction of this name."""

    name: str
    value: Floats


@dataclass(frozen=True, slots=True)
class WorstDrift:
    """The fastest drift of the corrected result that is believable in an hour, as a fraction of it, and why.

    A limit, no scatter: what a single swap is judged against, because its order cannot show drift at all.
    """

    fraction: float
    reason: str


@dataclass(frozen=True, slots=True)
class Limit:
    """The range in which a correction is believed.

    ``quantity(runs, sky)`` gives, per run, what is bounded by ``low`` and ``high`` (either may be None);
    ``says`` completes the sentence "run 7: the wind correction ...".
    """

    correction: str
    says: str
    quantity: Callable[[Runs, Sky], Floats]
    low: float | None = None
    high: float | None = None


#: Relative standard uncertainty of the weight of a campaign, and of the airspeed that its system shows near the stall
#: and in the climb (both assumed: 10 kg of 600, 2 kt of 50). They are common to all runs, cancel in every measure's own
#: difference, and are factors on the force that it stands for.
WEIGHT_KNOWN, AIRSPEED_KNOWN = 0.02, 0.03


@dataclass(frozen=True, slots=True)
class Vantage:
    """What a measure may lean on when it says what it sees of the excess thrust.

    Attributes
    ----------
    sky : the common sky to which its results were brought [SI], by condition
    means : mean of every prepared column over the runs compared [SI], by column
    level : the baseline's result at that sky [SI]
    known : what the campaign knows of its aeroplane
    """

    sky: Mapping[str, float]
    means: Mapping[str, float]
    level: float
    known: Known


@dataclass(frozen=True, slots=True)
class Sight:
    """Where and how a measure sees the excess thrust F, full-throttle thrust less all that resists.

    A result stands for ``F = factor x result ** exponent`` [N], but for a constant that both configurations share, so
    that the difference of two results at the common sky is the difference of two forces.

    Attributes
    ----------
    airspeed : true [m/s], at which the force is seen; of a force averaged over a run, where a straight line has its
        mean
    factor, exponent : of the result [SI]; the exponent is 1 for an acceleration, -1 for a time or a length
    density : of the air in which it is seen [kg/m^3], None where nobody wrote down the air
    doubts : what the factor is not known by, common to the campaign: for each cause (``"weight"``, ``"airspeed"``,
        ``"power"``, one and the same cause in every measure) the relative change of the factor at one standard
        uncertainty of it, with its sign
    """

    airspeed: float
    factor: float
    exponent: float = 1.0
    density: float | None = None
    doubts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ThrustView:
    """How a measure sees the difference of excess thrust.

    Attributes
    ----------
    see : what it sees from a vantage, or the reason why it sees nothing, a clause without its stop
    needs : conditions that the common sky must hold; where one is missing ``see`` is not asked, and the reason says
        what was not written down
    aloft : whether it is seen in flight; else from standstill to lift-off
    """

    see: Callable[[Vantage], Sight | str]
    needs: tuple[str, ...] = ()
    aloft: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """One way of asking the aeroplane a question.

    Attributes
    ----------
    name : the file's stem, such as ``"takeoff_roll"``
    title : how a pilot says it
    result : what the reduced number is, in words
    dimension : of the result, key of :data:`samesky.units.DIMENSIONS`
    unit : in which the result is shown unless the pilot's file or campaign says otherwise
    better : ``"smaller"`` or ``"larger"``
    ratio : compare by ratio (logarithms) rather than by difference; for results that scatter in per cent
    columns : own columns, beyond the common ones
    conditions : names of prepared columns that define the common sky of this measure
    corrections : names of all corrections that ``reduce`` can make, in order
    reduce : (runs, sky, coefficients) -> steps; the first step is the result as flown, uncorrected; a correction
        whose readings are absent is left out
    needs : for each correction, the prepared columns without which it is left out
    explained : what a correction does, for the report, where it does not do what those of this name do elsewhere
    coefficients, sources, limits, assumptions : see the classes; assumptions are sentences for the report
    coefficients_for, said_for : coefficients, and further assumptions, that follow from what is known of the aeroplane;
        ``coefficients`` are then those of one of which nothing is known (see :func:`suited`)
    not_corrected : corrections that cannot be made for this aeroplane, each with the reason; what the condition may do
        to the result is then in the uncertainty of the coefficients alone
    plausible : believable range of the reduced result [SI], or None
    worst_drift : the fastest drift believable where no return shows it, or None where the drift entered alone tells
    shipped : error sources of its result that no reading shows (a fitting, unseen drift, moving air), of ordinary size;
        they stand beside those of the instruments, and a campaign states its own in their place
    far_out : how far a result may stand from those of the other runs before it looks like a slip, as a logarithm of
        their ratio; None for one that nobody knows
    thrust : how it sees the difference of excess thrust, or None where thrust is not what it measures
    common : whether its file has the columns of every file as well; False for a table that is no measure by itself
    """

    name: str
    title: str
    result: str
    dimension: str
    unit: str
    better: str
    ratio: bool
    columns: tuple[Column, ...]
    conditions: tuple[str, ...]
    corrections: tuple[str, ...]
    reduce: Callable[[Runs, Sky, Coefficients], list[Step]]
    needs: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    explained: Mapping[str, str] = field(default_factory=dict)
    coefficients: tuple[Coefficient, ...] = ()
    sources: tuple[ErrorSource, ...] = ()
    limits: tuple[Limit, ...] = ()
    assumptions: tuple[str, ...] = ()
    coefficients_for: Callable[[Known], tuple[Coefficient, ...]] | None = None
    said_for: Callable[[Known], tuple[str, ...]] | None = None
    not_corrected: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    plausible: tuple[float, float] | None = None
    worst_drift: WorstDrift | None = None
    shipped: tuple[ErrorSource, ...] = ()
    far_out: float | None = None
    thrust: ThrustView | None = None
    common: bool = True

    def coefficient_values(self) -> dict[str, float]:
        """The documented value of every coefficient, by name.

        Returns
        -------
        dict
            [unit of each coefficient].
        """
        return {coefficient.name: coefficient.value for coefficient in self.coefficients}

    def to_scale(self, value: Floats) -> Floats:
        """The scale on which runs are compared: natural logarithm for a ratio measure, else the value itself.

        Parameters
        ----------
        value : values [SI] of any shape

        Returns
        -------
        ndarray
            [1] (logarithm) or [SI], of the shape of ``value``.
        """
        return np.log(value) if self.ratio else np.asarray(value, dtype=float)


def has(runs: Runs | Sky, *names: str) -> bool:
    """Whether every named column is there and filled in for every run.

    Parameters
    ----------
    runs : prepared columns of runs or sky [SI], by name
    *names : names of prepared columns
    """
    return all(name in runs and not np.any(np.isnan(runs[name])) for name in names)


@dataclass(frozen=True, slots=True)
class StatedCoefficient:
    """A coefficient as somebody knows it better: value, standard uncertainty and where they come from."""

    value: float
    standard_uncertainty: float
    source: str


def suited(measure: Measure, known: Known, stated: Mapping[str, StatedCoefficient] | None = None) -> Measure:
    """The measure with the coefficients of this aeroplane, and in their place those that are ``stated``, by name.

    Parameters
    ----------
    measure : the measure
    known : what the campaign knows of its aeroplane
    stated : coefficients as the campaign knows them better, by name
    """
    coefficients = measure.coefficients if measure.coefficients_for is None else measure.coefficients_for(known)
    own = dict(stated or {})
    coefficients = tuple(
        replace(one, **{name: getattr(own[one.name], name) for name in StatedCoefficient.__slots__})
        if one.name in own
        else one
        for one in coefficients
    )
    assumptions = measure.assumptions + (() if measure.said_for is None else measure.said_for(known))
    found = replace(measure, coefficients=coefficients, assumptions=assumptions)
    return found if measure.coefficients_for is None or known.has_law() else _without_law(found)


#: How far density may be from the common one where nothing corrects for it (assumed: 300 ft, or 3 K).
ALIKE = (0.99, 1.01)


def _without_law(measure: Measure) -> Measure:
    """The measure of an engine whose power nobody can bring from one air to another."""
    limits = tuple(
        replace(one, says=f"is not made ({NO_LAW})", low=ALIKE[0], high=ALIKE[1])
        if one.correction == "density"
        else one
        for one in measure.limits
    )
    return replace(measure, limits=limits, not_corrected={"density": NO_LAW})
