"""From arrays to constants: what can be known at all, which readings to set aside, and the fit itself."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.regression import Floats, upper
from labkit._kernels.regression_motor import (
    CONSTANTS,
    GROUPS,
    POSITIONS,
    TABLE_COUNT,
    Readings,
    Scatter,
    chosen,
    compress,
    derivatives,
    joined,
    rough_start,
    whiten,
)
from labkit._kernels.regression_scatter import Constants, fit_constants
from labkit._kernels.regression_wild import robust_constants, set_aside, suspects
from labkit.errors import BenchError
from labkit.fitting._design import STEADY, Design

__all__ = ["Solved", "meter_parts", "solve"]

Flags = NDArray[np.bool_]

_MANY = 2000  # rows of one table, above which they are compressed without loss
_ASSUMED_ZERO = ("viscous_friction", "brush_drop")  # given up in this order; the others are never invented
_GIVEN_UP = (*_ASSUMED_ZERO, "resistance", "friction_torque", "emf_constant")
_PLACE = {name: place for place, name in enumerate(CONSTANTS)}
_NONE = np.zeros(0)
_NO_SCATTER = Scatter(np.zeros(GROUPS))


class Solved(NamedTuple):
    """The fit, with the choices that led to it."""

    fit: Constants
    #: The fit with every constant free that the readings give, before negative ones were held at zero.
    unbound: Constants
    used: Readings  # perhaps compressed
    kept: Flags  # shape (n,) of all readings
    at_zero: tuple[str, ...]  # not identifiable, and held at zero
    unknown: tuple[str, ...]  # not identifiable, without a value
    negative: tuple[tuple[str, float], ...]  # name, and by how many standard uncertainties it came out below zero


def _without_positions(data: Readings) -> Readings:
    return data._replace(position=np.full_like(data.position, -1))


# --- what can be known ----------------------------------------------------------------------------


def _structure(data: Readings) -> Flags:
    """Return which constants occur at all in the balances of these readings."""
    voltage, pull = data.electrical | data.joined, data.joined | data.mechanical
    flows = voltage & ((data.current != 0) | data.joined)
    turns = data.speed != 0
    return np.array(
        [
            flows.any(),
            (flows & (data.brush != 0)).any(),
            (pull | (voltage & turns)).any(),
            pull.any(),
            (pull & turns).any(),
        ]
    )


def _blurred(data: Readings, free: Flags, start: Floats) -> Flags:
    """Return which free constants could change together without changing any residual."""
    white = derivatives(start, _NONE, _without_positions(data), _NO_SCATTER)[:, free]
    norm = np.maximum(np.linalg.norm(white, axis=0), 1e-300)
    corner = upper(white / norm)
    _, size, turn = np.linalg.svd(corner, full_matrices=True)
    full = np.zeros(turn.shape[0])
    full[: len(size)] = size
    lost = turn[full < 1e-7 * full.max()]
    blurred = np.zeros(len(CONSTANTS), dtype=bool)
    blurred[np.flatnonzero(free)] = np.any(np.abs(lost) > 1e-4, axis=0)
    return blurred


def _identify(data: Readings, start: Floats) -> tuple[Flags, list[str], list[str]]:
    """Return which constants to fit, which to hold at zero, and which stay unknown."""
    free = _structure(data)
    at_zero: list[str] = []
    unknown: list[str] = []
    for name in CONSTANTS:
        if not free[_PLACE[name]]:
            (at_zero if name in _ASSUMED_ZERO else unknown).append(name)
    while free.any() and (blurred := _blurred(data, free, start)).any():
        given_up = next(name for name in _GIVEN_UP if blurred[_PLACE[name]])
        if given_up in _ASSUMED_ZERO:
            at_zero.append(given_up)
        else:
            unknown += [name for name in CONSTANTS if blurred[_PLACE[name]] and name not in unknown]
        free[_PLACE[given_up]] = False
    return free, at_zero, unknown


def _too_vague(fit: Constants, data: Readings, extra: Floats) -> str | None:
    """Return the constant whose uncertainty is of the size of all that it could explain, if there is one.

    The brush drop is then no longer told from the resistance, or viscous from constant friction.
    """
    u = np.sqrt(np.diag(fit.parts.sum(axis=0) + extra))
    fastest = float(np.abs(data.speed).max())
    if fit.free[4] and u[4] * fastest > 0.5 * abs(fit.value[3] + fit.value[4] * fastest):
        return "viscous_friction"
    held = (data.brush != 0) & (data.table == STEADY.index("locked rotor"))
    voltage = np.abs(data.voltage)
    most = float(np.median(voltage[held])) if held.any() else 0.5 * float(voltage.max())
    return "brush_drop" if fit.free[1] and u[1] > 0.5 * most else None


# --- rows -----------------------------------------------------------------------------------------


def _sample(data: Readings) -> Readings:
    """Return at most so many evenly spread readings of each table."""
    every = [np.flatnonzero(data.table == table) for table in np.unique(data.table)]
    return chosen(data, np.sort(np.concatenate([own[:: -(-len(own) // _MANY)] for own in every])))


def _subset(data: Readings, keep: Flags) -> Readings:
    """Return the kept readings, with rotor positions numbered anew."""
    kept = chosen(data, keep)
    _, number = np.unique(np.append(kept.position, -1), return_inverse=True)
    return kept._replace(position=number[:-1] - 1)


def _small(data: Readings) -> tuple[Readings, Floats]:
    """Return the readings with large tables compressed, and how many each scatter group stands for."""
    count = np.zeros(GROUPS)
    count[:TABLE_COUNT] = np.bincount(data.table[data.electrical | data.joined], minlength=TABLE_COUNT)
    count[TABLE_COUNT:POSITIONS] = np.bincount(data.table[data.mechanical], minlength=TABLE_COUNT)
    count[POSITIONS] = data.position.max(initial=-1) + 1
    parts = []
    for table in np.unique(data.table):
        own = chosen(data, data.table == table)
        alike = bool(np.all(own.width == 1) and np.all(own.position < 0))
        parts.append(compress(own) if len(own.voltage) > _MANY and alike else own)
    return joined(parts), count


# --- the fit --------------------------------------------------------------------------------------


class _Kept(NamedTuple):
    fit: Constants
    used: Readings
    number: Floats
    kept: Flags


def _without_wild(data: Readings, free: Flags, start: Floats) -> _Kept:
    """Return the fit without the readings that the robust rule takes out."""
    out = suspects(data, robust_constants(_sample(data), free=free, start=start))
    for _ in range(4):
        used, count = _small(_subset(data, ~out))
        fit = fit_constants(used, free=free, start=start, count=count)
        confirmed = set_aside(data, out, fit) if out.any() else out
        if (confirmed == out).all():
            break
        out = confirmed
    return _Kept(fit, used, count, ~out)


def _hold_negative(kept: _Kept) -> tuple[Constants, tuple[tuple[str, float], ...]]:
    """Return the fit with constants that came out below zero held there, and by how many uncertainties they did."""
    fit, free = kept.fit, kept.fit.free.copy()
    u = np.maximum(np.sqrt(np.diag(kept.fit.parts.sum(axis=0))), 1e-300)
    negative: list[tuple[str, float]] = []
    for _ in range(3):
        below = {
            name: float(-fit.value[_PLACE[name]] / u[_PLACE[name]])
            for name in ("viscous_friction", "brush_drop", "friction_torque")
            if fit.value[_PLACE[name]] < 0
        }
        if not below:
            break
        name = max(below, key=lambda name: below[name])
        negative.append((name, below[name]))
        free[_PLACE[name]] = False
        start = fit.value.copy()
        start[_PLACE[name]] = 0.0
        fit = fit_constants(kept.used, free=free.copy(), start=start, count=kept.number)
    return fit, tuple(negative)


def meter_parts(fit: Constants, used: Readings, design: Design) -> dict[str, Floats]:
    """Return the covariance, shape (5, 5), that each shared error of the meters causes.

    The residuals are linear in the readings, so the change of the constants is the fit's own gain applied to the change
    of the residuals (JCGM 100:2008, 5.1.3).
    """
    gain = (fit.root @ (fit.jacobian @ fit.root).T)[: int(fit.free.sum())]
    parts = {}
    for shared in design.shared:
        column = getattr(used, shared.quantity)
        here = np.ones(len(column)) if shared.table < 0 else (used.table == shared.table).astype(float)
        error = column if shared.scale else used.one
        moved = used._replace(**{shared.quantity: column + here * error})
        change = whiten(fit.value, fit.offsets, moved, fit.scatter).residuals - fit.white.residuals
        slope = np.zeros(len(CONSTANTS))
        slope[fit.free] = -gain @ change * shared.uncertainty
        parts[shared.source] = np.outer(slope, slope)
    return parts


def solve(design: Design) -> Solved:
    """Return the constants of a design.

    Raises
    ------
    BenchError
        When the readings contradict each other or give nothing.
    """
    data = design.readings
    start = rough_start(data)
    free, at_zero, unknown = _identify(_sample(data), start)
    while True:
        if not free.any():
            raise BenchError(
                "The readings fix none of the motor's constants. Add a table: locked rotor is the simplest."
            )
        kept = _without_wild(data, free, start)
        extra = sum(meter_parts(kept.fit, kept.used, design).values(), np.zeros((len(CONSTANTS), len(CONSTANTS))))
        vague = _too_vague(kept.fit, kept.used, extra)
        if vague is None:
            break
        free = free.copy()
        free[_PLACE[vague]] = False
        at_zero.append(vague)
    bound, negative = _hold_negative(kept)
    for name in ("resistance", "emf_constant"):
        size = float(bound.value[_PLACE[name]])
        if free[_PLACE[name]] and not (np.isfinite(size) and size > 0):
            raise BenchError(
                f"The readings contradict each other: {name.replace('_', ' ')} would be {size:.3g} in SI units. "
                "Are two columns or their units swapped?"
            )
    return Solved(bound, kept.fit, kept.used, kept.kept, tuple(at_zero), tuple(unknown), negative)
