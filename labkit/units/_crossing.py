"""From one unit to another: what stands between them is worked out once, and a number is then multiplied."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pint.util import UnitsContainer

from labkit.errors import UnitError
from labkit.units._kinds import kind_fault, roots, unit_named, unit_parts
from labkit.units._registry import Quantity, ureg

__all__ = ["coherent_size", "converted", "convertible", "in_unit", "number_in"]


@lru_cache(maxsize=1024)  # sliders and sheets cross the same few units again and again, and pint begins anew each time
def _fault(given: UnitsContainer, asked: UnitsContainer) -> str:
    """Return what stands between two units, in a sentence that says what to do; empty where nothing does."""
    have, want = ureg.Unit(given), ureg.Unit(asked)
    if have.dimensionality == want.dimensionality:
        return kind_fault(have, want)
    return "Give it a unit." if have.dimensionless else "Check the unit."


@lru_cache(maxsize=1024)
def _factor(given: UnitsContainer, asked: UnitsContainer) -> float | None:
    """Return what a number is multiplied with; None where the two zeros differ, as those of °C and kelvin do."""
    zero, one = (ureg.convert(number, given, asked) for number in (0, 1))
    return None if zero else one


def converted(number: Any, given: UnitsContainer, asked: UnitsContainer) -> Any:
    """Return a number, or an array of them, in another unit of its dimension, be it of another kind.

    Raises
    ------
    pint.DimensionalityError
        When there is no way from the one to the other.
    """
    if given == asked:
        return number
    factor = _factor(given, asked)
    return ureg.convert(number, given, asked) if factor is None else number * factor


def convertible(quantity: Quantity, unit: str) -> bool:
    """Return whether *quantity* is of the kind that *unit* measures, shaft speed and hertz apart.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> convertible(Q_("60 rpm"), "rad/s"), convertible(Q_("60 rpm"), "Hz")
    (True, False)
    """
    return not _fault(unit_parts(quantity), unit_parts(unit_named(unit)))


def in_unit(quantity: Quantity, unit: str, where: str) -> Quantity:
    """Return *quantity* in *unit*, refusing another dimension or another kind.

    Parameters
    ----------
    quantity : Quantity
    unit : str
        The unit wanted; ``""`` for a bare number.
    where : str
        What is converted, for the error.

    Raises
    ------
    UnitError
        Names *where*, the value and a unit that would do.
    """
    asked = unit_named(unit)
    if unit_parts(quantity) == unit_parts(asked):
        return quantity
    converted: Quantity = ureg.Quantity(number_in(quantity, unit, where), asked)
    return converted


def number_in(quantity: Quantity, unit: str, where: str) -> Any:
    """Return the number, or the array of numbers, that *quantity* is in *unit*.

    Raises
    ------
    UnitError
        As ``in_unit``.
    """
    given, asked = unit_parts(quantity), unit_parts(unit_named(unit))
    if given != asked and (fault := _fault(given, asked)):
        wanted = f"{where} must be {f'in {unit}' if unit else 'a bare number'}; got {quantity:~P}."
        raise UnitError(wanted, _taken_for_celsius(quantity, unit) or fault)
    return converted(quantity.magnitude, given, asked)


def _taken_for_celsius(quantity: Quantity, unit: str) -> str:
    if "coulomb" not in roots(quantity.units) or {"kelvin", "degree_Celsius"}.isdisjoint(roots(unit_named(unit))):
        return ""
    like = f"{quantity.magnitude:g} {quantity.units:~P}".replace("C", "°C")
    return f"A temperature is written {like!r}; C alone is the coulomb."


@lru_cache(maxsize=1024)
def _coherent(given: UnitsContainer) -> UnitsContainer:
    return unit_parts(ureg.Quantity(1, given).to_base_units())


def coherent_size(quantity: Quantity) -> float:
    """Return the float that *quantity* is in coherent SI: volt, rad/s, kelvin, a bare number for per cent.

    >>> from labkit.units import Q_
    >>> coherent_size(Q_("50 %")), round(coherent_size(Q_("60 rpm")), 3)
    (0.5, 6.283)
    """
    given = unit_parts(quantity)
    return float(converted(quantity.magnitude, given, _coherent(given)))
