"""The panels on the pin, on the motor as a load and on the running motor: their numbers, words and working."""

import re

import numpy as np
import pytest

from labkit import (
    Q_,
    Load,
    Motor,
    demo_bench,
    desk_wind_tunnel,
    duty_panel,
    fit_motor,
    generator_panel,
    motor_on_supply,
    pin_panel,
    pin_point,
    read_bench,
    review_panel,
    running_panel,
    stall_panel,
    time_to_winding_limit,
    winding_warming,
)
from labkit.errors import PartError
from labkit.figures import pin_picture, running_picture, stall_picture
from labkit.figures.pin import PinChart
from labkit.figures.running import RunningChart
from labkit.figures.stall import StallChart
from labkit.panels.pin import FREE, GATE, HELD, LED, PinState, pin_run
from labkit.panels.running import BRAKE, RunningState, running_run
from labkit.panels.running import FREE as UNLOADED
from labkit.panels.stall import FAN, StallState, _scenes, stall_run
from labkit.panels.stall import HELD as STALLED
from labkit.parts import Pin, Supply
from labkit.testing import assert_quantity_close

TUNNEL = desk_wind_tunnel()
HOLD = Load(friction="1 N*m")


@pytest.fixture
def pin():
    """Return the pin's panel, open."""
    return pin_panel()


@pytest.fixture
def stall():
    """Return the panel on the motor as a load, open."""
    return stall_panel()


@pytest.fixture
def running():
    """Return the running motor's panel, open."""
    return running_panel()


def reading(panel, name):
    """Return a number behind the panel's picture."""
    return next(one.value for one in panel._picture.readings if one.name == name)


def result(panel):
    """Return the results in the panel's working, as quantities."""
    panel.working.fill()
    return [Q_(text.replace("·", "*")) for text in re.findall(r"<strong>(.*?)</strong>", panel.working.content)]


# --- what a pin can give ---


def test_the_pins_numbers_are_the_librarys(pin):
    """A held motor of 12 ohm, typed in: by hand 3.3 V/52 ohm = 63.5 mA, 3.17 times 20 mA."""
    pin.presets.press("Motor stalled")
    pin.controls["winding"].type_in("12 ohm")
    expected = pin_point(TUNNEL.pin, "12 ohm")

    assert_quantity_close(expected.current, reading(pin, "Current"), relative=1e-12)
    assert_quantity_close(expected.internal_loss, reading(pin, "Heat inside the pin"), relative=1e-12)
    assert_quantity_close(Q_(3.173, ""), reading(pin, "Current over rated current"), relative=1e-3)


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({}, "7.96 mA, within the 20.0 mA that it is rated for"),
        ({"load": GATE, "resistor": Q_(100, "ohm")}, "23.6 mA, 1.18 times the 20.0 mA that it is rated for"),
        ({"load": GATE, "resistor": Q_(0, "ohm")}, "without a resistor on it the pin gives 82.5 mA, beyond"),
        ({"load": HELD}, "77.1 mA, beyond the 40.0 mA that may destroy it"),
        ({"load": FREE}, "The motor does not turn: it needs 110 mA merely to keep going"),
        ({"load": FREE, "output_resistance": Q_(10, "ohm")}, "The motor turns"),
    ],
)
def test_the_pins_finding_names_the_limit_and_the_verdict(state, words):
    """Within, above, beyond; and whether a free motor gets what it needs."""
    assert words in pin_picture(pin_run(PinState(**state))).finding


@pytest.mark.parametrize("load", [GATE, HELD])
def test_the_pins_working_agrees_with_its_picture(pin, load):
    """Derivation and simulation are two routes to current and heat."""
    pin.state = PinState(load=load)
    shown = result(pin)

    assert_quantity_close(reading(pin, "Current"), shown[0], relative=0.005)
    assert_quantity_close(reading(pin, "Heat inside the pin"), shown[-1], relative=0.005)


def test_the_pins_dot_lies_on_both_lines():
    """Pin and load meet there: on the pin's straight line, and on the load's own."""
    chart, run = PinChart(), pin_run(PinState(load=LED))
    chart.draw(run)
    (x,), (y,) = chart.dot_here.get_data()

    assert y == pytest.approx(np.interp(x, *chart.pin_line.get_data()), rel=1e-9)
    assert y == pytest.approx(
        np.interp(x, *chart.load_line.get_data()), rel=0.01
    )  # straight between 121 points of a curve


def test_what_plays_no_part_rests(pin):
    """The winding rests while an LED hangs on the pin, the resistor while a motor does."""
    assert pin.controls["winding"].disabled
    assert not pin.controls["resistor"].disabled

    pin.presets.press("Motor free")

    assert not pin.controls["winding"].disabled
    assert pin.controls["resistor"].disabled


def test_a_weak_pin_lowers_the_limits(pin):
    """Many 3.3 V pins are rated for a few milliamperes only."""
    pin.presets.press("Weak pin")

    assert pin.state.rated < Q_(5, "mA")
    assert "1.99 times the 4.00 mA that it is rated for" in pin.image.finding


