"""What a fit gives: frozen data, with no plot or file methods."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.bench import BenchRecord, Problem
from labkit.errors import BenchError
from labkit.fitting._warm import warmth_of
from labkit.parts import Motor
from labkit.units import Quantity

__all__ = ["FIT_FIRST", "UNITS", "MotorFit", "NextReading", "NotIdentified", "Reading", "ResidualSet"]

#: What to do where a fit is asked for and something else was given.
FIT_FIRST = "Fit the readings first: fit_motor(read_bench('my-motor.csv'))."
#: The constants in the order of the kernel and of the correlation matrix, under the names of ``Motor``.
UNITS = {
    "resistance": "ohm",
    "brush_drop": "V",
    "emf_constant": "V*s/rad",
    "friction_torque": "N*m",
    "viscous_friction": "N*m*s/rad",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class NotIdentified:
    """A constant that the readings do not give.

    Parameters
    ----------
    name : str
    held_at_zero : bool
        Whether the other constants were found with it at zero, so that one of them contains it.
    reason, remedy : str
        Full sentences: why, and what to read to find it.
    """

    name: str
    held_at_zero: bool
    reason: str
    remedy: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One reading and how far it lies off.

    Parameters
    ----------
    table : str
    line : int
        Of the file.
    balance : str
        ``"voltage"`` or ``"current"``: which equation it misses.
    off : Quantity
        By how much.
    deviations : float
        The same, in standard deviations of such a reading.
    """

    table: str
    line: int
    balance: str
    off: Quantity
    deviations: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ResidualSet:
    """What one balance misses at each reading of one table; arrays of shape (n,).

    Parameters
    ----------
    table, balance : str
    against : Quantity
        Current of a locked rotor, else speed.
    residual : Quantity
        Measured less fitted: volt for the voltage balance, ampere for the current balance.
    standardized : array of float
        In standard deviations.
    line : array of int
    set_aside : array of bool
        Readings that the fit did not use.
    """

    table: str
    balance: str
    against: Quantity
    residual: Quantity
    standardized: NDArray[np.float64]
    line: NDArray[np.int64]
    set_aside: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, slots=True)
class NextReading:
    """The further reading that would help most, of those considered.

    Parameters
    ----------
    table : str
        The kind of reading; empty when a better meter would help more than any reading.
    at : Quantity, optional
        Current of a locked rotor, voltage of a free run, speed of a generator.
    source : str
        The largest part of the uncertainty now.
    constant : str
        The constant that gains most.
    gain : float
        Its standard uncertainty after, over that before.
    """

    table: str
    at: Quantity | None
    source: str
    constant: str
    gain: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MotorFit:
    """The constants that a record of readings gives, each with its uncertainty.

    Mappings have the names of ``Motor``'s fields and only those constants that the readings give.

    Parameters
    ----------
    record : BenchRecord
    value : mapping of str to Quantity
    standard_uncertainty : mapping of str to Quantity
        Scatter, rounding and the meters' accuracy together (JCGM 100:2008, 5.1).
    coverage_factor, degrees_of_freedom : mapping of str to float
        Student's t for 95 % at the effective degrees of freedom (JCGM 100:2008, G.4).
    expanded_uncertainty : mapping of str to Quantity
        Coverage factor times standard uncertainty: the truth lies within about 95 times in 100.
    correlation : array, shape (constants, constants)
        In the order of *value*.
    budget : mapping of str to mapping of str to Quantity
        For each constant, what each source alone would leave as standard uncertainty.
    residuals : tuple of ResidualSet
    not_identifiable : tuple of NotIdentified
    set_aside : tuple of Reading
        What the robust rule took out.
    worst_reading : Reading, optional
        The used reading that lies farthest off.
    next_reading : NextReading, optional
    problems : tuple of Problem
        Of the file and of the fit.
    """

    record: BenchRecord
    value: Mapping[str, Quantity]
    standard_uncertainty: Mapping[str, Quantity]
    coverage_factor: Mapping[str, float]
    degrees_of_freedom: Mapping[str, float]
    expanded_uncertainty: Mapping[str, Quantity]
    correlation: NDArray[np.float64]
    budget: Mapping[str, Mapping[str, Quantity]]
    residuals: tuple[ResidualSet, ...]
    not_identifiable: tuple[NotIdentified, ...] = ()
    set_aside: tuple[Reading, ...] = ()
    worst_reading: Reading | None = None
    next_reading: NextReading | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The constants found, in the order of the correlation matrix."""
        return tuple(self.value)

    @property
    def motor(self) -> Motor:
        """The motor with these constants, its resistance referred to 25 °C where the winding's temperature is noted.

        Raises
        ------
        BenchError
            When the readings do not give its resistance or its EMF constant.
        """
        missing = [entry for entry in self.not_identifiable if entry.name in ("resistance", "emf_constant")]
        if missing:
            reasons = " ".join(f"{entry.reason} {entry.remedy}" for entry in missing)
            raise BenchError(f"MotorFit.motor needs resistance and EMF constant; the readings lack one. {reasons}")
        warm = warmth_of(self.record)
        return Motor(**{**self.value, "resistance": self.value["resistance"] * warm.factor})
