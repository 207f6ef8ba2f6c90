"""Run a lesson's cells to have what each of them shows, with no kernel and nothing kept."""

from __future__ import annotations

import ast
import contextlib
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labkit.checks import Numbers, Question, Verdict
from labkit.errors import HandoutError, LabkitError
from labkit.problems import asked, check

__all__ = ["Asked", "Ran", "run"]

#: The tag of a cell that a learner fills in.
_ANSWER = "answer"


@dataclass(frozen=True, slots=True)
class Asked:
    """A question of a lesson or a sheet, as it is put."""

    #: Its wording, and the picture to read off if there is one.
    verdict: Verdict
    question: Question
    numbers: Numbers
    #: Whether its title stands above it already.
    titled: bool = False


@dataclass(frozen=True, slots=True)
class Ran:
    """One cell: its prose, or what its code showed."""

    prose: str = ""
    shown: tuple[Any, ...] = ()
    printed: str = ""


def run(cells: Sequence[Mapping[str, Any]], folder: Path) -> Iterator[Ran]:
    """Yield each cell with what it shows; code runs in one namespace, with *folder* as the working directory.

    Cells with the tag ``answer`` are not run: what a learner typed is nobody's business on paper.

    Parameters
    ----------
    cells : sequence of dict
        Of a notebook file.
    folder : Path
        Where the notebook's own files are.

    Raises
    ------
    HandoutError
        Names the cell that failed, and what it said.
    """
    names: dict[str, Any] = {"__name__": "__main__"}
    for number, cell in enumerate(cells, start=1):
        source, metadata = "".join(cell["source"]), cell.get("metadata", {})
        if cell["cell_type"] == "markdown":
            yield Ran(prose=source)
        elif cell["cell_type"] == "code":
            if _ANSWER in metadata.get("tags", ()):
                yield Ran(shown=tuple(_question_of(names, metadata)))
            else:
                yield _run_cell(source, names, number, folder)


def _run_cell(source: str, names: dict[str, Any], number: int, folder: Path) -> Ran:
    shown: list[Any] = []
    names["display"] = lambda *things: shown.extend(things)
    if names.get("check") is check:
        names["check"] = _ask
    printed = io.StringIO()
    try:
        tree = ast.parse(source)
        last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
        with contextlib.redirect_stdout(printed), contextlib.chdir(folder):
            exec(compile(tree, f"cell {number}", "exec"), names)  # noqa: S102 (running the lesson is the task)
            if isinstance(last, ast.Expr):
                shown.append(eval(compile(ast.Expression(last.value), f"cell {number}", "eval"), names))  # noqa: S307 (as above)
    except SyntaxError as error:
        raise HandoutError(
            f"Cell {number} is no Python: {error.msg}. Correct it in the notebook, or take it out."
        ) from None
    except LabkitError as error:
        raise HandoutError(f"Cell {number} was refused: {error}") from error
    except Exception as error:
        msg = f"Cell {number} failed with {type(error).__name__}: {error}. Run the notebook in JupyterLab to see where."
        raise HandoutError(msg) from error
    return Ran(shown=tuple(thing for thing in shown if thing is not None), printed=printed.getvalue())


def _ask(_answer: object, title: str, **given: object) -> Asked:
    """Stand in for ``check``: put the question, whatever was answered."""
    question, numbers = asked(title, **given)
    return Asked(check("", title, **given), question, numbers)


def _question_of(names: Mapping[str, Any], metadata: Mapping[str, Any]) -> Iterator[Asked]:
    title, sheet = metadata.get("labkit", {}).get("question"), names.get("sheet")
    if title and sheet is not None:
        blank = type(sheet)(
            plan=sheet.plan, learner=sheet.learner, group=sheet.group, bank=sheet.bank, numbers=sheet.numbers
        )
        yield Asked(blank.answer(title, ""), sheet.plan.question(title), sheet.own, titled=True)
