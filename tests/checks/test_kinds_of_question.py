"""Formulas, designs, plots, measured results, choices with a reason: what is right, named, or refused."""

from __future__ import annotations

import dataclasses
import math
import random

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.checks import answer_from_json, answer_to_json, judge, read_answer
from labkit.checks.formulas import read_formula
from labkit.checks.symbols import Symbol, points
from labkit.errors import FormulaError
from labkit.parts import desk_wind_tunnel
from labkit.problems import plans, question
from labkit.reviews import generic_part
from labkit.units import Q_

pytestmark = pytest.mark.core

ENERGY = "Energy in the winding as a formula"
DRAG = "Drag torque as a formula"
GATE = "Gate voltage while it charges as a formula"
DESIGN = "Parts that switch this motor"
SUPPLY = "A bigger supply, and why"
RISE = "Time constant off a curve"
HELD = "Held current off a line"
CONSTANT = "Motor constant and how sure it is"
OWN = "Resistance of your own motor"
SOUND = "transistor = logic-level MOSFET\ngate resistor = 150 ohm\npull-down = 10 kohm\ndiode = Schottky diode"
QUOTED = SOUND.replace(" = ", ' = "').replace("\n", '"\n') + '"'  # as in a design file
#: A motor of 2.5 Ω with a brush drop of 0.10 V, worked by hand, each voltage moved by up to 15 mV.
READINGS = """table: locked rotor
position, voltage [V], current [mA]
1, 0.465, 150
1, 1.100, 400
2, 0.480, 150
2, 1.110, 400
3, 0.470, 150
3, 1.090, 400
4, 0.485, 150
4, 1.105, 400"""


def _judged(title, answer, tries=0):
    sheet = next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))
    return judge(question(title), sheet.numbers(sheet.reference), read_answer(answer), tries=tries)


# --- formulas -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "typed",
    ["½·L·I²", "0.5*L*I^2", "0,5 L I**2", "E = L·I²/2", "(L I I)/(1 + 1)", "1/2 L I²", "L × I × I ÷ 2", "√(L²)·I²/2"],
)
def test_a_formula_is_right_in_any_spelling(typed):
    """½LI² is the energy of a winding however it is typed."""
    assert _judged(ENERGY, typed).outcome == "right"


@pytest.mark.parametrize(
    "typed", ["V(1 - exp(-t/(R C)))", "u(t) = V − V·exp(−t/R/C)", "V*(exp(t/(R*C)) - 1)/exp(t/(R*C))"]
)
def test_a_formula_with_an_exponential(typed):
    """The charging of a gate is right in each form."""
    assert _judged(GATE, typed).outcome == "right"


@pytest.mark.parametrize(
    ("typed", "outcome", "said"),
    [
        ("V exp(-t/(RC))", "wrong", "taken to empty"),
        ("V", "wrong", "at once"),
        ("V(1-exp(-t R/C))", "refused", "exp and ln need a bare number inside"),
        ("V(1-exp(-t/RC))", "refused", "After a division"),
        ("V(1-e^(-t/(RC)))", "refused", "write exp(x)"),
    ],
)
def test_a_wrong_exponential_is_named_or_told(typed, outcome, said):
    """What stands in the exponent must have no unit."""
    verdict = _judged(GATE, typed)

    assert verdict.outcome == outcome
    assert said in verdict.comment


def test_a_formula_of_sympys_is_an_answer():
    """An expression built with sympy counts by its text, and crosses to the marker as that."""
    inductance, current = sympy.symbols("L I", positive=True)
    sent = answer_to_json(sympy.Rational(1, 2) * inductance * current**2)

    assert isinstance(sent, str)
    assert judge(question(ENERGY), _reference(ENERGY), answer_from_json(sent)).right


def _reference(title):
    sheet = next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))
    return sheet.numbers(sheet.reference)


