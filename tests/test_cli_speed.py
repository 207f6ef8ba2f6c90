"""The command line answers at once: asking for help loads nothing that computes, draws or serves."""

import subprocess
import sys

import pytest

from labkit.cli import _parser

COMMANDS = [[], *([name] for action in _parser()._actions for name in action.choices or ())]
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
    return subprocess.run([sys.executable, *command], capture_output=True, text=True, check=True, timeout=300).stdout


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command) or "labkit")
def test_help_loads_nothing_heavy(command: list[str]) -> None:
    """``--help``, of the whole and of each command, is printed without one of the large libraries in memory."""
    text, loaded = _run("-c", _SCRIPT, *command).rsplit("LOADED", 1)

    assert text.startswith("usage: labkit")
    assert not set(HEAVY) & set(loaded.split())


def test_help_costs_little_more_than_starting_python() -> None:
    """Help takes at most 0.2 s of processor time beyond a bare Python's: the best of five runs, whatever else runs."""

    def best(script: str) -> float:
        clock = "\nimport time; print('SPENT', time.process_time())"
        return min(float(_run("-c", script + clock).rpartition("SPENT")[2]) for _ in range(5))

    assert best(_SCRIPT) < best("pass") + 0.2
