"""The desk wind tunnel: the drive that lessons, sheets and examples are about. All its numbers are invented."""

from __future__ import annotations

from labkit.parts.drive import Drive
from labkit.parts.motor import Load, Motor
from labkit.parts.semiconductors import Diode, Mosfet
from labkit.parts.supply import Pin, Supply
from labkit.units import Q_

__all__ = ["desk_wind_tunnel"]


def desk_wind_tunnel() -> Drive:
    """Return the drive of the desk wind tunnel: a 6 V fan motor, switched by a 3.3 V board.

    Free running, the motor alone draws 0.11 A, which is k·I₀ = 0.594 mN·m of friction.

    Examples
    --------
    >>> print(desk_wind_tunnel().motor.resistance)
    2.8 ohm
    """
    motor = Motor(
        resistance=Q_("2.8 ohm"),
        emf_constant=Q_("5.4 mV*s/rad"),
        inductance=Q_("0.9 mH"),
        inertia=Q_("1.2e-6 kg*m**2"),
        friction_torque=Q_("0.594 mN*m"),
        winding_to_housing=Q_("8 K/W"),
        housing_to_ambient=Q_("25 K/W"),
        winding_time_constant=Q_("8 s"),
        housing_time_constant=Q_("300 s"),
        max_winding_temperature=Q_(130, "degC"),
        rated_voltage=Q_("6 V"),
    )
    transistor = Mosfet(
        on_resistance=(("2.5 V", "120 mOhm"), ("3.3 V", "50 mOhm"), ("4.5 V", "32 mOhm"), ("10 V", "22 mOhm")),  # type: ignore[arg-type]
        threshold=Q_("1.2 V"),
        gate_charge=Q_("12 nC"),
        gate_drain_charge=Q_("3 nC"),
        plateau_voltage=Q_("2.2 V"),
        breakdown_voltage=Q_("30 V"),
        max_drain_current=Q_("10 A"),
        max_junction_temperature=Q_(150, "degC"),
        junction_to_ambient=Q_("62 K/W"),
    )
    return Drive(
        supply=Supply(voltage=Q_("6.0 V"), internal_resistance=Q_("0.6 ohm"), brown_out=Q_("2.7 V")),
        motor=motor,
        switch=transistor,
        diode=Diode(
            forward_voltage=Q_("0.4 V"), max_current=Q_("1 A"), reverse_voltage=Q_("40 V"), recovery_charge=Q_("0 C")
        ),
        load=Load(fan=Q_(1.6e-9, "N*m*s**2/rad**2"), inertia=Q_("2.5e-6 kg*m**2")),
        pin=Pin(high_level=Q_("3.3 V"), output_resistance=Q_("40 ohm"), current_limit=Q_("20 mA")),
    )
