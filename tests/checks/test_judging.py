"""The verdict on one answer: right, refused, a slip, a wrong idea."""

from __future__ import annotations

import pickle

import pytest

from labkit.checks import Lesson, Misconception, Mistake, Numbers, Option, Question, judge, read_answer
from labkit.checks.slips import slip_between
from labkit.units import Q_

pytestmark = pytest.mark.core

LESSON = Lesson(number=3, title="Generator action")
RPM_TAKEN = Misconception(id="M14", belief="rpm is rad/s", rethink="Count radians.", lesson=LESSON)
#: 5.4 mV·s/rad at 8382 rpm, worked by hand: 8382 · 2π/60 = 877.76 rad/s, so 4.7399 V.
EMF = Question(
    title="EMF",
    wording="The shaft turns at {speed} and k is {k}. Which voltage?",
    unit="V",
    answer=lambda n: n.k * n.speed,
    mistakes=(
        Mistake(RPM_TAKEN, "k is multiplied by the rpm", lambda n: n.k * n.speed * 60 / (2 * 3.141592653589793)),
        Mistake("nothing", "it is taken to be nothing", lambda _: 0.0),
    ),
    hints=("first", "second", "third"),
    why="k times ω.",
)
EMF_NUMBERS = Numbers({"k": "5.4 mV·s/rad", "speed": "8382 rpm"})
DUTY = Question(
    title="Duty",
    wording="{count} of {top}?",
    answer=lambda n: n.count / n.top,
    mistakes=(Mistake("read as per cent", "the number is read as a per cent", lambda n: n.count / 100),),
)
DUTY_NUMBERS = Numbers({"count": "50", "top": "255"})
#: L·I of 2.9 mH and 0.45 A is 1.305 mV·s: a wrong idea of another dimension than the asked voltage.
KICK = Question(
    title="Induced at a steady current",
    wording="{inductance}, steady {current}: which voltage does the inductance take?",
    unit="V",
    answer=lambda _: 0.0,
    allowance=1e-4,
    mistakes=(Mistake(RPM_TAKEN, "L is multiplied by the current", lambda n: n.inductance * n.current),),
)
KICK_NUMBERS = Numbers({"inductance": "2.9 mH", "current": "0.45 A"})
HEAT = Question(
    title="Heat",
    wording="{temperature} more?",
    unit="°C",
    tolerance=0.0,
    allowance=1.5,
    answer=lambda n: n.temperature + 30,
    mistakes=(Mistake("air forgotten", "only the rise is given", lambda _: 273.15 + 30),),
)
HEAT_NUMBERS = Numbers({"temperature": "25 °C"})
CHOICE = Question(
    title="Choice",
    wording="Which?",
    options=(Option("The left one.", RPM_TAKEN, "Not that one."), Option("The right one.")),
    why="It is.",
)


def _emf(answer, **options):
    return judge(EMF, EMF_NUMBERS, read_answer(answer), **options)


@pytest.mark.parametrize(
    "answer", ["4.74 V", "4,74 V", "4740 mV", "4.74V", "4V74", Q_(4.74, "V"), "4.65 V", "4.83 V", "4.74e3 mV"]
)
def test_right_within_two_per_cent_however_it_is_written(answer):
    """4.7399 V is right in any spelling, and 2 % to either side of it (4.645 to 4.835 V)."""
    assert _emf(answer).outcome == "right"


@pytest.mark.parametrize("answer", ["4.63 V", "4.85 V"])
def test_more_than_two_per_cent_off_is_not_right(answer):
    """Just outside the tolerance an answer is not right."""
    assert _emf(answer).outcome == "wrong"


@pytest.mark.parametrize("answer", ["4.74", 4.74, Q_(4.74, "")])
def test_a_bare_number_is_refused_with_a_word(answer):
    """Where a unit is needed a bare number is refused, not wrong, and the comment asks of what."""
    verdict = _emf(answer)

    assert verdict.outcome == "refused"
    assert "of what?" in verdict.comment
    assert "a voltage" in verdict.comment


@pytest.mark.parametrize("answer", ["4.74 A", "4.74 W", "4.74 N*m"])
def test_the_right_number_with_a_foreign_unit_is_a_unit_slip(answer):
    """4.74 with amperes is told from wrong physics: the unit is at fault."""
    verdict = _emf(answer)

    assert (verdict.outcome, verdict.slip, verdict.misconception) == ("refused", "unit of another kind", None)


