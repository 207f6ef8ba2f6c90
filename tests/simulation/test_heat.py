"""Hot parts: what a person may ask, and what they are told."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Mosfet, Motor, desk_wind_tunnel
from labkit.simulation import (
    THERMAL_CLASSES,
    duty_cycle_temperature,
    heat_sink_resistance,
    intermittent_winding_temperature,
    junction_temperature,
    max_dissipation,
    pwm_operating_point,
    steady_temperature,
    time_to_winding_limit,
    winding_temperature,
    winding_warming,
)
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
MOTOR = TUNNEL.motor
MOSFET = Mosfet(on_resistance="0.2 ohm", junction_to_ambient="62 K/W", max_junction_temperature=Q_(150, "degC"))


def _kelvins(quantity):
    return quantity.to("kelvin").magnitude


def test_the_junction_and_its_own_resistance_agree():
    """P = I²·R(T) and T = T_a + R_th·P hold together; the margin is what is left to the sheet's limit."""
    warm = junction_temperature(MOSFET, "1.5 A", ambient=Q_(40, "degC"), other_loss="0.1 W")
    power = 1.5**2 * 0.2 * (1 + 0.005 * (float(_kelvins(warm.temperature)) - 298.15)) + 0.1

    assert float(warm.power.magnitude) == pytest.approx(power, rel=1e-12)
    assert float(warm.rise.magnitude) == pytest.approx(62 * power, rel=1e-12)
    assert float(warm.margin.magnitude) == pytest.approx(110 - 62 * power, rel=1e-12)
    assert float(warm.runaway_current.magnitude) == pytest.approx((62 * 0.2 * 0.005) ** -0.5)


def test_a_heat_sink_takes_the_place_of_the_free_air():
    """The same current that runs away in free air settles on a heat sink."""
    with pytest.raises(NoSolutionError, match=r"Thermal runaway: from 4\.02 A on"):
        junction_temperature(MOSFET, Q_([1.0, 4.1], "A"))

    assert float(junction_temperature(MOSFET, "4.1 A", thermal_resistance="10 K/W").margin.magnitude) > 80


def test_a_drive_settles_current_and_temperature_together():
    """The temperature is the one that its own losses make, at every duty of an array."""
    duty = np.array([0.3, 0.6, 1.0])
    hot = junction_temperature(TUNNEL, duty=duty, frequency="2 kHz", ambient=Q_(60, "degC"))
    for share, temperature in zip(duty, hot.temperature, strict=True):
        point = pwm_operating_point(TUNNEL, float(share), "2 kHz", junction_temperature=temperature)
        again = steady_temperature(point.switch_loss, "62 K/W", ambient=Q_(60, "degC"))
        assert_quantity_close(temperature.to("kelvin"), again.to("kelvin"), relative=1e-10)


def test_a_stalled_drive_by_its_current():
    """Of a drive with a given current it is its transistor, at its real gate voltage, in its own ambient."""
    by_drive = junction_temperature(TUNNEL, "1.6 A")
    by_part = junction_temperature(TUNNEL.switch, "1.6 A", gate_voltage=Q_(3.3 * 10_000 / 10_190, "V"))

    assert_quantity_close(by_part.temperature.to("kelvin"), by_drive.temperature.to("kelvin"), relative=1e-12)


def test_parts_without_an_on_resistance():
    """A bipolar transistor makes V_CE·I, a diode V_F·I + r·I²; neither runs away by resistance."""
    darlington = junction_temperature(Bipolar(saturation_voltage="1.5 V", junction_to_ambient="80 K/W"), "0.5 A")
    diode = junction_temperature(
        Diode(forward_voltage="0.4 V", slope_resistance="0.1 ohm", junction_to_ambient="50 K/W"), "1 A"
    )

    assert float(darlington.power.magnitude) == pytest.approx(0.75)
    assert float(diode.rise.magnitude) == pytest.approx(25.0)
    assert darlington.runaway_current is diode.on_resistance is None


