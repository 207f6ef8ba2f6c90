"""All currents and voltages of the drive, from its state and the place on the ladder; and where the energy goes."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.engine.circuit import Conduction, DriveSI, LoopSI, SwitchSI, conductions
from labkit._kernels.engine.stretches import Floats, Stretches, nodes, state_at

__all__ = ["Bench", "Ledger", "Readings", "bench", "ledger", "read"]


class Bench(NamedTuple):
    """What readings need besides `DriveSI`: per place (8·level + 2·rung + held) arrays of shape (16,), and losses."""

    loop: LoopSI
    capacitor_resistance: float
    #: What the motor itself takes of the friction [N·m, N·m·s/rad]; the rest is the load's.
    motor_friction: float
    motor_viscous: float
    #: Follows the current; fixed [A].
    switch_follows: Floats
    switch_fixed: Floats
    drain_fixed: Floats
    drain_slope: Floats
    drain_rail: Floats
    held: NDArray[np.bool_]
    breakdown: NDArray[np.bool_]
    #: What conducts at each place.
    names: tuple[str, ...]


class Readings(NamedTuple):
    """Instantaneous values [A, V], all of one shape."""

    switch_current: Floats
    diode_current: Floats
    source_current: Floats
    rail: Floats
    drain: Floats


def bench(
    loop: LoopSI,
    switches: tuple[SwitchSI, SwitchSI],
    *,
    capacitor_resistance: float,
    motor_friction: float,
    motor_viscous: float,
) -> Bench:
    """Lay out what each place means for the circuit, for the open and the closed switch."""
    table = np.zeros((5, 16))
    table[0] = 1.0
    held, breakdown, names = np.zeros(16, dtype=bool), np.zeros(16, dtype=bool), [""] * 16
    for level, switch in enumerate(switches):
        bounds, found = conductions(loop, switch)
        for n, entry in enumerate(found):
            place = 8 * level + 2 * n
            table[:, place] = _column(entry)
            breakdown[place] = entry.name == "breakdown"
            names[place] = entry.name
        for n, bound in enumerate(bounds):
            held[8 * level + 2 * n + 1] = True
            names[8 * level + 2 * n + 1] = "nothing" if bound == 0.0 else "limit"
    follows, fixed, drain_fixed, drain_slope, drain_rail = table
    return Bench(
        loop, capacitor_resistance, motor_friction, motor_viscous,
        follows, fixed, drain_fixed, drain_slope, drain_rail, held, breakdown, tuple(names),
    )  # fmt: skip


def _column(entry: Conduction) -> tuple[float, float, float, float, float]:
    finite = entry.drain_fixed if math.isfinite(entry.drain_fixed) else 0.0
    return entry.rung.follows, entry.rung.fixed, finite, entry.drain_slope, entry.drain_rail


def read(circuit: DriveSI, test: Bench, place: NDArray[np.int64], state: Floats) -> Readings:
    """Read the circuit at places, shape broadcasting with the state's (3, …)."""
    i, w, v = state
    loop = test.loop
    switch = test.switch_fixed[place] + test.switch_follows[place] * i
    source = switch
    if circuit.leak > 0.0:
        behind = circuit.source_resistance + test.capacitor_resistance
        source = (circuit.source_voltage - v + test.capacitor_resistance * switch) / behind
    rail = circuit.source_voltage - circuit.source_resistance * source
    drain = test.drain_fixed[place] + test.drain_slope[place] * i + test.drain_rail[place] * rail
    if test.held[place].any():
        open_drain = rail - loop.winding_resistance * i - loop.brush_drop * np.sign(i) - circuit.emf_constant * w
        drain = np.where(test.held[place], open_drain, drain)
    return Readings(switch, i - switch, source, rail, drain)


class Ledger(NamedTuple):
    """Energies [J], each integrated by itself; and ∫|torque left over|dt [N·m·s] of the fan's straightened law."""

    source: float
    source_resistance: float
    capacitor_resistance: float
    winding: float
    brushes: float
    switch: float
    breakdown: float
    diode: float
    friction: float
    load: float
    left_over: float


def ledger(circuit: DriveSI, test: Bench, stretches: Stretches) -> Ledger:
    """Integrate where the energy came from and went, over stretches, with Gauss's nodes."""
    at = nodes(stretches)
    some = stretches.rows(at.stretch)
    state = state_at(some, at.time)
    i, w, _ = state
    place = some.place[:, None]
    found = read(circuit, test, place, state)
    loop, weight = test.loop, at.weight
    size, speed = np.abs(i), np.abs(w)
    capacitor = found.source_current - found.switch_current

    def total(power: Floats) -> float:
        return float(np.einsum("nk,nk->", weight, np.broadcast_to(power, weight.shape)))

    in_switch = found.drain * found.switch_current
    broken = np.where(test.breakdown[place], in_switch, 0.0) if test.breakdown[some.place].any() else None
    breakdown = 0.0 if broken is None else total(broken)
    diode = 0.0
    if math.isfinite(loop.diode_drop):
        diode = total((loop.diode_drop + loop.diode_resistance * found.diode_current) * found.diode_current)
    turns, turned_speed = total(speed), total(speed**2)
    own = test.motor_friction * turns + test.motor_viscous * turned_speed
    load = (circuit.friction - test.motor_friction) * turns + (circuit.viscous - test.motor_viscous) * turned_speed
    left_over = 0.0
    if circuit.fan > 0.0:
        load += circuit.fan * total(speed**3)
        left_over = circuit.fan * total((speed - some.reference[:, None]) ** 2)
    if circuit.weight != 0.0:
        load += circuit.weight * total(w)
    square = total(size**2)
    return Ledger(
        source=circuit.source_voltage * total(found.source_current),
        source_resistance=circuit.source_resistance * total(found.source_current**2),
        capacitor_resistance=test.capacitor_resistance * total(capacitor**2),
        winding=loop.winding_resistance * square,
        brushes=loop.brush_drop * total(size),
        switch=total(in_switch) - breakdown,
        breakdown=breakdown,
        diode=diode,
        friction=own,
        load=load,
        left_over=left_over,
    )
