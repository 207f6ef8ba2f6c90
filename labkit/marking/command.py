"""What ``labkit mark`` does with its arguments, and what it says."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from labkit.errors import MarkingError
from labkit.marking.answers import printable
from labkit.marking.cluster import Cluster
from labkit.marking.folder import REGISTER, Marking, Result, mark_folder
from labkit.marking.isolation import Allowance
from labkit.marking.register import Register
from labkit.marking.results import comment_path, export, forget_pages, spare_others, write_results
from labkit.reports.marks import MarkedSheet, explanation
from labkit.reports.questions import count_of
from labkit.sheets import read_class_list, read_key
from labkit.sheets.classlist import read_moment

__all__ = ["run", "unusable"]

Tell = Callable[[str], None]

_MOST_SHOWN = 60  #: rows in the terminal

_UNPROTECTED = (
    "Without isolation a sheet can read, change and delete whatever you can, and reach the network. "
    "Only its time is limited, and on Linux its memory and its files' size."
)


def unusable(options: argparse.Namespace) -> str:
    """Return what is missing or wrong in the arguments, in a sentence; empty when they will do."""
    if options.correct or options.erase or options.explain or options.export:
        return "" if options.out else "labkit mark needs --out, where the mark register is. See: labkit mark --help"
    for name, wanted in (("folder", "a folder"), ("class_list", "--class-list"), ("key", "--key")):
        if getattr(options, name) is None:
            return f"labkit mark needs {wanted}. See: labkit mark --help"
    if options.folder.is_file() and not options.out:
        return "labkit mark needs --out for one file alone: name the folder of the marks that it belongs to."
    return next(_unusable_values(options), "")


def _unusable_values(options: argparse.Namespace) -> Iterator[str]:
    if not 1 <= options.time_limit <= 3600:
        yield f"--time-limit must be from 1 to 3600 seconds; got {options.time_limit:g}."
    if options.due and _moment(options.due) is None:
        yield f"--due must be a date and time such as 2026-11-30T18:00, or a date alone; got {options.due!r}."
    if not 0 <= options.late_keeps <= 100:
        yield f"--late-keeps must be from 0 to 100 per cent; got {options.late_keeps:g}."


def run(options: argparse.Namespace, *, tell: Tell, tell_error: Tell) -> int:
    """Mark, or do what is asked with the mark register; return the exit status."""
    if options.correct or options.erase or options.explain or options.export:
        return _with_register(options, tell)
    if options.without_isolation:
        tell_error(_UNPROTECTED)
    learners = read_class_list(options.class_list)
    if options.late_keeps < 100 and not (options.due or any(learner.due for learner in learners)):
        raise MarkingError("--late-keeps needs --due, or a column due in the class list: without them nothing is late.")
    out = options.out or options.folder.with_name(f"{options.folder.resolve().name}-marks")
    spare_others(out)
    marking = Marking(
        learners=learners,
        key=read_key(options.key),
        allowance=Allowance(seconds=options.time_limit),
        isolated=not options.without_isolation,
        due=_moment(options.due),
        late_share=options.late_keeps / 100,
        again=options.again,
        cluster=Cluster(address=options.scheduler, certificates=options.certificates) if options.scheduler else None,
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


def _moment(text: str | None) -> datetime | None:
    try:
        return read_moment(text) if text else None
    except ValueError:
        return None


def _bar() -> Progress:
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=Console(stderr=True))


def _row(sheet: MarkedSheet) -> tuple[str, ...]:
    """Return a line for the terminal; which answers are not right stands in marks.csv."""
    short = [answer for answer in sheet.answers if answer.mark < answer.out_of]
    left_out = sum(answer.verdict.outcome == "unanswered" for answer in short)
    counts = [str(number or "") for number in (len(short) - left_out, left_out)]
    return sheet.learner, sheet.sheet, f"{sheet.mark:g} of {sheet.out_of:g}", *counts, " ".join(sheet.remarks())


def _named(learners: Sequence[str]) -> str:
    return ", ".join(learners[:_MOST_SHOWN]) + (" …" if len(learners) > _MOST_SHOWN else "")


def _tell_result(result: Result, out: Path, tell: Tell) -> None:
    tally = result.tally
    if 0 < tally.hand_ins <= _MOST_SHOWN:
        table = Table("Learner", "Sheet", "Mark", "Not right", "Left out", "Remarks")
        with Register(out / REGISTER) as register:
            for sheet in register.counted():
                table.add_row(*map(escape, _row(sheet)))
        Console().print(table)
    for path, reason in tally.unread[:_MOST_SHOWN]:
        tell(f"Not marked: {path}: {reason}.")
    if len(tally.unread) > _MOST_SHOWN:
        tell(f"And {len(tally.unread) - _MOST_SHOWN} more files, in not-marked.csv.")
    if tally.missing:
        tell(f"Nothing from: {_named(tally.missing)}.")
    if tally.unlisted:
        tell(f"Counted too, though not in the class list: {_named(tally.unlisted)}. Who has left goes with --erase.")
    if tally.other_numbers:
        tell(
            f"Look again: {count_of(tally.other_numbers, 'sheet shows', 'sheets show')} other numbers than key and "
            "class list draw. Is it the key that they were made with, and the group? With the right ones, mark --again."
        )
    if result.other_due:
        tell(
            f"{count_of(result.other_due, 'sheet is', 'sheets are')} still late, or not, by an earlier "
            "due time or --late-keeps. To go by those of now, add --again."
        )
    before = f", {count_of(result.before, 'was', 'were')} marked before" if result.before else ""
    report = f"The class report is {out / 'class.html'}; tables and comment pages lie beside it."
    tell(f"Marked {count_of(result.marked, 'sheet')}{before}. {report}")


# --- with the mark register -----------------------------------------------------------------------


def _with_register(options: argparse.Namespace, tell: Tell) -> int:
    out: Path = options.out
    if not (out / REGISTER).exists():
        raise MarkingError(f"There is no mark register in {out}. Name the folder that labkit mark wrote.")
    with Register(out / REGISTER) as register:
        if options.correct:
            _correct(register, options.correct, tell)
        if options.erase:
            _erase(register, out, options.erase, tell)
        if options.correct or options.erase:
            write_results(register, out)
        if options.explain:
            _explain(register, options.explain, tell)
        if options.export:
            export(register, options.export)
            tell(f"Wrote {options.export}.")
    return 0


def _correct(register: Register, given: Sequence[str], tell: Tell) -> None:
    learner, sheet, question, mark, reason = given
    back = mark.strip().casefold() == "rule"
    try:
        number = None if back else float(mark.replace(",", "."))
    except ValueError:
        raise MarkingError(f"mark must be a number, or 'rule' to take a correction back; got {mark!r}.") from None
    register.correct(learner=learner, sheet=sheet, question=question, mark=number, reason=reason)
    if number is None:
        tell(f"{question!r} of {learner} has the mark of its rule again.")
    else:
        tell(f"Set {question!r} of {learner} to {number:g}. It stands when the sheets are marked again.")


def _erase(register: Register, out: Path, learner: str, tell: Tell) -> None:
    before = {learner, *register.missing()}
    number = register.erase(learner)
    if not number and not comment_path(out, learner).exists():
        raise MarkingError(f"The mark register holds nothing of {learner!r}. Write the id as the class list does.")
    forget_pages(out, learner)
    tell(f"Erased {count_of(number, 'hand-in')} of {learner}.")
    tell("Delete their files and exports too, or they are marked again.")
    if bereft := sorted({*register.missing()} - before):
        tell(f"Nothing is left of {_named(bereft)} either, of the same pair.")


def _explain(register: Register, given: Sequence[str], tell: Tell) -> None:
    learner, sheet, *words = (*given, "")
    question = " ".join(words).strip()  # a title, whether or not it stood between quotation marks
    found = False
    for marked in register.counted(learner):
        answers = [answer for answer in marked.answers if not question or answer.question == question]
        if (sheet and marked.sheet != sheet) or not answers:
            continue
        found = True
        tell(f"{marked.learner}, {marked.sheet}: {marked.mark:g} of {marked.out_of:g}")
        tell(f"  From {marked.path}, changed {marked.changed or 'at a time that is not known'}.")
        tell(f"  Bank {marked.bank}; marked {marked.run.begun} by labkit {marked.run.labkit}, {marked.run.isolation}.")
        for remark in marked.remarks():
            tell(f"  {remark}")
        for answer in answers:
            tell("\n".join(map(printable, explanation(answer).splitlines())))
    if not found:
        named = " ".join(word for word in (learner, sheet, question) if word)
        raise MarkingError(f"Nothing of {named!r} is marked. Write id, sheet and title as marks.csv does.")
