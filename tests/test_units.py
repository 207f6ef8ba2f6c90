"""Quantities: what people type is read rightly, and units of one dimension but another kind never meet."""

from __future__ import annotations

import math
import multiprocessing
import os
import pickle
import subprocess
import sys
import warnings
from functools import partial

import numpy as np
import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from labkit.errors import LabkitError, UnitError
from labkit.testing import assert_quantity_close
from labkit.units import Q_, convertible, from_si, in_unit, magnitude, parse_quantity, ureg

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [
        ("470 mA", 0.47, "A"),
        ("0,47 A", 0.47, "A"),
        (".5 V", 0.5, "V"),
        ("-0.45A", -0.45, "A"),
        ("\N{MINUS SIGN}3 V", -3, "V"),
        ("4k7", 4700, "ohm"),
        ("4K7", 4700, "ohm"),
        ("4k7 Ω", 4700, "ohm"),
        ("R47", 0.47, "ohm"),
        ("2M2", 2.2e6, "ohm"),
        ("3V3", 3.3, "V"),
        ("4n7", 4.7e-9, "F"),
        ("22 mOhm", 0.022, "ohm"),
        ("2.8 \N{OHM SIGN}", 2.8, "ohm"),
        ("10 000 rpm", 10_000 * math.pi / 30, "rad/s"),
        ("1200 r/min", 40 * math.pi, "rad/s"),
        ("5.4 mV·s/rad", 5.4e-3, "V*s/rad"),
        ("5.4 mNm/A", 5.4e-3, "N*m/A"),
        ("5.4 mNm/A", 5.4e-3, "V*s/rad"),
        ("1 µH", 1e-6, "H"),
        ("1 \N{GREEK SMALL LETTER MU}H", 1e-6, "H"),
        ("62 °C/W", 62, "kelvin/W"),
        ("25 °C", 298.15, "degC"),
        ("25 ºC", 298.15, "degC"),
        ("25 ℃", 298.15, "degC"),
        ("3 amps", 3, "A"),
        ("470 milliamps", 0.47, "A"),
        ("6 Volt", 6, "V"),
        ("2 kilohms", 2000, "ohm"),
        ("2 megohm", 2e6, "ohm"),
        ("2 mohm", 2e-3, "ohm"),
        ("9100 U/min", 9100 * math.pi / 30, "rad/s"),
        ("20 rps", 40 * math.pi, "rad/s"),
        ("5.4 mVs/rad", 5.4e-3, "V*s/rad"),
        ("3 As", 3, "C"),
        ("2 N.m", 2, "N*m"),
        ("2 N-m", 2, "N*m"),
        ("2 kg cm", 0.1961330, "N*m"),  # as servos print it: kilogram-force
        ("40 %", 0.4, ""),
        ("0.4", 0.4, ""),
        ("1.2 kg·m²", 1.2, "kg*m**2"),
        ("2.5e-3 V", 2.5e-3, "V"),
        ("2.5×10^-3 V", 2.5e-3, "V"),
        ("2.5 × 10⁻³ V", 2.5e-3, "V"),
        ("3 N·m·s²/rad²", 3, "N*m*s**2/rad**2"),
    ],
)
def test_reads_what_people_type(typed, value, unit):
    """A decimal comma, the letter code of IEC 60062 (4k7, R47), signs and spellings in use are all read."""
    assert magnitude(parse_quantity(typed), unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("", "does not begin with a number"),
        ("six volts", "does not begin with a number"),
        ("1,234 A", "two ways"),
        ("470 ma", "Write mA"),
        ("5 V*10**10**10", "not a unit"),
        ("5 __import__('os')", "not a unit"),
        ("1e999 V", "too large"),
        ("9" * 400, "too long"),
        ("5 flurbs", "not a unit that labkit knows"),
        ("3.3/52", "Work the sum out first"),
        ("3.3 V / 52 ohm", "Work the sum out first"),
        ("2 x 3 V", "Work the sum out first"),
        ("3^2 V", "Work the sum out first"),
        ("6 V 2 A", "Write it as in"),
        ("nan V", "does not begin with a number"),
        ("1 2 3 V", "not a unit"),
        ("4k7 V", "not a unit"),  # the letter stands for kiloohms
    ],
)
def test_refuses_with_a_word_of_help(typed, word):
    """What is no quantity, or could be two, is refused with the reason."""
    with pytest.raises(UnitError, match=word):
        parse_quantity(typed)


