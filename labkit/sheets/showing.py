"""A sheet at a glance: its numbers, its questions, and how far the learner is."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from labkit.sheets.sheet import Sheet

__all__ = ["Lines", "overview_html", "overview_markdown"]


class Lines(str):
    """Text that a notebook shows a paragraph a line, not as Python would write it."""

    __slots__ = ()

    def __repr__(self) -> str:
        return str(self)

    def _repr_html_(self) -> str:
        return "".join(f"<p>{html.escape(line)}</p>" for line in self.splitlines())


def _state(sheet: Sheet, title: str) -> str:
    verdict = sheet.verdicts.get(title)
    return verdict.heading if verdict else "○ not answered yet"


def _heading(sheet: Sheet) -> str:
    kind = "assessed" if sheet.assessed else "practice"
    attempt = f", attempt {sheet.attempt}" if sheet.attempt > 1 else ""
    owner = "" if sheet.learner == "practice" else f" of {sheet.learner}"
    return f"{sheet.plan.title}: {kind} sheet{owner}{attempt}"


def overview_markdown(sheet: Sheet) -> str:
    """Return the overview as Markdown."""
    values = [f"- {value.meaning}: {sheet.numbers[value.name]}" for value in sheet.plan.values]
    questions = [f"{index}. {title}: {_state(sheet, title)}" for index, title in enumerate(sheet.titles, start=1)]
    parts = (f"**{_heading(sheet)}**", sheet.own.fill(sheet.plan.about), "\n".join(values), "\n".join(questions))
    return "\n\n".join(parts)


def overview_html(sheet: Sheet) -> str:
    """Return the overview as HTML, with tables that a screen reader can walk through."""
    escape = html.escape
    values = "".join(
        f'<tr><th scope="row">{escape(value.meaning)}</th><td>{escape(sheet.numbers[value.name])}</td></tr>'
        for value in sheet.plan.values
    )
    questions = "".join(f"<li>{escape(title)}: {escape(_state(sheet, title))}</li>" for title in sheet.titles)
    return (
        f'<div class="labkit-sheet"><p><strong>{escape(_heading(sheet))}</strong></p>'
        f"<p>{escape(sheet.own.fill(sheet.plan.about))}</p>"
        f"<table><caption>Your numbers</caption><tbody>{values}</tbody></table><ol>{questions}</ol></div>"
    )