@pytest.mark.parametrize(
    ("typed", "outcome", "named"),
    [
        ("L I²", "wrong", "M24"),
        ("½ L I", "wrong", "M24"),  # another dimension: named before the unit is refused
        ("½ L V²", "wrong", "M24"),
        ("L I²/4", "wrong", "half or double"),
        ("-½ L I²", "wrong", "sign"),
        ("1000 · ½ L I²", "wrong", "prefix"),
        ("L I V/(2 R)", "wrong", None),
        ("V²/R", "refused", None),
        ("L + I", "refused", None),
        ("exp(L)", "refused", None),
        ("0", "refused", None),
    ],
)
def test_a_wrong_formula_is_named_or_refused(typed, outcome, named):
    """A known wrong formula names its idea, a constant factor its slip, and a wrong dimension is said."""
    verdict = _judged(ENERGY, typed)

    assert (verdict.outcome, verdict.misconception or verdict.slip) == (outcome, named)


@pytest.mark.parametrize("typed", ["L I²", "½ L I", "½ L V²"])
def test_a_comment_on_a_formula_does_not_give_it_away(typed):
    """The idea is named by what was done; the formula in words, which the idea's own text holds, is not said."""
    verdict = _judged(ENERGY, typed)

    assert typed in verdict.comment
    assert "times the square" not in verdict.comment
    assert "½·L·I²" not in str(verdict)


def test_what_a_formula_lacks_is_said():
    """The drag of a loaded generator without the winding's resistance names its idea; k·ω alone misses both."""
    assert _judged(DRAG, "k²ω/r").slip == "winding forgotten"
    assert _judged(DRAG, "k²ω/R/3").comment.endswith(
        "r, the resistor, does not stand in it: does it make no difference?"
    )


def test_a_letter_that_no_keyboard_has_is_named_to_type():
    """The question about the drag names omega beside ω, and takes it."""
    assert "ω (or omega) for the shaft's speed" in _judged(DRAG, "").comment
    assert _judged(DRAG, "k^2*omega/(R + r)").outcome == "right"


@pytest.mark.parametrize(
    "hostile",
    [
        "__import__('os').system('x')", "9**9**9", "9^9^9^9", "(" * 150 + "L" + ")" * 150, "-" * 190 + "L", "L**R",
        "L.real", "²", "_", "0x41", "1e999", "1" * 200, "½" * 190, "√" * 190 + "L", "L" * 100_000, "I/(L-L)",
        "L[0]", "lambda: L", "L if I else V", "I²²²²²²²²²²²²²²²²²²²²²²²²²²²²²²²²", "((9999^4)^4)^4^4",
        "exp(exp(exp(exp(99))))", "ln(0-1)", "exp(√(-1))", "ln(√(L-2L)/I)", "L\u202eI", "L\x00I",
    ],
    ids=lambda hostile: hostile[:24].encode("unicode_escape").decode(),
)  # fmt: skip
def test_hostile_text_is_no_formula_and_costs_nothing(hostile):
    """Code, towers of powers, brackets without end: refused or wrong, where evaluating them would run for ever."""
    assert _judged(ENERGY, hostile).outcome in ("refused", "wrong")


@given(st.text(alphabet="LIVR0123456789½+-*/^²()√., =πexpsqrtln·", max_size=200))
@settings(deadline=None, max_examples=300)
def test_any_text_is_a_formula_or_says_why_not(text):
    """Whatever is typed has a verdict, and no exception."""
    assert _judged(ENERGY, text).outcome in ("right", "wrong", "refused", "unanswered")


_LETTERS = [
    Symbol("a", "a", "V", 2.0, 9.0), Symbol("b", "b", "V", 1.0, 5.0), Symbol("c", "c", "V", 0.5, 7.0),
]  # fmt: skip


def _grown(chance, depth):
    """Return a random formula as this kit and as sympy read it."""
    if depth == 0 or chance.random() < 0.2:
        return chance.choice(["a", "b", "c", "2", "3"])
    one, other = _grown(chance, depth - 1), _grown(chance, depth - 1)
    return f"({one}){chance.choice('*/')}({other})" if chance.random() < 0.8 else f"({one})**2"


