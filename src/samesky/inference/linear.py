"""Small least squares that stay accurate, and the operators that turn one flown order into arithmetic for any campaign.

A fit is made through an orthogonal factorisation (Householder QR) of the column-scaled model matrix, never through
the normal equations. Held against the certified values of the NIST Statistical Reference Datasets (linear regression).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Counts, Floats


@dataclass(frozen=True, slots=True, eq=False)
class LinearFit:
    """An ordinary least-squares fit: coefficients (p,), their standard errors (p,), residual sd, df, R squared."""

    coefficients: Floats
    standard_errors: Floats
    residual_sd: float
    degrees_of_freedom: int
    r_squared: float


def fit(columns: Floats, y: Floats, intercept: bool = True) -> LinearFit:
    """Fit ``y`` (n,) by the columns (n, p) of a full-rank model matrix.

    ``intercept`` says whether the columns hold a constant: R squared is then about the mean, else about zero.
    Raises ValueError when there are more columns than observations.

    Parameters
    ----------
    columns : model matrix of full rank, (n, p)
    y : observations, (n,)
    intercept : whether a constant column is put before them
    """
    columns, y = np.asarray(columns, dtype=float), np.asarray(y, dtype=float)
    n, p = columns.shape
    if n < p:
        raise ValueError(f"{p} unknowns cannot be found from {n} observations")
    scale = np.linalg.norm(columns, axis=0)
    q, r = np.linalg.qr(columns / scale)
    beta = np.linalg.solve(r, q.T @ y)
    beta += np.linalg.solve(r, q.T @ (y - (columns / scale) @ beta))  # one step of refinement
    residual = y - (columns / scale) @ beta
    df = n - p
    sd = float(np.sqrt(residual @ residual / df)) if df else float("nan")
    inverse = np.linalg.inv(r)
    errors = sd * np.linalg.norm(inverse, axis=1) / scale
    total = y - y.mean() if intercept else y
    return LinearFit(beta / scale, errors, sd, df, float(1.0 - residual @ residual / (total @ total)))


def rank(columns: Floats) -> int:
    """Number of independent columns of (n, p), after scaling each to unit length.

    Parameters
    ----------
    columns : columns, (n, p)
    """
    length = np.linalg.norm(columns, axis=0)
    kept = columns[:, length > 0] / length[length > 0]
    return int(np.linalg.matrix_rank(kept, tol=1e-8)) if kept.shape[1] else 0


def complement(columns: Floats) -> Floats:
    """Orthonormal rows (n - rank, n) that are blind to every column of (n, p): what is left after fitting them.

    Parameters
    ----------
    columns : columns, (n, p)

    Returns
    -------
    ndarray
        (n - rank, n) [1].
    """
    length = np.linalg.norm(columns, axis=0)
    scaled = columns / np.where(length > 0, length, 1.0)
    u, values, _ = np.linalg.svd(scaled, full_matrices=True)
    return u[:, int(np.sum(values > 1e-8)) :].T


def estimators(columns: Floats) -> Floats:
    """Rows (p, n) of weights that give each least-squares coefficient as a weighted sum of the observations.

    Parameters
    ----------
    columns : model matrix of full rank, (n, p)

    Returns
    -------
    ndarray
        (p, n), in the inverse unit of each column.
    """
    scale = np.linalg.norm(columns, axis=0)
    return np.linalg.pinv(columns / scale, rcond=1e-10) / scale[:, None]


def indicators(labels: Counts) -> Floats:
    """One 0/1 column for each distinct label: (n, number of labels), in the order of the sorted labels.

    Parameters
    ----------
    labels : labels, (n,)

    Returns
    -------
    ndarray
        (n, number of labels) [1], zeros and ones.
    """
    return (np.asarray(labels)[:, None] == np.unique(labels)[None, :]).astype(float)
