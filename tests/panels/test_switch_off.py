"""The panel on switching off: its numbers, its stages, and what its working agrees with."""

import re

import numpy as np
import pytest

from labkit import Q_, desk_wind_tunnel, switch_off_course, switch_off_panel, turn_off_transient
from labkit.figures.switch_off import SwitchOffChart, switch_off_picture
from labkit.panels import SwitchOffState
from labkit.panels.switch_off import DIODE, NO_DIODE, switch_off_run
from labkit.testing import assert_quantity_close


@pytest.fixture
def panel():
    """Return the panel, open."""
    return switch_off_panel()


def reading(panel, name):
    """Return a number behind the panel's picture."""
    return next(one.value for one in panel._picture.readings if one.name == name)


def result(panel):
    """Return the results in the panel's working, as quantities."""
    panel.working.fill()
    return [Q_(text.replace("·", "*")) for text in re.findall(r"<strong>(.*?)</strong>", panel.working.content)]


def test_the_numbers_are_the_librarys(panel):
    """What the panel shows at a moment is what the simulation gives there."""
    panel.controls["time"].type_in("30 µs")
    panel.controls["speed"].type_in("6000 rpm")
    expected = switch_off_course(desk_wind_tunnel(), "30 us", "0.34 A", "6000 rpm")

    assert_quantity_close(expected.current, reading(panel, "Current in the winding"), relative=1e-12)
    assert_quantity_close(expected.switch_voltage, reading(panel, "Voltage at the drain"), relative=1e-12)
    assert_quantity_close(expected.kick_voltage, reading(panel, "Switch-off kick, L·di/dt"), relative=1e-12)


def test_the_time_goes_from_nanoseconds_to_milliseconds(panel):
    """Each stop is written with the prefix that suits, and a page is a factor of ten."""
    time = panel.controls["time"]
    assert (time.stops[0], time.stops[-1]) == ("10.0 ns", "18.0 ms")
    assert len(set(time.stops)) == len(time.stops)

    place = time.index
    time._handle_custom_msg({"move": place + time.page, "view": "a"}, [])

    assert_quantity_close(Q_(10, "us"), panel.state.time)


def test_the_jammed_motor_kicks_and_the_speed_changes_no_drain_voltage(panel):
    """The kick needs current, not speed; with the diode the drain is at 6.4 V for any of both."""
    panel.presets.press("Stalled")
    assert reading(panel, "Generator EMF, k·ω").magnitude == 0.0
    assert "the shaft stands, so there is no generator EMF" in panel.image.finding

    drains = []
    for speed in ("0 rpm", "4000 rpm", "10000 rpm"):
        panel.controls["speed"].type_in(speed)
        drains.append(reading(panel, "Voltage at the drain").m_as("V"))

    np.testing.assert_allclose(drains, 6.4)


def test_without_a_diode_the_transistor_takes_more_than_was_stored(panel):
    """The supply feeds on: V_BR/(V_BR - V) = 1.25 times at most, and the resistances take their share of it."""
    panel.presets.press("Stalled")
    panel.controls["freewheel"].value = NO_DIODE
    assert "breaks down at 30.0 V" in panel.image.finding

    panel.presets.press("Long after")
    stored = turn_off_transient(desk_wind_tunnel(), panel.state.current).stored_energy

    assert stored < reading(panel, "Energy: transistor") < 1.25 * stored


@pytest.mark.parametrize(
    ("time", "words"),
    [
        ("100 ns", "still on its way up"),
        ("1 us", "through the freewheel diode"),
        ("10 ms", "its generator EMF, 4.81 V"),
    ],
)
def test_each_stage_has_its_sentence(panel, time, words):
    """The drain swings, the current freewheels, the motor coasts."""
    panel.controls["time"].type_in(time)

    assert words in panel.image.finding


def test_the_working_agrees_with_the_picture(panel):
    """Derivations and simulation are two routes to drain voltage, energy, decay time, kick and EMF."""
    panel.state = SwitchOffState(time=Q_(0.3, "us"), current=Q_(0.46, "A"), speed=Q_(8000, "rpm"))
    peak, stored, decay, kick, emf = result(panel)

    assert_quantity_close(reading(panel, "Voltage at the drain"), peak, relative=0.005)
    assert_quantity_close(reading(panel, "Energy: still stored"), stored, relative=0.005)
    assert_quantity_close(reading(panel, "Then the current flows on for"), decay, relative=0.005)
    assert_quantity_close(reading(panel, "Switch-off kick, L·di/dt"), kick, relative=0.005)
    assert_quantity_close(reading(panel, "Generator EMF, k·ω"), emf, relative=0.005)