def test_sameness_agrees_with_sympy():
    """Of 300 random pairs, the formulas that sympy simplifies to one are those that give the same numbers here."""
    chance, letters = random.Random(7), sympy.symbols("a b c", positive=True)
    agreed = {True: 0, False: 0}
    for _ in range(300):
        one = _grown(chance, 2)
        other = f"({one})*({x})/({x})" if (x := chance.choice("abc")) and chance.random() < 0.5 else _grown(chance, 2)
        proven = sympy.simplify(sympy.sympify(f"({one})/({other})", dict(zip("abc", letters, strict=True)))) == 1
        tried = all(
            read.units == again.units and math.isclose(read.magnitude, again.magnitude, rel_tol=1e-9)
            for place in points(tuple(_LETTERS))
            for read, again in [tuple(read_formula(text, _LETTERS).at(_point(place)) for text in (one, other))]
        )
        assert tried == proven, (one, other)
        agreed[tried] += 1

    assert min(agreed.values()) > 30


@pytest.mark.parametrize("asked", [q for sheet in plans() for q in sheet.questions if q.symbols], ids=lambda q: q.title)
def test_a_formula_comes_to_the_same_with_units_and_without(asked):
    """Floats in coherent SI give what pint makes of letters in nF, rpm and mV·s/rad, units and all."""
    read = read_formula(asked.formula, asked.symbols)
    for place in map(_point, points(asked.symbols)):
        sizes = {name: quantity.to_base_units().magnitude for name, quantity in place.items()}
        assert read.size_at(sizes) == pytest.approx(read.at(place).to_base_units().magnitude, rel=1e-12)


def _point(texts):
    return {name: Q_(text) for name, text in texts.items()}


def test_a_formula_reads_as_written_by_precedence():
    """-2² + 3·4/2 is 2, and 2^3² reads from the right (worked by hand)."""
    assert read_formula("-2² + 3·4/2", []).at({}).magnitude == pytest.approx(2.0)
    assert read_formula("2^2^2", []).at({}).magnitude == pytest.approx(16.0)
    with pytest.raises(FormulaError, match="After a division"):
        read_formula("a/2b", _LETTERS)


# --- designs --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "as_given", [SOUND, SOUND.replace("\n", "; "), SOUND.replace(" = ", ": ").upper(), QUOTED, "choices"]
)
def test_a_sound_design_is_right(as_given):
    """A logic-level MOSFET, 150 Ω, 10 kΩ and a Schottky diode pass, as lines, in one line, or as names and values."""
    choices = dict(line.split(" = ") for line in SOUND.splitlines()) | {"gate resistor": Q_("150 ohm")}

    assert _judged(DESIGN, choices if as_given == "choices" else as_given).outcome == "right"


def test_a_drive_is_a_design():
    """A drive answers with what it is built of, generic parts by their names and parts of its own by their figures."""
    drive = dataclasses.replace(desk_wind_tunnel(), switch=generic_part("logic-level MOSFET"))
    built = dataclasses.replace(drive, diode=generic_part("Schottky diode"), gate_resistor=Q_("0.18 kohm"))

    assert _judged(DESIGN, built).outcome == "right"
    assert _judged(DESIGN, dataclasses.replace(built, diode=None)).misconception == "M25"
    assert _judged(DESIGN, desk_wind_tunnel()).outcome == "right"


