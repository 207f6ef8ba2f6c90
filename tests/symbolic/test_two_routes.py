"""Two independent routes to one number: what is derived in symbols, and what the float kernels compute."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.parts import Diode, Drive, Load, Mosfet, Motor, Pin, Supply
from labkit.simulation import (
    catalogue_point,
    chopper,
    coast_down,
    coil_emf,
    current_after,
    generator_point,
    heat_sink_resistance,
    internal_resistance,
    junction_temperature,
    kick_voltage,
    loaded_supply,
    max_dissipation,
    operating_point,
    pin_resistance,
    resistance_at,
    saturation_current,
    switching_loss,
    switching_times,
    time_to_current,
    turn_off_transient,
)
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

MOTOR = Motor(
    resistance="2.8 ohm",
    emf_constant="5.4 mV*s/rad",
    inductance="0.9 mH",
    inertia="1.2e-6 kg*m**2",
    friction_torque="0.594 mN*m",
)
PARAMETERS = {"resistance": "2.8 ohm", "emf_constant": "5.4 mV*s/rad", "friction_torque": "0.594 mN*m"}
CIRCUIT = {
    "supply_voltage": "6 V",
    "diode_drop": "0.4 V",
    "emf": "2 V",
    "resistance": "2.8 ohm",
    "inductance": "0.9 mH",
}
DRIVE = Drive(
    supply=Supply(voltage="6 V"),
    motor=MOTOR,
    switch=Mosfet(
        on_resistance="50 mOhm",
        breakdown_voltage="30 V",
        gate_drain_charge="3 nC",
        plateau_voltage="2.2 V",
        junction_to_ambient="62 K/W",
    ),
    diode=Diode(forward_voltage="0.4 V"),
    pin=Pin(high_level="3.3 V", output_resistance="40 ohm"),
    gate_resistor="150 ohm",
    pull_down=None,
)


def same(kernel, name, *, relative=1e-9, **numbers):
    """Check that the derivation of that name gives what the kernel gave."""
    this = derivation(name)
    wanted = {row.name for row in this.arguments}
    assert_quantity_close(
        kernel.to_base_units(),
        this.evaluate(**{key: value for key, value in numbers.items() if key in wanted}).to_base_units(),
        relative=relative,
    )


def test_a_free_shaft():
    """No-load speed and current, both ways of naming friction."""
    point = operating_point(MOTOR, "6 V")

    same(point.speed, "no-load speed", voltage="6 V", **PARAMETERS)
    same(point.current, "no-load current", **PARAMETERS)
    same(point.emf, "back-EMF", emf_constant="5.4 mV*s/rad", speed=point.speed)
    same(point.speed, "no-load speed from the no-load current", voltage="6 V", no_load_current="0.11 A", **PARAMETERS)


def test_a_held_shaft():
    """Stall current, heat and torque: a load that the motor cannot turn."""
    point = operating_point(MOTOR, "6 V", Load(friction="1 N*m"))

    same(point.current, "stall current", voltage="6 V", resistance="2.8 ohm")
    same(point.copper_loss, "power from voltage and resistance", voltage="6 V", resistance="2.8 ohm")
    same(point.electromagnetic_torque, "torque", emf_constant="5.4 mV*s/rad", current=point.current)


@settings(max_examples=25, deadline=None)
@given(torque=st.floats(0.01, 9.0), voltage=st.floats(4.0, 12.0))
def test_the_speed_torque_line(torque, voltage):
    """Speed, current, shaft power and efficiency at any load that the motor turns."""
    volts, load = Q_(voltage, "V"), Q_(torque * voltage / 12, "mN*m")
    point = operating_point(MOTOR, volts, Load(friction=load))
    stall = Q_(voltage / 2.8, "A")

    same(point.speed, "speed-torque line", voltage=volts, shaft_torque=load, **PARAMETERS)
    same(point.current, "current under load", no_load_current="0.11 A", shaft_torque=load, **PARAMETERS)
    same(point.current, "winding current", voltage=volts, speed=point.speed, **PARAMETERS)
    now = {"no_load_current": "0.11 A", "current": point.current, "speed": point.speed, "stall_current": stall}
    same(point.shaft_power, "shaft power", **now, **PARAMETERS)
    same(Q_(float(point.efficiency), ""), "efficiency", **now, relative=1e-8)


def test_the_top_of_the_power_curve():
    """No load of a fine scan gives more than the derived maximum, and one comes within 1e-4 of it."""
    loads = [Load(friction=Q_(step * 0.011, "mN*m")) for step in range(1, 1000)]
    powers = operating_point(MOTOR, "6 V", loads).shaft_power.to("W").magnitude
    stall_torque = derivation("stall torque").evaluate(voltage="6 V", **PARAMETERS)
    speed = derivation("no-load speed").evaluate(voltage="6 V", **PARAMETERS)
    most = derivation("maximum shaft power").evaluate(stall_torque=stall_torque, no_load_speed=speed).to("W").magnitude

    assert most * (1 - 1e-4) < powers.max() <= most * (1 + 1e-12)


def test_the_best_efficiency():
    """No load of a fine scan is more efficient than the derived best, and one comes within 1e-4 of it."""
    loads = [Load(friction=Q_(step * 0.011, "mN*m")) for step in range(1, 1000)]
    found = operating_point(MOTOR, "6 V", loads).efficiency
    ends = {"no_load_current": "0.11 A", "stall_current": Q_(6 / 2.8, "A")}
    best = derivation("maximum efficiency").evaluate(**ends).magnitude

    top = float(max(getattr(found, "magnitude", found)))
    assert best * (1 - 1e-4) < top <= best * (1 + 1e-12)


@settings(max_examples=25, deadline=None)
@given(fan=st.floats(1e-10, 1e-7), voltage=st.floats(1.0, 12.0))
def test_a_fan(fan, voltage):
    """The root of the square equation is where the kernel settles."""
    constant = Q_(fan, "N*m*s**2/rad**2")
    point = operating_point(MOTOR, Q_(voltage, "V"), Load(fan=constant))

    same(point.speed, "speed with a fan", voltage=Q_(voltage, "V"), fan=constant, relative=1e-8, **PARAMETERS)


@settings(max_examples=25, deadline=None)
@given(duty=st.floats(0.6, 0.95), frequency=st.floats(2e3, 2e5))
def test_a_continuous_current(duty, frequency):
    """Exact peak, lowest current, ripple and means of a switched loop, over two decades of frequency."""
    state = chopper("6 V", "2 V", "2.8 ohm", "0.9 mH", Q_(frequency, "Hz"), duty, diode_drop="0.4 V")
    now = {**CIRCUIT, "duty": duty, "frequency": Q_(frequency, "Hz")}

    assert bool(state.continuous)
    same(state.peak_current, "peak current under duty", relative=1e-8, **now)
    same(state.minimum_current, "minimum current under duty", relative=1e-8, **now)
    same(state.ripple, "ripple", relative=1e-7, **now)
    same(state.mean_voltage, "mean voltage under duty", **now)
    same(state.mean_current, "mean current", emf_constant="1 V*s/rad", speed="2 rad/s", **now)


def test_fast_switching_comes_to_straight_lines():
    """At 200 kHz ripple, RMS, supply, diode and switch currents are those of straight lines and smooth current."""
    state = chopper("6 V", "2 V", "2.8 ohm", "0.9 mH", "200 kHz", 0.6, diode_drop="0.4 V")
    now = {**CIRCUIT, "duty": 0.6, "frequency": "200 kHz", "mean_current": state.mean_current, "ripple": state.ripple}

    same(state.ripple, "ripple, straight lines", relative=1e-4, **now)
    same(state.rms_current, "RMS current with ripple", relative=1e-6, **now)
    same(state.supply_current, "supply current under duty", relative=1e-4, **now)
    same(state.diode_current, "diode current under duty", relative=1e-3, **now)
    same(state.switch_rms_current, "RMS current in the switch", relative=1e-3, **now)


def test_a_broken_current():
    """Peak and extinction time of a current that stops in each period."""
    state = chopper("6 V", "4.5 V", "2.8 ohm", "0.9 mH", "500 Hz", 0.3, diode_drop="0.4 V")
    now = {**CIRCUIT, "emf": "4.5 V", "duty": 0.3, "frequency": "500 Hz", "peak_current": state.peak_current}

    assert not bool(state.continuous)
    same(state.peak_current, "peak current of a broken current", **now)
    after_opening = derivation("extinction time").evaluate(
        **{key: now[key] for key in ("peak_current", "diode_drop", "emf", "resistance", "inductance")}
    )
    kernel = state.extinction_time.to("s").magnitude
    derived = after_opening.to("s").magnitude
    assert kernel == pytest.approx(derived, rel=1e-9) or kernel == pytest.approx(derived + 0.3 / 500, rel=1e-9)


def test_the_limit_of_continuous_current():
    """Just above the derived frequency the kernel's current never stops; well below it does."""
    limit = derivation("frequency for continuous current")
    now = {"supply_voltage": "6 V", "diode_drop": "0 V", "duty": 0.5, "inductance": "0.9 mH", "mean_current": "10 mA"}
    frequency = limit.evaluate(**now)
    emf = Q_(3 - 0.01 * 2.8, "V")

    assert bool(chopper("6 V", emf, "2.8 ohm", "0.9 mH", 1.01 * frequency, 0.5).continuous)
    assert not bool(chopper("6 V", emf, "2.8 ohm", "0.9 mH", 0.99 * frequency, 0.5).continuous)


