"""A load on a transistor, held against derivations, the duty kernel's steady state, and Kirchhoff."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Load, Mosfet, Pin, desk_wind_tunnel
from labkit.simulation import (
    floating_load,
    gate_drive_voltage,
    on_resistance,
    pwm_operating_point,
    saturation_current,
    switched_load,
)
from labkit.symbolic import derivation
from labkit.units import Q_

TUNNEL = desk_wind_tunnel()
WEAK = dataclasses.replace(
    TUNNEL, switch=Mosfet(on_resistance=(("4.5 V", "0.5 ohm"),), threshold="2 V", transconductance="0.4 A/V**2")
)
BIPOLAR = dataclasses.replace(TUNNEL, switch=Bipolar(base_resistor="470 ohm"))


def test_a_closed_switch_agrees_with_the_steady_state_of_a_held_motor():
    """Full duty on a held shaft is a motor that stands on a transistor that is on: two kernels, one current."""
    held = dataclasses.replace(TUNNEL, load=Load(friction="1 N*m"))
    point = pwm_operating_point(held, 1.0, "1 kHz")
    on = switched_load(TUNNEL, "2.8 ohm")

    assert on.current.m_as("A") == pytest.approx(point.mean_current.m_as("A"), rel=1e-9)
    assert on.switch_power.m_as("W") == pytest.approx(point.switch_loss.m_as("W"), rel=1e-9)
    assert not on.throttled


def test_a_closed_switch_agrees_with_the_derivations():
    """Gate voltage, first current and motor current, each by its own derivation."""
    on = switched_load(TUNNEL, "2.8 ohm")
    driven = {"high_level": "3.3 V", "output_resistance": "40 ohm", "gate_resistor": "150 ohm"}
    gate = derivation("gate voltage with a pull-down").evaluate(pull_down="10 kohm", **driven)
    loop = {"supply_voltage": "6 V", "internal_resistance": "0.6 ohm", "resistance": "2.8 ohm"}
    ohms = on_resistance(TUNNEL.switch, gate)

    assert on.gate_voltage.m_as("V") == pytest.approx(gate.m_as("V"), rel=1e-12)
    assert on.gate_voltage.m_as("V") == pytest.approx(gate_drive_voltage(TUNNEL).m_as("V"), rel=1e-12)
    first = derivation("peak gate current").evaluate(**driven)
    assert on.first_pin_current.m_as("A") == pytest.approx(first.m_as("A"), rel=1e-12)
    asked = derivation("starting current with the source's resistance").evaluate(on_resistance=ohms, **loop)
    assert on.current.m_as("A") == pytest.approx(asked.m_as("A"), rel=1e-12)


def test_a_gate_that_is_too_low_lets_the_transistor_decide():
    """0.4 A/V² · (3 V - 2 V)² = 0.4 A at most, whatever the load asks; by hand."""
    drive = dataclasses.replace(WEAK, pull_down=None)
    on = switched_load(drive, "2.8 ohm", "3 V")

    assert on.throttled
    assert on.current.m_as("A") == pytest.approx(0.4)
    assert on.switch_voltage.m_as("V") == pytest.approx(6 - 0.4 * 3.4)
    assert on.switch_power.m_as("W") == pytest.approx(0.4 * (6 - 0.4 * 3.4))


@given(level=st.floats(0, 10), load=st.floats(0.5, 100), drive=st.sampled_from([TUNNEL, WEAK, BIPOLAR]))
def test_the_volts_add_up_and_nobody_passes_more_than_is_allowed(level, load, drive):
    """Round the loop: supply = source + load + transistor; and the current obeys both limits."""
    on = switched_load(drive, Q_(load, "ohm"), Q_(level, "V"))
    volts = on.source_drop + on.load_voltage + on.switch_voltage

    assert volts.m_as("V") == pytest.approx(6.0, rel=1e-12)
    assert on.current.magnitude <= on.allowed_current.magnitude * (1 + 1e-12)
    assert on.switch_voltage.m_as("V") >= 0
    if not isinstance(drive.switch, Bipolar):
        allowed = saturation_current(drive.switch, on.gate_voltage)
        assert on.allowed_current.m_as("A") == pytest.approx(allowed.m_as("A"), rel=1e-12)


def test_more_at_the_pin_is_never_less_in_the_load():
    """The curve of the current against the pin's level rises, or stays."""
    levels = Q_(np.linspace(0, 5, 201), "V")
    for drive in (TUNNEL, WEAK, BIPOLAR):
        assert np.all(np.diff(switched_load(drive, "2.8 ohm", levels).current.m_as("A")) >= -1e-15)


