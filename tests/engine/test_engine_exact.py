"""The exact engine against solve_ivp with events, and its account of the energy."""

from __future__ import annotations

import numpy as np
import pytest

from labkit.parts import Diode, Drive, Load, Mosfet, Motor, Supply
from labkit.simulation import pwm, simulate
from labkit.units import Q_

pytestmark = pytest.mark.core


def _drive(*, fan="0 N*m*s**2/rad**2", viscous="1e-7 N*m*s/rad"):
    return Drive(
        supply=Supply(voltage="6 V", internal_resistance="0.6 ohm"),
        motor=Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", inductance="0.9 mH", inertia="1.2e-6 kg*m**2",
                    friction_torque="0.594 mN*m", viscous_friction=viscous, brush_drop="0.1 V"),
        switch=Mosfet(on_resistance="50 mOhm", breakdown_voltage="30 V"),
        diode=Diode(forward_voltage="0.4 V", slope_resistance="0.1 ohm"),
        load=Load(inertia="2.5e-6 kg*m**2", fan=fan),
    )  # fmt: skip


@pytest.fixture
def circuit(oracle):
    """The same drive in floats, for the oracle."""
    return oracle.Circuit(
        voltage=6, source_resistance=0.6, resistance=2.8, inductance=0.9e-3, emf_constant=5.4e-3, inertia=3.7e-6,
        friction=0.594e-3, viscous=1e-7, brush_drop=0.1, on_resistance=0.05, diode_drop=0.4, diode_resistance=0.1,
    )  # fmt: skip


@pytest.mark.parametrize(("duty", "frequency", "speed"), [(0.4, 2e3, 100.0), (0.3, 500.0, 300.0), (0.8, 20e3, 400.0)])
def test_pwm_agrees_with_an_ode_solver(oracle, circuit, duty, frequency, speed):
    """Current and speed at every edge agree with tightly set DOP853 to 1e-9 of the largest, diode stopping or not."""
    periods = 40
    edges = [((n + part) / frequency, closed) for n in range(periods) for part, closed in ((duty, True), (1.0, False))]
    want = oracle.integrate(circuit, edges, (0.2, speed, 0.0), rtol=1e-12, atol=1e-13)
    times = Q_([0.0, *(end for end, _ in edges)], "s")

    trace = simulate(_drive(), pwm(duty, f"{frequency} Hz"), f"{periods / frequency} s", current="0.2 A",
                     speed=Q_(speed, "rad/s"), samples=times)  # fmt: skip

    assert np.max(np.abs(trace.current.magnitude - want[:, 0])) < 1e-9 * np.max(want[:, 0])
    assert np.max(np.abs(trace.speed.magnitude - want[:, 1])) < 1e-9 * np.max(want[:, 1])
    assert trace.speed_error.magnitude == 0.0


@pytest.mark.parametrize("duty", [0.0, 0.1, 0.4, 0.9, 1.0])
def test_energy_balances(duty):
    """What the source gave is all accounted for, each term integrated by itself, to 1e-9 of what was turned over."""
    trace = simulate(_drive(), pwm(duty, "2 kHz"), "0.2 s", speed="2000 rpm", current="0.3 A", samples=2)
    energy = trace.energy
    turned_over = energy.source + max(-energy.stored_in_rotation, Q_("0 J"))

    assert abs(energy.imbalance) < 1e-9 * turned_over
    assert energy.winding.magnitude > 0.0
    assert energy.friction.magnitude > 0.0
