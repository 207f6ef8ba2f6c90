"""The speed and the heat that a chopped drive settles at."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson, solve_ivp

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Load, Mosfet, Supply, desk_wind_tunnel
from labkit.simulation import operating_point, pwm, pwm_operating_point, simulate
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
OPTIONS = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-13}


def _switch_ohms():
    """R_DS(on) at 3.3 V·10k/(10k + 190): 1/R straight between the rows 2.5 V, 120 mΩ and 3.3 V, 50 mΩ."""
    gate = 3.3 * 10_000 / 10_190
    return 1.0 / (1 / 0.12 + (gate - 2.5) / 0.8 * (1 / 0.05 - 1 / 0.12))


def _numbers(point, **changes):
    """Return the desk wind tunnel's numbers [SI], with the speed and current that the kit says."""
    usual = {
        "v": 6.0, "r_on": 2.8 + 0.6 + _switch_ohms(), "r_off": 2.8, "l": 0.9e-3, "k": 5.4e-3, "v_f": 0.4,
        "friction": 0.594e-3, "fan": 1.6e-9, "j": 3.7e-6,
        "w": float(point.speed.magnitude), "i": float(point.minimum_current.magnitude),
    }  # fmt: skip
    return usual | changes


def _period(n, duty, frequency, state, *, speed_moves):
    """Integrate one period of current, speed and charge from *state*, the diode's stop as an event."""

    def slope(volts, ohms):
        def right(_, y):
            i, w, _ = y
            drag = n["friction"] * np.sign(w) + n["fan"] * w * abs(w)
            return [(volts - n["k"] * w - ohms * i) / n["l"], speed_moves * (n["k"] * i - drag) / n["j"], i]

        return right

    def coast(_, y):
        return [0.0, -speed_moves * (n["friction"] * np.sign(y[1]) + n["fan"] * y[1] * abs(y[1])) / n["j"], 0.0]

    def stopped(_, y):
        return y[0]

    stopped.terminal, stopped.direction = True, -1
    on = solve_ivp(slope(n["v"], n["r_on"]), (0, duty / frequency), state, **OPTIONS)
    off = solve_ivp(slope(-n["v_f"], n["r_off"]), (0, (1 - duty) / frequency), on.y[:, -1], events=stopped, **OPTIONS)
    end = off.y[:, -1]
    left = (1 - duty) / frequency - off.t[-1]
    if left > 0:
        end = solve_ivp(coast, (0, left), [0.0, *end[1:]], **OPTIONS).y[:, -1]
    return end


@pytest.mark.parametrize("frequency", [500.0, 2e3, 20e3])
@pytest.mark.parametrize("duty", [0.25, 0.4, 0.75, 0.95])
def test_the_speed_is_right_to_a_millionth(duty, frequency):
    """Over a period the torque pushes a shaft a millionth slower on, and holds back one a millionth faster."""
    point = pwm_operating_point(TUNNEL, duty, Q_(frequency, "Hz"))
    n = _numbers(point)
    spare = []
    for factor in (1 - 1e-6, 1 + 1e-6):
        w = factor * n["w"]
        current = n["i"]
        for _ in range(12 if point.continuous else 1):  # the current settles long before the speed would
            current, _, charge = _period(n, duty, frequency, [current, w, 0.0], speed_moves=0.0)
        spare.append(n["k"] * charge * frequency - n["friction"] - n["fan"] * w**2)

    assert spare[0] > 0.0 > spare[1]


def test_running_up_ends_there():
    """Current and speed integrated period by period from a slow turn settle at the closed form to a millionth.

    The inertia is made so small that 200 periods are many mechanical time constants.
    """
    small = {"motor": dataclasses.replace(TUNNEL.motor, inertia="5e-9 kg*m**2"),
             "load": dataclasses.replace(TUNNEL.load, inertia="0 kg*m**2")}  # fmt: skip
    duty, frequency = 0.8, 20e3
    point = pwm_operating_point(dataclasses.replace(TUNNEL, **small), duty, Q_(frequency, "Hz"))
    n = _numbers(point, j=5e-9)
    state = [0.0, 100.0, 0.0]
    for _ in range(200):
        state = [*_period(n, duty, frequency, [state[0], state[1], 0.0], speed_moves=1.0)]

    assert point.continuous
    assert state[2] * frequency == pytest.approx(float(point.mean_current.magnitude), rel=1e-6)


