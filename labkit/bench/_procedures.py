"""How each constant is measured at the bench, as data: needs, steps, cautions, and the sheet to fill in."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from labkit.bench._layout import find_table, plain_words
from labkit.errors import BenchError

__all__ = ["Procedure", "SheetTable", "procedure", "procedures"]

_FILE = Path(str(files("labkit") / "data" / "procedures" / "procedures.toml"))


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetTable:
    """A table to fill in.

    Parameters
    ----------
    kind : str
        A name of ``TABLES``.
    columns : tuple of str
        Header cells, each with its unit.
    rows : tuple of tuple of str
        What stands in each row already; cells beyond are empty.
    """

    kind: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def cells(self) -> list[list[str]]:
        """Return all rows at their full width."""
        return [[*row, *[""] * (len(self.columns) - len(row))] for row in self.rows]


@dataclass(frozen=True, kw_only=True, slots=True)
class Procedure:
    """One measurement.

    Parameters
    ----------
    name, title : str
    finds : tuple of str
        The constants that its readings give.
    why, readings : str
        The idea behind it, and how many readings it takes.
    needs, steps, cautions : tuple of str
    notes : tuple of (name, what to write)
        Lines above the tables, such as a meter's accuracy.
    tables : tuple of SheetTable
    """

    name: str
    title: str
    finds: tuple[str, ...]
    why: str
    readings: str
    needs: tuple[str, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[tuple[str, str], ...]
    tables: tuple[SheetTable, ...]

    def sheet(self) -> str:
        """Return the empty sheet as CSV, which ``read_bench`` reads once it is filled in.

        Raises
        ------
        BenchError
            When nothing is written down: the reading is a recording.

        Examples
        --------
        >>> print(procedure("inductance, meter").sheet().splitlines()[-7])
        position, inductance [mH]
        """
        if not self.tables:
            raise BenchError(f"There is no sheet for {self.name!r}: {self.readings}")
        lines = ["sep=,"]  # tells spreadsheets of every country where a cell ends
        lines += [f"# {self.title}. {self.readings}"]
        lines += [f"# Caution: {caution}" for caution in self.cautions]
        lines += ["# Decimal commas need semicolons between the columns. Rows that stay empty do no harm.", ""]
        for name, hint in self.notes:
            lines += [f"# {name}: {hint}", f"{name}:"]
        for table in self.tables:
            lines += ["", f"table: {table.kind}", ", ".join(table.columns)]
            lines += [", ".join(row).rstrip() for row in table.cells()]
        return "\n".join([*lines, ""])


def _procedure(entry: Mapping[str, Any]) -> Procedure:
    tables = tuple(
        SheetTable(kind=t["kind"], columns=tuple(t["columns"]), rows=tuple(tuple(row) for row in t["rows"]))
        for t in entry.get("table", ())
    )
    for table in tables:
        if find_table(table.kind) != table.kind:
            raise BenchError(f"Procedure {entry['name']!r} fills in a table that is not known: {table.kind!r}.")
    words = {name: tuple(entry[name]) for name in ("needs", "steps", "cautions")}
    return Procedure(
        name=entry["name"],
        title=entry["title"],
        finds=tuple(name.strip() for name in entry["finds"].split(",")),
        why=entry["why"],
        readings=entry["readings"],
        **words,
        notes=tuple((name, hint) for name, hint in entry["notes"]),
        tables=tables,
    )


@cache
def procedures() -> tuple[Procedure, ...]:
    """Return all measurements, in the order in which a bench meets them.

    Examples
    --------
    >>> [one.name for one in procedures()][:2]
    ['resistance', 'constant, running free']
    """
    with _FILE.open("rb") as stream:
        return tuple(_procedure(entry) for entry in tomllib.load(stream)["procedure"])


def procedure(name: str) -> Procedure:
    """Return the measurement of that name; any word that only one name has will do.

    Raises
    ------
    BenchError
        When there is none, or several; lists them.

    Examples
    --------
    >>> procedure("diode").title
    'Forward drop of the freewheel diode'
    """
    if not isinstance(name, str):
        raise BenchError(f"procedure.name must be text; got {name!r}. Write procedure('diode').")
    wanted = plain_words(name)
    plain = {one.name.replace(",", ""): one for one in procedures()}
    if (exact := plain.get(wanted.replace(",", ""))) is not None:
        return exact
    found = [one for one in procedures() if wanted and all(word in one.name for word in wanted.split())]
    if len(found) == 1:
        return found[0]
    names = "; ".join(repr(one.name) for one in found or procedures())
    fault = f"Several measurements have {name!r} in their name" if found else f"There is no measurement called {name!r}"
    raise BenchError(f"{fault}. Choose one of: {names}.")
