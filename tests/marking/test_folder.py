"""A folder as a class hands it in: every sheet that can be marked is marked, and the rest is named with the reason."""

from __future__ import annotations

import csv
import json
import os
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from labkit.checks import answer_from_json
from labkit.errors import MarkingError
from labkit.marking import REGISTER, Allowance, Marking, Register, Result, folder, isolation, mark_folder, write_results
from labkit.marking.answers import Run
from labkit.marking.judging import Job, judge_run
from labkit.reports.marks import OTHER_NUMBERS, MarkedSheet
from labkit.sheets import personal_sheet

#: What each learner handed in, and the marks that it must have.
EXPECTED = {
    "all-right": 8,
    "wrong": 7,
    "unit": 7,
    "follows": 7,
    "retyped": 8,
    "reordered": 8,
    "no-opening": 8,
    "duplicated": 8,
    "deleted": 6,
    "old-format": 8,
    "renamed": 8,
    "twice": 8,
    "late": 8,
    "zipped": 8,
    "changed-numbers": 8,
    "kits-own": 8,
    "raises": 8,
}
MISSING = "absent"
DUE = datetime(2026, 11, 20, 18, 0)  # noqa: DTZ001 (the teacher's own clock)
BEFORE, AFTER = DUE.timestamp() - 3600, DUE.timestamp() + 3600


@dataclass(frozen=True)
class Marked:
    """A marked folder."""

    returned: Path
    out: Path
    marking: Marking
    result: Result
    sheets: list[MarkedSheet]
    #: What the progress was told.
    progress: list[tuple[int, int]]

    def sheet(self, learner: str) -> MarkedSheet:
        """Return a learner's sheet as marked."""
        return next(sheet for sheet in self.sheets if sheet.learner == learner)


def _answer_cells(notebook: dict[str, Any]) -> list[dict[str, Any]]:
    return [cell for cell in notebook["cells"] if "question" in cell["metadata"].get("labkit", {})]


def _opening_cell(notebook: dict[str, Any]) -> dict[str, Any]:
    return next(cell for cell in notebook["cells"] if "open_sheet" in cell["source"])


def _wrong_but_consistent(classroom: Any) -> tuple[str, str]:
    """Return a wrong generator EMF, and the current that follows from it by Ohm's law, worked out here."""
    numbers = classroom.sheet("follows").numbers
    emf = 9.0
    ohms = sum(answer_from_json(numbers[name]).quantity.to("ohm").magnitude for name in ("resistance", "resistor"))
    return f"{emf} V", f"{1000 * emf / ohms:.4g} mA"


def _write(path: Path, notebook: object) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(notebook), encoding="utf-8")


def _rpm_for_radians(classroom: Any, learner: str) -> str:
    numbers = {name: answer_from_json(text).quantity for name, text in classroom.sheet(learner).numbers.items()}
    volts = numbers["emf_constant"].to("V*s/rad").magnitude * numbers["speed"].to("rpm").magnitude
    return f"{volts:.3g} V"


