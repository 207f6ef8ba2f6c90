"""The engine against mpmath, scipy's matrix exponential and lsim, python-control, and under random drives."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy import signal
from scipy.linalg import expm
from scipy.optimize import brentq

from labkit.parts import Diode, Drive, Load, Mosfet, Motor, Supply
from labkit.simulation import always_on, pwm, simulate
from labkit.units import Q_

pytestmark = pytest.mark.core


def powers(low, high):
    """Draw numbers spread evenly over decades."""
    return st.floats(low, high).map(lambda exponent: 10.0**exponent)


def _drive(*, inductance, inertia, friction=0.0, volts=6.0, resistance=2.8, k=5.4e-3, viscous=0.0, on=0.05, source=0.6,
           capacitance=None, esr=0.0, fan=0.0, drop=0.4, slope=0.0):  # fmt: skip
    return Drive(
        supply=Supply(voltage=Q_(volts, "V"), internal_resistance=Q_(source, "ohm"),
                      capacitor_resistance=Q_(esr, "ohm"),
                      capacitance=None if capacitance is None else Q_(capacitance, "F")),
        motor=Motor(resistance=Q_(resistance, "ohm"), emf_constant=Q_(k, "V*s/rad"), inductance=Q_(inductance, "H"),
                    inertia=Q_(inertia, "kg*m**2"), friction_torque=Q_(friction, "N*m"),
                    viscous_friction=Q_(viscous, "N*m*s/rad")),
        switch=Mosfet(on_resistance=Q_(on, "ohm"), breakdown_voltage=Q_(1e3 * volts, "V")),
        diode=Diode(forward_voltage=Q_(drop, "V"), slope_resistance=Q_(slope, "ohm")),
        load=Load(fan=Q_(fan, "N*m*s**2/rad**2")),
    )  # fmt: skip


# --- mpmath: PWM with a diode that may stop, at fifty digits ----------------------------------------


def _flow(a, b, x, time):
    """The state after *time* of x' = a·x + b, from the two eigenvalues; fifty digits bear their coming close."""
    slope = [a[0, 0] * x[0] + a[0, 1] * x[1] + b[0], a[1, 0] * x[0] + a[1, 1] * x[1] + b[1]]
    middle, product = (a[0, 0] + a[1, 1]) / 2, a[0, 0] * a[1, 1] - a[0, 1] * a[1, 0]
    root = mpmath.sqrt(mpmath.mpc(middle**2 - product))
    one, two = middle - root, middle + root
    grown = [(mpmath.exp(rate * time) - 1) / rate for rate in (one, two)]
    between = (grown[1] - grown[0]) / (two - one)
    turned = [a[0, 0] * slope[0] + a[0, 1] * slope[1], a[1, 0] * slope[0] + a[1, 1] * slope[1]]
    return [mpmath.re(x[n] + grown[0] * slope[n] + between * (turned[n] - one * slope[n])) for n in (0, 1)]


def _reference(inductance, inertia, friction, frequency, duty, *, periods, x, source=0.6, resistance=2.8, k=5.4e-3):
    """The state after *periods*, for a shaft that turns forward under constant friction; None where it would not do."""
    inductance, inertia, k = mpmath.mpf(inductance), mpmath.mpf(inertia), mpmath.mpf(k)

    def loop(ohms, volts):
        a = mpmath.matrix([[-ohms / inductance, -k / inductance], [k / inertia, 0]])
        return a, [volts / inductance, -mpmath.mpf(friction) / inertia]

    closed = loop(mpmath.mpf(resistance) + mpmath.mpf(source) + mpmath.mpf(0.05), mpmath.mpf(6))
    opened = loop(mpmath.mpf(resistance), -mpmath.mpf(0.4))
    on, off = mpmath.mpf(duty) / mpmath.mpf(frequency), (1 - mpmath.mpf(duty)) / mpmath.mpf(frequency)
    x = [mpmath.mpf(part) for part in x]
    for _ in range(periods):
        x = _flow(*closed, x, on)
        if x[0] < 0:
            return None  # this reference has no body diode
        marks = [off / 2 ** mpmath.mpf(n) for n in range(60, -1, -2)]
        gone = next((mark for mark in marks if _flow(*opened, x, mark)[0] < 0), None)
        if gone is None:
            x = _flow(*opened, x, off)
        else:
            stop = _stop(opened, x, gone)
            speed = _flow(*opened, x, stop)[1]
            x = [mpmath.mpf(0), speed - mpmath.mpf(friction) / inertia * (off - stop)]
    return [float(part) for part in x]


