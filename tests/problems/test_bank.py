"""What every question of the bank must have."""

from __future__ import annotations

import re
import string
from collections import Counter

import pytest

import labkit
from labkit.checks.numbers import from_coherent
from labkit.errors import SheetError
from labkit.problems import BANK, MISCONCEPTIONS, SheetPlan, check, plan, plans, question, sheet_names
from labkit.problems.drawing import well_posed

pytestmark = pytest.mark.core

QUESTIONS = [(sheet, asked) for sheet in plans() for asked in sheet.questions]
TITLES = [asked.title for _, asked in QUESTIONS]
EACH = pytest.mark.parametrize(("sheet", "asked"), QUESTIONS, ids=TITLES)
EACH_ALONE = pytest.mark.parametrize("asked", [asked for _, asked in QUESTIONS], ids=TITLES)


def test_titles_are_unique():
    """A question is known by its title, so no two have the same."""
    assert len(set(TITLES)) == len(TITLES)


@pytest.mark.parametrize("sheet", plans(), ids=lambda sheet: sheet.name)
def test_a_sheet_has_at_least_four_steps(sheet):
    """Each sheet goes in four steps or more."""
    assert len(sheet.questions) >= 4


@EACH_ALONE
def test_a_question_is_complete(asked):
    """It says why an answer is right, has hints and a worked answer, and a difficulty from 1 to 3."""
    assert asked.why
    assert asked.hints
    assert asked.worked
    assert asked.difficulty in (1, 2, 3)
    assert asked.lesson is not None
    wrong = asked.options or asked.ideas or asked.mistakes
    assert wrong or (asked.measured and not asked.measured.readings)  # nobody knows the learner's own motor
    if not asked.options:
        assert "{answer}" in asked.worked[-1] or not wrong
        assert len(asked.hints) >= 2


@EACH_ALONE
def test_a_choice_has_one_right_answer_and_an_idea_behind_each_wrong_one(asked):
    """Of three options or more one is right, and each other says why not."""
    if asked.options:
        assert len(asked.options) >= 3
        assert sum(option.right for option in asked.options) == 1
        assert all(option.because for option in asked.options if not option.right)


def test_there_are_enough_questions_and_two_of_each_kind():
    """At least ninety, and of each kind of question at least two; at least two choices want their reason."""
    kinds = Counter(asked.kind for _, asked in QUESTIONS)

    assert len(QUESTIONS) >= 90
    assert set(kinds) == {"number", "choice", "formula", "design", "plot", "measured"}
    assert min(kinds.values()) >= 2
    assert sum(bool(asked.reasons) for _, asked in QUESTIONS) >= 2


@EACH
def test_each_question_says_whether_the_kit_may_be_used(sheet, asked):
    """What may be used exists in the kit, and the learner is told of it, or to work by hand; a choice needs neither."""
    assert asked.kit is not None
    assert set(asked.kit) <= set(labkit.__all__)
    told = asked.asked(sheet.numbers(sheet.reference)).splitlines()[-1]
    assert asked.options or told.startswith("Of the kit you may use" if asked.kit else "By hand")


@EACH_ALONE
def test_a_choice_with_a_reason_has_one_right_reason(asked):
    """Of three reasons or more one is right, and each other says why not."""
    if asked.reasons:
        assert len(asked.reasons) >= 3
        assert sum(reason.right for reason in asked.reasons) == 1
        assert all(reason.because for reason in asked.reasons if not reason.right)


@EACH
def test_every_template_can_be_filled(sheet, asked):
    """Wording, reason and worked answer fill with the desk wind tunnel's numbers and leave no brace behind."""
    numbers = sheet.numbers(sheet.reference)
    for text in (asked.asked(numbers), numbers.fill(asked.why), *asked.worked_lines(numbers)):
        assert not set("{}") & set(text), text


@EACH
def test_the_wording_gives_away_no_answer(sheet, asked):
    """A wording shows drawn values only, never what a question comes to; hints show no number of the learner's."""
    drawn = {value.name for value in sheet.values}
    assert set(asked.names) <= drawn
    for hint in asked.hints:
        assert not [name for _, name, _, _ in string.Formatter().parse(hint) if name]


@EACH
def test_the_desk_wind_tunnels_own_numbers_are_well_posed(sheet, asked):
    """Lessons judge with the reference numbers: there, too, wrong answers are three tolerances away."""
    assert well_posed(asked, sheet.numbers(sheet.reference))


@EACH
def test_the_worked_answer_is_right(sheet, asked):
    """The right number, written to three figures in the asked unit, is judged right."""
    numbers = sheet.numbers(sheet.reference)
    assert check(_right(asked, numbers), asked.title).outcome == "right"


def _right(asked, numbers):
    """Return a right answer as a learner would type it."""
    if asked.options:
        letter = next(letter for letter, option in asked.letters.items() if option.right)
        return letter + next((numeral for numeral, reason in asked.numerals.items() if reason.right), "")
    if asked.formula or asked.parts:
        return asked.formula or asked.parts.example
    if asked.measured and not asked.measured.readings:
        rows = "".join(
            f"{place}, {0.1 + 2.5 * amps + place / 500:.3f}, {amps}\n" for place in (1, 2, 3) for amps in (0.1, 0.3)
        )
        return f"2.5 ± 0.3 ohm\ntable: locked rotor\nposition, voltage [V], current [A]\n{rows}"
    quantity = from_coherent(asked.right_size(numbers), asked.unit)
    spread = f" ± {0.03 * quantity.magnitude:.2g}" if asked.measured else ""
    return f"{quantity.magnitude:.3g}{spread} {asked.unit}"


