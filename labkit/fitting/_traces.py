"""Inductance and inertia from readings against time, with the constants that a steady fit has given."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from labkit._kernels.regression import Floats
from labkit._kernels.regression_traces import TraceConstants, fit_coast_down, fit_rise
from labkit.bench import BenchTable, Shunt
from labkit.errors import BenchError, UnitError
from labkit.fitting._result import FIT_FIRST, UNITS, MotorFit
from labkit.fitting._trace_columns import trace_columns
from labkit.parts._fields import expect
from labkit.units import Quantity, from_si, magnitude, parse_quantity

__all__ = ["TraceFit", "fit_trace"]

_SOUGHT = {"current rise": ("inductance", "H"), "spin up": ("inertia", "kg*m**2"), "coast down": ("inertia", "kg*m**2")}
_NEEDS = {
    "current rise": ("resistance",),
    "spin up": ("resistance", "emf_constant"),
    "coast down": ("emf_constant", "friction_torque"),
}
#: What is taken besides, where the steady fit has it.
_TAKES = {"current rise": (), "spin up": ("viscous_friction",), "coast down": ("viscous_friction",)}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TraceFit:
    """What a transient gives.

    Parameters
    ----------
    kind, name : str
        The table, and ``"inductance"`` or ``"inertia"``.
    value, standard_uncertainty, expanded_uncertainty : Quantity
        Scatter of the trace and uncertainty of the steady constants together; expanded for 95 %.
    time_constant : Quantity, optional
        Of a rise; a coast-down against constant friction has none.
    time, residual : Quantity, shape (n,)
        Measured less fitted.
    """

    kind: str
    name: str
    value: Quantity
    standard_uncertainty: Quantity
    expanded_uncertainty: Quantity
    time_constant: Quantity | None
    time: Quantity
    residual: Quantity


def _series(fit: MotorFit) -> float:
    """Return the resistance [ohm] in the loop besides the motor's: the note ``series resistance``, or the shunt's."""
    notes = fit.record.notes
    text = notes.get("series resistance")
    if text is None:
        try:  # what tells the current is in the loop; a shunt that cannot be read is among the record's problems
            return float(magnitude(Shunt.from_text(notes["shunt"]).resistance, "ohm")) if "shunt" in notes else 0.0
        except BenchError:
            return 0.0
    try:
        return float(magnitude(parse_quantity(text), "ohm", "series resistance"))
    except UnitError as error:
        raise BenchError(f"The note 'series resistance: {text}' is no resistance. Write it as in '1.2 ohm'.") from error


def _solver(
    kind: str, time: Floats, values: Floats, series: float
) -> Callable[[Mapping[str, float]], tuple[float, TraceConstants]]:
    """Return a function from the steady constants to what is sought, and the fitted curve."""
    if kind == "coast down":

        def coast(c: Mapping[str, float]) -> tuple[float, TraceConstants]:
            found = fit_coast_down(time, values, friction=c["friction_torque"], viscous=c["viscous_friction"])
            return found.sought, found

        return coast
    rise = fit_rise(time, values)
    if kind == "current rise":
        return lambda c: (rise.sought * (c["resistance"] + series), rise)
    return lambda c: (
        rise.sought * (c["viscous_friction"] + c["emf_constant"] ** 2 / (c["resistance"] + series)),
        rise,
    )


def fit_trace(trace: BenchTable, fit: MotorFit) -> TraceFit:
    """Return the inductance or the inertia that a transient gives.

    Parameters
    ----------
    trace : BenchTable
        ``"current rise"``: i = I·(1 − e^(−t/τ)) with the shaft held; L = τ·(R + series resistance).
        ``"spin up"``: ω = Ω·(1 − e^(−t/τ)) on a steady voltage; J = τ·(c + k²/(R + series resistance)).
        ``"coast down"``: J·dω/dt = −F − c·ω with open terminals.
    fit : MotorFit
        Of the steady readings; its record's note ``series resistance`` tells all that is in the loop besides, and
        where it is missing the note ``shunt`` does.

    Returns
    -------
    TraceFit

    Raises
    ------
    BenchError
        When the steady fit lacks a constant that is needed, or the trace is too short or does not rise or fall.

    Notes
    -----
    Exact solutions of the linear equations. A spin-up neglects the inductance: valid where L/R is small against τ.
    Successive samples are taken as independent.
    """
    expect(trace, BenchTable, "fit_trace.trace", "Give one of a record's .traces.")
    expect(fit, MotorFit, "fit_trace.fit", FIT_FIRST)
    if trace.kind not in _SOUGHT:
        raise BenchError(f"fit_trace.trace must be one of {', '.join(_SOUGHT)}; got {trace.kind}. Use fit_motor.")
    lacking = [name for name in _NEEDS[trace.kind] if name not in fit.value]
    if lacking:
        words = " and ".join(name.replace("_", " ").replace("emf", "EMF") for name in lacking)
        raise BenchError(f"A trace of {trace.kind} needs the {words} from steady readings, which are missing.")
    time, values = trace_columns(trace)
    solve = _solver(trace.kind, time, values, _series(fit))
    centre = {
        name: float(fit.value[name].to(unit).magnitude) if name in fit.value else 0.0 for name, unit in UNITS.items()
    }
    sought, curve = solve(centre)
    if not curve.success or not np.isfinite(sought) or sought <= 0:
        raise BenchError(f"The trace of {trace.kind} does not follow its law. Look at it: does it start at time 0?")
    known = [name for name in fit.names if name in (*_NEEDS[trace.kind], *_TAKES[trace.kind])]
    u = np.array([float(fit.standard_uncertainty[name].to(UNITS[name]).magnitude) for name in known])
    slopes = []
    for name, size in zip(known, u, strict=True):
        up, down = ({**centre, name: max(centre[name] + side * 0.1 * size, 0.0)} for side in (1, -1))
        wide = up[name] - down[name]
        slopes.append((solve(up)[0] - solve(down)[0]) / wide if wide > 0 else 0.0)
    at = [fit.names.index(name) for name in known]
    shared = np.array(slopes) * u
    own = curve.deviation * (sought / curve.sought)
    total = float(np.sqrt(own**2 + shared @ fit.correlation[np.ix_(at, at)] @ shared))
    name, unit = _SOUGHT[trace.kind]
    spent = own**4 / (len(curve.residuals) - 2) + sum(
        (slope * size) ** 4 / fit.degrees_of_freedom[known[place]]
        for place, (slope, size) in enumerate(zip(slopes, u, strict=True))
    )
    factor = float(stdtrit(total**4 / spent, 0.975)) if spent > 0 else 1.96
    return TraceFit(
        kind=trace.kind,
        name=name,
        value=from_si(sought, unit),
        standard_uncertainty=from_si(total, unit),
        expanded_uncertainty=from_si(factor * total, unit),
        time_constant=None if trace.kind == "coast down" else from_si(curve.sought, "s"),
        time=from_si(time, "s"),
        residual=from_si(curve.residuals, "A" if trace.kind == "current rise" else "rad/s"),
    )
