"""All currents and voltages of the drive, and where the energy goes.

At each place on the ladder every reading is a linear form of the state: c·(1, i, ω, v). Powers are then products of two
forms, and an energy needs no more than the integrals of the products of 1, i, ω and v, summed place by place.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.engine.circuit import DriveSI, LoopSI, SwitchSI, conductions
from labkit._kernels.engine.stretches import Floats, States, Stretches, nodes, state_at

__all__ = [
    "BODY",
    "BREAKDOWN",
    "DIODE",
    "LIMIT",
    "NOTHING",
    "Bench",
    "Ledger",
    "Readings",
    "Sums",
    "bench",
    "integrals",
    "ledger",
    "look",
    "no_sums",
    "read",
]

#: What carries the current at a place.
NOTHING, BODY, REVERSE, FORWARD, DIODE, BREAKDOWN, LIMIT = range(7)
_NAMED = {"body diode": BODY, "reverse": REVERSE, "forward": FORWARD, "diode": DIODE, "breakdown": BREAKDOWN}
_PLACES = 16


class Readings(NamedTuple):
    """Instantaneous values [A, V] of one shape, or their forms, shape (4, 16): of 1, i, ω and v, by place."""

    switch_current: Floats
    diode_current: Floats
    supply_current: Floats
    supply_voltage: Floats
    switch_voltage: Floats


class Bench(NamedTuple):
    """What readings need besides `DriveSI`."""

    loop: LoopSI
    #: The switch while it is closed.
    closed: SwitchSI
    capacitor_resistance: float
    #: What the motor itself takes of the friction [N·m, N·m·s/rad]; the rest is the load's.
    motor_friction: float
    motor_viscous: float
    forms: Readings
    #: What carries the current, and its sign, by place (8·level + 2·rung + held).
    carrier: NDArray[np.int64]
    sign: Floats


def bench(
    circuit: DriveSI,
    loop: LoopSI,
    switches: tuple[SwitchSI, SwitchSI],
    *,
    capacitor_resistance: float,
    motor_friction: float,
    motor_viscous: float,
) -> Bench:
    """Lay out what each place means, for the open and the closed switch."""
    forms = Readings(*np.zeros((5, 4, _PLACES)))
    carrier, sign = np.zeros(_PLACES, dtype=np.int64), np.zeros(_PLACES)
    one, current, emf = np.array([1.0, 0, 0, 0]), np.array([0, 1.0, 0, 0]), np.array([0, 0, circuit.emf_constant, 0])

    def lay(place: int, switch: Floats, diode: Floats, drain: Floats, rail_share: float) -> None:
        source = switch
        if circuit.leak > 0.0:
            behind = circuit.source_resistance + capacitor_resistance
            source = (capacitor_resistance * switch - np.array([0, 0, 0, 1.0])) / behind
        rail = circuit.source_voltage * one - circuit.source_resistance * source
        for form, values in zip(forms, (switch, diode, source, rail, drain + rail_share * rail), strict=True):
            form[:, place] = values

    for level, switch in enumerate(switches):
        bounds, found = conductions(loop, switch)
        for n, entry in enumerate(found):
            place = 8 * level + 2 * n
            through = entry.rung.fixed * one + entry.rung.follows * current
            fixed = entry.drain_fixed if math.isfinite(entry.drain_fixed) else 0.0
            lay(place, through, current - through, fixed * one + entry.drain_slope * current, entry.drain_rail)
            carrier[place] = _NAMED[entry.name]
            sign[place] = -1.0 if carrier[place] in (BODY, REVERSE) else 1.0
        for n, bound in enumerate(bounds):
            place = 8 * level + 2 * n + 1
            drop = loop.winding_resistance * bound + loop.brush_drop * np.sign(bound)
            lay(place, bound * one, 0.0 * one, -drop * one - emf, 1.0)
            carrier[place] = LIMIT if bound > 0.0 else NOTHING
            sign[place] = np.sign(bound)
    return Bench(loop, switches[1], capacitor_resistance, motor_friction, motor_viscous, forms, carrier, sign)


def look(form: Floats, place: NDArray[np.int64], state: Floats | States) -> Floats:
    """Read one form at places of any shape, in states (i, ω, v) of the same."""
    one, *on_state = form.take(place, axis=1)
    result: Floats = one + on_state[0] * state[0] + on_state[1] * state[1] + on_state[2] * state[2]
    return result


def read(test: Bench, place: NDArray[np.int64], state: Floats | States) -> Readings:
    """Read the circuit at places of any shape, in states (i, ω, v) of the same."""
    return Readings(*(look(form, place, state) for form in test.forms))


class Sums(NamedTuple):
    """Integrals over stretches that all energies are made of."""

    #: Of the products of 1, i, ω and v, by place, shape (4, 4, 16).
    products: Floats
    #: Of the way of turning times ω [rad], of ω² and of |ω|³.
    turning: float
    squared: float
    cubed: float

    def plus(self, other: Sums) -> Sums:
        """Sums over these stretches and others."""
        return Sums(
            self.products + other.products,
            self.turning + other.turning,
            self.squared + other.squared,
            self.cubed + other.cubed,
        )


def no_sums() -> Sums:
    """Sums over no stretch."""
    return Sums(np.zeros((4, 4, _PLACES)), 0.0, 0.0, 0.0)


def integrals(circuit: DriveSI, stretches: Stretches) -> tuple[Sums, Floats]:
    """Integrate over stretches with Gauss's nodes.

    Returns besides, of each stretch, ∫c·(ω - ω_r)²dt [N·m·s]: what the fan's straightened law left over.
    """
    at = nodes(stretches)
    some = stretches if len(at.stretch) == len(stretches.start) else stretches.rows(at.stretch)
    i, w, v = state_at(some, at.time)
    total = at.total

    def by_place(values: Floats) -> Floats:
        return np.asarray(np.bincount(some.place, weights=values, minlength=_PLACES), dtype=np.float64)

    products = np.zeros((4, 4, _PLACES))
    turned, square = total(w), w * w
    squared = float(total(square).sum())
    products[0, 0], products[0, 1] = by_place(at.width), by_place(total(i))
    products[0, 2], products[1, 1] = by_place(turned), by_place(total(i * i))
    if circuit.leak > 0.0:
        products[0, 3], products[1, 3] = by_place(total(v)), by_place(total(v * i))
        products[3, 3] = by_place(total(v * v))
    cubed, left_over = 0.0, np.zeros(len(stretches.start))
    if circuit.fan > 0.0:
        size = np.abs(w)
        square *= size
        cubed = float(total(square).sum())
        size -= some.reference
        size *= size
        left_over += circuit.fan * np.bincount(at.stretch, weights=total(size), minlength=len(left_over))
    return Sums(products, float(some.way @ turned), squared, cubed), left_over


class Ledger(NamedTuple):
    """Energies [J], each integrated by itself."""

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


def ledger(circuit: DriveSI, test: Bench, sums: Sums) -> Ledger:
    """Where the energy came from and went."""
    products = sums.products + sums.products.swapaxes(0, 1)
    products[range(4), range(4)] = sums.products[range(4), range(4)]

    def energy(one: Floats, other: Floats) -> Floats:
        result: Floats = np.einsum("ap,bp,abp->p", one, other, products)
        return result

    forms, loop, unit = test.forms, test.loop, np.eye(4)[:, :1] * np.ones(_PLACES)
    heat = energy(forms.switch_voltage, forms.switch_current)
    breakdown = float(heat[test.carrier == BREAKDOWN].sum())
    diode_voltage = 0.0 * unit
    if math.isfinite(loop.diode_drop):
        diode_voltage = loop.diode_drop * unit + loop.diode_resistance * forms.diode_current
    source, capacitor = forms.supply_current, forms.supply_current - forms.switch_current
    return Ledger(
        source=circuit.source_voltage * float(energy(source, unit).sum()),
        source_resistance=circuit.source_resistance * float(energy(source, source).sum()),
        capacitor_resistance=test.capacitor_resistance * float(energy(capacitor, capacitor).sum()),
        winding=loop.winding_resistance * float(products[1, 1].sum()),
        brushes=loop.brush_drop * float((test.sign * products[0, 1]).sum()),
        switch=float(heat.sum()) - breakdown,
        breakdown=breakdown,
        diode=float(energy(diode_voltage, forms.diode_current).sum()),
        friction=test.motor_friction * sums.turning + test.motor_viscous * sums.squared,
        load=(circuit.friction - test.motor_friction) * sums.turning
        + (circuit.viscous - test.motor_viscous) * sums.squared
        + circuit.fan * sums.cubed
        + circuit.weight * float(products[0, 2].sum()),
    )