def test_switching_off_through_the_diode():
    """Decay time, switch voltage, stored energy and the diode's share, while the shaft turns and while it is held."""
    for speed in ("0 rad/s", "877.8 rad/s"):
        off = turn_off_transient(DRIVE, "0.45 A", speed)
        emf = derivation("back-EMF").evaluate(emf_constant="5.4 mV*s/rad", speed=speed)
        now = {**CIRCUIT, "emf": emf, "current": "0.45 A"}

        same(off.decay_time, "freewheel decay time", **now)
        same(off.peak_switch_voltage, "peak switch voltage with a diode", **now)
        same(off.stored_energy, "energy in the winding", **now)
        same(off.diode_energy, "energy in the freewheel diode", relative=1e-8, **now)
        same(off.kick_voltage, "switch-off kick", **now)


def test_switching_off_without_the_diode():
    """With little resistance the kernel's breakdown comes to the derived even fall."""
    thin = dataclasses.replace(MOTOR, resistance=Q_("1 uohm"))
    off = turn_off_transient(dataclasses.replace(DRIVE, motor=thin, diode=None), "0.45 A")
    now = {"supply_voltage": "6 V", "breakdown_voltage": "30 V", "inductance": "0.9 mH", "current": "0.45 A"}

    same(off.decay_time, "breakdown decay time", relative=1e-6, **now)
    same(off.avalanche_energy, "energy in a transistor that breaks down", relative=1e-6, **now)


