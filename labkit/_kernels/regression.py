"""Least squares and the propagation of uncertainty, on floats.

Nothing here knows of motors: the certified data sets of the tests run through the same functions as a bench file.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

__all__ = [
    "Covariance",
    "Fitted",
    "Floats",
    "Model",
    "least_squares",
    "propagate",
    "triangle",
    "upper",
]

Floats: TypeAlias = NDArray[np.float64]
Covariance: TypeAlias = NDArray[np.float64]
#: Parameters, shape (p,), to residuals, shape (n,), and their derivatives, shape (n, p).
Model: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]


class Fitted(NamedTuple):
    """A least-squares solution."""

    parameters: Floats  # shape (p,)
    residuals: Floats  # shape (n,)
    jacobian: Floats  # shape (n, p)
    #: Inverse triangle W of the Jacobian, shape (p, p): the covariance for residuals of unit variance is W·Wᵀ.
    root: Floats
    sum_of_squares: float
    success: bool
    message: str


def upper(matrix: Floats) -> Floats:
    """Return R of the QR factors, shape (min(n, p), p)."""
    factor: Any = np.linalg.qr(matrix, mode="r")  # its type is declared differently from one numpy to the next
    return np.asarray(factor, dtype=np.float64)


def triangle(jacobian: Floats, residuals: Floats) -> tuple[Floats, Floats]:
    """Return R, shape (p, p), and Qᵀr, shape (p,), of the QR factors of a Jacobian of shape (n, p).

    Orthogonal steps keep the digits that the normal equations JᵀJ would lose.
    """
    width = jacobian.shape[1]
    stacked = upper(np.column_stack((jacobian, residuals)))
    full = np.zeros((width + 1, width + 1))
    full[: stacked.shape[0]] = stacked[: width + 1]
    return full[:width, :width], full[:width, width]


def _damped_step(corner: Floats, target: Floats, scale: Floats, damping: float) -> Floats:
    """Return the Levenberg-Marquardt step: least |R·step + target|² + damping·|scale·step|²."""
    if damping > 0:
        corner, target = triangle(
            np.vstack((corner, np.sqrt(damping) * np.diag(scale))), np.concatenate((target, np.zeros(len(scale))))
        )
    size = np.abs(np.diag(corner))
    if size.min(initial=np.inf) > 1e-13 * size.max(initial=0.0):
        step = np.asarray(linalg.solve_triangular(corner, -target, check_finite=False), dtype=np.float64)
    else:
        step = np.asarray(np.linalg.lstsq(corner, -target, rcond=None)[0], dtype=np.float64)
    return step


def _polish(model: Model, point: Floats, scale: Floats) -> tuple[Floats, bool]:
    """Return the point after undamped steps that still shorten, and whether the last was negligible.

    Near the solution the sum of squares is flat to the last digits, while the steps themselves still tell.
    """
    length, settled = np.inf, False
    for _ in range(60):
        residuals, jacobian = model(point)
        corner, target = triangle(jacobian, residuals)
        step = _damped_step(corner, target, scale, 0.0)
        new = float(np.linalg.norm(step * scale))
        if not np.isfinite(new) or new >= length:
            break
        point, length = point + step, new
        small = 1e-9 * np.abs(point) + 1e-6 * np.linalg.norm(residuals) / scale  # beside what scatter leaves open
        settled = settled or bool(np.all(np.abs(step) <= small))
        if np.all(np.abs(step) <= 1e-15 * np.abs(point)):
            break
    return point, settled


def least_squares(model: Model, start: Floats, *, limit: int = 500, exact: bool = True) -> Fitted:
    """Return the parameters with the least sum of squared residuals (Levenberg-Marquardt, then undamped steps).

    Parameters
    ----------
    model : callable
        Parameters to residuals and Jacobian; points where they are not finite are avoided.
    start : array, shape (p,)
    limit : int
        Most evaluations.
    exact : bool
        Whether to go on to the last digits; a fit inside a loop need not.

    Notes
    -----
    Marquardt (1963), J. SIAM 11, 431, with the column scaling of Moré (1978). Five data sets of the NIST Statistical
    Reference Datasets come out to ten certified digits from both of their starting points (see the tests).
    """
    point = np.asarray(start, dtype=np.float64)
    residuals, jacobian = model(point)
    total, damping, rise = float(residuals @ residuals), 1e-3, 2.0
    scale = np.maximum(np.linalg.norm(jacobian, axis=0), 1e-300)
    for _ in range(limit):
        corner, target = triangle(jacobian, residuals)
        scale = np.maximum(scale, np.linalg.norm(jacobian, axis=0))
        step = _damped_step(corner, target, scale, damping)
        with np.errstate(all="ignore"):
            trial, slope = model(point + step)
            trial_total = float(trial @ trial)
        promised = float(target @ target) - float(np.sum((corner @ step + target) ** 2))
        if np.isfinite(trial_total) and np.isfinite(slope).all() and trial_total < total:
            gain = (total - trial_total) / promised if promised > 0 else 1.0
            point, residuals, jacobian, total = point + step, trial, slope, trial_total
            damping, rise = damping * max(1 / 3, 1 - (2 * gain - 1) ** 3), 2.0
        else:
            damping, rise = damping * rise, rise * 2.0
        if (
            promised <= (1e-14 if exact else 1e-10) * total
            or np.all(np.abs(step) <= 1e-12 * np.abs(point))
            or total == 0.0
        ):
            break
    settled = True
    if exact:
        with np.errstate(all="ignore"):
            point, settled = _polish(model, point, scale)
            residuals, jacobian = model(point)
    corner, _ = triangle(jacobian, residuals)
    rank = np.linalg.matrix_rank(corner / np.maximum(np.linalg.norm(corner, axis=0), 1e-300))
    success = settled and rank == len(point)
    message = "" if success else "the readings do not fix all constants" if rank < len(point) else "no least sum found"
    root = np.asarray(np.linalg.pinv(corner), dtype=np.float64)
    return Fitted(point, residuals, jacobian, root, float(residuals @ residuals), bool(success), message)


def propagate(covariance: Covariance, sensitivity: Floats) -> Covariance:
    """Return the covariance of results: sensitivity · covariance · sensitivityᵀ (JCGM 100:2008, 5.2.2 and H.2.3).

    Parameters
    ----------
    covariance : array, shape (m, m)
        Of the inputs.
    sensitivity : array, shape (n, m)
        Derivative of each result with respect to each input.
    """
    result: Covariance = sensitivity @ covariance @ sensitivity.T
    return result
