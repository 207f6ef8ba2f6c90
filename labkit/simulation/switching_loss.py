"""What it costs to switch: while the drain swings, for the diode's stored charge, and at the gate."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.chopper import Chopped
from labkit._kernels.switching import transition_loss
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Drive, Mosfet
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, argument, plain
from labkit.simulation.switch import base_current, gate_volts, saturation_current
from labkit.units import Quantity, from_si, magnitude

__all__ = ["drive_losses", "saturates", "switching_loss", "switching_times", "transition_times"]

Floats = NDArray[np.float64]


def switching_times(drive: Drive) -> tuple[Quantity, Quantity]:
    """Times that the drain takes to swing, at turn-on and at turn-off.

    Parameters
    ----------
    drive : Drive
        With a MOSFET whose gate-drain charge and plateau voltage are known.

    Returns
    -------
    tuple of Quantity [s]
        Turn-on, turn-off.

    Raises
    ------
    PartError
        When the switch is no MOSFET, or a value is not known.
    NoSolutionError
        When the gate does not get past the plateau, so that the transistor is never fully on.

    Notes
    -----
    Q_GD over the gate current at the plateau, which the pin drives through its own and the gate resistor:
    (V_gate - V_plateau)/R on, V_plateau/R off. The times in which the current alone changes come on top.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> on, off = switching_times(desk_wind_tunnel())
    >>> print(on.to("us").round(2), "|", off.to("us").round(2))
    0.54 microsecond | 0.25 microsecond
    """
    expect(drive, Drive, "switching_times.drive")
    switch = drive.switch
    if not isinstance(switch, Mosfet):
        raise PartError("Drive.switch", "a Mosfet for this calculation", type(switch).__name__, "Measure the times.")
    for name, unit in (("gate_drain_charge", "C"), ("plateau_voltage", "V")):
        if getattr(switch, name) is None:
            raise PartError(f"Mosfet.{name}", "known for this calculation", None, f"Give it in {unit}.")
    on, off = transition_times(drive, switch)
    return from_si(on, "s"), from_si(off, "s")


def switching_loss(voltage: Given, current: Given, *, duration: Given, frequency: Given) -> Quantity:
    """Heat in a transistor that changes over while it carries current: ½·V·I·t·f.

    Parameters
    ----------
    voltage, current : Quantity [V], [A], any shape
        Across it while open, through it while closed.
    duration : Quantity [s]
        Of turning on and turning off together, as from ``switching_times``.
    frequency : Quantity [Hz]

    Returns
    -------
    Quantity [W]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    Voltage and current are taken to change one after the other, along straight lines.

    Examples
    --------
    >>> print(switching_loss("6 V", "2 A", duration="0.8 us", frequency="20 kHz").to("mW").round(3))
    96.0 milliwatt
    """
    watts = transition_loss(
        argument(voltage, "V", "voltage", least=0.0),
        argument(current, "A", "current", least=0.0),
        argument(duration, "s", "duration", least=0.0),
        argument(frequency, "Hz", "frequency", least=0.0),
    )
    return from_si(plain(watts), "W")


def transition_times(drive: Drive, switch: Mosfet) -> tuple[float, float]:
    """Return the drain's swing times [s], on and off, of a MOSFET whose charge and plateau are known."""
    charge, plateau = float(magnitude(switch.gate_drain_charge, "C")), float(magnitude(switch.plateau_voltage, "V"))  # type: ignore[arg-type] # the caller has looked
    gate, ohms = gate_volts(drive), _gate_resistance(drive)
    if gate <= plateau:
        msg = (
            f"The gate gets {gate:.3g} V and its plateau is at {plateau:.3g} V: the transistor is never fully on. "
            "Take one with a lower plateau, or drive the gate higher."
        )
        raise NoSolutionError(msg)
    return charge * ohms / (gate - plateau), charge * ohms / plateau


def _gate_resistance(drive: Drive) -> float:
    """Return the resistance [ohm] that the gate is driven through, its pull-down in parallel."""
    ohms = float(magnitude(drive.gate_resistor, "ohm")) + float(magnitude(drive.pin.output_resistance, "ohm"))
    if drive.pull_down is None:
        return ohms
    down = float(magnitude(drive.pull_down, "ohm"))
    return ohms * down / (ohms + down)


def drive_losses(drive: Drive, state: Chopped, volts: Floats, frequency: Floats, duty: Floats) -> dict[str, Any]:
    """Return switching, recovery and gate loss [W] beside a periodic state; ``None`` for what is not known.

    Turn-on carries the least current, turn-off the peak; the drain swings by the supply and the diode's drop.
    A diode without current at turn-on has nothing to recover from.
    """
    switch, diode = drive.switch, drive.diode
    switching: Floats | None = None
    if isinstance(switch, Mosfet) and _gets_past_plateau(drive, switch):
        on, off = transition_times(drive, switch)
        swing = volts + (0.0 if diode is None else float(magnitude(diode.forward_voltage, "V")))
        forward = np.where(state.backward, 0.0, 1.0)
        switching = transition_loss(
            swing, forward * state.minimum_current, np.asarray(on), frequency
        ) + transition_loss(swing, forward * state.peak_current, np.asarray(off), frequency)
    recovery: Floats | None = np.zeros_like(state.mean_current)
    if diode is not None:
        charge = diode.recovery_charge
        carried = state.continuous & ~state.backward
        recovery = None if charge is None else np.where(carried, float(magnitude(charge, "C")) * volts * frequency, 0.0)
    pulsed = (duty > 0.0) & (duty < 1.0)
    return {
        "switching_loss": None if switching is None else np.where(pulsed, switching, 0.0),
        "recovery_loss": None if recovery is None else np.where(pulsed, recovery, 0.0),
        "gate_loss": _gate_loss(drive, frequency, duty, pulsed),
    }


def _gets_past_plateau(drive: Drive, switch: Mosfet) -> bool:
    """Return whether the drain's swing can be timed: charge and plateau known, and the gate driven above it."""
    if switch.gate_drain_charge is None or switch.plateau_voltage is None:
        return False
    return gate_volts(drive) > float(magnitude(switch.plateau_voltage, "V"))


def _gate_loss(drive: Drive, frequency: Floats, duty: Floats, pulsed: NDArray[np.bool_]) -> Floats | None:
    """Return the mean power [W] that the pin gives: Q_g·V·f to a gate, V·I_B·D to a base."""
    high, switch = float(magnitude(drive.pin.high_level, "V")), drive.switch
    if isinstance(switch, Bipolar):
        if switch.base_resistor is None:
            return None
        return np.asarray(high * base_current(switch, drive.pin, np.asarray(high)) * duty, dtype=np.float64)
    if switch.gate_charge is None:
        return None
    return np.where(pulsed, float(magnitude(switch.gate_charge, "C")) * high * frequency, 0.0)


def saturates(drive: Drive, peak_current: Floats) -> NDArray[np.bool_] | None:
    """Return whether a peak current [A] is more than the MOSFET lets through; ``None`` where that is not known."""
    if not isinstance(drive.switch, Mosfet):
        return None
    try:
        most = float(magnitude(saturation_current(drive.switch, from_si(gate_volts(drive), "V")), "A"))
    except PartError:
        return None
    return np.asarray(peak_current > most)
