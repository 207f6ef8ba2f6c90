"""The panel on the transistor as a switch."""

import re

import numpy as np
import pytest

from labkit import Q_, desk_wind_tunnel, switch_panel, switched_load
from labkit.figures import switch_picture
from labkit.figures.switch import SwitchChart
from labkit.panels import SwitchState
from labkit.panels.switch import BIPOLAR, FLOATING, HIGH_GATE, LEFT_OUT, LOW, MOTOR, switch_run
from labkit.testing import assert_quantity_close


@pytest.fixture
def panel():
    """Return the panel, open."""
    return switch_panel()


def reading(panel, name):
    """Return a number behind the panel's picture."""
    return next(one.value for one in panel._picture.readings if one.name == name)


def result(panel):
    """Return the results in the panel's working, as text."""
    panel.working.fill()
    return re.findall(r"<strong>(.*?)</strong>", panel.working.content)


def test_the_numbers_are_the_librarys(panel):
    """What the panel shows of the held motor is what the simulation gives."""
    panel.presets.press("Stalled")
    expected = switched_load(desk_wind_tunnel(), "2.8 ohm")

    assert_quantity_close(expected.current, reading(panel, "Current in the load"), relative=1e-12)
    assert_quantity_close(expected.switch_power, reading(panel, "Heat in the transistor"), relative=1e-12)
    assert_quantity_close(expected.pin_current, reading(panel, "Pin's current from then on"), relative=1e-12)


def test_it_begins_with_a_resistor_in_the_motors_place(panel):
    """The first thing that a new transistor switches is no motor."""
    assert "the resistor gets 5.63 V of 6.00 V" in panel.image.finding


def test_a_low_gate_throttles_the_motor(panel):
    """2.6 V at a transistor made for 10 V: it, and not the motor, sets the current, and gets the heat."""
    panel.state = SwitchState(transistor=HIGH_GATE, level=Q_(2.6, "V"), load=MOTOR)

    assert "lets no more than" in panel.image.finding
    assert reading(panel, "Heat in the transistor") > Q_(1.0, "W")


def test_a_low_pin_leaves_the_whole_battery_to_the_transistor(panel):
    """No current, and yet 6 V across the open switch."""
    panel.controls["pin"].value = LOW

    assert panel.image.finding.startswith("With 0 V at its gate the transistor is off")
    assert_quantity_close(Q_(6, "V"), reading(panel, "Voltage across the transistor"), relative=1e-12)


def test_a_board_that_starts_needs_the_pull_down(panel):
    """With it the transistor is off; without it there is no answer, and the panel says what to fit."""
    panel.presets.press("Board starting")
    assert "the transistor is off" in panel.image.finding

    panel.controls["pull_down"].value = LEFT_OUT

    assert panel.image.png == b""
    assert "Fit a pull-down of 10 kΩ" in panel.image.finding


def test_a_small_gate_resistor_asks_too_much_of_the_pin(panel):
    """3.3 V over 10 Ω and the pin's own 40 Ω is 66 mA, by hand."""
    panel.controls["resistor"].type_in("10 ohm")

    assert "66.0 mA at first" in panel.image.finding
    assert "more than it is made for" in panel.image.finding


def test_the_working_agrees_with_the_picture(panel):
    """Derivations and simulation are two routes to gate current, gate voltage and motor current."""
    panel.presets.press("Stalled")

    assert result(panel) == ["17.4 mA", "3.24 V", "1.74 A"]
    assert "1.74 A flows" in panel.image.finding
    assert "17.4 mA at first" in panel.image.finding


def test_the_working_of_a_bipolar_transistor_leads_back_to_its_resistor(panel):
    """The base resistor and the pin's own 40 Ω together, from the current that the picture shows."""
    panel.state = SwitchState(transistor=BIPOLAR, resistor=Q_(470, "ohm"), load=MOTOR)

    assert result(panel) == ["510 Ω"]
    assert "lets no more than 51.0 mA through" in panel.image.finding


@pytest.mark.parametrize(
    "state",
    [
        SwitchState(pin=LOW),
        SwitchState(pin=FLOATING),
        SwitchState(pin=FLOATING, transistor=BIPOLAR),
        SwitchState(transistor=HIGH_GATE, level=Q_(1.8, "V")),
        SwitchState(pull_down=LEFT_OUT),
    ],
)
def test_every_setting_has_a_working(panel, state):
    """No refusal and no empty fold."""
    panel.state = state
    panel.working.fill()

    assert panel.working.content
    assert "; got " not in panel.working.content


def test_controls_that_play_no_part_rest(panel):
    """The level of a pin that is low, and the pull-down of a base."""
    panel.state = SwitchState(pin=LOW, transistor=BIPOLAR)

    assert panel.controls["level"].disabled
    assert panel.controls["pull_down"].disabled
    assert not panel.controls["resistor"].disabled


def test_a_flat_battery_leaves_less(panel):
    """4.6 V over 2.5 + 2.8 + 0.05 Ω: 0.86 A, by hand."""
    panel.presets.press("Stalled")
    panel.presets.press("Flat battery")

    assert_quantity_close(Q_(0.86, "A"), reading(panel, "Current in the load"), relative=0.01)


def test_the_picture_draws_the_result():
    """Curve, dot and bars are the simulation's own numbers, and only the parts that are fitted are drawn."""
    chart, run = SwitchChart(), switch_run(SwitchState(transistor=BIPOLAR, load=MOTOR))
    chart.draw(run)

    np.testing.assert_allclose(chart.amps_line.get_ydata(), run.sweep.current.m_as("A"))
    assert chart.amps_dot.get_ydata() == [run.now.current.m_as("A")]
    assert [bar.get_width() for bar in chart.volts_bars.bars] == [
        volts.m_as("V") for volts in (run.now.load_voltage, run.now.switch_voltage, run.now.source_drop)
    ]
    assert [part[0].get_visible() for part in (chart.motor, chart.ballast, chart.mosfet, chart.bipolar)] == [
        True, False, False, True,
    ]  # fmt: skip


def test_a_picture_comes_back_the_same_after_others():
    """Nothing of another setting stays behind."""
    chart, run = SwitchChart(), switch_run(SwitchState())
    first = chart.draw(run).png
    chart.draw(switch_run(SwitchState(transistor=BIPOLAR, pin=FLOATING, load=MOTOR)))

    assert chart.draw(run).png == first
    assert switch_picture(run).png == first


def test_moving_the_level_computes_no_curve_again():
    """The curve belongs to the parts."""
    assert switch_run(SwitchState(level=Q_(2.5, "V"))).sweep is switch_run(SwitchState()).sweep
