"""Standards tables and conversions against the kit's own."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants

from labkit.parts import Led, Pin, Supply
from labkit.simulation import (
    LOGIC_FAMILIES,
    THERMAL_CLASSES,
    awg_diameter,
    cmos_levels,
    internal_resistance,
    loaded_supply,
    pin_point,
    pin_resistance,
    preferred_value,
    preferred_values,
    resistance_at,
    wire_resistance,
)
from labkit.simulation.generator import shockley
from labkit.symbolic import derivation
from labkit.units import Q_

pytestmark = pytest.mark.core


def test_gauges_of_a_handbook():
    """Diameters and areas of common gauges (Kuphaldt, chapter 12; trust A)."""
    printed = {10: 0.1019, 20: 0.03196, 24: 0.02010, 30: 0.01003}
    for gauge, inches in printed.items():
        assert float(awg_diameter(gauge).to("inch").magnitude) == pytest.approx(inches, rel=5e-4)
    mils = awg_diameter(20).to("inch").magnitude * 1000
    assert round(float(mils) ** 2) == 1022


def test_copper_of_other_books_depends_on_the_coefficient():
    """CRC's resistivities follow 0.004041/K; the books' coefficients differ by 3 % at 80 K (trust A)."""
    crc = {"coefficient": "0.004041 1/K"}
    for celsius, printed in ((0, 1.543), (25, 1.712), (100, 2.22)):
        got = resistance_at("1.678 ohm", Q_(celsius, "degC"), **crc)
        assert float(got.magnitude) == pytest.approx(printed, rel=1e-3)  # CRC rounds a table, not this line

    hot = [
        resistance_at("1 ohm", "100 degC", coefficient=Q_(a, "1/kelvin")).magnitude for a in (0.0038, 0.00393, 0.0043)
    ]
    assert (max(hot) - min(hot)) / min(hot) == pytest.approx(0.03, abs=0.002)


@pytest.mark.parametrize(
    ("area", "solid", "flexible"),
    [(0.5, 36.0, 39.0), (0.75, 24.5, 26.0), (1, 18.1, 19.5), (1.5, 12.1, 13.3), (2.5, 7.41, 7.98)],
)
def test_cable_limits_leave_room_above_pure_copper(area, solid, flexible):
    """Largest resistances of IEC 60228, classes 1-2 and 5-6, in mΩ/m, lie up to 16 % over copper's own (trust A)."""
    own = float(wire_resistance("1 m", area=Q_(area, "mm**2")).to("milliohm").magnitude)

    assert own < solid < flexible < 1.16 * own


