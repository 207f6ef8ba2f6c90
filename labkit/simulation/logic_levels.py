"""What logic families promise at a pin, and what a pin's own figures say of its resistance."""

from __future__ import annotations

from typing import NamedTuple

from labkit.simulation._crossing import Given, argument, plain
from labkit.units import Q_, Quantity, from_si

__all__ = ["LOGIC_FAMILIES", "LogicLevels", "cmos_levels", "pin_resistance"]


class LogicLevels(NamedTuple):
    """The four levels of a logic family [V]: what an input takes, and what an output gives."""

    #: An input reads low up to here.
    input_low: Quantity
    #: An input reads high from here.
    input_high: Quantity
    #: An output that is low is at most here.
    output_low: Quantity
    #: An output that is high is at least here.
    output_high: Quantity

    @property
    def low_margin(self) -> Quantity:
        """Noise that a low level stands."""
        margin: Quantity = self.input_low - self.output_low
        return margin

    @property
    def high_margin(self) -> Quantity:
        """Noise that a high level stands."""
        margin: Quantity = self.output_high - self.input_high
        return margin


def _levels(*volts: float) -> LogicLevels:
    return LogicLevels(*(Q_(each, "V") for each in volts))


#: As two public level tables give them; 5 V CMOS inputs are printed with 1.35 V as well as 1.5 V.
LOGIC_FAMILIES = {
    "5 V TTL": _levels(0.8, 2.0, 0.4, 2.4),
    "3.3 V LVTTL": _levels(0.8, 2.0, 0.4, 2.4),
    "5 V CMOS": _levels(1.35, 3.5, 0.5, 4.4),
}


def cmos_levels(supply_voltage: Given) -> tuple[Quantity, Quantity]:
    """Input levels of a CMOS input that follows its supply: low up to 0.3·V, high from 0.7·V.

    Parameters
    ----------
    supply_voltage : Quantity [V], any shape

    Returns
    -------
    tuple of Quantity [V]
        Low up to, high from.

    Raises
    ------
    PartError
        When the voltage is not more than zero.

    Examples
    --------
    >>> low, high = cmos_levels("3.3 V")
    >>> print(low.round(2), high.round(2))
    0.99 volt 2.31 volt
    """
    volts = argument(supply_voltage, "V", "supply_voltage", least=0.0, least_allowed=False)
    return from_si(plain(0.3 * volts), "V"), from_si(plain(0.7 * volts), "V")


def pin_resistance(supply_voltage: Given, output_high: Given, test_current: Given) -> Quantity:
    """Output resistance of a pin, from its data sheet's V_OH at a test current.

    Parameters
    ----------
    supply_voltage, output_high : Quantity [V], any shape
    test_current : Quantity [A], any shape

    Returns
    -------
    Quantity [ohm]
        (V - V_OH)/I: at worst, since V_OH is printed as a minimum. Pulling low: ``pin_resistance(V_OL, "0 V", I)``.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> print(pin_resistance("5 V", "4.2 V", "20 mA").round(6))
    40.0 ohm
    """
    volts = argument(supply_voltage, "V", "supply_voltage")
    drop = volts - argument(output_high, "V", "output_high")
    amps = argument(test_current, "A", "test_current", least=0.0, least_allowed=False)
    return from_si(plain(argument(from_si(drop, "V"), "V", "supply_voltage over output_high", least=0.0) / amps), "ohm")
