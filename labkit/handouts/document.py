"""A lesson or a sheet as one page that needs nothing from anywhere: no script, no font, no other host."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any, Literal

from labkit.errors import HandoutError
from labkit.handouts.blocks import block, set_panel, waits
from labkit.handouts.prose import prose_html
from labkit.handouts.running import Ran, run
from labkit.panels import Panel, Prediction
from labkit.reports.page import page

__all__ = ["COPIES", "Copy", "Handout", "handouts"]

Copy = Literal["learner", "teacher"]
COPIES: tuple[Copy, ...] = ("learner", "teacher")

_STYLE = """
@page { size: A4; margin: 16mm 15mm 18mm; @bottom-right { content: counter(page) " of " counter(pages); font: 9pt sans-serif; } }
figure { margin: 1rem 0; } figure, table, pre, .ask, .labkit-equation { break-inside: avoid; }
img { max-width: 100%; height: auto; background: white; } math { font-size: min(1.1em, 2.2vw); } @media print { math { font-size: 1.1em; } }
section { break-inside: auto; } .ask { margin: 1rem 0; padding: .2rem 1rem .6rem; border: 1px solid #767676; border-left-width: 6px; }
.ask .answer { break-inside: avoid; } .answer { margin: 1rem 0; padding: .1rem 1rem; border: 1px dashed #767676; } .choices { list-style: upper-alpha; }
.blank { display: inline-block; min-width: 14rem; height: 1.6em; border-bottom: 1px solid; vertical-align: bottom; }
td .blank { border: 0; } .unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.overleaf { break-after: page; padding: 1rem 0; } .labkit-result { border-left: 4px solid; padding-left: .8rem; }
.labkit-equation { margin: .5rem 0 .5rem 1.5rem; } summary { list-style: none; font-weight: bold; }
.labkit-numbers { display: inline-table; margin: .5rem 1.5rem .5rem 0; font-size: .85em; vertical-align: top; }
h1, h2, h3, caption, summary, h2 + p { break-after: avoid; } p, li { orphans: 3; widows: 3; } pre { white-space: pre-wrap; }
""".strip()  # noqa: E501 (a style sheet)

_OVERLEAF = '<p class="overleaf"><strong>Write your prediction down before you read on.</strong></p>'


_ON_A_SHEET = (
    "Answer each question with value and unit; of a choice, ring the letter.\n\n"
    "Nothing on this sheet needs power: leave the supply disconnected."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Handout:
    """One copy of a lesson or a sheet.

    Parameters
    ----------
    name : str
        Of the file, without an ending.
    title : str
    copy : "learner" or "teacher"
    html : str
        The whole page, its mathematics as MathML.
    """

    name: str
    title: str
    copy: Copy
    html: str


def handouts(
    notebook: Path, *, copies: Sequence[Copy] = ("learner",), at: Sequence[tuple[str, str]] = ()
) -> tuple[Handout, ...]:
    """Return copies of a notebook for paper: prose, derivations, panels as they stand, and questions.

    Parameters
    ----------
    notebook : Path
        A lesson or a sheet; its code is run, once for all copies, so that it must be one that you trust.
    copies : sequence of "learner" or "teacher"
        With blanks for predictions and answers, or with results, answers and worked solutions.
    at : pairs of control and value
        What panels are frozen at, as in ``("Duty", "60 %")``: every panel that has such a control is set to it.

    Returns
    -------
    tuple of Handout

    Raises
    ------
    HandoutError
        When it is no notebook, a cell fails, or a panel takes no such value.
    """
    title, ran = _read(notebook)
    _set_panels(notebook, ran, at)
    made = []
    for copy in copies:
        body = _resting("".join(_blocks(ran, teacher=copy == "teacher")))
        whole = page(f"{title} ({copy}’s copy)", body, style=_STYLE)
        made.append(Handout(name=f"{notebook.stem}-{copy}", title=title, copy=copy, html=whole))
    return tuple(made)


def _set_panels(notebook: Path, ran: Sequence[Ran], at: Sequence[tuple[str, str]]) -> None:
    panels = [value for cell in ran for value in cell.shown if isinstance(value, Panel)]
    for name, value in at:
        if not [panel for panel in panels if set_panel(panel, name, value)]:
            labels = sorted({control.label for panel in panels for control in panel.controls.values()})
            known = f"It has: {', '.join(labels)}." if labels else "It has no panel."
            raise HandoutError(f"--at must name a control of {notebook.name}; got {name!r}. {known}")


def _read(notebook: Path) -> tuple[str, list[Ran]]:
    try:
        book = json.loads(notebook.read_text(encoding="utf-8"))
        cells: list[dict[str, Any]] = book["cells"]
        is_sheet = "sheet" in book.get("metadata", {}).get("labkit", {})
        first = "".join(cells[0]["source"])
    except (ValueError, KeyError, IndexError, TypeError):
        raise HandoutError(
            f"{notebook} must be a notebook with cells in it. Name a file that ends in .ipynb."
        ) from None
    heading = re.match(r"# (.+)\n?", first)
    ran = list(run(cells, notebook.parent))
    if is_sheet:
        ran = [Ran(prose=_ON_A_SHEET), *(Ran(prose=_heading_of(one.prose), shown=one.shown) for one in ran[1:])]
    elif heading:
        ran[0] = Ran(prose=first[heading.end() :])
    return heading[1].strip() if heading else notebook.stem, ran


def _heading_of(prose: str) -> str:
    """Return a sheet's heading alone: below it stands how to use the notebook, or the question once more."""
    return prose.partition("\n")[0]


def _blocks(ran: Sequence[Ran], *, teacher: bool) -> Iterator[str]:
    """Yield each cell; where a learner's prediction was asked for, the next section begins overleaf."""
    predicted = False
    for cell in ran:
        if predicted and (cell.prose.startswith("## ") or any(waits(value) for value in cell.shown)):
            predicted = False
            yield _OVERLEAF
        yield prose_html(cell.prose)
        if cell.printed:
            yield f"<pre>{escape(cell.printed)}</pre>"
        for value in cell.shown:
            predicted = predicted or (isinstance(value, Prediction) and not teacher)
            yield block(value, teacher=teacher)


def _resting(body: str) -> str:
    """Return HTML for a page that nobody unfolds: everything open, headings in order, no links to files."""
    body = re.sub(r"<details(?: open)?>", "<details open>", body)
    body = re.sub(r"<style>.*?</style>", "", body, flags=re.DOTALL)
    body = re.sub(
        r'<a href="(?!https?:)[^"]*">(.*?)</a>', r"\1", body, flags=re.DOTALL
    )  # to another notebook: not here
    return re.sub(r"(</?)h[456]\b", r"\1h3", body)
