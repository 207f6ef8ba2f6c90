"""New numbers by ``sheet.again()``: on practice sheets an answer is judged by the numbers that the learner had."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

from labkit.marking import Allowance, Marking, mark_folder
from labkit.marking.answers import Run
from labkit.marking.collecting import HandIn
from labkit.marking.judging import Job, judge_run
from labkit.marking.notebooks import Claims, ReturnedNotebook
from labkit.marking.owners import Owner
from labkit.problems import draw, plan
from labkit.reports.marks import MarkedSheet
from labkit.sheets import Learner, Sheet, personal_sheet, sheet_notebook

AGAIN = "sheet = sheet.again()"
BANK = "2026-11"  # eight questions
FORGED = {"huge": 10**9, "beyond": 100, "below": -1, "zero": 0, "word": "x", "true": True, "fraction": 2.0, "list": [2]}
#: Whose answers all count.
RIGHT = ("second", "third", "above", "half", "mixed", "no-opening", "forged-first")
#: Whose answers are right by the second numbers, and are judged by the first.
BY_THE_FIRST = (*FORGED, "assessed", "stripped", "borrowed")
#: Whose answers are right by the first numbers, or by another learner's second, and are judged by the second.
BY_THE_SECOND = ("first-by-second", "renamed")


def _numbers(learner: str, attempt: int) -> Sheet:
    """Return the sheet with the numbers that anybody draws for a later attempt."""
    drawn = draw(plan("generator-action", BANK), learner=learner, group="tuesday", bank=BANK, attempt=attempt)
    sheet = personal_sheet("generator-action", learner=learner, group="tuesday", bank=BANK, key=b"any")
    return Sheet(plan=sheet.plan, learner=learner, group="tuesday", bank=BANK, numbers=drawn)


class _Book:
    """A learner's notebook, cell by cell."""

    def __init__(self, classroom: Any, learner: str, *, assessed: bool = False) -> None:
        self._classroom, self._learner = classroom, learner
        sheet = personal_sheet(
            "generator-action", learner=learner, group="tuesday", bank=BANK, key=classroom.key, assessed=assessed
        )
        self.titles = sheet.titles
        self.content: dict[str, Any] = json.loads(sheet_notebook(sheet))
        self.opening = next(
            "".join(cell["source"]) for cell in self.content["cells"] if "open" in cell["metadata"].get("tags", ())
        )
        self.content["cells"] = []

    def code(self, source: str, **told: object) -> _Book:
        """Add a code cell; *told* stands in the metadata of its saved output."""
        outputs = [{"output_type": "display_data", "data": {}, "metadata": {"labkit": told}}] if told else []
        self.content["cells"].append({"cell_type": "code", "metadata": {}, "source": source, "outputs": outputs})
        return self

    def answers(self, attempt: int, titles: Iterable[str] | None = None, *, saved: int = 0, of: str = "") -> _Book:
        """Add a cell for each answer that is right by an attempt's numbers, with the attempt that its output names."""
        own = self._classroom.sheet(self._learner) if attempt == 1 else _numbers(of or self._learner, attempt)
        for title in self.titles if titles is None else titles:
            told = {"question": title, "tries": 1, "seconds": 0, "attempt": saved} if saved else {}
            self.code(f"sheet.answer({title!r}, {self._classroom._right(own, title)!r})", **told)
        return self

    def lines(self, attempt: object, answers: int = 2) -> _Book:
        """Add a cell that writes the answers of an attempt past the sheet, and names *attempt* as theirs."""
        own = _numbers(self._learner, answers) if answers > 1 else self._classroom.sheet(self._learner)
        told = [
            {"sheet": "generator-action", "question": title, "answer": self._classroom._right(own, title)}
            for title in self.titles
        ]
        said = "".join(json.dumps(line | {"attempt": attempt}) + "\n" for line in told)
        return self.code(f"import os; os.write(int(os.environ['LABKIT_ANSWERS_FD']), {said.encode()!r})")

    def written(self, folder: Path, opening: str | None = None) -> None:
        """Write it, its opening first."""
        text = self.opening if opening is None else opening
        first = [{"cell_type": "code", "metadata": {}, "source": text, "outputs": []}] if text else []
        whole = self.content | {"cells": [*first, *self.content["cells"]]}
        (folder / f"{self._learner}.ipynb").write_text(json.dumps(whole), encoding="utf-8")