def test_the_working_without_a_diode_agrees_within_what_it_leaves_out(panel):
    """At 0.1 A resistance and EMF are small beside 30 V: energy and time meet within 3 %."""
    panel.state = SwitchOffState(time=Q_(10, "ms"), current=Q_(0.1, "A"), speed=Q_(0, "rpm"), freewheel=NO_DIODE)
    _, taken, decay, _ = result(panel)

    assert_quantity_close(reading(panel, "Energy: transistor"), taken, relative=0.03)
    assert_quantity_close(reading(panel, "Then the current flows on for"), decay, relative=0.03)


def test_a_flat_battery_stalls_with_less(panel):
    """4.6 V over 2.8 + 2.5 + 0.05 Ω is 0.86 A, by hand."""
    panel.presets.press("Stalled, flat battery")

    assert_quantity_close(Q_(0.86, "A"), panel.state.current, relative=0.01)
    assert_quantity_close(Q_(5.0, "V"), reading(panel, "Voltage at the drain"), relative=1e-9)


def test_a_speed_that_no_battery_of_this_voltage_gives_is_refused_in_words(panel):
    """The picture goes away and says why, and comes back."""
    panel.state = SwitchOffState(battery_voltage=Q_(3.0, "V"))
    assert panel.image.png == b""
    assert "something else drives the shaft" in panel.image.finding

    panel.controls["speed"].type_in("2000 rpm")

    assert panel.image.png


def test_moving_the_time_computes_no_curve_again(panel):
    """The curve belongs to current, speed, battery and diode."""
    first = switch_off_run(panel.state)
    moved = switch_off_run(SwitchOffState(time=Q_(50, "us")))

    assert moved.course is first.course
    assert moved.now.current < first.now.current


def test_the_picture_draws_the_result():
    """Curves, dots, bars and the live path are the simulation's own."""
    chart, run = SwitchOffChart(), switch_off_run(SwitchOffState())
    chart.draw(run)

    np.testing.assert_allclose(chart.drain_line.get_ydata(), run.course.switch_voltage.m_as("V"))
    np.testing.assert_allclose(10.0 ** np.asarray(chart.motor_line.get_xdata()), run.course.time.m_as("s"))
    np.testing.assert_allclose(chart.amps_line.get_ydata(), run.course.current.m_as("A"))
    assert chart.drain_dot.get_ydata() == [run.now.switch_voltage.m_as("V")]
    assert [bar.get_width() for bar in chart.two_bars] == [run.now.emf.m_as("V"), -run.now.kick_voltage.m_as("V")]
    assert chart.energy_bars.bars[0].get_width() == pytest.approx(
        100 * run.now.stored_energy.m_as("J") / (0.5 * 0.9e-3 * 0.34**2)
    )


@pytest.mark.parametrize(
    ("state", "diode", "path"),
    [
        (SwitchOffState(), True, "diode"),
        (SwitchOffState(time=Q_(50, "ns")), True, "supply"),
        (SwitchOffState(freewheel=NO_DIODE), False, "supply"),
        (SwitchOffState(time=Q_(10, "ms")), True, ""),
    ],
)
def test_the_live_path_is_the_one_that_the_current_takes(state, diode, path):
    """Through the diode, through the transistor, or nowhere; a diode that is not there is not drawn."""
    chart = SwitchOffChart()
    chart.draw(switch_off_run(state))
    live = chart.circuit._path
    at_battery = 0.0 in np.asarray(live.get_xdata())

    assert all(artist.get_visible() is diode for artist in chart.diode)
    assert live.get_visible() is bool(path)
    if path:
        assert at_battery is (path == "supply")


def test_a_picture_comes_back_the_same_after_others():
    """Nothing of another setting stays behind."""
    chart, run = SwitchOffChart(), switch_off_run(SwitchOffState())
    first = chart.draw(run).png
    chart.draw(switch_off_run(SwitchOffState(freewheel=NO_DIODE, time=Q_(10, "ms"), current=Q_(3, "A"))))

    assert chart.draw(run).png == first
    assert switch_off_picture(run).png == first


def test_the_default_is_safe():
    """Whoever opens the panel sees the circuit with its freewheel diode."""
    assert SwitchOffState().freewheel == DIODE