def test_a_generator_with_a_resistor():
    """Current, terminal voltage, load power and the torque that it costs."""
    point = generator_point(MOTOR, "600 rad/s", Q_("10 ohm"))
    now = {**PARAMETERS, "speed": "600 rad/s", "load_resistance": "10 ohm", "current": point.current}

    same(abs(point.current), "generator current into a resistor", **now)
    same(abs(point.load_power), "generator power into a resistor", **now)
    same(abs(point.shaft_torque), "torque that a generator costs", **now)
    same(point.terminal_voltage, "generator terminal voltage", **(now | {"current": abs(point.current)}))


def test_coasting():
    """Time to rest with nothing connected, and with a resistor."""
    now = {**PARAMETERS, "inertia": "1.2e-6 kg*m**2", "start_speed": "900 rad/s", "load_resistance": "10 ohm"}

    same(coast_down(MOTOR, "900 rad/s").time, "coasting time", relative=1e-7, **now)
    same(coast_down(MOTOR, "900 rad/s", connected=Q_("10 ohm")).time, "braking time", relative=1e-7, **now)


def test_heat():
    """Junction temperature with rising resistance, its runaway current, the heat sink and the allowed heat."""
    state = junction_temperature(DRIVE.switch, "2 A", ambient="25 degC")
    now = {
        "ambient": Q_(25, "degC"),
        "reference_temperature": Q_(25, "degC"),
        "junction_to_ambient": "62 K/W",
        "temperature_coefficient": "0.005 1/K",
        "on_resistance": "50 mOhm",
        "current": "2 A",
        "power": state.power,
        "max_junction_temperature": Q_(150, "degC"),
    }

    same(state.temperature, "junction temperature with rising resistance", **now)
    same(state.temperature, "junction temperature", **now)
    same(state.runaway_current, "runaway current", **now)
    same(max_dissipation(Q_(150, "degC"), "62 K/W"), "greatest loss without a heat sink", **now)
    sink = heat_sink_resistance("5 W", "3 K/W", "1 K/W", max_temperature=Q_(150, "degC"), ambient=Q_(25, "degC"))
    same(sink, "heat sink", **(now | {"power": "5 W", "junction_to_case": "3 K/W", "case_to_sink": "1 K/W"}))
    warm = resistance_at("2.8 ohm", Q_(90, "degC"), coefficient="0.0039 1/K")
    cold = {"resistance": "2.8 ohm", "temperature_coefficient": "0.0039 1/K", "reference_temperature": Q_(20, "degC")}
    same(warm, "resistance of a hot winding", winding_temperature=Q_(90, "degC"), **cold)
    same(Q_(90, "degC"), "winding temperature from its resistance", hot_resistance=warm, **cold)


