"""What tables there are, what columns each needs, and how a header cell is read."""

from __future__ import annotations

import re
from typing import NamedTuple

from pint.facets.plain import PlainUnit

from labkit.errors import UnitError
from labkit.units import Quantity, convertible, parse_unit

__all__ = [
    "QUANTITIES", "SHUNT", "TABLES", "Heading", "Layout", "find_table", "guess_table", "plain_words", "read_heading",
]  # fmt: skip

#: The unit that a column of each name is held against; a position is only a label.
QUANTITIES = {
    "voltage": "V",
    "current": "A",
    "speed": "rad/s",
    "torque": "N*m",
    "time": "s",
    "temperature": "degC",
    "inductance": "H",
    "shunt voltage": "V",
    "position": "",
}
#: What stands in a header only, and becomes a current once the note ``shunt`` tells its resistance.
SHUNT = "shunt voltage"


class Layout(NamedTuple):
    """The columns of one kind of table."""

    #: Of each group at least one column must be there.
    needs: tuple[tuple[str, ...], ...]
    may: tuple[str, ...]
    meaning: str
    #: A trace in time, which is never joined to another of its kind.
    trace: bool = False
    #: Computed by itself, apart from the motor's balances.
    apart: bool = False


TABLES = {
    "locked rotor": Layout(
        (("voltage",), ("current", "torque")),
        ("position",),
        "the shaft is held: voltage at the terminals and current (or the torque left at the shaft)",
    ),
    "free running": Layout(
        (("voltage",), ("current",), ("speed",)), (), "nothing on the shaft: voltage at the terminals, current, speed"
    ),
    "loaded running": Layout(
        (("voltage",), ("current",), ("speed",), ("torque",)), (), "a known torque on the shaft, all four read"
    ),
    "generator": Layout((("speed",), ("voltage",)), (), "the shaft is driven from outside, only a voltmeter connected"),
    "current rise": Layout(
        (("time",), ("current",)), ("voltage",), "shaft held, voltage switched on at time 0", trace=True
    ),
    "spin up": Layout(
        (("time",), ("speed",)), ("current", "voltage"), "voltage switched on at rest at time 0", trace=True
    ),
    "coast down": Layout((("time",), ("speed",)), (), "terminals open, shaft left to run out", trace=True),
    "coast down with disc": Layout(
        (("time",), ("speed",)), (), "the same with a disc of known mass and radius on the shaft", trace=True
    ),
    "inductance meter": Layout(
        (("inductance",),), ("position",), "LCR meter at the terminals, shaft at rest", apart=True
    ),
    "starting voltage": Layout(
        (("voltage",),), ("position", "current"), "voltage at which the shaft begins to turn", apart=True
    ),
    "source resistance": Layout(
        (("voltage",), ("current",)), (), "a supply under several loads: voltage at its terminals", apart=True
    ),
    "pin resistance": Layout((("voltage",), ("current",)), (), "a pin held high under several loads", apart=True),
    "transistor on": Layout(
        (("voltage",), ("current",)), (), "switched on at the learner's own gate voltage: drain to source", apart=True
    ),
    "diode drop": Layout((("voltage",), ("current",)), (), "forward: voltage across the diode", apart=True),
    "running current": Layout(
        (("time",), ("current",)),
        (),
        "running steadily, logged at a fixed rate: its ripple tells the speed",
        trace=True,
        apart=True,
    ),
    "case temperature": Layout(
        (("time",), ("temperature",)), (), "of a part, from the moment of switching on", trace=True, apart=True
    ),
}

_OTHER_TABLE_NAMES = {
    "locked": "locked rotor",
    "blocked rotor": "locked rotor",
    "stall": "locked rotor",
    "stalled": "locked rotor",
    "no load": "free running",
    "free": "free running",
    "loaded": "loaded running",
    "load": "loaded running",
    "driven": "generator",
    "lcr meter": "inductance meter",
    "internal resistance": "source resistance",
    "on resistance": "transistor on",
    "diode": "diode drop",
    "coast down disc": "coast down with disc",
}
_OTHER_COLUMN_NAMES = {
    "v": "voltage",
    "u": "voltage",
    "volts": "voltage",
    "terminal voltage": "voltage",
    "motor voltage": "voltage",
    "i": "current",
    "amps": "current",
    "motor current": "current",
    "n": "speed",
    "shaft speed": "speed",
    "rotor position": "position",
    "shaft position": "position",
    "shaft torque": "torque",
    "t": "time",
    "l": "inductance",
    "case temperature": "temperature",
    "voltage across the shunt": "shunt voltage",
    "v shunt": "shunt voltage",
    "u shunt": "shunt voltage",
}
#: "current [mA]", "current (mA)", "current / mA"
_HEADING = re.compile(r"(?P<name>[^\[\](/]*?)\s*(?:\[(?P<a>[^\]]*)\]|\((?P<b>[^)]*)\)|/\s*(?P<c>\S.*))?")


class Heading(NamedTuple):
    """One header cell: the column it means (``None``: of no use here), its unit, and what is wrong with it."""

    text: str
    column: str | None
    unit: PlainUnit | None
    fault: str = ""


def plain_words(text: str) -> str:
    """Return *text* in small letters, its words parted by one space: hyphens and underscores part words too."""
    return " ".join(text.lower().replace("-", " ").replace("_", " ").split())


def find_table(text: str) -> str | None:
    """Return the table that *text* names, or ``None``.

    >>> find_table("Locked-rotor"), find_table("no load"), find_table("lunch")
    ('locked rotor', 'free running', None)
    """
    name = plain_words(text)
    return name if name in TABLES else _OTHER_TABLE_NAMES.get(name)


def guess_table(columns: set[str]) -> str | None:
    """Return the one table of steady readings that has exactly these columns, or ``None``.

    >>> guess_table({"voltage", "current", "speed"}), guess_table({"speed"})
    ('free running', None)
    """
    fits = [
        name
        for name, layout in TABLES.items()
        if not (layout.trace or layout.apart)
        and all(columns & set(group) for group in layout.needs)
        and columns <= {c for group in layout.needs for c in group} | set(layout.may)
    ]
    return fits[0] if len(fits) == 1 else None


def read_heading(text: str) -> Heading:
    """Return what one header cell says.

    >>> heading = read_heading("Current [mA]")
    >>> heading.column, str(heading.unit)
    ('current', 'milliampere')
    >>> read_heading("current [V]").fault
    "expected a unit of current, such as 'current [A]'"
    """
    match = _HEADING.fullmatch(text.strip())
    name = plain_words(match["name"] if match else text)
    column = name if name in QUANTITIES else _OTHER_COLUMN_NAMES.get(name)
    if match is None or column is None:
        return Heading(text.strip(), None, None)
    if column == "position":
        return Heading(text.strip(), column, None)
    like = f"expected a unit of {column}, such as '{column} [{QUANTITIES[column]}]'"
    unit_text = match["a"] or match["b"] or match["c"]
    if not unit_text:
        return Heading(text.strip(), column, None, like)
    try:
        unit = parse_unit(unit_text, unit_text)
    except UnitError as error:
        return Heading(text.strip(), column, None, f"{like} ({error})")
    one = Quantity(1.0, unit)
    if convertible(one, QUANTITIES[column]):
        return Heading(text.strip(), column, unit)
    if column == "speed" and convertible(one, "Hz"):
        like += " (hertz count cycles; what turns is read in rad/s or rpm)"
    return Heading(text.strip(), column, None, like)