def _fill(folder: Path, classroom: Any) -> None:
    for learner in ("all-right", "late"):
        classroom.hand_in(folder / f"{learner}.ipynb", learner)
    classroom.hand_in(folder / "wrong.ipynb", "wrong", q1=_rpm_for_radians(classroom, "wrong"))
    classroom.hand_in(folder / "unit.ipynb", "unit", q1="12")
    emf, current = _wrong_but_consistent(classroom)
    classroom.hand_in(folder / "follows.ipynb", "follows", q1=emf, q2=current)
    classroom.hand_in(folder / "raises.ipynb", "raises", extra="1 / 0")

    notebook = classroom.notebook("retyped")
    for cell, kind in zip(_answer_cells(notebook), ("raw", "markdown") * 4, strict=True):
        cell["cell_type"] = kind
    _write(folder / "retyped.ipynb", notebook)

    notebook = classroom.notebook("reordered")
    notebook["cells"].reverse()
    _write(folder / "reordered.ipynb", notebook)

    notebook = classroom.notebook("no-opening")
    notebook["cells"].remove(_opening_cell(notebook))
    _write(folder / "no-opening.ipynb", notebook)

    notebook = classroom.notebook("duplicated")
    copies = [cell | {"source": cell["source"].rpartition(",")[0] + ", '')"} for cell in _answer_cells(notebook)]
    notebook["cells"] += [*copies, *_answer_cells(notebook)[:2]]
    _write(folder / "duplicated.ipynb", notebook)

    notebook = classroom.notebook("deleted")
    for cell in _answer_cells(notebook)[-2:]:
        notebook["cells"].remove(cell)
    _write(folder / "deleted.ipynb", notebook)

    notebook = classroom.notebook("old-format")
    cells = [{"cell_type": c["cell_type"], "input": c["source"]} for c in notebook["cells"] if c["cell_type"] == "code"]
    _write(folder / "old-format.ipynb", {"nbformat": 3, "metadata": {}, "worksheets": [{"cells": cells}]})

    _write(folder / "deep" / "my homework final (3).txt", classroom.notebook("renamed"))

    classroom.hand_in(folder / "twice-1.ipynb", "twice")
    classroom.hand_in(folder / "twice-2.ipynb", "twice", q1="0 V", q2="0 A")

    notebook = classroom.notebook("changed-numbers")
    opening = _opening_cell(notebook)
    opening["source"] = opening["source"].replace('"speed": "', '"speed": "1')
    _write(folder / "changed-numbers.ipynb", notebook)

    notebook = classroom.notebook("kits-own")
    theirs = 'open_sheet("generator-action", learner="practice", bank="2026-11")'
    _opening_cell(notebook)["source"] = f"from labkit import open_sheet\nsheet = {theirs}"
    _write(folder / "kits-own.ipynb", notebook)

    with zipfile.ZipFile(folder / "group.zip", "w") as archive:
        archive.writestr("../../zipped/sheet.ipynb", json.dumps(classroom.notebook("zipped")))
        archive.writestr("readme.txt", "hello")

    _write(folder / "stranger.ipynb", classroom.notebook("stranger"))
    notebook = classroom.notebook("all-right", q1="0 V")
    notebook["metadata"]["labkit"]["learner"] = "wrong"
    _write(folder / "claims two.ipynb", notebook)
    _write(folder / "wrong" / "copied.ipynb", classroom.notebook("all-right"))
    (folder / "table.csv").write_text("a,b\n")
    (folder / "empty.ipynb").touch()
    for path in folder.rglob("*"):
        os.utime(path, (BEFORE, BEFORE))
    os.utime(folder / "late.ipynb", (AFTER, AFTER))


