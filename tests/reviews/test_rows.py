"""Each fault that a sum can find is found with the right number, and the mended circuit is not accused.

The sums are those that people at the bench were given after the fact (common practice, no source), with their numbers.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

from labkit.parts import (
    Bipolar,
    Converter,
    DiodePlace,
    Fuse,
    Mosfet,
    PullDownPlace,
    Regulator,
    Side,
)
from labkit.reviews import Outcome, Tolerances, generic_part, review
from labkit.units import Q_, magnitude

pytestmark = pytest.mark.core

_SPEC = importlib.util.spec_from_file_location("review_design", Path(__file__).with_name("conftest.py"))
_DESIGN = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_DESIGN)
changed, SOUND = _DESIGN.changed, _DESIGN.sound_design()


def finding(drive, name, duty=(0.4, 1.0), frequency="20 kHz", **options):
    """Return the finding of that name."""
    return review(drive, duty, frequency, **options)[name]


def value(found, unit):
    """Return a finding's value as a float."""
    return magnitude(found.value, unit)


def test_the_sound_design_is_not_accused():
    """On the reference design nothing is exceeded or unknown."""
    verdicts = {found.name: found.outcome for found in review(SOUND, (0.4, 1.0), "20 kHz").findings}

    assert {name for name, outcome in verdicts.items() if outcome in {Outcome.EXCEEDED, Outcome.UNKNOWN}} == set()
    assert len(verdicts) > 15


def test_the_sound_design_stands_at_every_corner():
    """Fresh and flat, cold and warm, hot transistor and low gate: still nothing is exceeded."""
    found = review(SOUND, (0.4, 1.0), "20 kHz", tolerances=Tolerances()).findings

    assert [f.name for f in found if f.outcome is Outcome.EXCEEDED] == []


def test_motor_on_a_pin():
    """A 3.3 V pin asked for V/(R + R_pin) = 3.3/(2.8 + 40) = 77 mA against 20 mA; behind a transistor it is not asked."""
    on_pin = changed(SOUND, build={"motor_on_pin": True})
    found = finding(on_pin, "current out of the pin")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(3.3 / 42.8)
    with pytest.raises(KeyError):
        finding(SOUND, "current out of the pin")


def test_motor_on_a_pin_of_unknown_rating():
    """A pin whose rating nobody read gives no verdict, and says what to read."""
    found = finding(changed(SOUND, build={"motor_on_pin": True}, pin={"current_limit": None}), "current out of the pin")

    assert found.verdict == "cannot tell"
    assert "data sheet" in found.remedy


def test_pin_through_a_resistor_turns_nothing():
    """3.3 V through 100 Ω, 40 Ω and 2.8 Ω gives 23 mA; starting takes 0.9 mN·m / 5.4 mN·m/A = 167 mA."""
    weak = changed(SOUND, build={"motor_on_pin": True, "series_resistor": "100 ohm"})
    found = finding(weak, "current to start the shaft")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(3.3 / 142.8)
    assert magnitude(found.limit, "A") == pytest.approx(0.9 / 5.4)
    assert finding(SOUND, "current to start the shaft").outcome is Outcome.FINE


def test_regulator_cooks():
    """(9 - 5) V at 1 A is 4 W where a board sheds 2 W: here (9 - 6) V times the running current."""
    hot = changed(SOUND, supply={"made_by": Regulator(input_voltage="20 V")}, load={"friction": "3 mN*m"})
    found = finding(hot, "heat in the regulator", duty=1.0)

    assert found.outcome is Outcome.EXCEEDED
    running = magnitude(found.value, "W") / 14.0
    assert running == pytest.approx((0.594e-3 + 3e-3) / 5.4e-3, rel=0.3)
    cool = changed(SOUND, supply={"made_by": Regulator(input_voltage="7 V")})
    assert finding(cool, "heat in the regulator", duty=1.0).outcome is Outcome.FINE


