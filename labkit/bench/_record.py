"""What was measured on one motor: its tables, the meters that read them, and what could not be used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from labkit.bench._layout import QUANTITIES, TABLES
from labkit.bench._meters import METERS, Meter
from labkit.bench._problem import Problem
from labkit.bench._table import BenchTable
from labkit.errors import BenchError
from labkit.parts._fields import expect
from labkit.units import Quantity, convertible

__all__ = ["BenchRecord", "bench_record", "checked_meter"]

_MOST_LISTED = 50
#: In coherent SI; no meter on a bench reads more, and one over it is zero.
_LARGEST = 1e12
#: A source is read without a load as well.
_FROM_ZERO = ("source resistance", "pin resistance")


def _size(values: Quantity) -> NDArray[np.float64]:
    return np.asarray(np.abs(values.to_base_units().magnitude), dtype=float)


def _nonsense(table: BenchTable) -> list[tuple[str, NDArray[np.bool_], str]]:
    """Return column, rows that cannot be a reading of that kind, and what was expected."""
    size = {name: _size(getattr(table, name)) for name in table.columns}
    zero = {name: size[name] < 1 / _LARGEST for name in table.columns}
    finite = [(name, ~np.isfinite(getattr(table, name).magnitude), "a finite number") for name in table.columns]
    finite += [(name, size[name] > _LARGEST, "a number of a sensible size") for name in table.columns]
    if TABLES[table.kind].trace or table.kind in _FROM_ZERO:
        return finite
    above = {
        "voltage": "a voltage other than zero",
        "current": "a current other than zero",
        "speed": "a speed other than zero: the shaft must turn",
        "inductance": "an inductance other than zero",
    }
    checks = [(name, zero[name], text) for name, text in above.items() if name in zero]
    if table.voltage is not None and table.current is not None:
        against = np.asarray(table.voltage.magnitude) * np.asarray(table.current.magnitude) < 0
        checks.append(("current", against, "the sign of the voltage: a motor that takes power"))
    return finite + checks


def _checked(table: BenchTable, source: str, problems: list[Problem]) -> BenchTable | None:
    """Return *table* without the rows that cannot be, each of which becomes a problem."""
    bad = np.zeros(len(table), dtype=bool)
    for name, wrong, expected in _nonsense(table):
        fresh = np.flatnonzero(wrong & ~bad)
        for row in fresh[:_MOST_LISTED]:
            read = f"{getattr(table, name)[row]:~P}"
            problems.append(
                Problem(source=source, line=int(table.line[row]), column=name, read=read, expected=expected,
                        consequence="This reading is left out.")
            )  # fmt: skip
        if len(fresh) > _MOST_LISTED:
            more = f"{len(fresh) - _MOST_LISTED} further such rows"
            problems.append(
                Problem(source=source, column=name, read=more, expected=expected, consequence="They are left out.")
            )
        bad |= wrong
    return None if bad.all() else table.rows(~bad) if bad.any() else table


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BenchRecord:
    """All that was measured on one motor; build it with ``read_bench`` or ``bench_record``.

    Parameters
    ----------
    source : str
        The name of the file, without its folder.
    locked_rotor, free_running, loaded_running, generator : BenchTable, optional
    traces : tuple of BenchTable
        Readings against time: current rise, spin up, coast down.
    apart : tuple of BenchTable
        Readings that are computed by themselves: of supply, pin, transistor, diode, starting voltage, temperature.
    meters : mapping of quantity name to Meter
    notes : mapping of str to str
        The ``name: value`` lines.
    problems : tuple of Problem
        What was left out or doubtful, each with its place and reason.
    """

    source: str
    locked_rotor: BenchTable | None = None
    free_running: BenchTable | None = None
    loaded_running: BenchTable | None = None
    generator: BenchTable | None = None
    traces: tuple[BenchTable, ...] = ()
    apart: tuple[BenchTable, ...] = ()
    meters: Mapping[str, Meter] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    @property
    def tables(self) -> tuple[BenchTable, ...]:
        """The tables of steady readings that are there."""
        tables = (self.locked_rotor, self.free_running, self.loaded_running, self.generator)
        return tuple(table for table in tables if table is not None)


def _join(tables: Sequence[BenchTable], source: str, problems: list[Problem]) -> BenchTable:
    """Return tables of one kind as one, in the units of the first; what not all of them have becomes a problem."""
    first = tables[0]
    if len(tables) == 1:
        return first
    needs = TABLES[first.kind].needs
    shared = [name for name in first.columns if all(name in table.columns for table in tables)]
    if not all(set(group) & set(shared) for group in needs):
        problems += [_unlike(table, first, source, "This table is left out.") for table in tables[1:]]
        return first
    problems += [
        _unlike(table, first, source, f"Only {', '.join(shared)} are used, which both have.")
        for table in tables[1:]
        if set(table.columns) != set(first.columns)
    ]
    joined, steps = {}, {}
    for name in shared:
        unit = getattr(first, name).units
        joined[name] = Quantity(np.concatenate([getattr(t, name).to(unit).magnitude for t in tables]), unit)
        steps[name] = max((t.step[name].to(unit) for t in tables), key=lambda step: step.magnitude)
    position = None
    if any(table.position is not None for table in tables):
        highest, labels = 0.0, []
        for table in tables:  # a table without positions: each of its readings is one of its own
            label = np.arange(len(table)) + highest + 1.0 if table.position is None else table.position
            highest = max(highest, float(np.max(label, initial=0.0)))
            labels.append(label)
        position = np.concatenate(labels)
    line = np.concatenate([table.line for table in tables])
    return BenchTable(kind=first.kind, **joined, position=position, line=line, step=steps)


def _unlike(table: BenchTable, first: BenchTable, source: str, consequence: str) -> Problem:
    return Problem(
        source=source, line=int(table.line[0]), read=f"a table of {table.kind} with {', '.join(table.columns)}",
        expected=f"{', '.join(first.columns)}, as in the first of them", consequence=consequence,
    )  # fmt: skip


def bench_record(
    *tables: BenchTable,
    source: str = "bench record",
    meters: Mapping[str, Meter | str] | None = None,
    notes: Mapping[str, str] | None = None,
    problems: Sequence[Problem] = (),
) -> BenchRecord:
    """Return a record of *tables*, without the readings that cannot be, which are listed in its problems.

    Parameters
    ----------
    *tables : BenchTable
        Tables of one kind are joined, traces in time are kept apart.
    source : str
        A name for the record.
    meters : mapping, optional
        ``"voltmeter"``, ``"ammeter"``, ``"tachometer"`` or ``"torque meter"`` to its accuracy.
    notes : mapping, optional
    problems : sequence of Problem
        What is known to be wrong already.

    Raises
    ------
    BenchError
        When a meter is not known, or its resolution has a unit of another kind.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> held = BenchTable(kind="locked rotor", voltage=Q_([0.41, 0.83], "V"), current=Q_([148, 0], "mA"))
    >>> record = bench_record(held, meters={"voltmeter": "0.5 % + 2 counts"})
    >>> print(record.problems[0])
    bench record, line 2, column 'current': read 0.0 mA, expected a current other than zero. This reading is left out.
    """
    for name, given in (("meters", meters), ("notes", notes)):
        if given is not None and not isinstance(given, Mapping):
            raise BenchError(
                f"bench_record.{name} must map names to text; got {given!r}. Write {{'voltmeter': '1 %'}}."
            )
    listed, known = list(problems), {}
    for name, meter in (meters or {}).items():
        if name not in METERS:
            raise BenchError(f"{name!r} is no meter here. Use one of {', '.join(METERS)}.")
        known[METERS[name]] = checked_meter(Meter.from_text(meter) if isinstance(meter, str) else meter, METERS[name])
    usable: dict[str, list[BenchTable]] = {}
    for table in tables:
        expect(table, BenchTable, "bench_record.tables")
        kept = _checked(table, source, listed)
        if kept is not None:
            usable.setdefault(table.kind, []).append(kept)
    joined = {kind: found if TABLES[kind].trace else [_join(found, source, listed)] for kind, found in usable.items()}
    every = [(TABLES[kind], table) for kind, found in joined.items() for table in found]
    steady = {t.kind.replace(" ", "_"): t for layout, t in every if not layout.trace and not layout.apart}
    return BenchRecord(
        source=source,
        **steady,
        traces=tuple(table for layout, table in every if layout.trace and not layout.apart),
        apart=tuple(table for layout, table in every if layout.apart),
        meters=known,
        notes=dict(notes or {}),
        problems=tuple(listed),
    )


def checked_meter(meter: Meter, quantity: str) -> Meter:
    """Return *meter* if it can read *quantity*.

    Raises
    ------
    BenchError
        When its resolution is in a unit of another kind.
    """
    if not isinstance(meter, Meter):
        raise BenchError(f"A meter is told by its accuracy, such as '0.5 % + 2 counts'; got {meter!r}.")
    if meter.resolution is not None and not convertible(meter.resolution, QUANTITIES[quantity]):
        unit = QUANTITIES[quantity]
        raise BenchError(
            f"Meter.resolution must be in {unit} for {quantity}; got {meter.resolution:~P}. Check the unit."
        )
    return meter
