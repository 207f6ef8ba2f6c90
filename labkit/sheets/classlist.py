"""The class list: who gets a sheet. Ids are enough; names are not needed, and not put on any sheet."""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from labkit.errors import SheetError

__all__ = ["Learner", "file_name", "read_class_list"]


class Learner(NamedTuple):
    """One line of a class list."""

    id: str
    group: str = ""


def read_class_list(path: Path) -> list[Learner]:
    """Return the learners of a CSV file with a column ``id`` and, if there is one, a column ``group``.

    Reads commas, semicolons and tabs, with or without the mark that spreadsheets put before UTF-8.

    Raises
    ------
    SheetError
        Names the line and what to mend.
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        msg = f"{path} is no UTF-8 text. Save the class list as CSV with UTF-8."
        raise SheetError(msg) from None
    lines = text.splitlines()
    if not any(line.strip() for line in lines):
        msg = f"{path} is empty. Write a line with id,group and below it a line for each learner."
        raise SheetError(msg)
    rows = csv.reader(lines, delimiter=max(",;\t", key=lines[0].count))
    names = [name.strip().casefold() for name in next(rows)]
    if "id" not in names:
        msg = f"{path} has no column 'id'. Its first line has: {', '.join(names)}. Write id,group there."
        raise SheetError(msg)
    numbered = [
        (rows.line_num, dict(zip(names, row, strict=False))) for row in rows if any(cell.strip() for cell in row)
    ]
    learners = _checked(path, numbered)
    if not learners:
        msg = f"{path} lists nobody. Write a line for each learner below the first."
        raise SheetError(msg)
    return learners


def _checked(path: Path, rows: Iterable[tuple[int, dict[str, str]]]) -> list[Learner]:
    learners: list[Learner] = []
    seen: dict[str, int] = {}
    for line, row in rows:
        learner = Learner(*(unicodedata.normalize("NFC", row.get(name, "")).strip() for name in ("id", "group")))
        if not learner.id or len(learner.id) > 80 or not (learner.id + learner.group).isprintable():
            msg = f"{path}, line {line}: {learner.id[:80]!r} is no id. Give each learner a short one."
            raise SheetError(msg)
        name = file_name(learner.id)
        if name in seen:
            msg = f"{path}, line {line}: the id {learner.id!r} is on line {seen[name]} already. Each needs its own."
            raise SheetError(msg)
        seen[name] = line
        learners.append(learner)
    return learners


def file_name(learner: str) -> str:
    """Return an id as every file system can hold it; ids that differ only in capitals become one.

    >>> file_name("Amber 17"), file_name("../x")
    ('amber_17', '_x')
    """
    return re.sub(r"[^\w-]+", "_", learner.casefold())
