"""What feeds the drive: the source, and the pin that commands it."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.parts._fields import Part, quantity_field
from labkit.units import Quantity

__all__ = ["Pin", "Supply"]


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
        What the source is made to give.
    brown_out : Quantity [V], optional
        Below this the board on the same supply resets.
    """

    voltage: Quantity = quantity_field("V")
    internal_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    capacitance: Quantity | None = quantity_field("F", default=None)
    capacitor_resistance: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    current_limit: Quantity | None = quantity_field("A", default=None)
    brown_out: Quantity | None = quantity_field("V", default=None)


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
    """

    high_level: Quantity = quantity_field("V", default="3.3 V")
    output_resistance: Quantity = quantity_field("ohm", default="40 ohm", least_allowed=True)
    current_limit: Quantity | None = quantity_field("A", default=None)
