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

from labkit.units._kinds import convertible, in_unit, roots, unit_named
from labkit.units._registry import Quantity, ureg
from labkit.units._typed import parse_quantity, parse_unit

__all__ = [
    "Q_",
    "Quantity",
    "coherent",
    "convertible",
    "from_si",
    "in_unit",
    "magnitude",
    "parse_quantity",
    "parse_unit",
    "roots",
    "ureg",
]

Floats: TypeAlias = NDArray[np.float64]


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
        When the text is no quantity, or cannot be in that unit.

    Examples
    --------
    >>> print(Q_(6, "V"), "|", Q_("470 mA"), "|", Q_("9100 rpm", "rad/s"))
    6 volt | 470.0 milliampere | 952.949... radian / second
    """
    if isinstance(value, str):
        quantity = parse_quantity(value)
        return quantity if unit is None else in_unit(quantity, unit, "value")
    if isinstance(value, pint.Quantity):
        return value if unit is None else in_unit(value, unit, "value")
    number = np.asarray(value, dtype=np.float64) if isinstance(value, (list, tuple)) else value
    return ureg.Quantity(number, parse_unit(unit, unit) if unit else unit_named(""))


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
    return in_unit(quantity, coherent(unit), where).magnitude


def from_si(value: Any, unit: str) -> Quantity:
    """Return floats from a kernel, in coherent SI, as a quantity of any shape; kelvin become degC where asked."""
    quantity: Quantity = ureg.Quantity(value, unit_named(coherent(unit)))
    return quantity.to("degC") if unit == "degC" else quantity
