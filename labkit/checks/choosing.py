"""What a text chooses: a generic part, a value, nothing, or a part of one's own; nothing is evaluated."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from labkit.checks.own_parts import CLASSES, figures_in, own_part, written
from labkit.errors import DesignError, UnitError
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Part, Supply
from labkit.units import Q_, Quantity

__all__ = ["BY_NAME", "checked_parts", "choices_in", "named_parts", "quoted"]

_CHOICE = re.compile(r"([^=:]+?)\s*[=:]\s*(.+)")
#: What a learner may choose by the name of a generic part: the field of the drive, and its classes.
BY_NAME: dict[str, tuple[str, tuple[type[Part], ...]]] = {
    "transistor": ("switch", (Mosfet, Bipolar)),
    "diode": ("diode", (Diode,)),
    "supply": ("supply", (Supply,)),
}
#: What a learner may choose as a value, and what of it can be left out.
_AS_VALUE = {"gate resistor": ("gate_resistor", "ohm"), "pull-down": ("pull_down", "ohm")}
_MAY_BE_NONE = {"diode", "pull-down"}
_HEADING = re.compile(r"\[(\w+)\]")
#: The sections of a design file that choose, and the class of part that each describes.
_HEADINGS = {
    section: (name, word)
    for name, (_, kinds) in BY_NAME.items()
    for word, (section, kind) in CLASSES.items()
    if kind in kinds
}
_LIKE = re.compile(r"like\s*[=:]\s*[\"']?(.+?)[\"']?", re.IGNORECASE)


@cache
def named_parts(name: str) -> tuple[str, ...]:
    """Return the generic parts that can stand for a name.

    >>> named_parts("diode")
    ('silicon diode', 'Schottky diode')
    """
    from labkit.reviews import generic_part, generic_parts  # noqa: PLC0415 (only a design needs it: others open faster)

    return tuple(part for part in generic_parts() if isinstance(generic_part(part), BY_NAME[name][1]))


def quoted(name: str) -> str:
    """Return what may stand for a name; some names of parts have a comma in them."""
    return ", ".join(f"“{part}”" for part in named_parts(name)) + (", or “none”" if name in _MAY_BE_NONE else "")


class Chosen(NamedTuple):
    """What a text chooses for one name: what stands behind its sign, and the figures below it."""

    value: str
    figures: dict[str, str]


def _chosen(names: Sequence[str], text: str) -> dict[str, Chosen]:
    """Return what a text chooses, by name; nothing is evaluated.

    Raises
    ------
    DesignError
        Names what is missing, unknown or written twice.

    Examples
    --------
    >>> chosen = _chosen(["pull-down", "diode"], "Pull-down: 10 kohm; diode = diode; max current = 1 A")
    >>> chosen["pull-down"].value, chosen["diode"].figures
    ('10 kohm', {'max_current': '1 A'})
    """
    chosen: dict[str, Chosen] = {}
    last = ""
    for line in filter(None, (" ".join(line.split()) for line in re.split(r"[\n;]", text))):
        name, value = _named(line)
        if name in chosen:
            raise DesignError(f"{name} is chosen twice. Leave one line out.")
        if name:
            last, chosen[name] = name, _with_figures(name, value)
        elif last in BY_NAME and (like := _LIKE.fullmatch(line)):
            chosen[last] = chosen[last]._replace(value=like[1])
        elif last in BY_NAME:
            _add(chosen[last].figures, figures_in(line))
        else:
            raise DesignError(
                f"“{line[:40]}” is none of the choices. Write {', '.join(names)}, one a line, with = between."
            )
    chosen = {name: value for name, value in chosen.items() if name in names}
    if missing := [name for name in names if name not in chosen]:
        raise DesignError(f"{' and '.join(missing)} must be chosen as well. Add a line such as {missing[0]} = ….")
    return chosen


def _named(line: str) -> tuple[str, str]:
    """Return the name and the value that a line chooses, or two empty texts; a heading of a design file chooses too."""
    if heading := _HEADING.fullmatch(line):
        name, word = _HEADINGS.get(heading[1].casefold(), ("", ""))
        return name, word
    match = _CHOICE.fullmatch(line)
    name = next((known for known in (*BY_NAME, *_AS_VALUE) if match and _plain(known) == _plain(match[1])), "")
    return (name, match[2].strip("\"'")) if match and name else ("", "")


def _with_figures(name: str, value: str) -> Chosen:
    """Return a choice, and the figures of its data sheet that may stand behind it in its own line."""
    pieces = re.split(r",\s+", value)
    heads = [", ".join(pieces[:count]) for count in range(len(pieces), 0, -1)]  # some names have a comma in them
    head = next((head for head in heads if name in BY_NAME and (_generic(name, head) or _class(name, head))), value)
    rest = value[len(head) :].lstrip(", ")
    return Chosen(head, figures_in(rest) if rest else {})


def _add(figures: dict[str, str], more: dict[str, str]) -> None:
    if twice := set(figures) & set(more):
        raise DesignError(f"{min(twice).replace('_', ' ')} is given twice. Leave one out.")
    figures.update(more)


def choices_in(drive: Drive) -> str:
    """Return the text that chooses what a drive is built of; a part that is no generic one stands there by its figures.

    >>> from labkit.parts import desk_wind_tunnel
    >>> choices_in(desk_wind_tunnel()).splitlines()[-2]
    'gate resistor = 150 ohm'
    """
    from labkit.reviews import generic_part, generic_parts  # noqa: PLC0415 (as above)

    chosen: dict[str, str] = {}
    for name, (field, _) in BY_NAME.items():
        part = getattr(drive, field)
        same = (known for known in generic_parts() if generic_part(known) == part)
        chosen[name] = "none" if part is None else next(same, None) or written(part)
    for name, (field, unit) in _AS_VALUE.items():
        size = getattr(drive, field)
        chosen[name] = "none" if size is None else f"{size.m_as(unit):g} {unit}"
    return "\n".join(f"{name} = {value}" for name, value in chosen.items())


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", " ", name).casefold().strip()


def checked_parts(names: Sequence[str], text: str) -> dict[str, object]:
    """Return the choices as fields of the drive.

    Raises
    ------
    DesignError
        When a part is missing or not known, or a figure cannot be.
    """
    fields: dict[str, object] = {}
    for name, chosen in _chosen(names, text).items():
        none = chosen.value.casefold() in {"none", "no", "-"}
        if none and name not in _MAY_BE_NONE:
            raise DesignError(f"{name} cannot be left out. Choose one.")
        if name in BY_NAME:
            fields[BY_NAME[name][0]] = None if none else _part(name, chosen)
        else:
            fields[_AS_VALUE[name][0]] = None if none else _value(name, chosen.value)
    return fields


def _value(name: str, text: str) -> Quantity:
    try:
        return Q_(text, _AS_VALUE[name][1])
    except UnitError as error:
        raise DesignError(f"{name}: {error}") from None


def _generic(name: str, value: str) -> str:
    """Return the name of the generic part that a text names; empty where it names none."""
    return next((part for part in named_parts(name) if _plain(part) == _plain(value)), "")


def _class(name: str, value: str) -> str:
    """Return the class of a part of one's own that a text names; empty where it names none."""
    words = (word for word, (_, kind) in CLASSES.items() if kind in BY_NAME[name][1])
    return next((word for word in words if _plain(word) == _plain(value)), "")


def _part(name: str, chosen: Chosen) -> Part:
    generic, word = _generic(name, chosen.value), _class(name, chosen.value)
    if not generic and not word:
        words = " or ".join(word for word, (_, kind) in CLASSES.items() if kind in BY_NAME[name][1])
        raise DesignError(
            f"“{chosen.value[:40]}” is no {name} here. There is: {quoted(name)}. "
            f"Or write {name} = {words}, and the figures of your own below it."
        )
    if word:
        return own_part(name, word, chosen.figures)
    from labkit.reviews import generic_part  # noqa: PLC0415 (as above)

    part = generic_part(generic)
    if not chosen.figures:
        return part
    word = next(word for word, (_, kind) in CLASSES.items() if isinstance(part, kind))
    return own_part(name, word, chosen.figures, like=generic)
