"""Bad input is refused with the field, the value and the remedy; and what a long run costs."""

from __future__ import annotations

import tracemalloc

import pytest

from labkit.errors import LabkitError, NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Motor, Supply, desk_wind_tunnel
from labkit.reviews import diagnose, first_power, review, shopping_list
from labkit.simulation import (
    always_off,
    always_on,
    coast_down,
    continuous_frequency,
    duty_ramp,
    frequency_choice,
    gate_drive_voltage,
    gate_edges,
    generator_point,
    loaded_supply,
    motor_on_supply,
    on_resistance,
    operating_point,
    pwm,
    pwm_operating_point,
    sampled_gate,
    simulate,
    speed_response,
    starting_duty,
    switching_times,
    turn_off_transient,
    winding_temperature,
)  # fmt: skip
from labkit.units import Q_

pytestmark = pytest.mark.core


def _drive(**changes):
    whole = {
        "resistance": "2.8 ohm",
        "emf_constant": "5.4 mV*s/rad",
        "inductance": "0.9 mH",
        "inertia": "3.7e-6 kg*m**2",
    }
    motor = Motor(**{name: value for name, value in (whole | changes.pop("motor", {})).items() if value is not None})
    given = {"supply": Supply(voltage="6 V"), "switch": Mosfet(on_resistance="50 mOhm")} | changes
    return Drive(motor=motor, **given)


@pytest.mark.parametrize(
    ("refused", "field", "value"),
    [
        (lambda: Motor(resistance="2 ohm", emf_constant="5 mV*s/rad", inductance="-1 mH"), "Motor.inductance", "-1 mH"),
        (lambda: pwm(45, "2 kHz"), "pwm.duty", "45"),
        (lambda: pwm(0.4, "2000 rpm"), "pwm.frequency", "2000"),
        (lambda: pwm(0.4, "0 Hz"), "pwm.frequency", "0 Hz"),
        (lambda: pwm(float("nan"), "2 kHz"), "pwm.duty", "nan"),
        (lambda: duty_ramp(0, 1.5, "2 kHz", "1 s"), "duty_ramp.end", "1.5"),
        (lambda: gate_edges([]), "gate_edges.edges", "[]"),
        (lambda: gate_edges([("2 ms", True), ("1 ms", False)]), "gate_edges.edges", "0.001 s after 0.002 s"),
        (lambda: gate_edges([("2 ms", 1)]), "gate_edges.edges", "1"),
        (
            lambda: simulate(_drive(), always_on(), "1 ms", capacitor_voltage="3 V"),
            "simulate.capacitor_voltage",
            "3 V",
        ),
        (lambda: sampled_gate("on", "1 ms"), "sampled_gate.law", "'on'"),
        (lambda: simulate(_drive(), [], "1 ms"), "gate_edges.edges", "[]"),
        (lambda: simulate(_drive(), 0.4, "1 ms"), "simulate.gate", "0.4"),
        (lambda: simulate(_drive(), always_on(), "-1 ms"), "simulate.duration", "-0.001 s"),
        (lambda: simulate(_drive(), always_on(), "1 ms", speed="50 Hz"), "simulate.speed", "50 Hz"),
        (lambda: simulate(_drive(), always_on(), "1 ms", current=Q_(float("nan"), "A")), "simulate.current", "nan"),
        (lambda: simulate(_drive(), always_on(), "1 ms", samples=1), "simulate.samples", "1"),
        (lambda: simulate(_drive(), always_on(), "1 ms", samples=10**13), "simulate.samples", "10000000000000"),
        (lambda: simulate(_drive(), always_on(), "1 ms", samples=Q_([2.0, 1.0], "us")), "simulate.samples", "2"),
        (lambda: simulate(_drive(), always_on(), "1 ms", tolerance=0), "simulate.tolerance", "0"),
        (lambda: simulate(_drive(motor={"inductance": None}), always_on(), "1 ms"), "Motor.inductance", "None"),
        (lambda: simulate(_drive(motor={"inertia": None}), always_on(), "1 ms"), "Motor.inertia", "None"),
        (
            lambda: simulate(_drive(diode=None), pwm(0.5, "2 kHz"), "1 ms"),
            "Drive.switch.breakdown_voltage",
            "None",
        ),
        (
            lambda: simulate(
                _drive(switch=Mosfet(on_resistance="1 ohm", breakdown_voltage="5 V")), always_on(), "1 ms"
            ),
            "Mosfet.breakdown_voltage",
            "5.0 V",
        ),
        (
            lambda: simulate(_drive(switch=Bipolar()), always_on(), "1 ms", current="-1 A"),
            "simulate.current",
            "-1 A",
        ),
        (
            lambda: simulate(_drive(), sampled_gate(lambda _: 2, "1 ms"), "2 ms"),
            "sampled_gate.law's answer",
            "2",
        ),
        (
            lambda: simulate(_drive(), sampled_gate(lambda _: None, "1 ms"), "2 ms"),
            "sampled_gate.law's answer",
            "None",
        ),
    ],
)
def test_refusals_name_field_value_and_remedy(refused, field, value):
    """The error names what is wrong, the value that was given, and what to do about it."""
    with pytest.raises(PartError) as caught:
        refused()

    assert caught.value.where == field
    assert value in str(caught.value)
    assert caught.value.remedy.endswith(".")


