"""Computed values for the printed rows on least squares, drift, mixed models, uncertainty and pooling, by row name."""

from __future__ import annotations

from functools import cache

import numpy as np
from flown import order
from scipy import special

from samesky.inference import pooling
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.linear import LinearFit, estimators, fit, indicators
from samesky.inference.uncertainty import join, sd_of_sd, t_quantile, welch_satterthwaite
from samesky.published.registry import dataset

COMPUTED: dict = {}

# ---- NIST Statistical Reference Datasets: linear regression, analysis of variance, univariate ----------------------

#: Degree of the polynomial, whether there is a constant, by data set.
REGRESSIONS = {
    "Norris": (1, True),
    "Pontius": (2, True),
    "NoInt1": (1, False),
    "NoInt2": (1, False),
    "Longley": (None, True),
    "Wampler1": (5, True),
    "Wampler2": (5, True),
    "Wampler3": (5, True),
    "Wampler4": (5, True),
    "Wampler5": (5, True),
    "Filip": (10, True),
}


@cache
def regression(name: str) -> LinearFit:
    frame = dataset(f"strd_{name}")
    degree, constant = REGRESSIONS[name]
    if degree is None:
        columns = [frame[c].values for c in frame.columns if c.startswith("x")]
    else:
        x = frame["x1"].values if "x1" in frame else frame["x"].values
        columns = [x**power for power in range(1, degree + 1)]
    columns = ([np.ones(len(frame))] if constant else []) + columns
    return fit(np.column_stack(columns), frame["y"].values, intercept=constant)


@cache
def one_way(name: str) -> LinearFit:
    frame = dataset(f"strd_{name}")
    groups = indicators(frame["group"].values)
    groups[:, 0] = 1.0
    return fit(groups, frame["y"].values)


for _name, (_degree, _constant) in REGRESSIONS.items():
    _p = 7 if _degree is None else _degree + _constant
    _exact = _name in ("Wampler1", "Wampler2")  # no residual: certified errors are zero, and no row prints them
    for _j in range(_p):
        _b = _j if _constant else 1
        COMPUTED[f"REG-{_name}-B{_b}"] = lambda n=_name, j=_j: regression(n).coefficients[j]
        if not _exact:
            COMPUTED[f"REG-{_name}-SE{_b}"] = lambda n=_name, j=_j: regression(n).standard_errors[j]
    COMPUTED[f"REG-{_name}-R2"] = lambda n=_name: regression(n).r_squared
    if not _exact:
        COMPUTED[f"REG-{_name}-s"] = lambda n=_name: regression(n).residual_sd
for _name in ("SiRstv", "AtmWtAg", "SmLs01", "SmLs04", "SmLs07"):
    COMPUTED[f"AOV-{_name}-R2"] = lambda n=_name: one_way(n).r_squared
    COMPUTED[f"AOV-{_name}-s"] = lambda n=_name: one_way(n).residual_sd
    COMPUTED[f"AOV-{_name}-F"] = lambda n=_name: (
        one_way(n).r_squared
        / (1 - one_way(n).r_squared)
        * one_way(n).degrees_of_freedom
        / (len(one_way(n).coefficients) - 1)
    )
for _name in ("Lew", "Michelso", "NumAcc1", "NumAcc2", "NumAcc3", "NumAcc4", "PiDigits"):
    _plain = cache(
        lambda n=_name: fit(np.ones((len(dataset(f"strd_{n}")), 1)), dataset(f"strd_{n}").iloc[:, -1].values)
    )
    COMPUTED[f"UNI-{_name}-mean"] = lambda f=_plain: f().coefficients[0]
    COMPUTED[f"UNI-{_name}-sd"] = lambda f=_plain: f().residual_sd

# ---- Orders that resist drift ---------------------------------------------------------------------------------------

for _letters in ("ABBA", "ABBAABBA", "ABBABAAB", "ABAB", "AABB"):
    for _power in (1, 2):

        def _bias(letters=_letters, power=_power):
            flown = order(letters)
            means = flown.averages(flown.configuration) @ np.arange(flown.runs) ** float(power)
            return means[1] - means[0]

        COMPUTED[f"ORD-{_letters}-{_power}"] = _bias

# X R R X with the other configuration X: the weights of the regression on configuration and time.
COMPUTED["XRRX-D"] = lambda: recognise(order("BAAB")).weights


@cache
def drifting(degree: int) -> LinearFit:
    """Four items three times round, with polynomial drift about the middle reading."""
    frame = dataset("drift_paper_4x3")
    t = frame["reading"].values - frame["reading"].values[0]
    return fit(
        np.column_stack([indicators(frame["item"].values), *(t.astype(float) ** k for k in range(1, degree + 1))]),
        frame["value"].values,
    )