def test_the_winding_by_current_and_by_voltage():
    """The voltage that a current needs at the hot winding leads back to the same temperature."""
    by_current = winding_temperature(MOTOR, current="1.2 A")
    by_voltage = winding_temperature(MOTOR, voltage=Q_(1.2, "A") * by_current.resistance)

    assert_quantity_close(by_current.winding.to("kelvin"), by_voltage.winding.to("kelvin"), relative=1e-12)
    assert_quantity_close(by_current.housing.to("kelvin"), by_voltage.housing.to("kelvin"), relative=1e-12)
    assert float(_kelvins(by_current.winding) - _kelvins(by_current.housing)) == pytest.approx(
        8 * float(by_current.power.magnitude)
    )


def test_a_stalled_winding_has_a_time_and_a_current_a_limit():
    """The time to class B from cold is that to its 130 °C; a small current never gets there; a large one runs away."""
    to_class_b, own, to_class_a = (
        time_to_winding_limit(MOTOR, voltage="6 V", limit=limit)
        for limit in (THERMAL_CLASSES["B"], None, THERMAL_CLASSES["A"])
    )
    assert to_class_b == own > to_class_a
    assert time_to_winding_limit(MOTOR, current="0.5 A").magnitude == np.inf
    with pytest.raises(NoSolutionError, match=r"Thermal runaway: from 1\.68 A on, the winding"):
        winding_temperature(MOTOR, current="1.7 A")


def test_brushes_take_their_drop_of_the_voltage():
    """6 V less 1 V on a held winding makes (5 V)²/R(T) of heat, and gets as hot as its course through time."""
    motor = dataclasses.replace(MOTOR, brush_drop="1 V")
    held = winding_temperature(motor, voltage="6 V")
    watts = 5.0**2 / float(held.resistance.magnitude)

    assert float(held.power.magnitude) == pytest.approx(watts, rel=1e-12)
    course = winding_warming(motor, "20 hour", voltage="6 V")
    assert_quantity_close(held.winding.to("kelvin"), course.winding.to("kelvin"), relative=1e-6)
    assert winding_temperature(motor, voltage="0.9 V").power.magnitude == 0.0


def test_a_current_far_beyond_has_its_time_as_well():
    """At 1 kA nothing leaves the winding: C·dT/dt = I²R·(1 + αΔT), so that t = C/(I²R·α)·ln(1 + α·105 K)."""
    capacity = float(MOTOR.winding_time_constant.m_as("s")) / float(MOTOR.winding_to_housing.m_as("kelvin/W"))
    alpha = 0.00393 / (1 + 0.00393 * 5)
    expected = capacity / (1e6 * 2.8 * alpha) * np.log(1 + alpha * 105)

    assert time_to_winding_limit(MOTOR, current="1 kA").m_as("s") == pytest.approx(expected, rel=1e-4)


def test_resting_helps():
    """Running one part in four at twice the current is as hot as always at the current itself, if it is quick."""
    turn = intermittent_winding_temperature(MOTOR, current="1.6 A", on_time="0.01 s", off_time="0.03 s")
    steady = winding_temperature(MOTOR, current="0.8 A")

    assert_quantity_close(steady.winding.to("kelvin"), turn.highest.to("kelvin"), relative=1e-4)
    assert turn.lowest < turn.highest
    with pytest.raises(NoSolutionError, match="each turn leaves the winding hotter"):
        intermittent_winding_temperature(MOTOR, current="5 A", on_time="10 s", off_time="1 s")


def test_a_cycle_over_an_array_of_powers():
    """Arrays go through, and a rest as hot as the run is steady."""
    turn = duty_cycle_temperature(
        [("2 K/W", "1 s"), ("60 K/W", "60 s")],
        power=Q_([1.0, 2.0], "W"),
        resting_power="1 W",
        on_time="5 s",
        off_time="5 s",
    )

    assert turn.after_first.shape == (2,)
    assert_quantity_close(Q_(25 + 62, "degC").to("kelvin"), turn.after_first[0].to("kelvin"), relative=1e-12)
    assert turn.after_first[1] > turn.after_second[1] > turn.after_first[0]


