"""Kinds: equal dimension is not enough."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

from pint.facets.plain import PlainUnit

from labkit.errors import UnitError
from labkit.units._registry import Quantity, ureg

__all__ = ["convertible", "in_unit", "roots", "unit_named"]

_ANGLES = frozenset(
    {"revolutions_per_minute", "revolutions_per_second", "radian", "degree", "revolution", "turn", "grade",
     "arcminute", "arcsecond"}
)  # fmt: skip
_FREQUENCY = frozenset({"hertz", "cycle", "counts_per_second"})
_WORK = frozenset({"joule", "watt", "watt_hour", "calorie", "electron_volt", "volt"})
_LEVERS = frozenset({"newton", "newton_meter", "gram_force", "ounce_force", "pound_force", "kilogram_force",
                     "force_kilogram", "force_gram", "force_ounce", "force_pound",
                     "ounce_inch", "pound_inch", "gram_centimeter", "dyne"})  # fmt: skip
_SPEED = ureg.parse_units("rad/s")
_TORQUE = ureg.parse_units("N*m")
_PREFIXES = ("pico", "nano", "micro", "milli", "centi", "deci", "kilo", "mega", "giga")


class _Kind(NamedTuple):
    angle: float
    frequency: bool
    work: bool
    lever: bool


def roots(units: PlainUnit) -> dict[str, float]:
    """Return a unit's parts without their prefixes and the power of each: ``mV*s`` gives volt 1, second 1."""
    parts = dict(units._units)  # noqa: SLF001 (pint has no public view of a unit's parts)
    return {
        next((name.removeprefix(p) for p in _PREFIXES if name.startswith(p) and name != p), name): float(str(power))
        for name, power in parts.items()
    }


def _kind(units: PlainUnit) -> _Kind:
    parts = roots(units)
    angle = sum(power for name, power in parts.items() if name in _ANGLES)
    # a unit of its own that is no lever's, such as the erg, counts work; foot-pounds are printed of both
    alone = len(parts) == 1 and units.dimensionality == _TORQUE.dimensionality
    work = not _WORK.isdisjoint(parts) or (alone and _LEVERS.isdisjoint(parts) and "foot_pound" not in parts)
    turning_work = work and angle < 0  # energy for each radian is a torque: k·i comes out as V·s·A/rad
    return _Kind(
        angle=angle,
        frequency=not _FREQUENCY.isdisjoint(parts),
        work=work and not turning_work,
        lever=turning_work or not _LEVERS.isdisjoint(parts),
    )


@cache  # a slider crosses the same few units again and again
def _kind_fault(given: PlainUnit, asked: PlainUnit) -> str:
    """Return what separates two units of one dimension, or an empty string."""
    have, want = _kind(given), _kind(asked)
    if want.frequency and have.angle:
        return "A frequency is counted in Hz; a shaft speed in rad/s or rpm is another thing."
    if want.angle and have.frequency:
        return "Hertz counts cycles; write the shaft speed with rad/s or rpm."
    turning = asked.dimensionality in (_SPEED.dimensionality, (_SPEED / ureg.second).dimensionality)
    if turning and want.angle and not have.angle:
        return "Say what turns: write rad/s or rpm, not 1/s."
    if asked.dimensionality == _TORQUE.dimensionality:
        if want.lever and have.work:
            return "A torque is in N*m; a joule is energy."
        if want.work and have.lever:
            return "An energy is in J; N*m is a torque."
    return _scale_fault(given, asked)


def _scale_fault(given: PlainUnit, asked: PlainUnit) -> str:
    if not roots(asked) and roots(given) and _ANGLES.issuperset(roots(given)):
        return "It is an angle; write a bare number."
    if str(given).startswith("delta_") and str(asked) in ("degree_Celsius", "degree_Fahrenheit"):
        return "It is a difference of two temperatures, not a temperature."
    return ""


@lru_cache(maxsize=256)  # pint parses a unit's text anew each time
def unit_named(unit: str) -> PlainUnit:
    """Return the pint unit of a name; ``""`` is that of a bare number."""
    return ureg.parse_units(unit or "dimensionless")


def convertible(quantity: Quantity, unit: str) -> bool:
    """Return whether *quantity* is of the kind that *unit* measures, shaft speed and hertz apart.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> convertible(Q_("60 rpm"), "rad/s"), convertible(Q_("60 rpm"), "Hz")
    (True, False)
    """
    asked = unit_named(unit)
    return bool(quantity.dimensionality == asked.dimensionality) and not _kind_fault(quantity.units, asked)


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
    if quantity._units == asked._units:  # noqa: SLF001 (the public comparison takes ten times as long)
        return quantity
    if quantity.dimensionality != asked.dimensionality:
        advice = "Give it a unit." if quantity.dimensionless else "Check the unit."
        if "coulomb" in roots(quantity.units) and not {"kelvin", "degree_Celsius"}.isdisjoint(roots(asked)):
            like = f"{quantity.magnitude:g} {quantity.units:~P}".replace("C", "°C")
            advice = f"A temperature is written {like!r}; C alone is the coulomb."
        raise UnitError(_wanted(where, unit, quantity), advice)
    if fault := _kind_fault(quantity.units, asked):
        raise UnitError(_wanted(where, unit, quantity), fault)
    return quantity.to(asked)


def _wanted(where: str, unit: str, quantity: Quantity) -> str:
    return f"{where} must be {f'in {unit}' if unit else 'a bare number'}; got {quantity:~P}."