@EACH
def test_every_listed_mistake_is_recognised(sheet, asked):
    """Each wrong formula's number is named as that idea, and its comment gives no right number away."""
    numbers = sheet.numbers(sheet.reference)
    plain = asked.kind in ("number", "plot", "measured") and asked.answer
    right = f"{from_coherent(asked.right_size(numbers), asked.unit).magnitude:.3g}" if plain else None
    for mistake in asked.mistakes if plain else ():
        size = from_coherent(mistake.formula(numbers), asked.unit).magnitude
        spread = f" ± {abs(size) * 0.01:.2g}" if asked.measured else ""
        typed = f"{size:.4g}{spread} {asked.unit}"
        verdict = check(typed, asked.title)
        idea = mistake.idea if isinstance(mistake.idea, str) else mistake.idea.id

        assert verdict.outcome == "wrong", (typed, verdict)
        assert idea in (verdict.slip, verdict.misconception), (typed, verdict)
        assert right not in re.findall(r"[\d.]+", verdict.comment.replace(typed.strip(), "")), verdict
    numeral = next((numeral for numeral, reason in asked.numerals.items() if reason.right), "")
    for letter, option in asked.letters.items():
        verdict = check(letter + numeral, asked.title)
        idea = option.idea if isinstance(option.idea, str) else option.idea.id
        assert verdict.right or idea in (verdict.slip, verdict.misconception)


def test_a_question_is_found_by_its_title():
    """A title finds its question; a title that is nearly right is met with the right one."""
    assert question("Generator EMF at this speed").unit == "V"
    with pytest.raises(SheetError, match="Did you mean: Generator EMF at this speed"):
        question("Generator emf at this sped")
    with pytest.raises(SheetError, match=r"no question '2\.143 A'\. The lesson writes") as caught:
        question("2.143 A")
    assert len(str(caught.value)) < 120


def test_an_unknown_sheet_or_bank_is_met_with_what_there_is():
    """A wrong sheet name lists the sheets; a bank before the first one says so."""
    with pytest.raises(SheetError, match=r"There is: .*generator-action"):
        plan("generator")
    for unknown in ("1999-01", "2020", "", "2999-01"):
        with pytest.raises(SheetError, match=rf"no version '{unknown}' of the bank. There is: 2026-11, 2026-12"):
            plan("generator-action", unknown)


def test_a_later_bank_still_holds_earlier_plans(monkeypatch):
    """A plan that changes gets a later date; a sheet drawn from the older bank keeps the older plan."""
    from dataclasses import replace

    from labkit.problems import bank

    changed = replace(plan("generator-action"), about="Changed.", since="2027-03")
    monkeypatch.setattr(bank, "_PLANS", (*bank._PLANS, changed))
    bank.plans.cache_clear()
    try:
        assert plan("generator-action", "2027-03").about == "Changed."
        assert plan("generator-action", "2027-02").about == plan("generator-action", BANK).about != "Changed."
        assert len(sheet_names("2027-03")) == len(sheet_names(BANK))
    finally:
        bank.plans.cache_clear()


def test_a_plan_that_shows_what_it_does_not_draw_is_refused():
    """A wording with an unknown value is an error when the bank is loaded, not in front of a learner."""
    good = plan("generator-action")
    with pytest.raises(SheetError, match="does not draw"):
        SheetPlan(name="x", lesson=good.lesson, about="", values=good.values[1:], questions=good.questions)


def test_a_check_takes_values_in_place_of_the_wind_tunnels():
    """At 8000 rpm and 5.4 mV·s/rad the EMF is 4.524 V (worked by hand); as text, quantity or with another unit."""
    from labkit.units import Q_

    for speed in ("8000 rpm", Q_(8000, "rpm"), "837.76 rad/s"):
        assert check("4.52 V", "Generator EMF at this speed", speed=speed).right
    with pytest.raises(SheetError, match="no value 'spede'"):
        check("4.52 V", "Generator EMF at this speed", spede="8000 rpm")
    with pytest.raises(SheetError, match="speed must be the shaft's speed"):
        check("4.52 V", "Generator EMF at this speed", speed="8000 V")


def test_a_check_that_is_not_right_can_show_its_question_again():
    """In a lesson, too, the verdict takes the question's place: its numbers stay at hand until it is right."""
    title = "Generator EMF at this speed"
    for typed in ("31 V", "1.7"):
        assert "The question again</summary><p>The shaft turns at 3000 rpm" in check(typed, title)._repr_html_()
    for typed in ("", "1.70 V"):
        assert "The question again" not in check(typed, title)._repr_html_()


def test_misconceptions_are_the_thirty_six():
    """M1 to M36 are there, each with its own words and a lesson to read."""
    assert list(MISCONCEPTIONS) == [f"M{number}" for number in range(1, 37)]
    assert len({idea.rethink for idea in MISCONCEPTIONS.values()}) == 36
    assert all(1 <= idea.lesson.number <= 12 for idea in MISCONCEPTIONS.values())


def test_two_voltages_never_share_a_name():
    """The generator EMF and the switch-off kick are never run together into one name."""
    texts = [asked.wording + asked.why + " ".join(asked.hints + asked.worked) for _, asked in QUESTIONS]
    texts += [idea.rethink for idea in MISCONCEPTIONS.values()]

    assert not [text for text in texts if re.search(r"EMF (spike|kick)|back-EMF", text, re.IGNORECASE)]
