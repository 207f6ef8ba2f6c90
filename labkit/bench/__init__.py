"""Records of bench measurements, and files of them with units in the header.

A bench file is text with one or more tables, as a spreadsheet or an editor writes it::

    # Desk wind tunnel fan, invented readings
    motor: fan motor of the desk wind tunnel
    voltmeter: 0.5 % + 2 counts
    ammeter: 1 % + 3 counts, resolution 1 mA
    tachometer: 0.05 % + 1 count

    table: locked rotor
    position, voltage [V], current [mA]
    1, 0.412, 148
    1, 0.655, 232

    table: free running
    voltage [V], current [mA], speed [rpm]
    3.00, 96, 4830

- A line ``table: NAME`` stands before each header; the names are in ``TABLES``.
- The header gives each column's name and its unit in brackets; order is free, and columns of other names are left out.
- ``#`` begins a comment, ``name: value`` is a note; blank lines mean nothing.
- Columns are parted by semicolons, tabs or commas. Decimal commas need semicolons or tabs.
- What a meter's manual says of its accuracy, ± % of reading ± counts, is a note under the meter's name.
  A count is one step of the last digit written, unless a ``resolution`` is given.
- A column ``shunt voltage`` is a current, once the note ``shunt: 10.0 ohm, 1 %`` tells the resistor that it is across.
- A note without a value and a row without a reading count as not filled in yet.

A row that cannot be read is left out and listed in ``BenchRecord.problems``; nothing is dropped silently.
"""

from __future__ import annotations

from labkit.bench._layout import TABLES
from labkit.bench._meters import Meter
from labkit.bench._problem import Problem
from labkit.bench._procedures import Procedure, SheetTable, procedure, procedures
from labkit.bench._reading import read_bench, read_bench_text
from labkit.bench._record import BenchRecord, bench_record
from labkit.bench._shunt import Shunt
from labkit.bench._table import BenchTable
from labkit.bench.demo import demo_bench
from labkit.bench.practice import practice_bench

__all__ = [
    "TABLES",
    "BenchRecord",
    "BenchTable",
    "Meter",
    "Problem",
    "Procedure",
    "SheetTable",
    "Shunt",
    "bench_record",
    "demo_bench",
    "practice_bench",
    "procedure",
    "procedures",
    "read_bench",
    "read_bench_text",
]