@pytest.mark.parametrize("answer", ["45.3 V", "45 V", "45.26 V", "0.0453 kV", Q_(45.263, "V")])
def test_a_wrong_idea_is_named_from_its_number(answer):
    """5.4e-3 · 8382 = 45.26 V is rpm taken for rad/s, also when it was rounded to two figures."""
    verdict = _emf(answer)

    assert verdict.misconception == "M14"
    assert "rpm" in verdict.comment
    assert verdict.lesson == "lesson 3, “Generator action”"


def test_a_comment_uses_the_learners_own_number_and_not_the_right_one():
    """The comment repeats what was typed; the right value, 4.74 V, stands nowhere in it."""
    text = str(_emf("45,3 V"))

    assert "45,3 V" in text
    assert "4.7" not in text


@pytest.mark.parametrize(("right", "given"), [(1.164, 1.08), (1.1, 1.2), (0.95, 1.05)])
def test_near_one_a_number_is_not_called_a_square_or_an_inverse(right, given):
    """Worked by hand: √1.164 is 1.08, 1.1² is 1.21, 1/0.95 is 1.05; all of them are as near as a rounded step is."""
    assert slip_between(given, right, window=0.02, turning=False) is None
    assert slip_between(3 * right * 3 * right, 3 * right, window=0.02, turning=False).name == "forgotten square"


@pytest.mark.parametrize(
    ("answer", "slip"),
    [
        ("4740 V", "prefix"),
        ("4.74 mV", "prefix"),
        ("4.74 uV", "prefix"),
        ("-4.74 V", "sign"),
        ("9.48 V", "half or double"),
        ("2.37 V", "half or double"),
        ("29.8 V", "rpm for rad/s"),
        ("284 V", "rpm for rad/s"),
        ("474 V", "per cent"),
        ("211 mV", "inverse"),
        ("22.5 V", "forgotten square"),
        ("5 V", "rounded too early"),
    ],
)
def test_slips_are_told_from_wrong_physics(answer, slip):
    """4.74 V with another prefix, sign, factor of two, 2π, 60, 100, turned over, squared, or rounded: each is named."""
    verdict = _emf(answer)

    assert (verdict.outcome, verdict.slip, verdict.misconception) == ("wrong", slip, None)


def test_a_product_of_quantities_is_an_answer():
    """k·i of 5.4 mV·s/rad and 0.45 A, multiplied in a notebook, is the torque of 2.43 mN·m, not an energy."""
    torque = Question(title="Torque", wording="?", unit="mN·m", answer=lambda _: 2.43e-3)

    assert judge(torque, EMF_NUMBERS, read_answer(Q_("5.4 mV*s/rad") * Q_("0.45 A"))).right
    assert judge(torque, EMF_NUMBERS, read_answer("2.43 mJ")).outcome == "refused"


@pytest.mark.parametrize("answer", ["1e300 V", "1e-300 V", "-1e99 kV", Q_(5e-324, "V"), Q_(1e25, "V"), "1e30 A"])
def test_numbers_beyond_any_bench_are_refused(answer):
    """A size that no formula can calculate with is refused, whatever its unit."""
    assert _emf(answer).outcome == "refused"


def test_zero_is_recognised_where_it_is_an_idea():
    """0 V matches the idea that gives nothing, in any prefix."""
    assert _emf("0 V").slip == "nothing"
    assert _emf("0.0 mV").slip == "nothing"


@pytest.mark.parametrize(("answer", "word"), [("900 V", "large"), ("0.1 V", "small"), ("-3.3 V", "sign")])
def test_what_is_not_recognised_gets_a_place_to_look(answer, word):
    """An unknown wrong number is looked at for its size and its sign, and a hint is offered."""
    verdict = _emf(answer)

    assert word in verdict.comment
    assert verdict.hint == "first"


def test_hints_grow_and_a_drawing_is_asked_for_after_two_tries():
    """The first wrong try gives the first hint; the second asks for a drawing besides the next; the last hint stays."""
    hints = [_emf("3.3 V", tries=tries).hint for tries in range(5)]

    assert hints[0] == "first"
    assert "Draw" in hints[1]
    assert hints[1].endswith("second")
    assert hints[2:] == ["third"] * 3


@pytest.mark.parametrize("typed", ["1.305 mWb", "1.31 mV", "1.3 mV*s"])
def test_a_wrong_idea_of_another_dimension_is_found_before_the_unit_is_refused(typed):
    """L·I = 1.305 mWb answers no voltage, but names its idea, typed as Wb or as V."""
    assert judge(KICK, KICK_NUMBERS, read_answer(typed)).misconception == "M14"


def test_another_dimension_without_an_idea_is_refused():
    """3 A answers no voltage and matches nothing."""
    assert judge(KICK, KICK_NUMBERS, read_answer("3 A")).outcome == "refused"


