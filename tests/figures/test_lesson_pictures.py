"""The pictures of the panels: labels, units, data on the axes, and words."""

import io
import re

import numpy as np
import pytest
from PIL import Image

from labkit import (
    Q_,
    bench_picture,
    demo_bench,
    desk_wind_tunnel,
    fit_motor,
    read_bench,
    report,
    report_html,
    residual_picture,
    schematic,
    spectrum_picture,
)
from labkit.errors import PartError
from labkit.figures import dissipation_picture, duty_picture, generator_picture
from labkit.figures.dissipation import DissipationChart
from labkit.figures.duty import DutyChart
from labkit.figures.generator import GeneratorChart
from labkit.figures.pin import PinChart
from labkit.figures.review import review_picture, trouble_picture
from labkit.figures.running import RunningChart
from labkit.figures.stall import StallChart
from labkit.figures.supply import SupplyChart
from labkit.figures.switch import SwitchChart
from labkit.figures.switch_off import SwitchOffChart
from labkit.panels.dissipation import DissipationState, dissipation_run
from labkit.panels.duty import HELD, DutyState, duty_run
from labkit.panels.generator import LED, RESISTOR, GeneratorState, generator_run
from labkit.panels.pin import PinState, pin_run
from labkit.panels.running import RunningState, running_run
from labkit.panels.stall import StallState, stall_run
from labkit.panels.supply import SupplyState, supply_run
from labkit.panels.switch import SwitchState, switch_run
from labkit.panels.switch_off import SwitchOffState, switch_off_run

DUTY = duty_run(DutyState())
GENERATOR = generator_run(GeneratorState(speed=Q_(4000, "rpm"), load=LED))
DISSIPATION = dissipation_run(DissipationState(gate_voltage=Q_(3.3, "V")))
SWITCH_OFF = switch_off_run(SwitchOffState())
ALL = [
    (DutyChart, DUTY),
    (GeneratorChart, GENERATOR),
    (DissipationChart, DISSIPATION),
    (SwitchOffChart, SWITCH_OFF),
    (SwitchChart, switch_run(SwitchState())),
    (SupplyChart, supply_run(SupplyState())),
    (PinChart, pin_run(PinState())),
    (StallChart, stall_run(StallState(time=Q_(60, "s")))),
    (RunningChart, running_run(RunningState())),
]
#: What stands on an axis without a unit, by right.
BARE = {""}


@pytest.fixture(params=ALL, ids=lambda pair: pair[0].__name__)
def drawn(request):
    """Return a chart and the picture that it drew."""
    kind, run = request.param
    chart = kind()
    return chart, chart.draw(run)


def test_every_axis_names_its_quantity_and_unit(drawn):
    """An axis without a unit is a number without a unit."""
    chart, _ = drawn
    labels = {axes.get_xlabel() for axes in chart.figure.axes} | {axes.get_ylabel() for axes in chart.figure.axes}

    assert labels - BARE
    assert all(re.fullmatch(r"[\w -]+ \([^()]+\)", label) for label in labels - BARE)


def test_every_part_of_a_picture_has_a_title(drawn):
    """Each part says what it is; the current of the waveform stands under the title of its voltage."""
    chart, _ = drawn
    untitled = [axes.get_ylabel() for axes in chart.figure.axes if not axes.get_title(loc="left")]

    assert untitled in ([], ["current (A)"])


def test_the_image_is_finer_than_it_is_shown(drawn):
    """At 200 % zoom there are still pixels to show: half as many again as CSS pixels."""
    _, picture = drawn
    size = Image.open(io.BytesIO(picture.png)).size

    assert size == (1.5 * picture.width, 1.5 * picture.height)


def test_the_words_state_the_finding_with_numbers_and_units(drawn):
    """The alternative text is a statement with numbers, not a caption."""
    _, picture = drawn

    assert picture.alt.startswith(picture.subject)
    assert len(re.findall(r"\d(?:[\d.\u202f]*) ?(?:[mµk]?[VAWΩ]|rpm|rad/s|%|°C|[mµ]?N·m|kHz)", picture.finding)) >= 2


def test_readings_and_tables_carry_finite_numbers(drawn):
    """What stands behind the picture can be read as a table."""
    _, picture = drawn

    assert len(picture.readings) >= 6
    assert all(np.isfinite(reading.value.magnitude) for reading in picture.readings)
    for table in picture.tables:
        assert len({len(values) for _, values, _ in table.columns}) == 1


def test_a_picture_comes_back_the_same_after_others():
    """Nothing of another setting stays behind in a moved picture."""
    chart = GeneratorChart()
    first = chart.draw(GENERATOR).png
    chart.draw(generator_run(GeneratorState(speed=Q_(-2000, "rpm"), load=RESISTOR)))

    assert chart.draw(GENERATOR).png == first


