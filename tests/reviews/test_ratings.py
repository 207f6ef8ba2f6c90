"""What the parts are rated for, which of them gets hot, and whether what the review says to do does mend it.

Sums are worked here by hand from the figures of the drive; limits that no data sheet prints are common practice, no source.
"""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import numpy as np
import pytest

from labkit.parts import Bipolar, Converter, Fuse, Regulator, Side
from labkit.reviews import Outcome, generic_part, review
from labkit.units import Q_, magnitude

pytestmark = pytest.mark.core

_SPEC = importlib.util.spec_from_file_location("review_design", Path(__file__).with_name("conftest.py"))
_DESIGN = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_DESIGN)
changed, SOUND = _DESIGN.changed, _DESIGN.sound_design()

DIODE, GATE = "reverse voltage of the diode", "gate voltage against its rating"
JUNCTION, LOST = "junction temperature of the transistor", "voltage lost in the transistor"
START = "current to start the shaft"


def findings(drive, duty=(0.4, 1.0), frequency="20 kHz"):
    """Return the findings by name."""
    return {found.name: found for found in review(drive, duty, frequency).findings}


def value(found, unit):
    """Return a finding's value as a float."""
    return magnitude(found.value, unit)


def shows(quantity, found, unit, *, rel=5e-3):
    """Return whether a sum shows a number of that unit, three figures of it."""
    texts = re.findall(rf"([\d.]+ [mµn]?){unit}\b", found.formula)
    return any(magnitude(Q_(text + unit), unit) == pytest.approx(quantity, rel=rel) for text in texts)


@pytest.mark.parametrize(
    ("rating", "outcome"), [("20 V", Outcome.EXCEEDED), ("28 V", Outcome.TIGHT), ("40 V", Outcome.FINE)]
)
def test_a_diode_stands_the_supply_the_other_way(rating, outcome):
    """24 V on a diode of 20 V is too much, on one of 28 V too near: a fifth should be left, as 40 V leave it."""
    high = changed(SOUND, supply={"voltage": "24 V"}, diode={"reverse_voltage": rating})
    found = findings(high)[DIODE]

    assert (found.outcome, value(found, "V")) == (outcome, 24)
    assert bool(found.remedy) == (outcome is not Outcome.FINE)


def test_a_diode_of_unknown_reverse_voltage():
    """At 12 V its figure is asked for; at 6 V there is no diode that would not stand it, and nothing is asked."""
    unread = changed(SOUND, diode={"reverse_voltage": None})

    assert DIODE not in findings(unread)
    found = findings(changed(unread, supply={"voltage": "12 V"}))[DIODE]
    assert found.outcome is Outcome.UNKNOWN
    assert "reverse voltage" in found.remedy


@pytest.mark.parametrize("build", [{"diode_reversed": True}, {"motor_on_pin": True}])
def test_a_diode_that_does_not_block_the_supply(build):
    """A diode that is the wrong way round conducts, and beside a motor on the pin there is no 24 V: no finding."""
    weak = changed(SOUND, supply={"voltage": "24 V"}, diode={"reverse_voltage": "20 V"}, build=build)

    assert DIODE not in findings(weak)
    assert DIODE not in findings(changed(SOUND, diode=None))


@pytest.mark.parametrize(
    ("high", "rating", "outcome"),
    [
        ("14 V", "12 V", Outcome.EXCEEDED),
        ("10 V", "12 V", Outcome.TIGHT),
        ("14 V", "20 V", Outcome.FINE),
        ("3.3 V", "8 V", Outcome.FINE),
    ],
)
def test_a_gate_fed_from_the_motors_supply(high, rating, outcome):
    """14 V on a gate of 12 V breaks it; 10 V leave a sixth where a fifth should be left; 20 V stand 14 V."""
    fed = changed(SOUND, pin={"high_level": high}, switch={"max_gate_voltage": rating}, pull_down=Q_("1 Mohm"))
    found = findings(fed)[GATE]

    assert found.outcome is outcome
    assert value(found, "V") == pytest.approx(magnitude(Q_(high), "V"), rel=1e-3)


