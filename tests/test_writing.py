"""Quantities as text: significant figures, suitable prefix, unit always there."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.units import Q_, magnitude, parse_quantity
from labkit.writing import figures, rpm_beside, show

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("0.4712 A", "471 mA"),
        ("999.9 mA", "1.00 A"),
        ("1000 V", "1.00 kV"),
        ("0 A", "0 A"),
        ("5.4e-3 V*s/rad", "5.40 mV·s/rad"),
        ("2.43e-3 N*m", "2.43 mN·m"),
        ("-0.45 A", "-450 mA"),
        ("62 K/W", "62.0 °C/W"),
        ("0.81", "0.810"),
        ("40 %", "40.0 %"),
        ("0.2 degC", "0.200 °C"),
        ("1e-20 V", "1.00 × 10⁻⁸ pV"),
    ],
)
def test_writes_as_a_person_would(typed, written):
    """Three figures and the prefix that suits."""
    assert show(Q_(typed)) == written


@given(st.floats(1e-11, 1e11), st.sampled_from(["A", "V", "ohm", "H", "N*m", "V*s/rad", "rad/s", "rpm"]))
def test_what_is_written_can_be_read_again(value, unit):
    """Text made by ``show`` parses back to the value within its three figures."""
    again = parse_quantity(show(Q_(value, unit)))

    assert magnitude(again, unit) == pytest.approx(value, rel=6e-3)


@pytest.mark.parametrize("unit", ["N*m", "mN*m", "uN*m", "nN*m*s/rad", "mN*m/A"])
def test_a_torque_in_a_given_unit_begins_with_its_newtons(unit):
    """Nobody writes metre-millinewtons, though pint sorts the two so."""
    assert show(Q_(2.0, unit), unit).replace("µ", "u").replace("·", "*") == f"2.00 {unit}"


def test_speed_is_written_in_both_units():
    """Revolutions per minute stand beside rad/s (877.8 rad/s x 30/pi = 8382 rpm)."""
    assert rpm_beside(Q_(877.8, "rad/s"), digits=4) == "877.8 rad/s (8382 rpm)"


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_figures_never_fail(value):
    """Any finite float is written."""
    assert figures(value)
