"""Computed values for the printed rows on two samples, pairs, crossovers and equivalence, by row name."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from flown import order
from scipy import special

from samesky.inference import exact, verdict
from samesky.inference.comparison import welch_interval
from samesky.inference.design import recognise
from samesky.inference.estimate import Estimate, estimate
from samesky.inference.linear import fit
from samesky.inference.uncertainty import t_quantile, two_sided_p, welch_satterthwaite
from samesky.published.registry import dataset, row


def paired(first, second) -> Estimate:
    """Second minus first, one neighbouring pair a day: the t over days is the paired t."""
    flown = order("|".join(["AB"] * len(first)))
    return estimate(recognise(flown), np.stack([first, second], axis=-1).ravel())


def pooled(first, second):
    """Second minus first by regression on the group: difference, standard error, df, pooled sd."""
    group = np.repeat([0.0, 1.0], [len(first), len(second)])
    found = fit(np.column_stack([group, np.ones_like(group)]), np.concatenate([first, second]))
    return found.coefficients[0], found.standard_errors[0], found.degrees_of_freedom, found.residual_sd


def welch(n1, s1, n2, s2):
    """Standard error and degrees of freedom of a difference of two means."""
    return welch_satterthwaite(np.array([s1 / n1**0.5, s2 / n2**0.5]), np.array([n1 - 1, n2 - 1]))


@dataclass
class Fitted:
    """A difference with its standard error and degrees of freedom; ``scatter`` of one period."""

    difference: float
    standard_uncertainty: float
    degrees_of_freedom: int
    scatter: float

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        half = float(t_quantile(0.5 + level / 2, self.degrees_of_freedom)) * self.standard_uncertainty
        return self.difference - half, self.difference + half


def crossover(frame, log=True) -> Fitted:
    """Test minus reference in two periods: least squares of each subject's difference on a mean and its order."""
    values = np.log(frame["Var"]) if log else frame["Var"]
    wide = frame.assign(value=values).pivot(index="Subj", columns="Trt", values=["value", "Per"])
    later = np.sign((wide["Per"]["T"] - wide["Per"]["R"]).to_numpy(dtype=float))
    found = fit(np.column_stack([np.ones_like(later), later]), (wide["value"]["T"] - wide["value"]["R"]).to_numpy())
    return Fitted(found.coefficients[0], found.standard_errors[0], found.degrees_of_freedom, found.residual_sd / 2**0.5)


def numbers(text: str) -> np.ndarray:
    return np.array([float(number) for number in text.replace(",", " ").split()])


def between(id_: str, start: str, end: str | None = None) -> np.ndarray:
    text = row(id_).inputs.split(start, 1)[1]
    return numbers(text.split(end, 1)[0] if end else text)


COMPUTED: dict = {}


def _pairs(prefix, names, first, second):
    @cache
    def found():
        return paired(first, second)

    low = {0.95: lambda: found().interval(0.95), 0.90: lambda: found().interval(0.90)}
    pick = {
        "mean": lambda: found().difference,
        "se": lambda: found().standard_uncertainty,
        "sd": lambda: found().scatter,
        "t": lambda: found().difference / found().standard_uncertainty,
        "p": lambda: found().p_value,
        "low": lambda: low[0.95]()[0],
        "high": lambda: low[0.95]()[1],
    }
    COMPUTED.update({f"{prefix}-{k}": pick[name] for k, name in names.items()})


_sleep = dataset("student_sleep")
_pairs("SLP", {1: "mean", 5: "t", 6: "p", 7: "low", 8: "high"}, _sleep["drug1"].values, _sleep["drug2"].values)
_z = lambda: paired(_sleep["drug1"].values, _sleep["drug2"].values)  # noqa: E731
COMPUTED["SLP-2"] = lambda: _z().scatter * np.sqrt(9 / 10)
COMPUTED["SLP-3"] = lambda: _z().difference / (_z().scatter * np.sqrt(9 / 10))
_two = lambda: welch(10, _sleep["drug1"].std(), 10, _sleep["drug2"].std())  # noqa: E731
COMPUTED["SLP-9"] = lambda: (_sleep["drug1"].mean() - _sleep["drug2"].mean()) / _two()[0]
COMPUTED["SLP-10"] = lambda: _two()[1]
COMPUTED["SLP-11"] = lambda: two_sided_p(COMPUTED["SLP-9"](), _two()[1])
COMPUTED["SLP-12"] = lambda: welch_interval(_sleep["drug2"].values, _sleep["drug1"].values)[0]
COMPUTED["SLP-13"] = lambda: welch_interval(_sleep["drug2"].values, _sleep["drug1"].values)[1]
COMPUTED["SLP-14"] = lambda: exact.sign_flip_p((_sleep["drug2"] - _sleep["drug1"]).values)