def test_a_gate_of_unknown_rating():
    """Above 5 V it is asked for; a pin of 5 V breaks no transistor, and nothing is asked."""
    assert GATE not in findings(changed(SOUND, pin={"high_level": "5 V"}))
    found = findings(changed(SOUND, pin={"high_level": "12 V"}))[GATE]
    assert found.outcome is Outcome.UNKNOWN
    assert "gate-source voltage" in found.remedy


def test_above_the_motor_the_source_follows_the_gate():
    """So its gate voltage stays near the threshold, and neither rating nor on-resistance nor I²·R is the question."""
    above = changed(SOUND, pin={"high_level": "14 V"}, switch={"max_gate_voltage": "12 V"}, build={"side": Side.HIGH})

    assert {GATE, JUNCTION, LOST, "on-resistance at the real gate voltage"}.isdisjoint(findings(above))


def test_a_transistor_that_is_no_switch_burns_what_it_keeps():
    """44 mΩ at 10 V, threshold 3 V: K = 1/(2·44 mΩ·7 V); at 3.24 V some 90 mA, of 12.6 V nearly all on the transistor."""
    winch = changed(
        SOUND, supply={"voltage": "12.6 V", "internal_resistance": "0.05 ohm"}, motor={"resistance": "0.8 ohm"},
        switch=generic_part("standard-level MOSFET"),
    )  # fmt: skip
    found = findings(winch)
    amps = (3.3 * 10e3 / 10.19e3 - 3.0) ** 2 / (2 * 0.044 * 7)
    gate = found["current that the gate lets through"]

    assert value(gate, "A") == pytest.approx(amps)
    assert shows((12.6 - amps * 0.85) * amps, gate, "W")
    assert {JUNCTION, LOST, START}.isdisjoint(found)
    assert "W" not in found["on-resistance at the real gate voltage"].formula


def test_a_base_that_holds_the_motor_back():
    """(3.3 - 0.7) V through 4.74 kΩ is 0.55 mA, ten times that 5.5 mA: nothing starts, and no part is praised for it."""
    starved = changed(SOUND, switch=Bipolar(base_resistor="4.7 kohm", junction_to_ambient="200 K/W"))
    found = findings(starved)

    assert value(found["collector current that the base allows"], "A") == pytest.approx(10 * 2.6 / 4740)
    assert review(starved).trouble == "gate"
    assert {JUNCTION, LOST, START}.isdisjoint(found)


def test_a_base_takes_its_current_out_of_the_pin():
    """2.6 V over 10 Ω and the pin's 40 Ω is 52 mA of a 20 mA pin; 2.6 V/20 mA - 40 Ω = 90 Ω is the least."""
    small = Bipolar(base_resistor="10 ohm")
    found = findings(changed(SOUND, switch=small))["base current out of the pin"]
    unread = findings(changed(SOUND, switch=small, pin={"current_limit": None}))["base current out of the pin"]

    assert (found.outcome, value(found, "A")) == (Outcome.EXCEEDED, pytest.approx(52e-3))
    assert "90.0 Ω or more" in found.remedy
    assert unread.outcome is Outcome.UNKNOWN
    assert "base current out of the pin" not in findings(SOUND)


def test_a_weight_on_the_drum_is_started_too():
    """9 mN·m of weight and 0.9 mN·m of friction over 5.4 mN·m/A take 1.83 A, all but what the standstill gives."""
    found = findings(changed(SOUND, load={"weight": "9 mN*m"}))[START]
    helped = findings(changed(SOUND, load={"weight": "-9 mN*m"}))[START]

    assert magnitude(found.limit, "A") == pytest.approx(9.9 / 5.4)
    assert found.outcome is Outcome.TIGHT
    assert magnitude(helped.limit, "A") == pytest.approx(0.9 / 5.4)


