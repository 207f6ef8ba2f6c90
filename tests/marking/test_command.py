"""``labkit mark`` as it is typed."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import openpyxl
import psutil
import pytest

from labkit.cli import main
from labkit.problems import BANK, plan

QUESTIONS = len(plan("generator-action").questions)


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory, needs: Callable[[str], str]) -> Path:
    """A folder with a class list, a key, three returned sheets, and the marks that the command made of them."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("desk")
    (base / "class.csv").write_text("id,group\namber-17,tuesday\njade-2,tuesday\nopal-5,tuesday\n")
    assert main(["sheets", "--new-key", str(base / "key")]) == 0
    drawn = ["--sheet", "generator-action", "--key", str(base / "key"), "--folder", str(base / "returned")]
    assert main(["sheets", str(base / "class.csv"), *drawn]) == 0
    (base / "returned" / "generator-action-opal-5.ipynb").unlink()
    (base / "returned" / "notes.txt").write_text("[bold]no notebook")
    command = [sys.executable, "-m", "labkit", "mark", "returned", "--class-list", "class.csv", "--key", "key"]
    run = subprocess.run(
        [*command, "--time-limit", "20", "--due", "2000-01-01T12:00"],
        cwd=base, capture_output=True, text=True, check=False, env=os.environ | {"COLUMNS": "200"},
    )  # fmt: skip
    (base / "said").write_text(run.stdout)
    assert run.returncode == 0, run.stderr
    return base


def test_it_says_what_it_did(marked: Path) -> None:
    """The command prints the table, what it could not mark, who is missing, and where all of it is."""
    said = (marked / "said").read_text()
    for words in (
        "amber-17", "Handed in late.", "Not marked: notes.txt: it is no notebook.",
        "Nothing from: opal-5.", "Marked 2 sheets. The class report is returned-marks/class.html",
    ):  # fmt: skip
        assert words in said
    assert re.search(
        rf"jade-2 +│ generator-action │ 0 of {QUESTIONS} +│ +│ {QUESTIONS} ", said
    )  # none wrong, all left out
    assert {path.name for path in (marked / "returned-marks").iterdir()} == {
        "marks.csv", "answers.csv", "not-marked.csv", "marks.sqlite", "comments", "class.html",
    }  # fmt: skip


