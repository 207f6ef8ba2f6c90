"""The common stretches in one go, for speed: no events but the current's end, nothing that oscillates."""

# ruff: noqa: PLR0917, FURB136 (the fast plain functions pass floats by position, and call no max where a choice does)

from __future__ import annotations

import math

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import compiled
from labkit._kernels.engine.modes import APART
from labkit._kernels.engine.segment import shaft

__all__ = ["coast", "glide"]


@compiled
def glide(
    circuit: DriveSI, ladder: Ladder, place: int, i: float, w: float, length: float
) -> tuple[bool, bool, float, float, float, float, float, float, float, float, float, float]:
    """The common stretch in one go: current flowing, shaft turning forward, no capacitor, two real modes.

    The formulas of `shaft`, `two_modes`, `after` and `quiet`, written out for speed. Returns whether they hold here,
    whether the current falls to the rung's lower bound, the length, λ₁, λ₂, shares of i and of ω, ω_r, new i and ω.
    """
    inductance, k, inertia, friction, _, viscous, fan, weight, _, _, _, _, _, fan_step, slow_speed, _ = circuit
    bounds, rungs = ladder
    drive, _, resistance, _, _ = rungs[place >> 1]
    low, high = bounds[(place >> 1) - 1], bounds[place >> 1]
    a, p, q = resistance / inductance, k / inductance, k / inertia
    pq, half_length = p * q, 0.5 * length
    torque = k * i - friction - weight
    di = (drive - resistance * i - k * w) / inductance
    now = (torque - (viscous + fan * w) * w) / inertia
    reference = w + half_length * (now + half_length * q * di / (1.0 + a * length / 3.0))
    slope = viscous + 2.0 * fan * reference
    dw = (torque + fan * reference * reference - slope * w) / inertia
    b = slope / inertia
    m, d = 0.5 * (a + b), 0.5 * (a - b)
    s = d * d - pq
    if s <= APART * m * m or d <= 0.0 or reference <= 0.0:
        return False, False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    root = math.sqrt(s)
    f, half = d + root, 0.5 / root
    e = pq / f
    fast = -m - root
    slow = (a * b + pq) / fast
    on_i, on_w = p * dw, q * di
    i1, i2 = (f * di + on_i) * half, -(e * di + on_i) * half
    w1, w2 = -(on_w + e * dw) * half, (on_w + f * dw) * half
    e1, e2 = math.expm1(fast * length) / fast, math.expm1(slow * length) / slow
    new_i, new_w = i + i1 * e1 + i2 * e2, w + w1 * e1 + w2 * e2
    moved = length * ((w1 if w1 > 0.0 else -w1) + (w2 if w2 > 0.0 else -w2))
    falls, push, swing = new_i <= low, drive - k * w, k * moved
    at_low, at_high = push - resistance * low, push - resistance * high
    quiet = w > moved and new_i < high and (at_low > swing or at_low < -swing) and (at_high > swing or at_high < -swing)
    if falls and quiet:
        length = _fall(fast, slow, i1, i2, i - low, length)
        new_w = w + w1 * math.expm1(fast * length) / fast + w2 * math.expm1(slow * length) / slow
        new_i = low
    limit = fan_step * (w if w > slow_speed else slow_speed)
    before, beyond, early = 2.0 * (reference - w), 2.0 * (new_w - reference), 0.25 * length * dw
    quiet = quiet and before * before <= limit and beyond * beyond <= limit and early * early <= limit
    return quiet, falls, length, fast, slow, i1, i2, w1, w2, reference, new_i, new_w


@compiled
def _fall(fast: float, slow: float, i1: float, i2: float, drop: float, length: float) -> float:
    """When a current that falls all along has fallen by *drop* [A], within *length* [s]: Halley's steps in a bracket.

    A step's error is the cube of the one before: after a step of 1e-6 of the time the next is beyond the last figure.
    """
    low, high = 0.0, length
    slope, bend = i1 + i2, i1 * fast + i2 * slow
    square = slope * slope - 2.0 * drop * bend
    time = 2.0 * drop / (math.sqrt(square) - slope) if square > 0.0 else 0.5 * length
    for _ in range(100):
        grown1, grown2 = math.expm1(fast * time), math.expm1(slow * time)
        value = drop + i1 * grown1 / fast + i2 * grown2 / slow
        slope1, slope2 = i1 + i1 * grown1, i2 + i2 * grown2
        slope = slope1 + slope2
        if value >= 0.0:
            low = time
        else:
            high = time
        new = time - value * slope / (slope * slope - 0.5 * value * (slope1 * fast + slope2 * slow))
        if not low < new < high:
            new = 0.5 * (low + high)
        if -1e-6 * time <= new - time <= 1e-6 * time:
            return new
        time = new
    return time


@compiled
def coast(
    circuit: DriveSI, ladder: Ladder, place: int, i: float, w: float, v: float, new_v: float, length: float
) -> tuple[bool, float, float, float, float]:
    """The common stretch of a held current while the shaft turns forward: whether it is quiet, λ, ω', ω_r, new ω.

    Speed and capacitor voltage move one way each, so that their ends bound what they do together.
    """
    dw, b, reference = shaft(circuit, 1, i, w, 0.0, length)
    change = dw * (-math.expm1(-b * length) / b if b > 0.0 else length)
    new_w = w + change
    above, below, k = ladder[1][(place >> 1) + 1], ladder[1][place >> 1], circuit.emf_constant
    low, high = (v, new_v) if v < new_v else (new_v, v)
    slowest, fastest = (w, new_w) if w < new_w else (new_w, w)
    stays = (
        above[0] + above[1] * high - above[2] * i <= k * slowest
        and k * fastest <= below[0] + below[1] * low - below[2] * i
    )
    slow = circuit.slow
    quiet = stays and new_w > 0.0 and change * change <= circuit.fan_step * (w if w > slow else slow)
    return quiet, -b, dw, reference, new_w
