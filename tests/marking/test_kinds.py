"""Answers of every kind go all the way: run shut in, crossed as lines of JSON, judged, registered, explained."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from labkit.checks import Question
from labkit.checks.numbers import Numbers, from_coherent
from labkit.marking import Allowance, Marking, mark_folder
from labkit.problems import plans
from labkit.reports.marks import MarkedSheet
from labkit.sheets import Learner, Sheet, personal_sheet, sheet_notebook

KEY = b"a key that only these tests know"
READINGS = "\n".join(
    [
        "2.5 ± 0.3 ohm",
        "table: locked rotor",
        "position, voltage [V], current [A]",
        *(f"{place}, {0.1 + 2.5 * amps + place / 500:.3f}, {amps}" for place in (1, 2, 3) for amps in (0.1, 0.3)),
    ]
)


def _right(question: Question, numbers: Numbers) -> str:
    """Return a right answer as a learner would type it."""
    if question.options:
        letter = next(letter for letter, option in question.letters.items() if option.right)
        return letter + next((number for number, reason in question.numerals.items() if reason.right), "")
    if question.formula or question.parts:
        return question.formula or question.parts.example
    if question.measured and not question.measured.readings:
        return READINGS
    quantity = from_coherent(question.right_size(numbers), question.unit)
    spread = f" ± {0.03 * quantity.magnitude:.2g}" if question.measured else ""
    return f"{quantity.magnitude:.4g}{spread} {question.unit}"


def _half_right(question: Question) -> str:
    """Return the right choice with a wrong reason."""
    letter = next(letter for letter, option in question.letters.items() if option.right)
    return letter + next(number for number, reason in question.numerals.items() if not reason.right)


def _hand_in(folder: Path, sheet: Sheet, *, halve: bool = False) -> None:
    book = json.loads(sheet_notebook(sheet))
    for cell in book["cells"]:
        title = cell["metadata"].get("labkit", {}).get("question")
        if title:
            question = sheet.plan.question(title)
            typed = _half_right(question) if halve and question.reasons else _right(question, sheet.own)
            cell["source"] = f"sheet.answer({title!r}, {typed!r})"
            told = {"question": title, "tries": 3, "seconds": 240}
            cell["outputs"] = [{"output_type": "display_data", "data": {}, "metadata": {"labkit": told}}, None, 5]
    blanks = [f"sheet.answer({question.title!r}, {question.blank!r})" for question in sheet.plan.questions]
    book["cells"].append({"cell_type": "code", "metadata": {}, "source": "\n".join(blanks)})  # takes nothing back
    (folder / f"{sheet.name}-{sheet.learner}.ipynb").write_text(json.dumps(book))


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory, needs: Callable[[str], str]) -> Path:
    """Marks of all sheets: one right throughout, one with a wrong reason at each choice that wants one, two empty."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("all-kinds")
    (base / "returned").mkdir()
    for plan in plans():
        for learner in ("right", "half"):
            sheet = personal_sheet(plan.name, learner=learner, key=KEY, assessed=True)
            _hand_in(base / "returned", sheet, halve=learner == "half")
        for learner in ("empty", "plain"):
            sheet = personal_sheet(plan.name, learner=learner, key=KEY, assessed=True)
            (base / "returned" / f"{sheet.name}-{learner}.ipynb").write_text(sheet_notebook(sheet))
    learners = [Learner(name) for name in ("right", "half", "empty", "plain")]
    result = mark_folder(
        base / "returned", base / "marks", Marking(learners=learners, key=KEY, allowance=Allowance(seconds=60))
    )
    assert result.marked == len(learners) * len(plans())
    return base / "marks"


@pytest.fixture(scope="module")
def marked(out: Path, counted: Callable[[Path], list[MarkedSheet]]) -> list[MarkedSheet]:
    """What counts in these marks, of those who answered."""
    return [sheet for sheet in counted(out) if sheet.learner in {"right", "half"}]


def test_every_question_of_the_bank_can_earn_its_mark(marked: list[MarkedSheet]) -> None:
    """The right answer to each question of each sheet has its mark, and a rule that says why."""
    right = [sheet for sheet in marked if sheet.learner == "right"]
    assert {sheet.sheet: sheet.mark for sheet in right} == {plan.name: len(plan.questions) for plan in plans()}
    assert all(answer.rule for sheet in right for answer in sheet.answers)
    assert all(list(sheet.remarks()) == [] for sheet in right)


def test_an_answer_keeps_its_lines(out: Path, marked: list[MarkedSheet]) -> None:
    """A table of readings stands in the register, and on the page, as it was typed."""
    assert READINGS in [answer.answer for sheet in marked for answer in sheet.answers]
    assert READINGS in (out / "comments" / "right.html").read_text(encoding="utf-8")


def test_the_rule_of_a_formula_says_on_what_it_rests(marked: list[MarkedSheet]) -> None:
    """The register keeps beside the mark that a formula was proven, and says so of formulas alone."""
    kinds = {question.title: question.kind for plan in plans() for question in plan.questions}
    proven = {
        answer.question for sheet in marked for answer in sheet.answers if "found right by a proof" in answer.rule
    }
    assert proven == {title for title, kind in kinds.items() if kind == "formula"}


def test_a_right_choice_with_a_wrong_reason_has_half(marked: list[MarkedSheet]) -> None:
    """Half a mark is kept as half through the register, and by no other question."""
    half = {(sheet.sheet, answer.question) for sheet in marked for answer in sheet.answers if answer.mark == 0.5}
    assert half == {(plan.name, question.title) for plan in plans() for question in plan.questions if question.reasons}
    assert half
    assert {answer.verdict.share for sheet in marked for answer in sheet.answers if answer.mark == 0.5} == {0.5}


def test_tries_saved_in_the_notebook_reach_the_teacher(marked: list[MarkedSheet]) -> None:
    """What the outputs of the saved notebook say of tries and times stands beside each answer."""
    assert {(answer.tries, answer.seconds) for sheet in marked for answer in sheet.answers} == {(3, 240)}


def _curve(page: str, subject: str) -> list[tuple[float, float]]:
    """Return the numbers that stand below a picture."""
    table = page.partition(f"<caption>{subject}")[2].partition("</table>")[0]
    return [(float(x), float(y)) for x, y in re.findall(r"<tr><td>([\d.]+)</td><td>([\d.]+)", table)]


def test_a_page_shows_the_plot_with_the_learners_own_numbers(
    out: Path, counted: Callable[[Path], list[MarkedSheet]]
) -> None:
    """Where a value was to be read off the page has the picture, as alt text and numbers too.

    The current of a held motor rises as 1 - exp(-t/T): from its values at t and 2t the time constant is found again.
    """
    constants = set()
    for learner in ("empty", "plain"):
        page = (out / "comments" / f"{learner}.html").read_text(encoding="utf-8")
        assert page.count('<img src="data:image/svg+xml;base64,') == page.count(' alt="Current ') == 2
        curve = _curve(page, "Current in a held motor")
        (_, early), (_, late) = curve[1], curve[2]
        assert curve[2][0] == 2 * curve[1][0]
        constant = curve[1][0] / -math.log(late / early - 1)
        constants.add(round(constant, 2))
        asked = next(sheet for sheet in counted(out) if (sheet.learner, sheet.sheet) == (learner, "switching-off"))
        expected = {answer.question: answer.expected for answer in asked.answers}
        assert expected["Time constant off a curve"] == f"{10 * round(100 * constant)}.0 µs"
    assert len(constants) == 2
    assert (out / "comments" / "right.html").read_text(encoding="utf-8").count("<img") == 2