def test_the_diode_of_a_fan_works_hardest_between_the_ends():
    """A fan's current grows nearly as the square of the duty, so that (1 - D)·I is greatest in the midst.

    By hand: kω = D·V - (1 - D)·V_F - I·R with k·I = friction + fan·ω², at 2000 duties.
    """
    fan = changed(SOUND, motor={"friction_torque": "1 uN*m"}, load={"fan": "4e-8 N*m*s**2/rad**2"})
    duty = np.linspace(0.2, 1.0, 2000)
    ohms, volts = 2.8 + 0.3 * duty + duty * 0.0458, 6 * duty - 0.4 * (1 - duty)
    amps = np.array([
        np.roots([4e-8 * r / 5.4e-3, 5.4e-3, 1e-6 * r / 5.4e-3 - v]).max() for r, v in zip(ohms, volts, strict=True)
    ])  # fmt: skip
    carried = (1 - duty) * (1e-6 + 4e-8 * amps**2) / 5.4e-3
    found = findings(fan, duty=(0.2, 1.0))["mean current through the diode"]

    assert value(found, "A") == pytest.approx(carried.max(), rel=0.05)
    assert carried.max() > 1.5 * carried[0]


def test_a_diode_that_is_backwards_is_never_fine():
    """Even where the gate turns nothing on, and the short circuit waits for a better transistor."""
    found = findings(
        changed(SOUND, switch={"threshold": "5 V", "on_resistance": "0.1 ohm"}, build={"diode_reversed": True})
    )

    assert found["current through the diode with the transistor on"].outcome is Outcome.EXCEEDED


def test_a_transistor_that_breaks_down_on_the_supply_alone():
    """5 V of breakdown on 6 V take more than any kick: no sum of the kick, and no praise."""
    found = findings(changed(SOUND, diode=None, switch={"breakdown_voltage": "5 V"}))

    assert found["energy into the transistor at each switch-off"].outcome is Outcome.EXCEEDED
    assert "6.00 V" in found["energy into the transistor at each switch-off"].formula


def test_the_diodes_heat_has_its_slope():
    """1.5 A mean of 2 A: (0.32 V + 0.08 Ω·2 A)·1.5 A = 0.72 W, not 0.48 W."""
    big = changed(
        SOUND, supply={"voltage": "12 V", "internal_resistance": "0 ohm"}, motor={"resistance": "0.5 ohm"},
        load={"friction": Q_(2 * 5.4e-3 - 0.594e-3, "N*m"), "fan": "0 N*m*s**2/rad**2"}, diode=generic_part("Schottky diode"),
    )  # fmt: skip

    assert shows(0.72, findings(big, duty=(0.25, 1.0))["mean current through the diode"], "W", rel=0.01)


def test_a_bipolar_transistors_volt_is_missing_at_the_start():
    """Of 6 V a Darlington leaves 4.8 V: 4.8 V/3.1 ohm = 1.55 A, and (2.8·0.9/5.4 + 0.4)/5.2 = 0.17 of duty to start."""
    found = findings(changed(SOUND, switch=generic_part("Darlington"), build={"start_ramp": "0 s"}))

    assert value(found["starting current from the supply"], "A") == pytest.approx(4.8 / 3.1)
    assert "4.80 V/3.10 Ω" in found["starting current from the supply"].formula
    assert magnitude(found["duty to start the motor"].limit, "") == pytest.approx((2.8 * 0.9 / 5.4 + 0.4) / 5.2)


def test_the_transistor_is_hottest_just_below_full_duty():
    """At full duty nothing is switched; just below, 2 µC·12 V·50 kHz = 1.2 W come from the diode, 74 °C on 62 °C/W."""
    slow = changed(
        SOUND, supply={"voltage": "12 V"}, motor={"rated_voltage": "12 V", "emf_constant": "12 mV*s/rad"},
        diode={"recovery_charge": "2 uC"},
    )  # fmt: skip
    rise = value(findings(slow, frequency="50 kHz")[JUNCTION], "kelvin")

    assert 1.2 * 62 < rise < 1.5 * 62
    assert value(findings(slow, duty=1.0)[JUNCTION], "kelvin") < 10


def test_a_motor_on_the_pin_gets_the_pins_voltage():
    """3.3 V of the pin, whatever the 12 V beside it."""
    on_pin = changed(SOUND, supply={"voltage": "12 V"}, build={"motor_on_pin": True})

    assert value(findings(on_pin, duty=1.0)["voltage on the motor"], "V") == pytest.approx(3.3)