_maize = dataset("darwin_zea_mays")
_eighths = np.round(8 * (_maize["cross"] - _maize["self"]).values)
_pairs("ZEA", {2: "mean", 3: "se", 4: "t"}, 0 * _eighths, _eighths)
COMPUTED["ZEA-1"] = lambda: 15 * paired(0 * _eighths, _eighths).difference
COMPUTED["ZEA-9"] = lambda: 100 * paired(0 * _eighths, _eighths).p_value
_counts = lambda: exact.sign_flip_counts(_eighths)  # noqa: E731
COMPUTED["ZEA-5"] = lambda: (_counts()[0] - _counts()[1]) / 2
COMPUTED["ZEA-6"] = lambda: _counts()[1] / 2
COMPUTED["ZEA-7"] = lambda: _counts()[0] / 2
COMPUTED["ZEA-8"] = lambda: 100 * exact.sign_flip_p(_eighths)

_shoes = dataset("bhh_shoes")
_pairs(
    "SHO",
    {1: "mean", 2: "sd", 3: "t", 4: "p", 5: "low", 6: "high"},
    _shoes["A"].values,
    _shoes["B"].values,
)
COMPUTED["KRS-1"] = COMPUTED["SHO-3"]
_wear = lambda: exact.sign_flip_counts((_shoes["B"] - _shoes["A"]).values)  # noqa: E731
COMPUTED["SHO-7"] = lambda: (_wear()[0] - _wear()[1]) / 2
COMPUTED["SHO-8"] = lambda: _wear()[1] / 2
COMPUTED["SHO-9"] = lambda: 100 * ((_wear()[0] - _wear()[1]) / 2 + _wear()[1] / 4) / 1024
COMPUTED["SHO-10"] = lambda: 100 * paired(_shoes["A"].values, _shoes["B"].values).p_value / 2
COMPUTED["SHO-11"] = lambda: exact.sign_flip_p((_shoes["B"] - _shoes["A"]).values)
_both = lambda: pooled(_shoes["B"].values, _shoes["A"].values)  # noqa: E731
COMPUTED["SHO-12"] = lambda: _both()[0] / _both()[1]
COMPUTED["SHO-13"] = lambda: two_sided_p(_both()[0] / _both()[1], _both()[2])

_a, _b = between("IND-1", "A =", ";"), between("IND-1", "B =", "(")
_plant = lambda: pooled(_a, _b)  # noqa: E731
COMPUTED["IND-3"] = lambda: _plant()[0]
COMPUTED["IND-7"] = lambda: _plant()[0] / _plant()[1]
COMPUTED["IND-8"] = lambda: two_sided_p(_plant()[0] / _plant()[1], _plant()[2]) / 2

_cars = (249, 6.41470, 79, 6.10771)
COMPUTED["NIST-3"] = lambda: (20.14458 - 30.48101) / welch(*_cars)[0]
COMPUTED["NIST-4"] = lambda: welch(*_cars)[1]
_old, _new = between("NIST-5", "old procedure", ";"), between("NIST-5", "; new")
COMPUTED["NIST-9"] = lambda: (_old.mean() - _new.mean()) / welch(11, _old.std(ddof=1), 9, _new.std(ddof=1))[0]
COMPUTED["NIST-10"] = lambda: welch(11, _old.std(ddof=1), 9, _new.std(ddof=1))[1]

_one, _two_ = between("CAT-t", "catalyst 1", ";"), between("CAT-t", "catalyst 2", "(")
_cat = lambda: pooled(_two_, _one)  # noqa: E731
COMPUTED["CAT-pooled-sd"] = lambda: _cat()[3]
COMPUTED["CAT-t"] = lambda: _cat()[0] / _cat()[1]
COMPUTED["CAT-95-%-CI-lower"] = lambda: _cat()[0] - t_quantile(0.975, _cat()[2]) * _cat()[1]
COMPUTED["CAT-95-%-CI-upper"] = lambda: _cat()[0] + t_quantile(0.975, _cat()[2]) * _cat()[1]

_pressure = dataset("bloodp")
_treated = (_pressure["group"] == "group1").astype(int).values
COMPUTED["BP-1"] = lambda: exact.relabelling_tails(_pressure["bp"].values, _treated)[0]
_aids = dataset("sal_aids")
_fall = (_aids["pre"] - _aids["post"]).values
for _k, _factor in ((1, 1.0), (2, 0.5), (3, 1.0)):
    COMPUTED[f"SAL-{_k}"] = lambda factor=_factor: factor * exact.sign_flip_p(_fall)
for _n in (3, 4, 5):
    COMPUTED[f"MINU-{_n}"] = lambda n=_n: exact.relabelling_p(np.arange(2.0 * n), np.repeat([0, 1], n))

for _df in [*range(1, 21), 25, 30, 40, 60, 120]:
    COMPUTED[f"TQ-{_df}"] = lambda df=_df: t_quantile(0.975, df)
for _df in range(1, 11):
    COMPUTED[f"TQ90-{_df}"] = lambda df=_df: t_quantile(0.95, df)
