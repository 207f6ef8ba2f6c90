"""Transistors and diodes, as their data sheets describe them.

Only what a calculation needs is required; what is missing makes that calculation's verdict "cannot tell".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import pint

from labkit.errors import PartError
from labkit.parts._fields import Part, finite_quantity, number_field, quantity_field
from labkit.units import Q_, Quantity, magnitude

__all__ = ["Bipolar", "Diode", "Mosfet"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Mosfet(Part):
    """An N-channel enhancement MOSFET.

    Parameters
    ----------
    on_resistance : Quantity [ohm], or pairs of (gate voltage [V], resistance [ohm])
        At 25 °C. One value holds for any gate voltage that a calculation takes as "on".
    threshold : Quantity [V], optional
    transconductance : Quantity [A/V²], optional
        K of the saturation current K·(V_GS - V_th)²; estimated from an on-resistance and the threshold where not given.
    gate_charge, gate_drain_charge : Quantity [C], optional
    plateau_voltage : Quantity [V], optional
        Gate voltage while the drain swings.
    breakdown_voltage : Quantity [V], optional
    body_diode_drop : Quantity [V]
    max_drain_current : Quantity [A], optional
    max_gate_voltage : Quantity [V], optional
    max_junction_temperature : Quantity [degC]
    junction_to_ambient, junction_to_case : Quantity [K/W], optional
    resistance_temperature_coefficient : Quantity [1/K]
        Rise of on-resistance per kelvin, of its value at 25 °C: about 0.5 %/K (common practice, no source).

    Examples
    --------
    >>> part = Mosfet(on_resistance=[("3.3 V", "0.2 ohm"), ("10 V", "22 mOhm")])
    >>> [str(voltage) for voltage, resistance in part.on_resistance]
    ['3.3 volt', '10.0 volt']
    """

    on_resistance: Quantity | tuple[tuple[Quantity, Quantity], ...]
    threshold: Quantity | None = quantity_field("V", default=None)
    transconductance: Quantity | None = quantity_field("A/V**2", default=None)
    gate_charge: Quantity | None = quantity_field("C", default=None)
    gate_drain_charge: Quantity | None = quantity_field("C", default=None)
    plateau_voltage: Quantity | None = quantity_field("V", default=None)
    breakdown_voltage: Quantity | None = quantity_field("V", default=None)
    body_diode_drop: Quantity = quantity_field("V", default="0.7 V", least_allowed=True)
    max_drain_current: Quantity | None = quantity_field("A", default=None)
    max_gate_voltage: Quantity | None = quantity_field("V", default=None)
    max_junction_temperature: Quantity = quantity_field("degC", default=Q_(150, "degC"), least=-273.15)
    junction_to_ambient: Quantity | None = quantity_field("kelvin/W", default=None)
    junction_to_case: Quantity | None = quantity_field("kelvin/W", default=None)
    resistance_temperature_coefficient: Quantity = quantity_field(
        "1/kelvin", default=Q_(0.005, "1/kelvin"), least_allowed=True
    )

    def __post_init__(self) -> None:
        Part.__post_init__(self)
        object.__setattr__(self, "on_resistance", _resistance_or_table(self.on_resistance))


def _resistance_or_table(given: object) -> Quantity | tuple[tuple[Quantity, Quantity], ...]:
    """Return one positive resistance, or the table sorted by gate voltage."""
    where = "Mosfet.on_resistance"
    if isinstance(given, (str, pint.Quantity)) or not isinstance(given, Iterable):
        return _positive(given, "ohm", where)
    rows = [tuple(row) if not isinstance(row, str) else (row,) for row in given]
    if not rows or any(len(row) != 2 for row in rows):
        raise PartError(
            where,
            "one resistance, or pairs of gate voltage and resistance",
            given,
            "Write [('3.3 V', '0.2 ohm'), ('10 V', '22 mOhm')].",
        )
    table = [(_positive(v, "V", f"{where} gate voltage"), _positive(r, "ohm", where)) for v, r in rows]
    table.sort(key=lambda row: magnitude(row[0], "V"))
    volts = [magnitude(v, "V") for v, _ in table]
    ohms = [magnitude(r, "ohm") for _, r in table]
    if len(set(volts)) < len(volts):
        raise PartError(
            where, "given once for each gate voltage", [f"{v:~P}" for v, _ in table], "Take the double row out."
        )
    if any(later > earlier for earlier, later in pairwise(ohms)):
        raise PartError(
            where, "no larger at a higher gate voltage", [f"{r:~P}" for _, r in table], "Are two rows swapped?"
        )
    return tuple(table)


def _positive(value: object, unit: str, where: str) -> Quantity:
    quantity = finite_quantity(value, unit, where)
    if magnitude(quantity, unit) <= 0:
        raise PartError(where, f"a quantity in {unit}, more than zero", value, "Check the sign.")
    return quantity


@dataclass(frozen=True, kw_only=True, slots=True)
class Bipolar(Part):
    """An NPN bipolar transistor, a Darlington pair included.

    Parameters
    ----------
    saturation_voltage : Quantity [V]
        Collector to emitter, switched fully on.
    base_emitter_voltage : Quantity [V]
    gain : float
        Collector over base current that may be relied on when switching: 10 for one transistor
        (common practice, no source).
    base_resistor : Quantity [ohm], optional
    max_collector_current : Quantity [A], optional
    breakdown_voltage : Quantity [V], optional
    max_junction_temperature : Quantity [degC]
    junction_to_ambient : Quantity [K/W], optional
    """

    saturation_voltage: Quantity = quantity_field("V", default="0.3 V", least_allowed=True)
    base_emitter_voltage: Quantity = quantity_field("V", default="0.7 V")
    gain: float = number_field(default=10.0)
    base_resistor: Quantity | None = quantity_field("ohm", default=None)
    max_collector_current: Quantity | None = quantity_field("A", default=None)
    breakdown_voltage: Quantity | None = quantity_field("V", default=None)
    max_junction_temperature: Quantity = quantity_field("degC", default=Q_(150, "degC"), least=-273.15)
    junction_to_ambient: Quantity | None = quantity_field("kelvin/W", default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Diode(Part):
    """A diode that conducts above its forward voltage along a straight line.

    Parameters
    ----------
    forward_voltage : Quantity [V]
        Where the straight line meets zero current.
    slope_resistance : Quantity [ohm]
    recovery_charge : Quantity [C], optional
        Zero for a Schottky diode.
    max_current : Quantity [A], optional
    reverse_voltage : Quantity [V], optional
    max_junction_temperature : Quantity [degC]
    junction_to_ambient : Quantity [K/W], optional
    """

    forward_voltage: Quantity = quantity_field("V", default="0.4 V", least_allowed=True)
    slope_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    recovery_charge: Quantity | None = quantity_field("C", default=None, least_allowed=True)
    max_current: Quantity | None = quantity_field("A", default=None)
    reverse_voltage: Quantity | None = quantity_field("V", default=None)
    max_junction_temperature: Quantity = quantity_field("degC", default=Q_(150, "degC"), least=-273.15)
    junction_to_ambient: Quantity | None = quantity_field("kelvin/W", default=None)
