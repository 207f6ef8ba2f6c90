"""Readings that need no motor: a mean, a line, and a part that warms."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from labkit._kernels.regression import Covariance, Floats, least_squares

__all__ = ["Found", "found_of", "line_of", "warming_of"]


class Found(NamedTuple):
    """Constants of a small fit."""

    value: Floats  # shape (p,)
    covariance: Covariance  # of scatter and rounding, shape (p, p)
    freedom: float  # degrees of freedom; infinite where rounding explains all
    residuals: Floats  # measured less fitted, shape (n,)
    success: bool


def found_of(design: Floats, value: Floats, residuals: Floats, rounding: Floats, *, success: bool) -> Found:
    """Return the fit with the larger of two variances: what the residuals show, or what rounding alone would."""
    left = len(residuals) - len(value)
    least = float(np.mean(rounding**2))
    seen = float(residuals @ residuals) / left if left > 0 else 0.0
    size = np.maximum(np.linalg.norm(design, axis=0), 1e-150)  # constants of very different sizes stay apart
    scaled = design / size
    inverse = np.linalg.pinv(scaled.T @ scaled) / np.outer(size, size)
    freedom = float(left) if seen > least else np.inf
    return Found(value, max(seen, least) * inverse, freedom, residuals, success)


def line_of(design: Floats, measured: Floats, rounding: Floats) -> Found:
    """Return the coefficients of *design*'s columns, shape (n, p), by least squares.

    Parameters
    ----------
    design : array, shape (n, p)
    measured, rounding : array, shape (n,)
        Readings, and the standard uncertainty that their rounding (that of both axes) leaves.
    """
    size = np.maximum(np.linalg.norm(design, axis=0), 1e-150)
    value = np.linalg.lstsq(design / size, measured, rcond=None)[0] / size
    return found_of(design, value, measured - design @ value, rounding, success=True)


def warming_of(time: Floats, temperature: Floats, rounding: Floats) -> Found:
    """Return start [°C], rise [K] and time constant [s] of T = start + rise·(1 − e^(−t/τ)).

    Parameters
    ----------
    time, temperature, rounding : array, shape (n,)
        Times from 0 on, in order.
    """
    last = float(time[-1])
    tries = []
    for part in (0.1, 0.3, 1.0):
        rise = 1.0 - np.exp(-time / (part * last))
        flat = np.linalg.lstsq(np.column_stack((np.ones_like(time), rise)), temperature, rcond=None)[0]
        scale = np.array([max(abs(flat[0]), 1.0), max(abs(flat[1]), 1e-6), part * last])

        def model(parts: Floats, scale: Floats = scale) -> tuple[Floats, Floats]:
            start, climb, constant = parts * scale
            decay = np.exp(-time / constant)
            slopes = np.column_stack((np.ones_like(time), 1.0 - decay, -climb * decay * time / constant**2)) * scale
            return start + climb * (1.0 - decay) - temperature, slopes

        tries.append((least_squares(model, np.array([flat[0], flat[1], part * last]) / scale), scale))
    found, scale = min(tries, key=lambda one: one[0].sum_of_squares)
    value = found.parameters * scale
    good = bool(found.success and value[2] > 0)
    return found_of(found.jacobian / scale, value, -found.residuals, rounding, success=good)
