"""The whole circuit as built."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.errors import PartError
from labkit.parts._fields import Part, quantity_field
from labkit.parts.build import Build
from labkit.parts.motor import Load, Motor
from labkit.parts.semiconductors import Bipolar, Diode, Mosfet
from labkit.parts.supply import Pin, Supply
from labkit.units import Q_, Quantity

__all__ = ["Drive"]

_KINDS: dict[str, tuple[type[Part], ...]] = {
    "supply": (Supply,),
    "motor": (Motor,),
    "switch": (Mosfet, Bipolar),
    "diode": (Diode,),
    "load": (Load,),
    "pin": (Pin,),
    "build": (Build,),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Drive(Part):
    """A motor on a low-side switch, with its freewheel diode.

    ::

        + ──┬────────┐
            │        │ band
          motor    diode        the switch opens: the winding's current goes on through the diode
            │        │
            ├────────┘
          switch ── gate resistor ── pin
        0 ──┴── common ground

    Parameters
    ----------
    supply : Supply
    motor : Motor
    switch : Mosfet or Bipolar
    diode : Diode or None
        ``None`` leaves the freewheel diode out, which the switch-off lesson is about.
    load : Load
    pin : Pin
    gate_resistor, pull_down : Quantity [ohm]
        ``pull_down=None`` leaves it out.
    wiring : Quantity [ohm]
        Leads and contacts in the motor's own loop, added to the winding.
    ambient : Quantity [degC]
    build : Build
        How it is put together where that differs from the drawing: only ``review`` looks at it.

    Raises
    ------
    PartError
        Names the place, what stands there and what should.
    """

    supply: Supply
    motor: Motor
    switch: Mosfet | Bipolar
    diode: Diode | None = Diode()
    load: Load = Load()
    pin: Pin = Pin()
    gate_resistor: Quantity = quantity_field("ohm", default="150 ohm", least_allowed=True)
    pull_down: Quantity | None = quantity_field("ohm", default="10 kohm", optional=True)
    wiring: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    ambient: Quantity = quantity_field("degC", default=Q_(25, "degC"), least=-273.15)
    build: Build = Build()

    def __post_init__(self) -> None:
        Part.__post_init__(self)
        for name, kinds in _KINDS.items():
            part = getattr(self, name)
            if not isinstance(part, kinds) and not (name == "diode" and part is None):
                wanted = " or a ".join(kind.__name__ for kind in kinds)
                raise PartError(
                    f"Drive.{name}", f"a {wanted}", repr(part)[:80], f"Write {name}={wanted.split(' ')[0]}(…)."
                )
