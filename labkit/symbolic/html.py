"""A derivation as HTML with MathML, complete in itself: it needs no script and nothing from the network."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape, unescape
from typing import Any

import sympy
from sympy.printing.mathml import MathMLPresentationPrinter

from labkit.symbolic.catalogue import derivation
from labkit.symbolic.derivation import Derivation
from labkit.symbolic.notation import as_written, function_name, in_reading_order, letter_parts, relation_aloud
from labkit.symbolic.solving import numbers_of
from labkit.symbolic.symbols import Term, term_of
from labkit.symbolic.text import unit_words
from labkit.units import Quantity
from labkit.writing import sentence_case, show

__all__ = ["SideBySide", "derivation_html", "formula", "side_by_side"]

_STYLE = """<style>
.labkit-derivation{max-width:46rem;line-height:1.5}
.labkit-derivation math{font-size:1.15em;
font-family:"Cambria Math","STIX Two Math","Latin Modern Math","Noto Sans Math","DejaVu Math TeX Gyre",math}
.labkit-derivation .labkit-equation{margin:.5rem 0 .5rem 1.5rem;padding:.15rem 0;overflow:auto hidden}
.labkit-derivation strong{white-space:nowrap}
.labkit-derivation summary{cursor:pointer}
.labkit-derivation th,.labkit-derivation td{text-align:left;vertical-align:top;padding:.15rem .8rem .15rem 0}
.labkit-derivation tr>th[scope=row]{font-weight:normal}
.labkit-derivation .labkit-result{border-left:4px solid currentColor;padding-left:.8rem}
.labkit-beside{display:flex;flex-wrap:wrap;gap:2rem}.labkit-beside>*{flex:1 1 22rem}
</style>"""


#: Names that HTML knows and XML does not, all but those that XML needs; the d of a rate is an ordinary letter.
_ENTITY = re.compile(r"&(?!lt;|gt;|amp;|quot;)\w+;")
_PLAIN = {"&dd;": "d", "&DifferentialD;": "d"}


class _MathML(MathMLPresentationPrinter):  # type: ignore[misc]  # sympy has no types
    """Sympy's printer with our indices, our order of terms, and numbers in the place of letters where asked."""

    def __init__(self, numbers: Mapping[Any, str]) -> None:
        super().__init__({"mul_symbol": "times" if numbers else "dot"})
        self.numbers = numbers

    def _as_ordered_terms(self, expr: Any, order: Any = None) -> list[Any]:
        return in_reading_order(super()._as_ordered_terms(expr, order=order))

    def node(self, expression: Any) -> Any:
        """Return the element for an expression."""
        return self._print(as_written(expression))

    def relation(self, relation: Any) -> Any:
        """Return the element for an equation or inequality."""
        # escaped here, since sympy keeps the dom from doing it
        sign = {"==": "=", "<": "&lt;", ">": "&gt;"}.get(relation.rel_op, relation.rel_op)
        return self._row(self.node(relation.lhs), self._leaf("mo", sign), self.node(relation.rhs))

    def _leaf(self, tag: str, text: str) -> Any:
        leaf = self.dom.createElement(tag)
        leaf.appendChild(self.dom.createTextNode(text))
        return leaf

    def _row(self, *parts: Any, tag: str = "mrow") -> Any:
        row = self.dom.createElement(tag)
        for part in parts:
            row.appendChild(part)
        return row

    def _letter(self, letter: str) -> Any:
        base, index = letter_parts(letter)
        return (
            self._row(self._leaf("mi", base), self._leaf("mtext", index), tag="msub")
            if index
            else self._leaf("mi", base)
        )

    def _print_Symbol(self, sym: Any, style: str = "plain") -> Any:  # noqa: ARG002, N802 (sympy's own signature)
        value = self.numbers.get(sym)
        return self._letter(sym.name) if value is None else self._leaf("mtext", value)

    def _print_Function(self, expr: Any) -> Any:  # noqa: N802 (sympy finds printers by class name)
        name = function_name(expr)
        opened = [self._leaf("mo", "("), self._print(expr.args[0]), self._leaf("mo", ")")]
        return self._row(self._letter(name), self._row(*opened))

    _print_log = _print_LambertW = _print__Exponential = _print_Function  # noqa: N815 (sympy finds printers by class name)

    def _print__Root(self, expr: Any) -> Any:  # noqa: N802 (sympy finds printers by class name)
        return self._row(self._print(expr.args[0]), tag="msqrt")

    def _print_Pow(self, e: Any) -> Any:  # noqa: N802 (sympy finds printers by class name)
        base, exponent = e.as_base_exp()
        if self.numbers.get(base) and exponent.is_Integer and exponent > 0:
            opened = self._row(self._leaf("mo", "("), self._print(base), self._leaf("mo", ")"))
            return self._row(opened, self._print(exponent), tag="msup")
        return super()._print_Pow(e)


