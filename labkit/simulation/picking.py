"""One point, or some, out of a result that holds an array of them."""

from __future__ import annotations

import dataclasses
from typing import TypeVar

import numpy as np

from labkit.errors import PartError

__all__ = ["pick"]

Result = TypeVar("Result")


def pick(result: Result, index: int | slice) -> Result:
    """Return the part of a result at *index* of its first axis, field by field; single values stay as they are.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.simulation import operating_point
    >>> from labkit.units import Q_
    >>> both = operating_point(desk_wind_tunnel().motor, Q_([3, 6], "V"))
    >>> print(pick(both, 1).speed.to("rpm").round(0))
    10066.0 revolutions_per_minute
    """
    if not dataclasses.is_dataclass(result) or isinstance(result, type):
        raise PartError("pick.result", "the result of a calculation", repr(result)[:80], "Give operating_point(…).")
    if not isinstance(index, (int, slice)):
        raise PartError("pick.index", "a whole number or a slice", repr(index)[:80], "Count from 0.")
    fields = {item.name: getattr(result, item.name) for item in dataclasses.fields(result)}
    return type(result)(**{name: value[index] if np.ndim(value) else value for name, value in fields.items()})
