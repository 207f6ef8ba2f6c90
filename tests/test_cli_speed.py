"""The command line answers at once: asking for help loads nothing that computes, draws or serves."""

import subprocess
import sys
import time

import pytest

COMMANDS = [[], ["start"], ["fit"], ["sheets"], ["mark"]]
HEAVY = ("numpy", "scipy", "pint", "sympy", "matplotlib", "jupyterlab", "jupyter_server", "IPython", "ipywidgets",
         "anywidget", "nbformat", "rich")  # fmt: skip

_SCRIPT = """
import sys
from labkit.cli import main
try:
    main([*sys.argv[1:], "--help"])
except SystemExit as end:
    assert end.code == 0
print("LOADED", *sorted({name.split(".")[0] for name in sys.modules}))
"""


def _run(*command: str) -> str:
    return subprocess.run([sys.executable, *command], capture_output=True, text=True, check=True, timeout=30).stdout


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command) or "labkit")
def test_help_loads_nothing_heavy(command: list[str]) -> None:
    """``--help``, of the whole and of each command, is printed without one of the large libraries in memory."""
    text, loaded = _run("-c", _SCRIPT, *command).rsplit("LOADED", 1)

    assert text.startswith("usage: labkit")
    assert not set(HEAVY) & set(loaded.split())


def test_every_command_is_looked_at() -> None:
    """The commands that the test above tries are all that ``labkit --help`` names."""
    listed = _run("-m", "labkit", "--help").partition("COMMAND\n")[2]

    names = {line.split()[0] for line in listed.splitlines() if line.startswith("    ") and line[4] != " "}
    assert names == {command[0] for command in COMMANDS if command}


def test_help_takes_no_longer_than_a_few_bare_pythons() -> None:
    """Help costs at most a quarter of a second more than starting Python, the best of five runs each."""

    def best(*command: str) -> float:
        times = []
        for _ in range(5):
            begun = time.perf_counter()
            _run(*command)
            times.append(time.perf_counter() - begun)
        return min(times)

    assert best("-m", "labkit", "--help") < best("-c", "pass") + 0.25
