"""Results with numbers in them: right values from elsewhere, results turned round, and refusals that help."""

from __future__ import annotations

import pytest

from labkit.errors import NoSolutionError, PartError
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

MOTOR = {"resistance": "2.8 ohm", "emf_constant": "5.4 mV*s/rad"}
#: Name, arguments, value in print, source. OpenStax, Kuphaldt, CUI and MIT were read in stored copies (A);
#: Storey, Jacob, Neamen and Fitzgerald in a crowd transcription with re-run arithmetic (B).
PUBLISHED = [
    ("Ohm's law", {"voltage": "12.0 V", "resistance": "0.350 ohm"}, "34.3 A", "OpenStax, College Physics, headlight"),
    ("power from voltage and resistance", {"voltage": "12.0 V", "resistance": "0.350 ohm"}, "411 W", "the same"),
    ("stall current", {"voltage": "48.0 V", "resistance": "0.400 ohm"}, "120 A", "OpenStax, College Physics, back EMF"),
    ("power from current and resistance", {"current": "20 A", "resistance": "0.400 ohm"}, "160 W", "the same"),
    (
        "starting current with the source's resistance",
        {"supply_voltage": "120 V", "internal_resistance": "0 ohm", "resistance": "80 ohm", "on_resistance": "10 ohm"},
        "1.33 A",
        "OpenStax, University Physics, series motor: 10 ohm of field in the switch's place",
    ),
    (
        "current rise",
        {"voltage": "15 V", "resistance": "1 ohm", "inductance": "1 H", "time": "3.5 s"},
        "14.547 A",
        "Kuphaldt, Lessons in Electric Circuits, inductor table",
    ),
    (
        "EMF of a turning coil",
        {"turns": 100, "flux_density": "0.4 T", "coil_area": "20 cm**2", "speed": "105 rad/s"},
        "8.4 V",
        "Storey, Electrical & Electronic Systems, Ex 23.1",
    ),
    (
        "conduction loss",
        {"duty": 0.45, "current": "1.4 A", "on_resistance": "0.15 ohm"},
        "132.3 mW",
        "Jacob, Power Electronics, Ex 7.7",
    ),
    (
        "greatest loss without a heat sink",
        {"ambient": Q_(30, "degC"), "max_junction_temperature": Q_(150, "degC"), "junction_to_ambient": "51.75 K/W"},
        "2.32 W",
        "Neamen, Electronic Circuit Analysis and Design, Ex 8.1: 1.75 + 50 K/W",
    ),
    (
        "junction temperature",
        {"ambient": Q_(50, "degC"), "power": "2.78 W", "junction_to_ambient": "62 K/W"},
        "222 degC",
        "CUI training module on heat sinks: 222 °C",
    ),
    (
        "maximum shaft power",
        {"stall_torque": "7.0 mN*m", "no_load_speed": "24000 rpm"},
        "4.4 W",
        "MIT 2.007 motor information, RC-260RA-2670",
    ),
    (
        "ripple, straight lines",
        {"supply_voltage": "240 V", "diode_drop": "0 V", "duty": 0.75, "inductance": "4.2 H", "frequency": "1 kHz"},
        "10.7 mA",
        "Fitzgerald Ex 11.1 without the factor 2 that its transcription carries",
    ),
]