@pytest.mark.parametrize("limit", ["0.5 A", "1 A"])
def test_port_or_adaptor_folds_back_at_the_start(limit):
    """A USB port of 0.5 A, or an adaptor of 1 A, against 6 V/3.15 Ω = 1.9 A at standstill; 4 A will do."""
    weak = changed(SOUND, supply={"current_limit": limit}, build={"start_ramp": "0 s"})
    found = finding(weak, "starting current from the supply")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(6 / (2.8 + 0.3 + 1 / 22), rel=0.02)
    strong = changed(weak, supply={"current_limit": "4 A"})
    assert finding(strong, "starting current from the supply").outcome is Outcome.FINE


def test_board_resets_when_the_motor_starts():
    """V - I·r with the source counted in the current: 6 V, 2.8 Ω and r = 4 Ω leaves 6·2.85/6.85 = 2.5 V, below 2.7 V."""
    weak = changed(SOUND, supply={"internal_resistance": "4 ohm"}, build={"start_ramp": "0 s"})
    found = finding(weak, "supply while the motor starts")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(6 * 2.847 / 6.847, rel=2e-3)
    assert finding(SOUND, "supply while the motor starts").outcome is Outcome.FINE


def test_a_bigger_booster_does_not_help_a_cell():
    """V·I/(η·V_cell): 6 V·1.9 A from a 3.7 V cell at 85 % is 3.6 A, whatever the booster can do."""
    boosted = changed(SOUND, supply={"made_by": Converter(cell_voltage="3.7 V", cell_current_limit="2 A")})
    found = finding(boosted, "current out of the cell")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(6 * (6 / 3.1475) / (0.85 * 3.7), rel=0.02)
    able = changed(SOUND, supply={"made_by": Converter(cell_voltage="3.7 V", cell_current_limit="6 A")})
    assert finding(able, "current out of the cell").outcome is Outcome.FINE


@pytest.mark.parametrize(("inner", "volts"), [("10 ohm", 2.1), ("20 ohm", 1.2)])
def test_aged_block_will_not_run_a_motor(inner, volts):
    """V·R/(R + r) at stall: a 9 V block of 10 Ω gives 2.1 V into 3 Ω, one of 20 Ω 1.2 V."""
    aged = changed(SOUND, supply={"voltage": "9 V", "internal_resistance": inner}, motor={"resistance": "3 ohm"})
    found = finding(aged, "share of the voltage that reaches the stalled motor")

    assert found.outcome is Outcome.EXCEEDED
    assert 9 * value(found, "") == pytest.approx(volts, abs=0.05)
    fresh = changed(aged, supply={"internal_resistance": "1 ohm"})
    assert finding(fresh, "share of the voltage that reaches the stalled motor").outcome is Outcome.FINE


def test_three_volt_motor_on_nine():
    """Stalled heat grows with the square of the voltage: nine times at three times the rating."""
    over = changed(SOUND, supply={"voltage": "9 V"}, motor={"rated_voltage": "3 V"})
    found = finding(over, "voltage on the motor")

    assert found.outcome is Outcome.EXCEEDED
    assert "x 9.0" in found.formula
    assert "eye protection" in found.caution
    assert finding(SOUND, "voltage on the motor").outcome is Outcome.FINE


def test_series_resistor_takes_the_starting_torque():
    """Starting torque falls to R/(R + R_s): 2.8/(2.8 + 4.7) = 0.37."""
    found = finding(changed(SOUND, build={"series_resistor": "4.7 ohm"}), "starting torque behind the series resistor")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "") == pytest.approx(2.8 / 7.5)
    with pytest.raises(KeyError):
        finding(SOUND, "starting torque behind the series resistor")


def test_fuse_that_never_melts():
    """A 1.6 A cartridge needs about 2.75 times its rating (from memory), 4.4 A; the stall is 1.9 A."""
    found = finding(changed(SOUND, build={"fuse": Fuse(rating="1.6 A")}), "fuse on a stall")

    assert found.outcome is Outcome.EXCEEDED
    assert magnitude(found.limit, "A") == pytest.approx(4.4)
    assert "between" in found.remedy
    assert finding(SOUND, "fuse on a stall").outcome is not Outcome.EXCEEDED


def test_fuse_that_melts_at_once():
    """A fuse below the running current is no fuse to have."""
    found = finding(changed(SOUND, build={"fuse": Fuse(rating="0.1 A")}), "fuse on a stall")

    assert found.outcome is Outcome.EXCEEDED
    assert "running current" in found.formula


