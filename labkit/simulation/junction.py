"""How hot a transistor or a diode gets, with an on-resistance that rises as it warms."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.heat import runaway_current, warm_rise
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Drive, Mosfet
from labkit.simulation._crossing import Amperes, Celsius, Given, Kelvins, Ohms, Watts, argument, wrap
from labkit.simulation._loop import ambient_kelvins, brakes, needed
from labkit.simulation._rooting import falling_root
from labkit.simulation._warmth import ROOM
from labkit.simulation.duty_control import pwm_floats
from labkit.simulation.switch import cold_resistance, gate_volts, warm_factor
from labkit.units import magnitude

__all__ = ["JunctionState", "junction_temperature"]

Floats: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class JunctionState:
    """A junction in balance with the air; every field has the shape of the arguments together."""

    temperature: Celsius
    #: Over ambient.
    rise: Kelvins
    #: What is left to the data sheet's limit; negative where it is exceeded.
    margin: Kelvins
    #: All heat in the part.
    power: Watts
    #: At this temperature; ``None`` of a part that has none.
    on_resistance: Ohms | None
    #: Root mean square, from which heating outruns cooling; ``None`` where resistance has no part in it.
    runaway_current: Amperes | None


def junction_temperature(
    part: Mosfet | Bipolar | Diode | Drive,
    current: Given | None = None,
    *,
    duty: Given | None = None,
    frequency: Given | None = None,
    ambient: Given | None = None,
    gate_voltage: Given | None = None,
    other_loss: Given = "0 W",
    thermal_resistance: Given | None = None,
) -> JunctionState:
    """Junction temperature at which heat in and heat out balance.

    Parameters
    ----------
    part : Mosfet, Bipolar, Diode or Drive
        Of a drive, its transistor, at its real gate voltage and its ambient.
    current : Quantity [A], any shape
        Through the part: root mean square for a MOSFET, mean for a bipolar transistor or a diode.
        Of a drive it may be left out, and the duty and the frequency given.
    duty, frequency : float [1], Quantity [Hz], any shape
        Of a drive: the current then settles together with the temperature.
    ambient : Quantity [degC], optional
        25 °C, or the drive's.
    gate_voltage : Quantity [V], optional
        Of a MOSFET whose on-resistance is a table.
    other_loss : Quantity [W]
        Switching, recovery: what the current given does not say.
    thermal_resistance : Quantity [K/W], optional
        Junction to ambient, in the place of the data sheet's: the sum of a heat sink's path, for one.

    Returns
    -------
    JunctionState

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        Thermal runaway: says at which current it begins.

    Notes
    -----
    T = T_a + R_th·P(T). At a given current P = I²·R₂₅·(1 + α·(T - 25 °C)) + other is a straight line: T is exact, and
    there is none from I = 1/√(R_th·R₂₅·α) on. In a drive the motor limits the current, so that there always is one;
    it may be above what the part stands (``margin``).

    Examples
    --------
    >>> part = Mosfet(on_resistance="0.2 ohm", junction_to_ambient="62 K/W")
    >>> warm = junction_temperature(part, "1.5 A")
    >>> print(warm.temperature.round(1), warm.power.round(3))
    57.4 degree_Celsius 0.523 watt
    >>> junction_temperature(part, "5 A")
    Traceback (most recent call last):
    labkit.errors.NoSolutionError: Thermal runaway: from 4.02 A on, ...
    """
    drive = part if isinstance(part, Drive) else None
    device = part.switch if isinstance(part, Drive) else part
    if not isinstance(device, (Mosfet, Bipolar, Diode)):
        raise PartError(
            "part", "a Mosfet, Bipolar, Diode or Drive", repr(part)[:80], "Write junction_temperature(drive, …)."
        )
    path = (
        np.asarray(needed(device, "junction_to_ambient", "kelvin/W", "for a temperature"))
        if thermal_resistance is None
        else argument(thermal_resistance, "kelvin/W", "thermal_resistance", least=0.0)
    )
    air = (drive.ambient if drive else "25 degC") if ambient is None else ambient
    around = argument(air, "degC", "ambient", least=-273.15)
    extra = argument(other_loss, "W", "other_loss", least=0.0)
    if current is None:
        floats = _in_drive(drive, duty, frequency, around=around, path=path, extra=extra)
    else:
        amps = argument(current, "A", "current", least=0.0, remedy="Give the size of the current.")
        gate = np.asarray(gate_volts(drive)) if drive and gate_voltage is None else _maybe(gate_voltage)
        floats = _at_current(device, amps, gate, around=around, path=path, extra=extra)
    limit = float(magnitude(device.max_junction_temperature, "degC"))
    floats |= {"margin": limit - floats["temperature"], "rise": floats["temperature"] - around}
    shape = np.broadcast_shapes(*(np.shape(value) for value in floats.values() if value is not None))
    return wrap(JunctionState, {n: None if v is None else np.broadcast_to(v, shape) for n, v in floats.items()})


def _maybe(gate_voltage: Given | None) -> Floats | None:
    return None if gate_voltage is None else argument(gate_voltage, "V", "gate_voltage")


def _at_current(
    device: Mosfet | Bipolar | Diode, amps: Floats, gate: Floats | None, *, around: Floats, path: Floats, extra: Floats
) -> dict[str, Any]:
    """Return temperature [K], power [W], on-resistance [ohm] and runaway current [A] at a current [A]."""
    if isinstance(device, Mosfet):
        cold = cold_resistance(device, gate)
        if np.any(np.isinf(cold)):
            msg = "The transistor stays off: its gate gets not more than its threshold. Drive the gate higher."
            raise NoSolutionError(msg)
        growth = np.asarray(magnitude(device.resistance_temperature_coefficient, "1/kelvin"), dtype=np.float64)
        rise = warm_rise(around - ROOM, path, amps**2 * cold, growth, extra)
        begins = runaway_current(path, cold, growth)
        if np.any(np.isinf(rise)):
            msg = (
                f"Thermal runaway: from {float(np.min(begins)):.3g} A on, the on-resistance grows faster than the heat "
                "leaves. Take a lower on-resistance, a heat sink or less current."
            )
            raise NoSolutionError(msg)
        hot = cold * warm_factor(device, ROOM + rise)
        return {
            "temperature": ROOM + rise,
            "power": amps**2 * hot + extra,
            "on_resistance": hot,
            "runaway_current": begins,
        }
    if isinstance(device, Bipolar):
        power = float(magnitude(device.saturation_voltage, "V")) * amps + extra
    else:
        slope = float(magnitude(device.slope_resistance, "ohm"))
        power = float(magnitude(device.forward_voltage, "V")) * amps + slope * amps**2 + extra
    return {"temperature": around + path * power, "power": power, "on_resistance": None, "runaway_current": None}


def _in_drive(
    drive: Drive | None, duty: Given | None, frequency: Given | None, *, around: Floats, path: Floats, extra: Floats
) -> dict[str, Any]:
    """Return the same where a drive's current settles with the temperature."""
    if drive is None or duty is None or frequency is None:
        raise PartError("current", "given, or a Drive with its duty and frequency", None, "Write current='1.5 A'.")
    share = argument(duty, "", "duty", least=0.0, most=1.0)
    rate = argument(frequency, "Hz", "frequency", least=0.0, least_allowed=False)
    volts = np.asarray(magnitude(drive.supply.voltage, "V"), dtype=np.float64)
    brake = brakes(drive.motor, drive.load)
    around, path, extra, share, rate = np.broadcast_arrays(around, path, extra, share, rate)

    def power(kelvins: Floats, extra: Floats, share: Floats, rate: Floats) -> Floats:
        point = pwm_floats(
            drive,
            duty=share,
            frequency=rate,
            volts=volts,
            brake=brake,
            junction=kelvins,
            winding=ambient_kelvins(drive),
        )
        return np.asarray(point["switch_loss"] + extra, dtype=np.float64)

    def excess(kelvins: Floats, around: Floats, path: Floats, *rest: Floats) -> Floats:
        return np.asarray(around + path * power(kelvins, *rest) - kelvins, dtype=np.float64)

    guess = around + 2.0 * path * power(around, extra, share, rate) + 1.0
    kelvins = falling_root(excess, around, guess, (around, path, extra, share, rate), sought="junction temperature")
    device, hot, begins = drive.switch, None, None
    if isinstance(device, Mosfet):
        cold = cold_resistance(device, np.asarray(gate_volts(drive)))
        hot = cold * warm_factor(device, kelvins)
        growth = np.asarray(magnitude(device.resistance_temperature_coefficient, "1/kelvin"), dtype=np.float64)
        begins = runaway_current(path, cold, growth)
    return {
        "temperature": kelvins,
        "power": power(kelvins, extra, share, rate),
        "on_resistance": hot,
        "runaway_current": begins,
    }
