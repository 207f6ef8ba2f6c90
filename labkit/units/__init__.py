"""Quantities: the one registry, text as a person types it, and the one crossing to plain floats.

People and files meet quantities; every loop runs on floats in coherent SI units.
``to_si`` is the only way down and ``from_si`` the only way up.

Two quantities of equal dimension are not always of one kind.
pint takes the radian for 1, so it would turn 60 rpm into 6.28 Hz and a joule into a newton metre.
``in_unit`` refuses both: shaft speed never meets hertz, torque never meets energy.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import pint
from numpy.typing import NDArray

from labkit.errors import UnitError
from labkit.units._crossing import coherent_size, converted, convertible, in_unit, number_in
from labkit.units._kinds import roots, unit_named, unit_parts
from labkit.units._registry import Quantity, ureg
from labkit.units._typed import parse_quantity, parse_unit

__all__ = [
    "Q_",
    "Quantity",
    "absolute",
    "coherent",
    "coherent_size",
    "converted",
    "convertible",
    "from_si",
    "in_unit",
    "magnitude",
    "parse_quantity",
    "parse_unit",
    "roots",
    "unit_named",
    "unit_parts",
    "ureg",
]

Floats: TypeAlias = NDArray[np.float64]

_LIKE_THIS = "Write it as in Q_(6, 'V'), Q_([1, 2], 'V') or Q_('470 mA')."


def Q_(value: float | str | Quantity | Floats | list[float] | tuple[float, ...], unit: str | None = None) -> Quantity:  # noqa: N802 (the public name)
    """Return a quantity of the kit's one registry.

    Parameters
    ----------
    value : float, array of any shape, str or Quantity
        A number (with *unit*), text as a person types it, or a quantity to convert.
    unit : str, optional
        The unit of a number; of a text or a quantity, the unit to convert to.

    Raises
    ------
    UnitError
        When the value is no quantity, or cannot be in that unit.

    Examples
    --------
    >>> print(Q_(6, "V"), "|", Q_("470 mA"), "|", Q_("9100 rpm", "rad/s"))
    6 volt | 470.0 milliampere | 952.949... radian / second
    """
    if isinstance(value, str):
        value = parse_quantity(value)
    if isinstance(value, pint.Quantity):
        return value if unit is None else in_unit(value, _spelled(unit), "value")
    number = _number(value)
    return ureg.Quantity(number, parse_unit(unit, unit) if unit else unit_named(""))


def _spelled(unit: str) -> str:
    """Return a unit's name, as pint spells it where only people spell it so."""
    try:
        unit_named(unit)
    except Exception:  # noqa: BLE001 (pint raises its own, tokenize's and ValueError for bad names)
        return str(parse_unit(unit, unit))
    return unit


def _number(value: Any) -> Any:
    """Return a number, or an array of floats where several are given."""
    if isinstance(value, (list, tuple, np.ndarray)):
        try:
            return np.asarray(value, dtype=np.float64)
        except (TypeError, ValueError):
            pass
    elif isinstance(value, (int, float, np.number)) and not isinstance(value, (bool, np.complexfloating)):
        return value
    raise UnitError(f"value must be a number, several, or text; got {value!r:.60}.", _LIKE_THIS)


def absolute(quantity: Quantity) -> Quantity:
    """Return a quantity, of any shape, without its sign: how large it is, whichever way it points.

    Examples
    --------
    >>> print(absolute(Q_(-0.4, "A")))
    0.4 ampere
    """
    size: Quantity = abs(quantity)  # type: ignore[arg-type] # pint's types know its parent class only
    return size


def coherent(unit: str) -> str:
    """Return the coherent SI unit that floats of this kind are held in: kelvin for ``degC``, else *unit* itself."""
    return "kelvin" if unit == "degC" else unit


def magnitude(quantity: Quantity, unit: str, where: str = "value") -> Any:
    """Return the float or array that *quantity* is in *unit* (kelvin where *unit* is ``degC``).

    Raises
    ------
    UnitError
        As ``in_unit``.

    Examples
    --------
    >>> magnitude(Q_("470 mA"), "mV/ohm")
    470.0
    """
    if unit == "degC":
        in_unit(quantity, unit, where)  # refuses a difference, which kelvin would take for a temperature
    return number_in(quantity, coherent(unit), where)


def from_si(value: Any, unit: str) -> Quantity:
    """Return floats from a kernel, in coherent SI, as a quantity of any shape; kelvin become degC where asked."""
    quantity: Quantity = ureg.Quantity(value, unit_named(coherent(unit)))
    return quantity.to("degC") if unit == "degC" else quantity
