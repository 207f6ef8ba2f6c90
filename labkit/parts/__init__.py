"""The parts of a drive: frozen, their units declared once, checked at birth.

A field takes a quantity or its text; after birth a part is trusted.
"""

from labkit.parts._fields import Part, to_si
from labkit.parts.demo import desk_wind_tunnel
from labkit.parts.drive import Drive
from labkit.parts.motor import CatalogueMotor, Load, Motor
from labkit.parts.semiconductors import Bipolar, Diode, Mosfet
from labkit.parts.supply import Pin, Supply

__all__ = [
    "Bipolar",
    "CatalogueMotor",
    "Diode",
    "Drive",
    "Load",
    "Mosfet",
    "Motor",
    "Part",
    "Pin",
    "Supply",
    "desk_wind_tunnel",
    "to_si",
]
