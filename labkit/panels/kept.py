"""Results that a panel keeps, since most moves do not change what they depend on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

import pint

__all__ = ["Kept"]

Result = TypeVar("Result")

_MOST = 64


class Kept(Generic[Result]):
    """A function of a panel's state that remembers its latest results by the fields that it depends on.

    Parameters
    ----------
    make : callable
        Takes a state; it must look at no other field than those named.
    fields : str

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from labkit.units import Q_
    >>> state = SimpleNamespace(voltage=Q_(6.0, "V"), time=Q_(0.0, "s"))
    >>> doubled = Kept(lambda state: 2 * state.voltage, "voltage")
    >>> first = doubled(state)
    >>> state.time = Q_(1.0, "s")
    >>> doubled(state) is first
    True
    """

    def __init__(self, make: Callable[[Any], Result], *fields: str) -> None:
        self._make, self._fields = make, fields
        self._known: dict[tuple[object, ...], Result] = {}

    def __call__(self, state: Any) -> Result:
        """Return the result for *state*, made now or kept."""
        key = tuple(_plain(getattr(state, name)) for name in self._fields)
        if key not in self._known:
            if len(self._known) == _MOST:
                del self._known[next(iter(self._known))]
            self._known[key] = self._make(state)
        return self._known[key]


def _plain(value: object) -> object:
    """Return what is quick to hash: a quantity hashes through its base units."""
    return (value.magnitude, value.units) if isinstance(value, pint.Quantity) else value
