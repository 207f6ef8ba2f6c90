"""Transients fitted by their exact solutions: current rise, spin-up, coast-down."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from labkit._kernels.regression import Floats, least_squares
from labkit._kernels.regression_apart import Found, found_of

__all__ = ["TraceConstants", "coasting", "fit_coast_down", "fit_rise", "fit_two_coast_downs", "rising"]

_MANY = 20_000  # samples, above which the last digits are far below what scatter leaves open


class TraceConstants(NamedTuple):
    """A fitted transient: end value (or speed at the start), what was sought and its deviation from scatter."""

    level: float
    sought: float
    deviation: float
    residuals: Floats
    success: bool


def rising(time: Any, level: Any, constant: Any) -> Any:
    """Return level·(1 − e^(−t/τ)): a current or speed that starts from rest at time 0."""
    return level * (1.0 - np.exp(-time / constant))


def coasting(time: Any, start: Any, inertia: Any, friction: float, viscous: float) -> Any:
    """Return the speed that J·dω/dt = −F − c·ω leaves after a time: ω₀·e^(−x) − F·t/J·(1 − e^(−x))/x, x = c·t/J.

    Valid while the shaft turns.
    """
    x = viscous * time / inertia
    small = np.abs(x) < 1e-5
    mean = np.where(small, 1.0 - x / 2.0 + x * x / 6.0, (1.0 - np.exp(-x)) / np.where(small, 1.0, x))
    return start * np.exp(-x) - friction * time / inertia * mean


def _fit(curve: Callable[[Any, Any], Any], measured: Floats, start: tuple[float, float]) -> TraceConstants:
    """Return the two parameters of *curve* by least squares, in parts of their starting values.

    Parameters
    ----------
    curve : callable
        Two parameters to the curve, shape (n,), and its two derivatives, shape (n, 2).
    """
    scale = np.array(start)

    def model(parts: Floats) -> tuple[Floats, Floats]:
        values, slopes = curve(*(parts * scale))
        return values - measured, slopes * scale

    found = least_squares(model, np.ones(2), exact=len(measured) <= _MANY)
    level, sought = found.parameters * scale
    spread = found.sum_of_squares / max(len(measured) - 2, 1)
    deviation = float(np.sqrt(spread * (found.root @ found.root.T)[1, 1]) * scale[1])
    return TraceConstants(float(level), float(sought), deviation, -found.residuals, bool(found.success and sought > 0))


def _rise(time: Floats, level: float, constant: float) -> tuple[Floats, Floats]:
    """Return a rise, and its derivatives with respect to level and time constant."""
    share = rising(time, 1.0, constant)
    return level * share, np.column_stack((share, (1.0 - share) * time * (-level / constant**2)))


def _coast(time: Floats, start: float, inertia: float, friction: float, viscous: float) -> tuple[Floats, Floats]:
    """Return a coast-down, and its derivatives with respect to starting speed and inertia, exact by complex steps."""
    by_start = coasting(time, start + 1e-200j, inertia, friction, viscous).imag / 1e-200
    by_inertia = coasting(time, start, inertia * (1 + 1e-200j), friction, viscous).imag / (1e-200 * inertia)
    slopes = np.column_stack((by_start, by_inertia))
    return np.asarray(coasting(time, start, inertia, friction, viscous), dtype=np.float64), slopes


def fit_rise(time: Floats, measured: Floats) -> TraceConstants:
    """Return end value and time constant [s] of a rise from rest at time 0."""
    level = float(measured[-max(len(measured) // 10, 1) :].mean())
    reached = np.flatnonzero(measured >= 0.632 * level)
    guess = float(time[reached[0]]) if len(reached) else float(time[-1])
    return _fit(lambda end, tau: _rise(time, end, tau), measured, (level, max(guess, 1e-3 * float(time[-1]))))


def fit_coast_down(time: Floats, measured: Floats, *, friction: float, viscous: float) -> TraceConstants:
    """Return speed at time 0 [rad/s] and inertia [kg·m²] of a shaft that runs out against a known friction."""
    slope = (measured[0] - measured[-1]) / (time[-1] - time[0])
    guess = (friction + viscous * float(measured.mean())) / max(float(slope), 1e-9)
    return _fit(
        lambda start, inertia: _coast(time, start, inertia, friction, viscous), measured, (float(measured[0]), guess)
    )


def fit_two_coast_downs(time: Floats, speed: Floats, slow_time: Floats, slow_speed: Floats, *, disc: float) -> Found:
    """Return inertia [kg·m²], friction torque [N·m] and viscous friction [N·m·s/rad] of a shaft that runs out twice.

    The second time a disc of inertia *disc* [kg·m²] is on it. Viscous friction is left out where the curves bend the
    other way.
    """
    measured = np.concatenate((speed, slow_speed))
    fall = (speed[0] - speed[-1]) / (time[-1] - time[0])
    slow_fall = (slow_speed[0] - slow_speed[-1]) / (slow_time[-1] - slow_time[0])
    inertia = disc * slow_fall / (fall - slow_fall) if fall > slow_fall > 0 else disc
    friction = inertia * fall
    start = np.array([inertia, friction, friction / max(float(speed[0]), 1e-9), speed[0], slow_speed[0]])

    def curve(parts: Any) -> Any:
        J, F, c, first, second = parts
        return np.concatenate((coasting(time, first, J, F, c), coasting(slow_time, second, J + disc, F, c)))

    def fitted(free: Floats) -> Found:
        kept = np.flatnonzero(free)

        def model(parts: Floats) -> tuple[Floats, Floats]:
            whole = np.zeros(len(start), dtype=complex)
            whole[kept] = parts * start[kept]
            columns = []
            for place in kept:
                moved = whole.copy()
                moved[place] += 1e-200j * start[place]
                columns.append(curve(moved).imag / 1e-200)
            return np.asarray(curve(whole.real) - measured, dtype=np.float64), np.column_stack(columns)

        begin = np.where(kept == 2, 0.1, 1.0)
        solved = least_squares(model, begin)
        value, size = solved.parameters * start[kept], start[kept]
        return found_of(solved.jacobian / size, value, -solved.residuals, np.zeros(1), success=solved.success)

    everything = fitted(np.array([1, 1, 1, 1, 1]))
    if everything.success and everything.value[2] > 0:
        return _first(everything, 3)
    return _first(fitted(np.array([1, 1, 0, 1, 1])), 2)


def _first(found: Found, count: int) -> Found:
    """Return only the first constants of a fit."""
    return found._replace(value=found.value[:count], covariance=found.covariance[:count, :count])