@pytest.mark.parametrize(
    ("instead", "named", "told"),
    [
        (("logic-level", "standard-level"), "M26", "at 3.24 V"),
        (("150 ohm", "10 ohm"), "M28", "66.0 mA against 20.0 mA."),  # 3.3 V over 10 Ω + 40 Ω, worked by hand
        (("150 ohm", "47 kohm"), "gate divided down", "V"),
        (("10 kohm", "none"), "gate left floating", "floats"),
        (("10 kohm", "100 Mohm"), "gate left floating", "100 V"),  # 1 µA of leakage through 100 MΩ, worked by hand
        (("Schottky diode", "none"), "M25", "½·L·I²"),
        (("logic-level MOSFET", "Darlington"), "voltage lost in the transistor", "1.20 V"),
    ],
    ids=str,
)
def test_a_faulty_design_is_told_its_finding_with_its_numbers(instead, named, told):
    """Each fault is named by the idea or the finding behind it, and the comment holds the sum and no remedy."""
    verdict = _judged(DESIGN, SOUND.replace(*instead))

    assert (verdict.outcome, verdict.misconception or verdict.slip) == ("wrong", named)
    assert told in verdict.comment
    assert "Take a" not in verdict.comment


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("x", "none of the choices"),
        ("transistor = logic-level MOSFET", "must be chosen as well"),
        (SOUND.replace("Schottky", "magic"), "is no diode here"),
        (SOUND.replace("150 ohm", "150"), "gate resistor: value must be in ohm"),
        (SOUND.replace("150 ohm", "-150 ohm"), "zero or more"),
        (SOUND.replace("10 kohm", "0 ohm"), "more than zero"),
        (SOUND.replace("logic-level MOSFET", "none"), "cannot be left out"),
        (SOUND + "\ndiode = none", "chosen twice"),
        ("import os\n" * 300, "too long"),
        ("=" * 1999, "none of the choices"),
    ],
)
def test_what_is_no_design_says_what_to_write(typed, said):
    """A text that chooses no circuit is refused, with what is missing or unknown."""
    verdict = _judged(DESIGN, typed)

    assert verdict.outcome == "refused"
    assert said in verdict.comment


# --- choices with a reason ------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["b 2", "b2", "B, 2", "(b) because 2", "b) 2)", "b.2."])
def test_choice_and_reason_are_right_together(typed):
    """Letter and number, however they are parted."""
    assert _judged(SUPPLY, typed).earned == 1.0


@pytest.mark.parametrize(
    ("typed", "named", "earned"),
    [("b 1", "M3", 0.5), ("b 3", "M2", 0.5), ("a 2", "M3", 0.5), ("a 1", "M3", 0.0), ("c 3", "M2", 0.0)],
)
def test_choice_and_reason_earn_half_each_and_the_reason_names_the_idea(typed, named, earned):
    """The idea comes from the reason where that is wrong, else from the choice."""
    verdict = _judged(SUPPLY, typed)

    assert (verdict.outcome, verdict.misconception, verdict.earned) == ("wrong", named, earned)


@pytest.mark.parametrize(
    "typed",
    [
        "It stays as it was, because the voltage is the same",
        "b) It stays because 2",
        "B. it stays as it was because (2) the voltage is the same, and motor and load decide",
    ],
)
def test_choice_and_reason_are_taken_in_words(typed):
    """Letter, number, or the beginning of what they stand for, with "because" between them."""
    assert _judged(SUPPLY, typed).earned == 1.0


@pytest.mark.parametrize("typed", ["b", "2", "b 9", "z 1", "b 2 3", "It stays as it was.", "", "b\u00b2", 2.0])
def test_a_choice_without_its_reason_is_not_judged(typed):
    """Only both together are an answer."""
    assert _judged(SUPPLY, typed).outcome in ("refused", "unanswered")


# --- plots ----------------------------------------------------------------------------------------


def test_a_value_read_within_one_division_is_right():
    """Curve 7 has 0.52 + 0.07 = 0.59 ms; the small division is 0.05 ms."""
    assert [_judged(RISE, typed).right for typed in ("0.59 ms", "0.55 ms", "0.63 ms", "640 us")] == [True] * 4
    assert [_judged(RISE, typed).right for typed in ("0.53 ms", "0.65 ms")] == [False] * 2


@pytest.mark.parametrize(
    ("title", "typed", "named"),
    [
        (RISE, "0.41 ms", "half for 63 %"),  # 0.59 · ln 2, worked by hand
        (RISE, "0.27 ms", "M22"),  # 0.59 · 0.459, worked by hand
        (RISE, "590 ms", "prefix"),
        (HELD, "0.6 A", "M2"),  # 1.78 · (1 - 6400/9700) = 0.606, worked by hand
        (HELD, "1.4 A", "end of the readings for the axis"),  # 1.78 · (1 - 2000/9700) = 1.413, worked by hand
        (HELD, "0.12 A", "free for held"),
    ],
)
def test_a_wrong_reading_is_named(title, typed, named):
    """The place that was read instead is recognised."""
    verdict = _judged(title, typed)

    assert (verdict.misconception or verdict.slip) == named