@cache
def item_difference(first: int, second: int) -> tuple[float, float]:
    """Difference of two items with quadratic drift removed, and its standard error."""
    frame = dataset("drift_paper_4x3")
    t = (frame["reading"] - frame["reading"].iloc[0]).values.astype(float)
    items = indicators(frame["item"].values)
    columns = items.copy()
    # In the basis (difference, second item + first, others) the first coefficient is the difference itself.
    columns[:, second] += columns[:, first]
    found = fit(np.column_stack([columns, t, t * t]), frame["value"].values)
    return found.coefficients[first], found.standard_errors[first]


for _degree in range(4):
    COMPUTED[f"DRP-s{_degree}"] = lambda d=_degree: drifting(d).residual_sd
COMPUTED["DRP-1"] = lambda: drifting(2).coefficients[4]
COMPUTED["DRP-2"] = lambda: drifting(2).standard_errors[4]
COMPUTED["DRP-3"] = lambda: drifting(2).coefficients[5]
COMPUTED["DRP-4"] = lambda: drifting(2).standard_errors[5]
for _i, _j in ((0, 1), (1, 2), (2, 3), (3, 0)):
    COMPUTED[f"DRP-d{_i}{_j}"] = lambda i=_i, j=_j: item_difference(i, j)[0]
    COMPUTED[f"DRP-u{_i}{_j}"] = lambda i=_i, j=_j: item_difference(i, j)[1]


@cache
def weighing() -> np.ndarray:
    """Weights of the eight readings for items 1 to 4 and the drift, with the sum of items 1 and 2 given."""
    frame = dataset("cameron_hailes_4")
    b = frame[["b1", "b2", "b3", "b4"]].values.astype(float)
    # Items 1 and 2 are half the restraint plus and minus half their difference; the restraint itself is no unknown.
    columns = np.column_stack([(b[:, 0] - b[:, 1]) / 2, b[:, 2], b[:, 3], frame["drift"].values.astype(float)])
    rows = estimators(columns)
    return np.stack([rows[0] / 2, -rows[0] / 2, rows[1], rows[2], rows[3]])


for _k in range(8):
    COMPUTED[f"CH4-Y{_k + 1}"] = lambda k=_k: tuple(168 * weighing()[:, k])
COMPUTED["CH4-K-refe"] = lambda: np.linalg.norm(weighing()[0])
COMPUTED["CH4-K-test"] = lambda: np.linalg.norm(weighing()[2])
COMPUTED["CH4-K-diff"] = lambda: np.linalg.norm(weighing()[0] - weighing()[1])
_design111 = np.array([[-1.0, 0.0], [0.0, -1.0], [1.0, -1.0]])
COMPUTED["D111-1"] = lambda: np.linalg.norm(estimators(_design111)[0])
COMPUTED["D111-2"] = lambda: np.linalg.norm(estimators(_design111).sum(axis=0))

# ---- Mixed models in balanced blocks: plain least squares gives the same -------------------------------------------


@cache
def stools() -> tuple[LinearFit, LinearFit, LinearFit]:
    """Effort on subjects and types, on subjects alone, on types alone."""
    frame = dataset("ergostool")
    subject, types = indicators(frame["Subject"].values), indicators(frame["Type"].values)[:, 1:]
    y = frame["effort"].values.astype(float)
    return (
        fit(np.hstack([subject, types]), y),
        fit(subject, y),
        fit(np.hstack([np.ones((len(y), 1)), types]), y),
    )


def _square_sum(found: LinearFit) -> float:
    return found.residual_sd**2 * found.degrees_of_freedom


COMPUTED["ERG-2"] = lambda: stools()[0].residual_sd
COMPUTED["ERG-3"] = lambda: (_square_sum(stools()[1]) - _square_sum(stools()[0])) / 3 / stools()[0].residual_sd ** 2
COMPUTED["ERG-4"] = lambda: stools()[0].coefficients[9]
COMPUTED["ERG-5"] = lambda: stools()[0].standard_errors[9]
COMPUTED["ERG-7"] = lambda: stools()[0].coefficients[9] / stools()[0].standard_errors[9]
COMPUTED["ERG-1"] = lambda: np.sqrt(
    ((_square_sum(stools()[2]) - _square_sum(stools()[0])) / 8 - stools()[0].residual_sd ** 2) / 4
)


