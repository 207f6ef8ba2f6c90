"""For tests and lessons: compare quantities, with the tolerance said.

>>> from labkit.units import Q_
>>> assert_quantity_close(Q_("0.3 V"), Q_("0.1 V") + Q_("200 mV"), relative=1e-12)
"""

from __future__ import annotations

import numpy as np

from labkit.units import Quantity, in_unit

__all__ = ["assert_quantity_close"]


def assert_quantity_close(
    expected: Quantity, actual: Quantity, *, relative: float = 0.0, absolute: Quantity | None = None
) -> None:
    """Fail unless *actual* is of the kind of *expected* and within the tolerance, element by element.

    Parameters
    ----------
    expected, actual : Quantity of any (equal) shape
    relative : float
        Largest difference over the size of *expected*.
    absolute : Quantity, optional
        Largest difference that is allowed besides.

    Raises
    ------
    UnitError
        When the two are of different kinds.
    AssertionError
        Names both and the tolerance.
    """
    unit = str(expected.units)
    want = np.asarray(expected.magnitude, dtype=float)
    have = np.asarray(in_unit(actual, unit, "actual").magnitude, dtype=float)
    slack = 0.0 if absolute is None else in_unit(absolute, unit, "absolute").magnitude
    if want.shape != have.shape or not np.all(np.abs(have - want) <= relative * np.abs(want) + slack):
        msg = f"expected {expected:~P}, got {actual:~P}: apart by more than {relative:g} relative + {slack:g} {unit}"
        raise AssertionError(msg)
