"""How a transistor's junction climbs to where it settles, or runs away."""

from __future__ import annotations

import numpy as np

from labkit._kernels.warming import warming_rise
from labkit.errors import NoSolutionError
from labkit.parts import Mosfet
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, argument, plain, single
from labkit.simulation._loop import needed
from labkit.simulation._warmth import ROOM
from labkit.simulation.switch import cold_resistance
from labkit.units import Quantity, from_si, magnitude

__all__ = ["junction_warming"]


def junction_warming(
    mosfet: Mosfet,
    current: Given,
    time: Given,
    *,
    time_constant: Given,
    gate_voltage: Given | None = None,
    ambient: Given = "25 degC",
    thermal_resistance: Given | None = None,
    other_loss: Given = "0 W",
) -> Quantity:
    """Junction temperature at times after a steady current is switched on.

    Parameters
    ----------
    mosfet : Mosfet
    current : Quantity [A]
        Root mean square.
    time : Quantity [s], shape (n,)
    time_constant : Quantity [s]
        In which 63 % of the rise is done while the power stays the same: about a minute for a TO-220 case in still air,
        some seconds for a small surface-mount one (common practice, no source).
    gate_voltage : Quantity [V], optional
        Of a MOSFET whose on-resistance is a table.
    ambient : Quantity [degC]
    thermal_resistance : Quantity [K/W], optional
        Junction to ambient, in the place of the data sheet's.
    other_loss : Quantity [W]

    Returns
    -------
    Quantity [degC], shape (n,)

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        When the transistor stays off.

    Notes
    -----
    One body with one time constant: dT/dt = (T_a + R_th·P(T) - T)/τ with P = I²·R₂₅·(1 + α·(T - 25 °C)) + other,
    in closed form. In thermal runaway the temperature grows without end, which stops being true where the part fails.

    Examples
    --------
    >>> part = Mosfet(on_resistance="0.2 ohm", junction_to_ambient="62 K/W")
    >>> print(junction_warming(part, "1.5 A", "1 hour", time_constant="60 s").round(1))
    57.4 degree_Celsius
    """
    expect(mosfet, Mosfet, "junction_warming.mosfet")
    gate = None if gate_voltage is None else np.asarray(single(gate_voltage, "V", "gate_voltage"))
    cold = float(cold_resistance(mosfet, gate))
    if np.isinf(cold):
        raise NoSolutionError("The transistor stays off: its gate gets not more than its threshold.")
    path = (
        needed(mosfet, "junction_to_ambient", "kelvin/W", "for a temperature")
        if thermal_resistance is None
        else single(thermal_resistance, "kelvin/W", "thermal_resistance", least=0.0)
    )
    rise = warming_rise(
        argument(time, "s", "time", least=0.0),
        ambient=single(ambient, "degC", "ambient", least=-273.15) - ROOM,
        thermal_resistance=path,
        time_constant=single(time_constant, "s", "time_constant", least=0.0, least_allowed=False),
        heating=single(current, "A", "current", least=0.0) ** 2 * cold,
        growth=float(magnitude(mosfet.resistance_temperature_coefficient, "1/kelvin")),
        other=single(other_loss, "W", "other_loss", least=0.0),
    )
    return from_si(plain(ROOM + rise), "degC")
