"""Textbook cases of resistance, wire, inductance and sources, by the kit's own functions."""

from __future__ import annotations

import numpy as np
import pytest

from labkit.errors import NoSolutionError
from labkit.parts import Supply
from labkit.simulation import (
    COPPER_COEFFICIENT,
    COPPER_RESISTIVITY,
    awg_diameter,
    battery,
    current_after,
    internal_resistance,
    kick_voltage,
    loaded_supply,
    resistance_at,
    time_to_current,
    wire_area,
    wire_resistance,
    zero_resistance_temperature,
)
from labkit.symbolic import derivation
from labkit.units import Q_

pytestmark = pytest.mark.core


def derived(name, **quantities):
    """Return what the derivation of that name gives."""
    return derivation(name).evaluate(**quantities)


def test_a_headlight_hot_and_cold(published):
    """A lamp that draws 2.50 A hot from 12.0 V has 0.350 Ω cold: its first current is many times the running one."""
    published(
        "A01",
        {
            "R hot": derivation("Ohm's law").solve_for("resistance", voltage="12.0 V", current="2.50 A"),
            "P hot": derived("power from voltage and current", voltage="12.0 V", current="2.50 A"),
            "P cold": derived("power from voltage and resistance", voltage="12.0 V", resistance="0.350 ohm"),
            "I cold": derived("Ohm's law", voltage="12.0 V", resistance="0.350 ohm"),
        },
    )


def test_a_starter_motor(published):
    """150 A at 11.0 V."""
    published("A03", {"R": derivation("Ohm's law").solve_for("resistance", voltage="11.0 V", current="150 A")})


def test_three_resistances_in_series(published):
    """4, 9 and 11 Ω on 12 V."""
    two = derived("resistances in series", resistance="4 ohm", other_resistance="9 ohm")
    whole = derived("resistances in series", resistance=two, other_resistance="11 ohm")
    current = derived("Ohm's law", voltage="12 V", resistance=whole)
    rest = derived("resistances in series", resistance="4 ohm", other_resistance="11 ohm")
    published(
        "A04",
        {
            "I": current,
            "V across 9 ohm": derived("voltage divider", voltage="12 V", resistance=rest, other_resistance="9 ohm"),
            "P in 11 ohm": derived("power from current and resistance", current=current, resistance="11 ohm"),
        },
    )


def test_copper_wires(published):
    """20.0 m of 12 gauge with ρ = 1.72e-8 Ω·m, and 1200 m of 12 mm with 1.7e-8 Ω·m: each book its own ρ."""
    published("B01", {"R": wire_resistance("20.0 m", diameter="2.053 mm", resistivity="1.72e-8 ohm*m")})
    published("B02", {"R": wire_resistance("1200 m", diameter="12 mm", resistivity="1.7e-8 ohm*m")})
    published(
        "B01", {"R": wire_resistance("20.0 m", gauge=12, resistivity="1.72e-8 ohm*m")}
    )  # the gauge's own diameter does as well


def test_warm_wires(published):
    """A coefficient belongs to the temperature that it is printed for: 0 °C here, 20 °C there."""
    zero = {"coefficient": "0.0043 1/K", "coefficient_temperature": "0 degC", "reference": "0 degC"}
    published("B03", {"R70": resistance_at("100 ohm", "70 degC", **zero)})
    published("B04", {"R100": resistance_at("10 ohm", "100 degC", coefficient="0.004 1/K")})


def test_a_long_line_in_circular_mils(published):
    """2300 ft of 14 gauge there and back on 230 V, and the area that would make one way 0.2 Ω."""
    rho = Q_(10.09, "ohm*circular_mil/ft")
    one = wire_resistance("2300 ft", area=Q_(4107, "circular_mil"), resistivity=rho)
    both = wire_resistance("4600 ft", area=Q_(4107, "circular_mil"), resistivity=rho)
    published(
        "B07",
        {
            "R one run": one,
            "R two runs": both,
            "I short": loaded_supply(Supply(voltage="230 V"), load=both).current,
            "area": wire_area("0.2 ohm", "2300 ft", resistivity=rho),
        },
    )


def test_wires_that_warm_up_in_a_circuit(published):
    """14.0 V through two 15 Ω wires to 250 Ω, at 20 and at 35 °C (source and load inferred from the printed drops)."""
    warm = resistance_at("15 ohm", "35 degC", coefficient="0.004041 1/K")
    cold, hot = (
        loaded_supply(Supply(voltage="14.0 V", internal_resistance=2 * wire), load="250 ohm")
        for wire in (Q_("15 ohm"), warm)
    )
    published(
        "B08",
        {
            "V load at 20 C": cold.voltage,
            "V load at 35 C": hot.voltage,
            "drop per wire at 35 C": derivation("Ohm's law").solve_for("voltage", current=hot.current, resistance=warm),
        },
    )


