"""``kill -9`` of the marker in the middle of its work: run again, it ends where it would have ended undisturbed."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import time
import traceback
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import psutil
import pytest

from labkit.marking import REGISTER, Allowance, Marking, mark_folder
from labkit.reports.marks import MarkedSheet

Counted = Callable[[Path], list[MarkedSheet]]

SHEETS = 16


def _class(folder: Path, classroom: Any) -> Marking:
    ids = [f"learner-{number}" for number in range(SHEETS)]
    for number, learner in enumerate(ids):
        wrong = {f"q{number % 7 + 1}": "1 V"}
        classroom.hand_in(folder / f"{learner}.ipynb", learner, extra="import time; time.sleep(0.15)", **wrong)
    return Marking(learners=classroom.learners(*ids), key=classroom.key, runners=1, allowance=Allowance(seconds=60))


def _undisturbed(classroom: Any, marking: Marking) -> list[tuple[object, ...]]:
    """Return what the register must hold, judged here and now from the answers that were written into the sheets."""
    rows: list[tuple[object, ...]] = []
    for number, learner in enumerate(marking.learners):
        answers = classroom.right_answers(learner.id)
        answers[list(answers)[number % 7]] = "1 V"
        for title, verdict in classroom.sheet(learner.id).judge_all(answers).items():
            rows.append((learner.id, title, answers[title], float(verdict.right), verdict.comment))
    return sorted(rows, key=str)


def _held(sheets: list[MarkedSheet]) -> list[tuple[object, ...]]:
    rows = [
        (sheet.learner, answer.question, answer.answer, answer.mark, answer.verdict.comment)
        for sheet in sheets
        for answer in sheet.answers
    ]
    return sorted(rows, key=str)


def _entered(out: Path) -> int:
    try:
        with sqlite3.connect(f"file:{out / REGISTER}?mode=ro", uri=True) as register:
            return int(register.execute("SELECT count(*) FROM hand_in").fetchone()[0])
    except sqlite3.OperationalError:  # there is none yet
        return 0
    finally:
        if "register" in locals():
            register.close()


def _mark_and_be_killed(returned: Path, out: Path, marking: Marking, *, wait: Callable[[], object]) -> None:
    child = os.fork()
    if child == 0:
        try:
            mark_folder(returned, out, marking)
        except BaseException:  # noqa: BLE001 (whatever it is, the test must show it)
            out.with_suffix(".error").write_text(traceback.format_exc())
        finally:
            os._exit(0)
    wait()
    started = psutil.Process(child).children(recursive=True)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    alive = psutil.wait_procs(started, timeout=60)[1]
    assert alive == [], "a process of the killed marker lives on"


def _until_entered(out: Path, enough: int, pause: float) -> None:
    deadline = time.monotonic() + 600
    while _entered(out) < enough and time.monotonic() < deadline:
        time.sleep(0.01)
        error = out.with_suffix(".error")
        assert not error.exists(), error.read_text()
    time.sleep(pause)


def _kill_many(tmp_path: Path, classroom: Any, counted: Counted, *, kills: int, seed: int) -> None:
    marking = _class(tmp_path / "returned", classroom)
    expected = _undisturbed(classroom, marking)
    moments = random.Random(seed)
    out, middle = tmp_path / "marks", 0
    for kill in range(kills):
        enough, pause = _entered(out) + moments.randrange(3), moments.uniform(0, 0.25)
        wait = partial(_until_entered, out, enough, pause)
        _mark_and_be_killed(tmp_path / "returned", out, marking, wait=wait)
        entered = _entered(out)
        middle += 0 < entered < SHEETS
        if entered >= SHEETS - 3:  # nearly done: begin anew, when this one was seen to end well
            mark_folder(tmp_path / "returned", out, marking)
            assert _held(counted(out)) == expected
            out = tmp_path / f"marks-{kill}"
    assert middle, "no kill fell into the middle"
    result = mark_folder(tmp_path / "returned", out, marking)
    assert _held(counted(out)) == expected
    assert result.marked + result.before == SHEETS == _entered(out)
    assert all(sheet.hand_ins == 1 for sheet in counted(out))


def test_killed_twenty_times(tmp_path: Path, needs: Callable[[str], str], classroom: Any, counted: Counted) -> None:
    """After 20 kills at random moments the register is that of an undisturbed run, and no process is left."""
    needs("bwrap")
    _kill_many(tmp_path, classroom, counted, kills=20, seed=1)


@pytest.mark.slow
def test_killed_two_hundred_times(
    tmp_path: Path, needs: Callable[[str], str], classroom: Any, counted: Counted
) -> None:
    """The same after 200 kills."""
    needs("bwrap")
    _kill_many(tmp_path, classroom, counted, kills=200, seed=2)