@settings(max_examples=40, deadline=None)
@example(  # the weight barely turns the shaft, and no current flows: the bound on the speed is the speed itself
    duty=0.0, frequency=100.0, voltage=1.0, friction=0.0001297805065845146, fan=3.8708548122884973e-08,
    weight=0.0007446581050663459, change={},
)  # fmt: skip
@given(
    duty=st.floats(0, 1), frequency=st.floats(1.5, 5.5).map(lambda p: 10**p), voltage=st.floats(0.5, 24),
    friction=st.floats(0, 3e-3), fan=st.floats(1e-11, 1e-7), weight=st.floats(-6e-3, 6e-3),
    change=st.sampled_from([{}, {"diode": None}, {"switch": Bipolar()}, {"supply": Supply(voltage="6 V")}]),
)  # fmt: skip
def test_power_in_is_power_out(*, duty, frequency, voltage, friction, fan, weight, change):
    """Input = source + wiring + winding + brush + switch + diode + own friction + shaft, whatever drives what."""
    load = Load(friction=Q_(friction, "N*m"), fan=Q_(fan, "N*m*s**2/rad**2"), weight=Q_(weight, "N*m"))
    drive = dataclasses.replace(TUNNEL, wiring="0.1 ohm", **change)
    point = pwm_operating_point(drive, duty, Q_(frequency, "Hz"), voltage=Q_(voltage, "V"), load=load)
    parts = [point.source_loss, point.wiring_loss, point.winding_loss, point.brush_loss, point.friction_loss,
             point.switch_conduction_loss, point.diode_loss]  # fmt: skip
    lost = sum(float(part.magnitude) for part in parts)
    shaft = float(point.shaft_power.magnitude)

    assert all(float(part.magnitude) >= 0 for part in parts)
    assert lost + shaft == pytest.approx(float(point.input_power.magnitude), abs=1e-9 * (lost + abs(shaft)) + 1e-15)


def test_full_duty_is_a_steady_voltage():
    """At D = 1 the drive runs like a motor on V through the source, the transistor and the winding."""
    ohms = 2.8 + 0.6 + _switch_ohms()
    motor = dataclasses.replace(TUNNEL.motor, resistance=Q_(ohms, "ohm"))
    point, steady = pwm_operating_point(TUNNEL, 1.0, "2 kHz"), operating_point(motor, "6 V", TUNNEL.load)

    assert float(point.speed.magnitude) == pytest.approx(float(steady.speed.magnitude), rel=1e-12)
    assert float(point.supply_current.magnitude) == pytest.approx(float(steady.current.magnitude), rel=1e-12)
    assert float(point.ripple.magnitude) == 0.0
    assert float(point.switching_loss.magnitude) == float(point.gate_loss.magnitude) == 0.0


def test_arrays_of_everything_give_what_single_calls_give():
    """Duty, frequency, voltage and load broadcast to one shape; each point is the one that a call of its own gives."""
    loads = [Load(fan="1.6e-9 N*m*s**2/rad**2"), Load(fan="3e-9 N*m*s**2/rad**2")]
    duty, frequency = np.array([[[0.3]], [[0.8]]]), Q_([2e3, 20e3, 50e3], "Hz")
    whole = pwm_operating_point(
        TUNNEL, duty, frequency, voltage=Q_([[5.0], [6.0]], "V"), load=[[[loads[0]]], [[loads[1]]]]
    )

    assert whole.speed.shape == whole.continuous.shape == whole.efficiency.shape == (2, 2, 3)
    for (a, b, c), speed in np.ndenumerate(whole.speed.magnitude):
        one = pwm_operating_point(
            TUNNEL, float(duty[a, 0, 0]), frequency[c], voltage=Q_([5.0, 6.0][b], "V"), load=loads[a]
        )
        assert speed == pytest.approx(float(one.speed.magnitude), rel=1e-12)


def test_slow_switching_runs_faster_than_the_mean_voltage_says():
    """In discontinuous conduction a lightly loaded motor is faster than D·V would make it; fast switching is not."""
    slow, fast = pwm_operating_point(TUNNEL, 0.4, Q_([2e3, 200e3], "Hz")).speed.magnitude

    assert slow > 1.4 * fast