@cache
def groups(name: str, label: str, value: str) -> tuple[LinearFit, LinearFit, int]:
    """Readings on groups, group means on one mean, readings a group."""
    frame = dataset(name)
    members = indicators(frame[label].values)
    means = (members / members.sum(axis=0)).T @ frame[value].values
    return (
        fit(members, frame[value].values.astype(float)),
        fit(np.ones((len(means), 1)), means),
        len(frame) // len(means),
    )


for _prefix, _args in (("RAIL", ("rail", "Rail", "travel")), ("DYE", ("dyestuff", "Batch", "Yield"))):
    _within = lambda a=_args: groups(*a)[0].residual_sd ** 2  # noqa: E731
    _across = lambda a=_args: groups(*a)[1].residual_sd ** 2 - groups(*a)[0].residual_sd ** 2 / groups(*a)[2]  # noqa: E731
    _mean = lambda a=_args: groups(*a)[1].coefficients[0]  # noqa: E731
    _error = lambda a=_args: groups(*a)[1].standard_errors[0]  # noqa: E731
    if _prefix == "RAIL":
        COMPUTED["RAIL-1"] = lambda f=_across: np.sqrt(f())
        COMPUTED["RAIL-2"] = lambda f=_within: np.sqrt(f())
        COMPUTED |= {"RAIL-3": _mean, "RAIL-4": _error}
    else:
        COMPUTED |= {"DYE-1": _across, "DYE-2": _within, "DYE-3": _mean, "DYE-4": _error}


@cache
def oats() -> dict[str, float]:
    """Split plot: varieties on whole plots, nitrogen within them."""
    frame = dataset("oats")
    y = frame["yld"].values.astype(float)
    plot = (frame["Block"] + frame["Variety"]).values
    whole, block, variety = indicators(plot), indicators(frame["Block"].values), indicators(frame["Variety"].values)
    nitro = indicators(frame["nitro"].values)
    crossed = np.hstack([nitro[:, [k]] * variety[:, [m]] for k in range(1, 4) for m in range(1, 3)])
    additive = fit(np.hstack([whole, nitro[:, 1:]]), y)
    full = fit(np.hstack([whole, nitro[:, 1:], crossed]), y)
    plots = fit(whole, y)
    linear = fit(np.column_stack([whole, frame["nitro"].values]), y)
    means = (whole / whole.sum(axis=0)).T
    by_plot = fit(np.hstack([means @ block, (means @ variety)[:, 1:]]), means @ y)
    blocks = fit(means @ block, means @ y)
    varieties = fit(means @ np.hstack([np.ones((len(y), 1)), variety[:, 1:]]), means @ y)
    drop = lambda small, large, k: (_square_sum(small) - _square_sum(large)) / k  # noqa: E731
    between_blocks = drop(varieties, by_plot, 5)
    return {
        "OAT-1": drop(blocks, by_plot, 2) / by_plot.residual_sd**2,
        "OAT-2": drop(plots, additive, 3) / full.residual_sd**2,
        "OAT-3": drop(additive, full, 6) / full.residual_sd**2,
        "OAT-4": float(special.fdtrc(2, 10, drop(blocks, by_plot, 2) / by_plot.residual_sd**2)),
        "OAT-5": additive.residual_sd,
        "OAT-6": np.sqrt(by_plot.residual_sd**2 - additive.residual_sd**2 / 4),
        "OAT-7": np.sqrt((between_blocks - by_plot.residual_sd**2) / 3),
        "OAT-8": by_plot.standard_errors[-1],
        "OAT-9": linear.coefficients[-1],
    }


for _k in range(1, 10):
    COMPUTED[f"OAT-{_k}"] = lambda k=_k: oats()[f"OAT-{k}"]


@cache
def subjects() -> tuple[np.ndarray, np.ndarray, float]:
    """Straight line of each subject (18, 2), their covariance, pooled residual variance: REML when balanced."""
    frame = dataset("sleepstudy")
    lines, squares = [], 0.0
    for _, one in frame.groupby("Subject"):
        found = fit(np.column_stack([np.ones(len(one)), one["Days"]]), one["Reaction"].values)
        lines.append(found.coefficients)
        squares += _square_sum(found)
    return np.array(lines), np.cov(np.array(lines).T), squares / (18 * 8)


def _slopes() -> np.ndarray:
    days = np.column_stack([np.ones(10), np.arange(10.0)])
    return subjects()[1] - subjects()[2] * np.linalg.inv(days.T @ days)