def _fill(folder: Path, classroom: Any) -> None:
    def book(learner: str, **options: bool) -> _Book:
        return _Book(classroom, learner, **options)

    book("second").code(AGAIN).answers(2).written(folder)
    book("third").code(AGAIN).code(AGAIN).answers(3).written(folder)
    above = book("above")
    above.answers(2, above.titles[:4], saved=2).code(AGAIN).answers(2, above.titles[4:], saved=2).written(folder)
    half = book("half").answers(1).code(AGAIN)
    half.answers(2, half.titles[:2]).code(f"sheet.answer({half.titles[2]!r}, '9999 V')")
    half.code("\n".join(f"sheet.answer({title!r}, '')" for title in half.titles[3:])).written(folder)
    mixed = book("mixed")
    mixed.answers(1, mixed.titles[:4]).code(AGAIN).answers(2, mixed.titles[4:]).written(folder)

    book("first-by-second").code(AGAIN).answers(1).written(folder)
    renamed = book("renamed").code(AGAIN).answers(2, of="another")
    renamed.written(folder, renamed.opening.replace('"renamed"', '"another"'))

    for learner, attempt in FORGED.items():
        book(learner).lines(attempt).written(folder)
    book("forged-first").lines("x", answers=1).written(folder)
    book("no-opening").code(AGAIN).answers(2).written(folder, "")

    book("assessed", assessed=True).lines(2).written(folder)
    stripped = book("stripped", assessed=True).code(AGAIN).answers(2)
    stripped.written(folder, stripped.opening.replace("assessed=True", "assessed=False"))
    theirs = re.findall('retries="[0-9a-f]{32}",', book("second").opening)[0]
    borrowed = book("borrowed", assessed=True).code(AGAIN).answers(2)
    borrowed.written(folder, borrowed.opening.replace("assessed=True,", theirs))


@pytest.fixture(scope="module")
def marked(
    tmp_path_factory: pytest.TempPathFactory,
    needs: Callable[[str], str],
    classroom: Any,
    counted: Callable[[Path], list[MarkedSheet]],
) -> dict[str, MarkedSheet]:
    """The folder, marked once; the pages lie beside it."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("retries")
    (base / "returned").mkdir()
    _fill(base / "returned", classroom)
    marking = Marking(
        learners=classroom.learners(*RIGHT, *BY_THE_FIRST, *BY_THE_SECOND),
        key=classroom.key,
        runners=1,
        allowance=Allowance(),
    )
    mark_folder(base / "returned", base / "marks", marking)
    return {sheet.learner: sheet for sheet in counted(base / "marks")}


@pytest.mark.parametrize("learner", RIGHT)
def test_right_by_the_numbers_that_the_learner_had_is_right(marked: dict[str, MarkedSheet], learner: str) -> None:
    """Drawn again once or twice, edited above, half done after a right first attempt, mixed: all eight count."""
    assert marked[learner].mark == 8, [str(answer.verdict) for answer in marked[learner].answers]


@pytest.mark.parametrize("learner", [*BY_THE_FIRST, *BY_THE_SECOND])
def test_other_numbers_are_not_to_be_had(marked: dict[str, MarkedSheet], classroom: Any, learner: str) -> None:
    """No attempt that there is not, none on an assessed sheet and no other learner's gives numbers to judge by."""
    answers = {answer.question: answer.answer for answer in marked[learner].answers}
    sheet = classroom.sheet(learner) if learner in BY_THE_FIRST else _numbers(learner, 2)
    assert marked[learner].mark == sum(verdict.earned for verdict in sheet.judge_all(answers).values()) < 8
    assert "" not in answers.values()


def test_it_is_said_which_numbers_counted(marked: dict[str, MarkedSheet]) -> None:
    """Each answer names its attempt, and an assessed sheet that drew new numbers says that they do not count."""
    attempts = {learner: [answer.verdict.attempt for answer in marked[learner].answers] for learner in RIGHT}
    assert attempts == {
        "second": [2] * 8,
        "third": [3] * 8,
        "above": [2] * 8,
        "half": [2] * 2 + [1] * 6,
        "mixed": [1] * 4 + [2] * 4,
        "no-opening": [2] * 8,
        "forged-first": [1] * 8,
    }
    for learner in ("assessed", "stripped", "borrowed"):
        assert "It drew new numbers, which count on practice sheets alone" in " ".join(marked[learner].remarks())


@pytest.mark.parametrize(("right", "counts"), [(1, True), (3, False), (11, False), (12, True), (20, True)])
def test_a_sheet_that_names_all_attempts(classroom: Any, right: int, counts: bool) -> None:
    """Of twenty attempts the first and the nine latest are judged, so that no sheet holds up the others."""
    own = classroom.sheet("amber-17")
    claims = Claims(learner="amber-17", sheet=own.name, bank=BANK, retries=own.retries)
    notebook = ReturnedNotebook(cells=(), metadata=claims, code=Claims(), opens=False)
    owner = Owner(learner=Learner("amber-17", "tuesday"), sheet=own.name, bank=BANK)
    job = Job.of(HandIn(path="a.ipynb"), "", notebook, owner, key=classroom.key)
    title = own.titles[0]
    sheet = own if right == 1 else _numbers("amber-17", right)
    said = {attempt: classroom._right(sheet, title) if attempt == right else "99999 V" for attempt in range(1, 21)}
    run = Run(
        answers=tuple((own.name, title, answer) for answer in said.values()),
        attempts={place: attempt for place, attempt in enumerate(said) if attempt > 1},
    )
    assert judge_run(job, run).mark == counts