def test_the_copper_standard(published):
    """Standard annealed copper: 1/58 Ω·mm²/m, 58 MS/m, and a straight line that would end at -234.5 °C."""
    published(
        "B09",
        {
            "rho": COPPER_RESISTIVITY,
            "conductivity": 1 / COPPER_RESISTIVITY,
            "inferred zero-resistance temp magnitude": Q_(-zero_resistance_temperature().magnitude, "degC"),
        },
    )
    rise = resistance_at("1 ohm", "90 degC", coefficient=COPPER_COEFFICIENT) / Q_("1 ohm")
    assert float(rise.magnitude) == pytest.approx(1.275, abs=5e-4)


def test_hot_windings_of_a_maker_whose_cold_is_25_degrees(published):
    """Hot resistances at 105 °C: the sheet says that cold is 20 °C, its figures say 25 °C."""
    cold = {"C21-H-175": 4.60, "C21-F-300": 2.41, "C33-L-200": 9.35, "C33-G-300": 1.40, "C33-E-300": 0.73}
    hot = {
        f"R hot {part}": resistance_at(Q_(ohms, "ohm"), "105 degC", reference="25 degC") for part, ohms in cold.items()
    }
    published("B11", hot)


def test_every_printed_gauge(published):
    """All 48 printed diameters from 4/0 to 44 follow the geometric rule."""
    names = {-3: "4/0", -2: "3/0", -1: "2/0"}
    published("B13", {str(n): awg_diameter(names.get(n, n)) for n in range(-3, 45)})


def test_a_table_of_a_rising_current(published):
    """15 V, 1 Ω, 1 H: current and voltage of the coil at the printed times."""
    loop = {"voltage": "15 V", "resistance": "1 ohm", "inductance": "1 H"}
    figures = {}
    for time in ("0.5", "1", "2", "3", "4", "5", "6", "3.5"):
        current = current_after(Q_(float(time), "s"), **loop)
        figures[f"I({time})"] = current
        figures[f"VL({time})"] = Q_("15 V") - current * Q_("1 ohm")
        assert float(derived("current rise", time=Q_(float(time), "s"), **loop).magnitude) == pytest.approx(
            float(current.magnitude), rel=1e-12
        )
    figures["VL(10) mV"] = Q_("15 V") - current_after("10 s", **loop) * Q_("1 ohm")
    published("H01", figures)


def test_decays_and_rises(published):
    """Time constants, currents after a while, and times to a current, of four books."""
    coil = {"voltage": "0 V", "resistance": "3.00 ohm", "inductance": "7.50 mH", "start": "10.0 A"}
    tau = time_to_current(Q_(10 / np.e, "A"), **coil)
    published("H02", {"tau": tau, "I(5 ms)": current_after("5 ms", **coil), "I(10 ms)": current_after("10 ms", **coil)})

    coil = {"voltage": "15 V", "resistance": "15.0 ohm", "inductance": "80.0 mH"}
    published(
        "H03", {"t99": time_to_current("0.99 A", **coil), "5 tau": time_to_current(Q_(1 - np.exp(-5), "A"), **coil)}
    )

    unit = {"voltage": "1 V", "resistance": "1 ohm", "inductance": "1 H"}
    published("H15", {"percent": current_after("3 s", **unit) / Q_("1 A")})

    first = {"voltage": "60 V", "resistance": "20 ohm", "inductance": "0.1 H"}
    second = {"voltage": "120 V", "resistance": "10 ohm", "inductance": "0.04 H"}
    third = {"voltage": "0 V", "resistance": "15 ohm", "inductance": "30 H", "start": Q_(110 / 15, "A")}
    published(
        "H08",
        {
            "i(2tau)": current_after("10 ms", **first),
            "t to 1.5 A": time_to_current("1.5 A", **first),
            "I final": current_after("10 s", **second),
            "tau": time_to_current(Q_(12 * (1 - np.exp(-1)), "A"), **second),
            "i(tau)": current_after("4 ms", **second),
            "i after 3 s": current_after("3 s", **third),
            "t to 5 A": time_to_current("5 A", **third),
        },
    )


def test_a_coil_that_freewheels_through_a_resistor(published):
    """20 V through 5.0 Ω and 4.0 mH; then the coil alone with a second 5.0 Ω (inferred from the printed results)."""
    start = current_after("1 s", voltage="20 V", resistance="5.0 ohm", inductance="4.0 mH")
    later = current_after("0.4 ms", voltage="0 V", resistance="5.0 ohm", inductance="4.0 mH", start=start)
    published("H11", {"I0": start, "I(0.4 ms)": later, "V on R2": later * Q_("5.0 ohm")})


