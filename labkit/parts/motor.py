"""The brushed motor, and what it turns."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from labkit.errors import PartError
from labkit.parts._fields import Part, finite_quantity, quantity_field
from labkit.units import Q_, Quantity, magnitude

__all__ = ["CatalogueMotor", "Load", "Motor"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Motor(Part):
    """A brushed permanent-magnet motor.

    Sign convention, used throughout the kit::

             i →
        + ──────[ R ]──[ L ]──(brushes)──┐      v = R·i + L·di/dt + brush drop·sgn(i) + k·ω
        v                               (k·ω)   torque of the field  = k·i
        − ───────────────────────────────┘      friction opposes the turning

    Positive current flows into the + terminal, positive torque and speed are forward,
    and the generator EMF k·ω is positive at the + terminal when the shaft turns forward.

    Parameters
    ----------
    resistance : Quantity [ohm]
        Winding and brush contacts, terminal to terminal, at 25 °C.
    emf_constant : Quantity [V·s/rad]
        k: EMF over speed, and equally torque over current.
    inductance, inertia : Quantity [H], [kg·m²], optional
        Needed only where time matters.
    friction_torque, viscous_friction : Quantity [N·m], [N·m·s/rad]
        The motor's own running friction: constant, and proportional to speed.
    starting_torque : Quantity [N·m], optional
        What holds the rotor at rest; the friction torque where not given.
    brush_drop : Quantity [V]
        Part of the contact voltage that does not depend on the current, both brushes together.
    winding_to_housing, housing_to_ambient : Quantity [K/W], optional
        Thermal resistances.
    winding_time_constant, housing_time_constant : Quantity [s], optional
        Thermal time constants as data sheets print them.
    max_winding_temperature : Quantity [degC], optional
    rated_voltage : Quantity [V], optional
        What the maker winds it for.

    Raises
    ------
    PartError
        Names the field, the value and what to do.

    Examples
    --------
    >>> fan_motor = Motor(resistance=Q_("2.8 ohm"), emf_constant=Q_("5.4 mV*s/rad"))
    >>> print(fan_motor.emf_constant)
    5.4 millivolt * second / radian
    """

    resistance: Quantity = quantity_field("ohm")
    emf_constant: Quantity = quantity_field("V*s/rad")
    inductance: Quantity | None = quantity_field("H", default=None)
    inertia: Quantity | None = quantity_field("kg*m**2", default=None)
    friction_torque: Quantity = quantity_field("N*m", default="0 N*m", least_allowed=True)
    viscous_friction: Quantity = quantity_field("N*m*s/rad", default="0 N*m*s/rad", least_allowed=True)
    starting_torque: Quantity | None = quantity_field("N*m", default=None, least_allowed=True)
    brush_drop: Quantity = quantity_field("V", default="0 V", least_allowed=True)
    winding_to_housing: Quantity | None = quantity_field("kelvin/W", default=None)
    housing_to_ambient: Quantity | None = quantity_field("kelvin/W", default=None)
    winding_time_constant: Quantity | None = quantity_field("s", default=None)
    housing_time_constant: Quantity | None = quantity_field("s", default=None)
    max_winding_temperature: Quantity | None = quantity_field("degC", default=None, least=-273.15)
    rated_voltage: Quantity | None = quantity_field("V", default=None)

    @staticmethod
    def from_catalogue(
        *,
        voltage: Quantity,
        no_load_speed: Quantity,
        no_load_current: Quantity,
        stall_torque: Quantity,
        stall_current: Quantity,
    ) -> CatalogueMotor:
        """Fit a motor to a catalogue line of no-load and stall points.

        Real catalogue lines give two constants that ought to be one: k_T = T_stall/(I_stall - I_0), from torque, and
        k_E = (V - I_0·R)/ω_0, from speed. The motor takes their geometric mean;
        both constants, and how far they disagree, are returned.

        Parameters
        ----------
        voltage : Quantity [V]
        no_load_speed : Quantity [rad/s or rpm]
        no_load_current, stall_current : Quantity [A]
        stall_torque : Quantity [N·m]
            At the shaft: what friction takes is already off it.

        Returns
        -------
        CatalogueMotor

        Raises
        ------
        PartError
            When the stall current is not above the no-load current, or a value is not positive.
        """
        units = {
            "voltage": "V",
            "no_load_speed": "rad/s",
            "no_load_current": "A",
            "stall_torque": "N*m",
            "stall_current": "A",
        }
        given = {"voltage": voltage, "no_load_speed": no_load_speed, "no_load_current": no_load_current,
                 "stall_torque": stall_torque, "stall_current": stall_current}  # fmt: skip
        si = {n: float(magnitude(finite_quantity(q, units[n], f"catalogue.{n}"), units[n])) for n, q in given.items()}
        for name, size in si.items():
            if size <= 0:
                raise PartError(f"catalogue.{name}", "more than zero", given[name], "Read the line again.")
        free, stall = si["no_load_current"], si["stall_current"]
        if stall <= free:
            raise PartError(
                "catalogue.stall_current", "above the no-load current", stall_current, "Are the two columns swapped?"
            )
        resistance = si["voltage"] / stall
        torque_constant = si["stall_torque"] / (stall - free)
        emf_constant = (si["voltage"] - free * resistance) / si["no_load_speed"]
        k = math.sqrt(torque_constant * emf_constant)
        motor = Motor(
            resistance=Q_(resistance, "ohm"), emf_constant=Q_(k, "V*s/rad"), friction_torque=Q_(k * free, "N*m")
        )
        return CatalogueMotor(
            motor=motor,
            torque_constant=Q_(torque_constant, "N*m/A"),
            emf_constant=Q_(emf_constant, "V*s/rad"),
            disagreement=torque_constant / emf_constant - 1.0,
        )


class CatalogueMotor(NamedTuple):
    """A motor fitted to a catalogue line, with the two constants that the line gives for the one k."""

    motor: Motor
    torque_constant: Quantity
    emf_constant: Quantity
    #: k_T/k_E - 1: zero for a motor that obeys the simple laws.
    disagreement: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Load(Part):
    """What the shaft turns: T(ω) = friction·sgn ω + viscous·ω + fan·ω·abs(ω) + weight.

    Positive torque opposes forward turning. Only the weight can drive the shaft.

    Parameters
    ----------
    friction : Quantity [N·m]
    viscous : Quantity [N·m·s/rad]
    fan : Quantity [N·m·s²/rad²]
    weight : Quantity [N·m]
        Constant, whichever way the shaft turns; negative where it drives forward.
    inertia : Quantity [kg·m²]
        Added to the rotor's.
    """

    friction: Quantity = quantity_field("N*m", default="0 N*m", least_allowed=True)
    viscous: Quantity = quantity_field("N*m*s/rad", default="0 N*m*s/rad", least_allowed=True)
    fan: Quantity = quantity_field("N*m*s**2/rad**2", default=Q_(0.0, "N*m*s**2/rad**2"), least_allowed=True)
    weight: Quantity = quantity_field("N*m", default="0 N*m", least=-math.inf)
    inertia: Quantity = quantity_field("kg*m**2", default="0 kg*m**2", least_allowed=True)