def test_stiction_needs_a_peak_and_running_a_mean():
    """At rest a pulse that lifts the torque over the hold starts the shaft only if the mean then keeps it going."""
    held = dataclasses.replace(TUNNEL, motor=dataclasses.replace(TUNNEL.motor, starting_torque="2.5 mN*m"))
    slow, fast = (pwm_operating_point(held, 0.25, f"{f} Hz") for f in (200, 20000))

    assert slow.turning
    assert not fast.turning
    assert float(fast.mean_current.magnitude) > 0.0
    assert float(fast.shaft_power.magnitude) == 0.0


def test_a_buffer_capacitor_takes_the_pulses_from_the_source():
    """With one, the source gives the mean alone: less of its own loss, and V - r·mean at the capacitor."""
    buffered = dataclasses.replace(TUNNEL, supply=dataclasses.replace(TUNNEL.supply, capacitance="4700 uF"))
    bare, point = (pwm_operating_point(d, 0.5, "20 kHz") for d in (TUNNEL, buffered))
    mean = float(point.supply_current.magnitude)

    assert float(point.supply_voltage.magnitude) == pytest.approx(6.0 - 0.6 * mean, rel=1e-10)
    assert float(point.source_loss.magnitude) == pytest.approx(0.6 * mean**2, rel=1e-10)
    assert float(point.capacitor_current.magnitude) ** 2 == pytest.approx(
        float(point.switch_rms_current.magnitude) ** 2 - mean**2, rel=1e-10
    )
    assert bare.capacitor_current is None
    assert point.source_loss / point.shaft_power < bare.source_loss / bare.shaft_power


def test_arrays_of_a_buffered_drive_give_what_single_calls_give():
    """With a buffer capacitor too, one call over duties, frequencies and loads gives each point's own answer."""
    buffered = dataclasses.replace(TUNNEL, supply=dataclasses.replace(TUNNEL.supply, capacitance="1 mF"))
    duty, frequency = np.array([0.0, 0.05, 0.2, 0.5, 0.9, 1.0]), Q_([200.0, 2e3, 2e4, 500.0, 5e3, 2e3], "Hz")
    loads = [[Load()], [TUNNEL.load], [Load(weight="-4 mN*m")]]

    whole = pwm_operating_point(buffered, duty, frequency, load=loads)

    assert whole.speed.shape == (3, 6)
    for row, (load,) in enumerate(loads):
        for n in range(6):
            one = pwm_operating_point(buffered, duty[n], frequency[n], load=load)
            for name in ("speed", "supply_voltage", "supply_current", "capacitor_current"):
                want, have = getattr(one, name).magnitude, getattr(whole, name).magnitude[row, n]
                assert have == pytest.approx(float(want), rel=1e-9, abs=1e-9), (name, row, n)


def test_the_resistance_of_a_buffer_capacitor_shares_the_pulses():
    """Source 0.6 ohm beside capacitor 0.2 ohm: it takes 3/4 of the alternating current, and all power is accounted for.

    Behind the two stand 6 V less 3/4 of 0.6 ohm times the mean current.
    """
    supply = dataclasses.replace(TUNNEL.supply, capacitance="1 F", capacitor_resistance="0.2 ohm")
    point = pwm_operating_point(dataclasses.replace(TUNNEL, supply=supply), 0.5, "2 kHz")
    mean, rms = float(point.supply_current.magnitude), float(point.switch_rms_current.magnitude)
    pulses = rms**2 - mean**2

    assert float(point.capacitor_current.magnitude) == pytest.approx(0.75 * pulses**0.5, rel=1e-10)
    assert float(point.capacitor_loss.magnitude) == pytest.approx(0.2 * 0.75**2 * pulses, rel=1e-10)
    assert float(point.source_loss.magnitude) == pytest.approx(0.6 * (mean**2 + 0.25**2 * pulses), rel=1e-10)
    parts = (point.source_loss, point.capacitor_loss, point.wiring_loss, point.winding_loss, point.brush_loss,
             point.switch_conduction_loss, point.diode_loss, point.friction_loss, point.shaft_power)  # fmt: skip
    assert sum(float(part.magnitude) for part in parts) == pytest.approx(float(point.input_power.magnitude), rel=1e-9)