def test_resettable_fuse_fits_where_no_cartridge_does():
    """Hold above the run, trip below the stall."""
    fitted = changed(SOUND, build={"fuse": Fuse(rating="0.75 A", trip="1.5 A")})

    assert finding(fitted, "fuse on a stall").outcome is Outcome.FINE


def test_standard_level_part_on_a_33_volt_pin():
    """Threshold 3 V, printed at 10 V only: at 3.2 V it lets through a trickle, and the motor does not start."""
    wrong = changed(SOUND, switch=generic_part("standard-level MOSFET"))
    found = finding(wrong, "current that the gate lets through")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") < 0.3
    assert finding(SOUND, "current that the gate lets through").outcome is Outcome.FINE


def test_logic_level_part_that_is_warm():
    """22 mΩ at 10 V predicts 0.05 W; the 0.2 Ω at 3.3 V give 0.45 W at 1.5 A: nine times."""
    warm = changed(SOUND, switch={"on_resistance": (("3.2 V", "0.2 ohm"), ("10 V", "22 mOhm"))})
    found = finding(warm, "on-resistance at the real gate voltage")

    assert found.outcome is Outcome.EXCEEDED
    assert 1.5**2 * magnitude(found.limit, "ohm") / 4 == pytest.approx(0.0495, abs=1e-4)
    assert value(found, "ohm") == pytest.approx(0.2, rel=0.05)
    assert finding(SOUND, "on-resistance at the real gate voltage").outcome is Outcome.FINE


def test_high_voltage_part_costs_on_resistance():
    """A 400 V part is far above twice the supply, and pays for it with ohms."""
    proud = changed(SOUND, switch=generic_part("high-voltage MOSFET"), pin={"high_level": "10.3 V"})

    assert finding(proud, "breakdown voltage").outcome is Outcome.FINE
    assert value(finding(proud, "voltage lost in the transistor"), "V") == pytest.approx(6 * 0.55 / 3.65, rel=0.01)
    assert finding(proud, "voltage lost in the transistor").outcome is Outcome.EXCEEDED
    assert finding(SOUND, "voltage lost in the transistor").outcome is Outcome.FINE


def test_breakdown_below_twice_the_supply():
    """A 10 V part on 6 V has no room for spikes."""
    assert (
        finding(changed(SOUND, switch={"breakdown_voltage": "10 V"}), "breakdown voltage").outcome is Outcome.EXCEEDED
    )


def test_small_signal_part_and_a_motor():
    """0.2 A of drain current against 1.9 A at standstill."""
    small = changed(SOUND, switch=generic_part("small-signal MOSFET"), pin={"high_level": "5 V"})
    found = finding(small, "current rating of the transistor")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(6 / 3.1)
    assert finding(SOUND, "current rating of the transistor").outcome is Outcome.FINE


def test_n_channel_above_the_motor():
    """V_motor ≤ V_G - V_GS: a 12 V gate on 12 V with 2 V of threshold leaves 10 V, and burns 2 V times the current."""
    above = changed(
        SOUND, supply={"voltage": "12 V"}, pin={"high_level": "12 V"}, switch={"threshold": "2 V"}, build={"side": Side.HIGH}
    )  # fmt: skip
    found = finding(above, "voltage that reaches the motor")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(10)
    with pytest.raises(KeyError):
        finding(SOUND, "voltage that reaches the motor")


def test_npn_above_the_motor():
    """V_E = V_B - 0.7 V: a 5 V pin brings 4.3 V to a 12 V motor."""
    above = changed(
        SOUND, supply={"voltage": "12 V"}, pin={"high_level": "5 V"}, switch=Bipolar(), build={"side": Side.HIGH}
    )  # fmt: skip

    assert value(finding(above, "voltage that reaches the motor"), "V") == pytest.approx(4.3)


def test_base_resistor_for_a_starved_transistor():
    """1 kΩ from 1.5 V: I_B = 0.8 mA, ten times that is 8 mA."""
    starved = changed(
        SOUND, pin={"high_level": "1.5 V", "output_resistance": "0 ohm"}, switch=Bipolar(base_resistor="1 kohm")
    )  # fmt: skip
    found = finding(starved, "collector current that the base allows")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(8e-3)


