"""Notebook formatters for everything below: the one room that IPython meets.

Quantities, parts and results come out as people read them: three figures, a suitable prefix, rpm beside rad/s.
Each has a table with a caption and row headings, and the same as plain lines for a terminal or a screen reader.
Derivations, verdicts and pictures know their own HTML; nothing is registered for them.
"""

from __future__ import annotations

import dataclasses
import html
import logging
import re
import sys
from collections.abc import Iterator, Mapping
from functools import partial
from importlib import import_module
from typing import Any, cast, get_type_hints

import numpy as np

from labkit.freshness import watch
from labkit.parts import Part
from labkit.units import Quantity, convertible, ureg
from labkit.writing import figures, rpm_beside, sentence_case, show

__all__ = ["register", "result_html", "result_text", "teach"]

_FIT = ("labkit.fitting._result", "MotorFit")
_REVIEW = ("labkit.reviews._finding", "Review")
#: Type: the module of its report, and the report's name there, to which ``_text`` and ``_html`` are added.
_REPORTS = {
    _REVIEW: ("labkit.reports.review", "review"),
    ("labkit.reviews._first_power", "FirstPower"): ("labkit.reports.at_the_bench", "first_power"),
    ("labkit.reviews._shopping", "ShoppingList"): ("labkit.reports.at_the_bench", "shopping"),
    ("labkit.bench._procedures", "Procedure"): ("labkit.reports.procedure", "procedure"),
    ("labkit.fitting._heard", "HeardSpeed"): ("labkit.reports.heard", "heard"),
    ("labkit.fitting._table_fit", "TableFit"): ("labkit.reports.beside", "table"),
    ("labkit.fitting._predict", "Agreement"): ("labkit.reports.agreement", "agreement"),
    ("labkit.reviews._diagnose", "Diagnosis"): ("labkit.reports.at_the_bench", "diagnosis"),
}
_DUST = 1e-13  # of the largest quantity in the same unit: what remains of a difference in floating point
_ACRONYMS = {"emf": "EMF", "led": "LED", "pwm": "PWM", "rms": "RMS"}
_QUANTITY = ("pint.facets.plain.quantity", "PlainQuantity")


def register() -> None:
    """Teach the running notebook to show labkit's results; does nothing outside one, and no harm when repeated."""
    ipython = sys.modules.get("IPython")
    shell = ipython.get_ipython() if ipython else None
    if shell is None:
        return
    watch(shell)
    teach(shell.display_formatter.formatters)
    # the first picture on a slow machine looks for fonts for some seconds: said in red, it reads as a fault
    logging.getLogger("matplotlib.font_manager").addFilter(_is_not_of_the_cache)


def _is_not_of_the_cache(record: logging.LogRecord) -> bool:
    return "cache" not in record.getMessage()


def teach(formatters: Any) -> None:
    """Teach IPython's formatters, by the form that each makes, to show labkit's results."""
    for form, printer in (("text/html", result_html), ("text/plain", _print_result)):
        formatters[form].deferred_printers = _Printers(formatters[form].deferred_printers, printer)
    formatters["text/html"].for_type_by_name(*_FIT, _fit_html)
    formatters["text/plain"].for_type_by_name(*_FIT, _print_fit)
    for (module, name), report in _REPORTS.items():
        formatters["text/html"].for_type_by_name(module, name, partial(_report_html, report))
        formatters["text/plain"].for_type_by_name(module, name, partial(_print_report, report))
    formatters["text/html"].for_type_by_name(*_REVIEW, _review_html)
    formatters["text/plain"].for_type_by_name(*_QUANTITY, _print_quantity)
    for spoken_badly in ("text/html", "text/latex"):  # pint has both: long unit names, read letter by letter
        formatters[spoken_badly].for_type_by_name(*_QUANTITY, _nothing)


class _Printers(dict[tuple[str, str], Any]):
    """IPython's printers by module and name, and one more for every part and result of labkit, wherever it is."""

    def __init__(self, known: Mapping[tuple[str, str], Any], printer: Any) -> None:
        super().__init__(known)
        self._printer = printer

    def __contains__(self, key: object) -> bool:
        return super().__contains__(key) or _is_result(*cast("tuple[str, str]", key))

    def pop(self, key: tuple[str, str], *default: Any) -> Any:
        """Hand out a printer; IPython keeps it with the type from then on."""
        return super().pop(key, *default) if super().__contains__(key) else self._printer


def _is_result(module: str, name: str) -> bool:
    """Return whether this is a class of labkit that holds quantities and brings no HTML of its own."""
    thing = getattr(sys.modules.get(module), name, None) if str(module).startswith("labkit.") else None
    return (
        isinstance(thing, type)
        and dataclasses.is_dataclass(thing)
        and not hasattr(thing, "_repr_html_")
        and "Quantity" in str(get_type_hints(thing))
    )


