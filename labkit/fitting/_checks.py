"""Readings that cannot be of one motor, or of any: refused or doubted before a number is given."""

from __future__ import annotations

import numpy as np

from labkit._kernels.regression_motor import Readings
from labkit.bench import Problem
from labkit.errors import BenchError
from labkit.fitting._design import STEADY
from labkit.units import from_si
from labkit.writing import show

__all__ = ["faint", "refuse_contradictions", "unusual"]

_SWAPPED = "Are two columns or their units swapped?"
#: What small brushed motors have (common practice, no source): beyond these a wrong unit is likelier.
_USUAL = {
    "resistance": (0.02, 500.0, "ohm"),
    "emf_constant": (1e-4, 1.0, "V*s/rad"),
    "friction_torque": (0.0, 1.0, "N*m"),
}
#: Of the stall current: the best coreless motors run free on about 0.5 % (common practice, no source).
_FAINTEST = 1e-3
_POSSIBLE = {"resistance": (1e-3, 1e5, "ohm"), "emf_constant": (1e-6, 100.0, "V*s/rad")}


def refuse_contradictions(data: Readings) -> None:
    """Refuse tables that disagree by more than a quarter, or a drop in the winding above the terminal voltage.

    Raises
    ------
    BenchError
        Names both numbers.
    """
    held = data.electrical & (data.table == STEADY.index("locked rotor"))
    run = data.electrical & np.isin(data.table, (STEADY.index("free running"), STEADY.index("loaded running")))
    driven = data.table == STEADY.index("generator")
    resistance = float(np.median(data.voltage[held] / data.current[held])) if held.any() else 0.0
    if held.any() and run.any():
        drop, voltage = float(np.median(resistance * data.current[run])), float(np.median(data.voltage[run]))
        if drop >= voltage:
            raise BenchError(
                f"The tables contradict each other: locked, the motor has {show(from_si(resistance, 'ohm'))}, which at "
                f"the running current takes {show(from_si(drop, 'V'))}, more than the running voltage of "
                f"{show(from_si(voltage, 'V'))}. {_SWAPPED}"
            )
    if run.any() and driven.any():
        running = float(np.median((data.voltage - resistance * data.current)[run] / data.speed[run]))
        opened = float(np.median(data.voltage[driven] / data.speed[driven]))
        least = 0.75 if held.any() else 0.4  # without the resistance, the running figure still contains its drop
        if not least < opened / running < 1 / 0.75:
            unit = "V*s/rad"
            raise BenchError(
                f"The tables contradict each other: running, the EMF constant is {show(from_si(running, unit))}, as a "
                f"generator {show(from_si(opened, unit))}. {_SWAPPED}"
            )


def faint(data: Readings, source: str) -> list[Problem]:
    """Return a problem where the free motor's current is next to nothing beside its stall current."""
    held = data.electrical & (data.table == STEADY.index("locked rotor"))
    run = data.electrical & (data.table == STEADY.index("free running"))
    if not (held.any() and run.any()):
        return []
    resistance = float(np.median(data.voltage[held] / data.current[held]))
    current = float(np.median(data.current[run]))
    part = current * resistance / float(np.median(data.voltage[run]))
    if part >= _FAINTEST:
        return []
    return [
        Problem(
            source=source,
            read=f"a free-running current of {show(from_si(current, 'A'))}, {100 * part:.2g} % of the stall current",
            expected="1 to 30 % of it, as small motors have",
            consequence=f"It stands, but look again. {_SWAPPED}",
        )
    ]


def unusual(value: dict[str, float], source: str) -> list[Problem]:
    """Return a problem for each constant that small motors do not have.

    Raises
    ------
    BenchError
        For one that no motor of this kit has.
    """
    found = []
    for name, (least, most, unit) in _USUAL.items():
        if name not in value:
            continue
        shown, words = show(from_si(value[name], unit)), name.replace("_", " ").replace("emf", "EMF")
        low, high, _ = _POSSIBLE.get(name, (-np.inf, np.inf, unit))
        if not low <= value[name] <= high:
            raise BenchError(f"The readings give a motor with {words} {shown}, which cannot be. {_SWAPPED}")
        if not least <= value[name] <= most:
            expected = f"{show(from_si(least, unit))} to {show(from_si(most, unit))} as small motors have"
            consequence = f"It stands, but look again. {_SWAPPED}"
            found.append(Problem(source=source, read=f"{words} {shown}", expected=expected, consequence=consequence))
    return found