def test_small_bipolar_from_a_20_ma_pin():
    """I_C ≤ 10·I_B: 0.2 A at most from a 20 mA pin, and the motor wants amps; a Darlington's gain carries it."""
    small = changed(SOUND, switch=Bipolar(base_resistor="10 ohm", max_collector_current="3 A"))
    found = finding(small, "collector current that the base allows")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(0.2)
    pair = changed(SOUND, switch=Bipolar(gain=500, base_emitter_voltage="1.4 V", base_resistor="150 ohm"))
    assert finding(pair, "collector current that the base allows").outcome is Outcome.FINE


def test_darlington_keeps_a_volt():
    """V_CE(sat) of 1.2 V of 6 V never reaches the motor."""
    found = finding(changed(SOUND, switch=generic_part("Darlington")), "voltage lost in the transistor")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(1.2)


def test_drain_and_source_swapped():
    """The body diode conducts: V_motor = V - 0.7 V with the gate at 0 V."""
    found = finding(changed(SOUND, build={"drain_source_swapped": True}), "voltage on the motor with the gate at 0 V")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(5.3)
    with pytest.raises(KeyError):
        finding(SOUND, "voltage on the motor with the gate at 0 V")


def test_nothing_holds_the_gate():
    """Without a pull-down the gate floats; 100 kΩ with 3 µA of leakage still holds 0.3 V."""
    floating = finding(changed(SOUND, pull_down=None), "gate while the board starts")
    held = finding(changed(SOUND, pull_down=Q_("100 kohm"), pin={"leakage": "3 µA"}), "gate while the board starts")

    assert floating.outcome is Outcome.EXCEEDED
    assert value(held, "V") == pytest.approx(0.3)
    assert held.outcome is Outcome.FINE


def test_boot_pull_up_beats_the_pull_down():
    """5·10/(10 + 35) = 1.1 V against a 0.65 V threshold; 1 kΩ holds it at 0.14 V."""
    boot = changed(SOUND, pin={"high_level": "5 V", "boot_pull_up": "35 kohm"}, switch={"threshold": "0.65 V"})
    found = finding(boot, "gate while the board starts")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(1.11, abs=5e-3)
    assert finding(changed(boot, pull_down=Q_("1 kohm")), "gate while the board starts").outcome is Outcome.FINE


@pytest.mark.parametrize(
    ("down", "place", "volts"),
    [("1 kohm", PullDownPlace.GATE, 3.76), ("10 kohm", PullDownPlace.GATE, 4.84), ("1 kohm", PullDownPlace.PIN, 5.0)],
)
def test_pull_down_divides_the_gate_drive(down, place, volts):
    """5·1000/1330 = 3.76 V on the gate's side; 10 kΩ 4.84 V; on the pin's side all of it."""
    drive = changed(
        SOUND, pin={"high_level": "5 V", "output_resistance": "0 ohm"}, gate_resistor=Q_("330 ohm"), pull_down=Q_(down),
        build={"pull_down_place": place},
    )  # fmt: skip
    found = finding(drive, "voltage that reaches the gate")

    assert value(found, "V") == pytest.approx(volts, abs=5e-3)
    assert (found.outcome is Outcome.EXCEEDED) == (volts < 4)


def test_gate_resistor_for_a_20_ma_pin():
    """3.3 V / 20 mA = 165 Ω in all: R_g = 165 - 40 = 125 Ω."""
    found = finding(changed(SOUND, gate_resistor=Q_("22 ohm")), "peak current into the gate")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(3.3 / 62)
    assert "125 Ω" in found.remedy
    assert finding(SOUND, "peak current into the gate").outcome is Outcome.FINE


def test_pwm_raised_until_the_transistor_is_hot():
    """3.3 V, plateau 2.4 V, 190 Ω, 5 nC: 1.06 µs on and 0.40 µs off; at 60 kHz that is 8.7 % of the period."""
    slow = changed(
        SOUND, switch={"plateau_voltage": "2.4 V", "gate_drain_charge": "5 nC"}, build={"pull_down_place": PullDownPlace.PIN},
        pull_down=None,
    )  # fmt: skip
    found = finding(slow, "share of each period spent switching", frequency="60 kHz")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "") == pytest.approx((1.056e-6 + 0.396e-6) * 60e3, rel=2e-3)
    assert finding(slow, "share of each period spent switching").outcome is Outcome.FINE


