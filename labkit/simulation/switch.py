"""The transistor as a switch: what it lets through at the gate voltage that it really gets."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.switching import triode_resistance
from labkit.errors import PartError
from labkit.parts import Bipolar, Drive, Mosfet, Pin
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, argument, plain
from labkit.simulation._warmth import ROOM, resistance_factor
from labkit.units import Quantity, from_si, magnitude

__all__ = ["gate_drive_voltage", "on_resistance", "saturation_current"]

Floats: TypeAlias = NDArray[np.float64]


def on_resistance(mosfet: Mosfet, gate_voltage: Given | None = None, temperature: Given = "25 degC") -> Quantity:
    """Resistance of a MOSFET that is switched on, at a gate voltage and a junction temperature.

    Parameters
    ----------
    mosfet : Mosfet
    gate_voltage : Quantity [V], any shape, optional
        Needed where the on-resistance is a table; below the threshold the resistance is infinite.
    temperature : Quantity [degC], any shape
        Of the junction.

    Returns
    -------
    Quantity [ohm]
        In the shape of the two together.

    Raises
    ------
    PartError
        When the gate voltage is needed and missing, or lies below the table and the threshold is not known.

    Notes
    -----
    Between two rows, and from the threshold to the first row, 1/R runs straight with the gate voltage: the square law.
    Above the last row R stays. Over temperature R = R₂₅·(1 + α·(T - 25 °C)), fair from -40 to 175 °C (common practice).
    This holds while the current is well below `saturation_current`.

    Examples
    --------
    >>> part = Mosfet(on_resistance=[("2.5 V", "120 mOhm"), ("4.5 V", "30 mOhm")], threshold="1.2 V")
    >>> print(on_resistance(part, "4.5 V"), on_resistance(part, "1.0 V"))
    0.03 ohm inf ohm
    >>> print(on_resistance(part, "4.5 V", "125 degC"))
    0.045 ohm
    """
    expect(mosfet, Mosfet, "on_resistance.mosfet")
    hot = warm_factor(mosfet, argument(temperature, "degC", "temperature", least=-273.15))
    volts = None if gate_voltage is None else argument(gate_voltage, "V", "gate_voltage", remedy="Source is 0 V.")
    return from_si(plain(cold_resistance(mosfet, volts) * hot), "ohm")


def warm_factor(mosfet: Mosfet, kelvins: Floats) -> Floats:
    """Return on-resistance over its value at 25 °C, at junction temperatures [K]."""
    growth = float(magnitude(mosfet.resistance_temperature_coefficient, "1/kelvin"))
    use = "It is used from -40 °C to 175 °C."
    return resistance_factor(kelvins, growth, ROOM, of="the on-resistance", use=use, where="temperature")


def cold_resistance(mosfet: Mosfet, gate_voltage: Floats | None) -> Floats:
    """Return the on-resistance [ohm] at 25 °C; of a table, at gate voltages [V] of any shape."""
    if not isinstance(mosfet.on_resistance, tuple):
        single = np.asarray(magnitude(mosfet.on_resistance, "ohm"), dtype=np.float64)
        if gate_voltage is None or mosfet.threshold is None:
            return single
        return np.where(gate_voltage > magnitude(mosfet.threshold, "V"), single, np.inf)
    if gate_voltage is None:
        raise PartError("gate_voltage", "given, since the on-resistance is a table", None, "Give the pin's high level.")
    volts, ohms = _rows(mosfet.on_resistance)
    if np.any(gate_voltage < volts[0]):
        threshold = _below(_threshold(mosfet, "below the on-resistance table"), volts[0])
        volts, ohms = np.r_[threshold, volts], np.r_[np.inf, ohms]
    return triode_resistance(gate_voltage, volts, ohms)


def _rows(table: tuple[tuple[Quantity, Quantity], ...]) -> tuple[Floats, Floats]:
    volts = np.array([magnitude(volt, "V") for volt, _ in table], dtype=np.float64)
    return volts, np.array([magnitude(ohm, "ohm") for _, ohm in table], dtype=np.float64)


def _threshold(mosfet: Mosfet, case: str) -> float:
    if mosfet.threshold is None:
        remedy = "Give the data sheet's V_GS(th), or an on-resistance at this gate voltage."
        raise PartError("Mosfet.threshold", f"known for a gate voltage {case}", None, remedy)
    return float(magnitude(mosfet.threshold, "V"))


def _below(threshold: float, first: float) -> float:
    """Return a threshold [V], refused where it is not below the first gate voltage of the on-resistance table."""
    if threshold >= first:
        remedy = "A row below the threshold cannot be; read the sheet again."
        raise PartError("Mosfet.threshold", f"below the table's first row, {first:g} V", f"{threshold:g} V", remedy)
    return threshold


def saturation_current(mosfet: Mosfet, gate_voltage: Given) -> Quantity:
    """Largest current that a MOSFET lets through at a gate voltage: above it the transistor, not the motor, decides.

    Parameters
    ----------
    mosfet : Mosfet
    gate_voltage : Quantity [V], any shape

    Returns
    -------
    Quantity [A]
        K·(V_GS - V_th)², zero below the threshold.

    Raises
    ------
    PartError
        When the threshold is not known, or K can neither be read nor estimated.

    Notes
    -----
    Square law, 25 °C. Without a transconductance K comes from the first row of the on-resistance table,
    1/R = 2·K·(V_GS - V_th), which is good to a factor of about two (common practice, no source).

    Examples
    --------
    >>> part = Mosfet(on_resistance="1 ohm", threshold="2 V", transconductance="0.5 A/V**2")
    >>> print(saturation_current(part, "3 V"))
    0.5 ampere
    """
    expect(mosfet, Mosfet, "saturation_current.mosfet")
    volts = argument(gate_voltage, "V", "gate_voltage", remedy="Source is 0 V.")
    threshold = _threshold(mosfet, "that may be too low")
    excess = np.maximum(volts - threshold, 0.0)
    return from_si(plain(_transconductance(mosfet, threshold) * excess**2), "A")


def _transconductance(mosfet: Mosfet, threshold: float) -> float:
    if mosfet.transconductance is not None:
        return float(magnitude(mosfet.transconductance, "A/V**2"))
    if not isinstance(mosfet.on_resistance, tuple):
        remedy = "Give it, or give the on-resistance as a table by gate voltage."
        raise PartError("Mosfet.transconductance", "known for this calculation", None, remedy)
    volts, ohms = _rows(mosfet.on_resistance)
    return float(1.0 / (2.0 * ohms[0] * (volts[0] - _below(threshold, volts[0]))))


def gate_drive_voltage(drive: Drive) -> Quantity:
    """Gate voltage that the pin really reaches: the pull-down on the gate's side divides it.

    Parameters
    ----------
    drive : Drive

    Returns
    -------
    Quantity [V]

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(gate_drive_voltage(desk_wind_tunnel()).to("V").round(3))
    3.238 volt
    """
    expect(drive, Drive, "gate_drive_voltage.drive")
    return from_si(gate_volts(drive), "V")


def gate_volts(drive: Drive) -> float:
    """Return the gate voltage [V] of a pin held high."""
    high = float(magnitude(drive.pin.high_level, "V"))
    if drive.pull_down is None:
        return high
    down = float(magnitude(drive.pull_down, "ohm"))
    before = float(magnitude(drive.gate_resistor, "ohm")) + float(magnitude(drive.pin.output_resistance, "ohm"))
    return high * down / (down + before)


def base_current(switch: Bipolar, pin: Pin, level: Floats) -> Floats:
    """Return the current [A] that a pin at a level [V] drives to a base, through its own and the base resistor.

    Raises
    ------
    PartError
        When the base resistor is not known.
    """
    if switch.base_resistor is None:
        raise PartError("Bipolar.base_resistor", "known for this calculation", None, "Give it in ohm.")
    ohms = float(magnitude(switch.base_resistor, "ohm")) + float(magnitude(pin.output_resistance, "ohm"))
    return np.asarray(np.maximum(level - float(magnitude(switch.base_emitter_voltage, "V")), 0.0) / ohms)


def switch_path(switch: Mosfet | Bipolar, gate_voltage: float, kelvins: Floats) -> tuple[Floats, float, float]:
    """Return a closed switch's resistance [ohm], its own drop [V], and its body diode's drop [V] (NaN for none)."""
    if isinstance(switch, Bipolar):
        return np.zeros_like(kelvins), float(magnitude(switch.saturation_voltage, "V")), np.nan
    ohms = cold_resistance(switch, np.asarray(gate_voltage)) * warm_factor(switch, kelvins)
    return ohms, 0.0, float(magnitude(switch.body_diode_drop, "V"))