@given(st.text(max_size=40))
@example("5 V ** 2 ** 9")
@example("1e5 °C/°C")
@example("0 %%")
def test_any_text_is_read_or_refused(text):
    """No text a person can type makes anything but a quantity or a UnitError."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", pint.UnitStrippedWarning)
        try:
            result = parse_quantity(text)
        except UnitError as refusal:
            result = refusal
    assert isinstance(result, (pint.Quantity, UnitError))


@given(
    st.floats(1e-9, 1e9), st.sampled_from(["A", "V", "ohm", "H"]), st.sampled_from([("m", 1e-3), ("k", 1e3), ("", 1)])
)
def test_spelling_never_changes_a_value(value, unit, prefix):
    """The same amount typed with any prefix is the same amount."""
    letter, factor = prefix

    assert magnitude(parse_quantity(f"{value / factor!r} {letter}{unit}"), unit) == pytest.approx(value, rel=1e-12)


def test_a_newton_metre_is_no_textile_unit():
    """``Nm`` is torque in every pint: before 0.26 pint itself reads it as length over mass."""
    assert Q_("1 Nm").dimensionality == Q_("1 J").dimensionality
    assert magnitude(Q_("1 mNm"), "N*m") == pytest.approx(1e-3)


@pytest.mark.parametrize(
    ("typed", "unit", "word"),
    [
        ("60 rpm", "Hz", "shaft speed"),
        ("1 rps", "Hz", "shaft speed"),
        ("1 turn/s", "Hz", "shaft speed"),
        ("2 kHz", "rad/s", "Hertz counts cycles"),
        ("10 1/s", "rad/s", "Say what turns"),
        ("5 V/Hz", "V*s/rad", "Hertz counts cycles"),
        ("5 J", "N*m", "joule is energy"),
        ("5 erg", "N*m", "joule is energy"),
        ("5 N*m", "J", "is a torque"),
        ("40 degrees", "", "It is an angle"),
        ("5", "V", "Give it a unit"),
        ("25 C", "degC", "coulomb"),
        ("62 C/W", "kelvin/W", "'62 °C/W'.*coulomb"),
        ("10 delta_degC", "degC", "difference of two temperatures"),
        ("5 A", "V", "Check the unit"),
    ],
)
def test_kinds_that_share_a_dimension_are_kept_apart(typed, unit, word):
    """Shaft speed never meets hertz, nor torque energy, though pint would convert them."""
    with pytest.raises(UnitError, match=word):
        in_unit(Q_(typed), unit, "value")
    assert not convertible(Q_(typed), unit)


@pytest.mark.parametrize(
    ("value", "unit", "word"),
    [
        (None, None, "got None"),
        (True, "V", "got True"),
        (b"5 V", None, "got b'5 V'"),
        (5 + 2j, "V", "got .5.2j."),
        ([1, "x"], "V", "got .1, 'x'."),
        ({}, "V", "got {}"),
        (5, "flurb", "not a unit that labkit knows"),
        ("5 V", "flurb", "not a unit that labkit knows"),
    ],
)
def test_what_is_no_quantity_is_refused(value, unit, word):
    """Whatever is put into ``Q_`` is a quantity or refused in words of ours, never in pint's."""
    with pytest.raises(UnitError, match=word):
        Q_(value, unit)


def test_a_difference_is_not_taken_for_a_temperature():
    """A rise of 10 °C would be 10 K, far below any room: it is refused as a temperature, and fine as a difference."""
    rise = Q_("62 °C/W") * Q_("0.5 W")

    with pytest.raises(UnitError, match="difference"):
        magnitude(rise, "degC")
    assert magnitude(rise, "kelvin") == pytest.approx(31)


def test_pint_alone_would_turn_60_rpm_into_628_hz():
    """The trap is real: without the kind check 60 rpm is 6.28 Hz."""
    assert ureg.Quantity(60, "rpm").to("Hz").magnitude == pytest.approx(2 * math.pi)


@pytest.mark.parametrize("typed", ["5.4 mV*s/rad", "5.4 mN*m/A", "5.4 mV*s", "0.5655 V/krpm"])
def test_the_motor_constant_may_be_printed_in_any_of_its_units(typed):
    """V·s/rad, N·m/A, V·s without the radian and V/krpm all give k (by arithmetic)."""
    assert magnitude(Q_(typed), "V*s/rad") == pytest.approx(5.4e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        # exact arithmetic from the definitions of the inch, the pound-force and the turn
        ("1 rpm", "rad/s", 0.104719755),
        ("1 V/krpm", "V*s/rad", 9.549297e-3),
        ("1 oz in", "N*m", 7.061552e-3),
        ("1 lb in", "N*m", 0.1129848),
        ("1 g cm", "N*m", 9.80665e-5),
        ("1 hp", "W", 745.700),
    ],
)
def test_conversions_of_the_trade(typed, unit, value):
    """Units that data sheets print convert as the handbooks have them."""
    assert magnitude(Q_(typed), unit) == pytest.approx(value, rel=1e-6)


