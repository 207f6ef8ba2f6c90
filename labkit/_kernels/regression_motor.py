"""The two balances of a motor as residuals of its readings, whitened, with errors in every reading.

Constants, in this order throughout: resistance R [ohm], brush drop B [V], EMF constant k [V·s/rad],
friction torque F [N·m], viscous friction c [N·m·s/rad].

- voltage:  e₁ = V − R·I − B − k·ω
- current:  e₂ = I − (T + F + c·ω)/k
- where the current was not read: e₁ = V − R·(T + F + c·ω)/k − B − k·ω

Both are linear in the readings (V, I, ω, T). So the least weighted distance between the readings and points that obey
the balances is eᵀ·C⁻¹·e, with C the covariance of e that the errors of the readings cause; C depends on the constants.
That is the fit with errors in all variables, without an unknown for each true value.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.regression import Floats, upper

__all__ = [
    "CONSTANTS",
    "GROUPS",
    "POSITIONS",
    "Readings",
    "Scatter",
    "balances",
    "chosen",
    "compress",
    "joined",
    "rough_start",
    "whiten",
]

CONSTANTS = ("resistance", "brush_drop", "emf_constant", "friction_torque", "viscous_friction")
#: Kinds of tables: locked rotor, free running, loaded running, generator. Each balance of each has its own scatter.
TABLE_COUNT = 4
#: Scatter groups: voltage balance of each table, current balance of each table, resistance between rotor positions.
GROUPS = 2 * TABLE_COUNT + 1
POSITIONS = GROUPS - 1


class Readings(NamedTuple):
    """One row a reading, in coherent SI; arrays of shape (n,). What was not read is 0 and flagged so."""

    voltage: Floats
    current: Floats
    speed: Floats
    torque: Floats
    one: Floats  # 1 for a reading; the constants' column once rows are compressed
    brush: Floats  # 1 where current flows
    u_voltage: Floats  # independent standard uncertainty of each reading; 0 where exact
    u_current: Floats
    u_speed: Floats
    u_torque: Floats
    electrical: NDArray[np.bool_]  # the voltage balance holds, with the current read
    joined: NDArray[np.bool_]  # the voltage balance holds, with the current found from the torque
    mechanical: NDArray[np.bool_]  # the current balance holds
    table: NDArray[np.int64]
    position: NDArray[np.int64]  # number of the rotor position, or -1
    width: Floats  # the scatter of the voltage balance grows with this: the current where R scatters, else 1


class Scatter(NamedTuple):
    """Variance of each group beyond that of its readings, shape (GROUPS,)."""

    variance: Floats


class Balances(NamedTuple):
    """Residuals of both balances, their variances without scatter, and what couples them; shape (n,)."""

    voltage: Any
    current: Any
    voltage_variance: Any
    current_variance: Any
    coupling: Any


def balances(constants: Any, data: Readings, offset: Floats) -> Balances:
    """Return e₁ and e₂ with the variances and covariance that the errors of the readings cause.

    Parameters
    ----------
    constants : array, shape (5,), real or complex
    data : Readings
    offset : array, shape (n,) [ohm]
        By how much the resistance at this reading's rotor position differs from the mean.
    """
    R, B, k, F, c = constants
    pull = data.torque + F * data.one + c * data.speed
    current = np.where(data.joined, pull / k, data.current)
    e1 = data.voltage - (R + offset) * current - B * data.brush - k * data.speed
    e2 = data.current - pull / k
    by_speed = np.where(data.joined, R * c / k + k, k)
    by_torque = np.where(data.joined, R / k, 0.0 * k)
    by_current = np.where(data.joined, 0.0 * R, R)
    v1 = (
        data.u_voltage**2
        + (by_current * data.u_current) ** 2
        + (by_speed * data.u_speed) ** 2
        + (by_torque * data.u_torque) ** 2
    )
    v2 = data.u_current**2 + (c / k * data.u_speed) ** 2 + (data.u_torque / k) ** 2
    both = data.electrical & data.mechanical
    coupling = np.where(both, c * data.u_speed**2 - R * data.u_current**2, 0.0 * c)
    return Balances(e1, e2, v1, v2, coupling)


class White(NamedTuple):
    """Residuals of unit variance, one balance after the other, and how each came to be."""

    residuals: Any  # shape (m,): voltage balances, current balances, rotor positions
    group: NDArray[np.int64]
    known: Any  # variance without scatter
    width: Floats  # scatter's standard deviation is that of the group times this
    row: NDArray[np.int64]  # which reading; -1 for a rotor position


def whiten(constants: Any, offsets: Floats, data: Readings, scatter: Scatter) -> White:
    """Return the residuals divided by their standard deviation; where both balances share a reading, decorrelated.

    Parameters
    ----------
    constants : array, shape (5,), real or complex
    offsets : array, shape (positions,) [ohm]
    data : Readings
    scatter : Scatter
    """
    at = np.append(offsets, 0.0)[data.position]
    b = balances(constants, data, at)
    first = np.flatnonzero(data.electrical | data.joined)
    second = np.flatnonzero(data.mechanical)
    group1, group2 = data.table[first], data.table[second] + TABLE_COUNT
    v1 = b.voltage_variance + scatter.variance[data.table] * data.width**2
    slope = b.coupling / v1
    known2 = (b.current_variance - slope * b.coupling)[..., second]
    z1 = b.voltage[..., first] / np.sqrt(v1[..., first])
    z2 = (b.current - slope * b.voltage)[..., second] / np.sqrt(known2 + scatter.variance[group2])
    z3 = np.broadcast_to(offsets / np.sqrt(scatter.variance[POSITIONS]), (*z1.shape[:-1], len(offsets)))
    still = np.zeros((*z1.shape[:-1], len(offsets)))
    return White(
        np.concatenate((z1, z2, z3), axis=-1),
        np.concatenate((group1, group2, np.full(len(offsets), POSITIONS))),
        np.concatenate((b.voltage_variance[..., first], known2, still), axis=-1),
        np.concatenate((data.width[first], np.ones(len(second) + len(offsets)))),
        np.concatenate((first, second, np.full(len(offsets), -1))),
    )


def derivatives(constants: Floats, offsets: Floats, data: Readings, scatter: Scatter) -> Floats:
    """Return the derivatives of the white residuals, shape (m, 5 + positions), exact by complex steps."""
    moved = constants[:, None] + 1e-200j * np.eye(len(CONSTANTS))  # one column a step, all steps at once
    steps: Floats = whiten(moved[:, :, None], offsets, data, scatter).residuals.imag.T / 1e-200
    if not len(offsets):
        return steps
    there = (data.position[:, None] == np.arange(len(offsets))).astype(float)  # the residuals are linear in the offsets
    none = np.zeros(len(data.voltage))
    b = balances(constants, data, none)
    v1 = b.voltage_variance + scatter.variance[data.table] * data.width**2
    slope = b.coupling / v1
    first, second = data.electrical | data.joined, data.mechanical
    v2 = (b.current_variance - slope * b.coupling + scatter.variance[data.table + TABLE_COUNT])[second]
    drop = there * np.where(data.joined, 0.0, data.current)[:, None]
    by_voltage = -drop[first] / np.sqrt(v1[first])[:, None]
    by_current = drop[second] * (slope[second] / np.sqrt(v2))[:, None]
    own = np.eye(len(offsets)) / np.sqrt(scatter.variance[POSITIONS])
    return np.hstack((steps, np.vstack((by_voltage, by_current, own))))


def chosen(data: Readings, rows: NDArray[np.int64] | NDArray[np.bool_]) -> Readings:
    """Return some of the readings."""
    fields: list[Any] = [field[rows] for field in data]
    return Readings(*fields)


def joined(parts: Sequence[Readings]) -> Readings:
    """Return the readings of all parts, one after the other."""
    fields: list[Any] = [np.concatenate(columns) for columns in zip(*parts, strict=True)]
    return Readings(*fields)


def compress(data: Readings) -> Readings:
    """Return few rows that give the same least-squares problem as many rows of one table with equal uncertainties.

    The residuals are linear in (V, I, ω, T, 1), so an orthogonal change of rows (the QR factor) leaves every sum of
    squares and products as it was. Only for tables without rotor positions and with scatter of width 1.
    """
    columns = np.column_stack((data.voltage, data.current, data.speed, data.torque, data.one))
    small = upper(columns)
    alike = np.zeros(len(small), dtype=np.int64)
    first = chosen(data, alike)
    voltage, current, speed, torque, one = small.T.copy()
    return first._replace(
        voltage=voltage, current=current, speed=speed, torque=torque, one=one, brush=one * data.brush[0]
    )


def rough_start(data: Readings) -> Floats:
    """Return constants near enough for the fit to begin with, all more than zero where anything is known of them."""
    held, run = data.electrical & (data.speed == 0), data.speed != 0
    k = float(np.median(data.voltage[run] / data.speed[run])) if run.any() else 0.01
    loss = data.mechanical & run
    friction = float(np.median(k * data.current[loss] - data.torque[loss])) if loss.any() else 0.0
    friction = max(friction, 0.0)
    if held.any():
        resistance = float(np.median(data.voltage[held] / data.current[held]))
    elif data.joined.any():
        pull = data.torque[data.joined] + friction
        resistance = float(np.median(data.voltage[data.joined] * k / np.where(pull == 0, 1e-6, pull)))
    elif loss.any():
        resistance = 0.1 * float(np.median(data.voltage[loss] / data.current[loss]))
    else:
        resistance = 1.0
    if held.any() and loss.any() and not (data.table == TABLE_COUNT - 1).any():  # take the winding's share off
        k = float(np.median((data.voltage - resistance * data.current)[loss] / data.speed[loss]))
        k = k if k > 0 else float(np.median(data.voltage[loss] / data.speed[loss]))
    return np.array([resistance, 0.0, k, friction, 0.0])