TUNNEL = desk_wind_tunnel()


@pytest.mark.parametrize(
    ("refused", "sentence"),
    [
        (
            lambda: simulate(TUNNEL.motor, always_on(), "1 s"),
            "simulate.drive must be a Drive; got a Motor. Write Drive",
        ),
        (lambda: pwm_operating_point(TUNNEL.motor, 0.4, "2 kHz"), "pwm_operating_point.drive must be a Drive"),
        (lambda: turn_off_transient(None, "1 A"), "turn_off_transient.drive must be a Drive; got None"),
        (lambda: starting_duty(TUNNEL.motor, "2 kHz"), "starting_duty.drive must be a Drive"),
        (lambda: continuous_frequency(TUNNEL.motor, 0.4), "continuous_frequency.drive must be a Drive"),
        (lambda: frequency_choice(TUNNEL.motor, 0.4, "2 kHz"), "frequency_choice.drive must be a Drive"),
        (lambda: gate_drive_voltage(TUNNEL.pin), "gate_drive_voltage.drive must be a Drive; got a Pin"),
        (lambda: switching_times(TUNNEL.switch), "switching_times.drive must be a Drive; got a Mosfet"),
        (
            lambda: operating_point(TUNNEL, "6 V"),
            "operating_point.motor must be a Motor; got a Drive. Give its .motor.",
        ),
        (lambda: coast_down(TUNNEL, "1 rad/s"), "coast_down.motor must be a Motor"),
        (lambda: winding_temperature(TUNNEL, current="1 A"), "winding_temperature.motor must be a Motor"),
        (lambda: generator_point(TUNNEL, "1 rad/s"), "generator_point.motor must be a Motor"),
        (lambda: speed_response(TUNNEL), "speed_response.motor must be a Motor"),
        (lambda: review(TUNNEL.motor), "review.drive must be a Drive"),
        (lambda: first_power(TUNNEL.motor), "first_power.drive must be a Drive"),
        (lambda: diagnose(TUNNEL.motor), "diagnose.drive must be a Drive"),
        (lambda: shopping_list(TUNNEL.motor), "shopping_list.drive must be a Drive"),
        (lambda: motor_on_supply(TUNNEL.supply, TUNNEL), "motor_on_supply.motor must be a Motor"),
        (lambda: loaded_supply("6 V"), "loaded_supply.supply must be a Supply; got '6 V'"),
        (lambda: on_resistance(TUNNEL, "3 V"), "on_resistance.mosfet must be a Mosfet; got a Drive. Give its .switch."),
    ],
)
def test_one_part_in_the_place_of_another_is_named(refused, sentence):
    """A motor for a whole drive is the slip of a first script: it is told, and no traceback about attributes."""
    with pytest.raises(PartError) as caught:
        refused()

    assert str(caught.value).startswith(sentence)


def test_no_breakdown_voltage_is_needed_where_it_does_not_matter():
    """Without a diode and a breakdown voltage a switch that never opens on a current is fine."""
    drive = _drive(diode=None)

    assert simulate(drive, always_on(), "1 ms", samples=2).current.magnitude[-1] > 1.0
    assert simulate(drive, always_off(), "1 ms", speed="100 rad/s", samples=2).current.magnitude[-1] == 0.0


def test_shared_current_is_refused_and_not_guessed():
    """Where diode and breakdown would share the current the run is refused, with a way out."""
    drive = _drive(switch=Mosfet(on_resistance="50 mOhm", breakdown_voltage="10 V"),
                   diode=Diode(forward_voltage="0.4 V", slope_resistance="5 ohm"))  # fmt: skip
    with pytest.raises(NoSolutionError, match="less slope resistance"):
        simulate(drive, always_off(), "1 ms", current="2 A")


def test_every_refusal_is_of_the_one_tree():
    """Whoever catches LabkitError catches these."""
    with pytest.raises(LabkitError):
        simulate(_drive(), [], "1 ms")


def _cost(periods):
    """Peak of memory [bytes] and stretches of a run of so many periods, eleven samples asked for."""
    tracemalloc.start()
    trace = simulate(TUNNEL, pwm(0.4, "20 kHz"), Q_(periods / 20e3, "s"), samples=11)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak, trace.stretches


@pytest.mark.parametrize("periods", [5000, pytest.param(100_000, marks=pytest.mark.slow)])
def test_a_long_run_costs_time_in_proportion_and_no_memory(periods):
    """Many times the periods take no more memory where few samples are asked for, and no more than their share."""
    _cost(10)  # what is loaded or compiled on first use counts for nobody
    (little, some), (much, many) = _cost(1000), _cost(periods)

    assert much < 1.2 * little
    assert 2 * periods <= many <= periods / 1000 * some


def test_asked_for_all_there_is_a_run_keeps_it_all():
    """Without a count of samples nine points of every stretch are kept: the memory test could not pass by luck."""
    trace = simulate(TUNNEL, pwm(0.4, "20 kHz"), "10 ms")

    assert len(trace.time) == 9 * trace.stretches
