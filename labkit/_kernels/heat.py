"""Temperatures of a junction and of a winding whose resistance rises as it warms, settled and through time.

Temperatures here are rises above 25 °C [K], where the resistances are given; arrays broadcast unless floats are said.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from labkit._kernels.exponentials import Floats

__all__ = [
    "TwoBodySI",
    "course",
    "duty_cycle_rises",
    "periodic_rises",
    "runaway_current",
    "share_of_cold_power",
    "time_to_rise",
    "warm_rise",
    "warm_rise_on_voltage",
]

_FOREVER = 60.0  # time constants after which nothing changes


def warm_rise(
    ambient: Floats, thermal_resistance: Floats, heating: Floats, growth: Floats, other_power: Floats
) -> Floats:
    """Rise [K] under a power heating·(1 + growth·rise) + other_power [W, 1/K, W]; infinite in thermal runaway.

    One straight line meets another: rise = ambient + thermal_resistance [K/W]·power.
    """
    slack = 1.0 - thermal_resistance * heating * growth
    with np.errstate(divide="ignore"):
        rise = (ambient + thermal_resistance * (heating + other_power)) / np.maximum(slack, 0.0)
    return np.where(slack > 0.0, rise, np.inf)


def runaway_current(thermal_resistance: Floats, resistance: Floats, growth: Floats) -> Floats:
    """Root-mean-square current [A] from which heating outruns cooling; infinite where resistance does not grow."""
    with np.errstate(divide="ignore"):
        return 1.0 / np.sqrt(thermal_resistance * resistance * growth)


def warm_rise_on_voltage(ambient: Floats, thermal_resistance: Floats, heating: Floats, growth: Floats) -> Floats:
    """Rise [K] under a power heating/(1 + growth·rise) [W], that of a resistance on a steady voltage: always one."""
    cold, warming = 1.0 + growth * ambient, thermal_resistance * heating
    return ambient + 2.0 * warming / (cold + np.sqrt(cold**2 + 4.0 * growth * warming))


class TwoBodySI(NamedTuple):
    """A winding inside a housing inside the air [K/W, K/W, J/K, J/K, 1/K, K], floats."""

    inner_resistance: float
    outer_resistance: float
    winding_capacity: float
    housing_capacity: float
    growth: float
    ambient: float


def _flow(body: TwoBodySI, heating: float) -> tuple[Floats, Floats]:
    """Matrix [1/s] and drive [K/s] of (winding, housing) rises under a power heating·(1 + growth·rise) [W]."""
    inner, outer, cw, ch, growth, ambient = body
    matrix = np.array(
        [
            [(heating * growth - 1.0 / inner) / cw, 1.0 / (inner * cw)],
            [1.0 / (inner * ch), -(1.0 / inner + 1.0 / outer) / ch],
        ]
    )
    return matrix, np.array([heating / cw, ambient / (outer * ch)])


def _advance(body: TwoBodySI, heating: float, rises: Floats, time: float) -> Floats:
    """Rises [K] after a time [s] under a steady heating [W], by one matrix exponential that needs no inverse."""
    return np.asarray(_step(body, heating, time) @ np.array([*rises, 1.0]), dtype=np.float64)


def _step(body: TwoBodySI, heating: float, time: float) -> Floats:
    """Affine map, shape (2, 3), of the rises over a time [s]."""
    matrix, drive = _flow(body, heating)
    whole = np.zeros((3, 3))
    whole[:2, :2], whole[:2, 2] = matrix, drive
    with np.errstate(over="ignore", invalid="ignore"):  # a runaway leaves the range of floats
        return np.asarray(expm(whole * time), dtype=np.float64)[:2]


def time_to_rise(body: TwoBodySI, heating: float, limit: float, *, on_voltage: bool) -> float:
    """Time [s] from ambient until the winding's rise is *limit* [K]; infinite if it never is.

    The heating [W] is that at 25 °C, of a steady current, or of a steady voltage, where it falls as the winding warms.
    """
    if limit <= body.ambient:
        return 0.0
    start = np.array([body.ambient, body.ambient])
    slowest = (body.inner_resistance + body.outer_resistance) * (body.winding_capacity + body.housing_capacity)
    if on_voltage:
        return _time_on_voltage(body, heating, limit, slowest)

    def short_by(time: float) -> float:
        return float(limit - _advance(body, heating, start, time)[0])

    steady = warm_rise(
        *map(np.asarray, (body.ambient, body.inner_resistance + body.outer_resistance, heating, body.growth, 0.0))
    )
    if float(steady) <= limit:
        return np.inf
    # without any loss it would take so long; much later the heat of a runaway leaves the range of floats
    late = min(1e-3 * slowest, body.winding_capacity * (limit - body.ambient) / heating)
    while short_by(late) > 0.0:
        late *= 2.0
    return float(brentq(short_by, 0.0, late, xtol=1e-12 * late, rtol=1e-13))


def _time_on_voltage(body: TwoBodySI, heating: float, limit: float, slowest: float) -> float:
    total = body.inner_resistance + body.outer_resistance
    steady = warm_rise_on_voltage(*map(np.asarray, (body.ambient, total, heating, body.growth)))
    if float(steady) <= limit:
        return np.inf

    def reached(_: float, rises: Floats) -> float:
        return float(rises[0] - limit)

    reached.terminal = True  # type: ignore[attr-defined] # solve_ivp reads it there
    slopes = _slopes(body, heating, source_ratio=0.0)
    run = solve_ivp(
        slopes, (0.0, _FOREVER * slowest), [body.ambient] * 2, method="LSODA", events=reached, rtol=1e-10, atol=1e-10
    )
    found = run.t_events[0] if run.t_events else np.empty(0)
    return float(found[0]) if found.size else np.inf


def share_of_cold_power(factor: float, source_ratio: float) -> float:
    """Heat over that at 25 °C, of a resistance grown by a factor behind a source's resistance, given over the cold one.

    On a stiff voltage, ratio 0, it falls as 1/factor; a steady current is the limit of an infinite ratio: it rises.
    """
    if np.isinf(source_ratio):
        return factor
    return factor * ((1.0 + source_ratio) / (factor + source_ratio)) ** 2


def _slopes(body: TwoBodySI, heating: float, source_ratio: float) -> Callable[[float, Floats], list[float]]:
    """Derivatives [K/s] of (winding, housing) rises, of time and of these, under what `share_of_cold_power` leaves."""
    inner, outer, cw, ch, growth, ambient = body

    def slopes(_: float, rises: Floats) -> list[float]:
        power = heating * share_of_cold_power(1.0 + growth * rises[0], source_ratio)
        into, out = (rises[0] - rises[1]) / inner, (rises[1] - ambient) / outer
        return [(power - into) / cw, (into - out) / ch]

    return slopes


def course(body: TwoBodySI, heating: float, source_ratio: float, times: Floats) -> Floats:
    """Rises above 25 °C [K] of winding and housing, shape (2, n), at rising times [s] from ambient.

    The heating [W] is that of the winding at 25 °C; it follows ``share_of_cold_power``. To a relative 1e-8; NaN where
    a runaway has left the range of floats.
    """
    start, last = [body.ambient, body.ambient], float(times[-1])
    if last == 0.0:
        return np.full((2, times.size), body.ambient)
    slopes = _slopes(body, heating, source_ratio)
    with np.errstate(over="ignore", invalid="ignore"):
        run = solve_ivp(slopes, (0.0, last), start, method="LSODA", t_eval=times, rtol=1e-8, atol=1e-8)
    rises = np.full((2, times.size), np.nan)
    rises[:, : len(run.t)] = run.y
    return np.where(np.isfinite(rises), rises, np.nan)


def periodic_rises(body: TwoBodySI, heating: float, on_time: float, off_time: float) -> tuple[Floats, Floats] | None:
    """Rises [K] of (winding, housing) at the end of the heated and of the unheated time; ``None``: runaway."""
    on, off = _step(body, heating, on_time), _step(body, 0.0, off_time)
    with np.errstate(over="ignore", invalid="ignore"):
        both = on[:, :2] @ off[:, :2]
    if not np.all(np.isfinite(both)) or np.max(np.abs(np.linalg.eigvals(both))) >= 1.0:
        return None
    end_of_on = np.linalg.solve(np.eye(2) - both, on[:, :2] @ off[:, 2] + on[:, 2]).astype(np.float64)
    return end_of_on, off[:, :2] @ end_of_on + off[:, 2]


def duty_cycle_rises(
    resistances: Floats, time_constants: Floats, powers: tuple[Floats, Floats], times: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Rises [K] over ambient at the end of the first and of the second part of a cycle, in its periodic state.

    A chain of stages, each of its thermal resistance [K/W] and time constant [s], shape (stages, …), takes the two
    powers [W] in turn for the two times [s].
    """
    (first, second), (one, other) = powers, times
    fades = -np.expm1(-one / time_constants), -np.expm1(-other / time_constants)
    whole = -np.expm1(-(one + other) / time_constants)
    end_first = resistances * (first * fades[0] + second * fades[1] * (1.0 - fades[0])) / whole
    end_second = resistances * (second * fades[1] + first * fades[0] * (1.0 - fades[1])) / whole
    return end_first.sum(axis=0), end_second.sum(axis=0)
