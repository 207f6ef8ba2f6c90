"""Sections of a design file to parts, and the generic parts that a section can be like."""

from __future__ import annotations

import dataclasses
import difflib
import tomllib
from collections.abc import Iterable, Mapping
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import Any

from labkit.errors import DesignError
from labkit.parts import (
    Bipolar,
    Build,
    Converter,
    Diode,
    DiodePlace,
    Fuse,
    Load,
    Mosfet,
    Motor,
    Part,
    Pin,
    PullDownPlace,
    Regulator,
    Side,
    Supply,
)

__all__ = ["SECTIONS", "generic_part", "generic_parts", "no_such_field", "part_from_section"]

#: Section of a design file: the field of the drive that it fills, and with what.
SECTIONS: dict[str, tuple[str, type[Part]]] = {
    "supply": ("supply", Supply),
    "motor": ("motor", Motor),
    "transistor": ("switch", Mosfet),
    "bipolar": ("switch", Bipolar),
    "diode": ("diode", Diode),
    "load": ("load", Load),
    "pin": ("pin", Pin),
    "build": ("build", Build),
}
#: Sections inside a section: the field that they fill, and with what.
_INNER: dict[str, tuple[str, type[Part]]] = {
    "regulator": ("made_by", Regulator),
    "converter": ("made_by", Converter),
    "fuse": ("fuse", Fuse),
}
_CHOICES: dict[str, type[Enum]] = {"side": Side, "diode_place": DiodePlace, "pull_down_place": PullDownPlace}


@cache
def _library() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("labkit.reviews").joinpath("generic_parts.toml").read_text(encoding="utf-8"))


def generic_parts() -> tuple[str, ...]:
    """Return the names of the generic parts."""
    return tuple(_library())


def generic_part(name: str) -> Part:
    """Return a generic part with typical values (from memory: a real part's data sheet comes before them).

    Parameters
    ----------
    name : str
        One of ``generic_parts()``.

    Raises
    ------
    DesignError
        Names the nearest parts.

    Examples
    --------
    >>> print(generic_part("Schottky diode").reverse_voltage)
    40.0 volt
    """
    if not isinstance(name, str) or name not in _library():
        near = difflib.get_close_matches(str(name), _library(), n=2, cutoff=0.3) or list(_library())
        raise DesignError(f"There is no generic part {name!r}. Nearest: {', '.join(near)}.")
    return _generic(name)


@cache  # parts are frozen, and marking asks for the same ones with every answer
def _generic(name: str) -> Part:
    fields = dict(_library()[name])
    section = fields.pop("section")
    return part_from_section(SECTIONS[section][1], fields, section)


def part_from_section(kind: type[Part], given: object, section: str, *, model: Part | None = None) -> Part:
    """Return the part that a section describes; what it does not say is that of *model*, or of what it is like.

    Raises
    ------
    LabkitError
        Names the section and the field, and what to write.
    """
    if not isinstance(given, Mapping):
        raise DesignError(f"[{section}] must be a section; got {given!r}. Write [{section}] on a line of its own.")
    rest = dict(given)
    like = rest.pop("like", None)
    known = [item.name for item in dataclasses.fields(kind)]
    inner = {key: rest.pop(key) for key in list(rest) if key in _INNER and _INNER[key][0] in known}
    for key in rest:
        if key not in known:
            no_such_field(key, [*known, "like"], f"[{section}]")
    flags = {item.name for item in dataclasses.fields(kind) if item.type in {"bool", bool}}
    for key in flags & set(rest):
        if not isinstance(rest[key], bool):
            raise DesignError(f"[{section}] {key} must be true or false; got {rest[key]!r}. Write it without quotes.")
    fields = {key: _value(key, value, section) for key, value in rest.items()}
    fields |= {
        _INNER[key][0]: part_from_section(_INNER[key][1], value, f"{section}.{key}") for key, value in inner.items()
    }
    if like is not None:
        model = generic_part(str(like))
    if model is not None:
        if not isinstance(model, kind):
            raise DesignError(f"[{section}] like = {like!r} is not a {section}. Choose another class of part.")
        return dataclasses.replace(model, **fields)
    try:
        return kind(**fields)
    except TypeError as error:  # a field that has no default was left out
        raise DesignError(f"[{section}] is not complete: {str(error).rpartition('__init__() ')[2]}. Add it.") from error


def _value(key: str, value: object, section: str) -> object:
    if value == "none":
        return None
    if key == "on_resistance" and (isinstance(value, list) or "@" in str(value)):
        rows = value if isinstance(value, list) else [value]
        return [tuple(end.strip() for end in reversed(str(row).split("@"))) for row in rows]
    if key in _CHOICES:
        words = {choice.value: choice for choice in _CHOICES[key]}
        if value not in words:
            raise DesignError(
                f"[{section}] {key} must be one of {', '.join(words)}; got {value!r}. Write one of these."
            )
        return words[str(value)]
    return value


def no_such_field(key: str, known: Iterable[str], where: str) -> None:
    """Raise the error for a field that nothing has, with the nearest name."""
    near = difflib.get_close_matches(key, list(known), n=1, cutoff=0.5)
    advice = f"Did you mean {near[0]!r}?" if near else f"Known here: {', '.join(sorted(known))}."
    raise DesignError(f"{where} has no field {key!r}. {advice}")
