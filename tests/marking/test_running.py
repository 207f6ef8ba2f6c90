"""Running cells in a process of their own, as Jupyter would, with nobody at the screen."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

import psutil
import pytest

from labkit.errors import MarkingError
from labkit.marking import Allowance
from labkit.marking.running import Runner, run_all

#: Stands in for a sheet: writes answers as the contract says.
SAY = """import json, os
def say(question, answer):
    os.write(int(os.environ["LABKIT_ANSWERS_FD"]), (json.dumps(
        {"sheet": "s", "question": question, "answer": answer}) + "\\n").encode())"""


def test_cells_run_in_order_and_answers_come_back(runner: Runner) -> None:
    """Each call gives one answer, in order, and a later cell sees what an earlier one defined."""
    run = runner.run([SAY, "x = 4", "say('a', f'{x} V')", "say('a', {'value': 5, 'unit': 'volt'})"])
    assert run.answers == (("s", "a", "4 V"), ("s", "a", {"value": 5, "unit": "volt"}))
    assert (run.faults, run.trouble) == ((), "")


def test_nothing_is_left_for_the_next_sheet(runner: Runner) -> None:
    """Names, modules, files and the environment of one sheet are gone for the next."""
    runner.run(
        [SAY, "import json, os; json.mark = 1; os.environ['MARK'] = '1'; mark = 1; open('../mark', 'w').close()"]
    )
    ask = "say('left', ['mark' in globals(), hasattr(json, 'mark'), 'MARK' in os.environ, os.path.exists('../mark')])"
    assert runner.run([SAY, ask]).answers == (("s", "left", [False, False, False, False]),)


def test_an_error_ends_its_cell_only(runner: Runner) -> None:
    """A cell that fails is reported with its error, and the next ones run."""
    run = runner.run([SAY, "1 / 0", "say('b', '2 V')"])
    assert run.answers == (("s", "b", "2 V"),)
    (fault,) = run.faults
    assert (fault.cell, fault.error) == (1, "ZeroDivisionError: division by zero")


def test_a_slip_of_the_keyboard_is_named_by_its_line(runner: Runner) -> None:
    """A cell that Python cannot read is reported with the line, and without the name that IPython gives the cell."""
    (fault,) = runner.run([SAY, "# a comment\nsay('a', 3.2 V)"]).faults
    assert fault.error.startswith("SyntaxError: line 2: ")
    assert "ipython" not in fault.error


def test_cells_in_the_wrong_order_are_tried_again(runner: Runner) -> None:
    """A cell that needs a name from further down runs once more at the end; nothing is reported then."""
    run = runner.run(["say('a', voltage)", SAY, "voltage = '4 V'"])
    assert run.answers == (("s", "a", "4 V"),)
    assert run.faults == ()


def test_what_notebooks_do(runner: Runner) -> None:
    """Magics, plots, widgets, questions at the keyboard, ``exit`` and top-level ``await`` neither hang nor fail."""
    cells = [
        SAY,
        "%matplotlib inline\nimport matplotlib.pyplot as plt\nplt.plot([1, 2])\nplt.show()",
        "name = input('Who are you? ')\nimport getpass\ngetpass.getpass()",
        "import ipywidgets\nipywidgets.interact(lambda x: x, x=(0, 3))\nipywidgets.IntSlider()",
        "exit()",
        "quit",
        "import asyncio\nawait asyncio.sleep(0)",
        "%time 1 + 1\n!echo hello",
        "from IPython.display import display, HTML\ndisplay(HTML('x'))",
        "say('last', name)",
    ]
    run = runner.run(cells)
    assert run.answers == (("s", "last", ""),)
    assert (run.faults, run.trouble) == ((), "")


def test_an_endless_cell_leaves_time_for_the_next(needs: Callable[[str], str]) -> None:
    """A cell that loops for ever is stopped after half of what is left of 16 s, and the next cell runs."""
    clock = "import time; begun = time.monotonic()"
    with Runner(Allowance(seconds=16), wall=needs("bwrap")) as runner:
        run = runner.run([SAY, clock, "while True: pass", "say('looped', time.monotonic() - begun)"])
    ((_, _, looped),) = run.answers
    assert run.faults[0].error == "TimeoutError: the cell ran too long and was stopped"
    assert looped == pytest.approx(8, abs=2)
    assert run.seconds == pytest.approx(looped, abs=4)


def test_the_process_is_its_own(runner: Runner) -> None:
    """A sheet runs without privilege, sees no environment of ours, no other process, and an empty folder of its own."""
    os.environ["LABKIT_TEST_SECRET"] = "1"
    ask = """
