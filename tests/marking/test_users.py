"""The walls hold for an ordinary user as they do for root, and without them the limits that there are still hold.

Where the tests run as root, these run as another user, in a view of the machine that bubblewrap makes for them:
so that a sheet without walls can reach nothing that matters.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from labkit.marking.isolation import FOLDER, _walls, child_environment

_ORDINARY = 12_345
#: How long something sleeps that outlives its sheet: known by it, and not taken for that of another test process.
_SECONDS = f"98766.{os.getpid()}"
_BECOME = f"""import os, sys
os.setgroups([]); os.setgid({_ORDINARY}); os.setuid({_ORDINARY})
os.execv(sys.executable, [sys.executable, *sys.argv[1:]])"""
_RUN = """import json, os, subprocess, sys
from labkit.marking import Allowance
from labkit.marking.running import Runner
from labkit.marking.cold import ColdRunner
assert os.geteuid() != 0
allowance = Allowance(seconds=10, memory=300_000_000)
runner = ColdRunner(allowance) if sys.argv[1] == "cold" else Runner(allowance, wall=sys.argv[1] or None)
runs = [runner.run(cells) for cells in json.load(sys.stdin)]
runner.close()
left = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True).stdout.splitlines().count(sys.argv[2])
json.dump({"runs": [[run.answers, [fault.error for fault in run.faults], run.trouble] for run in runs], "left": left},
          sys.stdout)"""
_SAY = """import json, os
def say(question, answer):
    os.write(int(os.environ["LABKIT_ANSWERS_FD"]), (json.dumps(
        {"sheet": "s", "question": question, "answer": answer}) + "\\n").encode())"""


def _cell(name: str, *, guard: str) -> str:
    text = Path(__file__).with_name("hostile.txt").read_text(encoding="utf-8")
    found = re.search(rf"^## {name} \\|.*\n((?:(?!## ).*\n)*)".replace("\\\\", "\\"), text, re.MULTILINE)
    assert found, name
    return found[1].replace("@INSIDE@", guard).replace("@SECONDS@", _SECONDS)


def _as_ordinary_user(bwrap: str, wall: str, sheets: list[list[str]], tmp_path: Path) -> dict[str, Any]:
    """Run sheets in a runner of an ordinary user's; return what came of each, and what was left running."""
    command = [sys.executable, "-c", _RUN, wall, f"sleep {_SECONDS}"]
    environment = child_environment(FOLDER) | {"PATH": "/usr/bin:/bin"}
    if os.geteuid() == 0:
        view = list(_walls(root=True))
        if wall == bwrap:  # a wall within a wall needs a /proc that hides nothing, and a /tmp to build its view on
            place = view.index("--proc")
            view[place : place + 2] = ["--dir", "/tmp", "--bind", "/proc", "/proc"]
            view.remove("--unshare-pid")
        command = [bwrap, *view, "--", sys.executable, "-c", _BECOME, *command[1:]]
    else:
        environment["HOME"] = environment["TMPDIR"] = str(tmp_path)
    run = subprocess.run(
        command, input=json.dumps(sheets), env=environment, capture_output=True, text=True, timeout=600, check=False
    )
    assert run.returncode == 0, run.stderr
    result: dict[str, Any] = json.loads(run.stdout)
    return result


@pytest.fixture(scope="module")
def walled(needs: Callable[[str], str], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Hostile sheets run by an ordinary user with isolation."""
    bwrap = needs("bwrap")
    names = (
        "forks",
        "signals everybody",
        "outlives its run",
        "takes memory",
        "hides memory in the kernel",
        "starts threads",
    )
    rights = """status = dict(line.split(":", 1) for line in open("/proc/self/status"))
say("rights", [status[name].strip() for name in ("CapEff", "CapBnd")])"""
    guard = "import os\nassert os.getpid() < 10, 'no wall: too dangerous to try'"
    sheets = [[_SAY, _cell(name, guard=guard), "say('last', os.getpid())"] for name in names]
    return _as_ordinary_user(bwrap, bwrap, [*sheets, [_SAY, rights]], tmp_path_factory.mktemp("user"))


def test_an_ordinary_user_is_walled_in_too(walled: dict[str, Any]) -> None:
    """Fork bomb, signals, what outlives a sheet, memory and threads are held; a sheet has no privilege."""
    forks, signals, outlives, memory, hidden, threads, rights = walled["runs"]
    assert forks[2].endswith("and was stopped there.")
    assert signals == [[["s", "last", 1]], [], ""]
    assert outlives == [[["s", "last", 1]], [], ""]
    assert (memory[0], memory[1][0].split(":")[0]) == ([["s", "last", 1]], "MemoryError")
    assert (hidden[0], hidden[1][0].split(":")[0]) == ([["s", "last", 1]], "PermissionError")
    assert (threads[0], threads[1][0].split(":")[0]) == ([["s", "last", 1]], "RuntimeError")
    assert rights[0] == [["s", "rights", ["0000000000000000", "0000000000000000"]]]
    assert walled["left"] == 0


def test_without_walls_limits_still_hold(needs: Callable[[str], str], tmp_path: Path) -> None:
    """Without isolation: time, memory, file size and what a sheet leaves running are held, and later sheets run."""
    bwrap = needs("bwrap") if os.geteuid() == 0 else ""
    names = ("exits at once", "crashes", "will not stop", "takes memory", "writes one huge file", "outlives its run")
    sheets = [[_SAY, _cell(name, guard=""), "say('last', 1)"] for name in names]
    result = _as_ordinary_user(bwrap, "", [*sheets, [_SAY, "say('next', os.listdir())"]], tmp_path)
    exits, crashes, loops, memory, file, outlives, following = result["runs"]
    assert exits[2] == "Its process ended before its last cell (exit status 0)."
    assert crashes[2] == "Its process ended before its last cell (stopped by signal 11)."
    assert loops[2] == "It ran longer than 10 s and was stopped there."
    assert memory[1] == ["MemoryError: "]
    assert file[1] == ["OSError: [Errno 27] File too large"]
    assert outlives == [[["s", "last", 1]], [], ""]
    assert following == [[["s", "next", []]], [], ""]
    assert result["left"] == 0


@pytest.mark.slow
def test_one_process_a_sheet_where_nothing_can_be_forked(needs: Callable[[str], str], tmp_path: Path) -> None:
    """The way of Windows, run here: answers come back, an end is told, and time is kept."""
    bwrap = needs("bwrap") if os.geteuid() == 0 else ""
    sheets = [
        [_SAY, "say('a', '4 V')", "1 / 0", "say('b', os.listdir())"],
        [_SAY, "say('a', '4 V')", _cell("exits at once", guard="")],
        [_SAY, "say('a', '4 V')", _cell("will not stop", guard="")],
    ]
    good, exits, loops = _as_ordinary_user(bwrap, "cold", sheets, tmp_path)["runs"]
    assert good == [[["s", "a", "4 V"], ["s", "b", []]], ["ZeroDivisionError: division by zero"], ""]
    assert exits == [[["s", "a", "4 V"]], [], "Its process ended before its last cell (exit status 0)."]
    assert loops == [[["s", "a", "4 V"]], [], "It ran longer than 10 s and was stopped there."]
