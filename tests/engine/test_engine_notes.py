"""What a run does not show is said on its trace; what a control law is shown is the circuit as it is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Motor, Pin, Supply, desk_wind_tunnel
from labkit.simulation import always_on, pwm, sampled_gate, simulate
from labkit.units import Q_

pytestmark = pytest.mark.core


def _held(**changes):
    """A drive whose shaft is held."""
    motor = Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", inductance="0.9 mH", inertia="3.7e-6 kg*m**2",
                  starting_torque="1 N*m")  # fmt: skip
    given = {
        "supply": Supply(voltage="6 V"),
        "switch": Mosfet(on_resistance="50 mOhm", threshold="1.5 V", transconductance="9 A/V**2"),
    }
    return Drive(motor=motor, **(given | changes))


def test_a_law_sees_the_rail_as_the_last_stretch_left_it():
    """With the current in the diode the rail is the source's voltage; with the switch closed it is V - R·i."""
    drive = _held(supply=Supply(voltage="6 V", internal_resistance="1 ohm"))
    shown = []
    duties = iter([0.5, 1.0, 0.0, 0.5])

    def law(state):
        shown.append((state.current.magnitude, state.supply_voltage.magnitude))
        return next(duties)

    simulate(drive, sampled_gate(law, "0.2 ms"), "0.8 ms", samples=2)

    (none, first), (some, after_open), (most, after_closed), (left, after_off) = shown
    assert none == 0.0
    assert some > 0.05
    assert left > 0.05
    assert first == after_open == after_off == 6.0
    assert after_closed == pytest.approx(6.0 - most, rel=1e-12)


def test_an_unknown_saturation_current_is_said():
    """A MOSFET of one resistance only, or a bipolar without its base resistor, limits nothing: the trace says so."""
    for switch, missing in ((Mosfet(on_resistance="50 mOhm"), "Mosfet.threshold"), (Bipolar(), "Bipolar.base_resistor"),
                            (Mosfet(on_resistance="50 mOhm", threshold="1 V"), "Mosfet.transconductance")):  # fmt: skip
        (sentence,) = simulate(_held(switch=switch), always_on(), "1 ms", samples=2).notes
        assert "not known" in sentence
        assert missing in sentence
    assert simulate(desk_wind_tunnel(), always_on(), "1 ms", samples=2).notes == ()


def test_the_bend_of_the_channel_is_told_with_its_size():
    """Near saturation the drain is higher than shown by what the square law I = K·(2·(V_GS - V_th)·V - V²) asks for."""
    k, over = 0.9, 3.3 - 1.5
    switch = Mosfet(on_resistance=Q_(1 / (2 * k * over), "ohm"), threshold="1.5 V", transconductance="0.9 A/V**2")
    drive = _held(switch=switch, pull_down=None)

    trace = simulate(drive, always_on(), "20 ms", samples=2)

    current, shown = trace.current.magnitude[-1], trace.switch_voltage.magnitude[-1]
    real = brentq(lambda drain: k * (2 * over * drain - drain**2) - current, 0.0, over)
    (sentence,) = trace.notes
    assert f"up to {real - shown:.2g} V higher" in sentence
    assert f"{current / (k * over**2):.0%} of the {k * over**2:.3g} A" in sentence


def test_a_source_asked_for_more_than_it_gives_is_said():
    """A limit of 1 A on a stalled motor that takes about 2 A; none where it stays below."""
    weak, strong = (_held(supply=Supply(voltage="6 V", current_limit=limit)) for limit in ("1 A", "3 A"))

    (sentence,) = simulate(weak, always_on(), "20 ms", samples=2).notes
    assert "The source gives up to 2.11 A here, more than the 1.0 A" in sentence
    assert simulate(strong, always_on(), "20 ms", samples=2).notes == ()


def test_a_gate_that_gets_nothing_is_said():
    """A pin of 1.2 V does not turn a transistor with a threshold of 1.5 V on."""
    trace = simulate(_held(pin=Pin(high_level="1.2 V")), always_on(), "1 ms", samples=2)

    assert trace.current.magnitude[-1] == 0.0
    assert "never turns on" in trace.notes[0]


def test_a_bipolar_limits_at_its_base_current():
    """Gain times what the base gets: (V - V_BE)/(R_B + R_pin), less what the pull-down takes, V_BE/R."""
    switch = Bipolar(gain=50, base_resistor="1 kohm", base_emitter_voltage="0.7 V")
    pin = Pin(high_level="3.3 V", output_resistance="40 ohm")

    with_it, without = (
        simulate(_held(switch=switch, pin=pin, pull_down=down), always_on(), "50 ms", samples=2).current.magnitude[-1]
        for down in ("2 kohm", None)
    )

    assert without == pytest.approx(50 * 2.6 / 1040, rel=1e-12)
    assert with_it == pytest.approx(50 * (2.6 / 1040 - 0.7 / 2000), rel=1e-12)


def test_a_shaft_that_swings_through_zero_swings_on():
    """A light rotor on a strong field swings about rest as a pendulum does: every pass through zero goes on."""
    drive = Drive(
        supply=Supply(voltage="0.05 V", internal_resistance="200 ohm", capacitance="6 mF",
                      capacitor_resistance="2 mOhm"),
        motor=Motor(resistance="14 mOhm", emf_constant="235 V*s/rad", inductance="14 mH", inertia="1.2e-3 kg*m**2",
                    viscous_friction="2.1e-3 N*m*s/rad"),
        switch=Mosfet(on_resistance="7 mOhm"), diode=Diode(forward_voltage="300 V"),
    )  # fmt: skip
    trace = simulate(drive, always_on(), "0.1 s", speed="125 rad/s", samples=2)

    period = 2 * np.pi * np.sqrt(14e-3 * 1.2e-3) / 235
    assert trace.event("rotor reverses").count == pytest.approx(2 * 0.1 / period, rel=0.01)
    assert abs(trace.energy.imbalance.magnitude) < 1e-9 * 0.5 * 1.2e-3 * 125**2


def test_nonsense_sizes_end_in_a_sentence():
    """An inertia of 1e-300 kg·m² and a current of 1e300 A are answered, not waited for."""
    drive = desk_wind_tunnel()
    light = dataclasses.replace(
        drive, motor=dataclasses.replace(drive.motor, inertia=Q_(1e-300, "kg*m**2"), inductance=Q_(1e-30, "H"))
    )
    light = dataclasses.replace(light, load=dataclasses.replace(light.load, inertia="0 kg*m**2"))
    with pytest.raises(NoSolutionError, match="Check the prefixes"):
        simulate(light, pwm(0.4, "2 kHz"), "1 ms", samples=2)
    with pytest.raises(PartError, match=r"simulate\.current must be from -1e\+06 A to 1e\+06 A; got 1e\+300 A"):
        simulate(drive, always_on(), "1 s", current="1e300 A")
    with pytest.raises(PartError, match=r"simulate\.duration must be at most 1e\+07 periods"):
        simulate(drive, pwm(0.4, "2 kHz"), "1e30 s", samples=2)
    with pytest.raises(PartError, match=r"simulate\.duration must be no larger than 1e\+100 s; got 1e\+300 s"):
        simulate(drive, always_on(), "1e300 s", samples=2)