WEAK_PIN = PinState(
    high_level=Q_(1.8, "V"), output_resistance=Q_(200, "ohm"), rated=Q_(40, "mA"), damage_limit=Q_(5, "mA")
)
WEAK_CELLS = StallState(
    battery_voltage=Q_(1.5, "V"), battery_resistance=Q_(5, "ohm"), resistance=Q_(0.5, "ohm"), brush_drop=Q_(1.0, "V")
)


@pytest.mark.parametrize(
    ("make", "name", "run"),
    [(PinChart, "rated_words", pin_run(WEAK_PIN)), (StallChart, "held_words", stall_run(WEAK_CELLS))],
    ids=["a strong rating on a weak pin", "a strong motor on weak cells"],
)
def test_words_stay_in_their_picture_at_the_ends_of_the_sliders(make, name, run):
    """What a line is called stands beside it also where the line leaves the picture."""
    drawn = make()
    drawn.draw(run)
    words = getattr(drawn, name)
    x, y = words.get_position()

    assert words.axes.get_xlim()[0] <= x <= words.axes.get_xlim()[1]
    assert words.axes.get_ylim()[0] <= y <= words.axes.get_ylim()[1]


# --- the motor as a load ---


def test_the_stalls_numbers_are_the_librarys(stall):
    """Held for 3 s on a flat battery: the winding's own course, and the steady state on that battery."""
    stall.presets.press("Flat battery")
    stall.presets.press("Stalled")
    stall.controls["time"].type_in("3 s")
    flat = Supply(voltage="4.6 V", internal_resistance="2.5 ohm")
    hot = winding_warming(TUNNEL.motor, "3 s", voltage="4.6 V", source_resistance="2.5 ohm")

    assert_quantity_close(
        motor_on_supply(flat, TUNNEL.motor, HOLD).point.current, reading(stall, "Current"), relative=1e-9
    )
    assert reading(stall, "Winding now").m_as("degC") == pytest.approx(hot.winding.m_as("degC"), rel=1e-6)
    assert_quantity_close(hot.current, reading(stall, "Current now"), relative=1e-6)


def test_a_stall_makes_the_heat_of_26_fans(stall):
    """By hand (1.765/0.346)² = 26; the cells give 6 V/(2.8 + 0.6) ohm = 1.765 A."""
    stall.presets.press("Stalled")

    assert "draws 1.76 A" in stall.image.finding
    assert "That is 26 times as much as with the fan" in stall.image.finding


def test_the_time_to_the_limit_is_that_of_the_root_finder():
    """On a battery without resistance the course passes 130 °C when ``time_to_winding_limit`` says."""
    run = stall_run(StallState(shaft=STALLED, battery_resistance=Q_(0, "ohm")))

    assert_quantity_close(time_to_winding_limit(TUNNEL.motor, voltage="6 V"), run.time_to_limit, relative=0.01)
    assert stall_run(StallState(shaft=FAN)).time_to_limit is None


def test_the_stalls_working_agrees_with_its_picture(stall):
    """Starting current and heat by derivation, cold; then the heat of the warm winding."""
    stall.state = StallState(shaft=STALLED, time=Q_(60, "s"))
    current, cold, warm = result(stall)

    assert_quantity_close(reading(stall, "Current"), current, relative=0.005)
    assert_quantity_close(reading(stall, "Heat in the winding"), cold, relative=0.005)
    assert_quantity_close(reading(stall, "Heat now"), warm, relative=0.005)


def test_the_emf_is_drawn_between_the_held_motors_line_and_the_battery():
    """What the winding leaves of the battery's voltage: from I·R up to the terminals, k·ω long."""
    run = stall_run(StallState())
    chart = StallChart(run.shafts)
    chart.draw(run)
    (x, _), (low, high) = chart.emf_line.get_data()

    assert low == pytest.approx(np.interp(x, *chart.held_line.get_data()), rel=1e-9)
    assert high == pytest.approx(np.interp(x, *chart.battery_line.get_data()), rel=1e-9)
    assert high - low == pytest.approx(run.point.emf.m_as("V"))


def test_a_held_motor_has_no_emf_to_draw():
    """Nothing of the running motor stays in the picture."""
    run = stall_run(StallState(shaft=STALLED))
    chart = StallChart(run.shafts)
    picture = chart.draw(run)

    assert not chart.emf_line.get_visible()
    assert "It stands still" in picture.finding
    assert stall_picture(run).png == picture.png


def test_scrubbing_the_time_computes_no_course_again():
    """The course belongs to battery, winding and shaft."""
    scenes = _scenes(TUNNEL.motor)
    first = stall_run(StallState(), scenes)
    later = stall_run(StallState(time=Q_(20, "s")), scenes)

    assert later.course is first.course
    assert later.now.winding > first.now.winding


def test_a_fitted_motor_sets_winding_and_brushes():
    """R and the brushes' drop start at the fit's, and the sliders still move them."""
    fitted = Motor(resistance="3.13 ohm", emf_constant="5.2 mV*s/rad", brush_drop="0.21 V")
    panel = stall_panel(motor=fitted)
    assert panel.controls["resistance"].text == "3.13 Ω"

    panel.controls["resistance"].type_in("4 ohm")

    assert_quantity_close(Q_(4, "ohm"), panel.state.resistance)
    assert_quantity_close(Q_("0.21 V"), panel.state.brush_drop)


