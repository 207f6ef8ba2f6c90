"""Textbook cases of transistors, heat and duty, by the kit's own functions."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.parts import Bipolar, Diode, Drive, Mosfet, Motor, Pin, Supply
from labkit.simulation import (
    chopper,
    current_after,
    duty_cycle_temperature,
    heat_sink_resistance,
    junction_temperature,
    max_dissipation,
    on_resistance,
    ripple_harmonics,
    steady_temperature,
    switching_loss,
    switching_times,
    turn_off_transient,
)
from labkit.symbolic import derivation
from labkit.units import Q_

pytestmark = pytest.mark.core

#: A resistor as a load: so little inductance that nothing of it is seen.
NEXT_TO_NOTHING = Q_(1e-12, "H")


def resistor(voltage, resistance, duty, **switch):
    """Return the state of a chopped resistor."""
    return chopper(voltage, "0 V", resistance, NEXT_TO_NOTHING, "1 kHz", duty, **switch)


def test_a_low_side_mosfet_and_its_heat(published):
    """28 V, 6 Ω, 0.11 Ω times 2.6 when hot, D = 0.4: losses and junction temperature."""
    hot = Mosfet(on_resistance="0.11 ohm", resistance_temperature_coefficient=Q_(1.6 / 100, "1/kelvin"))
    ohms = on_resistance(hot, temperature="125 degC")
    state = resistor("28 V", "6 ohm", 0.4, switch_resistance=ohms)
    published(
        "G01",
        {
            "RDS hot": ohms,
            "I": state.peak_current,
            "V load": state.peak_current * Q_("6 ohm"),
            "P load": state.winding_loss,
            "VDS on": state.peak_current * ohms,
            "P FET": state.switch_loss,
            "Tj with P rounded to 2.3 W": steady_temperature("2.3 W", "62 K/W", ambient="40 degC"),
            "Tj unrounded": steady_temperature(state.switch_loss, "62 K/W", ambient="40 degC"),
        },
        {"Tj unrounded": (0.0104, "the source rounds the loss to 2.3 W first; unrounded it is 180.7 °C")},
    )


def test_a_bridge_and_its_heat_sink(published):
    """28 V, 15 Ω, switches of 0.375 and 0.2 Ω, D = 0.85; the heat sink for both losses as printed."""
    high = resistor("28 V", "15.2 ohm", 0.85, switch_resistance="0.375 ohm")
    low = resistor("28 V", "15.375 ohm", 0.85, switch_resistance="0.2 ohm")
    published(
        "G03",
        {
            "I": high.peak_current,
            "V load": high.peak_current * Q_("15 ohm"),
            "P high": high.switch_loss,
            "P low": low.switch_loss,
            "RthSA for 1.56 W": heat_sink_resistance(
                "1.56 W", "2.2 K/W", max_temperature="150 degC", ambient="60 degC"
            ),
        },
    )


def test_conduction_losses(published):
    """A switch of 0.6 Ω that carries 500 mA for 42 % of the time; one of 0.15 Ω with its base drive, and its heat."""
    smooth = {"voltage": "0.3 V", "current": "500 mA"}
    rms = derivation("RMS current in the switch").evaluate(duty=0.42, mean_current="500 mA")
    published(
        "G04",
        {
            "V": derivation("Ohm's law").solve_for("voltage", current="500 mA", resistance="0.6 ohm"),
            "P": derivation("power from current and resistance").evaluate(current=rms, resistance="0.6 ohm"),
        },
    )
    assert derivation("power from voltage and current").evaluate(**smooth).to("mW").magnitude == pytest.approx(150)

    rms = derivation("RMS current in the switch").evaluate(duty=0.45, mean_current="1.4 A")
    switch = derivation("power from current and resistance").evaluate(current=rms, resistance="0.15 ohm")
    base = derivation("supply current under duty").evaluate(duty=0.45, mean_current=Q_(1.4 / 50, "A"))
    drive = derivation("power from voltage and current").evaluate(voltage="12 V", current=base)
    part = Mosfet(on_resistance="0.15 ohm", junction_to_ambient="65 K/W", resistance_temperature_coefficient="0 1/K")
    junction = junction_temperature(part, rms, other_loss=drive, ambient="80 degC")
    published("G05", {"P switch": switch, "P drive": drive, "P total": junction.power, "T": junction.temperature})


def test_how_much_heat_a_part_may_make(published):
    """Largest dissipation without and with a heat sink, of a power transistor's sheet, and of a cooled rectifier."""
    room = {"ambient": "30 degC"}
    published(
        "G07",
        {
            "no sink": max_dissipation("150 degC", "1.75 K/W", "50 K/W", **room),
            "sink": max_dissipation("150 degC", "1.75 K/W", "1 K/W", "5 K/W", **room),
        },
    )
    hot = steady_temperature("2.78 W", "62 K/W", ambient="50 degC")
    published("G10", {"rise": Q_((hot - Q_(50, "degC")).to("kelvin").magnitude, "degC"), "Tj": hot})
    published(
        "G11",
        {"RthSA max": heat_sink_resistance("5 W", "3.0 K/W", "1 K/W", max_temperature="150 degC", ambient="50 degC")},
    )
    sheet = max_dissipation("175 degC", "1.3 K/W", ambient=Q_([25.0, 26.0], "degC"))
    published("G13", {"PD": sheet[0], "derating": (sheet[0] - sheet[1]) / Q_("1 K")})
    warm, cool = (max_dissipation("125 degC", "0.16 K/W", "0.08 K/W", ambient=f"{t} degC") for t in (70, 60))
    published("G15", {"P": warm, "rating gain": (cool / warm) ** 0.5 - 1})