@pytest.mark.parametrize("typed", ["0 V", "0.05 mV"])
def test_nothing_is_right_where_nothing_is_the_answer(typed):
    """0 V is right for a steady current, and so is what lies within the allowance of 0.1 mV."""
    assert judge(KICK, KICK_NUMBERS, read_answer(typed)).right


@pytest.mark.parametrize("answer", ["0.196", "19.6 %", "0,196", 0.196, "0.2"])
def test_a_duty_is_a_bare_number_by_right(answer):
    """50 of 255 is 0.196 or 19.6 %, and 0.2 is within 2 %."""
    assert judge(DUTY, DUTY_NUMBERS, read_answer(answer)).right


@pytest.mark.parametrize(
    ("answer", "outcome", "slip"),
    [
        ("0.196 V", "refused", "unit of another kind"),
        ("19.6", "wrong", "per cent"),
        ("50 %", "wrong", "read as per cent"),
        ("50", "wrong", "read as per cent"),
    ],
)
def test_what_a_duty_is_not(answer, outcome, slip):
    """A duty has no volts; 19.6 without the sign is off by a hundred; 50 % is the number read as a per cent."""
    verdict = judge(DUTY, DUTY_NUMBERS, read_answer(answer))

    assert (verdict.outcome, verdict.slip) == (outcome, slip)


@pytest.mark.parametrize(
    ("answer", "outcome", "slip"),
    [
        ("55 °C", "right", None),
        ("56.4 °C", "right", None),
        ("57 °C", "wrong", None),
        ("30 °C", "wrong", "air forgotten"),
        ("55 K", "wrong", None),
        ("55 C", "refused", None),
    ],
)
def test_temperatures_are_compared_in_degrees(answer, outcome, slip):
    """55 °C is right within 1.5 degrees, 30 °C is the rise alone; 55 K and 55 C are no such temperature."""
    verdict = judge(HEAT, HEAT_NUMBERS, read_answer(answer))

    assert (verdict.outcome, verdict.slip) == (outcome, slip)


@pytest.mark.parametrize(
    "answer",
    ["b", "B", "b)", "(b)", "The right one.", "the right one", "the right", "b) the right one", "B: The right"],
)
def test_a_choice_is_taken_by_letter_or_text(answer):
    """The second option is chosen by its letter, with or without brackets, by its text or its beginning, or by both."""
    assert judge(CHOICE, EMF_NUMBERS, read_answer(answer)).right


def test_a_wrong_choice_names_its_idea():
    """Option a leads to its idea."""
    assert judge(CHOICE, EMF_NUMBERS, read_answer("a")).misconception == "M14"


@pytest.mark.parametrize(
    "answer", ["z", "3 V", 3.0, [1], "ab", "the", "b) the left one", "the right two", "not the right one"]
)
def test_what_is_none_of_the_choices_is_refused(answer):
    """Another letter, a number or a list is none of the answers."""
    assert judge(CHOICE, EMF_NUMBERS, read_answer(answer)).outcome == "refused"


def test_an_empty_answer_shows_the_question_with_its_numbers():
    """Nothing typed: the outcome is unanswered and the comment is the question itself."""
    verdict = _emf("")

    assert verdict.outcome == "unanswered"
    assert verdict.comment == "The shaft turns at 8382 rpm and k is 5.4 mV·s/rad. Which voltage?"


@pytest.mark.parametrize("answer", ["4.74 V", "45 V", "4.74", "", "9.48 V"])
def test_every_form_of_a_verdict_has_a_word_beside_the_symbol(answer):
    """Plain text, HTML and Markdown all say the outcome in words, with a symbol, and use no colour."""
    verdict = _emf(answer)

    for shown in (str(verdict), verdict._repr_html_(), verdict._repr_markdown_()):
        assert verdict.word in shown
        assert verdict.symbol in shown.replace("\\", "")
        assert "color" not in shown


def test_a_verdict_shows_typed_markup_as_text():
    """What a learner types is shown as text: no tag gets into the page."""
    shown = _emf("<script>alert(1)</script>")._repr_html_()

    assert "<script" not in shown
    assert "&lt;script" in shown


def test_a_verdict_survives_the_way_between_processes():
    """A pickled verdict comes back equal."""
    verdict = _emf("45 V")

    assert pickle.loads(pickle.dumps(verdict)) == verdict


def test_judging_is_pure():
    """The same answer gets the same verdict, whatever was judged in between."""
    first = _emf("45 V")
    _emf("3 V")

    assert _emf("45 V") == first