@pytest.mark.parametrize("title", [RISE, HELD])
def test_the_picture_comes_with_alt_text_and_numbers_and_gives_nothing_away(title):
    """The question and each wrong answer show the picture; its words hold the axes, and not the answer."""
    shown = [_judged(title, typed)._repr_html_() for typed in ("", "7 " + question(title).unit)]
    right = f"{question(title).right_size(_reference(title)) * {'ms': 1e3, 'A': 1.0}[question(title).unit]:.2f}"
    for page in shown:
        assert "data:image/svg+xml;base64," in page
        assert 'alt="' in page
        assert "<caption>" in page
        assert right not in page
    assert _judged(title, f"{right} {question(title).unit}").picture == ""
    plain = str(_judged(title, "")).splitlines()
    assert len(plain) > 8
    assert all(line.startswith("    ") for line in plain[-5:])


# --- measured -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "outcome", "named"),
    [
        ("5.40 ± 0.10 mV·s/rad", "right", None),  # set 30 has 4.2 + 30 · 0.04 = 5.40
        ("(5,40 +/- 0,05) mV*s/rad", "right", None),
        ("5.2 ± 0.3 mV*s/rad", "right", None),
        ("5.4 mV*s/rad ± 2 %", "right", None),
        ("5.1 ± 0.1 mV*s/rad", "wrong", None),
        ("5.4 ± 2 mV*s/rad", "wrong", "uncertainty too wide"),
        ("5.4 ± 0.0001 mV*s/rad", "wrong", "uncertainty too small"),
        ("0.565 ± 0.01 mV*s/rad", "wrong", "M15"),
        ("33.9 ± 0.3 mV*s/rad", "wrong", "M15"),
        ("5.4 ± 0.1 V*s/rad", "wrong", "prefix"),
        ("-5.4 ± 0.1 mV*s/rad", "wrong", "sign"),
        ("0 ± 0 mV*s/rad", "wrong", None),
        ("5.4 mV*s/rad", "refused", None),
        ("5.4 ± 0.1", "refused", None),
        ("5.4 ± 0.1 V", "refused", None),
        ("5.4 ± x mV*s/rad", "refused", None),
    ],
)
def test_a_result_is_judged_by_its_own_uncertainty(typed, outcome, named):
    """It agrees with the fit of the supplied readings within both uncertainties, or the comment says what is wrong."""
    verdict = _judged(CONSTANT, typed)

    assert (verdict.outcome, verdict.misconception or verdict.slip) == (outcome, named)


@pytest.mark.parametrize(
    ("result", "outcome", "named"),
    [
        ("2.5 ± 0.2 ohm", "right", None),
        ("2,5 ± 0,2 ohm", "right", None),
        ("2.2 ± 0.4 ohm", "right", None),
        ("1.5 ± 0.2 ohm", "wrong", None),
        ("2500 ± 100 ohm", "wrong", "prefix"),
        ("2.5 ± 1.5 ohm", "wrong", "uncertainty too wide"),
        ("2.5 ohm", "refused", None),
        ("", "refused", None),
    ],
)
def test_a_result_is_judged_against_a_fit_of_ones_own_readings(result, outcome, named):
    """A learner's readings stand below the result, and the fit of them judges it."""
    verdict = _judged(OWN, f"{result}\n{READINGS}")

    assert (verdict.outcome, verdict.misconception or verdict.slip) == (outcome, named)


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ("", "On what does it rest"),
        ("foo", "cannot be used"),
        ("table: locked rotor\nposition, voltage [V], current [mA]\n1, 0.91, 110\n1,2.41,310", "of the example"),
        ("table: locked rotor\nvoltage [V], current [A]\n" + "1e308, 1e-308\n" * 30, "cannot be used"),
        ("table: generator\nspeed [rpm], voltage [V]\n500, 0.3\n900, 0.5", "Lock the rotor"),
        ("9" * 5000, "too long"),
    ],
)
def test_readings_that_cannot_be_used_say_why(readings, said):
    """Without usable readings there is no verdict, and the comment says what to add."""
    verdict = _judged(OWN, f"2.5 ± 0.2 ohm\n{readings}")

    assert verdict.outcome == "refused"
    assert said in verdict.comment


