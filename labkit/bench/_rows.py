"""The rows below one header, as arrays: quickly where they are plain numbers, cell by cell where they are not."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit.bench._layout import Heading
from labkit.errors import UnitError
from labkit.units import convertible, parse_quantity

__all__ = ["Fault", "Rows", "read_rows", "split_cells"]

_CHUNK = 4096
_PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")


class Fault(NamedTuple):
    """A row that was not read: its index among the rows, the header cell, what it holds and what it should."""

    row: int
    column: str
    read: str
    expected: str


class Rows(NamedTuple):
    """Values of the wanted columns, the row each came from, one step of the last digit, and the rows not read."""

    values: NDArray[np.float64]  # shape (readings, columns)
    row: NDArray[np.int64]
    step: list[float]
    faults: list[Fault]


def split_cells(line: str, mark: str) -> list[str]:
    """Return the cells of one line without spacing and without empty cells at its end.

    >>> split_cells('1; "0,41" ; 148;;', ";")
    ['1', '0,41', '148']
    """
    try:
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])]
    except csv.Error:  # a cell longer than the reader takes, or a stray quotation mark
        cells = [cell.strip() for cell in line.split(mark)]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _decimals(text: str) -> float:
    """Return one step of the last digit of a number's text.

    >>> _decimals("0.412"), _decimals("148"), _decimals("1.20e-3")
    (0.001, 1.0, 1e-05)
    """
    digits, _, power = text.lower().partition("e")
    return float(f"1e{int(power or 0) - len(digits.partition('.')[2])}")


def _steps(lines: Sequence[str], mark: str, wanted: Sequence[int]) -> list[float]:
    """Return the finest last digit of each wanted column, from the first and last rows."""
    finest = [np.inf] * len(wanted)
    for line in (*lines[:500], *lines[-100:]):
        cells = split_cells(line, mark)
        for place, index in enumerate(wanted):
            text = cells[index] if index < len(cells) else ""
            text = text.replace(",", ".") if mark != "," else text
            if _PLAIN_NUMBER.fullmatch(text):
                finest[place] = min(finest[place], _decimals(text))
    return [0.0 if np.isinf(step) else step for step in finest]


class _Cells:
    """Reads one row cell by cell."""

    def __init__(self, headings: Sequence[Heading], wanted: Sequence[int], mark: str, labels: dict[str, float]) -> None:
        self._headings = headings
        self._wanted = wanted
        self._mark = mark
        self._labels = labels

    def read(self, line: str, row: int) -> list[float] | Fault | None:
        """Return the values of one row, what is wrong with it, or ``None`` where nothing is filled in yet."""
        cells = split_cells(line, self._mark)
        if len(cells) > len(self._headings):
            hint = "; decimal commas need semicolons between the columns" if self._mark == "," else ""
            return Fault(row, "", f"{len(cells)} cells", f"{len(self._headings)} as in the header{hint}")
        if not any(cells[index] for index in self._wanted if index < len(cells) and self._headings[index].unit):
            return None
        values = []
        for index in self._wanted:
            text, heading = cells[index] if index < len(cells) else "", self._headings[index]
            number = self._number(text, heading)
            if isinstance(number, str):
                return Fault(row, heading.text, _shortened(text), number)
            values.append(number)
        return values

    def _number(self, text: str, heading: Heading) -> float | str:
        """Return the number in the heading's unit, or what was expected."""
        if not text:
            return "a number"
        if heading.unit is None:  # a position is a label
            plain = _PLAIN_NUMBER.fullmatch(text)
            return float(text) if plain else self._labels.setdefault(text.lower(), -1.0 - len(self._labels))
        point = text.replace(",", ".") if self._mark != "," else text
        if _PLAIN_NUMBER.fullmatch(point):
            number = float(point)
            return number if np.isfinite(number) else "a number of a sensible size"
        try:
            quantity = parse_quantity(point)
            bare = quantity.dimensionless and str(quantity.units) == "dimensionless"
            if not bare and not convertible(quantity, str(heading.unit)):
                return f"a number in {heading.unit:~P}"
            return float(quantity.magnitude if bare else quantity.to(heading.unit).magnitude)
        except UnitError:
            return f"a number in {heading.unit:~P}"


def _shortened(text: str) -> str:
    return "an empty cell" if not text else repr(text if len(text) <= 30 else text[:27] + "…")


def _quick(lines: list[str], mark: str, wanted: Sequence[int], width: int) -> NDArray[np.float64] | None:
    """Return plain finite numbers at numpy's speed, or ``None`` when some row needs a closer look."""
    if not lines:
        return np.empty((0, len(wanted)))
    if mark != ",":
        lines = [line.replace(",", ".") for line in lines]
    try:
        values = np.loadtxt(lines, delimiter=mark, ndmin=2, comments=None)
    except ValueError:
        return None
    if values.shape != (len(lines), width) or not np.isfinite(values[:, list(wanted)]).all():
        return None
    chosen: NDArray[np.float64] = values[:, list(wanted)]
    return chosen


def read_rows(
    lines: list[str], headings: Sequence[Heading], wanted: Sequence[int], mark: str, labels: dict[str, float]
) -> Rows:
    """Return the readings below one header.

    Parameters
    ----------
    lines : list of str
        Rows only: no blank lines, comments or notes among them.
    headings : sequence of Heading
        All cells of the header.
    wanted : sequence of int
        Which of them to read.
    mark : str
        What parts the cells. Where it is no comma, a comma is a decimal sign.
    labels : dict
        Names of rotor positions met so far, and the number that stands for each; added to.
    """
    everything = _quick(lines, mark, wanted, len(headings))
    if everything is not None:
        return Rows(everything, np.arange(len(lines)), _steps(lines, mark, wanted), [])
    cells = _Cells(headings, wanted, mark, labels)
    blocks, kept, faults = [], [], []
    for start in range(0, len(lines), _CHUNK):
        some = lines[start : start + _CHUNK]
        block = _quick(some, mark, wanted, len(headings))
        if block is not None:
            blocks.append(block)
            kept.append(np.arange(start, start + len(some)))
            continue
        read = [cells.read(line, start + offset) for offset, line in enumerate(some)]
        good = [row for row in read if isinstance(row, list)]
        faults += [row for row in read if isinstance(row, Fault)]
        blocks.append(np.array(good, dtype=float).reshape(len(good), len(wanted)))
        kept.append(np.array([start + i for i, row in enumerate(read) if isinstance(row, list)], dtype=np.int64))
    return Rows(np.concatenate(blocks), np.concatenate(kept), _steps(lines, mark, wanted), faults)
