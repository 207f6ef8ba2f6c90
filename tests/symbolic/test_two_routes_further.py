"""More of the two routes: generator into an LED, gate and losses, switch-off cases of the EMF, duty, hot winding."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.constants import Boltzmann, elementary_charge

from labkit.parts import Led, Load, desk_wind_tunnel
from labkit.simulation import (
    always_off,
    chopper,
    duty_from_count,
    gate_drive_voltage,
    generator_point,
    lighting_speed,
    pwm_operating_point,
    simulate,
    starting_duty,
    winding_temperature,
)
from labkit.symbolic.catalogue import derivation
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
COLD = dataclasses.replace(
    TUNNEL,
    supply=dataclasses.replace(TUNNEL.supply, internal_resistance="0 ohm"),
    diode=dataclasses.replace(TUNNEL.diode, recovery_charge="20 nC"),
)
PARAMETERS = {
    "emf_constant": "5.4 mV*s/rad",
    "resistance": "2.8 ohm",
    "supply_voltage": "6 V",
    "diode_drop": "0.4 V",
    "body_diode_drop": "0.7 V",
}


def same(kernel, name, *, relative=1e-9, **numbers):
    """Check that the derivation of that name gives the kernel's number, in SI."""
    this = derivation(name)
    wanted = {row.name for row in this.arguments}
    derived = this.evaluate(**{key: value for key, value in (PARAMETERS | numbers).items() if key in wanted})
    have, want = (float(each.to_base_units().magnitude) for each in (derived, kernel))
    assert have == pytest.approx(want, rel=relative), name


@pytest.mark.parametrize("speed", ["200 rad/s", "420 rad/s", "900 rad/s"])
def test_an_led_by_lamberts_w(speed):
    """The current where the load line meets Shockley's law, dim and bright."""
    led = Led(forward_voltage="1.8 V", test_current="10 mA", ideality=2.0)
    slope = 2.0 * Boltzmann * 298.15 / elementary_charge
    leak = 0.01 / np.expm1(1.8 / slope)

    same(
        generator_point(TUNNEL.motor, speed, led).current,
        "generator current into an LED, exactly",
        speed=speed,
        thermal_voltage=Q_(slope, "V"),
        saturation_current=Q_(leak, "A"),
    )
    shines = lighting_speed(TUNNEL.motor, led, "10 mA")
    by_line = {"led_drop": "1.8 V", "led_slope": "0 ohm", "current": "10 mA"}
    terms = {row.letter: row.name for row in derivation("speed at which an LED lights").arguments}
    given = dict(zip((terms["V_LED"], terms["r_LED"], "current"), by_line.values(), strict=True))
    same(shines, "speed at which an LED lights", **given)


def test_gate_and_losses():
    """Gate voltage behind a pull-down; gate, recovery loss of the settled drive."""
    point = pwm_operating_point(COLD, 0.7, "20 kHz")
    now = {
        "high_level": "3.3 V",
        "pull_down": "10 kohm",
        "gate_resistor": "150 ohm",
        "output_resistance": "40 ohm",
        "gate_charge": "12 nC",
        "recovery_charge": "20 nC",
        "frequency": "20 kHz",
    }

    same(gate_drive_voltage(TUNNEL), "gate voltage with a pull-down", **now)
    same(point.gate_loss, "gate drive loss", **now)
    same(point.recovery_loss, "recovery loss", **now)


def test_where_the_generator_emf_does_matter():
    """A shaft driven backwards, and one driven until the body diode conducts, in the engine with a heavy flywheel."""
    heavy = dataclasses.replace(COLD, load=Load(inertia="1e6 kg*m**2"))

    backwards = simulate(heavy, always_off(), "50 ms", speed="-500 rad/s", samples=2)
    same(backwards.diode_current[-1], "current of a shaft driven backwards", speed="500 rad/s")

    verge = derivation("speed at which the body diode conducts").evaluate(
        **{name: PARAMETERS[name] for name in ("emf_constant", "body_diode_drop", "supply_voltage")}
    )
    below, above = (
        simulate(heavy, always_off(), "50 ms", speed=part * verge, samples=2).current[-1].magnitude
        for part in (0.999999, 1.000001)
    )
    assert below == 0.0
    assert above < 0.0


def test_duty():
    """Duty of a count; speed, start and capacitor current under fast switching, where the current is smooth."""
    same(duty_from_count(50), "duty from a count", count=50, top=255)

    quiet = dataclasses.replace(COLD, switch=dataclasses.replace(TUNNEL.switch, on_resistance="1 nOhm"))
    point = pwm_operating_point(quiet, 0.6, "5 MHz")
    same(point.speed, "speed against duty", relative=1e-6, duty=0.6, mean_current=point.mean_current)
    starts = Q_(2.8 * 0.594 / 5.4, "V")
    same(starting_duty(quiet, "5 MHz"), "starting duty", relative=1e-4, starting_voltage=starts)

    smooth = chopper("6 V", "1 V", "2.8 ohm", "0.9 mH", "5 MHz", 0.4)
    pulses = np.sqrt(smooth.switch_rms_current**2 - smooth.supply_current**2)
    now = {"duty": 0.4, "mean_current": smooth.mean_current}
    same(pulses, "RMS current in the buffer capacitor", relative=1e-6, **now)


def test_a_held_winding_on_a_steady_voltage():
    """The rise at which a stalled winding's falling heat meets its cooling."""
    at_25 = 0.00393 / (1 + 0.00393 * 5)
    hot = winding_temperature(TUNNEL.motor, voltage="3 V")
    rise = Q_(hot.winding.to("kelvin").magnitude - 298.15, "kelvin")

    same(
        rise,
        "rise of a held motor at a steady voltage",
        voltage="3 V",
        winding_to_ambient="33 K/W",
        temperature_coefficient=Q_(at_25, "1/kelvin"),
    )