def test_plateau_above_the_drive():
    """A plateau at or above the drive: never fully on."""
    never = changed(SOUND, switch={"plateau_voltage": "4 V"})

    assert finding(never, "share of each period spent switching").outcome is Outcome.EXCEEDED


@pytest.mark.parametrize(("ohms", "rise"), [(0.3, 19), (1.0, 62)])
def test_does_it_need_a_heat_sink(ohms, rise):
    """T_J = T_A + P·θ_JA with 62 °C/W: 0.3 W is +19 °C, 1 W is +62 °C; 2.2 W, +136 °C, is too much."""
    drive = changed(
        SOUND, switch=Mosfet(on_resistance=Q_(ohms, "ohm"), breakdown_voltage="30 V", junction_to_ambient="62 K/W",
                             resistance_temperature_coefficient="0 1/K"),
        load={"friction": Q_(5.4e-3 - 0.594e-3, "N*m"), "fan": "0 N*m*s**2/rad**2"},
    )  # fmt: skip
    found = finding(drive, "junction temperature of the transistor", duty=1.0)

    assert value(found, "kelvin") == pytest.approx(rise, abs=0.5)
    assert found.outcome is Outcome.FINE


def test_it_needs_a_heat_sink():
    """2.2 W on 62 °C/W is +136 °C, above the 125 °C that 150 °C leaves at 25 °C."""
    drive = changed(
        SOUND, switch=Mosfet(on_resistance="2.2 ohm", junction_to_ambient="62 K/W", resistance_temperature_coefficient="0 1/K"),
        load={"friction": Q_(5.4e-3 - 0.594e-3, "N*m"), "fan": "0 N*m*s**2/rad**2"},
    )  # fmt: skip
    found = finding(drive, "junction temperature of the transistor", duty=1.0)

    assert value(found, "kelvin") == pytest.approx(136, abs=0.5)
    assert found.outcome is Outcome.EXCEEDED
    assert found.caution


@pytest.mark.parametrize("place", [None, DiodePlace.TRANSISTOR])
def test_no_diode_in_the_motors_loop(place):
    """½LI²·V_BR/(V_BR - V): 0.9 mH, 1.9 A, 30 V and 6 V is 2.05 mJ at each switch-off of a stalled motor."""
    bare = changed(SOUND, diode=None) if place is None else changed(SOUND, build={"diode_place": place})
    found = finding(bare, "energy into the transistor at each switch-off")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "J") == pytest.approx(0.5 * 0.9e-3 * (6 / 3.1475) ** 2 * 30 / 24, rel=5e-3)
    with pytest.raises(KeyError):
        finding(SOUND, "energy into the transistor at each switch-off")


def test_a_transistor_that_stays_off_has_no_kick_to_take():
    """Some nanoamperes hold 10⁻²⁰ J: no number of a kick, but the transistor and the diode are both asked for."""
    found = finding(
        changed(SOUND, diode=None, switch=generic_part("standard-level MOSFET"), pin={"high_level": "2.5 V"}),
        "energy into the transistor at each switch-off",
    )

    assert found.outcome is Outcome.UNKNOWN
    assert found.value is None
    assert "diode" in found.remedy


def test_diode_backwards():
    """(V - V_F)/(r + R_DS): 5.6 V over 0.35 Ω is 16 A through a 1 A diode."""
    found = finding(changed(SOUND, build={"diode_reversed": True}), "current through the diode with the transistor on")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(5.6 / 0.3472, rel=5e-3)


def test_small_diode_on_a_big_motor():
    """(1 - D)·I: at D = 0.25 and 2 A smooth, 1.5 A mean through a 1 A diode."""
    big = changed(
        SOUND, supply={"voltage": "12 V", "internal_resistance": "0 ohm"}, motor={"resistance": "0.5 ohm", "rated_voltage": None},
        load={"friction": Q_(2 * 5.4e-3 - 0.594e-3, "N*m"), "fan": "0 N*m*s**2/rad**2"},
    )  # fmt: skip
    found = finding(big, "mean current through the diode", duty=(0.25, 1.0))

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "A") == pytest.approx(1.5, rel=0.01)
    assert finding(SOUND, "mean current through the diode").outcome is Outcome.FINE


