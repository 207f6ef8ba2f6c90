"""Spreadsheets (.xlsx), turned into the lines that the same sheet saved as CSV would have."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from labkit.bench._layout import find_table
from labkit.errors import BenchError

__all__ = ["lines_of_workbook"]


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value).replace(";", ",").replace("\n", " ").replace("\r", " ")


def lines_of_workbook(path: Path) -> list[str]:
    """Return each row of each sheet as a line with semicolons; a sheet named after a table needs no ``table:`` line.

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
        lines: list[str] = []
        for sheet in book.worksheets:
            rows = [";".join(_cell(value) for value in row) for row in sheet.iter_rows(values_only=True)]
            named = find_table(str(sheet.title))
            if named and not any(row.lower().lstrip().startswith("table:") for row in rows):
                rows[:0] = [f"table: {named}"]
            lines += rows
        book.close()
    except Exception as error:  # openpyxl raises whatever the zip file, the XML or the cell happen to cause
        raise BenchError(f"{path.name} is no spreadsheet that can be read ({error}). Save it as CSV.") from error
    return lines
