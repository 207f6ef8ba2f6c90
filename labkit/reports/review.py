"""A review as a table for the terminal, as plain lines and data, and as HTML."""

from __future__ import annotations

from html import escape
from typing import Any

from rich.table import Table

from labkit.reports.page import table as html_table
from labkit.reviews import Finding, Outcome, Review
from labkit.writing import sentence_case, show

__all__ = ["review_data", "review_html", "review_table", "review_text"]

_NOTE = (
    "A check of sums, not a permission: local rules and the qualified person who supervises your room come first. "
    "Disconnect the supply before you change a wire."
)


def review_table(review: Review) -> Table:
    """Return the findings as a table for the terminal: verdict in words and a sign, the sum, the way out."""
    table = Table(title=f"{review.outcome.symbol} {review.outcome.value}", show_lines=True)
    for heading in ("verdict", "what", "sum and remedy"):
        table.add_column(heading, overflow="fold")
    for found in review.findings:
        verdict, name = f"{found.outcome.symbol} {found.verdict}", f"{found.name}\n(lesson {found.lesson})"
        table.add_row(verdict, name, "\n".join(_told(found)))
    return table


def review_data(review: Review) -> dict[str, Any]:
    """Return the review as plain data for JSON: numbers with their units as text."""
    return {
        "verdict": review.outcome.value,
        "findings": [_finding_data(found) for found in review.findings],
        "tests": [
            {"name": test.name, "do": test.do, "expect": test.expect, "lesson": test.lesson} for test in review.tests
        ],
    }


def _finding_data(found: Finding) -> dict[str, Any]:
    margin = found.margin if found.margin is not None and abs(found.margin) != float("inf") else None
    return {
        "name": found.name,
        "verdict": found.verdict,
        "value": None if found.value is None else show(found.value),
        "limit": None if found.limit is None else show(found.limit),
        "margin": margin,
        "reason": found.reason,
        "formula": found.formula,
        "remedy": found.remedy,
        "caution": found.caution,
        "lesson": found.lesson,
        "part": found.part,
    }


def review_text(review: Review) -> str:
    """Return the findings as plain lines."""
    lines = [f"{review.outcome.value} {review.outcome.symbol}"]
    for found in review.findings:
        lines += ["", f"{found.name}: {found.verdict} (lesson {found.lesson})"]
        lines += [f"  {line}" for line in _told(found)]
    return "\n".join(lines)


def review_html(review: Review, *, picture: str = "") -> str:
    """Return the review as HTML: each finding with its margin as a bar, its sum, and the way out.

    Parameters
    ----------
    review : Review
    picture : str
        The circuit as HTML, to stand at its head.
    """
    fine = [found for found in review.findings if found.outcome is Outcome.FINE]
    wrong = [found for found in review.findings if found.outcome is not Outcome.FINE]
    rows = [(found.name, found.formula, _left(found), str(found.lesson)) for found in fine]
    sound = html_table("What is fine", ("What", "Sum", "Margin", "Lesson"), rows) if fine else ""
    tests = "".join(
        f"<section><h3>{escape(sentence_case(test.name))}</h3><p>{escape(test.do)}</p><p>Expect: {escape(test.expect)}</p></section>"
        for test in review.tests
    )
    return (
        f"<p><strong>{review.outcome.symbol} {review.outcome.value}</strong></p><p>{_NOTE}</p>{picture}"
        f"<h2>What the sums say</h2>{''.join(map(_section, wrong))}{sound}"
        f"<h2>What only the bench can tell</h2>{tests}"
    )


def _left(found: Finding) -> str:
    return "" if found.margin is None or found.margin > 1e6 else f"{100 * found.margin:.0f} %"


def _section(found: Finding) -> str:
    told = [f"<p>{escape(found.reason)}</p>"]
    if found.formula:
        told.append(f'<p style="font-family: monospace; overflow-wrap: anywhere">{escape(found.formula)}</p>')
    if found.margin is not None:
        told.append(_bar(found))
    if found.remedy:
        told.append(f"<p><strong>What to do:</strong> {escape(found.remedy)}</p>")
    if found.caution:
        told.append(f"<p><strong>Caution:</strong> {escape(found.caution)}</p>")
    heading = f"{found.outcome.symbol} {escape(sentence_case(found.name))}: {found.verdict}"
    return f"<section><h3>{heading}</h3>{''.join(told)}<p>Lesson {found.lesson} explains it.</p></section>"


def _told(found: Finding) -> list[str]:
    """Return the lines that a finding has to say: the sum alone where all is fine."""
    lines = (
        [found.formula] if found.outcome is Outcome.FINE else [found.reason, found.formula, found.remedy, found.caution]
    )
    return [line for line in lines if line]


def _bar(found: Finding) -> str:
    """Return the margin as a bar from the limit: to the right, filled, what is left; to the left, open, what is too much."""
    margin = found.margin or 0.0
    share = max(-1.0, min(1.0, margin))
    left, width = (151 + 148 * min(share, 0.0), 148 * abs(share))
    words = f"{100 * share:.0f} % of the limit is left" if share >= 0 else f"{-100 * margin:.0f} % beyond the limit"
    if margin < -10:
        words = "far beyond the limit" if found.limit else "nothing at all is allowed here"
    look = 'fill="#3b7ea8" stroke="#3b7ea8"' if share >= 0 else 'fill="none" stroke="#c0504d"'
    return (
        f'<svg width="300" height="16" role="img" aria-label="{words}">'
        f'<rect x="{left:.0f}" y="1" width="{width:.0f}" height="14" stroke-width="2" {look}/>'
        '<path d="M150 0V16" stroke="currentColor" stroke-width="2"/></svg>'
        f"<p>{words}</p>"
    )
