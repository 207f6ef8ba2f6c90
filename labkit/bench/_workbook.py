"""Spreadsheets (.xlsx): their rows as text, and as the lines that the same sheet saved as CSV would have."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from labkit.bench._layout import find_table
from labkit.errors import BenchError

__all__ = ["lines_of_workbook", "sheets_of_workbook"]


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value).replace("\n", " ").replace("\r", " ")


def sheets_of_workbook(path: Path) -> list[tuple[str, list[list[str]]]]:
    """Return the name of each sheet and its rows, each cell as text.

    Raises
    ------
    BenchError
        When openpyxl is not installed, or the file is no workbook.
    """
    try:
        openpyxl: Any = importlib.import_module("openpyxl")
    except ImportError as error:
        raise BenchError(
            f"{path.name} is a spreadsheet, which needs openpyxl. Save it as CSV, or: pip install openpyxl"
        ) from error
    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        sheets = [
            (str(sheet.title), [[_cell(value) for value in row] for row in sheet.iter_rows(values_only=True)])
            for sheet in book.worksheets
        ]
        book.close()
    except Exception as error:  # openpyxl raises whatever the zip file, the XML or the cell happen to cause
        raise BenchError(f"{path.name} is no spreadsheet that can be read ({error}). Save it as CSV.") from error
    return sheets


def lines_of_workbook(path: Path) -> list[str]:
    """Return each row of each sheet as a line with semicolons; a sheet named after a table needs no ``table:`` line.

    Raises
    ------
    BenchError
        When openpyxl is not installed, or the file is no workbook.
    """
    path.stat()  # a missing file is told as for any other
    lines: list[str] = []
    for title, cells in sheets_of_workbook(path):
        rows = [";".join(cell.replace(";", ",") for cell in row) for row in cells]
        named = find_table(title)
        if named and not any(row.lower().lstrip().startswith("table:") for row in rows):
            rows[:0] = [f"table: {named}"]
        lines += rows
    return lines
