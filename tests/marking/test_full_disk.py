"""Disks that are full and folders that nobody may write to: said in a sentence, and nothing that was there is lost.

A limit on the size of files stands in for a full disk: writing fails in the same place and in the same way.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from labkit.cli import main
from labkit.marking import REGISTER, Register, write_results
from labkit.marking.answers import Run
from labkit.marking.collecting import HandIn
from labkit.marking.judging import Job, judge_run
from labkit.marking.notebooks import Claims, ReturnedNotebook
from labkit.marking.owners import Owner
from labkit.sheets import Learner

pytest.importorskip("resource", reason="this system has no limit on the size of files")

#: Sees to it that from here on no file can be larger.
_FULL = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({size}, {size}))"
_PAGES = f"""
import sys
from pathlib import Path
from labkit.cli import main
from labkit.marking import REGISTER, Register, write_results
with Register(Path(sys.argv[1]) / REGISTER) as register:
    {_FULL}
    try:
        write_results(register, Path(sys.argv[1]))
    except OSError as error:
        print(type(error).__name__, error.filename)
"""
_ENTRIES = f"""
import dataclasses, sys
from pathlib import Path
from labkit.errors import MarkingError
from labkit.cli import main
from labkit.marking import REGISTER, Register
with Register(Path(sys.argv[1]) / REGISTER) as register:
    sheet = next(register.counted())
    register.begin(labkit="0", isolation="bubblewrap", seconds=30)
    {_FULL}
    for number in range(10_000):
        try:
            register.enter(dataclasses.replace(sheet, learner=f"new-{{{{number}}}}", path=f"{{{{number}}}}"))
        except MarkingError as error:
            print(number, error)
            break
"""


def _run(code: str, out: Path, size: int) -> str:
    command = [sys.executable, "-c", code.format(size=size), str(out)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


@pytest.fixture
def out(tmp_path: Path, classroom: Any) -> Path:
    """Marks of two learners with empty sheets, entered without running anything."""
    with Register(tmp_path / REGISTER) as register:
        register.begin(labkit="0", isolation="bubblewrap", seconds=30)
        for learner in ("amber-17", "jade-2"):
            found = HandIn(path=f"{learner}.ipynb", changed="2026-11-20T09:00:00")
            owner = Owner(learner=Learner(learner, "tuesday"), sheet="switching-off", bank="2026-12")
            nothing = ReturnedNotebook(cells=(), metadata=Claims(), code=Claims(), opens=False)
            job = Job.of(found, learner, nothing, owner, key=classroom.key)
            register.enter(judge_run(job, Run()))
        write_results(register, tmp_path)
    return tmp_path


def _held(out: Path) -> dict[str, bytes]:
    """Return all that lies beside the register."""
    files = [path for path in out.rglob("*") if path.is_file() and not path.name.startswith(REGISTER)]
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in files}


def test_pages_on_a_full_disk(out: Path) -> None:
    """The page that there is no room for is named, what was there stays as it was, and no half of one is left."""
    before = _held(out)
    assert len(before["comments/jade-2.html"]) > 20_000
    assert _run(_PAGES, out, 20_000) == f"OSError {out / 'comments' / 'amber-17.html'}\n"
    assert _held(out) == before


def test_the_register_on_a_full_disk(out: Path) -> None:
    """A sheet that there is no room for is not entered, and it is said what to do; those before it are kept."""
    number, _, said = _run(_ENTRIES, out, 400_000).partition(" ")
    assert f"{out / REGISTER} cannot be written: " in said
    assert "What is marked stays marked: see that there is room, and give the same command again." in said
    with Register(out / REGISTER) as register:
        assert sum(1 for _ in register.counted()) == 2 + int(number)


def test_a_page_that_cannot_be_written(out: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever stands in a page's way is named, and no draft is left beside it."""
    (out / "comments" / "jade-2.html").unlink()
    (out / "comments" / "jade-2.html").mkdir()
    change = ["jade-2", "switching-off", "Time constant off a curve", "1", "Shown at the board."]
    assert main(["mark", "--out", str(out), "--correct", *change]) == 1
    assert f"labkit: Is a directory: {out / 'comments' / 'jade-2.html'}" in capsys.readouterr().err
    assert not list(out.rglob("*.draft-*"))


def test_sheets_on_a_full_disk(tmp_path: Path) -> None:
    """A sheet that could not be written whole is not there, so that the same command goes on once there is room."""
    (tmp_path / "class.csv").write_text("id\namber-17\n")
    (tmp_path / "key").write_text("ab" * 32)
    arguments = [str(tmp_path / "class.csv"), "--sheet", "switching-off", "--key", str(tmp_path / "key")]
    arguments += ["--folder", str(tmp_path / "out")]
    code = f"import sys; from labkit.cli import main\n{_FULL.format(size=10_000)}\nsys.exit(main(sys.argv[1:]))"
    run = subprocess.run(
        [sys.executable, "-c", code, "sheets", *arguments], capture_output=True, text=True, check=False
    )
    assert (run.returncode, list((tmp_path / "out").iterdir())) == (1, []), run.stderr
    assert run.stderr == f"labkit: File too large: {tmp_path / 'out' / 'switching-off-amber-17.ipynb'}\n"
    assert main(["sheets", *arguments]) == 0
