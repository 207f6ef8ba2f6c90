"""The class list: who gets a sheet. Ids are enough; names are not needed, and not put on any sheet."""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import NamedTuple

from labkit.bench._workbook import sheets_of_workbook
from labkit.errors import BenchError, SheetError
from labkit.sheets.keys import is_key

__all__ = ["Learner", "file_name", "plain_name", "read_class_list", "read_moment"]


_DEVICE = re.compile(r"con|prn|aux|nul|(com|lpt)[\d¹²³]")  #: on Windows no file's name, whatever ending follows
_SHOWN = 30
_LONGEST = 80  #: characters of an id
_LONGEST_NAME = 120  #: bytes of it in a file's name, which may have 255 in all


class Learner(NamedTuple):
    """One line of a class list."""

    id: str
    group: str = ""
    #: Learners of one group with the same word here work together: what one hands in counts for each.
    pair: str = ""
    #: When this learner's sheets are due, on the teacher's own clock, where that is another time than everybody's.
    due: datetime | None = None


def read_moment(text: str) -> datetime:
    """Return a date and time as a person or a spreadsheet writes it, on this machine's clock.

    A date alone is the end of that day; so is one with midnight to the second, as spreadsheets hold a date alone.

    Raises
    ------
    ValueError
        When it is none, or could be two: 4/5/2026.

    Examples
    --------
    >>> print(read_moment("2026-11-30T18:00"), read_moment("4.5.2026 18:00"), read_moment("2026-11-30"), sep=", ")
    2026-11-30 18:00:00, 2026-05-04 18:00:00, 2026-11-30 23:59:59
    """
    text = re.sub(r"[ T](\d:)", r" 0\1", " ".join(text.split()))
    if dotted := re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})( .*)?", text):
        day, month, year, rest = dotted.groups()
        text = f"{year}-{month:>02}-{day:>02}{rest or ''}"
    try:
        return datetime.combine(date.fromisoformat(text.removesuffix(" 00:00:00")), time(23, 59, 59))
    except ValueError:
        pass
    try:
        return datetime.fromisoformat(text).astimezone().replace(tzinfo=None)
    except (OverflowError, OSError) as error:  # before or after what this machine's clock can say
        raise ValueError(str(error)) from error


def read_class_list(path: Path) -> list[Learner]:
    """Return the learners of a class list: a column ``id`` and, if there are such, ``group``, ``pair`` and ``due``.

    Reads the first sheet of a spreadsheet (.xlsx), and text with commas, semicolons or tabs,
    with or without the mark that spreadsheets put before UTF-8. Other columns are passed over.

    Raises
    ------
    SheetError
        Names the line and what to mend.
    """
    path = Path(path)
    rows = iter(_rows_of_workbook(path) if path.suffix.casefold() == ".xlsx" else _rows_of_text(path))
    heading = next((row for _, row in rows), [])
    names = [name.strip().casefold() for name in heading]
    if not any(names):
        raise SheetError(f"{path} is empty. Write a line with id,group and below it a line for each learner.")
    if "id" not in names:
        if is_key(heading[0]):  # which no message shows
            raise SheetError(f"{path} is a key file. Name the class list here, and the key after --key.")
        shown = ", ".join(names)
        shown = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]}…"
        raise SheetError(f"{path} has no column 'id'. Its first line has: {shown}. Write id,group there.")
    if twice := next((name for name in Learner._fields if names.count(name) > 1), ""):
        raise SheetError(f"{path} has two columns {twice!r}. Give the one that does not count another name.")
    learners = _checked(path, ((line, dict(zip(names, row, strict=False))) for line, row in rows))
    if not learners:
        raise SheetError(f"{path} lists nobody. Write a line for each learner below the first.")
    return learners


def _rows_of_text(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Give each line that is not empty, with its number."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise SheetError(f"{path} is no UTF-8 text. Save the class list as CSV with UTF-8, or as .xlsx.") from None
    lines = text.splitlines()
    first = next(filter(str.strip, lines), "")
    rows = csv.reader(lines, delimiter=max(",;\t", key=first.count), strict=True)
    try:
        yield from ((rows.line_num, row) for row in rows if any(cell.strip() for cell in row))
    except csv.Error as error:
        raise SheetError(
            f"{path}, line {rows.line_num}: {error}. Look for a quotation mark that stands alone."
        ) from None


def _rows_of_workbook(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Give each row of the first sheet that is not empty, with its number."""
    path.stat()  # a missing file is told as for text
    try:
        (_, cells), *_ = sheets_of_workbook(path)
    except BenchError as error:
        raise SheetError(str(error)) from error
    yield from ((line, row) for line, row in enumerate(cells, 1) if any(cell.strip() for cell in row))


def _checked(path: Path, rows: Iterable[tuple[int, dict[str, str]]]) -> list[Learner]:
    learners: list[Learner] = []
    seen: dict[str, tuple[int, str]] = {}
    for line, row in rows:
        texts = {name: unicodedata.normalize("NFC", row.get(name, "")).strip() for name in Learner._fields}
        due = _due(texts.pop("due"), f"{path}, line {line}")
        learner = Learner(**texts, due=due)
        name = plain_name(learner.id)
        short = len(learner.id) <= _LONGEST and len(name.encode()) <= _LONGEST_NAME
        if not name or not short or not "".join(texts.values()).isprintable():
            shown = learner.id[:_LONGEST]
            raise SheetError(
                f"{path}, line {line}: {shown!r} is no id. Give each learner a short one with letters or digits."
            )
        if name in seen:
            before, same = seen[name]
            clash = f"is told from {same!r}, on line {before}, by signs alone"
            if learner.id.casefold() == same.casefold():
                clash = f"is on line {before} already"
            raise SheetError(f"{path}, line {line}: the id {learner.id!r} {clash}. Each needs its own.")
        seen[name] = line, learner.id
        learners.append(learner)
    return learners


def _due(text: str, where: str) -> datetime | None:
    if not text:
        return None
    try:
        return read_moment(text)
    except ValueError:
        raise SheetError(
            f"{where}: due must be a date and time such as 2026-11-30T18:00 or 30.11.2026 18:00, "
            f"or a date alone for the end of that day; got {text[:40]!r}."
        ) from None


def plain_name(name: str) -> str:
    """Return a name without its capitals and with one sign between its words, however a file system wrote it.

    >>> plain_name("Amber-17"), plain_name("amber 17 "), plain_name("--")
    ('amber_17', 'amber_17', '')
    """
    return re.sub(r"[\W_]+", "_", unicodedata.normalize("NFC", name.casefold())).strip("_")


def file_name(learner: str) -> str:
    """Return an id as every file system can hold it; ids that differ only in capitals become one.

    >>> file_name("Amber 17"), file_name("../x"), file_name("Con")
    ('amber_17', '_x', 'con_')
    """
    name = re.sub(r"[^\w-]+", "_", learner.casefold())
    return f"{name}_" if _DEVICE.fullmatch(name) else name
