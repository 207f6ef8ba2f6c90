"""The three panels: a state is set, by hand or by program, and everything follows it."""

import re

import pytest

from labkit import (
    Q_,
    desk_wind_tunnel,
    dissipation_panel,
    duty_panel,
    generator_panel,
    generator_point,
    junction_temperature,
    pin_panel,
    pwm_operating_point,
    running_panel,
    stall_panel,
    supply_panel,
    switch_off_panel,
    switch_panel,
)
from labkit.panels import DissipationState, DutyState, GeneratorState, Prediction, QuantitySlider
from labkit.panels.dissipation import HIGH_GATE, LOW_GATE
from labkit.panels.duty import FREE, HELD, _settings, duty_run
from labkit.panels.generator import LED, NOTHING, RESISTOR
from labkit.parts import Led, Motor
from labkit.testing import assert_quantity_close

PANELS = [
    pin_panel, stall_panel, generator_panel, running_panel, switch_panel, dissipation_panel, switch_off_panel,
    duty_panel, supply_panel,
]  # fmt: skip


@pytest.fixture
def generator():
    """Return the generator panel, open."""
    return generator_panel()


@pytest.fixture
def duty():
    """Return the duty panel, open."""
    return duty_panel()


@pytest.fixture
def dissipation():
    """Return the dissipation panel, open."""
    return dissipation_panel()


def reading(panel, name):
    """Return a number behind the panel's picture."""
    return next(one.value for one in panel._picture.readings if one.name == name)


def result(panel):
    """Return the results in the panel's working, as text."""
    panel.working.fill()
    return re.findall(r"<strong>(.*?)</strong>", panel.working.content)


@pytest.mark.parametrize("make", PANELS)
def test_every_control_has_a_name_and_stands_where_the_state_is(make):
    """A screen reader hears what each control sets; what it shows is the state, not a guess."""
    panel = make()

    assert all(control.label for control in panel.controls.values())
    for name, control in panel.controls.items():
        assert control.value == getattr(panel.state, name)
    for slider in (one for one in panel.controls.values() if isinstance(one, QuantitySlider)):
        assert slider.stops[slider.index] == slider.text


@pytest.mark.parametrize("make", PANELS)
def test_there_is_a_picture_with_words_from_the_first(make):
    """Nothing has to be touched to see something."""
    panel = make()

    assert panel.image.png.startswith(b"\x89PNG")
    assert panel.image.finding in panel.image.alt


def test_a_slider_move_changes_state_picture_and_words(generator):
    """One message from the browser, and all that depends on it follows."""
    before, version = generator.image.png, generator.numbers.version
    generator.controls["speed"]._handle_custom_msg({"move": 260, "view": "a"}, [])

    assert_quantity_close(Q_(4000, "rpm"), generator.state.speed)
    assert generator.image.png != before
    assert "4000 rpm" in generator.image.finding
    assert generator.numbers.version > version


def test_a_state_that_is_set_moves_the_controls(duty):
    """The state is the one truth; sliders and entries follow it."""
    duty.state = DutyState(duty=Q_(73, "percent"), frequency=Q_(20, "kHz"), load=FREE)

    assert duty.controls["duty"].text == "73.0 %"
    assert duty.controls["frequency"].stops[duty.controls["frequency"].index] == duty.controls["frequency"].text
    assert duty.controls["load"].value == FREE


def test_generator_numbers_are_the_librarys(generator):
    """What the panel shows for an LED is what the simulation gives for it."""
    generator.state = GeneratorState(speed=Q_(4000, "rpm"), load=LED)
    expected = generator_point(desk_wind_tunnel().motor, "4000 rpm", Led(series_resistance="47 ohm"))

    assert_quantity_close(expected.current, reading(generator, "Current"), relative=1e-12)
    assert_quantity_close(expected.shaft_torque, reading(generator, "Torque that turns the shaft"), relative=1e-12)


def test_duty_numbers_are_the_librarys(duty):
    """What the panel shows at a duty is what the simulation gives there."""
    duty.controls["duty"].type_in("60 %")
    expected = pwm_operating_point(desk_wind_tunnel(), 0.6, "2 kHz")

    assert_quantity_close(expected.speed, reading(duty, "Speed"), relative=1e-9)
    assert_quantity_close(expected.winding_loss, reading(duty, "Heat: winding"), relative=1e-9)


