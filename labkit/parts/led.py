"""The lamp that a turned motor lights."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.parts._fields import Part, number_field, quantity_field
from labkit.units import Quantity

__all__ = ["Led"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Led(Part):
    """A light-emitting diode that obeys Shockley's law, with a series resistor if there is one.

    i = I_S·(e^(v/(n·kT/e)) - 1), with I_S from the point that the data sheet prints, at 25 °C.

    Parameters
    ----------
    forward_voltage, test_current : Quantity [V], [A]
        The printed point: across the LED alone. About 1.8 V red, 3 V white or blue (common practice, no source).
    ideality : float
        n: 1 to 2.5; 2 is fair for a small red LED (common practice, no source).
    series_resistance : Quantity [ohm]
        Its own and that of the resistor before it.

    Examples
    --------
    >>> print(Led(series_resistance="47 ohm").forward_voltage)
    1.8 volt
    """

    forward_voltage: Quantity = quantity_field("V", default="1.8 V")
    test_current: Quantity = quantity_field("A", default="10 mA")
    ideality: float = number_field(default=2.0, most=10.0)
    series_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
