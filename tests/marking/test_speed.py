"""How fast marking is, with isolation on: the long suite measures it."""

from __future__ import annotations

import contextlib
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import nbclient
import nbformat
import psutil
import pytest

from labkit.marking import Allowance, Marking, mark_folder
from labkit.marking.running import Runner, run_all

pytestmark = pytest.mark.slow


def _seconds_one_by_one(classroom: Any, number: int) -> float:
    """Return the seconds that one solved sheet takes when each gets a kernel of its own."""
    begun = time.perf_counter()
    for place in range(number):
        notebook = nbformat.from_dict(classroom.notebook(f"learner-{place}"))
        nbclient.NotebookClient(notebook).execute()
    return (time.perf_counter() - begun) / number


@pytest.mark.filterwarnings("ignore::nbformat.warnings.MissingIDFieldWarning")
def test_twenty_times_faster_than_kernels(
    tmp_path: Path,
    needs: Callable[[str], str],
    classroom: Any,
    counted: Any,
    record_property: Callable[[str, object], None],
) -> None:
    """Marking 300 solved sheets, start and reports included, is at least 20 times as fast as a kernel for each."""
    needs("bwrap")
    ids = [f"learner-{place}" for place in range(300)]
    for learner in ids:
        classroom.hand_in(tmp_path / "returned" / f"{learner}.ipynb", learner)
    marking = Marking(learners=classroom.learners(*ids), key=classroom.key, runners=2)
    alone = _seconds_one_by_one(classroom, 6)
    begun = time.perf_counter()
    mark_folder(tmp_path / "returned", tmp_path / "marks", marking)
    together = (time.perf_counter() - begun) / len(ids)
    assert {sheet.mark for sheet in counted(tmp_path / "marks")} == {8.0}
    record_property(
        "measured",
        f"{1000 * alone:.0f} ms a sheet in kernels, {1000 * together:.0f} ms marked: {alone / together:.1f} times",
    )
    assert alone / together >= 20


def test_little_is_added_to_a_sheet(
    needs: Callable[[str], str], record_property: Callable[[str, object], None]
) -> None:
    """Starting, walling in, ending and clearing up take at most 60 ms a sheet (the median of 100 empty ones)."""
    with Runner(Allowance(), wall=needs("bwrap")) as runner:
        seconds = [runner.run(["pass"]).seconds for _ in range(100)]
    record_property("measured", f"{1000 * statistics.median(seconds):.0f} ms")
    assert statistics.median(seconds) <= 0.060


def test_ten_thousand_sheets_in_flat_memory(
    needs: Callable[[str], str], record_property: Callable[[str, object], None]
) -> None:
    """After 10,000 sheets neither this process nor a warm one holds 30 MB more than after 500; none is lost."""
    grown = _grown(needs("bwrap"), sheets=10_000, early=500)
    record_property("measured", grown)
    assert len(grown) >= 3  # this process and two warm ones, at least
    assert max(grown.values()) < 30e6


def _grown(wall: str, *, sheets: int, early: int) -> dict[int, int]:
    """Return by how many bytes each process that lasts has grown between an early sheet and the last."""
    cells = ["import os", """os.write(3, b'{"sheet": "s", "question": "q", "answer": "4 V"}\\n')"""]
    runners = [Runner(Allowance(), wall=wall, place=place) for place in range(2)]
    jobs: Iterator[tuple[int, list[str]]] = ((number, cells) for number in range(sheets))
    before: dict[int, int] = {}
    done = 0
    try:
        for done, (_, run) in enumerate(run_all(jobs, runners), 1):
            assert (run.answers, run.trouble) == ((("s", "q", "4 V"),), "")
            if done == early:
                before = _memory()
        after = _memory()
    finally:
        for runner in runners:
            runner.close()
    assert done == sheets
    return {process: after[process] - held for process, held in before.items() if process in after}


def _memory() -> dict[int, int]:
    """Return the bytes that this process and each one below it hold."""
    held = {}
    for process in (psutil.Process(), *psutil.Process().children(recursive=True)):
        with contextlib.suppress(psutil.NoSuchProcess):  # a sheet that has just ended
            held[process.pid] = process.memory_info().rss
    return held