def result_text(result: Any) -> str:
    """Return a part or a result as lines of ``name: value``, below what it is.

    Parameters
    ----------
    result : dataclass
        Its fields are quantities (scalar or array), numbers, words, or parts and results again.

    Examples
    --------
    >>> from labkit import desk_wind_tunnel
    >>> result_text(desk_wind_tunnel()).splitlines()[1]
    '  supply: voltage: 6.00 V'
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


def _words(name: str) -> str:
    return " ".join(_ACRONYMS.get(word, word) for word in name.lower().split("_"))


def _title(result: Any) -> str:
    """Return ``PwmOperatingPoint`` as ``PWM operating point``."""
    return sentence_case(_words("_".join(re.findall(r"[A-Z][a-z0-9]*", type(result).__name__))))


def _rows(result: Any) -> Iterator[tuple[str, str]]:
    """Yield name and value of each field; those of a part inside it with its name in front."""
    nothing = "not given" if isinstance(result, Part) else "none"
    fields = {item.name: getattr(result, item.name) for item in dataclasses.fields(result)}
    for name, value in _without_dust(fields).items():
        if not name.startswith("_"):
            yield from _named(_words(name), nothing if value is None else value)


def _without_dust(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return *fields* with a plain zero for each quantity that is only the rounding of much larger ones of its unit."""
    sizes: dict[Any, float] = {}
    scalars = {name: q for name, q in fields.items() if _is_quantity(q) and not getattr(q, "ndim", 0)}
    for quantity in scalars.values():
        sizes[quantity.units] = max(sizes.get(quantity.units, 0.0), abs(quantity.magnitude))
    dust = {name: q * 0.0 for name, q in scalars.items() if abs(q.magnitude) < _DUST * sizes[q.units]}
    return {**fields, **dust}


def _is_quantity(value: object) -> bool:
    return isinstance(value, Quantity.__origin__)  # type: ignore[attr-defined]


def _named(name: str, value: Any) -> Iterator[tuple[str, str]]:
    if dataclasses.is_dataclass(value):
        yield from ((f"{name}: {inner}", text) for inner, text in _rows(value))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _named(f"{name}: {_words(str(key))}", inner)
    else:
        yield name, _value(value)


def _value(value: Any) -> str:  # noqa: PLR0911 (one line for each sort of value)
    if _is_quantity(value):
        return _quantity(value)
    if isinstance(value, np.ndarray):
        return f"yes in {value.sum()} of {value.size}" if value.dtype == bool else _quantity(ureg.Quantity(value, ""))
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, float):
        return figures(value)
    if dataclasses.is_dataclass(value) and "__str__" not in vars(type(value)):
        return ", ".join(f"{name} {text}" for name, text in _rows(value))
    if isinstance(value, (tuple, list)):
        nested = any(isinstance(inner, tuple) or dataclasses.is_dataclass(inner) for inner in value)
        return ("; " if nested else ", ").join(map(_value, value)) or "none"
    return str(value)


def _quantity(quantity: Quantity) -> str:
    """Return a quantity as text; of an array, how many values there are and how far they reach."""
    if getattr(quantity, "ndim", 0):
        if not quantity.size:
            return "no values"
        return f"{quantity.size} values from {_quantity(quantity.min())} to {_quantity(quantity.max())}"
    if np.isposinf(quantity.magnitude):
        return "never" if convertible(quantity, "s") else "without limit"
    return rpm_beside(quantity) if convertible(quantity, "rad/s") else show(quantity)


# --- what IPython calls ---------------------------------------------------------------------------


def _print_result(result: Any, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's signature)
    printer.text(result_text(result))


def _fit_html(fit: Any) -> str:
    from labkit.reports.fit import report_html  # noqa: PLC0415 (the solvers are loaded once there is a fit, not before)

    return report_html(fit)


def _print_fit(fit: Any, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's signature)
    from labkit.reports.fit import report  # noqa: PLC0415 (as above)

    printer.text(report(fit))


def _review_html(found: Any) -> str:
    from labkit.figures.review import trouble_picture  # noqa: PLC0415 (drawing is loaded once there is a review)
    from labkit.reports.review import review_html  # noqa: PLC0415 (as above)

    return review_html(found, picture=trouble_picture(found).to_html())


def _report_html(report: tuple[str, str], result: Any) -> str:
    return str(getattr(import_module(report[0]), f"{report[1]}_html")(result))


def _print_report(report: tuple[str, str], result: Any, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's)
    printer.text(getattr(import_module(report[0]), f"{report[1]}_text")(result))


def _print_quantity(quantity: Quantity, printer: Any, cycle: bool) -> None:  # noqa: ARG001 (IPython's signature)
    printer.text(_quantity(quantity))


def _nothing(_: Quantity) -> None:
    """Leave this form out, so that the plain text is shown."""
