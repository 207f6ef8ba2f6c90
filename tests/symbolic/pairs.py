"""What pairs of derivation and kernel share: numbers as a bench has them, circuits from them, kernels turned round.

A route takes the numbers of a derivation's arguments by name, computes the result with the float kernels, and answers
``None`` where these numbers lie outside what the kernel's circuit does; then others are drawn.
"""

from __future__ import annotations

import dataclasses
import math
import os
import random
from collections.abc import Callable
from types import SimpleNamespace

import pytest
from scipy.optimize import brentq, minimize_scalar

from labkit.errors import NoSolutionError
from labkit.parts import Diode, Drive, Load, Mosfet, Motor, Pin, Supply
from labkit.symbolic import derivation, derivations
from labkit.symbolic.solving import _holds
from labkit.testing import assert_quantity_close
from labkit.units import Q_, Quantity

#: Least and greatest size in coherent SI, by unit, and by name where the unit does not tell.
SIZES = {
    "V": (1, 12), "A": (0.05, 3), "ohm": (0.5, 30), "W": (0.1, 10), "s": (1e-5, 1e-2), "Hz": (1e3, 5e4),
    "H": (1e-4, 1e-2), "F": (1e-4, 1e-2), "C": (1e-9, 3e-8), "A/s": (1e2, 1e4), "A/V**2": (0.1, 5), "": (10, 300),
    "m": (0.1, 3), "m**2": (1e-7, 3e-6), "ohm*m": (1.5e-8, 2.5e-8), "T": (0.1, 1), "kg": (1e-3, 5e-2),
    "rad/s": (100, 1500), "V*s/rad": (2e-3, 2e-2), "N*m": (1e-4, 5e-3), "kg*m**2": (1e-7, 1e-5),
    "N*m*s**2/rad**2": (1e-10, 1e-8), "degC": (263, 323), "kelvin": (1, 50), "kelvin/W": (1, 60),
    "1/kelvin": (3e-3, 8e-3), "J/kelvin": (1, 100), "J/kg/kelvin": (380, 390),
    "efficiency": (0.6, 0.95), "diode_drop": (0.2, 1), "body_diode_drop": (0.5, 1), "led_voltage": (1.6, 3.2),
    "led_slope_resistance": (1, 30), "thermal_voltage": (0.025, 0.06), "saturation_current": (1e-12, 1e-7),
    "base_emitter_voltage": (0.6, 0.9), "saturation_voltage": (0.1, 0.5), "threshold": (0.8, 3), "dip": (0.1, 2),
    "plateau_voltage": (1, 3), "high_level": (3, 5), "loaded_level": (2, 4.5), "breakdown_voltage": (20, 60),
    "on_resistance": (0.01, 0.3), "internal_resistance": (0.1, 2), "ground_resistance": (0.01, 0.5),
    "gate_resistor": (50, 1000), "output_resistance": (20, 60), "pull_down": (5e3, 5e4), "pull_up": (2e4, 6e4),
    "leakage_current": (1e-6, 1e-4), "pin_current": (5e-3, 3e-2), "no_load_current": (0.02, 0.3),
    "stall_current": (0.5, 5), "friction_torque": (1e-4, 1e-3), "stall_torque": (3e-3, 3e-2),
    "turn_on_time": (2e-8, 1e-6), "turn_off_time": (2e-8, 1e-6), "gate_capacitance": (1e-10, 3e-9),
    "battery_charge": (1e3, 1e4), "coil_area": (1e-4, 5e-3), "max_junction_temperature": (393, 448),
    "winding_temperature": (300, 420),
}  # fmt: skip

#: The same for one derivation: times in which something changes, a resistance that is a hot one.
SIZES_OF = {
    "run-up": {"time": (0.01, 1)}, "coasting with nothing connected": {"time": (0.01, 1)},
    "braking by a load": {"time": (0.01, 1)},
    "current rise": {"time": (1e-5, 1e-3)},
    "gate charging": {"time": (1e-8, 1e-6), "gate_capacitance": (1e-9, 3e-9)},
    "warming": {"time": (1, 1000)},
    "winding temperature from its resistance": {"resistance": (8, 10), "hot_resistance": (10, 20)},
}  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Route:
    """A kernel's way to a derivation's result, and how near it comes."""

    compute: Callable[[SimpleNamespace], Quantity | None]
    relative: float = 1e-9


def chance_for(name):
    """Return what draws the numbers: the same in every run, new ones where the suite explores."""
    return random.Random() if os.environ.get("LABKIT_EXPLORE") == "1" else random.Random(name)


