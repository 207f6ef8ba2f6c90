"""What ``labkit mark`` does with its arguments, and what it says."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from labkit.errors import MarkingError
from labkit.marking.folder import REGISTER, Marking, Result, comment_path, mark_folder, write_reports
from labkit.marking.isolation import Allowance
from labkit.marking.judging import OTHER_NUMBERS
from labkit.marking.register import Register
from labkit.reports.marks import MARKS_HEADER, marks_rows
from labkit.sheets import read_class_list, read_key

__all__ = ["run", "unusable"]

Tell = Callable[[str], None]

_UNPROTECTED = (
    "Without isolation a sheet can read, change and delete whatever you can, and reach the network. "
    "Only its time, its memory and its files' size are limited."
)


def unusable(options: argparse.Namespace) -> str:
    """Return what is missing or wrong in the arguments, in a sentence; empty when they will do."""
    if options.correct or options.erase:
        return "" if options.out else "labkit mark needs --out, where the mark register is. See: labkit mark --help"
    for name, wanted in (("folder", "a folder"), ("class_list", "--class-list"), ("key", "--key")):
        if getattr(options, name) is None:
            return f"labkit mark needs {wanted}. See: labkit mark --help"
    if not 1 <= options.time_limit <= 3600:
        return f"--time-limit must be from 1 to 3600 seconds; got {options.time_limit:g}."
    if options.due and _moment(options.due) is None:
        return f"--due must be a date and time such as 2026-11-30T18:00; got {options.due!r}."
    return ""


def run(options: argparse.Namespace, *, tell: Tell, tell_error: Tell) -> int:
    """Mark, correct or erase; return the exit status."""
    if options.correct:
        return _correct(options.out, options.correct, tell=tell)
    if options.erase:
        return _erase(options.out, options.erase, tell=tell)
    if options.without_isolation:
        tell_error(_UNPROTECTED)
    out = options.out or options.folder.with_name(f"{options.folder.resolve().name}-marks")
    marking = Marking(
        learners=read_class_list(options.class_list),
        key=read_key(options.key),
        allowance=Allowance(seconds=options.time_limit),
        isolated=not options.without_isolation,
        due=_moment(options.due) if options.due else None,
        again=options.again,
    )
    try:
        with _bar() as bar:
            task = bar.add_task("Marking", total=None)
            result = mark_folder(
                options.folder, out, marking, progress=lambda done, files: bar.update(task, completed=done, total=files)
            )
    except KeyboardInterrupt:
        tell_error("Stopped. What is marked stays marked; the same command goes on from here.")
        return 130
    _tell_result(result, out, tell)
    return 0


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text).astimezone().replace(tzinfo=None)  # the teacher's own clock
    except ValueError:
        return None


def _bar() -> Progress:
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=Console(stderr=True))


def _tell_result(result: Result, out: Path, tell: Tell) -> None:
    table = Table(*(heading.capitalize() for heading in MARKS_HEADER[:-1]))
    for row in marks_rows(result.sheets):
        table.add_row(*map(escape, row[:-1]))
    Console().print(table)
    for path, reason in result.unread:
        tell(f"Not marked: {path}: {reason}.")
    if result.missing:
        tell(f"Nothing from: {', '.join(result.missing)}.")
    before = f", {result.before} were marked before" if result.before else ""
    others = sum(OTHER_NUMBERS in sheet.notes for sheet in result.sheets)
    if others:
        tell(
            f"Look again: of {len(result.sheets)} sheets {others} show other numbers than key and class list draw. "
            "Is it the key that they were made with, and the group? With the right ones, mark --again."
        )
    sheets = "1 sheet" if result.marked == 1 else f"{result.marked} sheets"
    tell(f"Marked {sheets}{before}. Tables and comment pages are in {out}.")


def _correct(out: Path, given: Sequence[str], *, tell: Tell) -> int:
    learner, sheet, question, mark, reason = given
    try:
        number = float(mark)
    except ValueError:
        raise MarkingError(f"mark must be a number; got {mark!r}.") from None
    with _existing(out) as register:
        register.correct(learner=learner, sheet=sheet, question=question, mark=number, reason=reason)
        write_reports(register, out, learners=())
    tell(f"Set {question!r} of {learner} to {number:g}. It stands when the sheets are marked again.")
    return 0


def _erase(out: Path, learner: str, *, tell: Tell) -> int:
    with _existing(out) as register:
        number = register.erase(learner)
        comment_path(out, learner).unlink(missing_ok=True)
        write_reports(register, out, learners=())
    tell(f"Erased {number} hand-ins of {learner}. Delete their files too, or they are marked again.")
    return 0


def _existing(out: Path) -> Register:
    if not (out / REGISTER).exists():
        raise MarkingError(f"There is no mark register in {out}. Name the folder that labkit mark wrote.")
    return Register(out / REGISTER)
