"""Each phenomenon of the switched drive against a closed form or a published value."""

from __future__ import annotations

import math

import numpy as np
import pytest

from labkit.parts import Bipolar, Diode, Drive, Load, Mosfet, Motor, Supply, desk_wind_tunnel
from labkit.simulation import (
    always_off,
    always_on,
    duty_ramp,
    gate_drive_voltage,
    gate_edges,
    on_resistance,
    pwm,
    pwm_operating_point,
    sampled_gate,
    saturation_current,
    simulate,
)
from labkit.units import Q_

pytestmark = pytest.mark.core

HEAVY = "1e6 kg*m**2"  # an inertia that no run here moves


def _motor(**changes):
    given = {
        "resistance": "2.8 ohm",
        "emf_constant": "5.4 mV*s/rad",
        "inductance": "0.9 mH",
        "inertia": "3.7e-6 kg*m**2",
    }
    return Motor(**(given | changes))


def _drive(*, motor=None, volts="6 V", source="0 ohm", switch=None, diode=Diode(forward_voltage="0.4 V"), **more):  # noqa: B008
    switch = switch or Mosfet(on_resistance="50 mOhm", breakdown_voltage="30 V")
    more = {"supply": Supply(voltage=volts, internal_resistance=source)} | more
    return Drive(motor=motor or _motor(), switch=switch, diode=diode, **more)


def test_current_rise_in_a_held_winding():
    """H01 of the published checks: 15 V on 1 ohm and 1 H; the table of an open text on circuits (KUP, trust A)."""
    motor = _motor(resistance="0.9 ohm", inductance="1 H", starting_torque="1e6 N*m")
    drive = _drive(motor=motor, volts="15 V", switch=Mosfet(on_resistance="0.1 ohm"))

    trace = simulate(drive, always_on(), "5 s", samples=Q_([0.5, 1.0, 2.0, 3.0, 4.0, 5.0], "s"))

    printed = [5.902, 9.482, 12.97, 14.25, 14.73, 14.90]
    assert np.all(np.abs(trace.current.magnitude - printed) <= 0.0051)
    assert np.all(np.abs(trace.current.magnitude - 15 * (1 - np.exp(-trace.time.magnitude))) < 1e-12)
    assert trace.event("rotor starts") is None


def test_freewheel_decay_in_a_held_winding():
    """H02: 10 A in 7.50 mH and 3.00 ohm falls to 1.35 A after 5 ms, 0.183 A after 10 ms (OS-CP, trust A)."""
    motor = _motor(resistance="3 ohm", inductance="7.5 mH", starting_torque="1e6 N*m")
    drive = _drive(motor=motor, diode=Diode(forward_voltage="0 V"))

    trace = simulate(drive, always_off(), "10 ms", current="10 A", samples=3)

    assert trace.current.magnitude.round(3).tolist() == [10.0, 1.353, 0.183]


def test_the_emf_stays_in_the_freewheel_loop():
    """I14, a known trap: with 100 V of EMF in the loop the current of 21.51 A stops after 3.27 ms (GUP, trust B)."""
    motor = _motor(resistance="0.49 ohm", emf_constant="1 V*s/rad", inductance="16 mH", inertia=HEAVY)
    drive = _drive(motor=motor, volts="200 V", diode=Diode(forward_voltage="0 V"),
                   switch=Mosfet(on_resistance="10 mOhm", breakdown_voltage="400 V"))  # fmt: skip
    # 0.5 ohm both ways round: the diode's slope stands in for the channel
    drive = Drive(supply=drive.supply, motor=motor, switch=drive.switch,
                  diode=Diode(forward_voltage="0 V", slope_resistance="10 mOhm"))  # fmt: skip

    trace = simulate(drive, gate_edges([("0 s", True), ("2 ms", False)]), "7 ms", current="10 A", speed="100 rad/s",
                     samples=Q_([2.0, 7.0], "ms"))  # fmt: skip

    assert trace.current.magnitude[0] == pytest.approx(21.51, abs=0.005)
    assert trace.current.magnitude[1] == 0.0
    assert trace.event("diode stops").first.to("ms").magnitude == pytest.approx(2 + 3.27, abs=0.005)