def test_a_bipolar_transistor_passes_its_gain_times_the_base_current():
    """(3.3 V - 0.7 V) / (470 Ω + 40 Ω) = 5.1 mA, ten times that is 51 mA; by hand, and by the derivation."""
    on = switched_load(BIPOLAR, "2.8 ohm")
    ohms = derivation("base resistor").evaluate(
        high_level="3.3 V", base_emitter_voltage="0.7 V", gain=10, current=on.current
    )

    assert on.pin_current.m_as("mA") == pytest.approx(2.6e3 / 510)
    assert on.current.m_as("mA") == pytest.approx(2.6e4 / 510)
    assert ohms.m_as("ohm") == pytest.approx(510)


def test_a_saturated_bipolar_transistor_keeps_its_saturation_voltage():
    """Into 470 Ω the base current is plenty: 0.3 V stay across it."""
    on = switched_load(BIPOLAR, "470 ohm")

    assert not on.throttled
    assert on.switch_voltage.m_as("V") == pytest.approx(0.3)


def test_a_floating_pin_leaves_the_gate_to_leakage_and_pull_down():
    """1 µA through 100 kΩ is 0.1 V: the transistor stays off (common practice, no source)."""
    off = floating_load(dataclasses.replace(TUNNEL, pull_down=Q_(100, "kohm")), "2.8 ohm")

    assert off.gate_voltage.m_as("V") == pytest.approx(0.1)
    assert off.current.magnitude == 0.0
    assert off.switch_voltage.m_as("V") == pytest.approx(6.0)


def test_a_pull_up_in_the_pin_divides_with_the_pull_down():
    """5 V · 10 kΩ / (35 kΩ + 10 kΩ) = 1.11 V, by hand and by the derivation."""
    drive = dataclasses.replace(TUNNEL, pin=Pin(high_level="5 V", boot_pull_up="35 kohm"))
    gate = derivation("gate voltage against a pull-up").evaluate(
        high_level="5 V", pull_up="35 kohm", pull_down="10 kohm"
    )

    assert floating_load(drive, "2.8 ohm").gate_voltage.m_as("V") == pytest.approx(gate.m_as("V"), rel=1e-12)
    assert gate.m_as("V") == pytest.approx(1.11, abs=0.005)


def test_a_floating_gate_without_a_pull_down_has_no_answer():
    """Nobody can say, so nobody does."""
    with pytest.raises(NoSolutionError, match="Fit a pull-down"):
        floating_load(dataclasses.replace(TUNNEL, pull_down=None), "2.8 ohm")


def test_a_floating_base_is_off():
    """A bipolar transistor without base current passes nothing."""
    assert floating_load(BIPOLAR, "2.8 ohm").current.magnitude == 0.0


def test_what_is_missing_is_named():
    """A bipolar transistor without its base resistor, and a pin with no resistance at all."""
    with pytest.raises(PartError, match="base_resistor"):
        switched_load(dataclasses.replace(TUNNEL, switch=Bipolar()), "2.8 ohm")
    bare = dataclasses.replace(TUNNEL, gate_resistor=Q_(0, "ohm"), pin=Pin(output_resistance="0 ohm"))
    with pytest.raises(PartError, match="gate_resistor"):
        switched_load(bare, "2.8 ohm")
