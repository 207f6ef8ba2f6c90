"""The sound reference design: a fused 6 V fan drive at 20 kHz that starts with a ramp, all of its values known."""

from __future__ import annotations

import dataclasses

import pytest

from labkit.parts import Build, Diode, Drive, Fuse, Load, Mosfet, Motor, Pin, Supply


def sound_design() -> Drive:
    """Return the reference design. Its numbers are invented, and consistent with each other."""
    return Drive(
        supply=Supply(voltage="6 V", internal_resistance="0.3 ohm", brown_out="2.7 V", current_limit="4 A"),
        motor=Motor(
            resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", inductance="0.9 mH", inertia="1.2e-6 kg*m**2",
            friction_torque="0.594 mN*m", starting_torque="0.9 mN*m", rated_voltage="6 V",
        ),
        switch=Mosfet(
            on_resistance=(("2.5 V", "80 mOhm"), ("3.3 V", "45 mOhm"), ("10 V", "22 mOhm")), threshold="1.2 V",
            plateau_voltage="2.2 V", gate_charge="12 nC", gate_drain_charge="3 nC", breakdown_voltage="30 V",
            max_drain_current="10 A", junction_to_ambient="62 K/W",
        ),
        diode=Diode(forward_voltage="0.4 V", recovery_charge="0 C", max_current="1 A", reverse_voltage="40 V"),
        load=Load(fan="1.6e-9 N*m*s**2/rad**2"),
        pin=Pin(high_level="3.3 V", output_resistance="40 ohm", current_limit="20 mA"),
        build=Build(fuse=Fuse(rating="0.4 A"), start_ramp="1 s", duty_top=255),
    )  # fmt: skip


@pytest.fixture
def sound():
    """The reference design."""
    return sound_design()


def changed(drive, **places):
    """Return the drive with fields of its parts changed: ``changed(drive, pin={"high_level": "5 V"}, diode=None)``."""
    fields = {}
    for place, change in places.items():
        part = getattr(drive, place)
        fields[place] = dataclasses.replace(part, **change) if isinstance(change, dict) else change
    return dataclasses.replace(drive, **fields)