def test_stiction_lets_go_when_the_torque_reaches_it():
    """A resting rotor starts at i = T/k; the time follows from the winding's exponential."""
    motor = _motor(friction_torque="0.5 mN*m", starting_torque="2 mN*m")

    trace = simulate(_drive(motor=motor), always_on(), "5 ms", samples=2)

    total, needed = 2.85, 2e-3 / 5.4e-3
    starts = -0.9e-3 / total * math.log(1 - needed * total / 6)
    assert trace.event("rotor starts").first.magnitude == pytest.approx(starts, rel=1e-12)


def test_a_stalled_rotor_never_starts():
    """Below the starting torque nothing turns, and all energy ends as heat or in the winding."""
    motor = _motor(starting_torque="1 N*m")
    trace = simulate(_drive(motor=motor), pwm(0.5, "2 kHz"), "20 ms", samples=11)

    assert np.all(trace.speed.magnitude == 0.0)
    assert trace.energy.friction.magnitude == trace.energy.load.magnitude == 0.0
    assert abs(trace.energy.imbalance) < 1e-12 * trace.energy.source


def test_coulomb_friction_stops_a_coasting_rotor():
    """Without current a rotor under constant friction alone stops after J·ω/T, at rest for good."""
    motor = _motor(friction_torque="1 mN*m")
    trace = simulate(_drive(motor=motor), always_off(), "1 s", speed="200 rad/s", samples=3)

    assert trace.event("rotor stops").first.magnitude == pytest.approx(3.7e-6 * 200 / 1e-3, rel=1e-13)
    assert trace.speed.magnitude[-1] == 0.0
    assert trace.energy.friction.magnitude == pytest.approx(0.5 * 3.7e-6 * 200**2, rel=1e-12)


def test_a_weight_turns_the_rotor_back():
    """A weight above the friction reverses a coasting rotor: down with (w+T)/J, up again with (w-T)/J."""
    motor = _motor(friction_torque="1 mN*m", emf_constant="1e-9 V*s/rad")
    drive = _drive(motor=motor, load=Load(weight="3 mN*m"))

    trace = simulate(drive, always_off(), "0.3 s", speed="100 rad/s", samples=2)

    turns = 100 * 3.7e-6 / 4e-3
    assert trace.event("rotor reverses").first.magnitude == pytest.approx(turns, rel=1e-12)
    assert trace.speed.magnitude[-1] == pytest.approx(-2e-3 / 3.7e-6 * (0.3 - turns), rel=1e-9)


def test_breakdown_takes_more_than_the_winding_held():
    """Without a diode and with V_B - V = u, the switch turns L·(i/R)·(1 - u/(i·R)·ln(1 + i·R/u))·V_B·… into heat.

    The charge through the switch is q = L·i/R - u·L/R²·ln(1 + i·R/u), and its heat V_B·q.
    """
    motor = _motor(inertia=HEAVY)
    drive = _drive(motor=motor, diode=None)

    trace = simulate(drive, always_off(), "5 ms", current="2 A", samples=2)

    u, r, inductance = 24.0, 2.8, 0.9e-3
    charge = inductance * 2 / r - u * inductance / r**2 * math.log(1 + 2 * r / u)
    assert trace.energy.breakdown.magnitude == pytest.approx(30 * charge, rel=1e-12)
    assert trace.energy.breakdown.magnitude > 0.5 * inductance * 2**2
    assert trace.energy.diode.magnitude == 0.0


