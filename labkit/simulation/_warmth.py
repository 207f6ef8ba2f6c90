"""Resistance over temperature: a straight line, refused where it has come down to nothing; and copper's own."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit.errors import PartError

__all__ = ["COPPER_20", "COPPER_25", "ROOM", "copper_factor", "resistance_factor"]

Floats: TypeAlias = NDArray[np.float64]

ROOM = 298.15  # K: the temperature that data sheets print resistances for
COPPER_20 = 0.00393  # 1/K at 20 °C, standard annealed copper (IEC 60028)
COPPER_25 = COPPER_20 / (1.0 + COPPER_20 * 5.0)  # the same line, referred to 25 °C


def resistance_factor(
    kelvins: Floats, coefficient: Floats | float, printed_for: Floats | float, *, of: str, use: str, where: str
) -> Floats:
    """Return resistance over its value at *printed_for* [K], by a coefficient [1/K] that is printed for there.

    Raises
    ------
    PartError
        Where it is so cold that the line has ended: names *where*, the resistance *of* what, and what its *use* is.
    """
    factor = np.asarray(1.0 + coefficient * (kelvins - printed_for), dtype=np.float64)
    if np.any(factor <= 0.0):
        coldest = f"{float(np.min(kelvins)) - 273.15:g} degC"
        requirement = f"where {of} is still positive"
        raise PartError(where, requirement, coldest, f"So cold the straight line over temperature ends. {use}")
    return factor


def copper_factor(kelvins: Floats) -> Floats:
    """Return a copper winding's resistance over its value at 25 °C, at temperatures [K]."""
    use = "It is used from -50 °C to 200 °C."
    return resistance_factor(kelvins, COPPER_25, ROOM, of="copper's resistance", use=use, where="winding temperature")
