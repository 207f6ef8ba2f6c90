"""Rows as CSV and as a spreadsheet, neither of which takes what a learner typed for a formula."""

from __future__ import annotations

import csv
import importlib
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from labkit.errors import MarkingError

__all__ = ["Sheetful", "csv_lines", "workbook"]

_MOST_ROWS = 1_048_576  #: of one sheet of a spreadsheet
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_NEGATIVE = re.compile(r"-\d[\d.,]*( [^\W\d_]+)?")
_NUMBER = re.compile(r"-?(0|[1-9]\d{0,14})(\.\d+)?")


class Sheetful(NamedTuple):
    """One sheet of a spreadsheet: its first row and those below."""

    header: Sequence[str]
    rows: Iterable[Sequence[str]]


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Give CSV line by line, its header first if there is one, so that any number of rows passes through."""
    if header:
        yield _line(header)
    for row in rows:
        yield _line([_no_formula(cell) for cell in row])


def _line(cells: Sequence[str]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()


def _no_formula(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula; a negative number, with a unit or none, stays as it is."""
    risky = cell.startswith(("=", "+", "@", "\t", "\r")) or (cell.startswith("-") and not _NEGATIVE.fullmatch(cell))
    return f"'{cell}" if risky else cell


def workbook(sheets: Mapping[str, Sheetful]) -> bytes:
    """Return a spreadsheet (.xlsx) with these sheets, numbers as numbers and everything else as text.

    Raises
    ------
    MarkingError
        When openpyxl is not installed, or there are more rows than a spreadsheet holds.
    """
    try:
        openpyxl: Any = importlib.import_module("openpyxl")
        cells: Any = importlib.import_module("openpyxl.cell")
    except ImportError as error:
        raise MarkingError("A spreadsheet needs openpyxl. Name a .csv file, or: pip install openpyxl") from error
    book = openpyxl.Workbook(write_only=True)
    for title, (header, rows) in sheets.items():
        sheet = book.create_sheet(title)
        sheet.freeze_panes = "A2"
        sheet.append(list(header))
        for number, row in enumerate(rows, 2):
            if number > _MOST_ROWS:
                raise MarkingError(f"A spreadsheet holds {_MOST_ROWS:,} rows, and there are more. Name a .csv file.")
            sheet.append([_typed(cells.WriteOnlyCell(sheet), cell) for cell in row])
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _typed(cell: Any, text: str) -> Any:
    if _NUMBER.fullmatch(text):
        cell.value = float(text)
    else:
        cell.value = _NOT_IN_XML.sub("?", text)[:32_767]
        cell.data_type = "s"  # whatever it begins with
    return cell