def test_switch_voltage_jumps_to_breakdown():
    """Where the switch opens without a diode its voltage is the breakdown voltage until the current has gone."""
    trace = simulate(_drive(diode=None), gate_edges([("0 s", True), ("1 ms", False)]), "2 ms")
    after = (trace.time.magnitude > 1e-3) & (trace.current.magnitude > 0)

    assert after.sum() > 3
    assert np.all(trace.switch_voltage.magnitude[after] == 30.0)
    assert trace.event("breakdown begins").first.magnitude == pytest.approx(1e-3, rel=1e-15)


def test_a_gate_too_low_lets_the_transistor_set_the_current():
    """With a saturation current below the stall current the current stands at it, and the transistor takes the rest."""
    switch = Mosfet(on_resistance=[("2.5 V", "120 mOhm"), ("10 V", "22 mOhm")], threshold="2.4 V",
                    transconductance="0.5 A/V**2", breakdown_voltage="30 V")  # fmt: skip
    drive = _drive(switch=switch, motor=_motor(starting_torque="1 N*m"))

    trace = simulate(drive, always_on(), "20 ms", samples=5)

    limit = 0.5 * (3.3 * 10000 / 10190 - 2.4) ** 2
    assert trace.current.magnitude[-1] == pytest.approx(limit, rel=1e-12)
    assert saturation_current(switch, Q_(3.3 * 10000 / 10190, "V")).magnitude == pytest.approx(limit, rel=1e-12)
    assert trace.switch_voltage.magnitude[-1] == pytest.approx(6 - 2.8 * limit, rel=1e-12)
    assert trace.event("transistor limits").count == 1


def test_a_shaft_driven_too_fast_feeds_the_source():
    """An EMF above the supply and the body diode's drop drives current back, though the gate is off."""
    drive = _drive(motor=_motor(inertia=HEAVY))
    speed = Q_(8 / 5.4e-3, "rad/s")

    trace = simulate(drive, always_off(), "20 ms", speed=speed, samples=3)

    assert trace.current.magnitude[-1] == pytest.approx(-(8 - 6 - 0.7) / 2.8, rel=1e-9)
    assert trace.switch_voltage.magnitude[-1] == pytest.approx(-0.7)
    assert trace.energy.source.magnitude < 0
    assert (
        simulate(drive, always_off(), "20 ms", speed=Q_(6.6 / 5.4e-3, "rad/s"), samples=2).energy.source.magnitude == 0
    )


def test_a_shaft_driven_backwards_opens_the_freewheel_diode():
    """Only backward turning lets the generator EMF drive current through the freewheel diode with the switch off."""
    drive = _drive(motor=_motor(inertia=HEAVY))

    backwards = simulate(drive, always_off(), "20 ms", speed=Q_(-3 / 5.4e-3, "rad/s"), samples=2)
    forward = simulate(drive, always_off(), "20 ms", speed=Q_(3 / 5.4e-3, "rad/s"), samples=2)

    assert backwards.diode_current.magnitude[-1] == pytest.approx((3 - 0.4) / 2.8, rel=1e-9)
    assert forward.diode_current.magnitude[-1] == 0.0


def test_a_bipolar_switch_drops_its_saturation_voltage():
    """A saturated bipolar transistor settles at (V - V_sat)/R, and passes nothing backwards."""
    drive = _drive(switch=Bipolar(saturation_voltage="0.3 V"), motor=_motor(starting_torque="1 N*m"))
    fast = _drive(switch=Bipolar(saturation_voltage="0.3 V"), motor=_motor(inertia=HEAVY))

    assert simulate(drive, always_on(), "50 ms", samples=2).current.magnitude[-1] == pytest.approx(5.7 / 2.8, rel=1e-12)
    assert simulate(fast, always_on(), "5 ms", speed="2000 rad/s", samples=2).current.magnitude[-1] == 0.0


