"""What feeds the drive: the source, and the pin that commands it."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.parts._fields import Part, number_field, quantity_field
from labkit.units import Quantity

__all__ = ["Converter", "Pin", "Regulator", "Supply"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Regulator(Part):
    """A linear regulator that the supply's voltage comes from: what it drops, it burns.

    Parameters
    ----------
    input_voltage : Quantity [V]
    max_dissipation : Quantity [W]
        Without a heat sink a board sheds about 2 W (common practice, no source).
    """

    input_voltage: Quantity = quantity_field("V")
    max_dissipation: Quantity = quantity_field("W", default="2 W")


@dataclass(frozen=True, kw_only=True, slots=True)
class Converter(Part):
    """A step-up or step-down converter that the supply's voltage comes from.

    Parameters
    ----------
    cell_voltage : Quantity [V]
    cell_current_limit : Quantity [A], optional
    efficiency : float
        Output power over input power.
    """

    cell_voltage: Quantity = quantity_field("V")
    cell_current_limit: Quantity | None = quantity_field("A", default=None)
    efficiency: float = number_field(default=0.85, most=1.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class Supply(Part):
    """A source with its inner resistance, and the buffer capacitor across it if there is one.

    Parameters
    ----------
    voltage : Quantity [V]
        With nothing connected.
    internal_resistance : Quantity [ohm]
        Source, leads and contacts together.
    capacitance, capacitor_resistance : Quantity [F], [ohm], optional
        Buffer capacitor after the inner resistance, and its series resistance.
    current_limit : Quantity [A], optional
        What the source is made to give: a rating that the review holds against the start. No run, operating point or
        start applies it, so that a source that limits its current sags further than they say.
    brown_out : Quantity [V], optional
        Below this the board on the same supply resets.
    made_by : Regulator or Converter, optional
        What the voltage comes from, where that is not a cell.
    """

    voltage: Quantity = quantity_field("V")
    internal_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    capacitance: Quantity | None = quantity_field("F", default=None)
    capacitor_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    current_limit: Quantity | None = quantity_field("A", default=None)
    brown_out: Quantity | None = quantity_field("V", default=None)
    made_by: Regulator | Converter | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Pin(Part):
    """An output pin of the board.

    Parameters
    ----------
    high_level : Quantity [V]
        With nothing connected.
    output_resistance : Quantity [ohm]
        From the data sheet's V_OH: the drop over the test current.
    current_limit : Quantity [A], optional
        The current that the pin is made to give: the data sheet's test current, not its damage limit.
    leakage : Quantity [A]
        What flows out of the pin while the board starts and the pin floats.
    boot_pull_up : Quantity [ohm], optional
        A pull-up that is on while the board starts.
    """

    high_level: Quantity = quantity_field("V", default="3.3 V")
    output_resistance: Quantity = quantity_field("ohm", default="40 ohm", least_allowed=True)
    current_limit: Quantity | None = quantity_field("A", default=None)
    leakage: Quantity = quantity_field("A", default="1 µA", least_allowed=True)
    boot_pull_up: Quantity | None = quantity_field("ohm", default=None)
