"""What the panels share of the desk wind tunnel: what is on its shaft, and its battery, fresh and flat."""

from __future__ import annotations

import dataclasses

from labkit.errors import PartError
from labkit.panels.controls import QuantitySlider, stops
from labkit.parts import Drive, Load, Motor, Supply, desk_wind_tunnel
from labkit.units import Q_

__all__ = ["BATTERIES", "FAN", "FLAT", "FREE", "FRESH", "HELD", "HOLD", "battery_sliders", "tunnel_with"]

#: What may be on the shaft, as people choose it.
FAN, FREE, HELD = "the fan", "nothing (free)", "held still (stalled)"
#: More friction than any of these motors can overcome.
HOLD = Load(friction=Q_(1.0, "N*m"))
FRESH = Supply(voltage=Q_(6.0, "V"), internal_resistance=Q_(0.6, "ohm"))
FLAT = Supply(voltage=Q_(4.6, "V"), internal_resistance=Q_(2.5, "ohm"))
#: Presets of every panel that a battery feeds.
BATTERIES: dict[str, dict[str, object]] = {
    name: {"battery_voltage": supply.voltage, "battery_resistance": supply.internal_resistance}
    for name, supply in (("Fresh battery", FRESH), ("Flat battery", FLAT))
}


def battery_sliders(*, volts: tuple[float, float] = (3, 9), most_ohms: float = 5) -> dict[str, QuantitySlider]:
    """Return the two sliders of a battery, at a fresh one.

    Parameters
    ----------
    volts : pair of float [V]
        Ends of its voltage with nothing connected.
    most_ohms : float [ohm]
        The largest resistance of its own.
    """
    volt_stops, ohm_stops = stops(*volts, 0.1), stops(0, most_ohms, 0.1)
    return {
        "battery_voltage": QuantitySlider("Battery, nothing connected", volt_stops, "V", FRESH.voltage),
        "battery_resistance": QuantitySlider("Battery's own resistance", ohm_stops, "ohm", FRESH.internal_resistance),
    }


def tunnel_with(motor: Motor | None) -> Drive:
    """Return the desk wind tunnel with another motor in it; what that one does not know is the tunnel's own.

    Examples
    --------
    >>> fitted = Motor(resistance="3.1 ohm", emf_constant="5.2 mV*s/rad")
    >>> print(tunnel_with(fitted).motor.resistance, tunnel_with(fitted).motor.inductance)
    3.1 ohm 0.9 millihenry
    """
    drive = desk_wind_tunnel()
    if motor is None:
        return drive
    if not isinstance(motor, Motor):
        raise PartError("motor", "a Motor", f"a {type(motor).__name__}", "Of a fit, give its motor: motor=fit.motor.")
    known = {item.name: getattr(motor, item.name) for item in dataclasses.fields(motor)}
    told = {name: value for name, value in known.items() if value is not None}
    return dataclasses.replace(drive, motor=dataclasses.replace(drive.motor, **told))
