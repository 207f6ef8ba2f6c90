"""Circuit diagrams: the current on them is the library's, and what is wrong with a build is seen and said."""

import dataclasses
import io
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from labkit import (
    Q_,
    Bipolar,
    desk_wind_tunnel,
    generator_point,
    generator_schematic,
    motor_schematic,
    pwm_operating_point,
    review,
    schematic,
    turn_off_transient,
)
from labkit.errors import PartError, UnitError
from labkit.figures.schematic_flow import flow
from labkit.figures.schematic_sketch import Sketch
from labkit.parts import Build, Diode, DiodePlace, Fuse, Led, Load, PullDownPlace, Side
from labkit.testing import assert_quantity_close

TUNNEL = desk_wind_tunnel()


def built(**build):
    """Return the desk wind tunnel, put together another way."""
    return dataclasses.replace(TUNNEL, build=Build(**build))


def changed(**parts):
    """Return the desk wind tunnel with other parts."""
    return dataclasses.replace(TUNNEL, **parts)


FAULTS = [
    (changed(diode=None), "no freewheel diode"),
    (changed(pull_down=None), "no pull-down"),
    (built(diode_reversed=True), "the wrong way round"),
    (built(common_ground=False), "no common ground"),
    (built(drain_source_swapped=True), "drain and source swapped"),
    (built(diode_place=DiodePlace.TRANSISTOR), "a diode across the transistor"),
    (built(side=Side.HIGH), "on the high side"),
    (built(motor_on_pin=True), "without a transistor"),
]


def arrow(picture):
    """Return the current that the arrow shows."""
    return next(reading.value for reading in picture.readings if reading.name == "Current of the arrow")


def test_the_settled_current_is_that_of_full_duty():
    """The review's circuit and the duty's solver are two routes to the same steady current."""
    expected = pwm_operating_point(TUNNEL, 1.0, "1 kHz").mean_current

    assert_quantity_close(expected, arrow(schematic(TUNNEL)), relative=1e-3)


def test_a_current_that_is_given_is_drawn():
    """Stalled, for one: what somebody asks for is what the arrow says."""
    picture = schematic(TUNNEL, current="1.7 A")

    assert_quantity_close(Q_(1.7, "A"), arrow(picture))
    assert "1.70 A" in picture.finding


def test_after_the_opening_the_same_current_goes_round_through_the_diode():
    """Drain at V + V_F = 6.0 + 0.4 V, by hand; the current of a winding does not jump."""
    shown = flow(TUNNEL, "off", "1.5 A", None)

    assert shown.loop == "diode"
    assert not shown.out_of_motor
    assert_quantity_close(Q_(1.5, "A"), shown.current)
    assert_quantity_close(Q_(6.4, "V"), turn_off_transient(TUNNEL, "1.5 A").peak_switch_voltage)
    assert "6.40 V" in shown.finding


def test_without_a_diode_the_transistor_breaks_down():
    """The way is the old one, through a transistor that is open: 30 V is its breakdown."""
    shown = flow(changed(diode=None), "off", None, None)

    assert shown.loop == "motor"
    assert "breaks down at 30.0 V" in shown.finding


def test_a_reversed_diode_shorts_the_supply():
    """The current of the short circuit is the one that the review of the same design finds."""
    drive = built(diode_reversed=True)
    shown = flow(drive, "on", None, None)
    found = next(f for f in review(drive, 1.0, "1 kHz").findings if f.name.startswith("current through the diode"))

    assert shown.loop == "short"
    assert shown.current.m_as("A") == pytest.approx(found.value.m_as("A"), rel=0.01)


def test_turned_backwards_the_diode_brakes_the_motor():
    """By hand (5.4 mV·s/rad · 314 rad/s - 0.4 V)/2.8 ohm = 463 mA; the generator's own solver agrees."""
    shown = flow(TUNNEL, "generator", None, "-3000 rpm")
    expected = generator_point(TUNNEL.motor, "3000 rpm", Diode(forward_voltage="0.4 V")).current

    assert (shown.loop, shown.out_of_motor) == ("diode", False)
    assert_quantity_close(Q_(463, "mA"), shown.current, relative=1e-3)
    assert_quantity_close(expected, shown.current, relative=1e-9)


