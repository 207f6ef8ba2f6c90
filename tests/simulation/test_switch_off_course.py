"""Switching off in slow motion, held against the stepping engine, the closed form and the derivations."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.errors import NoSolutionError
from labkit.parts import Bipolar, desk_wind_tunnel
from labkit.simulation import always_off, simulate, switch_off_course, switching_times, turn_off_transient
from labkit.symbolic import derivation
from labkit.units import Q_

TUNNEL = desk_wind_tunnel()
BARE = dataclasses.replace(TUNNEL, diode=None)
#: The current goes over at once, as the engine has it.
SUDDEN = dataclasses.replace(TUNNEL, switch=dataclasses.replace(TUNNEL.switch, plateau_voltage=None))
SUDDEN_BARE = dataclasses.replace(SUDDEN, diode=None)
TIMES = Q_(np.geomspace(1e-8, 1e-3, 41), "s")

both = pytest.mark.parametrize("drive", [TUNNEL, BARE], ids=["diode", "none"])


@pytest.mark.parametrize("drive", [SUDDEN, SUDDEN_BARE], ids=["diode", "none"])
@pytest.mark.parametrize(("current", "speed"), [("0.45 A", "8000 rpm"), ("1.7 A", "0 rpm")])
def test_the_course_agrees_with_the_engine(drive, current, speed):
    """Same current and drain voltage as the event-driven run, whose rotor is free to slow down a little meanwhile."""
    course = switch_off_course(drive, TIMES, current, speed)
    trace = simulate(drive, always_off(), "1 ms", samples=TIMES, current=current, speed=speed)

    np.testing.assert_allclose(course.current.m_as("A"), trace.current.m_as("A"), atol=1e-3)
    np.testing.assert_allclose(course.switch_voltage.m_as("V"), trace.switch_voltage.m_as("V"), atol=5e-3)
    np.testing.assert_allclose(course.diode_current.m_as("A"), trace.diode_current.m_as("A"), atol=1e-3)


@both
def test_the_end_agrees_with_the_closed_form(drive):
    """Long after, every energy is the one that the transient adds up, and the motor shows its EMF alone."""
    end = switch_off_course(drive, "20 ms", "0.45 A", "8000 rpm")
    whole = turn_off_transient(drive, "0.45 A", "8000 rpm")

    pairs = (("diode_energy", "diode_energy"), ("avalanche_energy", "avalanche_energy"),
             ("winding_energy", "winding_loss"), ("shaft_energy", "shaft_work"))  # fmt: skip
    for mine, other in pairs:
        assert getattr(end, mine).m_as("J") == pytest.approx(getattr(whole, other).m_as("J"), rel=1e-12)
    assert end.decay_time.m_as("s") == pytest.approx(whole.decay_time.m_as("s"), rel=1e-12)
    assert end.current.magnitude == end.kick_voltage.magnitude == end.stored_energy.magnitude == 0.0
    assert end.motor_voltage.m_as("V") == pytest.approx(5.4e-3 * 8000 * 2 * np.pi / 60)
    assert end.switch_voltage.m_as("V") == pytest.approx(6.0 - 5.4e-3 * 8000 * 2 * np.pi / 60)


@both
def test_no_energy_is_lost_on_the_way(drive):
    """At every moment: stored at first and fed since = still stored, and turned into heat or shaft work."""
    course = switch_off_course(drive, TIMES, "1.2 A", "3000 rpm")
    there = (
        course.stored_energy + course.winding_energy + course.diode_energy + course.avalanche_energy
        + course.shaft_energy + course.rest_energy - course.supplied_energy
    )  # fmt: skip

    np.testing.assert_allclose(there.m_as("J"), 0.5 * 0.9e-3 * 1.2**2, rtol=1e-12)


def test_the_current_is_the_derived_one():
    """The derivation's curve, an own route, gives the current 40 µs after the diode has taken over."""
    swing = switching_times(TUNNEL)[1]
    course = switch_off_course(TUNNEL, swing + Q_(40, "us"), "0.45 A", "8000 rpm")
    derived = derivation("freewheel current").evaluate(
        time="40 us", current="0.45 A", diode_drop="0.4 V", resistance="2.8 ohm", inductance="0.9 mH",
        emf=course.emf,
    )  # fmt: skip

    assert course.current.m_as("A") == pytest.approx(derived.m_as("A"), rel=1e-9)


@both
def test_the_kick_is_the_inductances_own_voltage(drive):
    """L·di/dt by differences of the current: independent of the loop's equation."""
    around = Q_(np.array([4.999e-6, 5.0e-6, 5.001e-6]), "s")
    course = switch_off_course(drive, around, "1 A", "2000 rpm")
    amps = course.current.m_as("A")

    assert course.kick_voltage[1].m_as("V") == pytest.approx(0.9e-3 * (amps[0] - amps[2]) / 2e-9, rel=1e-4)


@both
def test_the_drain_swings_in_the_time_of_the_gates_charge(drive):
    """Half of the swing time, half of the way; until its end the transistor carries the whole current."""
    swing = switching_times(drive)[1]
    course = switch_off_course(drive, Q_([0.0, 0.5 * swing.m_as("s"), swing.m_as("s")], "s"), "0.45 A", "8000 rpm")
    drain = course.switch_voltage.m_as("V")

    assert drain[1] == pytest.approx((drain[0] + drain[2]) / 2)
    assert drain[2] == pytest.approx(6.4 if drive.diode else 30.0)
    np.testing.assert_array_equal(course.switch_current[:2].m_as("A"), [0.45, 0.45])


def test_a_jammed_motor_kicks_and_generates_nothing():
    """No EMF, and a kick that outweighs diode and winding: 0.4 V + 2.8 Ω · 1.7 A = 5.16 V at first, by hand."""
    course = switch_off_course(SUDDEN, "0 s", "1.7 A")

    assert course.emf.magnitude == 0.0
    assert course.kick_voltage.m_as("V") == pytest.approx(5.16)


def test_an_emf_above_the_supply_is_refused():
    """Then current would flow back through the transistor's body diode, which this course leaves out."""
    with pytest.raises(NoSolutionError, match="something else drives the shaft"):
        switch_off_course(TUNNEL, "1 us", "0.4 A", "12000 rpm")


def test_a_switch_without_gate_charge_opens_at_once():
    """A bipolar transistor's swing is not known from a gate charge, so none is drawn."""
    drive = dataclasses.replace(TUNNEL, switch=Bipolar(), diode=TUNNEL.diode)

    assert switch_off_course(drive, "1 us", "0.2 A").swing_time.magnitude == 0.0