def test_the_duty_picture_draws_the_result():
    """Waveform, speed curve, dot and bars are the simulation's own numbers."""
    chart = DutyChart()
    chart.draw(DUTY)

    np.testing.assert_allclose(chart.amps_line.get_ydata(), np.tile(DUTY.period.current.m_as("A"), 2))
    np.testing.assert_allclose(chart.volts_mean.get_ydata(), DUTY.point.mean_voltage.m_as("V"))
    np.testing.assert_allclose(chart.speeds_line.get_ydata(), DUTY.sweep.speed.m_as("rpm"))
    assert chart.speeds_dot.get_xdata() == [40.0]
    assert chart.speeds_dot.get_ydata() == [DUTY.point.speed.m_as("rpm")]
    assert [bar.get_width() for bar in chart.heat_bars.bars] == [loss.m_as("W") for loss in DUTY.heat]


def test_the_dot_lies_where_the_motor_meets_its_load():
    """Both curves of torque against speed pass the point at which the drive settles."""
    speed, torque = DUTY.point.speed.m_as("rpm"), DUTY.point.shaft_torque.m_as("mN*m")
    for curve in (DUTY.line, DUTY.sweep):
        order = np.argsort(curve.speed.m_as("rpm"))
        at_speed = np.interp(speed, curve.speed.m_as("rpm")[order], curve.shaft_torque.m_as("mN*m")[order])

        # straight lines between 21 or 41 points of a curve
        assert at_speed == pytest.approx(torque, rel=0.03)


def test_the_generator_picture_draws_the_result():
    """EMF, terminals, current and torque are the simulation's own numbers, at the present speed too."""
    chart = GeneratorChart()
    chart.draw(GENERATOR)

    np.testing.assert_allclose(chart.emf_line.get_ydata(), GENERATOR.curve.emf.m_as("V"))
    np.testing.assert_allclose(chart.terminal_line.get_ydata(), GENERATOR.curve.terminal_voltage.m_as("V"))
    np.testing.assert_allclose(chart.amps_line.get_ydata(), GENERATOR.curve.current.m_as("mA"))
    assert chart.torques_dot.get_ydata() == [GENERATOR.point.shaft_torque.m_as("mN*m")]


@pytest.mark.parametrize(
    ("speed", "lit", "words"),
    [(4000, True, "The LED is lit by 9.3"), (2500, False, "dark: too few volts"), (-4000, False, "blocks this way")],
)
def test_light_is_told_by_word_and_rays_not_by_colour_alone(speed, lit, words):
    """Lit, too slow and the wrong way round differ in words and in drawn rays."""
    chart = GeneratorChart()
    picture = chart.draw(generator_run(GeneratorState(speed=Q_(speed, "rpm"), load=LED)))

    assert chart.rays.get_visible() is lit
    assert words in picture.finding


def test_the_dissipation_picture_draws_the_result():
    """The lines cross at the temperature that the fixed point gives."""
    chart = DissipationChart()
    chart.draw(DISSIPATION)
    settled = DISSIPATION.settled.temperature.m_as("degC")
    made = np.interp(settled, chart.made_line.get_xdata(), chart.made_line.get_ydata())
    carried = np.interp(settled, chart.carried_line.get_xdata(), chart.carried_line.get_ydata())

    assert made == pytest.approx(DISSIPATION.settled.power.m_as("W"), rel=1e-9)
    assert carried == pytest.approx(made, rel=1e-9)
    assert chart.balance_dot.get_xdata() == [settled]


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({"thermal_resistance": Q_(250, "kelvin/W"), "current": Q_(2.2, "A")}, "it runs away"),
        ({"current": Q_(3.2, "A")}, "passes the 150 °C that it stands: it fails"),
        ({"gate_voltage": Q_(2.6, "V"), "current": Q_(2.0, "A")}, "it is no closed switch"),
        ({}, "below its limit"),
    ],
)
def test_the_dissipation_finding_says_what_becomes_of_the_transistor(state, words):
    """Runs away, fails, does not conduct enough, or settles: each has its own sentence."""
    run = dissipation_run(DissipationState(**{"gate_voltage": Q_(3.3, "V"), **state}))

    assert words in dissipation_picture(run).finding


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({}, "The current stops in each period: up to 524 mA"),
        ({"frequency": Q_(20, "kHz")}, "The current never stops"),
        ({"duty": Q_(0, "percent")}, "No current flows"),
        ({"duty": Q_(100, "percent")}, "The current is steady"),
        ({"load": HELD}, "the motor stands still"),
    ],
)
def test_the_duty_finding_says_how_the_current_flows(state, words):
    """Broken, continuous, none, steady; and a held motor stands still."""
    assert words in duty_picture(duty_run(DutyState(**state))).finding