def _stop(loop, x, longest):
    """When the falling current reaches zero: the bracket shrinks by false position and halving in turn."""
    low, high = mpmath.mpf(0), longest
    at_low, at_high = x[0], _flow(*loop, x, longest)[0]
    for _ in range(120):
        for middle in (low + (high - low) * at_low / (at_low - at_high), (low + high) / 2):
            value = _flow(*loop, x, middle)[0]
            if value > 0:
                low, at_low = middle, value
            else:
                high, at_high = middle, value
            if abs(value) < mpmath.mpf(10) ** -30 * x[0] or high - low < longest * mpmath.mpf(10) ** -25:
                return middle
    return low


def _compare_with_mpmath(inductance, inertia, frequency, duty):
    """Return the largest difference after five periods, over the largest value."""
    periods, start = 5, (0.1, 400.0)
    friction = min(5e-4, 0.01 * inertia * frequency * 400.0)  # takes a twentieth of the speed at most
    with mpmath.workdps(50):
        want = _reference(inductance, inertia, friction, frequency, duty, periods=periods, x=start)
    assume(want is not None)
    trace = simulate(_drive(inductance=inductance, inertia=inertia, friction=friction), pwm(duty, Q_(frequency, "Hz")),
                     Q_(periods / frequency, "s"), current="0.1 A", speed="400 rad/s", samples=9)  # fmt: skip
    # the reference has no body diode and turns forward
    assume(all(trace.event(name) is None for name in ("current reverses", "rotor reverses", "rotor stops")))
    have = trace.current.magnitude[-1], trace.speed.magnitude[-1]
    largest = max(0.1, np.max(trace.current.magnitude)), 400.0
    return max(abs(a - b) / size for a, b, size in zip(have, want, largest, strict=True))


@settings(max_examples=25, deadline=None, derandomize=True)
# the switch opens on a few microamperes, gone at once, while all has settled by the end of the long off time: seen from
# its two ends that stretch is flat
@example(10**-5.6875, 1e-8, 10**0.5, 0.125)
@given(powers(-6, 0), powers(-8, -2), powers(0.5, 6.5), st.floats(0.05, 0.95))
def test_agrees_with_mpmath_over_six_decades(inductance, inertia, frequency, duty):
    """Over six decades of L, J and f, five periods agree with fifty digits to 1e-10 of the largest value."""
    assert _compare_with_mpmath(inductance, inertia, frequency, duty) < 1e-10


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(powers(-6, 0), powers(-8, -2), powers(0.5, 6.5), st.floats(0.05, 0.95))
def test_agrees_with_mpmath_over_six_decades_at_length(inductance, inertia, frequency, duty):
    """The same, for three hundred drives."""
    assert _compare_with_mpmath(inductance, inertia, frequency, duty) < 1e-10


@pytest.mark.parametrize(
    ("inductance", "inertia"),
    [(1e-9, 3.7e-6), (0.9e-3, 1e-2), (1.0, 1e-9), (0.9e-3, 4 * 5.4e-3**2 * 0.9e-3 / 3.45**2)],
    ids=["almost no inductance", "almost no acceleration", "oscillating", "two equal rates"],
)
def test_stiff_corners(inductance, inertia):
    """Where rates lie nine decades apart, oscillate or coincide, the figures hold as well."""
    with mpmath.workdps(50):
        want = _reference(inductance, inertia, 0.0, 1e3, 1.0, periods=2, x=(0.0, 10.0))
    trace = simulate(_drive(inductance=inductance, inertia=inertia), always_on(), "2 ms", speed="10 rad/s", samples=2)

    assert trace.current.magnitude[-1] == pytest.approx(want[0], rel=1e-10, abs=1e-11)
    assert trace.speed.magnitude[-1] == pytest.approx(want[1], rel=1e-10)


# --- the buffer capacitor: scipy's matrix exponential, and python-control ---------------------------