# --- the running motor ---


def test_the_running_numbers_are_the_librarys(running):
    """Twice the fan on 5 V of fresh cells."""
    running.controls["fan_size"].type_in("200 %")
    running.controls["battery_voltage"].type_in("5 V")
    cells = Supply(voltage="5 V", internal_resistance="0.6 ohm")
    expected = motor_on_supply(cells, TUNNEL.motor, Load(fan=2 * TUNNEL.load.fan)).point

    assert_quantity_close(expected.speed, reading(running, "Speed"), relative=1e-9)
    assert_quantity_close(expected.shaft_power, reading(running, "Power at the shaft"), relative=1e-9)
    assert_quantity_close(expected.efficiency, reading(running, "Efficiency"), relative=1e-9)


def test_the_running_powers_balance(running):
    """In = winding + brushes + friction + shaft, in the numbers as shown."""
    running.state = RunningState(load=BRAKE, brake=Q_(3, "mN*m"))
    parts = ("Heat in the winding", "Heat at the brushes", "Heat of friction", "Power at the shaft")

    assert_quantity_close(reading(running, "Power in"), sum(reading(running, part) for part in parts), relative=1e-9)


@pytest.mark.parametrize("preset", ["Fan", "Stalled", "Free"])
def test_the_running_working_agrees_with_its_picture(running, preset):
    """Speed or stall current first, by derivation from the terminals' voltage."""
    running.presets.press(preset)
    first = "Current" if preset == "Stalled" else "Speed"

    assert_quantity_close(reading(running, first), result(running)[0], relative=0.005)


def test_the_dot_lies_on_the_motors_line_and_on_its_load():
    """They meet where the drive settles, in speed and torque; and on the lines of current and power."""
    chart, run = RunningChart(), running_run(RunningState())
    chart.draw(run)
    for line, dot, _ in (chart.speeds_parts, chart.amps_parts, chart.powers_parts, chart.shares_parts):
        (x,), (y,) = dot.get_data()
        assert y == pytest.approx(np.interp(x, *line.get_data()), rel=0.01)  # straight between 31 points
    (x,), (y,) = chart.speeds_parts[1].get_data()

    assert y == pytest.approx(np.interp(x, *chart.load_line.get_data()), rel=0.01)


def test_the_line_runs_from_free_to_held():
    """By hand: free (6 V - 0.11 A·3.4 ohm)/5.4 mV·s/rad = 9949 rpm; held 6 V/3.4 ohm = 1.765 A."""
    line = running_run(RunningState()).line

    assert line.speed.m_as("rpm")[[0, -1]] == pytest.approx([9949, 0], abs=1)
    assert line.current.m_as("A")[[0, -1]] == pytest.approx([0.110, 6 / 3.4], rel=1e-6)


def test_best_efficiency_is_that_of_the_formula_on_a_stiff_source():
    """(1 - √(I₀/I_stall))² with I₀ = 0.11 A and I_stall = 6/2.8 A is 59.8 %, where nothing sags."""
    run = running_run(RunningState(load=UNLOADED, battery_resistance=Q_(0, "ohm")))
    best = np.max(run.line.efficiency.m_as("percent"))

    assert best == pytest.approx(100 * (1 - np.sqrt(0.11 * 2.8 / 6)) ** 2, rel=0.002)
    assert "0 W come out, 0 %; at its best it would be 60 %" in running_picture(run).finding


def test_a_brake_that_is_too_strong_stalls_it(running):
    """More than it can turn: it stands, and all that goes in is heat."""
    running.state = RunningState(load=BRAKE, brake=Q_(11, "mN*m"))

    assert "Against the brake the motor stands still: 1.76 A" in running.image.finding
    assert "all of 8.72 W becomes heat" in running.image.finding


def test_a_flat_battery_is_compared_with_a_fresh_one():
    """The fresh battery's line is drawn where it differs, and rests where it is the same."""
    chart = RunningChart()
    chart.draw(running_run(RunningState()))
    assert not chart.fresh_line.get_visible()

    chart.draw(running_run(RunningState(battery_voltage=Q_(4.6, "V"), battery_resistance=Q_(2.5, "ohm"))))

    assert chart.fresh_line.get_visible()


def test_a_pins_limits_are_the_wind_tunnels():
    """The panel begins at the pin that the library's drive has."""
    start, pin = PinState(), TUNNEL.pin

    assert Pin(high_level=start.high_level, output_resistance=start.output_resistance, current_limit=start.rated) == pin


@pytest.mark.parametrize("panel", [duty_panel, generator_panel, review_panel, running_panel, stall_panel])
def test_a_fit_in_the_place_of_its_motor_is_told_so(panel):
    """The slip that everybody makes once: the sentence says what to write."""
    fit = fit_motor(read_bench(demo_bench()))
    with pytest.raises(PartError, match=r"motor must be a Motor; got a MotorFit\. .*motor=fit\.motor"):
        panel(motor=fit)