def _last_period(drive, duty, frequency, point):
    """Times and the currents of motor, switch, diode and source in one settled period, nine points a stretch."""
    heavy = dataclasses.replace(drive, load=dataclasses.replace(drive.load, inertia="1 kg*m**2"))
    rests_at = drive.supply.voltage - drive.supply.internal_resistance * point.supply_current
    trace = simulate(heavy, pwm(duty, Q_(frequency, "Hz")), Q_(40 / frequency, "s"), speed=point.speed,
                     current=point.minimum_current,
                     capacitor_voltage=rests_at if drive.supply.capacitance else None)  # fmt: skip
    time = trace.time.magnitude.reshape(-1, 9)
    last = time[:, 0] >= 39 / frequency * (1 - 1e-12)
    names = ("current", "switch_current", "diode_current", "supply_current")
    return time[last], [getattr(trace, name).magnitude.reshape(-1, 9)[last] for name in names]


@pytest.mark.parametrize("buffer", [{}, {"capacitance": "100 F", "capacitor_resistance": "0.2 ohm"}])
@pytest.mark.parametrize(("duty", "frequency"), [(0.4, 2e3), (0.5, 20e3), (0.8, 5e3)])
def test_root_mean_squares_and_ripples_are_those_of_the_waveforms(duty, frequency, buffer):
    """Every current's mean, root mean square and swing are those of a simulated period at the same speed.

    The capacitor's current is what the switch takes and the source does not give.
    """
    drive = dataclasses.replace(TUNNEL, supply=dataclasses.replace(TUNNEL.supply, **buffer))
    point = pwm_operating_point(drive, duty, Q_(frequency, "Hz"))
    time, (motor, switch, diode, source) = _last_period(drive, duty, frequency, point)

    def rms(values):
        return np.sqrt(frequency * simpson(values**2, x=time).sum())

    for values, root, swing in (
        (motor, point.rms_current, point.ripple),
        (switch, point.switch_rms_current, point.switch_ripple),
        (diode, point.diode_rms_current, point.diode_ripple),
        (source, point.supply_rms_current, point.supply_ripple),
    ):
        assert rms(values) == pytest.approx(float(root.magnitude), rel=1e-4)
        assert np.ptp(values) == pytest.approx(float(swing.magnitude), rel=1e-4)
    if buffer:
        assert rms(switch - source) == pytest.approx(float(point.capacitor_current.magnitude), rel=1e-4)
        assert np.ptp(switch - source) == pytest.approx(float(point.capacitor_ripple.magnitude), rel=1e-4)
    else:
        assert point.capacitor_ripple is None


def test_without_pulses_nothing_swings():
    """At a duty of 0 and of 1 no current has a ripple."""
    point = pwm_operating_point(TUNNEL, [0.0, 1.0], "2 kHz")

    for name in ("ripple", "switch_ripple", "diode_ripple", "supply_ripple"):
        assert getattr(point, name).magnitude == pytest.approx([0.0, 0.0], abs=1e-12)


def test_a_breakdown_below_the_supply_is_refused():
    """A transistor that breaks down at 5 V cannot switch 6 V, with a diode or without one."""
    weak = dataclasses.replace(TUNNEL.switch, breakdown_voltage="5 V")
    for change, seen in (({}, "6.4"), ({"diode": None}, "6")):
        with pytest.raises(PartError, match=rf"Mosfet.breakdown_voltage must be above .*, {seen} V; got 5.0 V. Take"):
            pwm_operating_point(dataclasses.replace(TUNNEL, switch=weak, **change), 0.4, "2 kHz")


def test_an_overhauling_weight_feeds_the_supply_through_the_body_diode():
    """A weight that turns the motor faster than V/k drives the current backwards; the input power is negative."""
    point = pwm_operating_point(TUNNEL, 0.5, "2 kHz", load=Load(weight="-4 mN*m"))

    assert float(point.emf.magnitude) > 6.0
    assert float(point.mean_current.magnitude) < 0.0
    assert float(point.input_power.magnitude) < 0.0


def test_what_the_sheet_does_not_say_is_not_guessed():
    """Without gate charge, plateau or recovery charge the losses are None, not zero."""
    drive = dataclasses.replace(TUNNEL, switch=Mosfet(on_resistance="50 mOhm"), diode=Diode())
    point = pwm_operating_point(drive, 0.5, "2 kHz")

    assert (point.switching_loss, point.recovery_loss, point.gate_loss, point.saturated) == (None,) * 4
    assert point.switch_loss == point.switch_conduction_loss