def test_the_bench_picture_shows_readings_and_fit():
    """Each steady table is drawn; measured and fitted differ by the fit's residuals, and the finding names R and k."""
    fit = fit_motor(read_bench(demo_bench()))
    picture = bench_picture(fit)
    voltage_sets = [one for one in fit.residuals if one.balance == "voltage"]

    assert len(picture.tables) == len(voltage_sets) == 3
    for table, one in zip(picture.tables, voltage_sets, strict=True):
        off = table.columns[1][1] - table.columns[2][1]
        np.testing.assert_allclose(np.sort(off.m_as("V")), np.sort(one.residual.m_as("V")), atol=1e-12)
    assert re.search(r"Resistance 2\.\d+ Ω ± .* Motor constant k 5\.\d+ mV·s/rad ±", picture.finding)


def test_the_generator_picture_function_gives_the_charts_picture():
    """The function for a single picture and the moved chart agree to the last byte."""
    assert generator_picture(GENERATOR).png == GeneratorChart().draw(GENERATOR).png


@pytest.mark.parametrize(
    "wrong", [None, desk_wind_tunnel().motor, "fan_motor.csv", [1, 2]], ids=lambda one: type(one).__name__
)
@pytest.mark.parametrize(
    ("function", "kind", "source"),
    [
        (bench_picture, "MotorFit", "fit_motor"),
        (residual_picture, "MotorFit", "fit_motor"),
        (report, "MotorFit", "fit_motor"),
        (report_html, "MotorFit", "fit_motor"),
        (spectrum_picture, "HeardSpeed", "speed_from_sound"),
        (review_picture, "Review", "review"),
        (trouble_picture, "Review", "review"),
        (schematic, "Drive", ""),
    ],
)
def test_something_else_in_the_place_of_a_result_is_named(function, kind, source, wrong):
    """A slip that everybody makes: the sentence says what is wanted, and where that comes from."""
    with pytest.raises(PartError, match=f"{function.__name__}.*must be a {kind}; got .*{source}"):
        function(wrong)


def test_a_held_motor_on_a_flat_battery_keeps_its_voltage_in_the_picture():
    """At full duty the battery sags most: in each shorter pulse more is left, and none of it is cut off."""
    chart = DutyChart()
    for duty in (0, 10, 40, 100):
        state = DutyState(
            duty=Q_(duty, "percent"), load=HELD, battery_voltage=Q_(4.6, "V"), battery_resistance=Q_(2.5, "ohm")
        )
        chart.draw(duty_run(state))
        assert max(chart.volts_line.get_ydata()) < chart.volts.get_ylim()[1], duty


def test_no_current_is_a_plain_zero():
    """An LED that blocks leaks a few zeptoamperes: picture and numbers say 0 A, as the sentence says none."""
    chart = GeneratorChart()
    picture = chart.draw(generator_run(GeneratorState(speed=Q_(-4000, "rpm"), load=LED)))
    shown = {one.name: one.text() for one in picture.readings}

    assert "no current flows" in picture.finding
    assert (chart.amps_words.get_text(), shown["Current"], shown["Power in the load"]) == ("0 A", "0 A", "0 W")


def _apart(chart, one, other):
    renderer = chart.canvas.get_renderer()
    return not one.get_window_extent(renderer).overlaps(other.get_window_extent(renderer))


@pytest.mark.parametrize("time", ["1 ms", "10 ms"])
def test_the_battery_makes_room_for_the_drain(time):
    """When all is over the drain is at the battery's voltage: the words of both stand there and can be read."""
    chart = SwitchOffChart()
    state = SwitchOffState(
        time=Q_(time), speed=Q_("0 rpm"), current=Q_("0.859 A"), battery_voltage=Q_("4.6 V")
    )  # fmt: skip
    chart.draw(switch_off_run(state))

    assert chart.drain_label.get_text() == "drain 4.60 V"
    assert _apart(chart, chart.supply_words, chart.drain_label)


@pytest.mark.parametrize("amps", [0.11, 0.859, 1.74])
def test_words_of_a_cool_transistor_stand_above_the_axis(amps):
    """Where hardly any heat is made, its temperature is written over neither the axis' numbers nor another word."""
    chart = DissipationChart()
    chart.draw(dissipation_run(DissipationState(gate_voltage=Q_(10, "V"), current=Q_(amps, "A"))))

    assert chart.balance_words.get_position()[1] >= 0
    assert _apart(chart, chart.balance_words, chart.made_words)


@pytest.mark.parametrize(
    ("chart", "run"), [(DutyChart, DUTY), (DissipationChart, DISSIPATION), (PinChart, pin_run(PinState()))]
)
def test_bars_and_sentence_say_the_same_number(chart, run):
    """No bar says 290 mW where the sentence below says 289 mW: what both tell is told with the same figures."""
    drawn = chart()
    finding = drawn.draw(run).finding
    bars = {
        word.get_text() for axes in drawn.figure.axes for word in axes.texts if re.search(r"\d m?W$", word.get_text())
    }
    told = set(re.findall(r"[\d.]+ m?W", finding))

    assert bars
    assert told
    assert told <= bars
