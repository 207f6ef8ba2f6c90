"""Marking takes no more memory for many sheets than for few."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator

import psutil
import pytest

from labkit.marking import Allowance
from labkit.marking.running import Runner, run_all

pytestmark = pytest.mark.slow


def test_ten_thousand_sheets_in_flat_memory(needs: Callable[[str], str]) -> None:
    """After 10,000 sheets neither this process nor a warm one holds 30 MB more than after 500; none is lost."""
    grown = _grown(needs("bwrap"), sheets=10_000, early=500)
    sys.stdout.write(f"grown by {[f'{size / 1e6:.1f} MB' for size in grown.values()]}\n")  # shown with -rP
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
