"""Units as words: what a question asks for, and how a person would write such an answer."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from labkit.units import Q_, Quantity, convertible

__all__ = ["Kind", "is_of", "kind_of", "unit_name"]


class Kind(NamedTuple):
    """A kind of quantity: its name with the article, and an answer as a person would write one."""

    name: str
    example: str


_KINDS: dict[str, Kind] = {
    "V": Kind("a voltage", "1.5 V or 150 mV"),
    "A": Kind("a current", "1.5 A or 150 mA"),
    "ohm": Kind("a resistance", "4.7 ohm or 22 mohm"),
    "W": Kind("a power", "1.5 W or 150 mW"),
    "J": Kind("an energy", "1.5 J or 150 uJ"),
    "N*m": Kind("a torque", "1.5 mN*m"),
    "rad/s": Kind("a shaft speed", "150 rad/s or 1500 rpm"),
    "s": Kind("a time", "1.5 s or 0.2 ms"),
    "Hz": Kind("a frequency", "1.5 kHz"),
    "V*s/rad": Kind("a motor constant", "7.5 mV*s/rad"),
    "rpm/V": Kind("a speed per volt", "900 rpm/V"),
    "H": Kind("an inductance", "1.5 mH"),
    "C": Kind("a charge", "15 nC"),
    "F": Kind("a capacitance", "100 uF"),
    "degC": Kind("a temperature", "60 °C"),
    "kelvin/W": Kind("a thermal resistance", "60 °C/W"),
}
_NUMBER = Kind("a bare number", "0.25 or 25 %")


@cache
def unit_name(unit: str) -> str:
    """Return the name that the registry has for a unit as people write it.

    >>> unit_name("mV·s/rad"), unit_name("°C"), unit_name("")
    ('millivolt * second / radian', 'degree_Celsius', '')
    """
    name = str(Q_(f"1 {unit}").units)
    return "" if name == "dimensionless" else name


def is_of(quantity: Quantity, unit: str) -> bool:
    """Return whether *quantity* is of the kind that *unit*, as people write it, measures.

    >>> is_of(Q_("470 mA"), "A"), is_of(Q_("50 Hz"), "rpm"), is_of(Q_("0.5"), "A")
    (True, False, False)
    """
    return convertible(quantity, unit_name(unit))


def kind_of(quantity: Quantity) -> Kind:
    """Return the kind of a quantity, as a word.

    >>> kind_of(Q_("470 mA")).name, kind_of(Q_("3 J")).name
    ('a current', 'an energy')
    """
    if quantity.dimensionless and is_of(quantity, ""):
        return _NUMBER
    found = next((kind for unit, kind in _KINDS.items() if convertible(quantity, unit)), None)
    return found or Kind("another kind of quantity", f"1.5 {quantity.units:~P}")