def test_brush_drop_holds_the_current_at_zero():
    """Within the brush drop of the supply an EMF drives current neither way."""
    motor = _motor(brush_drop="0.5 V", inertia=HEAVY)
    for volts, expected in ((5.7, 0.0), (6.3, 0.0), (5.0, 0.5 / 2.85), (7.0, -0.5 / 2.85)):
        trace = simulate(_drive(motor=motor), always_on(), "20 ms", speed=Q_(volts / 5.4e-3, "rad/s"), samples=2)
        assert trace.current.magnitude[-1] == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_channel_at_its_real_gate_voltage_and_temperature():
    """The channel's resistance is the one at the divided gate voltage, warmed by its coefficient."""
    wind, hot = desk_wind_tunnel(), "100 degC"
    trace = simulate(wind, always_on(), "1 ms", junction_temperature=hot)
    now = trace.switch_voltage[-1] / trace.current[-1]

    at_gate = on_resistance(wind.switch, gate_drive_voltage(wind), hot)
    assert now.to("ohm").magnitude == pytest.approx(at_gate.magnitude, rel=1e-12)


def test_brown_out_is_found_where_the_rail_falls_below():
    """The + rail V - R_s·i crosses the brown-out voltage when the winding's exponential says so."""
    supply = Supply(voltage="6 V", internal_resistance="2 ohm", brown_out="4 V")
    drive = _drive(supply=supply, motor=_motor(starting_torque="1 N*m"))

    trace = simulate(drive, always_on(), "10 ms", samples=2)

    total = 2.8 + 2 + 0.05
    expected = -0.9e-3 / total * math.log(1 - 1.0 * total / 6)
    assert trace.event("brown-out").first.magnitude == pytest.approx(expected, rel=1e-12)
    assert trace.event("brown-out").count == 1


def test_settles_where_the_closed_form_says():
    """After many periods the mean speed is the one of ``pwm_operating_point``, an independent closed form."""
    drive = desk_wind_tunnel()
    settled = pwm_operating_point(drive, 0.6, "5 kHz").speed.to("rad/s").magnitude
    periods = 5000
    times = Q_((periods + np.linspace(-1, 0, 33)) / 5000, "s")
    ends = [
        np.mean(
            simulate(drive, pwm(0.6, "5 kHz"), "1 s", speed=Q_(part * settled, "rad/s"), samples=times).speed.magnitude
        )
        for part in (0.999, 1.001)
    ]

    assert ends[0] < settled < ends[1]
    assert ends[1] - ends[0] < 3e-4 * settled


def test_pulses_without_a_gap_are_none_and_pulses_without_length_nothing():
    """D = 1 is a switch held closed and D = 0 one held open; as D → 0 and D → 1 the speed tends there."""
    drive = _drive()

    def ends(gate):
        trace = simulate(drive, gate, "20 ms", current="0.2 A", speed="100 rad/s", samples=2)
        return trace.current.magnitude[-1], trace.speed.magnitude[-1]

    for duty, held in ((0.0, always_off()), (1.0, always_on())):
        assert ends(pwm(duty, "2 kHz")) == pytest.approx(ends(held), rel=1e-11, abs=1e-12)
        near = [abs(ends(pwm(abs(duty - gap), "2 kHz"))[1] - ends(held)[1]) for gap in (1e-3, 1e-5)]
        assert near[1] < 0.02 * near[0]


def test_ramp_ends_at_its_end_duty():
    """Each period's duty is the ramp's at the period's start."""
    trace = simulate(_drive(), duty_ramp(0.0, 1.0, "1 kHz", "10 ms"), "12 ms", samples=1201)
    on = trace.gate[:-1].reshape(12, 100).mean(axis=1)

    assert on == pytest.approx([0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.0], abs=0.011)


def test_a_law_with_one_answer_is_pwm():
    """A sampled law that always answers 0.4 is PWM with a duty of 0.4 at the control period."""
    by_law = simulate(_drive(), sampled_gate(lambda _: 0.4, "0.5 ms"), "20 ms", samples=41)
    by_pwm = simulate(_drive(), pwm(0.4, "2 kHz"), "20 ms", samples=41)

    assert by_law.speed.magnitude == pytest.approx(by_pwm.speed.magnitude, rel=1e-12)