def test_a_converter_and_its_ripple(published):
    """12 V to 5 V at 3 A, 4.7 µH and 1 MHz: conduction with its ripple, and switching (two of three recalled)."""
    duty = derivation("duty for a mean voltage").evaluate(supply_voltage="12 V", mean_voltage="5 V", diode_drop="0 V")
    choke = {"inductance": "4.7 uH", "frequency": "1 MHz", "supply_voltage": "12 V", "diode_drop": "0 V", "duty": duty}
    ripple = derivation("ripple, straight lines").evaluate(**choke)
    rms = derivation("RMS current with ripple").evaluate(mean_current="3 A", ripple=ripple)
    whole = derivation("power from current and resistance")
    high = derivation("RMS current in the switch").evaluate(duty=duty, mean_current=rms)
    low = derivation("RMS current in the switch").evaluate(duty=1 - duty, mean_current=rms)
    published(
        "G12",
        {
            "high-side conduction": whole.evaluate(current=high, resistance="100 mohm"),
            "low-side conduction (recalled)": whole.evaluate(current=low, resistance="70 mohm"),
            "switching (recalled)": switching_loss("12 V", "3 A", duration="10 ns", frequency="1 MHz"),
        },
    )


def test_a_machine_that_works_and_idles_in_turn(published, figure):
    """τ = 60 min, 10 min clutched and 20 min declutched: the printed continuous rise gives the printed peak."""
    continuous = figure("G16", "continuous rise")
    turn = duty_cycle_temperature(
        [("1 K/W", "60 min")], power=Q_(continuous.magnitude, "W"), resting_power="15 W",
        on_time="10 min", off_time="20 min", ambient="0 degC",
    )  # fmt: skip
    assert turn.after_second.magnitude == pytest.approx(40.0, abs=0.02)
    published("G16", {"max rise": turn.after_first, "continuous rise": continuous})


def test_ripple_with_a_back_emf(published):
    """220 V, 1 Ω, 5 mH, 24 V, 600 of 2000 µs: currents, powers and the first harmonics."""
    loop = {"resistance": "1 ohm", "inductance": "5 mH"}
    state = chopper("220 V", "24 V", frequency="500 Hz", duty=0.3, **loop)
    first, second, third = ripple_harmonics([1, 2, 3], swing="220 V", duty=0.3, frequency="500 Hz", **loop)
    published(
        "I01",
        {
            "Iavg": state.mean_current, "Imax": state.peak_current, "Imin": state.minimum_current,
            "I1 rms": first, "I2 rms": second, "I3 rms": third,
            "I supply avg": state.supply_current, "P in": state.supply_current * Q_("220 V"),
            "P to emf": state.mean_current * Q_("24 V"),
            "I rms (3 harmonics)": (state.mean_current**2 + first**2 + second**2 + third**2) ** 0.5,
        },
    )  # fmt: skip
    orders = ripple_harmonics(np.arange(1, 4001), swing="220 V", duty=0.3, frequency="500 Hz", **loop)
    parseval = (float(state.mean_current.magnitude) ** 2 + float(np.sum(orders.magnitude**2))) ** 0.5
    assert float(state.rms_current.magnitude) == pytest.approx(parseval, rel=1e-9)