BARE_MOTOR = Motor(resistance="1 ohm", emf_constant="1 mV*s/rad")
CYCLE = {"power": "1 W", "on_time": "1 s", "off_time": "1 s"}
REFUSED = {
    "no current": (lambda: junction_temperature(MOSFET), "current must be given, or a Drive with its duty"),
    "no junction": (lambda: junction_temperature(MOTOR, "1 A"), "part must be a Mosfet, Bipolar, Diode or Drive"),
    "unknown path": (
        lambda: junction_temperature(Mosfet(on_resistance="1 ohm"), "1 A"),
        r"Mosfet\.junction_to_ambient must be known for a temperature; got None\. Give it in kelvin/W",
    ),
    "minus": (lambda: junction_temperature(MOSFET, "-1 A"), "current must be zero or more, in A; got -1 A"),
    "coulombs": (
        lambda: junction_temperature(MOSFET, "1 A", ambient="20 C"),
        "ambient must be a quantity in degC; .* A temperature is written '20 °C'",
    ),
    "neither": (lambda: winding_temperature(MOTOR), "current must be given, or else voltage"),
    "both": (lambda: winding_temperature(MOTOR, current="1 A", voltage="1 V"), "Give one of the two"),
    "cold around": (
        lambda: winding_temperature(MOTOR, current="0.1 A", ambient="-260 degC"),
        "ambient must be -200 degC or more; got -260 degC",
    ),
    "no limit": (
        lambda: time_to_winding_limit(BARE_MOTOR, voltage="1 V"),
        r"Motor\.max_winding_temperature must be known",
    ),
    "no path": (lambda: winding_temperature(BARE_MOTOR, voltage="1 V"), r"Motor\.winding_to_housing must be known"),
    "hot around": (lambda: max_dissipation("40 degC", "5 K/W", ambient="50 degC"), "hotter around"),
    "hopeless": (lambda: heat_sink_resistance("50 W", "3 K/W"), "No heat sink is good enough"),
    "nothing to go through": (lambda: steady_temperature("1 W"), "thermal_resistances must be at least one"),
    "no stage": (lambda: duty_cycle_temperature([], **CYCLE), "stages must be at least one"),
    "no cycle": (
        lambda: duty_cycle_temperature([("1 K/W", "1 s")], power="1 W", on_time="0 s", off_time="0 s"),
        "on_time, off_time must be more than zero together",
    ),
    "neither on nor off": (
        lambda: intermittent_winding_temperature(MOTOR, current="1 A", on_time="0 s", off_time="0 s"),
        "on_time, off_time must be more than zero together",
    ),
    "both, one of them nothing": (
        lambda: winding_temperature(MOTOR, current=Q_(0, "A"), voltage="1 V"),
        "current must be given, or else voltage; got both",
    ),
    "both, one of them a row": (
        lambda: winding_temperature(MOTOR, current=Q_([1.0, 2.0], "A"), voltage="1 V"),
        "current must be given, or else voltage; got both",
    ),
    "so cold that the line ends": (
        lambda: junction_temperature(MOSFET, "1 A", ambient="-250 degC"),
        "temperature must be where the on-resistance is still positive",
    ),
    "a runaway beyond all numbers": (
        lambda: intermittent_winding_temperature(MOTOR, current="20 A", on_time="1000 s", off_time="10 s"),
        "Thermal runaway: each turn leaves the winding hotter",
    ),
    "nothing in the way": (
        lambda: max_dissipation("150 degC", "0 K/W"),
        r"thermal_resistances must be more than zero together; got 0 K/W",
    ),
    "half a stage": (lambda: duty_cycle_temperature([("1 K/W",)], **CYCLE), "stages must be pairs"),
}


@pytest.mark.parametrize(("ask", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_missing_or_wrong_is_named(ask, message):
    """Each refusal names what it is about, and what to do."""
    with pytest.raises((PartError, NoSolutionError), match=message):
        ask()


def test_the_drive_with_a_weak_gate_stays_off():
    """A gate below the threshold carries no current to compute with."""
    weak = dataclasses.replace(TUNNEL, pin=dataclasses.replace(TUNNEL.pin, high_level="1.1 V"))
    with pytest.raises(NoSolutionError, match="stays off"):
        junction_temperature(weak, "1 A")