def test_slow_diode_under_pwm():
    """Q_rr·V·f: 1 µC, 6 V, 20 kHz is 0.12 W; a Schottky diode has nothing to recover."""
    found = finding(changed(SOUND, diode=generic_part("silicon diode")), "recovery loss of the diode")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "W") == pytest.approx(0.12)
    assert finding(SOUND, "recovery loss of the diode").outcome is Outcome.FINE


def test_hums_and_does_not_start():
    """(V_start + V_F)/(V + V_F): with 2 V to start and 6 V, 0.375 (with an ideal diode 0.333)."""
    stiff = changed(SOUND, motor={"starting_torque": Q_(2 / 2.8 * 5.4e-3, "N*m")})
    found = finding(stiff, "duty to start the motor", duty=(0.3, 1.0))

    assert found.outcome is Outcome.EXCEEDED
    assert magnitude(found.limit, "") == pytest.approx(2.4 / 6.4)
    assert finding(stiff, "duty to start the motor", duty=(0.6, 1.0)).outcome is Outcome.FINE


def test_will_not_creep():
    """Starting takes (2.8·3/5.4 + 0.4)/6.4 = 0.31 of duty, running on 0.11: between them only a boost helps."""
    stiff = changed(SOUND, motor={"starting_torque": "3 mN*m"})
    found = finding(stiff, "duty to creep without a boost", duty=(0.25, 1.0))

    assert found.outcome is Outcome.EXCEEDED
    assert magnitude(found.limit, "") == pytest.approx((2.8 * 3 / 5.4 + 0.4) / 6.4)
    assert "50 ms" in found.remedy
    with pytest.raises(KeyError):
        finding(changed(stiff, build={"start_boost": True}), "duty to creep without a boost", duty=(0.25, 1.0))


def test_fifty_is_not_fifty_per_cent():
    """50 of 255 is 19.6 %."""
    found = finding(SOUND, "duty that the program's number gives", duty=0.5, duty_count=50)

    assert found.outcome is Outcome.EXCEEDED
    assert "19.6 %" in found.formula
    assert "128" in found.remedy
    assert finding(SOUND, "duty that the program's number gives", duty=0.5, duty_count=128).outcome is Outcome.FINE


def test_pin_without_pwm():
    """Only full or off."""
    assert finding(changed(SOUND, build={"pin_has_pwm": False}), "PWM on this pin").outcome is Outcome.EXCEEDED
    with pytest.raises(KeyError):
        finding(SOUND, "PWM on this pin")


def test_loud_whine():
    """1 kHz is heard: a nuisance, so tight and not exceeded."""
    assert finding(SOUND, "frequency above hearing", frequency="1 kHz").outcome is Outcome.TIGHT
    assert finding(SOUND, "frequency above hearing").outcome is Outcome.FINE


def test_speed_not_proportional_to_duty():
    """V·D(1 - D)/(2·L·f) = 6·0.24/(2·0.9 mH·500 Hz) = 1.6 A, far above the mean current: the current stops."""
    found = finding(SOUND, "ripple against the mean current", frequency="500 Hz")

    assert found.outcome is Outcome.TIGHT
    assert value(found, "A") == pytest.approx(1.6)
    assert finding(SOUND, "ripple against the mean current").outcome is Outcome.FINE


def test_capacitor_across_the_motor():
    """C·V²·f: 100 µF, 14.8 V, 500 Hz is about 11 W; 100 nF is nothing."""
    smooth = changed(SOUND, supply={"voltage": "14.8 V"}, build={"motor_capacitor": "100 µF"})
    found = finding(smooth, "power to charge the motor's capacitor", frequency="500 Hz")

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "W") == pytest.approx(11, abs=0.1)
    quiet = changed(SOUND, build={"motor_capacitor": "100 nF"})
    assert finding(quiet, "power to charge the motor's capacitor", frequency="500 Hz").outcome is Outcome.FINE


