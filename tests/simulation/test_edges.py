"""Public functions as a person calls them: text and arrays in, quantities out, and bad input refused by name."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import (
    awg_diameter,
    battery,
    catalogue_point,
    chopper,
    coast_down,
    current_after,
    internal_resistance,
    loaded_supply,
    operating_point,
    pick,
    preferred_value,
    preferred_values,
    reflected_load,
    resistance_at,
    ripple_harmonics,
    speed_response,
    switch_off_course,
    time_to_current,
    wire_resistance,
    zero_resistance_temperature,
)
from labkit.units import Q_, ureg

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
MOTOR = TUNNEL.motor
LOOP = {
    "supply_voltage": "6 V", "emf": "1.5 V", "resistance": "2.8 ohm", "inductance": "0.9 mH", "frequency": "2 kHz",
    "duty": 0.4, "diode_drop": "0.4 V", "switch_resistance": "50 mOhm",
}  # fmt: skip


def test_the_spelling_of_a_unit_changes_nothing():
    """6 V, 6000 mV and a quantity in microvolts give one and the same state."""
    plain = chopper(**LOOP)
    spelt = chopper(
        **LOOP | {"supply_voltage": Q_(6e6, "uV"), "inductance": "900 uH", "duty": "40 %", "frequency": "2000 Hz"}
    )

    for item in dataclasses.fields(plain):
        one, other = getattr(plain, item.name), getattr(spelt, item.name)
        if isinstance(one, ureg.Quantity):
            assert float(one.magnitude) == pytest.approx(float(other.magnitude), rel=1e-12), item.name


def test_scalars_give_scalars_and_arrays_arrays():
    """One point is one number with its unit; arrays keep the shape that the arguments have together."""
    one, many = (
        chopper(**LOOP),
        chopper(**LOOP | {"duty": np.linspace(0, 1, 5)[:, None], "emf": Q_([0.0, 2.0, 9.0], "V")}),
    )

    assert isinstance(one.mean_current.magnitude, float)
    assert isinstance(one.continuous, bool)
    assert many.mean_current.shape == many.continuous.shape == many.diode_loss.shape == (5, 3)
    assert operating_point(MOTOR, Q_([[1.0], [6.0]], "V"), [Load(), Load(friction="1 mN*m")]).speed.shape == (2, 2)


def test_a_mosfet_lets_a_driven_shaft_feed_the_supply():
    """With an EMF above the supply the current is negative through a body diode, and nothing without one."""
    driven = LOOP | {"emf": "7 V"}

    assert float(chopper(**driven).mean_current.magnitude) == 0.0
    assert float(chopper(**driven, body_diode_drop="0.7 V").supply_current.magnitude) < 0.0


@given(
    inductance=st.floats(1e-6, 1), inertia=st.floats(1e-8, 1e-2), resistance=st.floats(0.05, 50), k=st.floats(1e-3, 1),
    viscous=st.floats(0, 1e-3),
)  # fmt: skip
def test_the_modes_are_those_of_the_matrix(*, inductance, inertia, resistance, k, viscous):
    """The two rates and the swing are the eigenvalues of the two state equations."""
    motor = Motor(
        resistance=Q_(resistance, "ohm"), inductance=Q_(inductance, "H"), emf_constant=Q_(k, "V*s/rad"),
        inertia=Q_(inertia, "kg*m**2"), viscous_friction=Q_(viscous, "N*m*s/rad"),
    )  # fmt: skip
    modes = speed_response(motor)
    matrix = np.array([[-resistance / inductance, -k / inductance], [k / inertia, -viscous / inertia]])
    slow, fast = sorted(-np.linalg.eigvals(matrix), key=abs)
    scale = 1e-13 * abs(fast) ** 2 / abs(slow)  # what numpy's own rounding leaves of the small one

    assert float(modes.slow_rate.magnitude) == pytest.approx(slow.real, rel=1e-6, abs=scale)
    assert float(modes.fast_rate.magnitude) == pytest.approx(fast.real, rel=1e-6)
    assert float(modes.swing.magnitude) == pytest.approx(abs(fast.imag), rel=1e-5, abs=1e-4 * abs(fast))


@pytest.mark.parametrize("inductance", ["0.9 mH", "0.9 H", "100 H"])
def test_the_speed_settles_when_it_is_said_to(inductance):
    """Integrated, a step response last enters the band of 2 % at the stated time, swinging or not."""
    motor = dataclasses.replace(MOTOR, inductance=inductance, inertia="2e-7 kg*m**2", viscous_friction="1e-7 N*m*s/rad")
    modes = speed_response(motor)
    end, henries = float(modes.gain.magnitude), float(Q_(inductance).to("H").magnitude)
    times = np.linspace(0, 3 * float(modes.settling_time.magnitude), 30_001)

    def slope(_, y):
        return [(1 - 2.8 * y[0] - 5.4e-3 * y[1]) / henries, (5.4e-3 * y[0] - 1e-7 * y[1]) / 2e-7]

    speed = solve_ivp(slope, (0, times[-1]), [0, 0], t_eval=times, method="LSODA", rtol=1e-9, atol=1e-12).y[1]
    last = times[np.flatnonzero(np.abs(speed - end) > 0.02 * end)[-1]]

    assert float(modes.settling_time.magnitude) == pytest.approx(last, rel=1e-3)


def test_a_current_rises_evenly_where_nothing_resists():
    """Without resistance t = L·(I - I₀)/V, and with next to none all figures of it are left."""
    given = {"voltage": "6 V", "inductance": "1 mH", "start": "0.5 A"}
    evenly = 1e-3 * 1.0 / 6.0

    assert time_to_current("1.5 A", resistance="0 ohm", **given).magnitude == pytest.approx(evenly, rel=1e-15)
    assert time_to_current("1.5 A", resistance="1e-9 ohm", **given).magnitude == pytest.approx(evenly, rel=1e-9)
    assert current_after(Q_(evenly, "s"), resistance="0 ohm", **given).magnitude == pytest.approx(1.5, rel=1e-15)


def test_a_fan_and_a_short_brake_a_coasting_shaft():
    """A shaft coasts longest with nothing, shorter with a fan, shortest with its terminals shorted."""
    free, fan, shorted = (
        coast_down(MOTOR, "8000 rpm", load=load, connected=connected)
        for load, connected in ((None, None), (TUNNEL.load, None), (TUNNEL.load, "0 ohm"))
    )

    assert fan.time > shorted.time
    assert float(free.electrical_loss.magnitude) == float(fan.electrical_loss.magnitude) == 0.0
    assert float(free.time.magnitude) == pytest.approx(1.2e-6 * 8000 * np.pi / 30 / 0.594e-3)
    assert float((shorted.mechanical_loss + shorted.electrical_loss).magnitude) == pytest.approx(
        float(shorted.kinetic_energy.magnitude), rel=1e-10
    )


def test_one_point_is_picked_with_what_all_share():
    """A result may hold single values beside its rows: they stay as they are."""
    course = switch_off_course(TUNNEL, Q_([1e-6, 1e-5], "s"), "0.4 A")
    last = pick(course, 1)

    assert last.current == course.current[1]
    assert last.decay_time == course.decay_time


def test_preferred_values_of_any_unit():
    """3.1 cm² is next to 3.0 cm² in E24, whatever the unit is made of."""
    assert preferred_value(Q_("3.1 cm**2")) == Q_("3.0 cm**2")


LINE = {"voltage": "5 V", "no_load_speed": "3100 rpm", "no_load_current": "26 mA", "stall_torque": "6.86 mN*m"}
COIL = {"voltage": "6 V", "resistance": "2.8 ohm", "inductance": "0.9 mH"}
CELL = Supply(voltage="1.5 V", internal_resistance="0.2 ohm")
REFUSED = {
    "percent": (
        lambda: chopper(**LOOP | {"duty": 45}),
        r"duty must be from 0 to 1; got 45\. A percentage\? Divide by 100\.",
    ),
    "negative L": (
        lambda: chopper(**LOOP | {"inductance": "-1 mH"}),
        r"inductance must be more than zero, in H; got -0\.001 H\. Check the sign and the prefix\.",
    ),
    "not a number": (lambda: chopper(**LOOP | {"emf": Q_(np.nan, "V")}), "emf must be one finite number"),
    "rpm for hertz": (lambda: chopper(**LOOP | {"frequency": "2000 rpm"}), "frequency must be a quantity in Hz"),
    "a bare number": (lambda: operating_point(MOTOR, 6), r"voltage must be a quantity in V; got 6"),
    "a list of volts": (lambda: operating_point(MOTOR, [1.0, 2.0]), "voltage must be quantities in V"),
    "words": (lambda: operating_point(MOTOR, ["six"]), "voltage must be quantities in V"),
    "yes": (lambda: operating_point(MOTOR, True), "voltage must be a quantity in V; got True"),
    "half an order": (
        lambda: ripple_harmonics(1.5, swing="6 V", duty=0.5, frequency="1 kHz", resistance="1 ohm", inductance="1 mH"),
        "orders must be whole numbers",
    ),
    "gauge": (lambda: awg_diameter("5/0"), "gauge must be 0 to 50"),
    "no size": (lambda: wire_resistance("1 m"), "gauge, diameter, area must be one of the three"),
    "two sizes": (lambda: wire_resistance("1 m", gauge=20, area="1 mm**2"), "must be one of the three"),
    "frozen": (
        lambda: resistance_at("1 ohm", "-250 degC"),
        "temperature must be where the resistance is still positive",
    ),
    "steady": (lambda: zero_resistance_temperature("0 1/K"), "never reaches zero"),
    "no load": (lambda: loaded_supply(CELL), "load must be given, or else current"),
    "too much": (
        lambda: loaded_supply(CELL, current="9 A"),
        r"cannot give 9 A: even a short circuit draws only 7\.5 A",
    ),
    "ideal short": (lambda: loaded_supply(Supply(voltage="6 V"), load="0 ohm"), "has no short-circuit current"),
    "half a cell": (lambda: battery(CELL, series=0), "series must be a whole number, 1 or more; got 0"),
    "swapped": (lambda: internal_resistance("-1 V", "1 A"), "Are the two readings swapped"),
    "no series": (lambda: preferred_values("E7"), "series must be E3, E6, E12"),
    "both sides": (
        lambda: preferred_value("1 ohm", at_least=True, at_most=True),
        "at_least, at_most must be one at most",
    ),
    "nothing": (lambda: preferred_value("0 ohm"), "value must be more than zero"),
    "above one": (lambda: reflected_load("1 kg*m**2", "1 N*m", ratio=0.1, efficiency=80), "A percentage"),
    "unknown J": (
        lambda: speed_response(dataclasses.replace(MOTOR, inertia=None)),
        r"Motor\.inertia must be known where time matters; got None\. Give it in kg\*m\*\*2\.",
    ),
    "endless": (
        lambda: coast_down(dataclasses.replace(MOTOR, friction_torque="0 N*m"), "100 rpm"),
        "the shaft never quite stops",
    ),
    "columns": (
        lambda: catalogue_point(**LINE, stall_current="20 mA"),
        "stall_current must be above the no-load current",
    ),
    "over stall": (
        lambda: catalogue_point("7 mN*m", **LINE, stall_current="0.5 A"),
        "torque must be at most the stall",
    ),
    "stuck": (
        lambda: time_to_current("1 A", voltage="0 V", resistance="0 ohm", inductance="1 H"),
        "runs from 0 A towards 0 A and never comes there",
    ),
    "too far": (lambda: time_to_current("3 A", **COIL), r"runs from 0 A towards 2\.14 A and never comes there"),
    "backwards": (lambda: time_to_current("-1 A", **COIL), "never comes there"),
    "yesterday": (lambda: current_after("-1 s", **COIL), "time must be zero or more, in s; got -1 s"),
}


@pytest.mark.parametrize(("ask", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_bad_input_is_named_with_its_value_and_a_remedy(ask, message):
    """Each refusal names the argument, the value and what to do."""
    with pytest.raises((PartError, NoSolutionError), match=message):
        ask()
