"""What a pin gives into a load: a pin is a source with a resistance of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.generator import into_led
from labkit._kernels.steady import MotorSI, run
from labkit.errors import NoSolutionError
from labkit.parts import Led, Load, Motor, Pin
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Flags, Given, Ratio, Volts, Watts, argument, plain, wrap
from labkit.simulation._loop import brakes, motor_record
from labkit.simulation.generator import shockley
from labkit.units import Quantity, from_si, magnitude

__all__ = ["PinLoad", "PinPoint", "load_current", "pin_point"]

Floats: TypeAlias = NDArray[np.float64]
#: What hangs on a pin: a resistance, an LED with its resistor, or a motor.
PinLoad: TypeAlias = Given | Led | Motor


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PinPoint:
    """A pin under a steady load."""

    current: Amperes
    #: Between the pin and ground.
    voltage: Volts
    #: Inside the chip.
    internal_loss: Watts
    load_power: Watts
    #: Current over the pin's rated current; ``None`` where that is not known.
    share_of_limit: Ratio | None
    #: Whether a motor turns; ``False`` for anything else.
    turning: Flags


def pin_point(pin: Pin, load: PinLoad, *, shaft: Load | None = None, level: Given | None = None) -> PinPoint:
    """Current, voltage and heat of a pin that is high, with a load between it and ground.

    Parameters
    ----------
    pin : Pin
    load : Quantity [ohm], any shape; Led; or Motor
        A resistance (zero for a short circuit), an LED with its series resistor, or a motor.
    shaft : Load, optional
        What a motor turns; nothing where not given.
    level : Quantity [V], any shape, optional
        In the place of the pin's high level. Current and voltage over rising levels are the load's own line.

    Returns
    -------
    PinPoint

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        A short circuit of a pin without resistance.

    Notes
    -----
    V = V_OH - R_out·I, a straight line, meets the load's own current. Real pins bend below it as the current grows, and
    the rated current is not enforced: this is what would flow if nothing broke.

    Examples
    --------
    >>> held = pin_point(Pin(high_level="3.3 V", output_resistance="40 ohm", current_limit="20 mA"), "12 ohm")
    >>> print(held.current.to("mA").round(1), "|", held.voltage.round(2), "|", held.share_of_limit.round(2))
    63.5 milliampere | 0.76 volt | 3.17 dimensionless
    """
    expect(pin, Pin, "pin_point.pin")
    volts = argument(pin.high_level if level is None else level, "V", "level", least=0.0)
    ohms = np.asarray(magnitude(pin.output_resistance, "ohm"))
    amps, turning = _drawn(volts, ohms, load, shaft)
    limit = pin.current_limit
    floats = {
        "current": amps,
        "voltage": volts - ohms * amps,
        "internal_loss": ohms * amps**2,
        "load_power": (volts - ohms * amps) * amps,
        "share_of_limit": None if limit is None else amps / magnitude(limit, "A"),
        "turning": turning,
    }
    return wrap(PinPoint, floats)


def load_current(load: PinLoad, voltage: Given, *, shaft: Load | None = None) -> Quantity:
    """Current that a load draws at a steady voltage.

    Parameters
    ----------
    load : Quantity [ohm], Led or Motor
    voltage : Quantity [V], any shape
    shaft : Load, optional
        What a motor turns; nothing where not given.

    Returns
    -------
    Quantity [A]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        Of a short circuit.

    Examples
    --------
    >>> print(load_current("150 ohm", "3.3 V").to("mA"))
    22.0 milliampere
    """
    amps, _ = _drawn(argument(voltage, "V", "voltage"), np.asarray(0.0), load, shaft)
    return from_si(plain(amps), "A")


def _drawn(volts: Floats, ohms: Floats, load: PinLoad, shaft: Load | None) -> tuple[Floats, Floats]:
    """Return the current [A] behind a resistance [ohm], and whether anything turns."""
    shaft = Load() if shaft is None else shaft
    expect(shaft, Load, "shaft")
    if isinstance(load, Motor):
        winding = motor_record(load)
        behind = winding._replace(resistance=winding.resistance + ohms)
        running = run(volts, behind, brakes(load, shaft))
        return np.asarray(running.current), np.asarray(running.turning)
    if isinstance(load, Led):
        if float(ohms) + float(magnitude(load.series_resistance, "ohm")) == 0.0:
            raise NoSolutionError("Nothing in this loop limits the current. Give the LED a series resistance.")
        nothing = np.asarray(0.0)
        amps = into_led(volts, MotorSI(resistance=ohms, emf_constant=nothing, brush_drop=nothing), shockley(load))
    else:
        loop = ohms + argument(load, "ohm", "load", least=0.0, remedy="A resistance, an Led or a Motor.")
        if np.any(loop == 0.0):
            raise NoSolutionError("Nothing in this loop limits the current. Give the pin's output resistance.")
        amps = volts / loop
    return np.asarray(amps), np.zeros(np.shape(amps), dtype=bool)