def test_turned_forward_the_supply_holds_against_it_until_the_emf_exceeds_it():
    """At 3000 rpm 1.7 V stand against 6 V; at 15 000 rpm 8.48 - 6.7 V drive 1.78 V/3.4 ohm = 524 mA back."""
    assert flow(TUNNEL, "generator", None, "3000 rpm").loop == ""
    fast = flow(TUNNEL, "generator", None, "15000 rpm")

    assert fast.out_of_motor
    assert_quantity_close(Q_(524, "mA"), fast.current, relative=1e-3)


@pytest.mark.parametrize(("drive", "words"), FAULTS, ids=[words for _, words in FAULTS])
@pytest.mark.parametrize("moment", ["on", "off"])
def test_each_way_of_building_is_said_in_the_alternative_text(drive, words, moment):
    """Who does not see the drawing hears what is wrong with the build."""
    assert words in schematic(drive, moment).alt


def test_without_a_common_ground_nothing_flows():
    """No arrow is drawn for a current that nobody can rely on."""
    picture = schematic(built(common_ground=False))

    assert not any("arrow" in reading.name for reading in picture.readings)
    assert "not joined" in picture.finding


def test_two_builds_never_look_the_same():
    """Each fault changes the drawing, not only the words below it."""
    drawings = [schematic(drive).png for drive, _ in FAULTS] + [schematic(TUNNEL).png]

    assert len(set(drawings)) == len(drawings)


def test_values_of_the_drive_stand_in_the_drawing_and_in_its_table():
    """A diagram of another drive has that drive's numbers."""
    drive = changed(
        supply=dataclasses.replace(TUNNEL.supply, capacitance=Q_(470, "uF")),
        build=Build(fuse=Fuse(rating="2 A"), series_resistor="10 ohm", shared_return="50 mohm"),
    )
    picture = schematic(drive)
    numbers = {reading.name: reading.text() for reading in picture.readings}

    assert numbers["Buffer capacitor"] == "470 µF"
    assert numbers["Fuse"] == "2.00 A"
    assert numbers["Resistor in series"] == "10.0 Ω"
    assert numbers["Shared lead"] == "50.0 mΩ"
    assert all(text in picture.to_html() for text in numbers.values())


@pytest.mark.parametrize(
    "draw",
    [
        lambda: schematic(TUNNEL),
        lambda: generator_schematic(TUNNEL.motor, "4000 rpm", "10 ohm"),
        lambda: motor_schematic(TUNNEL.pin, TUNNEL.motor),
    ],
    ids=["drive", "generator", "motor"],
)
def test_the_svg_needs_nothing_else(draw):
    """No font, no link and no script: letters are outlines, and every reference stays inside."""
    picture = draw()
    root = ET.fromstring(picture.svg)
    names = {element.tag.rpartition("}")[2] for element in root.iter()}
    links = [value for element in root.iter() for name, value in element.attrib.items() if name.endswith("href")]

    assert "path" in names
    assert not names & {"image", "script", "text", "font"}
    assert links
    assert all(link.startswith("#") for link in links)
    assert picture.to_html().count('src="data:image/svg+xml;base64,') == 1


def test_the_pixels_are_as_large_as_those_of_any_picture():
    """Half as many again as CSS pixels, for 200 % zoom."""
    picture = schematic(TUNNEL)

    assert Image.open(io.BytesIO(picture.png)).size == (1.5 * picture.width, 1.5 * picture.height)


