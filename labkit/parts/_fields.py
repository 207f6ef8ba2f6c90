"""How a part declares its fields: the unit once, checked at birth, crossed to floats by name."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, TypeVar, cast

import numpy as np
import pint

from labkit.errors import PartError, UnitError
from labkit.units import Q_, Quantity, coherent, in_unit, magnitude

__all__ = ["Part", "expect", "finite_quantity", "number_field", "quantity_field", "to_si"]

Record = TypeVar("Record", bound=tuple[Any, ...])

#: In coherent SI: squares and cubes of it can still be computed with.
_LARGEST = 1e100


@dataclass(frozen=True)
class _Rule:
    """What a field holds: its unit, the least and greatest value in that unit, and whether the least is allowed."""

    unit: str
    least: float
    most: float
    least_allowed: bool
    may_be_unknown: bool = False

    def requirement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if self.least == 0 and self.most == np.inf:
            kind = "a bare number" if not self.unit else f"a quantity in {self.unit}"
            return f"{kind}, {'zero or more' if self.least_allowed else 'more than zero'}"
        low = "from" if self.least_allowed else "above"
        if self.least == -np.inf:
            return f"a finite quantity in {self.unit}" if self.unit else "a finite number"
        return f"{low} {self.least:g}{unit} to {self.most:g}{unit}"


def quantity_field(
    unit: str,
    *,
    default: Any = dataclasses.MISSING,
    least: float = 0.0,
    most: float = np.inf,
    least_allowed: bool = False,
    optional: bool = False,
) -> Any:
    """Declare a field that holds a quantity (or its text), by default more than zero.

    A *default* of ``None`` says that the value may be unknown; *optional*, that it may be None beside its default.
    """
    if isinstance(default, str):
        default = Q_(default)
    rule = _Rule(unit, least, most, least_allowed, optional or default is None)
    return dataclasses.field(default=default, metadata={"rule": rule})


def number_field(
    *, default: Any = dataclasses.MISSING, least: float = 0.0, most: float = np.inf, least_allowed: bool = False
) -> Any:
    """Declare a field that holds a bare number by right, such as a gain."""
    return dataclasses.field(default=default, metadata={"rule": _Rule("", least, most, least_allowed)})


def finite_quantity(value: object, unit: str, where: str) -> Quantity:
    """Return *value*, a quantity or its text, as a finite scalar quantity of the kind of *unit*.

    Raises
    ------
    PartError
        Names *where*, the value and what to write.
    """
    like = f"Write it as in Q_('1 {unit}')." if unit else "Give a number."
    if isinstance(value, bool) or not isinstance(value, (pint.Quantity, str, int, float, np.number)):
        raise PartError(where, f"a quantity in {unit}" if unit else "a bare number", repr(value), like)
    try:
        quantity = Q_(cast("Any", value))
        in_unit(quantity, unit, where)
    except UnitError as error:
        raise PartError(
            where, f"a quantity in {unit}" if unit else "a bare number", _typed(value), error.advice
        ) from error
    if np.ndim(quantity.magnitude) or not np.isfinite(quantity.magnitude):
        raise PartError(where, "one finite number with its unit", _typed(value), like)
    return quantity


def _typed(value: object) -> str:
    return repr(value) if isinstance(value, str) else f"{value:~P}" if isinstance(value, pint.Quantity) else str(value)


def _checked(value: object, rule: _Rule, where: str) -> Any:
    quantity = finite_quantity(value, rule.unit, where)
    size = float(magnitude(quantity, rule.unit, where)) - (273.15 if rule.unit == "degC" else 0.0)
    if abs(size) > _LARGEST:
        raise PartError(where, rule.requirement(), _typed(value), "Check the power of ten.")
    if not (rule.least < size <= rule.most or (rule.least_allowed and size == rule.least)):
        remedy = (
            "A percentage? Divide by 100."
            if not rule.unit and rule.most == 1.0 and 1.0 < size <= 100.0
            else "Check the sign and the prefix."
        )
        raise PartError(where, rule.requirement(), _typed(value), remedy)
    return quantity if rule.unit else size


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """The root of all parts: every declared field is checked, and text turned into a quantity, at birth."""

    def __post_init__(self) -> None:
        for item in dataclasses.fields(self):
            value = getattr(self, item.name)
            if "rule" in item.metadata and value is not None:
                where = f"{type(self).__name__}.{item.name}"
                object.__setattr__(self, item.name, _checked(value, item.metadata["rule"], where))
            elif "rule" in item.metadata and not item.metadata["rule"].may_be_unknown:
                where = f"{type(self).__name__}.{item.name}"
                raise PartError(where, item.metadata["rule"].requirement(), None, "Give its value.")


def expect(value: object, kind: type[Any], where: str, remedy: str = "") -> None:
    """Refuse what is not the part or result that is taken, such as a motor in the place of the whole drive.

    *remedy* says where a result comes from; of a part it is known.

    Raises
    ------
    PartError
        Names *where*, what stands there and what to give.
    """
    if isinstance(value, kind):
        return
    inside = (
        name for name in ("drive", "motor", "supply", "switch", "load") if isinstance(getattr(value, name, None), kind)
    )
    name = next(inside, None)
    raise PartError(
        where,
        f"a {kind.__name__}",
        f"a {type(value).__name__}" if dataclasses.is_dataclass(value) else repr(value)[:80],
        f"Give its .{name}." if name else remedy or f"Write {kind.__name__}(…) with what it is made of.",
    )


def to_si(part: Part, record: type[Record]) -> Record:
    """Return the floats in coherent SI that a kernel needs: one for each field of *record*, matched by name.

    Parameters
    ----------
    part : Part
    record : type
        A ``NamedTuple`` of floats from ``labkit._kernels`` whose field names are fields of *part*.

    Raises
    ------
    PartError
        When a value that the calculation needs is not known.
    """
    rules = {item.name: item.metadata["rule"] for item in dataclasses.fields(part) if "rule" in item.metadata}
    floats = {}
    for name in cast("Any", record)._fields:
        value = getattr(part, name)
        if value is None:
            where = f"{type(part).__name__}.{name}"
            raise PartError(where, "known for this calculation", None, f"Give it in {rules[name].unit or 'no unit'}.")
        unit = rules[name].unit
        floats[name] = float(magnitude(value, coherent(unit), name)) if unit else float(value)
    return cast("Any", record)(**floats)  # type: ignore[no-any-return]
