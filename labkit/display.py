"""Notebook formatters for everything below: the one room that IPython meets.

Quantities, parts and results come out as people read them: three figures, a suitable prefix, rpm beside rad/s.
Each has a table with a caption and row headings, and the same as plain lines for a terminal or a screen reader.
Derivations, verdicts and pictures know their own HTML; nothing is registered for them.
"""

from __future__ import annotations

import dataclasses
import html
import re
import sys
from collections.abc import Iterator, Mapping
from typing import Any

from labkit.units import Quantity, convertible
from labkit.writing import figures, rpm_beside, show

__all__ = ["register", "result_html", "result_text"]

#: Where parts and results are defined, and their names; a test finds any that is missing here.
RESULTS = {
    "labkit.parts.drive": ("Drive",),
    "labkit.parts.motor": ("Load", "Motor"),
    "labkit.parts.semiconductors": ("Bipolar", "Diode", "Mosfet"),
    "labkit.parts.supply": ("Pin", "Supply"),
}
_QUANTITY = ("pint.facets.plain.quantity", "PlainQuantity")


def register() -> None:
    """Teach the running notebook to show labkit's results; does nothing outside one, and no harm when repeated."""
    ipython = sys.modules.get("IPython")
    shell = ipython.get_ipython() if ipython else None
    if shell is None:
        return
    formatters = shell.display_formatter.formatters
    for module, name in ((module, name) for module, names in RESULTS.items() for name in names):
        formatters["text/html"].for_type_by_name(module, name, result_html)
        formatters["text/plain"].for_type_by_name(module, name, _print_result)
    formatters["text/plain"].for_type_by_name(*_QUANTITY, _print_quantity)
    for spoken_badly in ("text/html", "text/latex"):  # pint has both: long unit names, read letter by letter
        formatters[spoken_badly].for_type_by_name(*_QUANTITY, _nothing)


def result_text(result: Any) -> str:
    """Return a part or a result as lines of ``name: value``, below what it is.

    Parameters
    ----------
    result : dataclass
        Its fields are quantities (scalar or array), numbers, words, or parts and results again.

    Examples
    --------
    >>> from labkit import Pin
    >>> print(result_text(Pin(high_level="3.3 V", output_resistance="40 ohm", current_limit="12 mA")))
    Pin
      high level: 3.30 V
      output resistance: 40.0 Ω
      current limit: 12.0 mA
    """
    return "\n".join([_title(result), *(f"  {name}: {value}" for name, value in _rows(result))])


def result_html(result: Any) -> str:
    """Return a part or a result as a table: a caption, and a heading for each row.

    Parameters
    ----------
    result : dataclass
        As for ``result_text``.
    """
    rows = (
        f'<tr><th scope="row" style="text-align: left">{html.escape(name)}</th>'
        f'<td style="text-align: left">{html.escape(value)}</td></tr>'
        for name, value in _rows(result)
    )
    return f"<table><caption>{html.escape(_title(result))}</caption><tbody>{''.join(rows)}</tbody></table>"


def _title(result: Any) -> str:
    """Return ``OperatingPoint`` as ``Operating point``."""
    first, *rest = re.findall(r"[A-Z]+(?![a-z])|[A-Z][a-z0-9]*", type(result).__name__)
    return " ".join([first, *(word if word.isupper() else word.lower() for word in rest)])


def _rows(result: Any) -> Iterator[tuple[str, str]]:
    """Yield name and value of each field; those of a part inside it with its name in front."""
    for item in dataclasses.fields(result):
        if not item.name.startswith("_"):
            yield from _named(item.name.replace("_", " "), getattr(result, item.name))


def _named(name: str, value: Any) -> Iterator[tuple[str, str]]:
    if dataclasses.is_dataclass(value):
        yield from ((f"{name}: {inner}", text) for inner, text in _rows(value))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _named(f"{name}: {str(key).replace('_', ' ')}", inner)
    else:
        yield name, _value(value)


def _value(value: Any) -> str:
    if isinstance(value, Quantity.__origin__):  # type: ignore[attr-defined]
        return _quantity(value)
    if value is None:
        return "not given"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return figures(value)
    if isinstance(value, (tuple, list)):
        pairs = any(isinstance(inner, tuple) for inner in value)
        return ("; " if pairs else ", ").join(map(_value, value)) or "none"
    return str(value)


def _quantity(quantity: Quantity) -> str:
    """Return a quantity as text; of an array, how many values there are and how far they reach."""
    if getattr(quantity, "ndim", 0):
        if not quantity.size:
            return "no values"
        return f"{quantity.size} values from {_quantity(quantity.min())} to {_quantity(quantity.max())}"
    return rpm_beside(quantity) if convertible(quantity, "rad/s") else show(quantity)


# --- what IPython calls ---------------------------------------------------------------------------


def _print_result(result: Any, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's signature)
    printer.text(result_text(result))


def _print_quantity(quantity: Quantity, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's signature)
    printer.text(_quantity(quantity))


def _nothing(_: Quantity) -> None:
    """Leave this form out, so that the plain text is shown."""