def test_ripple_and_means(published):
    """A frequency for a ripple; a chopper with R and L; a mean by counting; a converter; a lossy switch."""
    published(
        "I03",
        {
            "f": derivation("frequency for a ripple").evaluate(
                duty=0.2, supply_voltage="500 V", diode_drop="0 V", inductance="60 mH", ripple="10 A"
            )
        },
    )
    state = chopper("100 V", "0 V", "0.5 ohm", "1 mH", Q_(1 / 3e-3, "Hz"), 1 / 3)
    published("I05", {"Imax": state.peak_current, "Imin": state.minimum_current, "Vavg": state.mean_voltage})
    duty = derivation("duty from a count").evaluate(count=5, top=20)
    published(
        "I09",
        {
            "D": duty,
            "V": derivation("mean voltage under duty").evaluate(duty=duty, supply_voltage="12 V", diode_drop="0 V"),
        },
    )
    lossy = resistor("230 V", "10 ohm", 0.4, switch_drop="2 V")
    published(
        "I13",
        {
            "Vavg": lossy.mean_voltage,
            "Vrms": lossy.rms_current * Q_("10 ohm"),
            "eff": lossy.winding_loss / (lossy.supply_current * Q_("230 V")),
        },
    )


def test_a_converter_whose_source_rounds(published):
    """12 V to 5 V, 10 Ω, 100 kHz, 220 µH: the source rounds the on-time to 4.2 µs before it takes the ripple."""
    duty = derivation("duty for a mean voltage").evaluate(supply_voltage="12 V", mean_voltage="5 V", diode_drop="0 V")
    ripple = derivation("ripple, straight lines").evaluate(
        duty=duty, supply_voltage="12 V", diode_drop="0 V", inductance="220 uH", frequency="100 kHz"
    )
    load = derivation("Ohm's law").evaluate(voltage="5 V", resistance="10 ohm")
    rounded = "the source rounds the on-time to 4.2 µs; exactly the ripple is 132.6 mA"
    published(
        "I10",
        {"D": duty, "ripple": ripple, "I load": load, "I peak": load + 0.5 * ripple},
        {"ripple": (0.008, rounded), "I peak": (0.001, rounded)},
    )


def test_speed_under_duty(published):
    """220 V gives 220 V of EMF at 1000 rpm; at D = 0.6 with 1 Ω and 20 A."""
    k = derivation("back-EMF").solve_for("emf_constant", emf="220 V", speed="1000 rpm")
    published(
        "I07",
        {
            "N": derivation("speed against duty").evaluate(
                duty=0.6,
                supply_voltage="220 V",
                mean_current="20 A",
                resistance="1 ohm",
                emf_constant=k,
                diode_drop="0 V",
            )
        },
    )


def test_a_rise_and_a_decay(published):
    """From 10 A for 2 ms on 200 V against 100 V; then 5 ms of decay, for which the source leaves the EMF out."""
    loop = {"resistance": "0.5 ohm", "inductance": "16 mH"}
    peak = current_after("2 ms", voltage="100 V", start="10 A", **loop)
    later = current_after("5 ms", voltage="0 V", start=peak, **loop)
    published("I14", {"I at turn-off": peak, "I after 5 ms (no emf in loop)": later})

    motor = Motor(resistance="0.5 ohm", inductance="16 mH", emf_constant="1 V*s/rad")
    drive = Drive(
        supply=Supply(voltage="200 V"),
        motor=motor,
        switch=Mosfet(on_resistance="1 ohm"),
        diode=Diode(forward_voltage="0 V"),
    )
    stops = turn_off_transient(drive, peak, "100 rad/s").decay_time
    assert stops.to("ms").magnitude == pytest.approx(3.27, abs=0.005)  # with the EMF that a motor has


def test_the_time_of_a_gate_charge(published):
    """44 nC at 40 mA: a plateau half way of 8 V through 100 Ω gives that current both ways."""
    gate = Mosfet(on_resistance="1 ohm", gate_drain_charge="44 nC", plateau_voltage="4 V")
    drive = Drive(
        supply=Supply(voltage="28 V"), motor=Motor(resistance="1 ohm", emf_constant="1 V*s/rad"), switch=gate,
        pin=Pin(high_level="8 V", output_resistance="0 ohm"), gate_resistor="100 ohm", pull_down=None,
    )  # fmt: skip
    on, off = switching_times(drive)
    published("M01", {"t": on})
    assert on == off
    with pytest.raises(ValueError, match="a Mosfet for this calculation"):
        switching_times(dataclasses.replace(drive, switch=Bipolar()))
