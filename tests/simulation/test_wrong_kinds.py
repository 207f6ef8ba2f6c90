"""Whatever stands in the place of an argument: a result, or a sentence that names the argument. Never a bare error.

Found so: some 350 ways to get an ``AttributeError`` or a ``TypeError`` out of these functions, half of them by an array
where one value belongs.
"""

from __future__ import annotations

import inspect

import numpy as np
import pytest

import labkit.simulation as room
from labkit.errors import LabkitError, PartError
from labkit.parts import Led, Load, desk_wind_tunnel
from labkit.units import Q_, ureg

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
MOTOR, SWITCH = TUNNEL.motor, TUNNEL.switch
COIL = {"voltage": "6 V", "resistance": "2.8 ohm", "inductance": "0.9 mH"}
LOOP = COIL | {"supply_voltage": "6 V", "emf": "1.5 V", "frequency": "20 kHz", "duty": 0.4}
LOOP.pop("voltage")
LINE = {"voltage": "5 V", "no_load_speed": "3100 rpm", "no_load_current": "26 mA", "stall_torque": "6.86 mN*m"}
WARM = {"gate_voltage": "3 V", "ambient": "25 degC", "thermal_resistance": "60 K/W", "other_loss": "0 W"}
TIMES = Q_([0.0, 1e-3, 2e-3], "s")

#: Of each function a call that is right, every argument by its name.
RIGHT = {
    "awg_diameter": {"gauge": 24},
    "battery": {"cell": TUNNEL.supply, "series": 2, "parallel": 1},
    "board_supply": {
        "start": room.motor_start(TUNNEL, TIMES), "brown_out": "3 V", "capacitance": "100 uF",
        "board_current": "10 mA", "diode_drop": "0.4 V",
    },
    "catalogue_point": LINE | {"torque": "1 mN*m", "stall_current": "0.54 A"},
    "chopper": LOOP | {"diode_drop": "0.4 V", "switch_resistance": "0 ohm", "body_diode_drop": "0.7 V"},
    "cmos_levels": {"supply_voltage": "3.3 V"},
    "coast_down": {"motor": MOTOR, "speed": "1000 rpm", "load": TUNNEL.load, "connected": "1 ohm"},
    "coil_emf": {"turns": 10, "field": "0.1 T", "area": "1 cm**2", "speed": "10 rad/s"},
    "continuous_frequency": {"drive": TUNNEL, "duty": 0.4},
    "current_after": COIL | {"time": "1 ms", "start": "0 A"},
    "duty_cycle_temperature": {
        "stages": [("62 K/W", "60 s")], "power": "1 W", "on_time": "1 s", "off_time": "1 s", "resting_power": "0 W",
        "ambient": "25 degC",
    },
    "duty_from_count": {"count": 50, "top": 255},
    "duty_ramp": {"start": 0, "end": 0.5, "frequency": "1 kHz", "over": "1 s"},
    "floating_load": {"drive": TUNNEL, "load": "10 ohm"},
    "frequency_choice": {"drive": TUNNEL, "duty": 0.4, "frequency": "2 kHz"},
    "gate_drive_voltage": {"drive": TUNNEL},
    "gate_edges": {"edges": [("1 ms", True)]},
    "generator_point": {"motor": MOTOR, "speed": "1000 rpm", "load": "10 ohm"},
    "internal_resistance": {"voltage_drop": "1 V", "current_rise": "1 A"},
    "intermittent_winding_temperature": {
        "motor": MOTOR, "current": "1 A", "on_time": "1 s", "off_time": "1 s", "ambient": "25 degC",
    },
    "junction_temperature": WARM | {"part": SWITCH, "current": "1 A"},
    "junction_warming": WARM | {"mosfet": SWITCH, "current": "1 A", "time": "1 s", "time_constant": "10 s"},
    "kick_voltage": {"inductance": "1 mH", "current_change": "1 A", "time": "1 us"},
    "lighting_speed": {"motor": MOTOR, "led": Led(), "current": "1 mA"},
    "load_current": {"load": "10 ohm", "voltage": "3 V", "shaft": Load()},
    "loaded_supply": {"supply": TUNNEL.supply, "load": "10 ohm"},
    "motor_on_supply": {"supply": TUNNEL.supply, "motor": MOTOR, "load": TUNNEL.load},
    "motor_start": {"drive": TUNNEL, "times": TIMES, "board_current": "10 mA", "ground_lead": "0.1 ohm"},
    "on_resistance": {"mosfet": SWITCH, "gate_voltage": "3 V", "temperature": "25 degC"},
    "operating_point": {"motor": MOTOR, "voltage": "6 V", "load": TUNNEL.load},
    "pick": {"result": room.operating_point(MOTOR, Q_([1, 2], "V")), "index": 0},
    "pin_point": {"pin": TUNNEL.pin, "load": "10 ohm", "shaft": Load(), "level": "3 V"},
    "pin_resistance": {"supply_voltage": "3.3 V", "output_high": "2.5 V", "test_current": "20 mA"},
    "preferred_value": {"value": "120 ohm", "series": "E12"},
    "preferred_values": {"series": "E12"},
    "pwm": {"duty": 0.4, "frequency": "1 kHz"},
    "pwm_operating_point": {
        "drive": TUNNEL, "duty": 0.4, "frequency": "2 kHz", "voltage": "6 V", "load": TUNNEL.load,
        "junction_temperature": "25 degC", "winding_temperature": "25 degC",
    },
    "pwm_period": {
        "drive": TUNNEL, "point": room.pwm_operating_point(TUNNEL, 0.4, "2 kHz"), "duty": 0.4, "frequency": "2 kHz",
        "points": 10,
    },
    "reflected_load": {"inertia": "1e-5 kg*m**2", "torque": "1 mN*m", "ratio": 0.1, "efficiency": 0.8},
    "reflected_mass": {"mass": "1 kg", "velocity": "1 m/s", "speed": "10 rad/s", "efficiency": 0.8},
    "resistance_at": {
        "resistance": "1 ohm", "temperature": "50 degC", "reference": "20 degC", "coefficient": "0.004 1/K",
        "coefficient_temperature": "20 degC",
    },
    "ripple_harmonics": {
        "orders": 1, "swing": "6 V", "duty": 0.3, "frequency": "1 kHz", "resistance": "1 ohm", "inductance": "1 mH",
    },
    "sampled_gate": {"law": lambda state: 0.4, "period": "1 ms"},  # noqa: ARG005 (what a law is shown)
    "saturation_current": {"mosfet": SWITCH, "gate_voltage": "3 V"},
    "simulate": {
        "drive": TUNNEL, "gate": room.pwm(0.4, "2 kHz"), "duration": "1 ms", "current": "0 A", "speed": "0 rpm",
        "samples": 3, "tolerance": 1e-5, "junction_temperature": "25 degC", "winding_temperature": "25 degC",
    },
    "speed_response": {"motor": MOTOR, "load": TUNNEL.load},
    "starting_duty": {"drive": TUNNEL, "frequency": "2 kHz"},
    "switch_off_course": {"drive": TUNNEL, "times": TIMES, "current": "1 A", "speed": "10 rad/s"},
    "switched_load": {"drive": TUNNEL, "load": "10 ohm", "pin_level": "3 V"},
    "switching_loss": {"voltage": "6 V", "current": "1 A", "duration": "1 us", "frequency": "1 kHz"},
    "switching_times": {"drive": TUNNEL},
    "time_to_current": COIL | {"current": "1 A", "start": "0 A"},
    "time_to_winding_limit": {"motor": MOTOR, "current": "1 A", "limit": "100 degC", "ambient": "25 degC"},
    "turn_off_transient": {"drive": TUNNEL, "current": "1 A", "speed": "100 rad/s"},
    "winding_temperature": {"motor": MOTOR, "current": "1 A", "ambient": "25 degC"},
    "winding_warming": {
        "motor": MOTOR, "time": TIMES, "voltage": "6 V", "source_resistance": "0 ohm", "ambient": "25 degC",
    },
    "wire_area": {"resistance": "1 ohm", "length": "1 m", "resistivity": "1.7e-8 ohm*m"},
    "wire_resistance": {"length": "1 m", "gauge": 24, "resistivity": "1.7e-8 ohm*m", "temperature": "20 degC"},
    "zero_resistance_temperature": {"coefficient": "0.004 1/K", "coefficient_temperature": "20 degC"},
}  # fmt: skip
#: These take any number of arguments, by position.
IN_A_ROW = {
    "heat_sink_resistance": ("1 W", "5 K/W"),
    "max_dissipation": ("150 degC", "5 K/W"),
    "steady_temperature": ("1 W", "5 K/W"),
}
WITHOUT_ARGUMENTS = {"always_off", "always_on"}
WRONG = {
    "None": None,
    "a motor": MOTOR,
    "words": "soon",
    "anything": object(),
    "a mapping": {},
    "far too much": "1e300 V",
}