@settings(max_examples=40, deadline=None, derandomize=True)
@given(powers(-5, -1), powers(-8, -3), powers(-6, -2), st.sampled_from([0.0, 0.05, 1.0]), powers(-5, -2))
def test_capacitor_circuit_is_the_matrix_exponential(inductance, inertia, capacitance, esr, duration):
    """Current, speed and capacitor voltage, all coupled, are e^(At) acting on the state: scipy's agrees to 1e-9."""
    k, ohms, source = 5.4e-3, 2.85, 0.6
    behind = source + esr
    a = np.array([
        [-(ohms + source * esr / behind) / inductance, -k / inductance, source / behind / inductance],
        [k / inertia, -1e-7 / inertia, 0.0],
        [-source / behind / capacitance, 0.0, -1 / (behind * capacitance)],
    ])  # fmt: skip
    b = np.array([6 * esr / behind / inductance, 0.0, 6 / behind / capacitance])
    block = np.zeros((4, 4))
    block[:3, :3], block[:3, 3] = a, b
    want = (expm(block * duration) @ [0.0, 100.0, 5.0, 1.0])[:3]

    drive = _drive(inductance=inductance, inertia=inertia, capacitance=capacitance, esr=esr, viscous=1e-7)
    trace = simulate(drive, always_on(), Q_(duration, "s"), speed="100 rad/s", capacitor_voltage="5 V", samples=3)

    have = trace.current.magnitude[-1], trace.speed.magnitude[-1], trace.capacitor_voltage.magnitude[-1]
    for one, other, size in zip(have, want, (np.max(np.abs(trace.current.magnitude)), 100.0, 6.0), strict=True):
        assert abs(one - other) < 1e-9 * size
    assert abs(trace.energy.imbalance.magnitude) < 1e-9 * (abs(trace.energy.source.magnitude) + 0.5 * inertia * 1e4)


def test_a_current_that_turns_back_inside_a_stretch_is_found():
    """As a full capacitor empties, the faster motor drives the current back through zero: expm says when."""
    k, ohms, source, esr, inductance, inertia, capacitance = 5.4e-3, 2.85, 0.6, 0.05, 0.9e-3, 1e-4, 220e-6
    behind = source + esr
    block = np.zeros((4, 4))
    block[:3] = [
        [-(ohms + source * esr / behind) / inductance, -k / inductance, source / behind / inductance,
         6 * esr / behind / inductance],
        [k / inertia, 0.0, 0.0, 0.0],
        [-source / behind / capacitance, 0.0, -1 / (behind * capacitance), 6 / behind / capacitance],
    ]  # fmt: skip
    start = np.array([0.0, 1200.0, 8.0, 1.0])
    instants = np.linspace(0.0, 2e-3, 2001)
    currents = np.array([(expm(block * instant) @ start)[0] for instant in instants])
    first = instants[1:][currents[1:] < 0.0][0]
    crossing = brentq(lambda instant: (expm(block * instant) @ start)[0], first - 1e-6, first)
    assert np.max(currents) > 0.05

    drive = _drive(inductance=inductance, inertia=inertia, capacitance=capacitance, esr=esr)
    trace = simulate(drive, always_on(), "2 ms", speed="1200 rad/s", capacitor_voltage="8 V", samples=2)

    assert trace.event("current reverses").count == 1
    assert trace.event("current reverses").first.magnitude == pytest.approx(crossing, rel=1e-9)


def test_a_square_wave_drives_the_linear_system_that_scipy_steps():
    """Without diode drop and friction, in continuous conduction, PWM is a square voltage on a linear system: lsim's."""
    k, ohms, inductance, inertia, viscous = 5.4e-3, 2.85, 0.9e-3, 3.7e-6, 1e-6
    system = signal.StateSpace([[-ohms / inductance, -k / inductance], [k / inertia, -viscous / inertia]],
                               [[1 / inductance], [0.0]], np.eye(2), np.zeros((2, 1)))  # fmt: skip
    frequency, periods, steps = 20e3, 200, 10
    times = np.arange(periods * steps + 1) / (frequency * steps)
    volts = np.where(np.arange(len(times)) % steps < 6, 6.0, 0.0)
    _, want, _ = signal.lsim(system, volts, times, interp=False)

    # the diode's slope stands in for the channel, so that the loop is one linear system throughout
    drive = _drive(inductance=inductance, inertia=inertia, viscous=viscous, source=0.0, drop=0.0, slope=0.05)
    trace = simulate(drive, pwm(0.6, Q_(frequency, "Hz")), Q_(times[-1], "s"), samples=Q_(times, "s"))

    assert trace.event("diode stops") is None
    assert np.max(np.abs(trace.current.magnitude - want[:, 0])) < 1e-9 * np.max(want[:, 0])
    assert np.max(np.abs(trace.speed.magnitude - want[:, 1])) < 1e-9 * np.max(want[:, 1])