@pytest.mark.parametrize(("name", "numbers", "printed", "source"), PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_published_values(name, numbers, printed, source):
    """The result agrees with a printed value to its last digit (half a unit of it)."""
    digits = printed.split()[0]
    half = 0.5 * 10.0 ** -len(digits.partition(".")[2])
    unit = printed.split()[1]
    found = derivation(name).evaluate(**numbers).to(unit).magnitude

    assert abs(found - float(digits)) <= half * 1.001, source


def test_the_reference_motor():
    """Right values of the reference motor, worked by hand: free and at 0.45 A on 6.0 V."""
    free = derivation("no-load speed from the no-load current").evaluate(
        voltage="6.0 V", no_load_current="0.11 A", **MOTOR
    )
    running = {"speed": "877.8 rad/s", "no_load_current": "0.11 A", "current": "0.45 A"}

    assert_quantity_close(Q_("1054 rad/s"), free, absolute=Q_("0.5 rad/s"))
    assert_quantity_close(
        Q_("1.612 W"),
        derivation("shaft power").evaluate(emf_constant="5.4 mV*s/rad", **running),
        absolute=Q_("0.5 mW"),
    )
    assert_quantity_close(
        Q_("91.1 uJ"),
        derivation("energy in the winding").evaluate(inductance="0.9 mH", current="0.45 A"),
        absolute=Q_("0.05 uJ"),
    )
    assert_quantity_close(
        Q_("1.2 V"),
        derivation("mean voltage under duty").evaluate(supply_voltage="6 V", diode_drop="0.4 V", duty=0.25),
        relative=1e-12,
    )
    assert_quantity_close(
        Q_("0.703 A"),
        derivation("starting current with the source's resistance").evaluate(
            supply_voltage="9 V", internal_resistance="10 ohm", resistance="2.8 ohm", on_resistance="0 ohm"
        ),
        absolute=Q_("0.5 mA"),
    )


def test_text_and_quantities_of_any_spelling_give_one_answer():
    """Units as typed do not change the result."""
    this = derivation("back-EMF")
    answers = [
        this.evaluate(emf_constant="5.4 mV*s/rad", speed="9100 rpm"),
        this.evaluate(emf_constant=Q_(0.0054, "N*m/A"), speed=Q_(9100 * 3.141592653589793 / 30, "rad/s")),
        this.evaluate(emf_constant="0,0054 V*s/rad", speed="9.1 krpm"),
    ]

    for answer in answers[1:]:
        assert_quantity_close(answers[0], answer, relative=1e-12)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"voltage": "6 V", "resistence": "2.8 ohm"}, "Did you mean 'resistance'"),
        ({"voltage": "6 V"}, "stall current.resistance must be a quantity in ohm, more than zero; got nothing"),
        ({"voltage": "6 V", "resistance": "2.8 V"}, "stall current.resistance must be a quantity in ohm; got '2.8 V'"),
        ({"voltage": 6, "resistance": "2.8 ohm"}, "stall current.voltage must be a quantity in V; got 6"),
        ({"voltage": "6 V", "resistance": "-2.8 ohm"}, "Check the sign"),
        ({"voltage": "6 V", "resistance": float("nan")}, "stall current.resistance must be"),
    ],
)
def test_wrong_names_and_values_are_refused_with_help(numbers, words):
    """The error names the field, what was given and what would do."""
    with pytest.raises(PartError) as refused:
        derivation("stall current").evaluate(**numbers)

    assert words in str(refused.value)


def test_a_speed_is_not_a_frequency():
    """Hertz for a shaft speed, and a percentage for a duty, are refused."""
    with pytest.raises(PartError, match="rad/s"):
        derivation("back-EMF").evaluate(emf_constant="5.4 mV*s/rad", speed="150 Hz")
    with pytest.raises(PartError, match=r"A percentage\? Divide by 100"):
        derivation("mean voltage under duty").evaluate(supply_voltage="6 V", diode_drop="0 V", duty=45)


def test_a_rise_is_not_a_temperature():
    """A rise of 30 K typed as 30 °C would be one of 303 K."""
    body = {"power": "5 W", "winding_to_ambient": "33 K/W", "heat_capacity": "5 J/K"}
    with pytest.raises(PartError, match="Write it with K"):
        derivation("time to a temperature rise").evaluate(temperature_rise="30 °C", **body)


def test_outside_its_validity_a_result_is_refused():
    """A motor that cannot start, and a MOSFET that runs away, get no number."""
    with pytest.raises(NoSolutionError, match=r"here it is 386 µN·m against 594 µN·m.*able to start"):
        derivation("no-load speed").evaluate(voltage="0.2 V", friction_torque="0.594 mN*m", **MOTOR)
    with pytest.raises(NoSolutionError, match="no steady temperature"):
        derivation("junction temperature with rising resistance").evaluate(
            ambient=Q_(25, "degC"),
            reference_temperature=Q_(25, "degC"),
            junction_to_ambient="62 K/W",
            temperature_coefficient="0.005 1/K",
            on_resistance="50 mOhm",
            current="9 A",
        )


def test_a_result_beyond_all_numbers_is_refused():
    """1e200 V over 1e-200 Ω is more than a float can hold: no endless current is handed out."""
    with pytest.raises(NoSolutionError, match="no finite stall_current"):
        derivation("stall current").evaluate(voltage="1e200 V", resistance="1e-200 ohm")


def test_always_on_is_a_duty_too():
    """A number that is the timer's top, or a mean voltage that is the supply's, is a duty of one; more is refused."""
    assert derivation("duty from a count").evaluate(count=255, top=255) == Q_(1.0, "")
    whole = derivation("duty for a mean voltage")
    volts = {"supply_voltage": "6 V", "diode_drop": "0.4 V"}
    assert whole.evaluate(mean_voltage="6 V", **volts).magnitude == pytest.approx(1.0)
    with pytest.raises(NoSolutionError, match=r"duty comes to 1\.09"):
        whole.evaluate(mean_voltage="6.6 V", **volts)