status = dict(line.split(":", 1) for line in open("/proc/self/status"))
say("rights", [status[name].strip() for name in ("CapEff", "CapBnd", "NoNewPrivs", "Seccomp")])
say("processes", [name for name in os.listdir("/proc") if name.isdigit()])
here = os.getcwd()
say("folder", [os.listdir("."), os.listdir("..") == [os.path.basename(here)], os.environ["HOME"] == here])
say("secret", "LABKIT_TEST_SECRET" in os.environ)
say("user", os.getuid())
"""
    try:
        answers = {question: answer for _, question, answer in runner.run([SAY, ask]).answers}
    finally:
        del os.environ["LABKIT_TEST_SECRET"]
    assert answers["rights"] == ["0000000000000000", "0000000000000000", "1", "2"]
    assert answers["processes"] == ["1"]
    assert answers["folder"] == [[], True, True]
    assert answers["secret"] is False
    assert answers["user"] != 0


def test_many_sheets_on_several_runners(needs: Callable[[str], str]) -> None:
    """Two runners share the sheets; each comes back once with its own key, and few wait at a time."""
    taken = 0

    def jobs() -> object:
        nonlocal taken
        for number in range(12):
            taken += 1
            yield number, [SAY, f"say('number', {number})"]

    runners = [Runner(Allowance(seconds=60), wall=needs("bwrap"), place=place) for place in range(2)]
    done = {}
    try:
        for number, run in run_all(jobs(), runners):
            assert taken <= len(done) + 2 * len(runners) + 1
            done[number] = run.answers[0][2]
    finally:
        for runner in runners:
            runner.close()
    assert done == {number: number for number in range(12)}


def test_a_process_that_was_ended_from_outside_is_started_again(needs: Callable[[str], str]) -> None:
    """When the warm process dies, the sheet is run again in a new one; after closing neither is left."""
    started = []
    with Runner(Allowance(seconds=60), wall=needs("bwrap")) as runner:
        assert runner._process is not None
        started += psutil.Process(runner._process.pid).children(recursive=True)
        runner._process.kill()
        runner._process.wait()
        run = runner.run([SAY, "say('a', '4 V')"])
        assert run.answers == (("s", "a", "4 V"),)
        started += psutil.Process(runner._process.pid).children(recursive=True)
    assert len(started) >= 4  # inside bubblewrap, its own process and the warm one, twice
    assert psutil.wait_procs(started, timeout=60)[1] == []


def test_stopped_before_it_has_started(needs: Callable[[str], str]) -> None:
    """A runner that Ctrl-C meets before its process is there, or as it starts, runs no sheet and leaves no process."""
    unlike_others = 600 + os.getpid() / 1e7
    runner = Runner(Allowance(seconds=unlike_others), wall=needs("bwrap"))
    runner.stop()
    begun = time.monotonic()
    run = runner.run([SAY, "say('a', '4 V')", "import time; time.sleep(1000)"])
    runner.close()
    assert (run.answers, run.trouble) == ((), "It broke the process that ran it.")
    assert time.monotonic() - begun < 120
    left = [
        process for process in psutil.process_iter(["cmdline"]) if str(unlike_others) in (process.info["cmdline"] or ())
    ]
    assert psutil.wait_procs(left, timeout=60)[1] == []


@pytest.mark.parametrize("size", [100, 10_000, 10**6])
def test_answers_after_all_memory_is_taken(runner: Runner, size: int) -> None:
    """A cell that takes all memory in pieces of any size and keeps it fails alone: the answer after it is recorded."""
    run = runner.run([SAY, f"hoard = []\nwhile True: hoard.append(bytearray({size}))", "say('a', '4 V')"])
    assert run.answers == (("s", "a", "4 V"),)
    assert (run.trouble, [fault.error.split(":")[0] for fault in run.faults]) == ("", ["MemoryError"])


@pytest.mark.skipif(os.geteuid() != 0, reason="only root is refused")
def test_root_is_refused_without_isolation() -> None:
    """As root an unprotected sheet could end every process and delete every file: the runner does not start."""
    with pytest.raises(MarkingError, match="not as root"), Runner(Allowance(), wall=None):
        pass
