"""A load on a transistor that a pin commands: who decides the current, and what each keeps of the voltage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Drive, Mosfet
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Given, Volts, Watts, argument, wrap
from labkit.simulation.switch import base_current, cold_resistance, saturation_current
from labkit.units import from_si, magnitude

__all__ = ["SwitchedLoad", "floating_load", "switched_load"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SwitchedLoad:
    """A steady load on a transistor; every field has the shape of pin level and load together."""

    #: Against the source; of a bipolar transistor, base against emitter.
    gate_voltage: Volts
    #: What the pin gives while nothing changes.
    pin_current: Amperes
    #: What it gives at the first instant, into an empty gate.
    first_pin_current: Amperes
    #: What the transistor lets through at most.
    allowed_current: Amperes
    #: In the load.
    current: Amperes
    #: Across the transistor: drain to source, or collector to emitter.
    switch_voltage: Volts
    load_voltage: Volts
    source_drop: Volts
    switch_power: Watts
    #: Whether the transistor, and not the load, sets the current.
    throttled: NDArray[np.bool_]


def switched_load(drive: Drive, load: Given, pin_level: Given | None = None) -> SwitchedLoad:
    """Steady current of a load in the motor's place, for a pin at a level.

    Parameters
    ----------
    drive : Drive
        Of its parts supply, switch, pin, gate resistor and pull-down count.
    load : Quantity [ohm], any shape
        A resistor, or the winding of a motor that stands.
    pin_level : Quantity [V], any shape, optional
        The pin's high level where not given; zero for a pin that is low.

    Returns
    -------
    SwitchedLoad

    Raises
    ------
    PartError
        Names the argument or the value that is not known, and what to do.

    Notes
    -----
    A MOSFET lets through the lesser of what supply and resistances ask at its on-resistance, and of its saturation
    current. A bipolar transistor lets through its gain times the base current, and keeps at least its saturation
    voltage; a pull-down at its base is left out. Both at 25 °C. Between the two regions a real transistor changes over
    smoothly.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> on = switched_load(desk_wind_tunnel(), "2.8 ohm")
    >>> print(on.current.round(2), on.switch_voltage.to("mV").round(0), on.pin_current.to("mA").round(2))
    1.74 ampere 91.0 millivolt 0.32 milliampere
    """
    expect(drive, Drive, "switched_load.drive")
    level = argument(drive.pin.high_level if pin_level is None else pin_level, "V", "pin_level", least=0.0)
    return _loaded(drive, argument(load, "ohm", "load", least=0.0, least_allowed=False), _commanded(drive, level))


def floating_load(drive: Drive, load: Given) -> SwitchedLoad:
    """Steady current of a load while the pin is no output yet, as when the board starts.

    Parameters
    ----------
    drive : Drive
        Its pin's leakage, and the pull-up that is on at the start if there is one, count.
    load : Quantity [ohm], any shape

    Returns
    -------
    SwitchedLoad

    Raises
    ------
    PartError
        As ``switched_load``.
    NoSolutionError
        Without a pull-down nothing settles the voltage of a MOSFET's gate.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(floating_load(desk_wind_tunnel(), "2.8 ohm").gate_voltage.to("mV").round(1))
    10.0 millivolt
    """
    expect(drive, Drive, "floating_load.drive")
    return _loaded(drive, argument(load, "ohm", "load", least=0.0, least_allowed=False), _floating(drive))


def _commanded(drive: Drive, level: Floats) -> dict[str, Floats]:
    """Return the voltage at gate or base, and the pin's currents, of a pin at a level [V], [A]."""
    if isinstance(drive.switch, Bipolar):
        amps = base_current(drive.switch, drive.pin, level)
        base = float(magnitude(drive.switch.base_emitter_voltage, "V"))
        return {"gate_voltage": np.minimum(level, base), "pin_current": amps, "first_pin_current": amps}
    out = float(magnitude(drive.pin.output_resistance, "ohm"))
    before = float(magnitude(drive.gate_resistor, "ohm")) + out
    if before == 0.0:
        raise PartError("Drive.gate_resistor", "more than zero for a pin without resistance", "0 ohm", "Give one.")
    held = 0.0 if drive.pull_down is None else 1.0 / (before + float(magnitude(drive.pull_down, "ohm")))
    return {
        "gate_voltage": level * (1.0 - before * held),
        "pin_current": level * held,
        "first_pin_current": level / before,
    }


def _floating(drive: Drive) -> dict[str, Floats]:
    """Return the same for a pin that is no output yet."""
    nothing = np.zeros(())
    if isinstance(drive.switch, Bipolar):
        return {"gate_voltage": nothing, "pin_current": nothing, "first_pin_current": nothing}
    if drive.pull_down is None:
        raise NoSolutionError(
            "Nothing settles the gate's voltage: it drifts with the pin's leakage, and with a hand that comes near. "
            "Fit a pull-down of 10 kΩ from the gate to ground."
        )
    down = float(magnitude(drive.pull_down, "ohm"))
    amps = float(magnitude(drive.pin.leakage, "A"))
    if drive.pin.boot_pull_up is not None:
        amps = float(magnitude(drive.pin.high_level, "V")) / (float(magnitude(drive.pin.boot_pull_up, "ohm")) + down)
    return {"gate_voltage": np.asarray(amps * down), "pin_current": np.asarray(amps), "first_pin_current": nothing}


def _loaded(drive: Drive, load: Floats, command: dict[str, Floats]) -> SwitchedLoad:
    supply = float(magnitude(drive.supply.voltage, "V"))
    inner = float(magnitude(drive.supply.internal_resistance, "ohm")) + float(magnitude(drive.wiring, "ohm"))
    allowed, asked = _limits(drive.switch, command, supply, load + inner)
    amps = np.minimum(allowed, asked)
    switch = supply - amps * (load + inner)
    floats: dict[str, Any] = {
        **command,
        "allowed_current": allowed,
        "current": amps,
        "switch_voltage": switch,
        "load_voltage": amps * load,
        "source_drop": amps * inner,
        "switch_power": switch * amps,
        "throttled": allowed < asked,
    }
    shape = np.shape(amps)
    return wrap(SwitchedLoad, {name: np.broadcast_to(value, shape) for name, value in floats.items()})


def _limits(switch: Mosfet | Bipolar, command: dict[str, Floats], supply: float, ohms: Floats) -> tuple[Floats, Floats]:
    """Return what the transistor lets through [A], and what supply and resistances ask of a closed one."""
    if isinstance(switch, Bipolar):
        asked = np.maximum(supply - float(magnitude(switch.saturation_voltage, "V")), 0.0) / ohms
        return switch.gain * command["pin_current"], asked
    gate = command["gate_voltage"]
    asked = supply / (ohms + cold_resistance(switch, gate))
    return np.asarray(saturation_current(switch, from_si(gate, "V")).m_as("A")), asked
