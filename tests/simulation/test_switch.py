"""What a MOSFET lets through at the gate voltage that it really gets."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.errors import PartError
from labkit.parts import Mosfet, desk_wind_tunnel
from labkit.simulation import gate_drive_voltage, on_resistance, saturation_current
from labkit.units import Q_

pytestmark = pytest.mark.core

#: Resistances of the square law 1/R = 2·K·(V - V_th) itself, with K = 0.5 A/V² and V_th = 2 V.
SQUARE = Mosfet(on_resistance=[("3 V", "1 ohm"), ("4 V", "0.5 ohm"), ("6 V", "0.25 ohm")], threshold="2 V")


def test_between_rows_it_is_the_square_law():
    """A table that obeys the square law is met exactly from the threshold to the last row, and stays after it."""
    gate = np.array([2.0, 2.5, 3.0, 3.7, 5.0, 6.0, 12.0])
    got = on_resistance(SQUARE, Q_(gate, "V")).magnitude

    assert got[0] == np.inf
    assert got[1:-1] == pytest.approx(1 / (gate[1:-1] - 2.0))
    assert got[-1] == pytest.approx(0.25)


def test_more_gate_voltage_never_means_more_resistance():
    """R falls with the gate voltage, and rises straight with temperature."""
    drive = desk_wind_tunnel()
    falling = on_resistance(drive.switch, Q_(np.linspace(1.3, 12, 200), "V")).magnitude
    rising = on_resistance(drive.switch, "3.3 V", Q_([25.0, 75.0, 125.0], "degC")).magnitude

    assert np.all(np.diff(falling) <= 0)
    assert rising / 0.05 == pytest.approx([1.0, 1.25, 1.5])


def test_one_value_holds_above_the_threshold():
    """A single on-resistance needs no gate voltage; below a known threshold the transistor is off."""
    part = Mosfet(on_resistance="50 mOhm", threshold="1.5 V")

    assert on_resistance(part) == Q_("0.05 ohm")
    assert on_resistance(part, Q_([1.5, 1.6], "V")).magnitude.tolist() == [np.inf, 0.05]


def test_the_saturation_current():
    """K·(V - V_th)², with K as given, or from the table's first row; nothing below the threshold."""
    assert float(saturation_current(SQUARE, "4 V").magnitude) == pytest.approx(0.5 * 2**2)
    assert float(saturation_current(SQUARE, "1 V").magnitude) == 0.0
    given = dataclasses.replace(SQUARE, transconductance="2 A/V**2")
    assert float(saturation_current(given, "4 V").magnitude) == pytest.approx(8.0)


def test_the_pull_down_divides_the_gate_voltage():
    """3.3 V through 40 and 150 Ω to 10 kΩ leaves 3.24 V; without the pull-down all of it; with 1 kΩ much less."""
    drive = desk_wind_tunnel()

    assert float(gate_drive_voltage(drive).magnitude) == pytest.approx(3.3 * 10_000 / 10_190)
    assert float(gate_drive_voltage(dataclasses.replace(drive, pull_down=None)).magnitude) == pytest.approx(3.3)
    assert float(gate_drive_voltage(dataclasses.replace(drive, pull_down="1 kohm")).magnitude) < 2.8


NO_THRESHOLD = Mosfet(on_resistance=[("4.5 V", "30 mOhm"), ("10 V", "20 mOhm")])
CROSSED = dataclasses.replace(NO_THRESHOLD, threshold="5 V")
REFUSED = {
    "gate missing": (lambda: on_resistance(SQUARE), "gate_voltage must be given, since the on-resistance is a table"),
    "below the table": (
        lambda: on_resistance(NO_THRESHOLD, "3.3 V"),
        r"Mosfet\.threshold must be known for a gate voltage below the on-resistance table; got None\. Give",
    ),
    "threshold in the table": (
        lambda: on_resistance(CROSSED, "3.3 V"),
        r"Mosfet\.threshold must be below the table's first",
    ),
    "the same for saturation": (
        lambda: saturation_current(CROSSED, "3.3 V"),
        r"Mosfet\.threshold must be below the table's",
    ),
    "no table": (
        lambda: saturation_current(Mosfet(on_resistance="1 ohm", threshold="2 V"), "3 V"),
        r"Mosfet\.transconductance must be known",
    ),
    "too cold": (
        lambda: on_resistance(SQUARE, "4 V", "-200 degC"),
        "temperature must be where the on-resistance is still",
    ),
    "amps for volts": (lambda: on_resistance(SQUARE, "4 A"), "gate_voltage must be a quantity in V; got '4 A'"),
}


@pytest.mark.parametrize(("ask", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_missing_or_wrong_is_named(ask, message):
    """Each refusal names the field, the value and what to do."""
    with pytest.raises(PartError, match=message):
        ask()