def _twice(right):
    """Two of what is right, where that is a quantity or a number."""
    if isinstance(right, str):
        try:
            right = Q_(right)
        except LabkitError:
            return right
    if isinstance(right, (int, float)):
        return np.array([right, right])
    return ureg.Quantity([right.magnitude] * 2, right.units) if hasattr(right, "units") else right


def _refusal(function, given):
    """How the function refuses this, or None where it answers."""
    try:
        function(**given)
    except LabkitError as error:
        return error
    return None


def test_every_public_function_is_among_them():
    """A function that is added here must be added there."""
    functions = {name for name in room.__all__ if inspect.isfunction(getattr(room, name))}

    assert functions == RIGHT.keys() | IN_A_ROW.keys() | WITHOUT_ARGUMENTS


@pytest.mark.parametrize("name", sorted(RIGHT))
def test_a_wrong_kind_is_refused_in_words(name):
    """Each argument in turn: what is no part and no quantity is refused by name, an array taken or refused."""
    function, right = getattr(room, name), RIGHT[name]
    function(**right)

    for argument, value in right.items():
        for kind, wrong in (WRONG | {"two of it": _twice(value)}).items():
            error = _refusal(function, right | {argument: wrong})
            assert error is None or str(error)[-1] in ".?", (argument, kind)
            if kind == "anything":
                assert isinstance(error, PartError), argument
                assert argument in error.where or "stages" in error.where, (argument, error.where)
                assert error.remedy, argument


@pytest.mark.parametrize("name", sorted(IN_A_ROW))
def test_a_wrong_kind_in_a_row_is_refused_in_words(name):
    """So is one of several of a kind."""
    for place in range(len(IN_A_ROW[name])):
        for wrong in (None, MOTOR, "soon", object()):
            given = [*IN_A_ROW[name]]
            given[place] = wrong
            with pytest.raises(PartError, match="must be"):
                getattr(room, name)(*given)
