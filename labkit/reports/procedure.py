"""A measurement to read on screen, and a page to print with room for the readings."""

from __future__ import annotations

from html import escape

from labkit.bench import Procedure, procedures
from labkit.reports.page import page, table
from labkit.writing import sentence_case

__all__ = ["procedure_html", "procedure_list", "procedure_page", "procedure_text"]

_STYLE = """
.caution { border-left: .3rem solid; padding-left: .6rem; }
.blank td { height: 1.6rem; min-width: 7rem; } .blank th { min-width: 4rem; }
"""
_HOW = (
    "Write the readings with all the digits that the meter shows. Type them into the sheet, and let "
    "'labkit fit' find the constants."
)


def _names(procedure: Procedure) -> str:
    return ", ".join(name.replace("_", " ").replace("emf", "EMF") for name in procedure.finds)


def procedure_list() -> str:
    """Return the names of all measurements and what each finds, one a line."""
    width = max(len(one.name) for one in procedures())
    return "\n".join(f"{one.name.ljust(width)}  {_names(one)}" for one in procedures())


def procedure_text(procedure: Procedure) -> str:
    """Return a measurement as plain lines.

    Examples
    --------
    >>> from labkit.bench import procedure
    >>> print(procedure_text(procedure("diode")).splitlines()[0])
    Forward drop of the freewheel diode
    """
    lines = [procedure.title, f"Finds: {_names(procedure)}.", "", procedure.why]
    lines += ["", "How many readings", f"  {procedure.readings}", "", "You need"]
    lines += [f"  - {thing}" for thing in procedure.needs]
    lines += ["", "Caution", *(f"  ! {caution}" for caution in procedure.cautions), "", "Steps"]
    lines += [f"  {number}. {step}" for number, step in enumerate(procedure.steps, 1)]
    lines += ["", "Note", *(f"  {name}: {hint}" for name, hint in procedure.notes)]
    if procedure.tables:
        lines += ["", "Read"]
        lines += [f"  {one.kind}: {', '.join(one.columns)} ({len(one.rows)} rows)" for one in procedure.tables]
        lines += ["", _HOW]
    return "\n".join(lines)


def procedure_html(procedure: Procedure) -> str:
    """Return a measurement as a piece of HTML with empty tables to write into."""
    needs = "".join(f"<li>{escape(thing)}</li>" for thing in procedure.needs)
    steps = "".join(f"<li>{escape(step)}</li>" for step in procedure.steps)
    cautions = "".join(f'<p class="caution"><strong>Caution:</strong> {escape(one)}</p>' for one in procedure.cautions)
    parts = [
        f"<p>Finds: {escape(_names(procedure))}. {escape(procedure.why)}</p>",
        f"<h2>How many readings</h2><p>{escape(procedure.readings)}</p>",
        f"<h2>You need</h2><ul>{needs}</ul>",
        f"<h2>Caution</h2>{cautions}",
        f"<h2>Steps</h2><ol>{steps}</ol>",
        "<h2>Sheet</h2>",
        table("Note first", ("What", "How it is written", "Yours"), [(*note, "") for note in procedure.notes]),
    ]
    for one in procedure.tables:
        rows = [(str(number), *cells) for number, cells in enumerate(one.cells(), 1)]
        parts.append(f'<div class="blank">{table(sentence_case(one.kind), ("Row", *one.columns), rows)}</div>')
    if procedure.tables:
        parts.append(f"<p>{escape(_HOW)}</p>")
    return f'<section class="labkit-procedure">{"".join(parts)}</section>'


def procedure_page(procedure: Procedure) -> str:
    """Return a measurement as a whole page that needs nothing else, to print and to write on."""
    return page(procedure.title, procedure_html(procedure), style=_STYLE)
