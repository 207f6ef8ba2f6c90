"""A table of readings: quantities of one length, where each stands in its file, and one step of its last digit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pint
from numpy.typing import NDArray

from labkit.bench._layout import QUANTITIES, SHUNT, TABLES
from labkit.errors import BenchError
from labkit.units import Quantity, in_unit, magnitude

__all__ = ["BenchTable"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BenchTable:
    """The usable readings of one kind; all columns have one length.

    Parameters
    ----------
    kind : str
        A name of ``TABLES``.
    voltage, current, speed, torque, time, temperature, inductance : Quantity, shape (n,), optional
        In the unit they were read in.
    position : array of float, shape (n,), optional
        A label of the rotor position; equal numbers are one position.
    line : array of int, shape (n,), optional
        The line of the file each reading stands on; 1 to n where not given.
    step : mapping of column to Quantity, optional
        One step of the last digit written; where not given, found from the values.
    """

    kind: str
    voltage: Quantity | None = None
    current: Quantity | None = None
    speed: Quantity | None = None
    torque: Quantity | None = None
    time: Quantity | None = None
    temperature: Quantity | None = None
    inductance: Quantity | None = None
    position: NDArray[np.float64] | None = None
    line: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    step: Mapping[str, Quantity] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check kind, units and lengths, and fill in lines and steps."""
        if not isinstance(self.kind, str) or self.kind not in TABLES:
            raise BenchError(f"BenchTable.kind must be one of {', '.join(TABLES)}; got {self.kind!r}.")
        layout = TABLES[self.kind]
        for group in layout.needs:
            if all(getattr(self, name) is None for name in group):
                raise BenchError(f"A table of {self.kind} needs a column of {' or '.join(group)}: {layout.meaning}.")
        for name in self.columns:
            if not isinstance(column := getattr(self, name), pint.Quantity):
                unit = QUANTITIES[name]
                like = f"Write it as in Q_([1, 2], '{unit}')"
                raise BenchError(f"{self.kind}: {name} must be in {unit}; got {str(column)[:40]}. {like}.")
            in_unit(column, QUANTITIES[name], f"{self.kind}: {name}")
        lengths = {name: np.shape(getattr(self, name).magnitude) for name in self.columns}
        if len(set(lengths.values())) != 1 or len(next(iter(lengths.values()))) != 1:
            raise BenchError(f"The columns of {self.kind} must be lists of one length; got {lengths}.")
        steps = {name: self.step.get(name, _last_digit(getattr(self, name))) for name in self.columns}
        object.__setattr__(self, "step", steps)
        object.__setattr__(self, "line", np.asarray(self.line) if len(self.line) else np.arange(1, len(self) + 1))
        if self.position is not None:
            object.__setattr__(self, "position", np.asarray(self.position))
        for name, label in (("position", self.position), ("line", self.line)):
            if label is not None and (label.shape != (len(self),) or label.dtype.kind not in "iuf"):
                raise BenchError(f"{self.kind}: {name} must be numbers, one a reading; got {str(label)[:40]}.")

    @property
    def columns(self) -> tuple[str, ...]:
        """The names of the columns of quantities that are there."""
        known = (name for name in QUANTITIES if name not in ("position", SHUNT))
        return tuple(name for name in known if getattr(self, name) is not None)

    def __len__(self) -> int:
        return len(getattr(self, self.columns[0]).magnitude)

    def si(self, column: str) -> NDArray[np.float64] | None:
        """Return a column as floats in coherent SI, or ``None`` when it was not read."""
        quantity = getattr(self, column)
        if quantity is None:
            return None
        values: NDArray[np.float64] = np.asarray(magnitude(quantity, QUANTITIES[column], column), dtype=np.float64)
        return values

    def rows(self, keep: NDArray[np.bool_]) -> BenchTable:
        """Return the table with only the rows where *keep* is true."""
        chosen = {name: getattr(self, name)[keep] for name in self.columns}
        position = None if self.position is None else self.position[keep]
        return replace(self, **chosen, position=position, line=self.line[keep])


def _last_digit(values: Quantity) -> Quantity:
    """Return one step of the last decimal that *values* seem to have been written with.

    A number in a notebook has lost the zeros at its end, so the step is at most a five-hundredth of the largest.

    >>> print(_last_digit(Quantity(np.array([0.412, 0.8]), "V")))
    0.001 volt
    >>> print(_last_digit(Quantity(np.array([6.0]), "V")))
    0.012 volt
    """
    difference = (values[:1] - values[:1]).units  # a step of 1 °C is no temperature
    numbers = np.asarray(values.magnitude, dtype=float)[:1000]
    numbers = numbers[np.isfinite(numbers)]
    coarsest = float(np.max(np.abs(numbers), initial=0.0)) / 500
    for decimals in range(16):
        if np.all(np.abs(np.round(numbers, decimals) - numbers) <= 4e-16 * np.abs(numbers)):
            return Quantity(min(10.0**-decimals, coarsest), difference)
    return Quantity(0.0, difference)