def test_what_switching_costs_by_hand():
    """½·V·I·t·f with the least current at turn-on and the peak at turn-off; Q_rr·V·f; Q_g·V_pin·f."""
    diode = dataclasses.replace(TUNNEL.diode, recovery_charge="20 nC")
    drive = dataclasses.replace(TUNNEL, diode=diode, pull_down=None)
    fast, slow = (pwm_operating_point(drive, 0.6, f) for f in ("50 kHz", "500 Hz"))
    on, off = 3e-9 * 190 / (3.3 - 2.2), 3e-9 * 190 / 2.2
    lowest, peak = (float(q.magnitude) for q in (fast.minimum_current, fast.peak_current))

    assert fast.continuous
    assert float(fast.switching_loss.magnitude) == pytest.approx(0.5 * 6.4 * (lowest * on + peak * off) * 50e3)
    assert float(fast.recovery_loss.magnitude) == pytest.approx(20e-9 * 6.0 * 50e3)
    assert float(fast.gate_loss.magnitude) == pytest.approx(12e-9 * 3.3 * 50e3)
    assert not slow.continuous
    assert float(slow.recovery_loss.magnitude) == 0.0
    assert float(slow.switching_loss.magnitude) == pytest.approx(0.5 * 6.4 * slow.peak_current.magnitude * off * 500)


def test_a_transistor_that_cannot_carry_the_peak_is_flagged():
    """At a gate voltage a little above the threshold the transistor, not the motor, sets the current."""
    weak = dataclasses.replace(TUNNEL, pin=dataclasses.replace(TUNNEL.pin, high_level="1.5 V"))
    held = Load(friction="1 N*m")

    assert pwm_operating_point(weak, 1.0, "1 kHz", load=held).saturated
    assert not pwm_operating_point(TUNNEL, 1.0, "1 kHz", load=held).saturated


def test_no_answer_is_said_so():
    """A gate below the threshold and a runaway have no answer; a missing inductance or breakdown voltage is named."""
    weak = dataclasses.replace(TUNNEL, pin=dataclasses.replace(TUNNEL.pin, high_level="1.1 V"))
    with pytest.raises(NoSolutionError, match="stays off"):
        pwm_operating_point(weak, 0.5, "2 kHz")

    smooth = dataclasses.replace(TUNNEL.motor, friction_torque="0 N*m")
    with pytest.raises(NoSolutionError, match="nothing brakes"):
        pwm_operating_point(
            dataclasses.replace(TUNNEL, switch=Bipolar(), motor=smooth), 0.5, "2 kHz", load=Load(weight="-1 mN*m")
        )

    unknown = dataclasses.replace(TUNNEL.motor, inductance=None)
    with pytest.raises(PartError, match=r"Motor.inductance must be known where time matters; got None. Give it in H."):
        pwm_operating_point(dataclasses.replace(TUNNEL, motor=unknown), 0.5, "2 kHz")
    with pytest.raises(PartError, match=r"Mosfet.breakdown_voltage must be known where there is no freewheel diode"):
        pwm_operating_point(
            dataclasses.replace(TUNNEL, diode=None, switch=Mosfet(on_resistance="50 mOhm")), 0.5, "2 kHz"
        )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"duty": 45}, r"duty must be from 0 to 1; got 45. A percentage\? Divide by 100."),
        ({"duty": [0.1, 1.5]}, r"duty must be from 0 to 1; got 1.5."),
        ({"duty": float("nan")}, r"duty must be one finite number"),
        ({"duty": [0.1, float("nan")]}, r"duty must be finite everywhere"),
        ({"frequency": "2000 rpm"}, r"frequency must be a quantity in Hz; got '2000 rpm'"),
        ({"frequency": "0 Hz"}, r"frequency must be more than zero, in Hz; got 0 Hz"),
        ({"voltage": "-6 V"}, r"voltage must be more than zero, in V; got -6 V"),
        ({"load": "fan"}, r"load must be a Load, or a sequence of them"),
    ],
)
def test_bad_input_is_named_with_its_value_and_a_remedy(change, message):
    """Each refusal names the argument, the value and what to do."""
    arguments = {"duty": 0.4, "frequency": "2 kHz"} | change
    with pytest.raises(PartError, match=message):
        pwm_operating_point(TUNNEL, **arguments)
