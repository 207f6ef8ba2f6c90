"""What a table gives that is computed by itself, and what its notes add."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtrit

from labkit._kernels.regression import Floats
from labkit.bench import BenchRecord, BenchTable
from labkit.errors import BenchError, UnitError
from labkit.units import Quantity, from_si, magnitude, parse_quantity
from labkit.writing import show

__all__ = ["Constant", "TableFit", "beyond", "constant_of", "noted"]

_PROBABILITY = 0.95


@dataclass(frozen=True, kw_only=True, slots=True)
class Constant:
    """A constant with its standard and its expanded (95 %) uncertainty.

    Parameters
    ----------
    name : str
    value, standard_uncertainty, expanded_uncertainty : Quantity
        Scatter, rounding and the meters' accuracy together (JCGM 100:2008, 5.1 and G.4).
    coverage_factor : float
    """

    name: str
    value: Quantity
    standard_uncertainty: Quantity
    expanded_uncertainty: Quantity
    coverage_factor: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TableFit:
    """What one table gives by itself.

    Parameters
    ----------
    kind : str
    constants : tuple of Constant
    against, measured, residual : Quantity, shape (n,)
        The readings, what they were set against, and measured less fitted.
    sentences : tuple of str
        What to know before using the constants.
    """

    kind: str
    constants: tuple[Constant, ...]
    against: Quantity
    measured: Quantity
    residual: Quantity
    sentences: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> Constant:
        """Return the constant of that name."""
        for one in self.constants:
            if one.name == name:
                return one
        known = ", ".join(one.name for one in self.constants)
        raise BenchError(f"A table of {self.kind} gives {known}; {name!r} is not among them.")


def constant_of(name: str, unit: str, value: float, *, own: float, total: float, freedom: float) -> Constant:
    """Return a constant from its variance with (*total*) and without (*own*) what is taken as known.

    Welch and Satterthwaite for the degrees of freedom (JCGM 100:2008, G.4).
    """
    effective = freedom * (total / own) ** 2 if own > 0 else np.inf
    factor, u = float(stdtrit(effective, 0.5 + _PROBABILITY / 2)), float(np.sqrt(total))
    return Constant(
        name=name,
        value=from_si(value, unit),
        standard_uncertainty=from_si(u, unit),
        expanded_uncertainty=from_si(factor * u, unit),
        coverage_factor=factor,
    )


def noted(record: BenchRecord, name: str, unit: str) -> Quantity | None:
    """Return a note's quantity, or None where it is not given.

    Raises
    ------
    BenchError
        When it is no such quantity.
    """
    text = record.notes.get(name)
    if text is None:
        return None
    try:
        return from_si(float(magnitude(parse_quantity(text), unit, name)), unit)
    except UnitError as error:
        raise BenchError(f"The note '{name}: {text}' cannot be read: {error}") from error


def beyond(
    table: BenchTable, record: BenchRecord, constants: tuple[Constant, ...], measured: Floats
) -> tuple[tuple[Constant, ...], list[str]]:
    """Return what the notes add, and what to know."""
    sentences = []
    if len(table) <= len(constants):
        sentences.append("As many readings as constants: no scatter can be seen, so read more.")
    if table.kind == "transistor on":
        gate = noted(record, "gate voltage", "V")
        told = "your gate voltage only, which is not noted" if gate is None else f"a gate voltage of {show(gate)}"
        sentences.append(f"It holds for {told}, and for the part as warm as it was.")
    if table.kind == "inductance meter":
        frequency = noted(record, "test frequency", "Hz")
        told = ", which is not noted" if frequency is None else f" of {show(frequency)}"
        sentences.append(f"It holds at the meter's frequency{told}; iron makes it smaller at a higher one.")
    if table.kind == "starting voltage" and len(table) > 1:
        spread = float(np.std(measured, ddof=1))
        wide = float(stdtrit(len(table) - 1, 0.95)) * spread * np.sqrt(1 + 1 / len(table))
        high = float(np.mean(measured)) + wide
        sentences.append(
            f"Positions differ: the highest needed {np.max(measured):.3g} V, and {high:.3g} V starts it from 95 of 100."
        )
    if table.kind == "case temperature":
        heat = noted(record, "heat", "W")
        if heat is not None and float(heat.magnitude) > 0:
            constants = (*constants, _thermal_resistance(constants[1], heat))
        constants = (_celsius(constants[0]), *constants[1:])
    return constants, sentences


def _thermal_resistance(rise: Constant, heat: Quantity) -> Constant:
    return Constant(
        name="thermal_resistance",
        value=rise.value / heat,
        standard_uncertainty=rise.standard_uncertainty / heat,
        expanded_uncertainty=rise.expanded_uncertainty / heat,
        coverage_factor=rise.coverage_factor,
    )


def _celsius(start: Constant) -> Constant:
    return replace(start, value=start.value.to("degC"))