def formula(equation: Any, numbers: Mapping[Any, str] | None = None) -> str:
    """Return an equation or expression as one ``math`` element; *numbers* is the text to put for a symbol."""
    printer = _MathML(numbers or {})
    spoken = ""
    if isinstance(equation, sympy.core.relational.Relational):
        body = printer.relation(equation)
        spoken = f' aria-label="{escape(relation_aloud(equation))}"'
    else:
        body = printer.node(equation)
    inside = _ENTITY.sub(lambda match: _PLAIN.get(match[0]) or unescape(match[0]), body.toxml().replace("&amp;", "&"))
    inside = inside.replace("<mo>-</mo>", "<mo>\N{MINUS SIGN}</mo>")
    return f'<math xmlns="http://www.w3.org/1998/Math/MathML" displaystyle="true"{spoken}>{inside}</math>'


def derivation_html(this: Derivation, numbers: Mapping[str, Quantity | str | float] | None = None) -> str:
    """Return the whole derivation; steps fold, and with *numbers* the result is shown with them put in."""
    return _STYLE + _section(this, numbers)


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two derivations beside each other; a notebook shows both in full, ``str`` gives one after the other."""

    left: Derivation
    right: Derivation

    def to_html(self) -> str:
        """Return both as HTML with MathML, complete in itself."""
        return f'{_STYLE}<div class="labkit-beside">{_section(self.left, None)}{_section(self.right, None)}</div>'

    def _repr_html_(self) -> str:
        return self.to_html()

    def __str__(self) -> str:
        return f"{self.left.to_text()}\n{self.right.to_text()}"

    __repr__ = __str__


def side_by_side(left: str, right: str) -> SideBySide:
    """Show two derivations beside each other, for two things that are easily taken for one.

    Parameters
    ----------
    left, right : str
        Names, as for ``derivation``.

    Returns
    -------
    SideBySide

    Raises
    ------
    DerivationError
        When there is none of that name.

    Examples
    --------
    >>> both = side_by_side("generator EMF at the freewheel diode", "switch-off kick at the freewheel diode")
    >>> print(both.left.title, both.right.title)
    Does the generator EMF open the freewheel diode? Does the switch-off kick open the freewheel diode?
    """
    return SideBySide(derivation(left), derivation(right))


def _section(this: Derivation, numbers: Mapping[str, Quantity | str | float] | None) -> str:
    parts = [
        f'<section class="labkit-derivation" aria-label="{escape(this.name)}">',
        f"<h4>{escape(sentence_case(this.name))}</h4><p>{escape(this.title)}</p>",
        _equation(this.result, "labkit-equation labkit-result"),
        _with_numbers(this, numbers) if numbers is not None else "",
        "<p>Given:</p><ul>",
        *(f"<li>{escape(law.name)}: {formula(law.equation)}<br>{escape(law.says)}</li>" for law in this.given),
        "</ul><p>Taken for granted:</p><ul>",
        *(f"<li>{escape(one)}</li>" for one in this.assumptions),
        "</ul>",
        *(_step(place, step) for place, step in enumerate(this.steps, start=1)),
        f"<p>Where it holds: {escape(this.validity)}</p>",
        *(f"<p>It needs {formula(one)}.</p>" for one in this.conditions),
        _table(this.symbols),
        "</section>",
    ]
    return "".join(parts)


def _equation(equation: Any, kind: str = "labkit-equation") -> str:
    return f'<div class="{kind}">{formula(equation)}</div>'


def _step(place: int, step: Any) -> str:
    return (
        f"<details open><summary>Step {place}. {escape(step.done)}</summary>"
        f"{_equation(step.equation)}<p>Why: {escape(step.why)}</p></details>"
    )


def _with_numbers(this: Derivation, numbers: Mapping[str, Quantity | str | float]) -> str:
    values = numbers_of(this, this.arguments, numbers)
    put = {symbol: show(term_of(symbol).quantity(value)) for symbol, value in values.items()}
    answer = show(this.evaluate(**dict(numbers)))
    side = formula(this.result.rhs, put)
    name = formula(this.result.lhs)
    return f'<div class="labkit-equation">{name} = {side} = <strong>{escape(answer)}</strong></div>'


def _table(rows: tuple[Term, ...]) -> str:
    head = "".join(f'<th scope="col">{name}</th>' for name in ("Symbol", "Name", "Unit", "Meaning"))
    body = "".join(
        f'<tr><td>{formula(row.symbol)}</td><th scope="row">{row.words}</th>'
        f"<td>{escape(unit_words(row))}</td><td>{escape(row.meaning)}</td></tr>"
        for row in rows
    )
    return f"<details><summary>Symbols and units</summary><table><tr>{head}</tr>{body}</table></details>"
