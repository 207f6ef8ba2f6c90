"""A measured answer: a value with the uncertainty that the learner states, against a fit of the readings behind it.

Two results agree when they differ by no more than their expanded uncertainties together,
|x - X| ≤ √(U² + U_fit²) (the E_n number of ISO/IEC 17043, from memory).
A stated uncertainty is capped, since a wide enough one agrees with anything, and one that the readings cannot carry
is no result either.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from labkit.checks.numbers import Numbers, coherent_size
from labkit.errors import BenchError, LabkitError

__all__ = ["Fitted", "Measured", "agrees", "fitted", "parted", "too_sure"]

_TOO_SURE = 0.2  # a stated uncertainty below this part of the fit's claims more than the readings can carry


@dataclass(frozen=True, kw_only=True, slots=True)
class Measured:
    """What is measured.

    Parameters
    ----------
    constant : str
        Its name among a motor's: ``"emf_constant"``, ``"resistance"``.
    cap : float
        The greatest uncertainty that is taken, as a part of the value.
    readings : function of Numbers, optional
        Supplied readings, as the text of a bench file; without them the learner's own stand below the answer.
    layout : str
        How the learner's own are written, with invented ones.
    """

    constant: str
    cap: float
    readings: Callable[[Numbers], str] | None = None
    layout: str = ""


class Fitted(NamedTuple):
    """What the readings give, in coherent SI: the value and its expanded uncertainty (95 %)."""

    value: float
    uncertainty: float


def parted(text: str) -> tuple[str, str]:
    r"""Return the result in the first line of an answer, and the readings below it.

    >>> parted("2.8 ± 0.2 ohm\ntable: locked rotor\nvoltage [V], current [A]")[1].splitlines()[0]
    'table: locked rotor'
    """
    first, _, rest = text.strip().partition("\n")
    return first.strip(), rest.strip()


@lru_cache(maxsize=512)
def fitted(readings: str, constant: str) -> Fitted:
    """Return what a fit of the readings gives for one constant.

    Raises
    ------
    BenchError
        When they cannot be read, contradict each other, or do not give that constant; says what to add.
    """
    from labkit.bench import read_bench_text  # noqa: PLC0415 (most sheets need no solver: they open faster without)
    from labkit.fitting import fit_motor  # noqa: PLC0415 (as above)

    try:
        with np.errstate(all="ignore"):  # readings that nobody took may be of any size
            fit = fit_motor(read_bench_text(readings))
    except LabkitError:
        raise
    except (ArithmeticError, ValueError) as error:
        raise BenchError("No motor gives such readings. Look at their sizes and units.") from error
    if constant not in fit.value:
        missing = next((entry for entry in fit.not_identifiable if entry.name == constant), None)
        raise BenchError(
            f"{missing.reason} {missing.remedy}" if missing else f"The readings do not give the {constant}."
        )
    value, wide = (coherent_size(found[constant]) for found in (fit.value, fit.expanded_uncertainty))
    if not math.isfinite(wide):
        raise BenchError("Two readings give a value, and no idea how sure it is. Take a few more.")
    return Fitted(value, wide)


def agrees(given: float, stated: float, fit: Fitted) -> bool:
    """Return whether a result agrees with a fit, within what both are sure of."""
    return abs(given - fit.value) <= math.hypot(stated, fit.uncertainty)


def too_sure(stated: float, fit: Fitted) -> bool:
    """Return whether a stated uncertainty claims more than the readings can carry."""
    return stated < _TOO_SURE * fit.uncertainty