def test_marks_are_explained(marked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Marks come with file, bank, kit and rule, of one question alone if it is named; a wrong name is told."""
    explain = ["mark", "--out", str(marked / "returned-marks"), "--explain"]
    assert main([*explain, "jade-2"]) == 0
    said = capsys.readouterr().out
    for words in (
        "generator-action-jade-2.ipynb",
        f"Bank {BANK}; marked 20",
        "bubblewrap",
        "Right from these numbers:",
    ):
        assert words in said
    assert said.count("Rule:") == QUESTIONS
    title = "Motor constant from a spin"
    for words in ([title], title.split()):  # with and without quotation marks
        assert main([*explain, "jade-2", "generator-action", *words]) == 0
        assert capsys.readouterr().out.count("Rule:") == 1
    assert main([*explain, "jade-2", "no-such-sheet"]) == 1
    assert "Nothing of 'jade-2 no-such-sheet' is marked" in capsys.readouterr().err


def test_marks_are_exported(marked: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All answers go into one CSV file or one workbook, and a name that is neither is refused."""
    out = ["mark", "--out", str(marked / "returned-marks"), "--export"]
    for name in ("all.csv", "all.xlsx"):
        assert main([*out, str(tmp_path / name)]) == 0
    with (tmp_path / "all.csv").open(encoding="utf-8-sig") as file:
        answers = [(row["learner"], row["question"], float(row["mark"])) for row in csv.DictReader(file)]
    book = openpyxl.load_workbook(tmp_path / "all.xlsx")
    rows = list(book["answers"].values)
    columns = [rows[0].index(name) for name in ("learner", "question", "mark")]
    assert [tuple(row[column] for column in columns) for row in rows[1:]] == answers
    assert [row[0] for row in book["marks"].values] == ["learner", "amber-17", "jade-2", "opal-5"]
    assert main([*out, str(tmp_path / "all.pdf")]) == 1
    assert "An export is a .csv or an .xlsx file; got 'all.pdf'" in capsys.readouterr().err


def test_nothing_of_the_teachers_is_written_over(
    marked: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An export takes no file's place, and marks go into no folder that has tables of somebody else's."""
    marks, listed = marked / "returned-marks", tmp_path / "class.csv"
    listed.write_text("id,group\namber-17,tuesday\n")
    assert main(["mark", "--out", str(marks), "--export", str(listed)]) == 1
    assert "class.csv is there already. Name another file" in capsys.readouterr().err
    assert listed.read_text() == "id,group\namber-17,tuesday\n"
    (tmp_path / "marks.csv").write_text("a term's marks")
    files = ["--class-list", str(marked / "class.csv"), "--key", str(marked / "key"), "--out", str(tmp_path)]
    assert main(["mark", str(marked / "returned"), *files]) == 1
    assert "marks.csv is there already, and no mark register beside it. Name another --out" in capsys.readouterr().err
    assert {path.name for path in tmp_path.iterdir()} == {"class.csv", "marks.csv"}


def test_each_class_has_marks_of_its_own(tmp_path: Path, needs: Callable[[str], str]) -> None:
    """Two classes count their learners alike: what the second hands in is not taken for the first one's."""
    needs("bwrap")
    assert main(["sheets", "--new-key", str(tmp_path / "key")]) == 0

    def mark(group: str, *more: str) -> int:
        listed = tmp_path / f"{group}.csv"
        files = ["--class-list", str(listed), "--key", str(tmp_path / "key"), "--out", str(tmp_path / "marks"), *more]
        return main(["mark", str(tmp_path / group), *files])

    for group in ("tuesday", "thursday"):
        (tmp_path / f"{group}.csv").write_text(f"id,group\n01,{group}\n02,{group}\n")
        drawn = ["--sheet", "generator-action", "--key", str(tmp_path / "key"), "--folder", str(tmp_path / group)]
        assert main(["sheets", str(tmp_path / f"{group}.csv"), *drawn]) == 0
    assert mark("tuesday") == 0
    before = (tmp_path / "marks" / "marks.csv").read_text()

    assert mark("thursday") == 1
    assert (tmp_path / "marks" / "marks.csv").read_text() == before

    (tmp_path / "tuesday.csv").write_text("id,group\n02,tuesday\n")  # the other one has left
    assert mark("tuesday") == 0
    assert "Counted too, though not in the class list: 01." in (tmp_path / "marks" / "class.html").read_text()


def test_a_correction_and_an_erasure(marked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A mark set by hand is in the table and on the page; an erased learner is in neither, and the others stay."""
    out = marked / "returned-marks"
    correct = ["generator-action", "Generator EMF at this speed", "0,5", "Answered on paper."]
    assert main(["mark", "--out", str(out), "--correct", "jade-2", *correct]) == 0
    assert f"jade-2,generator-action,0.5,{QUESTIONS}" in (out / "marks.csv").read_text()
    assert "Answered on paper." in (out / "comments" / "jade-2.html").read_text()
    (out / ".answers.csv.draft-99").write_text("amber-17, left by a run that was killed")
    assert main(["mark", "--out", str(out), "--erase", "amber-17"]) == 0
    assert not (out / ".answers.csv.draft-99").exists()
    assert "Erased 1 hand-in of amber-17" in capsys.readouterr().out
    assert not (out / "comments" / "amber-17.html").exists()
    for name in ("marks.csv", "answers.csv", "class.html", "not-marked.csv"):
        assert "amber-17" not in (out / name).read_text()
    assert "opal-5" in (out / "marks.csv").read_text()
    assert main(["mark", "--out", str(out), "--erase", "amber-17"]) == 1
    assert "holds nothing of 'amber-17'" in capsys.readouterr().err
    assert main(["mark", "--out", str(out), "--correct", "jade-2", *correct[:2], "rule", "My slip."]) == 0
    assert f"jade-2,generator-action,0,{QUESTIONS}" in (out / "marks.csv").read_text()
    assert main(["mark", "--out", str(out), "--correct", "jade-2", "generator-action", "No such", "1", "x"]) == 1
    assert "No answer of jade-2" in capsys.readouterr().err


def test_of_a_pair_one_is_erased(
    tmp_path: Path, needs: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """The page of the other, for whom the erased file counted as well, goes with it, and that is said."""
    needs("bwrap")
    (tmp_path / "class.csv").write_text("id,pair\namber-17,bench 4\njade-2,bench 4\n")
    key, listed, out = (str(tmp_path / name) for name in ("key", "class.csv", "marks"))
    assert main(["sheets", "--new-key", key]) == 0
    drawn = ["--sheet", "generator-action", "--key", key, "--folder", str(tmp_path / "returned")]
    assert main(["sheets", listed, *drawn]) == 0
    (tmp_path / "returned" / "generator-action-jade-2.ipynb").unlink()
    assert main(["mark", str(tmp_path / "returned"), "--class-list", listed, "--key", key, "--out", out]) == 0
    assert "amber-17" in (tmp_path / "marks" / "comments" / "jade-2.html").read_text()
    assert main(["mark", "--out", out, "--erase", "amber-17"]) == 0
    assert "Nothing is left of jade-2 either, of the same pair." in capsys.readouterr().out
    assert all(b"amber-17" not in path.read_bytes() for path in (tmp_path / "marks").rglob("*") if path.is_file())


def test_one_file_alone(marked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One file is marked into marks that are named, which keep what they say of all others; none are made beside it."""
    files = ["--class-list", str(marked / "class.csv"), "--key", str(marked / "key")]
    sheet = marked / "returned" / "generator-action-jade-2.ipynb"
    assert main(["mark", str(sheet), *files]) == 2
    assert "needs --out" in capsys.readouterr().err
    assert main(["mark", str(sheet), *files, "--out", str(marked / "returned-marks"), "--again"]) == 0
    unread = marked / "returned-marks" / "not-marked.csv"
    assert unread.read_text(encoding="utf-8-sig") == "file,reason\nnotes.txt,it is no notebook\n"
    (marked / "returned" / "notes.txt").write_text(sheet.read_text())
    again = [*files, "--out", str(marked / "returned-marks")]
    assert main(["mark", str(marked / "returned" / "notes.txt"), *again]) == 0
    assert unread.read_text(encoding="utf-8-sig") == "file,reason\n"
    (marked / "returned" / "notes.txt").write_text("no notebook")


def test_sheets_into_a_file_is_refused_plainly(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is a file, or lies in one, is named; there is no traceback."""
    assert main(["sheets", "--new-key", str(tmp_path / "key")]) == 0
    listed = tmp_path / "class.csv"
    listed.write_text("id\namber-17\n")
    for folder in (listed, listed / "out"):
        drawn = ["--sheet", "generator-action", "--key", str(tmp_path / "key"), "--folder", str(folder)]
        assert main(["sheets", str(listed), *drawn]) == 1
        assert (
            f"labkit: {'Not a directory' if folder != listed else 'File exists'}: {folder}" in capsys.readouterr().err
        )


def test_control_c(marked: Path, tmp_path: Path) -> None:
    """Ctrl-C ends a run at once, whatever a sheet is doing, and says that the work is kept."""
    (tmp_path / "waits").mkdir()
    waits = {"cell_type": "code", "metadata": {}, "source": "import time; time.sleep(50)"}
    claims = {"labkit": {"learner": "amber-17", "sheet": "generator-action"}}
    notebook = {"nbformat": 4, "nbformat_minor": 5, "metadata": claims, "cells": [waits] * 2}
    (tmp_path / "waits" / "amber-17.ipynb").write_text(json.dumps(notebook))
    files = ["--class-list", str(marked / "class.csv"), "--key", str(marked / "key"), "--time-limit", "100"]
    command = [sys.executable, "-m", "labkit", "mark", str(tmp_path / "waits"), *files]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        while (
            len(psutil.Process(process.pid).children(recursive=True)) < 4
        ):  # bubblewrap's two, the warm one, the sheet
            assert process.poll() is None
            time.sleep(0.1)
        pressed = time.monotonic()
        process.send_signal(signal.SIGINT)
        said = process.communicate(timeout=300)[1]
    assert process.returncode == 130
    assert "the same command goes on from here" in said
    assert time.monotonic() - pressed < 20


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        ([], 2, "needs a folder"),
        (["x"], 2, "needs --class-list"),
        (["x", "--class-list", "c"], 2, "needs --key"),
        (["x", "--class-list", "c", "--key", "k", "--time-limit", "0"], 2, "--time-limit must be from 1 to 3600"),
        (["x", "--class-list", "c", "--key", "k", "--due", "Friday"], 2, "--due must be a date"),
        (["x", "--class-list", "no-such-file", "--key", "k"], 1, "No such file or directory: no-such-file"),
        (["x", "--class-list", "c", "--key", "k", "--due", "0001-01-01T00:00+14:00"], 2, "--due must be a date"),
        (["x", "--class-list", "c", "--key", "k", "--late-keeps", "120"], 2, "from 0 to 100 per cent; got 120"),
        (["--erase", "amber-17"], 2, "needs --out"),
        (["--explain", "amber-17"], 2, "needs --out"),
        (["--erase", "amber-17", "--out", "nowhere"], 1, "There is no mark register in nowhere"),
    ],
)
def test_what_it_cannot_do(arguments: list[str], status: int, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Arguments that will not do end with a sentence that says what is missing, and no traceback."""
    assert main(["mark", *arguments]) == status
    assert words in capsys.readouterr().err