@pytest.fixture(scope="module")
def marked(
    tmp_path_factory: pytest.TempPathFactory, needs: Callable[[str], str], classroom: Any, counted: Any
) -> Marked:
    """The class's folder, marked once."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("class")
    returned, out = base / "returned", base / "marks"
    _fill(returned, classroom)
    marking = Marking(
        learners=classroom.learners(*EXPECTED, MISSING),
        key=classroom.key,
        runners=1,
        due=DUE,
        allowance=Allowance(seconds=60),
    )
    progress: list[tuple[int, int]] = []
    result = mark_folder(returned, out, marking, progress=lambda done, files: progress.append((done, files)))
    return Marked(returned, out, marking, result, counted(out), progress)


@pytest.mark.parametrize("learner", EXPECTED)
def test_each_sheet_has_its_marks(marked: Marked, learner: str) -> None:
    """Each sheet gets the marks of its answers, whatever became of its cells, its format and its name."""
    sheet = marked.sheet(learner)
    assert (sheet.mark, sheet.out_of) == (EXPECTED[learner], 8), [str(answer.verdict) for answer in sheet.answers]


def test_the_comment_names_the_mistake(marked: Marked) -> None:
    """The page of a learner who multiplied by rpm names that idea and where to read on; it does not tell the answer."""
    answer = marked.sheet("wrong").answers[0]
    assert answer.verdict.misconception == "M14"
    page = (marked.out / "comments" / "wrong.html").read_text(encoding="utf-8")
    assert "rpm" in answer.verdict.comment
    assert answer.verdict.comment.split(".")[0] in page
    assert "7 of 8" in page


def test_a_step_that_follows_from_a_wrong_one_earns_its_mark(marked: Marked) -> None:
    """The current worked out from a wrong EMF counts, and the rule says that it was taken on."""
    first, second = marked.sheet("follows").answers[:2]
    assert (first.mark, second.mark) == (0, 1)
    assert second.verdict.follows_through
    assert "taken on from an earlier answer" in second.rule


def test_remarks(marked: Marked) -> None:
    """Late and repeated hand-ins and failed cells are told; a sheet with nothing to tell has no remark."""
    assert list(marked.sheet("late").remarks()) == ["Handed in late."]
    assert list(marked.sheet("twice").remarks()) == ["Handed in 2 times; the best counts."]
    assert list(marked.sheet("raises").remarks()) == ["Code cell 6 failed (ZeroDivisionError: division by zero)."]
    for learner in ("changed-numbers", "kits-own"):
        assert list(marked.sheet(learner).remarks()) == [OTHER_NUMBERS]
    for learner in ("all-right", "reordered", "retyped", "duplicated", "no-opening"):
        assert list(marked.sheet(learner).remarks()) == []


def test_what_could_not_be_marked_is_named(marked: Marked) -> None:
    """Files that are no notebook, of nobody in the class or of two are listed with the reason; who is missing too."""
    reasons = dict(marked.result.tally.unread)
    assert reasons.pop("claims two.ipynb").startswith("it names different learners")
    assert reasons.pop("wrong/copied.ipynb").startswith("it names different learners")
    assert reasons == {
        "stranger.ipynb": "'stranger' is not in the class list",
        "group.zip/readme.txt": "it is no notebook",
        "table.csv": "it is no notebook",
        "empty.ipynb": "it is empty",
    }
    assert marked.result.tally.missing == (MISSING,)
    with (marked.out / "not-marked.csv").open(encoding="utf-8-sig") as file:
        assert dict(list(csv.reader(file))[1:]) == dict(marked.result.tally.unread)


def test_the_table(marked: Marked) -> None:
    """The table holds each learner once, with the marks, and the one who is missing without."""
    with (marked.out / "marks.csv").open(encoding="utf-8-sig") as file:
        marks = {row["learner"]: row["mark"] for row in csv.DictReader(file)}
    assert marks == {learner: str(mark) for learner, mark in EXPECTED.items()} | {MISSING: ""}
    pages = {page.stem for page in (marked.out / "comments").iterdir()}
    assert pages == set(EXPECTED)


def test_progress_goes_up_to_the_end(marked: Marked) -> None:
    """The progress never goes back and ends at all files."""
    done = [step for step, _ in marked.progress]
    assert done == sorted(done)
    assert marked.progress[-1][0] == marked.progress[-1][1] >= len(EXPECTED)


def test_a_second_run_marks_nothing_twice(marked: Marked, counted: Any) -> None:
    """Run again, nothing is run anew and the result is the same; a mark set by hand stands, and can be read."""
    again = mark_folder(marked.returned, marked.out, marked.marking)
    assert (again.marked, again.before) == (0, marked.result.marked)
    assert counted(marked.out) == marked.sheets
    title = marked.sheet("wrong").answers[0].question
    with Register(marked.out / REGISTER) as register:
        register.correct(learner="wrong", sheet="generator-action", question=title, mark=0.5, reason="A good drawing.")
        write_results(register, marked.out)
    assert next(sheet for sheet in counted(marked.out) if sheet.learner == "wrong").mark == 7.5
    assert "A good drawing." in (marked.out / "comments" / "wrong.html").read_text(encoding="utf-8")


def test_marks_do_not_go_into_what_is_marked(marked: Marked) -> None:
    """A folder of marks inside the returned sheets would be marked itself, and is refused."""
    with pytest.raises(MarkingError, match="outside the folder"):
        mark_folder(marked.returned, marked.returned / "marks", marked.marking)


def test_no_isolation_is_a_refusal(tmp_path: Path, classroom: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where bubblewrap is missing, strangers' sheets are not run, and the sentence says what to do."""
    monkeypatch.setenv("PATH", str(tmp_path))
    marking = Marking(learners=classroom.learners("amber-17"), key=classroom.key)
    (tmp_path / "returned").mkdir()
    with pytest.raises(MarkingError, match=r"install bubblewrap.*--without-isolation"):
        mark_folder(tmp_path / "returned", tmp_path / "marks", marking)