def test_dissipation_numbers_are_the_librarys(dissipation):
    """What the panel shows of the tunnel's own transistor is what the fixed point gives."""
    dissipation.state = DissipationState(gate_voltage=Q_(3.3, "V"), current=Q_(1.7, "A"), transistor=LOW_GATE)
    expected = junction_temperature(desk_wind_tunnel().switch, "1.7 A", gate_voltage="3.3 V")

    assert reading(dissipation, "Junction temperature").m_as("degC") == pytest.approx(
        expected.temperature.m_as("degC"), rel=1e-12
    )


def test_the_working_has_the_present_numbers(generator):
    """By hand: 5.4 mV·s/rad at 4000 rpm = 418.9 rad/s is 2.262 V; into 2.8 + 10 ohm that is 176.7 mA."""
    generator.state = GeneratorState(speed=Q_(4000, "rpm"), load=RESISTOR)

    assert result(generator)[:2] == ["2.26 V", "177 mA"]


def test_the_working_of_the_dissipation_agrees_with_the_picture(dissipation):
    """Derivation and simulation are two routes to the junction's temperature and to the current of runaway."""
    dissipation.state = DissipationState(gate_voltage=Q_(3.3, "V"))

    assert result(dissipation) == ["450 mW", "57.4 °C", "4.02 A"]
    assert reading(dissipation, "Junction temperature").m_as("degC") == pytest.approx(57.4, abs=0.05)
    assert_quantity_close(Q_(4.02, "A"), reading(dissipation, "Current from which it runs away"), relative=0.002)


def test_the_working_of_the_duty_agrees_with_the_picture(duty):
    """Derivation and simulation are two routes; with a current that never stops they meet within 1 %."""
    duty.state = DutyState(frequency=Q_(20, "kHz"))
    ripple = Q_(result(duty)[2])

    assert_quantity_close(reading(duty, "Ripple, peak to peak"), ripple, relative=0.01)


def test_the_working_says_where_a_formula_does_not_hold(duty):
    """With a current that stops the mean voltage is not D·V - (1 - D)·V_F, and the panel says so."""
    duty.working.fill()

    assert "The current stops in each period" in duty.working.content


@pytest.mark.parametrize("state", [DutyState(duty=Q_(0, "percent")), DutyState(duty=Q_(100, "percent"))])
def test_the_ends_of_the_duty_have_picture_and_working(duty, state):
    """Fully off and fully on are no corner cases for the reader."""
    duty.state = state
    duty.working.fill()

    assert duty.image.png
    assert "must be" not in duty.working.content


def test_presets_set_what_they_name(duty):
    """A flat battery is a lower voltage behind more resistance; a stalled motor does not turn."""
    duty.presets.press("Flat battery")
    assert duty.state.battery_voltage < Q_(5, "V")
    assert duty.state.battery_resistance > Q_(2, "ohm")

    duty.presets.press("Stalled")

    assert duty.state.load == HELD
    assert "stands still" in duty.image.finding


def test_preset_currents_are_what_the_tunnel_draws(dissipation):
    """Free about 0.11 A of friction (its EMF nearly the battery's), stalled 6 V/(2.8 + 0.6 + 0.05 ohm) = 1.74 A."""
    dissipation.presets.press("Free")
    assert_quantity_close(Q_(0.11, "A"), dissipation.state.current, relative=0.02)

    dissipation.presets.press("Stalled")

    assert_quantity_close(Q_(1.74, "A"), dissipation.state.current, relative=0.01)


def test_undo_goes_back_change_by_change(generator):
    """Moves of one slider in a row are one change; other controls and presets are changes of their own."""
    for place in (185, 190, 195):
        generator.controls["speed"]._handle_custom_msg({"move": place, "view": "a"}, [])
    generator.controls["load"].index = 1
    generator.presets.press("At rest")
    assert generator.state == GeneratorState(speed=Q_(0, "rpm"), load=RESISTOR)

    generator.presets.press("Undo")
    assert generator.state == GeneratorState(speed=Q_(750, "rpm"), load=RESISTOR)
    generator.presets.press("Undo")
    assert generator.state == GeneratorState(speed=Q_(750, "rpm"), load=NOTHING)
    generator.presets.press("Undo")
    assert generator.state == GeneratorState()
    generator.presets.press("Undo")

    assert generator.state == GeneratorState()
    assert generator.controls["speed"].text == "1500 rpm"


