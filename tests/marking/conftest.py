"""A small class, its sheets with right answers in them, and a runner that all tests of this folder share."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from labkit.checks.numbers import from_coherent
from labkit.marking import REGISTER, Allowance, Register
from labkit.marking.running import Runner
from labkit.reports.marks import MarkedSheet
from labkit.sheets import Learner, Sheet, personal_sheet, sheet_notebook


class Classroom:
    """Draws sheets, fills them in and hands them in."""

    key = b"a key that only these tests know"
    sheet_name = "generator-action"
    group = "tuesday"
    bank = "2026-11"  # of which a sheet has eight questions, whatever comes later

    def learners(self, *ids: str) -> list[Learner]:
        """Return a class list."""
        return [Learner(learner, self.group) for learner in ids]

    def sheet(self, learner: str) -> Sheet:
        """Return a learner's sheet."""
        return personal_sheet(self.sheet_name, learner=learner, group=self.group, key=self.key, bank=self.bank)

    def right_answers(self, learner: str) -> dict[str, str]:
        """Return the right answer to each question, as a learner would type it."""
        sheet = self.sheet(learner)
        return {title: self._right(sheet, title) for title in sheet.titles}

    @staticmethod
    def _right(sheet: Sheet, title: str) -> str:
        question = sheet.plan.question(title)
        if question.options:
            return next(letter for letter, option in question.letters.items() if option.right)
        quantity = from_coherent(question.right_size(sheet.own), question.unit)
        return f"{quantity.to(question.unit or 'dimensionless').magnitude:.5g} {question.unit}"

    def notebook(self, learner: str, *, extra: str = "", after: int = 4, **changed: str) -> dict[str, Any]:
        """Return a learner's sheet with right answers in it.

        A code cell with *extra* stands after that many answers; *changed* answers go by their place, ``q1="1 V"``.
        """
        content: dict[str, Any] = json.loads(sheet_notebook(self.sheet(learner)))
        answers = self.right_answers(learner)
        titles = list(answers)
        answers |= {titles[int(place[1:]) - 1]: text for place, text in changed.items()}
        cells = []
        for cell in content["cells"]:
            cell["source"] = "".join(cell["source"])
            title = cell["metadata"].get("labkit", {}).get("question")
            if title:
                cell["source"] = f"sheet.answer({title!r}, {answers[title]!r})"
            cells.append(cell)
            if extra and title == titles[after - 1]:
                cells.append({"cell_type": "code", "metadata": {}, "source": extra, "outputs": []})
        return content | {"cells": cells}

    def hand_in(self, path: Path, learner: str, **options: Any) -> Path:
        """Write ``notebook`` to a file."""
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(self.notebook(learner, **options)), encoding="utf-8")
        return path


@pytest.fixture(scope="session")
def counted() -> Callable[[Path], list[MarkedSheet]]:
    """Return a function that gives what counts in a folder of marks."""

    def read(out: Path) -> list[MarkedSheet]:
        with Register(out / REGISTER) as register:
            return list(register.counted())

    return read


@pytest.fixture(scope="session")
def classroom() -> Classroom:
    """A class with a key of its own."""
    return Classroom()


@pytest.fixture(scope="session")
def runner(needs: Callable[[str], str]) -> Iterator[Runner]:
    """A warm process inside bubblewrap; a sheet may take two minutes and 300 MB."""
    with Runner(Allowance(seconds=120, memory=300_000_000), wall=needs("bwrap")) as shared:
        yield shared
