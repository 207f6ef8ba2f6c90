"""Parts are checked at birth, and what is wrong is said with the field, the value and what to do."""

from __future__ import annotations

import dataclasses
import pickle
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import PartError
from labkit.parts import Bipolar, Diode, Drive, Load, Mosfet, Motor, Pin, Supply, desk_wind_tunnel, to_si
from labkit.testing import assert_quantity_close
from labkit.units import Q_, magnitude

pytestmark = pytest.mark.core


def motor(**changes):
    """Return the desk wind tunnel's motor with some fields changed."""
    return dataclasses.replace(desk_wind_tunnel().motor, **changes)


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (
            lambda: motor(resistance="-2 ohm"),
            "Motor.resistance must be a quantity in ohm, more than zero; got '-2 ohm'",
        ),
        (lambda: motor(resistance=2.8), "Motor.resistance must be a quantity in ohm; got 2.8. Give it a unit."),
        (lambda: motor(resistance="2.8 V"), "got '2.8 V'. Check the unit."),
        (lambda: motor(resistance=None), "Motor.resistance must be a quantity in ohm, more than zero; got None"),
        (lambda: motor(inductance="0 H"), "Motor.inductance must be a quantity in H, more than zero"),
        (lambda: motor(emf_constant="5 mV/Hz"), "Hertz counts cycles"),
        (lambda: motor(friction_torque="1 mJ"), "A torque is in N*m"),
        (lambda: Supply(voltage=Q_(float("nan"), "V")), "Supply.voltage must be one finite number with its unit"),
        (lambda: Supply(voltage=Q_([1, 2], "V")), "one finite number"),
        (lambda: Supply(voltage="six volts"), "got 'six volts'"),
        (lambda: Supply(voltage="1e308 kV"), "got '1e308 kV'. Check the power of ten."),
        (lambda: Supply(voltage=True), "Supply.voltage must be a quantity in V; got True"),
        (lambda: Bipolar(gain="ten"), "Bipolar.gain"),
        (lambda: Bipolar(gain=-3), "Bipolar.gain must be a bare number, more than zero; got -3"),
        (lambda: Mosfet(on_resistance="3 V"), "Mosfet.on_resistance must be a quantity in ohm; got '3 V'"),
        (lambda: Mosfet(on_resistance=[]), "pairs of gate voltage and resistance"),
        (lambda: Mosfet(on_resistance=[("3 V", "2 ohm"), ("4 V", "3 ohm")]), "no larger at a higher gate voltage"),
        (lambda: Mosfet(on_resistance=[("3 V", "2 ohm"), ("3 V", "1 ohm")]), "once for each gate voltage"),
        (lambda: dataclasses.replace(desk_wind_tunnel(), ambient="25 C"), "coulomb"),
        (lambda: dataclasses.replace(desk_wind_tunnel(), ambient=Q_(-300, "degC")), "Drive.ambient"),
        (lambda: Drive(supply="6 V", motor=motor(), switch=Bipolar()), "Drive.supply must be a Supply"),
        (lambda: dataclasses.replace(desk_wind_tunnel(), switch=None), "Drive.switch must be a Mosfet or a Bipolar"),
    ],
)
def test_bad_parts_are_refused_by_name(build, sentence):
    """The error names the owner and the field, shows the value, and survives pickling."""
    with pytest.raises(PartError) as caught:
        build()
    assert sentence in str(caught.value)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_text_becomes_a_quantity_at_birth():
    """A field may be given as a person types it."""
    assert_quantity_close(Q_(0.47, "ohm"), motor(resistance="R47").resistance, relative=1e-12)


def test_parts_are_frozen_comparable_and_picklable():
    """A part cannot be changed in place, equals its like, and crosses a process."""
    drive = desk_wind_tunnel()

    with pytest.raises(dataclasses.FrozenInstanceError):
        drive.ambient = Q_(30, "degC")
    assert pickle.loads(pickle.dumps(drive)) == drive


def test_a_drive_may_lack_its_freewheel_diode():
    """``diode=None`` describes a circuit as built; leaving the word out means there is one."""
    drive = desk_wind_tunnel()

    assert Drive(supply=drive.supply, motor=drive.motor, switch=drive.switch).diode == Diode()
    assert dataclasses.replace(drive, diode=None).diode is None


def test_on_resistance_rows_come_sorted():
    """The table may be typed in any order."""
    part = Mosfet(on_resistance=[("10 V", "22 mOhm"), ("3V3", "0.2 ohm")])

    assert [magnitude(v, "V") for v, _ in part.on_resistance] == [3.3, 10.0]


class _MotorFloats(NamedTuple):
    resistance: float
    inductance: float
    emf_constant: float


@given(st.sampled_from(["2.8 ohm", "2800 mohm", "0.0028 kohm", "2R8"]), st.sampled_from(["0.9 mH", "900 µH"]))
def test_the_crossing_does_not_depend_on_spelling(resistance, inductance):
    """``to_si`` gives the same floats however the part was typed."""
    floats = to_si(motor(resistance=resistance, inductance=inductance), _MotorFloats)

    assert floats == pytest.approx((2.8, 0.9e-3, 5.4e-3), rel=1e-12)


def test_what_is_missing_is_asked_for_when_it_is_needed():
    """A motor without inductance is a motor; a calculation in time says that it needs it."""
    with pytest.raises(PartError, match=r"Motor\.inductance must be known for this calculation"):
        to_si(motor(inductance=None), _MotorFloats)


def test_catalogue_lines_whose_two_constants_disagree_are_reported():
    """RF-500TB-14415 at 5 V (maker's data sheet, read in a stored copy): k_T 13.35 mN·m/A, k_E 14.66 mV·s/rad."""
    fitted = Motor.from_catalogue(
        voltage=Q_("5 V"), no_load_speed=Q_("3100 rpm"), no_load_current=Q_("0.026 A"),
        stall_torque=Q_("6.86 mN*m"), stall_current=Q_("0.54 A"),
    )  # fmt: skip

    assert magnitude(fitted.torque_constant, "N*m/A") == pytest.approx(13.35e-3, rel=5e-4)
    assert magnitude(fitted.emf_constant, "V*s/rad") == pytest.approx(14.66e-3, rel=5e-4)
    assert fitted.disagreement == pytest.approx(13.35 / 14.66 - 1, abs=1e-3)
    between = magnitude(fitted.motor.emf_constant, "V*s/rad")
    assert 13.35e-3 < between < 14.66e-3


def test_swapped_catalogue_columns_are_noticed():
    """A stall current below the no-load current is refused."""
    with pytest.raises(PartError, match="columns swapped"):
        Motor.from_catalogue(
            voltage=Q_("5 V"), no_load_speed=Q_("3100 rpm"), no_load_current=Q_("0.54 A"),
            stall_torque=Q_("6.86 mN*m"), stall_current=Q_("0.026 A"),
        )  # fmt: skip


def test_defaults_are_those_the_docstrings_state():
    """No load, no friction, no wiring unless said."""
    assert magnitude(Load().friction, "N*m") == 0
    assert magnitude(Pin().high_level, "V") == 3.3
    assert magnitude(Supply(voltage="6 V").internal_resistance, "ohm") == 0
