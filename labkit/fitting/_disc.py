"""Inertia and friction from two coast-downs, one of them with a known disc on the shaft."""

from __future__ import annotations

import math
import re

import numpy as np

from labkit._kernels.regression_traces import fit_two_coast_downs
from labkit.bench import BenchRecord, BenchTable
from labkit.errors import BenchError
from labkit.fitting._table_fit import TableFit, constant_of, noted
from labkit.fitting._trace_columns import trace_columns
from labkit.fitting._warm import READ_FIRST
from labkit.parts._fields import expect
from labkit.units import from_si
from labkit.writing import show

__all__ = ["inertia_from_disc"]

_CONSTANTS = (("inertia", "kg*m**2"), ("friction_torque", "N*m"), ("viscous_friction", "N*m*s/rad"))
_WITH = "coast down with disc"


def _relative(text: str) -> float:
    """Return the standard uncertainty of a noted number as a part of it: one step of its last digit as the limits."""
    match = re.search(r"\d+(?:[.,](?P<decimals>\d+))?", text)
    number = float(match[0].replace(",", ".")) if match else 0.0
    return 10.0 ** -len(match["decimals"] or "") / math.sqrt(3) / number if match and number else 0.0


def _disc(record: BenchRecord) -> tuple[float, float]:
    """Return the disc's inertia [kg·m²] and its relative standard uncertainty."""
    mass, radius = noted(record, "disc mass", "kg"), noted(record, "disc radius", "m")
    if mass is None or radius is None or not (mass.magnitude > 0 and radius.magnitude > 0):
        raise BenchError(f"A table of {_WITH} needs the notes 'disc mass: 5.2 g' and 'disc radius: 12.0 mm'.")
    m, r = float(mass.magnitude), float(radius.magnitude)
    doubt = math.hypot(_relative(record.notes["disc mass"]), 2 * _relative(record.notes["disc radius"]))
    return 0.5 * m * r**2, doubt


def _trace(record: BenchRecord, kind: str) -> BenchTable:
    for trace in record.traces:
        if trace.kind == kind:
            return trace
    raise BenchError(
        f"The inertia from a disc needs a coast-down without and one with it; a table of {kind} is missing."
    )


def inertia_from_disc(record: BenchRecord) -> TableFit:
    """Return the rotor's inertia and friction from a coast-down without and one with a disc of known ½·m·r².

    Parameters
    ----------
    record : BenchRecord
        With traces of ``"coast down"`` and ``"coast down with disc"`` and the notes ``disc mass`` and ``disc radius``.

    Returns
    -------
    TableFit
        ``inertia``, ``friction_torque`` and, where the curves show it, ``viscous_friction``.

    Raises
    ------
    BenchError
        When a trace or a note is missing, or the disc does not slow the fall.

    Notes
    -----
    J·dω/dt = −F − c·ω and (J + ½·m·r²)·dω/dt = −F − c·ω: exact solutions, fitted together. The same friction is taken
    for both; a disc that rubs or is not centred breaks that.
    """
    expect(record, BenchRecord, "inertia_from_disc.record", READ_FIRST)
    inertia, doubt = _disc(record)
    plain, slowed = (trace_columns(_trace(record, kind)) for kind in ("coast down", _WITH))
    found = fit_two_coast_downs(*plain, *slowed, disc=inertia)
    if not found.success or not np.all(found.value[:2] > 0):
        raise BenchError(
            "The disc does not slow the coast-down as one of its inertia would. Are the two tables or the units of the "
            "disc's mass and radius swapped?"
        )
    constants = tuple(
        constant_of(name, unit, value, own=own, total=own + (doubt * value) ** 2, freedom=found.freedom)
        for (name, unit), value, own in zip(_CONSTANTS, found.value.tolist(), np.diag(found.covariance), strict=False)
    )
    return TableFit(
        kind=_WITH,
        constants=constants,
        against=from_si(np.concatenate((plain[0], slowed[0])), "s"),
        measured=from_si(np.concatenate((plain[1], slowed[1])), "rad/s"),
        residual=from_si(found.residuals, "rad/s"),
        sentences=(f"The disc counts {show(from_si(inertia, 'kg*m**2'))}, known to {100 * doubt:.1f} %.",),
    )