def test_step_response_is_the_one_of_the_transfer_function():
    """Speed after a voltage step is k/((sL + R)(sJ + B) + k²) acting on it, as python-control computes it."""
    control = pytest.importorskip("control", reason="python-control is for Python 3.11 here")
    k, ohms, inductance, inertia, viscous = 5.4e-3, 3.45, 0.9e-3, 3.7e-6, 1e-6
    plant = control.tf([k], [inductance * inertia, ohms * inertia + inductance * viscous, ohms * viscous + k**2])
    times = np.linspace(0.0, 0.5, 51)
    want = control.step_response(plant, times).outputs * 6.0

    trace = simulate(_drive(inductance=inductance, inertia=inertia, viscous=viscous), always_on(), "0.5 s", samples=51)

    assert np.max(np.abs(trace.speed.magnitude - want)) < 1e-8 * np.max(want)


@pytest.mark.parametrize("esr", [0.0, 0.05])
def test_buffered_pwm_agrees_with_an_ode_solver(oracle, esr):
    """With a buffer capacitor, edges and the diode's stop included, DOP853 agrees to 1e-8 of the largest value."""
    circuit = oracle.Circuit(
        voltage=6, source_resistance=0.6, resistance=2.8, inductance=0.9e-3, emf_constant=5.4e-3, inertia=3.7e-6,
        friction=0.594e-3, capacitance=220e-6, capacitor_resistance=esr,
    )  # fmt: skip
    edges = [((n + part) / 2e3, closed) for n in range(30) for part, closed in ((0.3, True), (1.0, False))]
    want = oracle.integrate(circuit, edges, (0.0, 300.0, 5.5), rtol=1e-12, atol=1e-13)
    drive = _drive(inductance=0.9e-3, inertia=3.7e-6, friction=0.594e-3, capacitance=220e-6, esr=esr)

    trace = simulate(drive, pwm(0.3, "2 kHz"), "15 ms", speed="300 rad/s", capacitor_voltage="5.5 V",
                     samples=Q_([0.0, *(end for end, _ in edges)], "s"))  # fmt: skip

    have = trace.current.magnitude, trace.speed.magnitude, trace.capacitor_voltage.magnitude
    for one, other in zip(have, want.T, strict=True):
        assert np.max(np.abs(one - other)) < 1e-8 * np.max(np.abs(other))
    assert trace.event("diode stops").count == 30


# --- properties -------------------------------------------------------------------------------------

drives = st.builds(
    _drive,
    inductance=powers(-5, -2), inertia=powers(-7, -4), friction=st.sampled_from([0.0, 1e-4, 5e-4]),
    source=st.sampled_from([0.0, 0.6, 3.0]), capacitance=st.sampled_from([None, None, 1e-5, 1e-3]),
    esr=st.sampled_from([0.0, 0.1]), fan=st.sampled_from([0.0, 2e-9]),
)  # fmt: skip


@settings(max_examples=40, deadline=None, derandomize=True)
@given(drives, st.floats(0.0, 1.0), powers(2, 4.5), st.floats(-300.0, 900.0))
def test_energy_balances_on_random_drives(drive, duty, frequency, speed):
    """All energy is accounted for, to 1e-9 of what is turned over and the stated error of a fan."""
    trace = simulate(
        drive, pwm(duty, Q_(frequency, "Hz")), Q_(20 / frequency, "s"), speed=Q_(speed, "rad/s"), samples=2
    )
    energy = trace.energy
    turned_over = abs(energy.source.magnitude) + abs(energy.stored_in_rotation.magnitude) + energy.friction.magnitude
    start = 0.5 * drive.motor.inertia.magnitude * speed**2

    assert abs(energy.imbalance.magnitude) <= 1e-9 * turned_over + 1e-14 * start + trace.energy_error.magnitude
    for heat in (energy.winding, energy.switch, energy.diode, energy.friction, energy.source_resistance):
        assert heat.magnitude >= -1e-14 * turned_over