def test_switching():
    """Turn-on and turn-off time, and the heat of both."""
    on, off = switching_times(DRIVE)
    now = {
        "high_level": "3.3 V",
        "output_resistance": "40 ohm",
        "gate_resistor": "150 ohm",
        "gate_drain_charge": "3 nC",
        "plateau_voltage": "2.2 V",
        "supply_voltage": "6 V",
        "current": "2 A",
        "frequency": "20 kHz",
        "turn_on_time": on,
        "turn_off_time": off,
    }

    same(on, "turn-on time", **now)
    same(off, "turn-off time", **now)
    same(Q_("150 ohm"), "gate resistor for a turn-on time", **now)
    same(switching_loss("6 V", "2 A", duration=on + off, frequency="20 kHz"), "switching loss", **now)
    fet = Mosfet(on_resistance="50 mOhm", threshold="1.2 V", transconductance="0.8 A/V**2")
    through = saturation_current(fet, "3 V")
    same(Q_("3 V"), "gate voltage for a current", threshold="1.2 V", transconductance="0.8 A/V**2", current=through)


def test_the_supply():
    """Sag under a load, inner resistance from two readings, the pin's output resistance."""
    loaded = loaded_supply(Supply(voltage="6 V", internal_resistance="0.6 ohm"), current="1.5 A")
    now = {"supply_voltage": "6 V", "internal_resistance": "0.6 ohm", "current": "1.5 A"}

    same(loaded.voltage, "supply voltage under load", **now)
    same(
        internal_resistance("0.9 V", "1.5 A"),
        "internal resistance from two readings",
        terminal_voltage=loaded.voltage,
        **now,
    )
    pin = {"high_level": "5 V", "loaded_level": "4.2 V", "pin_current": "20 mA"}
    same(pin_resistance("5 V", "4.2 V", "20 mA"), "output resistance of a pin", **pin)


def test_currents_in_time():
    """The current's rise, the time to a current, and the kick of a forced switch-off."""
    coil = {"voltage": "6 V", "resistance": "2.8 ohm", "inductance": "0.9 mH"}

    same(current_after("0.5 ms", **coil), "current rise", time="0.5 ms", **coil)
    same(time_to_current("1.5 A", **coil), "time to reach a current", current="1.5 A", **coil)
    kick = kick_voltage(inductance="0.9 mH", current_change="0.45 A", time="1 us")
    same(abs(kick), "kick of a forced switch-off", inductance="0.9 mH", current="0.45 A", duration="1 us")


def test_a_catalogue_line():
    """A point of a catalogue's straight lines."""
    line = {"no_load_speed": "3100 rpm", "stall_torque": "6.86 mN*m"}
    point = catalogue_point("1.23 mN*m", voltage="5 V", no_load_current="26 mA", stall_current="0.54 A", **line)

    same(point.speed, "speed from the two ends", shaft_torque="1.23 mN*m", **line)


def test_a_coil():
    """The highest EMF of a coil that turns in a field."""
    coil = coil_emf(turns=100, field="0.4 T", area="20 cm**2", speed="105 rad/s")
    now = {"turns": 100, "flux_density": "0.4 T", "coil_area": "20 cm**2", "speed": "105 rad/s"}

    same(coil.peak, "EMF of a turning coil", **now)