def size_of(row, chance, sizes):
    """Return a random size that the row can have: evenly over the decades, but evenly for a part of one."""
    low, high = sizes.get(row.name) or SIZES.get(row.name) or ((0.1, 0.9) if row.sign == "1" else SIZES[row.unit])
    size = chance.uniform(low, high) if row.sign == "1" else math.exp(chance.uniform(math.log(low), math.log(high)))
    return float(round(size)) if row.name in {"turns", "count", "top"} else size


def admissible(this, chance):
    """Return random quantities for the arguments, inside what the result holds for, and the result."""
    for _ in range(2000):
        found = {row.name: size_of(row, chance, SIZES_OF.get(this.name, {})) for row in this.arguments}
        quantities = {row.name: row.quantity(found[row.name]) for row in this.arguments}
        try:
            value = this.evaluate(**quantities)
        except NoSolutionError:
            continue
        numbers = {row.symbol: found[row.name] for row in this.arguments}
        numbers |= {this.result.lhs: float(value.to_base_units().magnitude)}
        if all(_holds(one, numbers) for one in this.conditions if one.free_symbols <= set(numbers)):
            return quantities, value
    pytest.fail(f"{this.name}: no admissible numbers found")


def compare(name, route, draws=5):
    """Hold a derivation against its kernel at several random sets of numbers."""
    this, chance = derivation(name), chance_for(name)
    compared = 0
    for _ in range(100 * draws):
        quantities, value = admissible(this, chance)
        kernel = route.compute(SimpleNamespace(**quantities))
        if kernel is None:
            continue
        assert_quantity_close(value.to_base_units(), kernel.to_base_units(), relative=route.relative)
        compared += 1
        if compared == draws:
            return
    pytest.fail(f"{name}: the kernel's circuit does not do what these numbers ask")


def names_of(*topics):
    """Return the names of the derivations of these topics."""
    return {name for topic in topics for name in derivations().topics[topic]}


# --- circuits from numbers -------------------------------------------------------------------------

HELD = Load(friction="1e3 N*m")


def made(kind, n, ideal=None, **fields):
    """Return a part: the fields given, the rest by their names among the numbers, what they leave open *ideal*."""
    names = {field.name for field in dataclasses.fields(kind)}
    return kind(**((ideal or {}) | {name: value for name, value in vars(n).items() if name in names} | fields))


def motor(n, **fields):
    """Return a motor of these numbers; what they leave open is that of a small fan motor."""
    small = {"resistance": "2 ohm", "emf_constant": "5 mV*s/rad", "inductance": "1 mH", "inertia": "1 mg*m**2"}
    return made(Motor, n, small, **fields)


def drive(n, **fields):
    """Return a drive of these numbers, ideal in all that they do not name."""
    shut = {"on_resistance": "1e-12 ohm", "breakdown_voltage": "1 MV", "resistance_temperature_coefficient": "0 1/K"}
    parts = {
        "supply": made(Supply, n, voltage=getattr(n, "supply_voltage", "6 V")),
        "motor": motor(n),
        "switch": made(Mosfet, n, shut),
        "diode": made(Diode, n, forward_voltage=getattr(n, "diode_drop", "0 V")),
        "pin": made(Pin, n, {"high_level": "4 V", "output_resistance": "0 ohm", "current_limit": "1 A"}),
        "pull_down": None,
    }
    return made(Drive, n, parts, **fields)


# --- kernels turned round --------------------------------------------------------------------------


def inverse(kernel, wanted, low, high):
    """Return the place between two quantities, of one unit, at which the kernel gives what is wanted."""
    unit = str(low.units)
    want = float(wanted.to_base_units().magnitude)

    def miss(decade):
        return float(kernel(Q_(math.exp(decade), unit)).to_base_units().magnitude) / want - 1.0

    ends = (math.log(float(each.to(unit).magnitude)) for each in (low, high))
    return Q_(math.exp(brentq(miss, *ends, xtol=1e-14, rtol=1e-14)), unit)


def highest(kernel, low, high):
    """Return the place between two quantities, of one unit, at which the kernel is highest, and its value there."""
    unit = str(low.units)
    top = minimize_scalar(
        lambda size: -float(kernel(Q_(size, unit)).to_base_units().magnitude),
        bounds=[float(each.to(unit).magnitude) for each in (low, high)],
        method="bounded",
        options={"xatol": 1e-9 * float(high.magnitude)},
    )
    return Q_(float(top.x), unit), kernel(Q_(float(top.x), unit))


def turning_point(holds, low, high):
    """Return the place between two quantities from which on something holds, by halving."""
    assert not holds(low)
    assert holds(high)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
