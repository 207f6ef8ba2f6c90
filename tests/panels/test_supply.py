"""The panel on supply, ground and wiring."""

import re

import numpy as np
import pytest

from labkit import Q_, board_supply, desk_wind_tunnel, motor_start, supply_panel
from labkit.figures import supply_picture
from labkit.figures.supply import SupplyChart
from labkit.figures.supply_words import SHARED, STAR, UNJOINED
from labkit.panels import SupplyState
from labkit.panels.supply import BUFFER, HELD, supply_run
from labkit.testing import assert_quantity_close


@pytest.fixture
def panel():
    """Return the panel, open."""
    return supply_panel()


def reading(panel, name):
    """Return a number behind the panel's picture."""
    return next(one.value for one in panel._picture.readings if one.name == name)


def result(panel):
    """Return the results in the panel's working, as quantities."""
    panel.working.fill()
    return [Q_(text) for text in re.findall(r"<strong>(.*?)</strong>", panel.working.content)]


def test_the_numbers_are_the_librarys(panel):
    """What the panel shows of a shared lead is what the simulation gives."""
    panel.state = SupplyState(ground=SHARED, lead=Q_(200, "mohm"))
    times = Q_(np.geomspace(1e-5, 3.0, 160), "s")
    start = motor_start(desk_wind_tunnel(), times, board_current="50 mA", ground_lead="0.2 ohm")
    board = board_supply(start, shares_lead=True)

    assert_quantity_close(board.lowest_voltage, reading(panel, "Lowest voltage at the board"), relative=1e-9)
    assert_quantity_close(board.largest_shift, reading(panel, "Largest shift of the board's ground"), relative=1e-9)


def test_fresh_cells_keep_the_board_and_flat_ones_reset_it(panel):
    """The same motor: it is the battery's own resistance that resets the board."""
    assert "and runs on" in panel.image.finding

    panel.presets.press("Flat battery")

    assert "so it resets" in panel.image.finding
    assert reading(panel, "The board resets after") < Q_(1, "ms")


def test_an_old_block_sags_most(panel):
    """9 V on the label, some 2 V under a held motor: 9 V · 2.95/12.95, less the board's 0.1 V, by hand."""
    panel.presets.press("Old nine-volt block")
    panel.presets.press("Stalled")

    assert reading(panel, "Lowest voltage at the battery").m_as("V") == pytest.approx(8.5 * 2.95 / 12.95, rel=0.01)


def test_a_large_buffer_carries_the_board_through(panel):
    """On flat cells 1 mF is too little, and 22 mF will do."""
    panel.presets.press("Flat battery")
    panel.controls["buffer"].value = BUFFER
    assert "so it resets" in panel.image.finding

    panel.controls["capacitance"].type_in("22 mF")

    assert "and runs on" in panel.image.finding


def test_a_buffer_does_not_help_against_a_held_motor(panel):
    """The dip does not end, so the buffer only delays the reset."""
    panel.presets.press("Flat battery")
    panel.presets.press("Stalled")
    panel.controls["buffer"].value = BUFFER
    panel.controls["capacitance"].type_in("10 mF")

    assert "so it resets" in panel.image.finding
    assert reading(panel, "The board resets after") > Q_(50, "ms")


def test_grounds_that_are_not_joined_give_no_start(panel):
    """No current, a sentence that says what to do, and controls that rest."""
    panel.controls["ground"].value = UNJOINED

    assert "Join the two negatives" in panel.image.finding
    assert reading(panel, "Motor's largest current").magnitude == 0.0
    assert all(panel.controls[name].disabled for name in ("lead", "buffer", "capacitance"))


def test_the_working_agrees_with_the_picture(panel):
    """Derivations and simulation are two routes; what the board draws itself makes them differ by 1 % or so."""
    panel.state = SupplyState(load=HELD, ground=SHARED, buffer=BUFFER)
    current, sag, shift, _ = result(panel)

    assert_quantity_close(reading(panel, "Motor's largest current"), current, relative=0.015)
    assert_quantity_close(reading(panel, "Lowest voltage at the battery"), sag, relative=0.015)
    assert_quantity_close(reading(panel, "Largest shift of the board's ground"), shift, relative=0.01)


def test_the_working_knows_how_long_the_buffer_alone_holds(panel):
    """On flat cells and a held motor the buffer is alone from 0.3 ms on: the reset comes when the derivation says."""
    panel.state = SupplyState(load=HELD, buffer=BUFFER, battery_voltage=Q_(4.6, "V"), battery_resistance=Q_(2.5, "ohm"))

    assert_quantity_close(reading(panel, "The board resets after"), result(panel)[-1], relative=0.03)


def test_the_picture_draws_the_result():
    """Curves and the parts that are there are those of the state."""
    chart, run = SupplyChart(), supply_run(SupplyState(ground=SHARED, buffer=BUFFER))
    chart.draw(run)

    np.testing.assert_allclose(chart.battery_line.get_ydata(), run.start.supply_voltage.m_as("V"))
    np.testing.assert_allclose(chart.board_line.get_ydata(), run.board.voltage.m_as("V"))
    np.testing.assert_allclose(10.0 ** np.asarray(chart.amps_line.get_xdata()), run.start.time.m_as("s"))
    np.testing.assert_allclose(chart.shift_line.get_ydata(), run.board.ground_shift.m_as("mV"))
    assert chart.buffered_feed[0].get_visible()
    assert not chart.plain_feed[0].get_visible()
    assert {name for name, part in chart.grounds.items() if part[0].get_visible()} == {SHARED}


def test_a_picture_comes_back_the_same_after_others():
    """Nothing of another setting stays behind."""
    chart, run = SupplyChart(), supply_run(SupplyState())
    first = chart.draw(run).png
    chart.draw(supply_run(SupplyState(ground=UNJOINED, battery_voltage=Q_(9, "V"))))

    assert chart.draw(run).png == first
    assert supply_picture(run).png == first


def test_moving_the_buffer_computes_no_start_again():
    """The start belongs to battery, load and lead."""
    plain, buffered = supply_run(SupplyState()), supply_run(SupplyState(buffer=BUFFER, ground=STAR))

    assert plain.start is buffered.start