_zarr = (195, 9.26146, 0.02278881)
for _k, _side in ((1, -1), (2, 1)):
    COMPUTED[f"ZARR-{_k}"] = lambda s=_side: _zarr[1] + s * t_quantile(0.975, 194) * _zarr[2] / np.sqrt(195)
_mercury = np.array([38.9, 37.4, 37.1])
_hg = lambda: paired(0 * _mercury, _mercury)  # noqa: E731
COMPUTED["MILL-1"] = lambda: _hg().difference
COMPUTED["MILL-2"] = lambda: _hg().scatter
COMPUTED["MILL-3"] = lambda: paired(38.9 + 0 * _mercury, _mercury).difference / _hg().standard_uncertainty
COMPUTED["MILL-4"] = lambda: paired(38.9 + 0 * _mercury, _mercury).p_value
COMPUTED["MILL-5"] = lambda: _hg().interval()[0]
COMPUTED["MILL-6"] = lambda: _hg().interval()[1]

for _name, _file in (("BEA", "be2x2_rds1"), ("BEC", "be2x2_rds3"), ("BEE", "be2x2_rds5")):
    _two_period = cache(lambda file=_file: crossover(dataset(file)))
    COMPUTED[f"{_name}-GMR"] = lambda f=_two_period: 100 * np.exp(f().difference)
    COMPUTED[f"{_name}-LCI"] = lambda f=_two_period: 100 * np.exp(f().interval(0.90)[0])
    COMPUTED[f"{_name}-UCI"] = lambda f=_two_period: 100 * np.exp(f().interval(0.90)[1])
_auc = cache(lambda: crossover(dataset("chow_liu_auc"), log=False))
COMPUTED["CL-3"] = lambda: _auc().difference
COMPUTED["CL-4"] = lambda: _auc().interval(0.90)[0]
COMPUTED["CL-5"] = lambda: _auc().interval(0.90)[1]
COMPUTED["CL-6"] = lambda: _auc().scatter ** 2

for _k in (1, 2, 3):
    _frame = dataset(f"be_parallel_pds{_k}")
    _sides = [np.log(_frame["Var"][_frame["Treat"] == side].values) for side in "RT"]
    COMPUTED[f"BEP{_k}-w-GMR"] = lambda s=_sides: 100 * np.exp(s[1].mean() - s[0].mean())
    for _end, _label in enumerate(("LCI", "UCI")):
        COMPUTED[f"BEP{_k}-w-{_label}"] = lambda s=_sides, e=_end: 100 * np.exp(welch_interval(*s, level=0.90)[e])
        COMPUTED[f"BEP{_k}-o-{_label}"] = lambda s=_sides, e=_end: (
            100 * np.exp(pooled(*s)[0] + (-1, 1)[e] * t_quantile(0.95, pooled(*s)[2]) * pooled(*s)[1])
        )

_clinic = dataset("clinic_tost")
_half = {v: [_clinic[v][_clinic["group"] == g].values for g in (1, 2)] for v in ("var1", "var2")}


def _welch_parts(sides):
    return welch(*(value for side in sides for value in (side.size, side.std(ddof=1))))


def tost_p(difference, error, df, margin=0.6):
    """The larger of the two one-sided p: below 5 % exactly when the 90 % interval is inside the margins."""
    return np.maximum(
        special.stdtr(df, (difference - margin) / error), special.stdtr(df, -(difference + margin) / error)
    )


def _equivalence(letter, difference, error, df):
    COMPUTED[f"TOST-{letter}1"] = lambda: difference() - t_quantile(0.95, df()) * error()
    COMPUTED[f"TOST-{letter}2"] = lambda: difference() + t_quantile(0.95, df()) * error()
    COMPUTED[f"TOST-{letter}3"] = lambda: tost_p(difference(), error(), df())
    COMPUTED[f"TOST-{letter}4"] = df


for _letter, _v in (("A", "var2"), ("B", "var1")):
    _found = cache(lambda v=_v: paired(_half[v][1], _half[v][0]))
    _equivalence(
        _letter,
        lambda f=_found: f().difference,
        lambda f=_found: f().standard_uncertainty,
        lambda f=_found: f().degrees_of_freedom,
    )
for _letter, _v in (("C", "var2"), ("D", "var1")):
    _equivalence(
        _letter,
        lambda v=_v: _half[v][0].mean() - _half[v][1].mean(),
        lambda v=_v: _welch_parts(_half[v])[0],
        lambda v=_v: _welch_parts(_half[v])[1],
    )
_equivalence(
    "E",
    lambda: -pooled(*_half["var1"])[0],
    lambda: pooled(*_half["var1"])[1],
    lambda: float(pooled(*_half["var1"])[2]),
)


def tost_verdict(id_: str) -> int:
    """The verdict on a printed 90 % interval with no claim of a difference, margins of 0.6."""
    low, high = row(f"{id_}1").value, row(f"{id_}2").value
    return int(verdict.judge((-1.0, 1.0), (low, high), -0.6, 0.6, "smaller"))
