"""Textbook cases of motors and generators, by the kit's own functions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from labkit.parts import Load, Motor
from labkit.simulation import (
    chopper,
    coast_down,
    coil_emf,
    generator_point,
    operating_point,
    reflected_load,
    reflected_mass,
    speed_response,
)
from labkit.symbolic import derivation
from labkit.units import Q_

pytestmark = pytest.mark.core


def steady(voltage, emf, resistance):
    """Return the state of a loop on a steady voltage against an EMF: a chopper that is always closed."""
    return chopper(voltage, emf, resistance, "1 mH", "1 kHz", 1)


def running(voltage, resistance, current):
    """Return a motor with k = 1 V·s/rad at the load that draws a current."""
    motor = Motor(resistance=resistance, emf_constant="1 V*s/rad")
    return operating_point(motor, voltage, Load(friction=Q_(current, "A") * Q_(1, "N*m/A")))


def test_starting_and_running_against_the_back_emf(published):
    """A coil of 0.400 Ω on 48.0 V, and 12.00 Ω on 120 V: what the back-EMF leaves of the starting current."""
    start, run = steady("48.0 V", "0 V", "0.400 ohm"), steady("48.0 V", "40.0 V", "0.400 ohm")
    published(
        "C01",
        {
            "I start": start.mean_current, "P start": start.winding_loss,
            "I run": run.mean_current, "P coil run": run.winding_loss,
        },
    )  # fmt: skip
    ohms = derivation("stall current").solve_for("resistance", voltage="120 V", stall_current="10.0 A")
    published("C02", {"R": ohms, "I run": steady("120 V", "100 V", ohms).mean_current})


def test_a_motor_at_two_loads(published):
    """120 V and 2.0 Ω in all at 10 A and 20 A: EMF, and the powers into heat, into the shaft and from the source."""
    one, two = running("120 V", "2.0 ohm", 10), running("120 V", "2.0 ohm", 20)
    published(
        "C05",
        {
            "E": one.emf, "Pm": one.shaft_power, "PR": one.copper_loss, "Ps": one.input_power,
            "E2": two.emf, "Pm2": two.shaft_power, "PR2": two.copper_loss, "Ps2": two.input_power,
        },
    )  # fmt: skip


def test_a_series_motor(published):
    """120 V through 80 and 10 Ω against a back-EMF of 75 V."""
    ohms = derivation("resistances in series").evaluate(resistance="80 ohm", other_resistance="10 ohm")
    run = steady("120 V", "75 V", ohms)
    published(
        "C06",
        {
            "I start": steady("120 V", "0 V", ohms).mean_current,
            "I": run.mean_current,
            "Ps": run.supply_current * Q_("120 V"),
            "Pm": run.mean_current * Q_("75 V"),
            "PR": run.winding_loss,
        },
    )


def test_a_permanent_magnet_motor_from_two_readings(published):
    """No load 50 V, 2100 rpm, 1.25 A gives k and the rotational loss; then 48 V at 1700 rpm."""
    reading = derivation("motor constant from a running reading")
    k = reading.evaluate(voltage="50 V", current="1.25 A", resistance="1.03 ohm", speed="2100 rpm")
    free = derivation("back-EMF").evaluate(emf_constant=k, speed="2100 rpm")
    rotational = free * Q_("1.25 A")

    def shaft(constant):
        emf = derivation("back-EMF").evaluate(emf_constant=constant, speed="1700 rpm")
        run = steady("48 V", emf, "1.03 ohm")
        return run.mean_current * emf - rotational

    published(
        "C07",
        {
            "K": k,
            "P rotational": rotational,
            "P shaft using rounded K=0.22": shaft("0.22 V*s/rad"),
            "P shaft using unrounded K": shaft(k),
        },
        {"P shaft using unrounded K": (0.03, "the source rounds K to 0.22; unrounded it is 267 W")},
    )
    assert shaft(k).to("W").magnitude == pytest.approx(267.1, abs=0.1)


def test_one_machine_as_motor_and_as_generator(published):
    """125 V at 3000 rpm and 0.02 Ω: 128 V drives it, 124 V loads it; then 21.9 kW in at 123 V."""
    k = derivation("back-EMF").solve_for("emf_constant", emf="125 V", speed="3000 rpm")
    motor = Motor(resistance="0.02 ohm", emf_constant=k)
    drives = steady("128 V", "125 V", "0.02 ohm")
    torque = derivation("torque").evaluate(emf_constant=k, current=drives.mean_current)
    at = operating_point(motor, "128 V", Load(friction=torque))
    loaded = generator_point(motor, "3000 rpm", Q_(124 / 50, "ohm"))
    slow = operating_point(
        motor, "123 V", Load(friction=derivation("torque").evaluate(emf_constant=k, current=Q_(21.9e3 / 123, "A")))
    )
    published(
        "C09",
        {
            "Ia motor": at.current, "P terminal": at.input_power, "P e.m.": at.shaft_power, "T": at.shaft_torque,
            "Ia gen": loaded.current, "P em gen": loaded.shaft_power, "T gen": loaded.shaft_torque,
            "speed Ex7.2": slow.speed,
        },
    )  # fmt: skip
    assert loaded.terminal_voltage.to("V").magnitude == pytest.approx(124)


def test_the_flux_of_a_motor_from_its_output(published):
    """100 V, 2 Ω, 1500 rpm, 200 W out and 15 W lost in turning: the k at which the motor does that, over 85."""
    omega = Q_("1500 rpm").to("rad/s").magnitude

    def short_of_speed(k):
        load = Load(friction=Q_(200 / omega, "N*m"))
        motor = Motor(resistance="2 ohm", emf_constant=Q_(k, "V*s/rad"), friction_torque=Q_(15 / omega, "N*m"))
        return float(operating_point(motor, "100 V", load).speed.magnitude) - omega

    k = brentq(short_of_speed, 0.5, 1.0)
    published(
        "C11",
        {"flux": Q_(k / 85, "Wb")},
        {"flux": (0.0012, "the source rounds the current before it takes the flux")},
    )


def test_a_motor_with_constant_friction(published):
    """24 V, 5.5 Ω, 0.5 V·s/rad and 0.1 N·m of friction (a public listing, of low authority)."""
    motor = Motor(resistance="5.5 ohm", emf_constant="0.5 V*s/rad", friction_torque="0.1 N*m")
    settled = operating_point(motor, "24 V")
    published("C12", {"I": settled.current, "w": settled.speed})


def test_the_modes_of_two_control_tutorials(published):
    """Gain, poles and settling time of a slow motor, and the poles of a fast one (those from memory)."""
    slow = Motor(
        resistance="1 ohm", inductance="0.5 H", emf_constant="0.01 V*s/rad", inertia="0.01 kg*m**2",
        viscous_friction="0.1 N*m*s/rad",
    )  # fmt: skip
    modes = speed_response(slow)
    published(
        "E01",
        {
            "steady speed": modes.gain * Q_("1 V"), "2 % settling time": modes.settling_time,
            "slow pole magnitude": modes.slow_rate, "fast pole magnitude": modes.fast_rate,
        },
    )  # fmt: skip
    fast = Motor(
        resistance="4 ohm", inductance="2.75 uH", emf_constant="0.0274 V*s/rad", inertia="3.2284e-6 kg*m**2",
        viscous_friction="3.5077e-6 N*m*s/rad",
    )  # fmt: skip
    modes = speed_response(fast)
    published(
        "E02",
        {"fast pole magnitude": modes.fast_rate, "slow pole magnitude": modes.slow_rate},
        {"fast pole magnitude": (1e-5, "recalled with five figures; its last two zeros are no digits")},
    )


def test_a_gear_and_a_hoist_at_the_motor(published):
    """A geared load of 10 kg·m² and 10 N·m, and 1000 kg lifted at 1.5 m/s, both at 1420 rpm."""
    gear = reflected_load("10 kg*m**2", "10 N*m", ratio=0.1, efficiency=0.9)
    hoist = reflected_mass("1000 kg", velocity="1.5 m/s", speed="1420 rpm", efficiency=0.85)
    published(
        "E05",
        {"J eq": Q_("0.2 kg*m**2") + gear.inertia + hoist.inertia, "T load": gear.torque + hoist.torque},
        {"T load": (4e-4, "the source takes 9.81 m/s² for g, the kit the standard 9.80665")},
    )


def test_turning_coils(published):
    """100 turns at 105 rad/s; and 200 turns a quarter turn in 15.0 ms, whose peak the source takes for the average."""
    coil = coil_emf(turns=100, field="0.4 T", area="20 cm**2", speed="105 rad/s")
    published("F01", {"peak emf": coil.peak})
    quarter = coil_emf(
        turns=200, field="0.80 T", area=Q_(np.pi * 5.00**2, "cm**2"), speed=Q_(np.pi / 2 / 15.0e-3, "rad/s")
    )
    published(
        "F03",
        {"peak emf (uniform rotation)": quarter.peak},
        {"peak emf (uniform rotation)": (0.005, "the source truncates 131.6")},
    )


def test_speeds_torques_and_coasting(published):
    """Accelerations, rpm against rad/s, torque from power, and a grindstone that friction brings to rest."""
    alpha = Q_("250 rpm") / Q_("5.00 s")
    stopped = Motor(resistance="1 ohm", emf_constant="1 V*s/rad", inertia="1 kg*m**2", friction_torque="87.3 N*m")
    published("K01", {"alpha": alpha, "t": coast_down(stopped, "250 rpm").time})

    unit = {"emf_constant": "1 V*s/rad", "speed": "300 rpm", "no_load_current": "0 A"}
    current = derivation("shaft power").solve_for("current", shaft_power="9.0e4 W", **unit)
    published("K03", {"T": derivation("torque").evaluate(emf_constant="1 V*s/rad", current=current)})

    omega = Q_("32.0 m/s") / Q_("0.420 m") * Q_(1, "rad")
    published("K04", {"w": omega, "n": omega})

    stone = Motor(
        resistance="1 ohm", emf_constant="1 V*s/rad", inertia=Q_(0.5 * 90.0 * 0.340**2, "kg*m**2"),
        friction_torque=Q_(0.20 * 20.0 * 0.340, "N*m"),
    )  # fmt: skip
    down = coast_down(stone, "90.0 rpm")
    published("K05", {"alpha": down.first_deceleration, "turns": down.angle})


def test_torque_and_emf_constant_in_makers_units(published):
    """1 lb·in/A is 11.83 V/krpm: one constant in two units."""
    ratio = Q_("1 lb-in/A").to("V*s/rad") / Q_("1 V/krpm").to("V*s/rad")
    published(
        "M02",
        {"divisor": ratio},
        {"divisor": (2e-4, "the maker's factor is rounded from its own chain of units; exactly it is 11.8317")},
    )