def test_a_mark_changes_the_drawing_and_the_words():
    """The ring is drawn, and who does not see it hears of it."""
    plain, marked = schematic(TUNNEL), schematic(TUNNEL, mark="diode")

    assert marked.png != plain.png
    assert "Marked: the diode." in marked.alt


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("place", PullDownPlace)
def test_a_bipolar_transistor_is_drawn_on_either_side(side, place):
    """Its drop stands beside it, and its base resistor in the gate resistor's place."""
    build = Build(side=side, pull_down_place=place, motor_capacitor="100 nF")
    picture = schematic(changed(switch=Bipolar(base_resistor="330 ohm"), build=build))

    assert "bipolar transistor" in picture.alt


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"mark": "lamp"}, "mark must be a place of this diagram"),
        ({"moment": "sometimes"}, "moment must be one of on, off, generator; got 'sometimes'. Write moment='on'."),
        ({"moment": "generator"}, "speed must be given where the shaft is turned"),
        ({"current": "3 V"}, "current"),
        ({"current": "-1 A"}, "current must be zero or more; got -1.00 A. Which way it flows"),
        ({"current": TUNNEL}, "current must be a quantity in A"),
        ({"moment": "generator", "speed": TUNNEL.motor}, "speed must be a quantity in rad/s"),
        ({"mark": ["motor"]}, "mark must be a place of this diagram"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_a_remedy(arguments, words):
    """The sentence names the argument, and says what to write."""
    with pytest.raises((PartError, UnitError), match=words):
        schematic(TUNNEL, **arguments)


def test_a_transistor_that_cannot_open_makes_no_generator():
    """With drain and source swapped the supply is always connected: there is no free generator to draw."""
    with pytest.raises(PartError, match="whose transistor can open"):
        schematic(built(drain_source_swapped=True), "generator", speed="3000 rpm")


@pytest.mark.parametrize(
    ("speed", "load", "words"),
    [
        ("3000 rpm", None, "No current flows, and the terminals show all of it."),
        ("4000 rpm", Led(series_resistance="47 ohm"), "9.35 mA flows out of it and through the load"),
        ("-4000 rpm", Led(series_resistance="47 ohm"), "+ at its lower terminal. No current flows"),
        ("0 rpm", "10 ohm", "The shaft stands still"),
    ],
)
def test_the_generators_finding_says_what_flows(speed, load, words):
    """Nothing into a meter, some into an LED the right way round, none the wrong way."""
    assert words in generator_schematic(TUNNEL.motor, speed, load).finding


def test_the_generators_arrow_is_the_librarys_current():
    """By hand 2.262 V/(2.8 + 10) ohm = 177 mA."""
    picture = generator_schematic(TUNNEL.motor, "4000 rpm", "10 ohm")
    current = next(reading.value for reading in picture.readings if reading.name.startswith("Current"))

    assert_quantity_close(Q_(177, "mA"), current, relative=2e-3)


@pytest.mark.parametrize(
    ("source", "load", "amps", "words"),
    [
        (TUNNEL.supply, TUNNEL.load, 0.3463, "5.79 V are at the motor. It turns at 893 rad/s (8530 rpm)"),
        (TUNNEL.supply, Load(friction="1 N*m"), 6 / 3.4, "It stands still, so there is no generator EMF"),
        (TUNNEL.pin, None, 3.3 / 42.8, "3.08 V stay inside the pin, 216 mV are at the motor. It stands still"),
    ],
    ids=["cells, fan", "cells, held", "pin"],
)
def test_the_motors_arrow_is_the_librarys_current(source, load, amps, words):
    """By hand 6 V/(0.6 + 2.8) ohm held; 3.3 V/(40 + 2.8) ohm on a pin, where it does not get what turning takes."""
    picture = motor_schematic(source, TUNNEL.motor, load)
    current = next(reading.value for reading in picture.readings if reading.name == "Current")

    assert current.m_as("A") == pytest.approx(amps, rel=1e-3)
    assert words in picture.finding


@pytest.mark.parametrize("leads", ["0 ohm", "0.1 ohm"])
def test_the_ring_is_round_the_motor_also_below_its_leads(monkeypatch, leads):
    """Leads stand in the motor's column and push it down; the ring is where the motor is drawn."""
    motors, rings = [], []
    draw_motor, draw_ring = Sketch.motor, Sketch.ring
    monkeypatch.setattr(Sketch, "motor", lambda self, *ends: motors.append(ends) or draw_motor(self, *ends))
    monkeypatch.setattr(Sketch, "ring", lambda self, *where: rings.append(where) or draw_ring(self, *where))
    schematic(changed(wiring=leads), mark="motor")
    ((x, top), (_, bottom)) = motors[0]

    assert rings[0][0] == pytest.approx((x, (top + bottom) / 2))


def test_a_transistor_that_the_pin_does_not_turn_on_is_no_closed_switch():
    """A threshold of 4 V at 3.3 V: no arrow is drawn for 0 A, and the words say why."""
    picture = schematic(changed(switch=dataclasses.replace(TUNNEL.switch, on_resistance="50 mohm", threshold="4 V",
                                                           transconductance="6 A/V**2")))  # fmt: skip

    assert not any("arrow" in reading.name for reading in picture.readings)
    assert "stays off" in picture.finding
    assert "closed" not in picture.finding


@pytest.mark.parametrize(
    ("switch", "words"),
    [(TUNNEL.switch, "drain and source swapped"), (Bipolar(base_resistor="330 ohm"), "collector and emitter swapped")],
)
def test_swapped_legs_are_called_by_their_names(switch, words):
    """A bipolar transistor has no drain."""
    assert words in schematic(changed(switch=switch, build=Build(drain_source_swapped=True))).alt
