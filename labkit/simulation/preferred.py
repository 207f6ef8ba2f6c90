"""Values that resistors, capacitors and fuses are sold in."""

from __future__ import annotations

import math

import pint

from labkit.errors import PartError
from labkit.parts._fields import finite_quantity
from labkit.units import Q_, Quantity

__all__ = ["preferred_value", "preferred_values"]

#: E24 of IEC 60063 is not quite rounded powers of ten: eight members are set by hand.
_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
#: R10 of ISO 3, which ratings of fuses and of capacitors' voltages follow.
_R10 = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)


def preferred_values(series: str = "E24") -> tuple[float, ...]:
    """Return the members of a preferred series in one decade, from 1 to below 10.

    Parameters
    ----------
    series : str
        ``"E3"``, ``"E6"``, ``"E12"``, ``"E24"``, ``"E48"``, ``"E96"`` (IEC 60063); ``"R5"``, ``"R10"`` (ISO 3).

    Raises
    ------
    PartError
        When there is no such series.

    Examples
    --------
    >>> preferred_values("E6")
    (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    """
    if series in ("E3", "E6", "E12", "E24"):
        return tuple(value / 10.0 for value in _E24[:: 24 // int(series[1:])])
    if series in ("E48", "E96"):
        size = int(series[1:])
        return tuple(round(100.0 * 10.0 ** (step / size)) / 100.0 for step in range(size))
    if series in ("R5", "R10"):
        return _R10[:: 10 // int(series[1:])]
    raise PartError("series", "E3, E6, E12, E24, E48, E96, R5 or R10", repr(series), "E12 and E24 are what shops keep.")


def preferred_value(
    value: Quantity | str, series: str = "E24", *, at_least: bool = False, at_most: bool = False
) -> Quantity:
    """Return the member of a preferred series next to a value.

    Parameters
    ----------
    value : Quantity of any unit
    series : str
    at_least, at_most : bool
        Not below the value, or not above it; the nearest by ratio where neither is asked.

    Returns
    -------
    Quantity in the unit of *value*

    Raises
    ------
    PartError
        When the value is not more than zero, or both sides are asked.

    Examples
    --------
    >>> print(preferred_value("125 ohm", "E12"), preferred_value("125 ohm", "E12", at_least=True))
    120.0 ohm 150.0 ohm
    """
    quantity = Q_(value) if isinstance(value, str) else value
    if not isinstance(quantity, pint.Quantity):
        raise PartError("value", "a quantity of any unit", repr(value)[:80], "Write it as in '120 ohm'.")
    unit = str(quantity.units)
    size = float(finite_quantity(quantity, unit, "value").magnitude)
    if size <= 0.0:
        raise PartError("value", "more than zero", value, "Check the sign.")
    if at_least and at_most:
        raise PartError("at_least, at_most", "one at most", "both", "Give one, or neither for the nearest.")
    decade = 10.0 ** math.floor(math.log10(size))
    steps = [*(member * decade for member in preferred_values(series)), 10.0 * decade]
    below = max(step for step in [steps[0] * (1 - 1e-12), *steps] if step <= size * (1 + 1e-12))
    above = min(step for step in steps if step >= size * (1 - 1e-12))
    nearest = below if size / below < above / size else above
    chosen = above if at_least else below if at_most else nearest
    return Quantity(float(f"{chosen:.12g}"), quantity.units)
