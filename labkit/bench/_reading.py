"""A bench file to a record: find the tables, read what can be read, list what cannot."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from pint.facets.plain import PlainUnit

from labkit.bench._layout import SHUNT, TABLES, Heading, find_table, guess_table, read_heading
from labkit.bench._meters import METERS, Meter
from labkit.bench._problem import Problem
from labkit.bench._record import BenchRecord, bench_record, checked_meter
from labkit.bench._rows import Fault, read_rows, split_cells
from labkit.bench._shunt import Shunt
from labkit.bench._table import BenchTable
from labkit.bench._text import lines_of
from labkit.bench._workbook import lines_of_workbook
from labkit.errors import BenchError
from labkit.units import Quantity

__all__ = ["read_bench", "read_bench_text"]

_NOTE = re.compile(r"(?P<name>[A-Za-z][A-Za-z _-]{0,40}?)\s*:\s*(?P<value>.*)")
_MOST_LISTED = 50


@dataclass
class _Section:
    """The lines that belong to one table, with their numbers in the file."""

    kind: str | None
    title: str
    number: int
    lines: list[str] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)


def _sections(lines: list[str]) -> tuple[list[_Section], list[tuple[int, str, str]]]:
    """Return the tables and the notes (line number, name, value) of a file."""
    sections, notes = [_Section(None, "", 0)], []
    rows, numbers = sections[-1].lines, sections[-1].numbers
    for number, line in enumerate(lines, start=1):
        if "0" <= line < ":":  # it begins with a digit: a row, as nearly all lines of a log are
            rows.append(line)
            numbers.append(number)
            continue
        text = line.lstrip(' \t"')
        if not text or text[0] == "#" or not text.strip(' \t,;"'):
            continue
        if text[0].isalpha() and (match := _NOTE.match(text)) and "[" not in match["name"]:
            name, value = match["name"].strip().lower(), match["value"].strip(' \t,;"')
            if not value and name != "table":
                continue  # a line of the sheet that is not filled in
            if name == "table":
                sections.append(_Section(find_table(value), value, number))
                rows, numbers = sections[-1].lines, sections[-1].numbers
            else:
                notes.append((number, name, value))
            continue
        if text.startswith("sep=") and not rows:
            continue  # what a spreadsheet writes to tell itself the separator
        rows.append(line)
        numbers.append(number)
    return [section for section in sections if section.lines or section.number], notes


class _Reader:
    """Reads the sections of one file, and collects what goes wrong."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.problems: list[Problem] = []
        self.labels: dict[str, float] = {}
        self.shunt: Shunt | None = None

    def problem(self, line: int | None, column: str, read: str, expected: str, consequence: str) -> None:
        self.problems.append(
            Problem(source=self.source, line=line, column=column, read=read, expected=expected, consequence=consequence)
        )

    def meters(self, notes: list[tuple[int, str, str]]) -> tuple[dict[str, Meter], dict[str, str]]:
        """Return the meters and the other notes."""
        meters: dict[str, Meter] = {}
        others: dict[str, str] = {}
        for number, name, value in notes:
            if name not in METERS:
                others[name] = value
                continue
            try:
                meters[name] = checked_meter(Meter.from_text(value), METERS[name])
            except BenchError as error:
                self.problem(number, "", repr(value), f"the accuracy of the {name}", f"It is left out: {error}")
        return meters, others

    def find_shunt(self, notes: dict[str, str], meters: dict[str, Meter], lines: list[int]) -> None:
        """Read the note ``shunt``, and find how well it tells the current."""
        if "shunt" not in notes:
            return
        try:
            self.shunt = Shunt.from_text(notes["shunt"])
        except BenchError as error:
            self.problem(lines[-1], "", repr(notes["shunt"]), "a resistance such as '10.0 ohm, 1 %'", str(error))
            return
        meter = self.shunt.meter(meters.get("voltmeter"))
        if meter is not None:
            meters.setdefault("ammeter", meter)

    def table(self, section: _Section) -> BenchTable | None:
        """Return the section's table, or ``None`` when nothing in it can be used."""
        if not section.lines:
            self.problem(section.number, "", "no rows", "a header and rows below it", "This table is left out.")
            return None
        header = section.lines[0]
        mark = next((mark for mark in (";", "\t") if mark in header), ",")
        headings = [read_heading(cell) for cell in split_cells(header, mark)]
        kind = self._kind(section, headings)
        if kind is None:
            return None
        wanted = self._wanted(kind, headings, section.numbers[0])
        if wanted is None:
            return None
        rows = read_rows(section.lines[1:], headings, wanted, mark, self.labels)
        self._list_faults(rows.faults, section.numbers[1:])
        if not len(rows.row):
            found = "no usable row" if rows.faults else "no row that is filled in"
            self.problem(section.numbers[0], "", found, f"readings of {kind}", "This table is left out.")
            return None
        columns: dict[str, Quantity] = {}
        step: dict[str, Quantity] = {}
        position = None
        for place, index in enumerate(wanted):
            name, unit = str(headings[index].column), headings[index].unit
            if unit is None:
                position = rows.values[:, place]
                continue
            values, one = Quantity(rows.values[:, place], unit), _step(rows.step[place], unit)
            if name == SHUNT and self.shunt is not None:
                name, values, one = "current", self.shunt.current(values), self.shunt.current(one)
            columns[name], step[name] = values, one
        line = np.array(section.numbers[1:], dtype=np.int64)[rows.row]
        return BenchTable(kind=kind, **columns, position=position, line=line, step=step)

    def _kind(self, section: _Section, headings: list[Heading]) -> str | None:
        if section.kind:
            return section.kind
        if section.title:
            expected = f"one of {', '.join(TABLES)}"
            self.problem(section.number, "", f"table {section.title!r}", expected, "This table is left out.")
            return None
        kind = guess_table({heading.column for heading in headings if heading.column})
        expected = "a line such as 'table: free running' before the header"
        consequence = f"By its columns it is taken as {kind}." if kind else "These lines are left out."
        self.problem(section.numbers[0], "", repr(section.lines[0][:40]), expected, consequence)
        return kind

    def _wanted(self, kind: str, headings: list[Heading], line: int) -> list[int] | None:
        """Return which columns to read, or ``None`` when one that is needed cannot be."""
        layout, usable = TABLES[kind], {}
        useful = {name for group in layout.needs for name in group} | set(layout.may)
        told = {heading.column for heading in headings}
        if self.shunt is not None and SHUNT in told and "current" in useful - told:
            useful.add(SHUNT)
        for index, heading in enumerate(headings):
            if heading.column is None or heading.column not in useful:
                if heading.text:
                    hint = " (a shunt voltage needs the note 'shunt: 10.0 ohm')" if heading.column == SHUNT else ""
                    expected = f"{', '.join(sorted(useful))} for {kind}{hint}"
                    self.problem(line, heading.text, "a column", expected, "It is left out.")
            elif heading.fault:
                self.problem(
                    line, heading.text, repr(heading.text), heading.fault.removeprefix("expected "), "It is left out."
                )
            elif heading.column in usable:
                self.problem(line, heading.text, "a second column of that name", "one", "The first is used.")
            else:
                usable[heading.column] = index
        for group in layout.needs:
            if not usable.keys() & set(group) and not (SHUNT in usable and "current" in group):
                expected = f"a column of {' or '.join(group)} with its unit"
                self.problem(line, "", "no usable one", expected, f"The table of {kind} is left out.")
                return None
        return list(usable.values())

    def _list_faults(self, faults: list[Fault], numbers: list[int]) -> None:
        for fault in faults[:_MOST_LISTED]:
            self.problem(numbers[fault.row], fault.column, fault.read, fault.expected, "This row is left out.")
        if len(faults) > _MOST_LISTED:
            self.problem(None, "", f"{len(faults) - _MOST_LISTED} further bad rows", "numbers", "They are left out.")


