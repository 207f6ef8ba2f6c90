"""What the teacher and the learners get: tables, comment pages and the class report, written from the mark register.

The register is gone through once, one learner at a time, so that a large class takes no more memory than a small one.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from itertools import groupby
from pathlib import Path

from labkit.errors import MarkingError
from labkit.marking.register import Register
from labkit.reports.classroom import class_page
from labkit.reports.comments import comment_page
from labkit.reports.marks import ANSWERS_HEADER, MARKS_HEADER, MarkedSheet, answers_rows, marks_row, missing_row
from labkit.reports.tables import Sheetful, csv_lines, workbook
from labkit.reports.tally import ClassTally
from labkit.sheets.classlist import file_name
from labkit.sheets.whole import DRAFT, whole_file

__all__ = ["REGISTER", "comment_path", "export", "forget_pages", "spare_others", "write_results"]

#: The mark register's file, in the folder of marks.
REGISTER = "marks.sqlite"


#: All that is written anew beside the comment pages.
_TABLES = ("marks.csv", "answers.csv", "not-marked.csv", "class.html")


def spare_others(out: Path) -> None:
    """Refuse a folder without a mark register whose files would be written over.

    Raises
    ------
    MarkingError
        When one of them has a name that a table or the class report will have.
    """
    there = next((name for name in _TABLES if (out / name).exists()), "")
    if there and not (out / REGISTER).exists():
        raise MarkingError(f"{out / there} is there already, and no mark register beside it. Name another --out.")


def write_results(register: Register, out: Path) -> ClassTally:
    """Write all tables and pages anew from what stands in the register, and return what was counted on the way."""
    tally = ClassTally(
        missing=tuple(register.missing()), unread=tuple(register.unread()), unlisted=tuple(register.unlisted())
    )
    (out / "comments").mkdir(exist_ok=True)
    with ExitStack() as files:
        marks = files.enter_context(whole_file(out / "marks.csv"))
        answers = files.enter_context(whole_file(out / "answers.csv"))
        marks.writelines(csv_lines(MARKS_HEADER, ()))
        answers.writelines(csv_lines(ANSWERS_HEADER, ()))
        for learner, sheets in groupby(register.counted(), key=lambda sheet: sheet.learner):
            own = tuple(sheets)
            marks.writelines(csv_lines((), map(marks_row, own)))
            answers.writelines(csv_lines((), _answers(own)))
            with whole_file(comment_path(out, learner)) as comments:
                comments.write(comment_page(learner, own))
            for sheet in own:
                tally.add(sheet)
        marks.writelines(csv_lines((), map(missing_row, tally.missing)))
    for learner in tally.missing:  # a page from before would show what was erased: of a pair it is the other's too
        comment_path(out, learner).unlink(missing_ok=True)
    with whole_file(out / "not-marked.csv") as unread:
        unread.writelines(csv_lines(("file", "reason"), tally.unread))
    with whole_file(out / "class.html") as page:
        page.write(class_page(tally))
    return tally


def _answers(sheets: tuple[MarkedSheet, ...]) -> Iterator[tuple[str, ...]]:
    return (row for sheet in sheets for row in answers_rows(sheet))


def comment_path(out: Path, learner: str) -> Path:
    """Return where a learner's comment page lies."""
    return out / "comments" / f"{file_name(learner)}.html"


def forget_pages(out: Path, learner: str) -> None:
    """Delete a learner's comment page, and whatever a run that was killed has left half written."""
    comment_path(out, learner).unlink(missing_ok=True)
    for folder in (out, out / "comments"):
        for draft in folder.glob(f".*{DRAFT}*"):
            draft.unlink(missing_ok=True)


def export(register: Register, path: Path) -> None:
    """Write all answers with their marks to one file: a spreadsheet (.xlsx) with two sheets, or CSV.

    Raises
    ------
    MarkingError
        When the name ends in neither, or is taken, or a spreadsheet cannot hold so much.
    """
    if path.exists():
        raise MarkingError(f"{path} is there already. Name another file, so that nothing is lost.")
    everything = (row for sheet in register.counted() for row in answers_rows(sheet))
    if path.suffix.casefold() == ".csv":
        with whole_file(path) as file:
            file.writelines(csv_lines(ANSWERS_HEADER, everything))
    elif path.suffix.casefold() == ".xlsx":
        marks = [*map(marks_row, register.counted()), *map(missing_row, register.missing())]
        book = workbook({"marks": Sheetful(MARKS_HEADER, marks), "answers": Sheetful(ANSWERS_HEADER, everything)})
        with whole_file(path, "wb") as file:
            file.write(book)
    else:
        raise MarkingError(f"An export is a .csv or an .xlsx file; got {path.name!r}.")