@settings(max_examples=15, deadline=None, derandomize=True)
@given(powers(-5, -2), powers(-7, -4), st.floats(0.1, 0.9), st.floats(0.2, 5.0))
def test_scaling_volts_scales_currents(inductance, inertia, duty, factor):
    """Without friction and drops the circuit is linear: a factor on all voltages is one on all currents and speeds."""
    one = simulate(_drive(inductance=inductance, inertia=inertia, drop=0.0), pwm(duty, "2 kHz"), "10 ms", samples=21)
    other = simulate(_drive(inductance=inductance, inertia=inertia, drop=0.0, volts=6.0 * factor), pwm(duty, "2 kHz"),
                     "10 ms", samples=21)  # fmt: skip

    assert other.current.magnitude == pytest.approx(factor * one.current.magnitude, rel=1e-9, abs=1e-12)
    assert other.speed.magnitude == pytest.approx(factor * one.speed.magnitude, rel=1e-9, abs=1e-12)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(drives, powers(-1, 1))
def test_scaling_time_scales_time(drive, factor):
    """L, J and C times a factor, frequency over it: the same run, so many times slower."""
    motor, supply = drive.motor, drive.supply
    slow = Drive(
        supply=Supply(voltage=supply.voltage, internal_resistance=supply.internal_resistance,
                      capacitor_resistance=supply.capacitor_resistance,
                      capacitance=None if supply.capacitance is None else supply.capacitance * factor),
        motor=Motor(resistance=motor.resistance, emf_constant=motor.emf_constant, inductance=motor.inductance * factor,
                    inertia=motor.inertia * factor, friction_torque=motor.friction_torque),
        switch=drive.switch, diode=drive.diode,
        load=Load(fan=drive.load.fan),
    )  # fmt: skip
    one = simulate(drive, pwm(0.4, "2 kHz"), "10 ms", samples=21)
    other = simulate(slow, pwm(0.4, Q_(2e3 / factor, "Hz")), Q_(0.01 * factor, "s"), samples=21)
    slack = 1e-7 if drive.load.fan.magnitude else 1e-9

    assert np.max(np.abs(other.current.magnitude - one.current.magnitude)) <= slack  # of about an ampere
    assert np.max(np.abs(other.speed.magnitude - one.speed.magnitude)) <= slack * np.max(one.speed.magnitude) + 1e-12


@settings(max_examples=15, deadline=None, derandomize=True)
@given(drives, st.floats(0.05, 0.9), st.floats(0.01, 0.1))
def test_more_duty_never_turns_slower(drive, duty, more):
    """A larger duty leaves the shaft at least as fast at every period's end."""
    one, other = (
        simulate(drive, pwm(part, "2 kHz"), "20 ms", samples=41).speed.magnitude for part in (duty, duty + more)
    )

    assert np.all(other >= one - 1e-6 * np.max(other))


def test_no_inductance_is_the_limit_of_little():
    """L → 0: the current follows (V - k·ω)/R at once, and the speed rises with J·R/k² alone."""
    trace = simulate(_drive(inductance=1e-9, inertia=3.7e-6), always_on(), "0.5 s", samples=6)
    rise = 6 / 5.4e-3 * (1 - np.exp(-trace.time.magnitude * 5.4e-3**2 / (3.7e-6 * 3.45)))

    assert trace.speed.magnitude == pytest.approx(rise, rel=1e-6)


def test_fast_switching_is_the_limit_of_a_mean_voltage():
    """As f → ∞, without drops, PWM is a steady D·V behind the motor's mean resistance."""
    drive = _drive(inductance=0.9e-3, inertia=3.7e-6, drop=0.0, source=0.0, on=1e-9)
    trace = simulate(drive, pwm(0.4, "1 MHz"), "20 ms", samples=3)
    steady = simulate(
        _drive(inductance=0.9e-3, inertia=3.7e-6, source=0.0, on=1e-9, volts=2.4), always_on(), "20 ms", samples=3
    )

    assert trace.speed.magnitude == pytest.approx(steady.speed.magnitude, rel=1e-3)


def test_unit_spelling_never_changes_the_answer():
    """2 kHz or 2000 Hz, 3000 rpm or its rad/s: the same run."""
    drive = _drive(inductance=0.9e-3, inertia=3.7e-6)
    one = simulate(drive, pwm(0.4, "2 kHz"), "10 ms", speed="3000 rpm", samples=3)
    other = simulate(drive, pwm(Q_("40 %"), "2000 Hz"), "0.01 s", speed=Q_(math.pi * 100, "rad/s"), samples=3)

    assert one.speed.magnitude == pytest.approx(other.speed.magnitude, rel=1e-13)