_SIZES = st.sampled_from(["0", "-1", "1e-30", "1e12", "9" * 15, "nan", "inf", ""]) | st.floats(-500, 500).map(str)


@given(
    heading=st.sampled_from(
        [("locked rotor", "position, voltage [V], current [mA]"), ("locked rotor", "voltage [GV], current [pA]"),
         ("free running", "voltage [V], current [mA], speed [rpm]"), ("generator", "speed [rpm], voltage [V]")]
    ),
    rows=st.lists(st.lists(_SIZES, min_size=2, max_size=3), max_size=12),
)  # fmt: skip
@settings(deadline=None, max_examples=150)
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_any_readings_have_a_verdict(heading, rows):
    """Readings that no motor gives are refused or wrong, with a reason; the marker goes on."""
    lines = [f"table: {heading[0]}", heading[1], *(", ".join(row) for row in rows)]

    assert _judged(OWN, "\n".join(["2.8 ± 0.3 ohm", *lines])).outcome in ("right", "wrong", "refused")


def test_readings_that_break_a_fit_are_refused(monkeypatch):
    """Where a solver gives up on readings of wild sizes, that is said, and no exception."""

    def singular(_):
        raise np.linalg.LinAlgError("Singular matrix")

    monkeypatch.setattr("labkit.fitting.fit_motor", singular)
    verdict = _judged(OWN, f"2.5 ± 0.2 ohm\n{READINGS.replace('0.465', '0.466')}")

    assert verdict.outcome == "refused"
    assert "No motor gives such readings" in verdict.comment


# --- for every kind -------------------------------------------------------------------------------

#: A wrong answer to each kind that nothing recognises, and what is asked for after two of them.
UNKNOWN = [
    (ENERGY, "L I V/(2 R)", "Predict in words"),
    (DESIGN, SOUND.replace("logic-level MOSFET", "Darlington"), "predict which one"),
    (SUPPLY, "c 3", "predict what a meter"),
    (RISE, "0.75 ms", "Lay a ruler"),
    (CONSTANT, "4.9 ± 0.1 mV*s/rad", "Draw the readings"),
    ("Generator EMF at this speed", "3.3 V", "Draw the circuit"),
]


@pytest.mark.parametrize(("title", "wrong", "asked_for"), UNKNOWN, ids=lambda item: str(item)[:20])
def test_after_two_wrong_tries_a_drawing_or_a_prediction_is_asked_for(title, wrong, asked_for):
    """First comes the first hint, then the drawing and the second one, whatever the kind of question."""
    first, second = (_judged(title, wrong, tries=tries) for tries in (0, 1))

    assert first.outcome == second.outcome == "wrong"
    assert first.hint == question(title).hints[0]
    assert asked_for in second.hint
    assert question(title).hints[1] in second.hint


@given(st.text(max_size=300) | st.sampled_from(["0", "-1e300 V", "1e-300 A", "\u202e5 V", "5 V" * 500_000, "\ud800"]))
@settings(deadline=None, max_examples=60)
@pytest.mark.parametrize("title", [case[0] for case in UNKNOWN] + [OWN, HELD])
def test_any_text_has_a_verdict(title, text):
    """Empty, huge, negative, Unicode, a megabyte: a verdict comes out, short enough to read."""
    verdict = _judged(title, text)

    assert verdict.outcome in ("right", "wrong", "refused", "unanswered")
    assert verdict.outcome == "unanswered" or len(verdict.comment) < 1200
