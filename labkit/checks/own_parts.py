"""A part of one's own, by the figures of its data sheet: named as in a design file, and read by the same reader."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping

from labkit.errors import DesignError, LabkitError
from labkit.parts import Bipolar, Diode, Mosfet, Part, Supply
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["CLASSES", "figures_in", "own_part", "written"]

#: The word for each class of part that can be one's own: its section of a design file, and what may be written of it.
CLASSES: dict[str, tuple[str, type[Part]]] = {
    "MOSFET": ("transistor", Mosfet),
    "bipolar": ("bipolar", Bipolar),
    "diode": ("diode", Diode),
    "supply": ("supply", Supply),
}
#: Figures without which the kit would take a value that flatters the part.
_NEEDED = {
    "MOSFET": ("on_resistance",),
    "bipolar": ("saturation_voltage", "base_emitter_voltage", "gain"),
    "diode": ("forward_voltage",),
    "supply": ("voltage", "internal_resistance"),
}
#: Between which sizes parts are sold (common practice, no source): what lies outside is a slip or made up.
_SOLD = {
    "on_resistance": ("0.2 mohm", "100 ohm"),
    "threshold": ("0.2 V", "10 V"),
    "transconductance": ("1 mA/V**2", "10000 A/V**2"),
    "gate_charge": ("0.05 nC", "2 uC"),
    "gate_drain_charge": ("0.01 nC", "1 uC"),
    "plateau_voltage": ("0.5 V", "15 V"),
    "breakdown_voltage": ("5 V", "2 kV"),
    "body_diode_drop": ("0.2 V", "3 V"),
    "max_drain_current": ("10 mA", "1 kA"),
    "max_gate_voltage": ("3 V", "40 V"),
    "max_junction_temperature": ("70 degC", "300 degC"),
    "junction_to_ambient": ("0.5 K/W", "1000 K/W"),
    "junction_to_case": ("0.02 K/W", "200 K/W"),
    "resistance_temperature_coefficient": ("0 1/K", "0.02 1/K"),
    "saturation_voltage": ("10 mV", "5 V"),
    "base_emitter_voltage": ("0.3 V", "5 V"),
    "gain": ("1", "100000"),
    "base_resistor": ("1 ohm", "10 Mohm"),
    "max_collector_current": ("10 mA", "1 kA"),
    "forward_voltage": ("0.1 V", "3 V"),
    "slope_resistance": ("0 ohm", "100 ohm"),
    "recovery_charge": ("0 C", "100 uC"),
    "max_current": ("1 mA", "1 kA"),
    "reverse_voltage": ("3 V", "5 kV"),
    "voltage": ("0.5 V", "60 V"),
    "internal_resistance": ("1 mohm", "1 kohm"),
    "capacitance": ("1 nF", "10 F"),
    "capacitor_resistance": ("0 ohm", "100 ohm"),
    "current_limit": ("10 mA", "200 A"),
    "brown_out": ("0.5 V", "60 V"),
}
#: Of each pair the first lies below the second on every data sheet.
_BELOW = (("threshold", "plateau_voltage"), ("gate_drain_charge", "gate_charge"), ("threshold", "max_gate_voltage"))
_FIGURE = re.compile(r"(?P<name>[^\W\d][\w \-]*?)\s*[=:]?\s*(?P<value>[-+.]?\d.*|none)")
_ROW = re.compile(r"(.+?)\s*(?:@|\bat\b)\s*(.+)")


def figures_in(text: str) -> dict[str, str]:
    """Return the figures that stand one behind another in a line, parted by commas.

    >>> figures_in("on resistance 30 mohm at 2.5 V, 22 mohm at 4.5 V, threshold = 1,2 V")
    {'on_resistance': '30 mohm at 2.5 V, 22 mohm at 4.5 V', 'threshold': '1,2 V'}
    """
    found: dict[str, str] = {}
    for piece in re.split(r",\s+", re.sub(r"[\[\]\"']", "", text)):  # as in a design file
        match = _FIGURE.fullmatch(piece.strip())
        if match:
            name = re.sub(r"[\W_]+", "_", match["name"]).casefold()
            if name in found:
                raise DesignError(f"{_words(name)} is given twice. Leave one out.")
            found[name] = match["value"]
        elif found and piece[:1].isdigit():  # another row of a table
            found[name] += f", {piece}"
        else:
            raise DesignError(f"“{piece[:40]}” is no figure of a data sheet. Write it as in threshold = 1.2 V.")
    return found


def own_part(choice: str, word: str, figures: Mapping[str, str], *, like: str = "") -> Part:
    """Return the part that figures describe.

    Parameters
    ----------
    choice : str
        What it is chosen for, as errors name it.
    word : str
        Its class, of ``CLASSES``.
    figures : mapping of str to str
        By the name of the part's field.
    like : str
        The generic part that it has its other figures from.

    Raises
    ------
    DesignError
        When a figure is unknown, has another unit, stands on no data sheet or contradicts another, or when one is
        missing in whose place the kit would take one that flatters the part.
    """
    from labkit.reviews._sections import no_such_field, part_from_section  # noqa: PLC0415 (sheets without it open faster)

    section, kind = CLASSES[word]
    known = _figures_of(kind)
    for name in figures:
        if name not in known:
            no_such_field(_words(name), map(_words, known), f"A {word}")
    for name in _NEEDED[word]:
        if name not in figures and not like:
            raise DesignError(f"{choice}: its {_words(name)} is missing, and nothing can be told without it. Add it.")
    given: dict[str, object] = {
        name: _rows(choice, text) if name == "on_resistance" else text for name, text in figures.items()
    }
    try:
        part = part_from_section(kind, given | ({"like": like} if like else {}), section)
    except LabkitError as error:
        raise DesignError(f"{choice}: {error}") from error
    _doubt(choice, part)
    return part


def _figures_of(kind: type[Part]) -> tuple[str, ...]:
    return tuple(item.name for item in dataclasses.fields(kind) if item.name in _SOLD)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _rows(choice: str, text: str) -> list[str]:
    """Return a table of on-resistance as a design file has it."""
    rows = [_ROW.fullmatch(row.strip()) for row in re.split(r",\s+|\s+and\s+", text)]
    if not all(rows):
        raise DesignError(
            f"{choice}: on resistance {text[:40]}, but at which gate voltage? "
            "Without that nothing can be told: write it as in 60 mohm at 4.5 V."
        )
    return [f"{row[1]} @ {row[2]}" for row in rows if row]


def _doubt(choice: str, part: Part) -> None:
    """Refuse what stands on no data sheet.

    Raises
    ------
    DesignError
    """
    for name in _figures_of(type(part)):
        for size in _sizes(getattr(part, name)):
            low, high = map(Q_, _SOLD[name])
            if not low <= size <= high:
                raise DesignError(
                    f"{choice}: {_words(name)} {show(size)} stands on no data sheet: parts are sold with "
                    f"{show(low)} to {show(high)}. Check the number and its prefix."
                )
    for lower, upper in _BELOW:
        below, above = (getattr(part, name, None) for name in (lower, upper))
        if below is not None and above is not None and below >= above:
            raise DesignError(
                f"{choice}: {_words(lower)} {show(below)} does not lie below {_words(upper)} {show(above)}. Swapped?"
            )
    table, threshold = (getattr(part, name, None) for name in ("on_resistance", "threshold"))
    if isinstance(table, tuple) and threshold is not None and table[0][0] <= threshold:
        raise DesignError(
            f"{choice}: at {show(table[0][0])} it is not on with a threshold of {show(threshold)}. "
            "Look at both figures again."
        )


def _sizes(figure: object) -> list[Quantity]:
    """Return a figure as quantities: one, none, or the resistances of a table."""
    if figure is None:
        return []
    if isinstance(figure, tuple):
        return [resistance for _, resistance in figure]
    return [Q_(figure) if isinstance(figure, float) else figure]  # type: ignore[list-item] # a checked field


def written(part: Part) -> str:
    """Return a part as it is written in an answer, figure below figure.

    >>> print(written(Diode(forward_voltage="0.4 V", max_current="1 A")).splitlines()[1])
    forward voltage = 0.4 V
    """
    word = next(word for word, (_, kind) in CLASSES.items() if isinstance(part, kind))
    lines = [word]
    for name in _figures_of(type(part)):
        figure = getattr(part, name)
        if isinstance(figure, tuple):
            rows = ", ".join(f"{_plainly(ohms)} at {_plainly(volts)}" for volts, ohms in figure)
            lines.append(f"{_words(name)} = {rows}")
        elif figure is not None:
            lines.append(f"{_words(name)} = {_plainly(figure)}")
    return "\n".join(lines)


def _plainly(figure: Quantity | float) -> str:
    return f"{figure:g}" if isinstance(figure, float) else f"{figure.magnitude:.6g} {figure.units:~}"