def test_a_refused_entry_changes_nothing_else(generator):
    """Text that cannot be read leaves state and picture as they were."""
    state, picture = generator.state, generator.image.png
    generator.controls["speed"].type_in("as fast as it goes")

    assert generator.state is state
    assert generator.image.png == picture


def test_a_control_without_effect_is_switched_off(generator):
    """The resistor's slider rests while no resistor is connected."""
    assert generator.controls["resistor"].disabled

    generator.controls["load"].value = RESISTOR

    assert not generator.controls["resistor"].disabled


def test_where_there_is_no_answer_the_panel_says_why(dissipation):
    """A transistor that stays off has no heat picture; the old one is taken away, and comes back."""
    dissipation.state = DissipationState(gate_voltage=Q_(2.0, "V"), transistor=HIGH_GATE)
    dissipation.numbers.fill()
    assert dissipation.image.png == b""
    assert "the transistor stays off: its threshold is 2.30 V" in dissipation.image.finding
    assert dissipation.numbers.content == ""

    dissipation.controls["gate_voltage"].type_in("10 V")

    assert dissipation.image.png


def test_thermal_resistance_is_typed_as_data_sheets_print_it(dissipation):
    """Degrees for each watt."""
    dissipation.controls["thermal_resistance"].type_in("250 °C/W")

    assert_quantity_close(Q_(250, "kelvin/W"), dissipation.state.thermal_resistance)


@pytest.mark.parametrize("make", PANELS)
def test_a_panel_stays_closed_until_the_prediction_is_committed(make, tmp_path):
    """Nothing of it can be seen or moved before, and it opens by itself."""
    guess = Prediction("Closed", "What now?", unit="V", folder=tmp_path)
    panel = make(after=guess)
    assert [type(child).__name__ for child in panel.children] == ["HTML"]

    guess.commit("3 V")

    assert panel.image in panel.children[0].children[1].children


def test_a_fitted_motor_takes_the_tunnels_motors_place():
    """Of a fit the known constants are used, and what it cannot know, such as the inductance, is the tunnel's."""
    weak = Motor(resistance="5 ohm", emf_constant="5.4 mV*s/rad", friction_torque="0.594 mN*m")
    slower, usual = duty_panel(motor=weak), duty_panel()

    assert reading(slower, "Speed") < reading(usual, "Speed")


def test_moving_the_duty_computes_no_curve_again(duty):
    """All stops of the duty belong to battery, load and frequency; only a change of those solves them again."""
    first = duty_run(duty.state, settings := _settings(desk_wind_tunnel()))
    moved = duty_run(DutyState(duty=Q_(41, "percent")), settings)
    other = duty_run(DutyState(frequency=Q_(20, "kHz")), settings)

    assert moved.sweep is first.sweep
    assert other.sweep is not first.sweep
    assert moved.point.speed > first.point.speed


@pytest.mark.parametrize("percent", [17.0, 40.0, 63.5])
def test_the_motors_line_at_a_duty_is_the_librarys(percent):
    """At a stop of the slider, solved with all others, and at a typed value between two: against a rising torque."""
    state, settings = DutyState(duty=Q_(percent, "percent")), _settings(desk_wind_tunnel())
    run, (drive, loads, *_) = duty_run(state, settings), settings(state)
    own, *rising = loads
    expected = pwm_operating_point(drive, percent / 100, "2 kHz", load=rising)

    assert_quantity_close(expected.speed, run.line.speed, relative=1e-6)
    assert_quantity_close(expected.shaft_torque, run.line.shaft_torque, relative=1e-6)
    assert_quantity_close(
        pwm_operating_point(drive, percent / 100, "2 kHz", load=own).speed, run.point.speed, relative=1e-9
    )


def test_an_update_is_faster_than_a_new_picture():
    """Moving what is there takes less than a fifth of building the figure again, measured in the same run."""
    from time import process_time

    from labkit.figures.generator import GeneratorChart
    from labkit.panels.generator import generator_run

    chart, runs = GeneratorChart(), [generator_run(GeneratorState(speed=Q_(s, "rpm"))) for s in range(1000, 2000, 50)]
    chart.draw(runs[0])
    start = process_time()
    for run in runs:
        chart.draw(run)
    moved = (process_time() - start) / len(runs)
    start = process_time()
    for run in runs[:4]:
        GeneratorChart().draw(run)
    rebuilt = (process_time() - start) / 4

    assert moved < rebuilt / 5