def test_a_converter_says_how_many_times_the_current():
    """6 V from 3.7 V at 85 % is 1.9 times; from 12 V at 85 % it is 0.6 times."""
    for cell, times in (("3.7 V", "1.9 times"), ("12 V", "0.6 times")):
        made = changed(SOUND, supply={"made_by": Converter(cell_voltage=cell, cell_current_limit="1 A")})
        assert times in findings(made)["current out of the cell"].reason


def _source(ohms):
    return {"supply": {"internal_resistance": ohms}}


@pytest.mark.parametrize(
    ("name", "faulty", "mend"),
    [
        ("supply while the motor starts", _source("4 ohm") | {"build": {"start_ramp": "0 s"}}, _source),
        ("share of the voltage that reaches the stalled motor", _source("4 ohm"), _source),
        (LOST, {"switch": {"on_resistance": "0.9 ohm"}}, lambda ohms: {"switch": {"on_resistance": ohms}}),
        ("on-resistance at the real gate voltage", {"switch": {"on_resistance": (("3 V", "0.2 ohm"), ("10 V", "20 mohm"))}},
         lambda ohms: {"switch": {"on_resistance": (("3 V", ohms), ("10 V", "20 mohm"))}}),
        ("fuse on a stall", {"build": {"fuse": Fuse(rating="0.65 A")}},
         lambda amps: {"build": {"fuse": Fuse(rating=amps)}}),
        ("collector current that the base allows", {"switch": Bipolar(gain=200, base_resistor="4.7 kohm")},
         lambda ohms: {"switch": Bipolar(gain=200, base_resistor=ohms)}),
        ("base current out of the pin", {"switch": Bipolar(base_resistor="10 ohm")},
         lambda ohms: {"switch": Bipolar(base_resistor=ohms)}),
        ("gate voltage against its rating", {"pin": {"high_level": "14 V"}, "switch": {"max_gate_voltage": "12 V"}},
         lambda volts: {"pin": {"high_level": volts}, "switch": {"max_gate_voltage": "12 V"}}),
        (DIODE, {"supply": {"voltage": "24 V"}, "diode": {"reverse_voltage": "20 V"}},
         lambda volts: {"supply": {"voltage": "24 V"}, "diode": {"reverse_voltage": volts}}),
        ("heat in the regulator", {"supply": {"made_by": Regulator(input_voltage="20 V")}, "load": {"friction": "3 mN*m"}},
         lambda amps: {"supply": {"made_by": Regulator(input_voltage="20 V")}, "load": {"fan": "0 N*m*s**2/rad**2"},
                       "motor": {"friction_torque": Q_(amps) * Q_("5.4 mN*m/A")}}),
        ("peak current into the gate", {"gate_resistor": Q_("10 ohm")}, lambda ohms: {"gate_resistor": Q_(ohms)}),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_what_it_says_to_do_mends_it(name, faulty, mend):
    """The value that the remedy names, put into the circuit with its rounding allowed for, leaves the finding fine."""
    found = findings(changed(SOUND, **faulty), duty=1.0)[name]
    numbers = re.findall(r"([\d.]+) ([mk]?)(Ω|A|V)\b", found.remedy)
    number, prefix, unit = numbers[-1] if name == "fuse on a stall" else numbers[0]
    slack = 1.005 if "or more" in found.remedy.split(",")[0] else 0.995

    assert found.outcome in {Outcome.EXCEEDED, Outcome.TIGHT}
    mended = findings(changed(SOUND, **mend(f"{float(number) * slack} {prefix}{unit}")), duty=1.0)[name]
    assert mended.outcome is Outcome.FINE, mended.formula


def test_a_gate_that_nothing_limits_is_said_in_words():
    """Neither gate nor pin resistance: no number of amperes is given, and the finding is exceeded."""
    bare = changed(SOUND, gate_resistor="0 ohm", pin={"output_resistance": "0 ohm"})
    found = findings(bare)["peak current into the gate"]

    assert found.outcome is Outcome.EXCEEDED
    assert "nothing limits the current" in found.formula
    assert "inf" not in found.formula
