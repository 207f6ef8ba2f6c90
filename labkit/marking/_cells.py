"""Run a notebook's code cells in this process, as Jupyter would, with nobody at the screen.

Nothing is displayed, asked or remembered: ``input()`` answers with an empty line, pictures are not drawn,
widgets are plain objects. An error ends its own cell and the next cell runs.
"""

from __future__ import annotations

import builtins
import getpass
import importlib
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from IPython.core.displaypub import DisplayPublisher
from IPython.core.interactiveshell import InteractiveShell
from traitlets import Type
from traitlets.config import Config

__all__ = ["preload", "prepare", "run_cells"]

_RESERVE = 8_000_000  #: bytes
_SHOWN = 300  #: letters of an error
_OFTEN_USED = ("scipy.integrate", "scipy.optimize", "sympy", "matplotlib.pyplot", "ipywidgets")


class _Unseen(DisplayPublisher):
    def publish(self, *_arguments: object, **_options: object) -> None:
        """Show nothing."""


class _Shell(InteractiveShell):
    display_pub_class = Type(_Unseen)
    system = InteractiveShell.system_raw  # "!" without a terminal, of which there is none

    def enable_gui(self, gui: object = None) -> None:
        """Let ``%matplotlib`` choose what it likes: nothing is drawn."""

    def ask_exit(self) -> None:
        """Let ``exit`` and ``quit`` end nothing, as in a notebook."""

    def showtraceback(self, *_arguments: object, **_options: object) -> None:
        """Lay out no traceback: the error itself is reported."""

    def showsyntaxerror(self, *_arguments: object, **_options: object) -> None:
        """Report it as any other error."""


def preload() -> None:
    """Import what only some sheets use, and answer every question once, so that no later fork starts from nothing.

    It is worth its seconds once many sheets come.
    """
    for name in _OFTEN_USED:
        with suppress(ImportError):
            importlib.import_module(name)
    labkit = importlib.import_module("labkit")
    for name in labkit.__all__:
        getattr(labkit, name)
    for plan in importlib.import_module("labkit.problems").plans():
        sheet = labkit.open_sheet(plan.name)
        for question in plan.questions:
            sheet.answer(question.title, question.right_text(sheet.own) or "1 V")


def prepare() -> None:
    """Import what every sheet uses, and build the shell."""
    importlib.import_module("labkit.sheets")
    config = Config()
    config.HistoryManager.enabled = False
    config.InteractiveShell.colors = "nocolor"
    shell = _Shell.instance(config=config)
    if shell.display_formatter is not None:
        shell.display_formatter.active_types = ["text/plain"]
    shell.run_cell("pass")  # type: ignore[no-untyped-call]  # IPython declares no types here


def run_cells(cells: Sequence[str], *, seconds: float, report: Callable[[int, str], None]) -> None:
    """Run each cell in turn; one that wanted a name defined further down is tried once more at the end.

    Parameters
    ----------
    cells : sequence of str
    seconds : float
        For all together; one cell may use half of what is left.
    report : callable
        Gets the position of a cell that failed, and the error in one line.
    """
    builtins.input = getpass.getpass = lambda *_arguments, **_options: ""  # type: ignore[assignment]
    ends = time.monotonic() + seconds
    # so that after a cell that took all memory the next ones can run: zeros that nothing has touched yet cost no page
    reserve = [bytes(_RESERVE)]
    too_early = []
    for position, cell in enumerate(cells):
        error = _run_cell(cell, (ends - time.monotonic()) / 2)
        if isinstance(error, MemoryError):
            reserve.clear()
        if isinstance(error, NameError):
            too_early.append(position)
        elif error is not None:
            report(position, _in_one_line(error))
    for position in too_early:
        error = _run_cell(cells[position], (ends - time.monotonic()) / 2)
        if error is not None:
            report(position, _in_one_line(error))


def _run_cell(cell: str, seconds: float) -> BaseException | None:
    try:
        with _at_most(seconds):
            result = _Shell.instance().run_cell(cell, store_history=False)  # type: ignore[no-untyped-call]  # as above
    except BaseException as error:  # noqa: BLE001 (a learner's cell may raise anything, and the next must run)
        return error
    failed: BaseException | None = result.error_before_exec or result.error_in_exec
    return failed


def _in_one_line(error: BaseException) -> str:
    try:
        text = f"line {error.lineno}: {error.msg}" if isinstance(error, SyntaxError) else str(error)
    except BaseException:  # noqa: BLE001 (an error class of the learner's own)
        text = "(its text could not be read)"
    whole = f"{type(error).__name__}: {text}"
    return whole if len(whole) <= _SHOWN else f"{whole[: _SHOWN - 1]}…"


@contextmanager
def _at_most(seconds: float) -> Iterator[None]:
    if not hasattr(signal, "setitimer"):  # Windows: the whole sheet's limit holds
        yield
        return

    def stop(*_signal: Any) -> None:
        raise TimeoutError("the cell ran too long and was stopped")

    signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, max(seconds, 0.1))
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