def test_moment_of_inertia_is_not_taken_for_torque():
    """``g cm²`` stays a moment of inertia although ``g cm`` alone is a torque."""
    assert magnitude(Q_("0.71 g cm^2"), "kg*m**2") == pytest.approx(7.1e-8)


def _echo(quantity):
    return quantity + Q_("1 A")


def test_a_quantity_survives_another_process():
    """Pickled to a spawned process and back, a quantity still belongs to the one registry."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        back = pool.apply(_echo, (Q_("0.5 A"),))

    assert back + Q_("1 A") == Q_("2.5 A")


def test_sums_are_compared_with_a_tolerance():
    """0.1 V + 200 mV is not exactly 0.3 V, and ``assert_quantity_close`` says how near is near enough."""
    total = Q_("0.1 V") + Q_("200 mV")

    assert total != Q_("0.3 V")
    assert_quantity_close(Q_("0.3 V"), total, relative=1e-12)
    with pytest.raises(AssertionError, match="apart by more"):
        assert_quantity_close(Q_("0.3 V"), total + Q_("1 uV"), relative=1e-12)


@pytest.mark.parametrize("others", [[1.0, 2.0, 3.0], [1.0], 1.0])
def test_quantities_of_another_shape_are_not_close(others):
    """Two readings are not three, nor one: numpy would stretch some shapes and refuse others in words of its own."""
    with pytest.raises(AssertionError, match="apart by more"):
        assert_quantity_close(Q_([1.0, 1.0], "V"), Q_(others, "V"), absolute=Q_("1 kV"))


def test_losing_a_unit_is_an_error_here():
    """Numpy would strip units with a warning; in these tests that warning is an error."""
    with pytest.raises(pint.UnitStrippedWarning):
        np.asarray(Q_([1.0, 2.0], "V"))


def test_temperatures_add_only_as_differences():
    """25 °C + 10 °C is refused by pint; a rise is a difference, and per-degree units are too."""
    with pytest.raises(pint.OffsetUnitCalculusError):
        Q_("25 °C") + Q_("10 °C")
    rise = Q_("62 °C/W") * Q_("0.45 W")
    assert magnitude(Q_("25 °C") + rise.to("delta_degC"), "degC") == pytest.approx(298.15 + 27.9)


@given(st.floats(-200, 2000))
def test_the_crossing_goes_both_ways(celsius):
    """Down to kelvin and back up gives the temperature that went in."""
    there = magnitude(Q_(celsius, "degC"), "degC")

    assert from_si(there, "degC").magnitude == pytest.approx(celsius, abs=1e-9)


def test_errors_keep_their_words_through_pickle():
    """An error that crosses a process says the same there."""
    with pytest.raises(LabkitError) as caught:
        parse_quantity("five")
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_parsed_units_are_kept_apart_for_each_installation(monkeypatch):
    """The disk cache of pint names files of the installation that wrote it; a deleted one must not stop another."""
    import pint

    from labkit.units._registry import _cache_folder

    here = _cache_folder()
    monkeypatch.setattr(pint, "__file__", "elsewhere/pint/__init__.py")

    assert _cache_folder() != here
    assert _cache_folder().parent == here.parent


@pytest.mark.skipif(sys.platform != "linux", reason="where a cache lies is told by a variable there")
def test_parsed_units_that_are_half_written_stop_nobody(tmp_path):
    """Another process writes them just now, or was killed as it did: units are parsed anew, and kept whole again."""
    command = [sys.executable, "-c", "from labkit.units import Q_; print(Q_('2 V') / Q_('4 ohm') == Q_('0.5 A'))"]
    start = partial(subprocess.run, command, env=os.environ | {"XDG_CACHE_HOME": str(tmp_path)}, check=True)

    assert start(capture_output=True, text=True).stdout == "True\n"
    written = {path: path.stat().st_size for path in tmp_path.rglob("*.pickle")}
    assert written
    for path, size in written.items():
        os.truncate(path, size // 2)
    for _ in range(2):
        assert start(capture_output=True, text=True).stdout == "True\n"
    assert all(path.stat().st_size > 0.9 * size for path, size in written.items())


@pytest.mark.skipif(sys.platform != "linux", reason="where a cache lies is told by a variable there")
def test_a_home_that_keeps_nothing_stops_nobody(tmp_path):
    """Where no folder can be made for parsed units, they are parsed each time."""
    (tmp_path / "file").write_text("no folder")
    command = [sys.executable, "-c", "from labkit.units import Q_; print(Q_('1 V'))"]
    subprocess.run(command, env=os.environ | {"XDG_CACHE_HOME": str(tmp_path / "file")}, check=True, timeout=300)
