"""What a pin, a transistor and a load find together, in words and numbers."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.figures.picture import Reading, Table
from labkit.simulation import SwitchedLoad
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["SwitchRun", "finding", "readings", "tables"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SwitchRun:
    """What the picture is drawn from."""

    #: Whether a bipolar transistor is fitted, and not a MOSFET.
    bipolar: bool
    #: Whether the motor is the load, held still, and not a resistor.
    is_motor: bool
    load: Quantity
    #: Between pin and gate, or pin and base.
    resistor: Quantity
    #: At a MOSFET's gate; ``None`` where it is left out.
    pull_down: Quantity | None
    #: What the pin does, such as ``"high"``, and its level; ``None`` while it is no output yet.
    pin: str
    level: Quantity | None
    #: What the pin is made to give.
    pin_limit: Quantity
    supply_voltage: Quantity
    now: SwitchedLoad
    #: At each of ``levels``, both of shape (n,).
    sweep: SwitchedLoad
    levels: Quantity


def finding(run: SwitchRun) -> str:
    """Return what the picture shows, in words."""
    now = run.now
    control = "base" if run.bipolar else "gate"
    load = "the held motor" if run.is_motor else "the resistor"
    at = f"With {show(now.gate_voltage)} at its {control}"
    if float(now.current.m_as("A")) < 1e-3:
        return (
            f"{at} the transistor is off: no current flows, and the {show(now.switch_voltage)} of the battery are "
            "all across the transistor."
        )
    share = f"{load} gets {show(now.load_voltage)} of {show(run.supply_voltage)}"
    heat = f"the transistor keeps {show(now.switch_voltage)} and makes {show(now.switch_power)} of heat"
    pin = (
        f"The pin gives {show(now.pin_current)} all the time"
        if run.bipolar
        else f"The pin gives {show(now.first_pin_current)} at first and {show(now.pin_current)} from then on"
    )
    over = ", more than it is made for." if now.first_pin_current > run.pin_limit else "."
    if now.throttled:
        return (
            f"{at} the transistor lets no more than {show(now.current)} through, whatever {load} asks: {share}, and "
            f"{heat}. {pin}{over}"
        )
    return f"{at} the transistor is a closed switch: {show(now.current)} flows, {share}, and {heat}. {pin}{over}"


def readings(run: SwitchRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    now = run.now
    shown = [
        Reading("Base to emitter" if run.bipolar else "Gate to source", now.gate_voltage),
        Reading("Current in the load", now.current),
        Reading("Most that the transistor lets through", now.allowed_current),
        Reading("Voltage at the load", now.load_voltage),
        Reading("Voltage across the transistor", now.switch_voltage),
        Reading("Voltage lost inside the battery", now.source_drop),
        Reading("Heat in the transistor", now.switch_power),
        Reading("Pin's current in the first instant", now.first_pin_current),
        Reading("Pin's current from then on", now.pin_current),
        Reading("What the pin is made to give", run.pin_limit),
    ]
    return tuple(shown if run.level is None else [Reading("Pin's level", run.level), *shown])


def tables(run: SwitchRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    columns = (
        ("pin's level", run.levels, "V"),
        ("load current", run.sweep.current, "A"),
        ("across the transistor", run.sweep.switch_voltage, "V"),
        ("heat in it", run.sweep.switch_power, "W"),
    )
    return (Table("Against the pin's level", columns),)