def test_preferred_values():
    """IEC 60063 as two public tables print it (trust A); E96 from memory (D), where all but 13 were checked there."""
    assert preferred_values("E6") == (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    assert set(preferred_values("E12")) - set(preferred_values("E6")) == {1.2, 1.8, 2.7, 3.9, 5.6, 8.2}
    assert set(preferred_values("E24")) - set(preferred_values("E12")) == {
        1.1, 1.3, 1.6, 2.0, 2.4, 3.0, 3.6, 4.3, 5.1, 6.2, 7.5, 9.1,
    }  # fmt: skip
    departs = {e for n, e in enumerate(preferred_values("E24")) if e != round(10 ** (n / 24), 1)}
    assert departs == {2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 8.2}
    assert preferred_values("E96")[::8] == (1.0, 1.21, 1.47, 1.78, 2.15, 2.61, 3.16, 3.83, 4.64, 5.62, 6.81, 8.25)
    assert len(preferred_values("E96")) == 96


def test_renard_values():
    """R10 of ISO 3 (D, from memory): rounded powers of ten, none further off than 1.3 %, and R5 is every other."""
    assert preferred_values("R10") == (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
    assert preferred_values("R5") == (1.0, 1.6, 2.5, 4.0, 6.3)
    assert all(abs(value / 10 ** (n / 10) - 1) < 0.013 for n, value in enumerate(preferred_values("R10")))
    assert preferred_values("E48") == preferred_values("E96")[::2]
    assert preferred_values("E3") == (1.0, 2.2, 4.7)


def test_a_preferred_value_is_the_next_one():
    """Nearest by ratio, not below, not above; a member stays itself, in any decade and unit."""
    assert preferred_value("4.9 kohm") == Q_("5.1 kohm")
    assert preferred_value("125 ohm", "E12") == Q_("120 ohm")
    assert preferred_value("125 ohm", "E12", at_least=True) == Q_("150 ohm")
    assert preferred_value("1.02 kohm", at_most=True) == Q_("1 kohm")
    assert preferred_value("96 ohm", "E6") == Q_("100 ohm")
    assert preferred_value("9.9 ohm", "E6", at_most=True) == Q_("6.8 ohm")
    for decade in range(-3, 7):
        for member in preferred_values("E24"):
            value = Q_(float(f"{member}e{decade}"), "ohm")
            for sides in ({}, {"at_least": True}, {"at_most": True}):
                assert preferred_value(value, **sides).magnitude == pytest.approx(value.magnitude, rel=1e-11)


def test_thermal_classes():
    """IEC 60085 (trust A)."""
    limits = {name: float(limit.magnitude) for name, limit in THERMAL_CLASSES.items()}

    assert limits == {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180}


def test_logic_levels():
    """V_IL, V_IH, V_OL, V_OH of the families (trust A, by two public tables); CMOS at 0.3 and 0.7 of the supply."""
    volts = {name: tuple(float(v.magnitude) for v in levels) for name, levels in LOGIC_FAMILIES.items()}

    assert volts["5 V TTL"] == volts["3.3 V LVTTL"] == (0.8, 2.0, 0.4, 2.4)
    assert volts["5 V CMOS"] == (1.35, 3.5, 0.5, 4.4)
    assert float(LOGIC_FAMILIES["5 V TTL"].low_margin.magnitude) == pytest.approx(0.4)
    assert float(LOGIC_FAMILIES["5 V TTL"].high_margin.magnitude) == pytest.approx(0.4)
    assert [float(v.magnitude) for v in cmos_levels("5 V")] == pytest.approx([1.5, 3.5])
    assert LOGIC_FAMILIES["3.3 V LVTTL"].output_high < cmos_levels("5 V")[1]  # a 3.3 V board may not reach 5 V CMOS


def test_the_resistance_of_a_real_pin():
    """A maker's V_OH and V_OL at 20 mA and 5 V imply 50 and 45 Ω at worst; at 3 V and 10 mA 90 and 60 Ω (trust A)."""
    assert float(pin_resistance("5 V", "4.0 V", "20 mA").magnitude) == pytest.approx(50)
    assert float(pin_resistance("0.9 V", "0 V", "20 mA").magnitude) == pytest.approx(45)
    assert float(pin_resistance("3 V", "2.1 V", "10 mA").magnitude) == pytest.approx(90)
    assert float(pin_resistance("0.6 V", "0 V", "10 mA").magnitude) == pytest.approx(60)


def test_a_pin_at_its_damage_limit_is_of_no_use():
    """That one family's limit of about 40 mA is one of damage, no design value (common practice, no source).

    By the maker's own figures the level has sunk there to 3.0 V at worst, below what a 5 V input takes for high.
    """
    ohms = pin_resistance("5 V", "4.0 V", "20 mA")
    pin = Pin(high_level="5 V", output_resistance=ohms, current_limit="20 mA")
    loaded = pin_point(pin, Q_("5 V") / Q_("40 mA") - ohms)

    assert float(loaded.current.to("mA").magnitude) == pytest.approx(40)
    assert float(loaded.share_of_limit) == pytest.approx(2)
    assert float(loaded.voltage.magnitude) == pytest.approx(3.0)
    assert loaded.voltage < LOGIC_FAMILIES["5 V CMOS"].input_high


def test_a_motor_on_a_nine_volt_block():
    """Over 0.4 A gripped on nine volts: winding and block together below 22.5 Ω (common practice, no source).

    The 0.1 A that it draws free says nothing yet about k: it is friction over k.
    """
    together = loaded_supply(Supply(voltage="9 V"), current="0.4 A").load_resistance

    assert float(together.magnitude) == pytest.approx(22.5)
    assert float(internal_resistance("9 V", "0.4 A").magnitude) == pytest.approx(22.5)


def test_the_thermal_voltage():
    """kT/e is 25.693 mV at 25 °C and 25.852 mV at 300 K (SI, exact constants)."""
    assert constants.k * 298.15 / constants.e * 1e3 == pytest.approx(25.693, abs=5e-4)
    assert constants.k * 300 / constants.e * 1e3 == pytest.approx(25.852, abs=5e-4)
    assert float(shockley(Led(ideality=1.0)).slope_voltage) * 1e3 == pytest.approx(25.693, abs=5e-4)


CONVERSIONS = [
    ("1 rpm", "rad/s", 0.104719755),
    ("1 V/krpm", "V*s/rad", 9.549297e-3),
    ("1 V/krpm", "ounce_inch/A", 1.352294),
    ("1 oz-in", "N*m", 7.061552e-3),
    ("1 lb-in", "N*m", 0.1129848),
    ("1 g-cm", "N*m", 9.80665e-5),
    ("1 hp", "W", 745.700),
    ("6.86 mN*m", "gcm", 70.0),
]


@pytest.mark.parametrize(("given", "unit", "printed"), CONVERSIONS)
def test_conversions(given, unit, printed):
    """Exact factors between makers' units and SI, and one that a maker prints rounded (6.86 mN·m, 70 g·cm)."""
    assert float(Q_(given).to(unit).magnitude) == pytest.approx(printed, rel=7e-4 if unit == "gcm" else 1e-6)


def test_constants_between_makers_units():
    """The k of 1000 rpm/V is 9.549 mV·s/rad, and 1.352 oz·in/A for each V/krpm (exact)."""
    k = 1 / Q_("1000 rpm/V")

    assert float(k.to("V*s/rad").magnitude) == pytest.approx(30 / (np.pi * 1000))
    assert float(Q_("1 V/krpm").to("ounce_inch/A").magnitude) == pytest.approx(1.352294, rel=1e-6)


def test_the_speed_constant_of_a_label():
    """A label of 1000 rpm/V means k = 9.549297 mV·s/rad: 30/π over it (exact arithmetic)."""
    k = derivation("speed constant").solve_for("emf_constant", speed_constant=Q_("1000 rpm/V"))

    assert float(k.to("V*s/rad").magnitude) == pytest.approx(9.549297e-3, rel=1e-6)