def _step(size: float, unit: PlainUnit) -> Quantity:
    """Return one step of the last digit; of degrees, a difference of temperature."""
    return Quantity(size, "delta_degC" if str(unit) == "degree_Celsius" else unit)


def read_bench(path: str | os.PathLike[str]) -> BenchRecord:
    """Return the measurements in a bench file; ``labkit.bench`` shows the layout.

    Parameters
    ----------
    path : path of a text file (CSV, or tabs) or of a spreadsheet (.xlsx, which needs openpyxl)

    Returns
    -------
    BenchRecord
        Rows and tables that cannot be used are left out, and listed in ``problems`` with file, line and column.

    Raises
    ------
    BenchError
        When nothing in the file can be used; the sentence lists why.
    FileNotFoundError, PermissionError, IsADirectoryError
        As for any file.
    """
    if not isinstance(path, str | os.PathLike):
        raise BenchError(f"read_bench.path must be the name of a file; got {path!r}. Write read_bench('my-motor.csv').")
    file = Path(path)
    lines = lines_of_workbook(file) if file.suffix.lower() in (".xlsx", ".xlsm") else lines_of(file)
    return _record(lines, file.name)


def read_bench_text(text: str, source: str = "readings") -> BenchRecord:
    r"""Return the measurements in a text that is laid out as a bench file.

    Raises
    ------
    BenchError
        When nothing in it can be used; the sentence lists why.

    Examples
    --------
    >>> record = read_bench_text("table: generator\nspeed [rpm], voltage [V]\n515, 0.291\n777, 0.437")
    >>> len(record.generator)
    2
    """
    if not isinstance(text, str):
        raise BenchError(f"read_bench_text.text must be text; got {repr(text)[:80]}. For a file, take read_bench.")
    return _record(text.splitlines(), source)


def _record(lines: list[str], source: str) -> BenchRecord:
    reader = _Reader(source)
    sections, notes = _sections(lines)
    meters, others = reader.meters(notes)
    reader.find_shunt(others, meters, [number for number, name, _ in notes if name == "shunt"])
    tables = [table for section in sections if (table := reader.table(section)) is not None]
    record = bench_record(*tables, source=source, meters=meters, notes=others, problems=reader.problems)
    if not (record.tables or record.traces or record.apart):
        reasons = "\n".join(f"- {problem}" for problem in record.problems) or "- no table was found"
        raise BenchError(f"{source} holds no usable reading:\n{reasons}")
    return record