def test_a_result_turned_round():
    """Which resistance gave this stall current; which fan constant this speed; how long until this current."""
    stall = derivation("stall current").solve_for("resistance", voltage="6 V", stall_current="2 A")
    rise = derivation("current rise").solve_for(
        "time", momentary_current="1.354 A", voltage="6 V", resistance="2.8 ohm", inductance="0.9 mH"
    )

    assert_quantity_close(Q_("3 ohm"), stall, relative=1e-12)
    assert_quantity_close(Q_("0.321 ms"), rise, absolute=Q_("0.5 us"))  # one time constant: 63 %


def test_no_value_fits():
    """A current above V/R is never reached, and the error says what was asked and what holds."""
    with pytest.raises(NoSolutionError, match="no time gives this"):
        derivation("current rise").solve_for(
            "time", momentary_current="2.5 A", voltage="6 V", resistance="2.8 ohm", inductance="0.9 mH"
        )
    with pytest.raises(NoSolutionError, match=r"would have to be -1.00 Ω, which cannot be"):
        derivation("resistances in series").solve_for("resistance", total_resistance="2 ohm", other_resistance="3 ohm")


def test_two_values_fit():
    """One ripple belongs to two duties, and both are named."""
    with pytest.raises(NoSolutionError, match=r"2 values of duty fit: 0\.250 and 0\.750"):
        derivation("ripple, straight lines").solve_for(
            "duty",
            ripple=Q_(6.4 * 0.1875 / (0.9e-3 * 2e4), "A"),
            supply_voltage="6 V",
            diode_drop="0.4 V",
            inductance="0.9 mH",
            frequency="20 kHz",
        )


@pytest.mark.parametrize(
    ("duty", "found"), [(0.5, "0.5"), (0.4999, "0.4999 and 0.5001"), (0.49, "0.490 and 0.510"), (0.2, "0.200 and 0.8")]
)
def test_two_values_that_lie_close_are_not_lost(duty, found):
    """Near its top a curve passes each value twice, close together; at its top once."""
    this, now = derivation("ripple"), {"supply_voltage": "6 V", "diode_drop": "0.4 V", "resistance": "2.8 ohm"}
    now |= {"inductance": "0.9 mH", "frequency": "20 kHz"}
    ripple = this.evaluate(duty=duty, **now)

    if duty == 0.5:
        assert_quantity_close(Q_(found), this.solve_for("duty", ripple=ripple, **now), absolute=Q_("1e-6"))
        return
    with pytest.raises(NoSolutionError, match=f"2 values of duty fit: {found}"):
        this.solve_for("duty", ripple=ripple, **now)


def test_a_curve_that_has_settled_tells_no_time():
    """Twenty time constants on, a current does not say when it was read."""
    this, coil = derivation("current rise"), {"voltage": "6 V", "resistance": "2.8 ohm", "inductance": "0.9 mH"}
    late = this.evaluate(time="6.5 ms", **coil)

    with pytest.raises(NoSolutionError, match="hardly depends on time"):
        this.solve_for("time", momentary_current=late, **coil)


def test_the_inverse_problems():
    """Coil, frequency, heat sink, buffer capacitor and gate resistor: each gives back the value it is to keep."""
    now = {"supply_voltage": "6 V", "diode_drop": "0.4 V", "duty": 0.4}
    coil = derivation("inductance for a ripple").evaluate(ripple="50 mA", frequency="20 kHz", **now)
    rate = derivation("frequency for a ripple").evaluate(ripple="50 mA", inductance=coil, **now)
    gate = derivation("gate resistor").evaluate(high_level="3.3 V", pin_current="20 mA", output_resistance="40 ohm")
    buffer = derivation("buffer capacitor").evaluate(current="2 A", duration="20 ms", dip="0.5 V")

    assert_quantity_close(Q_("20 kHz"), rate, relative=1e-12)
    assert_quantity_close(Q_("125 ohm"), gate, relative=1e-12)  # 165 ohm in all, less the pin's own
    assert_quantity_close(Q_("80 mF"), buffer, relative=1e-12)

    path = {"junction_to_case": "3 K/W", "case_to_sink": "1 K/W", "ambient": "50 °C"}
    sink = derivation("heat sink").evaluate(power="5 W", max_junction_temperature="150 °C", **path)
    hottest = derivation("heat sink").solve_for("max_junction_temperature", power="5 W", sink_to_ambient=sink, **path)
    assert_quantity_close(Q_("16 K/W"), sink, relative=1e-9)
    assert_quantity_close(Q_(423.15, "kelvin"), hottest.to("kelvin"), relative=1e-9)
    with pytest.raises(NoSolutionError, match="none exists where it comes out below zero"):
        derivation("heat sink").evaluate(power="50 W", max_junction_temperature="150 °C", **path)