def test_jerky_start():
    """Without a ramp the start takes many times the running current; with one there is nothing to say."""
    free = changed(SOUND, load={"fan": "0 N*m*s**2/rad**2"}, build={"start_ramp": "0 s"})

    assert finding(free, "starting current over running current").outcome is Outcome.TIGHT
    with pytest.raises(KeyError):
        finding(SOUND, "starting current over running current")


def test_two_supplies_and_no_common_ground():
    """V_GS is not defined until the negatives are joined."""
    assert finding(changed(SOUND, build={"common_ground": False}), "common ground").outcome is Outcome.EXCEEDED
    with pytest.raises(KeyError):
        finding(SOUND, "common ground")


def test_thin_shared_ground():
    """2 A in 0.1 Ω shifts the ground by 0.2 V."""
    thin = changed(
        SOUND, supply={"voltage": "12 V"}, motor={"rated_voltage": None}, build={"shared_return": "0.1 ohm"},
        load={"friction": Q_(2 * 5.4e-3 - 0.594e-3, "N*m"), "fan": "0 N*m*s**2/rad**2"},
    )  # fmt: skip
    found = finding(thin, "shift of the shared ground", duty=1.0)

    assert found.outcome is Outcome.EXCEEDED
    assert value(found, "V") == pytest.approx(0.2, rel=1e-3)


def test_facts_raise_no_finding():
    """A supply that could give 5 A burns nothing, and a freewheel diode does not brake: no finding says so."""
    strong = changed(SOUND, supply={"current_limit": "50 A"})

    assert {f.name for f in review(strong, 1.0).findings} == {f.name for f in review(SOUND, 1.0).findings}
    assert review(strong, 1.0)["starting current from the supply"].outcome is Outcome.FINE


def test_tests_come_with_the_reading_to_expect():
    """What only a measurement settles is named, with the reading for this circuit."""
    tests = {test.name: test for test in review(SOUND, (0.4, 1.0)).tests}

    assert set(tests) >= {
        "supply dip at the start", "supply under load", "pin while the board starts", "transistor failed short",
        "current under PWM", "noise", "leads and contacts",
    }  # fmt: skip
    assert all(test.expect and test.do for test in tests.values())


@pytest.mark.parametrize("duty", [45, 0, -0.1, (0.1, 0.5, 0.7)])
def test_bad_duty_is_refused(duty):
    """45 is a percentage; the error says so."""
    with pytest.raises(ValueError, match="duty must be above 0 to 1"):
        review(SOUND, duty)


def test_a_motor_without_friction_gets_no_praise():
    """No friction and no load would mean no running current: that is said, and no sum that rests on it is shown."""
    bare = changed(SOUND, motor={"friction_torque": "0 N*m"}, load={"fan": "0 N*m*s**2/rad**2"})
    found = {f.name: f for f in review(bare, (0.4, 1.0)).findings}

    assert found["running current"].verdict == "cannot tell"
    assert "friction" in found["running current"].remedy
    for name in ("fuse on a stall", "mean current through the diode", "junction temperature of the transistor"):
        assert name not in found


@pytest.mark.parametrize(
    "places",
    [
        {"pin": {"leakage": "0 A"}},
        {"pin": {"high_level": "2 V", "boot_pull_up": "50 kohm"}, "switch": {"threshold": "4 V"}},
        {"pin": {"output_resistance": "0 ohm"}, "gate_resistor": Q_("0 ohm")},
        {"motor": {"starting_torque": "0 N*m"}},
    ],
    ids=["no leakage", "threshold at twice the pin", "no resistance at the gate", "starts by itself"],
)
def test_a_part_of_size_zero_is_no_reason_to_fail(places):
    """What a data sheet may give as nothing, and a remedy that would divide by it, still make a review."""
    assert review(changed(SOUND, **places), (0.4, 1.0), "20 kHz").findings


def test_a_leak_of_nothing_holds_the_gate_off():
    """0 A through 10 kΩ is 0 V, whatever the pull-down."""
    found = finding(changed(SOUND, pin={"leakage": "0 A"}), "gate while the board starts")

    assert value(found, "V") == 0
    assert found.outcome is Outcome.FINE
