"""One point, or some, out of a result that holds an array of them."""

from __future__ import annotations

import dataclasses
from typing import TypeVar

__all__ = ["pick"]

Result = TypeVar("Result")


def pick(result: Result, index: int | slice) -> Result:
    """Return the part of a result at *index* of its first axis, field by field.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.simulation import operating_point
    >>> from labkit.units import Q_
    >>> both = operating_point(desk_wind_tunnel().motor, Q_([3, 6], "V"))
    >>> print(pick(both, 1).speed.to("rpm").round(0))
    10066.0 revolutions_per_minute
    """
    fields = {item.name: getattr(result, item.name) for item in dataclasses.fields(result)}  # type: ignore[arg-type]
    return type(result)(**{name: None if value is None else value[index] for name, value in fields.items()})
