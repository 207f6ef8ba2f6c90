"""The parts of a drive: frozen, their units declared once, checked at birth.

A field takes a quantity or its text; after birth a part is trusted.
"""

from labkit.parts._fields import Part, to_si
from labkit.parts.build import Build, DiodePlace, Fuse, PullDownPlace, Side
from labkit.parts.demo import desk_wind_tunnel
from labkit.parts.drive import Drive
from labkit.parts.led import Led
from labkit.parts.motor import CatalogueMotor, Load, Motor
from labkit.parts.semiconductors import Bipolar, Diode, Mosfet
from labkit.parts.supply import Converter, Pin, Regulator, Supply

__all__ = [
    "Bipolar",
    "Build",
    "CatalogueMotor",
    "Converter",
    "Diode",
    "DiodePlace",
    "Drive",
    "Fuse",
    "Led",
    "Load",
    "Mosfet",
    "Motor",
    "Part",
    "Pin",
    "PullDownPlace",
    "Regulator",
    "Side",
    "Supply",
    "desk_wind_tunnel",
    "to_si",
]
