"""Answers of every kind go all the way: run shut in, crossed as lines of JSON, judged, registered, explained."""

from __future__ import annotations

import json
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


def _hand_in(folder: Path, sheet: Sheet, *, halve: bool) -> None:
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
def marked(
    tmp_path_factory: pytest.TempPathFactory,
    needs: Callable[[str], str],
    counted: Callable[[Path], list[MarkedSheet]],
) -> list[MarkedSheet]:
    """All sheets of two learners: one right throughout, one with a wrong reason at each choice that wants one."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("all-kinds")
    (base / "returned").mkdir()
    for plan in plans():
        for learner in ("right", "half"):
            sheet = personal_sheet(plan.name, learner=learner, key=KEY, assessed=True)
            _hand_in(base / "returned", sheet, halve=learner == "half")
    marking = Marking(learners=[Learner("right"), Learner("half")], key=KEY, allowance=Allowance(seconds=60))
    result = mark_folder(base / "returned", base / "marks", marking)
    assert result.marked == 2 * len(plans())
    return counted(base / "marks")


def test_every_question_of_the_bank_can_earn_its_mark(marked: list[MarkedSheet]) -> None:
    """The right answer to each question of each sheet has its mark, and a rule that says why."""
    right = [sheet for sheet in marked if sheet.learner == "right"]
    assert {sheet.sheet: sheet.mark for sheet in right} == {plan.name: len(plan.questions) for plan in plans()}
    assert all(answer.rule for sheet in right for answer in sheet.answers)
    assert all(list(sheet.remarks()) == [] for sheet in right)


def test_a_right_choice_with_a_wrong_reason_has_half(marked: list[MarkedSheet]) -> None:
    """Half a mark is kept as half through the register, and by no other question."""
    half = {(sheet.sheet, answer.question) for sheet in marked for answer in sheet.answers if answer.mark == 0.5}
    assert half == {(plan.name, question.title) for plan in plans() for question in plan.questions if question.reasons}
    assert half
    assert {answer.verdict.share for sheet in marked for answer in sheet.answers if answer.mark == 0.5} == {0.5}


def test_tries_saved_in_the_notebook_reach_the_teacher(marked: list[MarkedSheet]) -> None:
    """What the outputs of the saved notebook say of tries and times stands beside each answer."""
    assert {(answer.tries, answer.seconds) for sheet in marked for answer in sheet.answers} == {(3, 240)}
