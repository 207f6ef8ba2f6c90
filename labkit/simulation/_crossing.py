"""How numbers enter and leave this room: arguments checked and turned into floats, kernel results into quantities."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, TypeVar, cast, get_args, get_origin, get_type_hints

import numpy as np
import pint
from numpy.typing import NDArray

from labkit.errors import PartError, UnitError
from labkit.parts._fields import finite_quantity
from labkit.units import Q_, Quantity, coherent, from_si, in_unit

__all__ = ["Given", "argument", "expect_one", "plain", "single", "wrap"]

#: What a public function takes for a quantity: itself, its text, or a bare number where that is right.
Given = Quantity | str | float | NDArray[np.float64] | list[float]
Result = TypeVar("Result")

_ZERO_CELSIUS = 273.15
#: In any unit: squares and cubes of it can still be computed with.
_LARGEST = 1e100


def argument(
    value: Given,
    unit: str,
    where: str,
    *,
    least: float = -_LARGEST,
    most: float = _LARGEST,
    least_allowed: bool = True,
    remedy: str = "Check the sign and the prefix.",
) -> NDArray[np.float64]:
    """Return an argument, scalar or array, as finite floats in coherent SI (kelvin where *unit* is ``degC``).

    *least* and *most* are in *unit*.

    Raises
    ------
    PartError
        Names *where*, the value and what to do.
    """
    if isinstance(value, (list, tuple, np.ndarray)) or (isinstance(value, pint.Quantity) and np.ndim(value)):
        quantity = _array(value, unit, where)
    else:
        quantity = finite_quantity(value, unit, where)
    sizes = np.asarray(in_unit(quantity, coherent(unit), where).magnitude, dtype=np.float64)
    in_range = sizes - _ZERO_CELSIUS if unit == "degC" else sizes
    bad = ~((in_range > least) & (in_range <= most)) & ~((in_range == least) & least_allowed)
    if np.any(bad):
        first = float(in_range[bad].flat[0]) if np.ndim(in_range) else float(in_range)
        looks_percent = not unit and most == 1.0 and 1.0 < first <= 100.0
        raise PartError(
            where,
            f"no larger than {_LARGEST:g} {unit}".rstrip()
            if first > most == _LARGEST or first < least == -_LARGEST
            else _requirement(unit, least, most, least_allowed=least_allowed),
            f"{first:g} {unit}".rstrip(),
            "A percentage? Divide by 100." if looks_percent else remedy,
        )
    return sizes


def single(value: Given, unit: str, where: str, **limits: Any) -> float:
    """Return an argument that holds one value only, as a float; checked as `argument` does it, with the same limits.

    Raises
    ------
    PartError
        As `argument`; also where an array is given.
    """
    sizes = argument(value, unit, where, **limits)
    if sizes.ndim:
        raise PartError(where, "one value", str(value)[:80], "Ask for one after the other.")
    return float(sizes)


def expect_one(given: Given | None, other: Given | None, names: tuple[str, str]) -> None:
    """Refuse two arguments of which not exactly one is given."""
    if (given is None) == (other is None):
        got = None if given is None else "both"
        raise PartError(names[0], f"given, or else {names[1]}", got, "Give one of the two.")


def _requirement(unit: str, least: float, most: float, *, least_allowed: bool) -> str:
    named = f" {unit}" if unit else ""
    if most < _LARGEST:
        return f"{'from' if least_allowed else 'above'} {least:g}{named} to {most:g}{named}"
    if least == 0.0:
        return f"{'zero or more' if least_allowed else 'more than zero'}{f', in {unit}' if unit else ''}"
    return f"{least:g}{named} or more" if least > -_LARGEST else "finite"


def _array(value: Any, unit: str, where: str) -> Quantity:
    like = f"Write it as in Q_([1, 2], '{unit}')." if unit else "Give finite numbers."
    kind = f"quantities in {unit}" if unit else "bare numbers"
    try:
        quantity = value if isinstance(value, pint.Quantity) else Q_(np.asarray(value, dtype=np.float64))
        in_unit(quantity, unit, where)
    except UnitError as error:
        raise PartError(
            where, kind, f"{value:~P}"[:80] if isinstance(value, pint.Quantity) else value, error.advice
        ) from error
    except (ValueError, TypeError) as error:
        raise PartError(where, kind, str(value)[:80], like) from error
    if not np.all(np.isfinite(quantity.magnitude)):
        raise PartError(where, "finite everywhere", f"{value}"[:80], like)
    return quantity


#: Units of result fields: the coherent SI that a kernel's floats are in.
Amperes = Annotated[Quantity, "A"]
Celsius = Annotated[Quantity, "degC"]
Hertz = Annotated[Quantity, "Hz"]
Joules = Annotated[Quantity, "J"]
Kelvins = Annotated[Quantity, "kelvin"]
NewtonMetres = Annotated[Quantity, "N*m"]
Ohms = Annotated[Quantity, "ohm"]
RadiansPerSecond = Annotated[Quantity, "rad/s"]
Ratio = Annotated[Quantity, ""]
Seconds = Annotated[Quantity, "s"]
Volts = Annotated[Quantity, "V"]
Watts = Annotated[Quantity, "W"]
#: Yes or no, in the shape of the result's other fields.
Flags = bool | NDArray[np.bool_]


@cache
def _units(kind: type[Any]) -> dict[str, str | None]:
    hints = get_type_hints(kind, include_extras=True)
    units: dict[str, str | None] = {}
    for item in dataclasses.fields(kind):
        options = get_args(hints[item.name])  # of a unit: (Quantity, "A"); of a unit that may be missing, in a union
        nested = [get_args(option) for option in options if get_origin(option) is Annotated]
        named = [found[1] for found in (options, *nested) if len(found) == 2 and isinstance(found[1], str)]
        units[item.name] = named[0] if named else None
    return units


def wrap(kind: type[Result], floats: Mapping[str, Any]) -> Result:
    """Return a result whose every field is taken from *floats* by name: scalars as scalars, arrays as arrays.

    A field whose type names a unit becomes a quantity; ``None`` stays ``None``.
    """
    values = {}
    for name, unit in _units(cast("Any", kind)).items():
        value = plain(floats[name])
        values[name] = value if unit is None or value is None else from_si(value, unit)
    return kind(**values)


def plain(value: Any) -> Any:
    """Return an array without dimensions as the number that it holds, anything else as it is."""
    return value.item() if isinstance(value, (np.ndarray, np.generic)) and np.ndim(value) == 0 else value