def test_a_time_constant_read_off_a_trace(published):
    """The current is at half of its end after 1.75 ms; L is 250 mH. The book rounds τ before it takes R."""
    tau = time_to_current(Q_(1 - np.exp(-1), "A"), voltage="1 V", resistance="1 ohm", inductance="1 H")
    half = time_to_current("0.5 A", voltage="1 V", resistance="1 ohm", inductance="1 H")
    seconds = Q_("1.75 ms") * (tau / half).magnitude
    published(
        "H13",
        {"tau": seconds, "R (from rounded tau)": Q_("250 mH") / Q_("2.52 ms"), "R unrounded": Q_("250 mH") / seconds},
        {"R unrounded": (0.0019, "the source rounds τ to 2.52 ms first; unrounded it is 99.0 Ω")},
    )


def test_kicks(published):
    """L·ΔI/Δt for a coil, a solenoid, a large magnet and the stray inductance of a lead."""
    magnet = {"inductance": "25.0 H", "current_change": "100 A", "time": "80.0 ms"}
    energy = derived("energy in the winding", inductance="25.0 H", current="100 A")
    published(
        "H05",
        {
            "v1": kick_voltage(inductance="1.0 H", current_change="10 A", time="1.0 ms"),
            "v2": kick_voltage(inductance="7.50 mH", current_change="4.00 A", time="8.33 ms"),
            "v3": kick_voltage(**magnet),
            "W3": energy,
            "P3": energy / Q_("80.0 ms"),
        },
    )
    published("H07", {"v": kick_voltage(inductance="10 uH", current_change="4.5 A", time="300 ns")})


def test_batteries_under_load(published):
    """A 12.0 V battery of 0.100 Ω on 10.0 and 0.500 Ω, and an old one of 0.500 Ω; a lithium cell; a short circuit."""
    fresh, old = (Supply(voltage="12.0 V", internal_resistance=r) for r in ("0.100 ohm", "0.500 ohm"))
    a, b, d = (
        loaded_supply(fresh, load="10.0 ohm"),
        loaded_supply(fresh, load="0.500 ohm"),
        loaded_supply(old, load="0.500 ohm"),
    )
    published(
        "J01",
        {
            "I a": a.current, "V a": a.voltage, "I b": b.current, "V b": b.voltage, "P b": b.load_power,
            "I d": d.current, "V d": d.voltage, "P d": d.load_power,
        },
    )  # fmt: skip
    cell = Supply(voltage="3.0000 V", internal_resistance="2.00 ohm")
    published("J04", {"V": loaded_supply(cell, current="0.300 mA").voltage})
    source = Supply(voltage="10 V", internal_resistance="0.2 ohm")
    published(
        "J09",
        {"I": loaded_supply(source, load="1 ohm").current, "I short": loaded_supply(source, load="0 ohm").current},
    )


def test_cells_together_and_their_resistance(published):
    """Eight cells of 2.2 V and 0.2 Ω in series and in parallel; two readings give an inner resistance."""
    cell, other = (Supply(voltage=v, internal_resistance=r) for v, r in (("2.2 V", "0.2 ohm"), ("2 V", "0.02 ohm")))
    published(
        "J07",
        {
            "Rs": battery(cell, series=8).internal_resistance,
            "Es": battery(cell, series=8).voltage,
            "Rp": battery(cell, parallel=8).internal_resistance,
            "V5": loaded_supply(other, current="5 A").voltage,
            "V50": loaded_supply(other, current="50 A").voltage,
            "r": internal_resistance("1 V", "10 A"),
        },
    )
    published("J03", {"r": internal_resistance("2.00 V", "5.00 A")})


def test_a_cell_asked_for_more_than_a_short_circuit_gives(published):
    """1.58 V and 0.200 Ω cannot give 8.50 A: the book's negative voltage is what the kit refuses, naming 7.9 A."""
    cell = Supply(voltage="1.58 V", internal_resistance="0.200 ohm")
    with pytest.raises(NoSolutionError, match=r"cannot give 8\.5 A: even a short circuit draws only 7\.9 A"):
        loaded_supply(cell, current="8.50 A")

    drop = derivation("Ohm's law").solve_for("voltage", current="8.50 A", resistance="0.200 ohm")
    volts = cell.voltage - drop
    published("J10", {"V": volts, "R load": volts / Q_("8.50 A")})