def test_bubblewrap_without_its_folder(
    tmp_path: Path, needs: Callable[[str], str], classroom: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the folder is missing on which bubblewrap builds its view, that is said by name, before anything is run."""
    needs("bwrap")
    monkeypatch.setattr(isolation, "_VIEW", tmp_path / "gone")
    (tmp_path / "returned").mkdir()
    marking = Marking(learners=classroom.learners("amber-17"), key=classroom.key)
    with pytest.raises(
        MarkingError, match=r"bubblewrap builds its view of the machine on .*gone, which is missing here"
    ):
        mark_folder(tmp_path / "returned", tmp_path / "marks", marking)


def test_a_sheet_that_judging_does_not_bear(
    marked: Marked, tmp_path: Path, counted: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If one sheet's answers break the judging, that sheet is reported and all others are marked."""

    def brittle(job: Job, run: Run, **options: Any) -> MarkedSheet:
        if job.owner.learner.id == "late":
            raise ZeroDivisionError("of this test")
        return judge_run(job, run, **options)

    monkeypatch.setattr(folder, "judge_run", brittle)
    result = mark_folder(marked.returned, tmp_path / "marks", marked.marking)
    reason = dict(result.tally.unread)["late.ipynb"]
    assert reason == "its answers could not be judged (ZeroDivisionError: of this test)"
    assert {sheet.learner for sheet in counted(tmp_path / "marks")} == set(EXPECTED) - {"late"}


def test_another_key_draws_other_numbers(marked: Marked, classroom: Any) -> None:
    """The marks rest on the key: with another one, the same answers are not the learner's right ones."""
    answers = {answer.question: answer.answer for answer in marked.sheet("all-right").answers}
    sheet = personal_sheet(
        "generator-action", learner="all-right", group="tuesday", bank=classroom.bank, key=b"another key"
    )
    assert sum(verdict.right for verdict in sheet.judge_all(answers).values()) < 8


def test_a_file_that_changed_between_two_runs(
    tmp_path: Path, needs: Callable[[str], str], classroom: Any, counted: Any
) -> None:
    """A file that was mended in place counts as mended, one that was spoilt as it was before."""
    needs("bwrap")
    marking = Marking(learners=classroom.learners("amber-17", "jade-2"), key=classroom.key, runners=1)
    told = []
    for wrong in ({"q1": "99 V"}, {}, {"q1": "99 V", "q3": "99 V"}, {"q1": "99 V", "q3": "99 V"}):
        classroom.hand_in(tmp_path / "returned" / "amber-17.ipynb", "amber-17", **wrong)
        result = mark_folder(tmp_path / "returned", tmp_path / "marks", marking)
        (sheet,) = counted(tmp_path / "marks")
        told.append((result.marked, result.before, sheet.mark, sheet.hand_ins))
    assert told == [(1, 0, 7, 1), (1, 0, 8, 2), (1, 0, 8, 3), (0, 1, 8, 3)]


def test_an_empty_folder(tmp_path: Path, needs: Callable[[str], str], classroom: Any) -> None:
    """Nothing handed in is a report that says so, with everybody missing."""
    needs("bwrap")
    (tmp_path / "returned").mkdir()
    marking = Marking(learners=classroom.learners("amber-17"), key=classroom.key, runners=1)
    result = mark_folder(tmp_path / "returned", tmp_path / "marks", marking)
    assert (result.marked, result.tally.missing) == (0, ("amber-17",))
    assert "Nothing is marked yet." in (tmp_path / "marks" / "class.html").read_text(encoding="utf-8")