def test_a_law_sees_the_state():
    """A two-point controller holds the speed within what one control period changes."""
    shown = []

    def law(state):
        shown.append(state)
        return state.speed < Q_("300 rad/s")

    trace = simulate(_drive(), sampled_gate(law, "0.2 ms"), "1 s", samples=1001)

    assert np.all(np.abs(trace.speed.magnitude[600:] - 300) < 1.0)
    assert len(shown) == 5000
    assert shown[1].time.magnitude == pytest.approx(0.2e-3)


def test_default_samples_show_both_sides_of_a_jump():
    """Without a count of samples every edge stands in the trace from both sides."""
    trace = simulate(_drive(), pwm(0.5, "1 kHz"), "2 ms")
    at_edge = trace.switch_voltage.magnitude[trace.time.magnitude == 0.5e-3]

    assert at_edge.min() < 0.2
    assert at_edge.max() == pytest.approx(6.4)


def test_fan_error_stays_within_its_bound(oracle):
    """A fan's straightened law is off by no more than the stated bound, and that shrinks with the tolerance."""
    circuit = oracle.Circuit(voltage=6, source_resistance=0.0, resistance=2.8, inductance=0.9e-3, emf_constant=5.4e-3,
                             inertia=3.7e-6, fan=2e-8)  # fmt: skip
    want = oracle.integrate(circuit, [(0.3, True)], (0.0, 1e-9, 0.0), rtol=1e-12, atol=1e-13)[-1]
    drive = _drive(load=Load(fan=Q_(2e-8, "N*m*s**2/rad**2")))
    errors = []
    for tolerance in (1e-3, 1e-5, 1e-7):
        trace = simulate(drive, always_on(), "0.3 s", samples=2, tolerance=tolerance)
        off = abs(trace.speed.magnitude[-1] - want[1])
        bound = trace.speed_error.magnitude
        assert off <= bound + 1e-9
        assert bound <= tolerance * trace.largest_speed.magnitude
        assert abs(trace.energy.imbalance) <= trace.energy_error
        errors.append(bound)
    assert errors[2] < errors[1] < errors[0]


@pytest.mark.parametrize(
    ("inertia", "fan", "buffer"),
    [(2e-7, 1e-7, {}), (3.5e-5, 2e-9, {"source_resistance": 3.0, "capacitance": 110e-6, "capacitor_resistance": 1.0})],
    ids=["settled long before the end", "swinging with a buffer capacitor"],
)
def test_a_fan_is_straightened_within_the_tolerance(oracle, inertia, fan, buffer):
    """Where a stretch could last to the run's end, or half a swing, the speed is as near as was asked for."""
    given = {"source_resistance": 0.0, "inertia": inertia, "fan": fan} | buffer
    circuit = oracle.Circuit(voltage=6, resistance=2.8, inductance=0.9e-3, emf_constant=5.4e-3, **given)
    want = oracle.integrate(circuit, [(0.5, True)], (0.0, 1e-9, 6.0), rtol=1e-12, atol=1e-13)[-1]
    supply = Supply(
        voltage="6 V",
        internal_resistance=Q_(circuit.source_resistance, "ohm"),
        capacitance=Q_(circuit.capacitance, "F") if buffer else None,
        capacitor_resistance=Q_(circuit.capacitor_resistance, "ohm"),
    )
    drive = _drive(
        motor=_motor(inertia=Q_(inertia, "kg*m**2")), supply=supply, load=Load(fan=Q_(fan, "N*m*s**2/rad**2"))
    )

    trace = simulate(drive, always_on(), "0.5 s", samples=2)

    assert trace.speed.magnitude[-1] == pytest.approx(want[1], abs=trace.speed_error.magnitude + 1e-9)
    assert trace.speed_error.magnitude <= 1e-7 * trace.largest_speed.magnitude