COMPUTED["SST-1"] = lambda: subjects()[0][:, 0].mean()
COMPUTED["SST-2"] = lambda: subjects()[0][:, 1].mean()
COMPUTED["SST-4"] = lambda: np.sqrt(_slopes()[0, 0])
COMPUTED["SST-5"] = lambda: np.sqrt(_slopes()[1, 1])
COMPUTED["SST-6"] = lambda: np.sqrt(subjects()[2])
COMPUTED["SST-7"] = lambda: _slopes()[0, 1] / np.sqrt(_slopes()[0, 0] * _slopes()[1, 1])

# ---- Uncertainty ----------------------------------------------------------------------------------------------------

_end_gauge = (
    np.array([25.0, 9.7, 50000623 * 0.1 * 0.58e-6, 50000623 * 11.5e-6 * 0.029]),
    np.array([18.0, 25.6, 50.0, 2.0]),
)
COMPUTED["GH1-2"] = lambda: welch_satterthwaite(*_end_gauge)[0]
COMPUTED["GH1-5"] = lambda: welch_satterthwaite(*_end_gauge)[1]
COMPUTED["GH1-6"] = lambda: t_quantile(0.995, 16)
COMPUTED["GH1-9"] = lambda: welch_satterthwaite(np.array([5.8, 3.9, 6.7]), np.array([24, 5, 8]))[0]
COMPUTED["WS-1"] = lambda: welch_satterthwaite(np.ones(4), np.full(4, 10))[1]
_resistor = (np.array([0.25, 0.57, 0.82]), np.array([9, 4, 14]))
COMPUTED["WS-2"] = lambda: welch_satterthwaite(*_resistor)[1]
COMPUTED["WS-3"] = lambda: welch_satterthwaite(*_resistor)[0]
COMPUTED["WS-4"] = lambda: t_quantile(0.975, 19) * welch_satterthwaite(*_resistor)[0]
for _n in (2, 3, 4, 5, 10, 20, 30, 50):
    COMPUTED[f"E1-{_n}"] = lambda n=_n: 100 * sd_of_sd(n)
COMPUTED["S1-A1"] = lambda: t_quantile(0.975, np.inf) * join(np.ones(4), np.full(4, np.inf))[0]
COMPUTED["S1-A3"] = lambda: join(np.ones(4), np.full(4, np.inf))[0]
COMPUTED["S1-A4"] = lambda: join(np.array([1.0, 1.0, 1.0, 100.0]), np.full(4, np.inf))[0]
COMPUTED["S1-A6"] = lambda: t_quantile(0.975, np.inf) * join(np.array([1.0, 1.0, 1.0, 100.0]), np.full(4, np.inf))[0]


@cache
def voltage():
    """Ten days of five readings: t over the days."""
    frame = dataset("gum_h5")
    means = 1e6 * (frame["mean_V"].values - 10.0)
    flown = order("|".join(["AB"] * len(means)))
    return estimate(recognise(flown), np.stack([0 * means, means], axis=-1).ravel()), frame["sd_uV"].values


COMPUTED["GH5-grand mean - 1"] = lambda: voltage()[0].difference
COMPUTED["GH5-s of daily mea"] = lambda: voltage()[0].scatter
COMPUTED["GH5-u(V) with day "] = lambda: voltage()[0].standard_uncertainty
COMPUTED["GH5-F.95(9,40)"] = lambda: special.fdtri(9, 40, 0.95)
COMPUTED["GH5-F.975(9,40)"] = lambda: special.fdtri(9, 40, 0.975)

# ---- Pooling --------------------------------------------------------------------------------------------------------


@cache
def trials() -> tuple[np.ndarray, np.ndarray]:
    """Log relative risks and their variances."""
    frame = dataset("bcg").astype(float)
    treated, control = frame["tpos"] + frame["tneg"], frame["cpos"] + frame["cneg"]
    risk = np.log(frame["tpos"] / treated) - np.log(frame["cpos"] / control)
    return risk.values, (1 / frame["tpos"] - 1 / treated + 1 / frame["cpos"] - 1 / control).values


def heterogeneity() -> float:
    """Q: from the Hartung-Knapp variance without between-group variance."""
    d, v = trials()
    _, error, _ = pooling.hartung_knapp(d, v, np.zeros(()))
    return error**2 * (len(d) - 1) * (1 / v).sum()


COMPUTED["BCG-fixed estimate"] = lambda: pooling.hartung_knapp(*trials(), np.zeros(()))[0]
COMPUTED["BCG-Q"] = heterogeneity
COMPUTED["BCG-I2 percent"] = lambda: 100 * (1 - 12 / heterogeneity())
COMPUTED["BCG-DL estimate"] = lambda: pooling.hartung_knapp(*trials(), np.array(0.30876))[0]
COMPUTED["BCG-REML est"] = lambda: pooling.hartung_knapp(*trials(), np.array(0.313243))[0]
