"""Sheets made to do harm: each changes no mark but its own, reaches nothing, and leaves nothing behind.

Each hostile sheet has eight right answers, and a cell of ``hostile.txt`` after the fourth.
The honest sheets beside it must keep their full marks.
"""

from __future__ import annotations

import contextlib
import os
import re
import socket
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from labkit.marking import Allowance, Marking, Result, mark_folder
from labkit.marking.running import Runner
from labkit.reports.marks import MarkedSheet

INSIDE = "import os\nassert os.getpid() < 10, 'no wall: too dangerous to try'"
_SECTION = re.compile(r"^## (.+) \| (\d) \| ?(.*)\n((?:(?!## ).*\n?)*)", re.MULTILINE)

#: By name: the marks of the sheet, words in its remarks, and the cell.
HOSTILE = {
    name: (int(marks), words, code)
    for name, marks, words, code in _SECTION.findall(
        Path(__file__).with_name("hostile.txt").read_text(encoding="utf-8")
    )
}

#: How long something sleeps that outlives its sheet: known by it, and not taken for that of another test process.
SECONDS = f"98765.{os.getpid()}"
HONEST = ("honest-1", "honest-2", "honest-3")


@dataclass(frozen=True)
class Marked:
    """What came of a folder of hostile sheets between honest ones."""

    result: Result
    sheets: list[MarkedSheet]
    out: Path
    secrets: Path
    #: Connections that the listening socket took.
    calls: list[object]

    def sheet(self, learner: str) -> MarkedSheet:
        """Return a learner's sheet as marked."""
        return next(sheet for sheet in self.sheets if sheet.learner == learner)


def _learner(name: str) -> str:
    return f"bad-{list(HOSTILE).index(name)}"


@pytest.fixture(scope="module")
def marked(
    tmp_path_factory: pytest.TempPathFactory,
    needs: Callable[[str], str],
    classroom: Any,
    counted: Any,
) -> Iterator[Marked]:
    """All hostile sheets and the honest ones, marked in one run on two processes."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("class")
    secrets, returned, out = base / "secrets", base / "returned", base / "marks"
    secrets.mkdir()
    (secrets / "canary").write_text("alive")
    (secrets / "class.csv").write_text("id,group\nhonest-1,tuesday\n")
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(0.1)
        filled = {
            "@INSIDE@": INSIDE,
            "@CANARY@": str(secrets / "canary"),
            "@CLASS_LIST@": str(secrets / "class.csv"),
            "@OTHER_SHEET@": str(returned / "honest-1.ipynb"),
            "@PORT@": str(listening.getsockname()[1]),
            "@SECONDS@": SECONDS,
        }
        for learner in HONEST:
            classroom.hand_in(returned / f"{learner}.ipynb", learner)
        for name, (_, _, code) in HOSTILE.items():
            for word, text in filled.items():
                code = code.replace(word, text)  # noqa: PLW2901 (filled in word by word)
            classroom.hand_in(returned / f"{_learner(name)}.ipynb", _learner(name), extra=code)
        marking = Marking(
            learners=classroom.learners(*HONEST, *map(_learner, HOSTILE)),
            key=classroom.key,
            runners=2,
            allowance=Allowance(seconds=10, memory=400_000_000),
        )
        result = mark_folder(returned, out, marking)
        calls: list[object] = []
        with contextlib.suppress(TimeoutError):
            calls.append(listening.accept())
        yield Marked(result, counted(out), out, secrets, calls)


def test_the_list_of_harm_is_read_whole() -> None:
    """Each section of the file is one sheet: none is lost by a slip in its heading."""
    assert len(HOSTILE) == Path(__file__).with_name("hostile.txt").read_text(encoding="utf-8").count("\n## ")
    assert all(code.strip() for _, _, code in HOSTILE.values())


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_sheet_gets_its_own_marks(marked: Marked, name: str) -> None:
    """A hostile sheet has the marks of the answers that it gave, no more, and its page says what went wrong."""
    marks, words, _ = HOSTILE[name]
    sheet = marked.sheet(_learner(name))
    assert (sheet.mark, sheet.out_of) == (marks, 8), list(sheet.remarks())
    assert words in " ".join(sheet.remarks())


@pytest.mark.parametrize("learner", HONEST)
def test_honest_sheets_keep_their_marks(marked: Marked, learner: str) -> None:
    """Sheets marked before, between and after hostile ones have full marks and no remark."""
    sheet = marked.sheet(learner)
    assert (sheet.mark, sheet.out_of, list(sheet.remarks())) == (8, 8, [])


def test_every_sheet_was_marked(marked: Marked) -> None:
    """No sheet is lost, and none could not be read."""
    assert marked.result.marked == len(HOSTILE) + len(HONEST)
    assert marked.result.tally.unread == ()
    assert marked.result.tally.missing == ()


def test_nothing_was_reached(marked: Marked) -> None:
    """The canary lives, the class list is in no answer, and nobody called the listening socket."""
    assert (marked.secrets / "canary").read_text() == "alive"
    answers = (marked.out / "answers.csv").read_text()
    assert "id,group" not in answers
    assert marked.calls == []


def test_nothing_is_left_running(marked: Marked) -> None:
    """No process that a sheet started is alive after the run."""
    assert marked.result.marked
    listed = subprocess.run(["ps", "-eo", "args"], check=True, capture_output=True, text=True).stdout
    assert f"sleep {SECONDS}" not in listed.splitlines()


def test_a_line_with_more_in_it_is_no_answer(runner: Runner) -> None:
    """A forged line with more than sheet, question and answer in it is no answer at all."""
    line = 'os.write(3, b\'{"sheet": "s", "question": "q", "answer": "4 V", "outcome": "right"}\\n\')'
    assert runner.run(["import os", line]).answers == ()
