"""A review as a table for the terminal, as plain data, and as a page to keep."""

from __future__ import annotations

from html import escape
from typing import Any

from rich.table import Table

from labkit.reviews import Finding, Outcome, Review
from labkit.writing import show

__all__ = ["review_data", "review_html", "review_table"]

_NOTE = (
    "A check of sums, not a permission: local rules and the qualified person who supervises your room come first. "
    "Disconnect the supply before you change a wire."
)
_STYLE = """
body { font: 1rem/1.5 system-ui, sans-serif; margin: 2rem auto; max-width: 60rem; padding: 0 1rem; color: #111; background: #fff }
article { border-top: 1px solid #767676; padding: .8rem 0; break-inside: avoid }
h2 { font-size: 1.1rem; margin: 0 0 .2rem }
.sum { font-family: ui-monospace, monospace; overflow-wrap: anywhere }
.caution { border-left: .3rem solid #111; padding-left: .6rem }
svg { display: block; margin: .3rem 0 }
"""


def review_table(review: Review) -> Table:
    """Return the findings as a table for the terminal: verdict in words and a sign, the sum, the way out."""
    table = Table(title=f"{review.outcome.symbol} {review.outcome.value}", show_lines=True)
    for heading in ("verdict", "what", "sum and remedy"):
        table.add_column(heading, overflow="fold")
    for found in review.findings:
        lines = (
            [found.formula]
            if found.outcome is Outcome.FINE
            else [found.reason, found.formula, found.remedy, found.caution]
        )
        told = "\n".join(line for line in lines if line)
        table.add_row(f"{found.outcome.symbol} {found.verdict}", f"{found.name}\n(lesson {found.lesson})", told)
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
    }


def review_html(review: Review, *, title: str = "Design review") -> str:
    """Return one self-contained page: each finding with its margin as a bar, its sum, and the way out."""
    parts = [
        '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">',
        f"<title>{escape(title)}</title><style>{_STYLE}</style><main><h1>{escape(title)}</h1>",
        f"<p><strong>{review.outcome.symbol} {review.outcome.value}</strong></p><p>{_NOTE}</p>",
        *(_article(found) for found in review.findings),
        "<h1>What only the bench can tell</h1>",
        *(
            f"<article><h2>{escape(test.name)}</h2><p>{escape(test.do)}</p><p>Expect: {escape(test.expect)}</p></article>"
            for test in review.tests
        ),
        "</main></html>",
    ]
    return "".join(parts)


def _article(found: Finding) -> str:
    told = [f"<p>{escape(found.reason)}</p>"]
    if found.formula:
        told.append(f'<p class="sum">{escape(found.formula)}</p>')
    if found.margin is not None:
        told.append(_bar(found))
    if found.remedy:
        told.append(f"<p><strong>What to do:</strong> {escape(found.remedy)}</p>")
    if found.caution:
        told.append(f'<p class="caution"><strong>Caution:</strong> {escape(found.caution)}</p>')
    heading = f"{found.outcome.symbol} {escape(found.name)}: {found.verdict}"
    return f"<article><h2>{heading}</h2>{''.join(told)}<p>Lesson {found.lesson} explains it.</p></article>"


def _bar(found: Finding) -> str:
    """Return the margin as a bar from the limit: to the right what is left, to the left what is too much."""
    share = max(-1.0, min(1.0, found.margin or 0.0))
    left, width = (150 + 150 * min(share, 0.0), 150 * abs(share))
    words = f"{100 * share:.0f} % of the limit is left" if share >= 0 else f"{-100 * share:.0f} % beyond the limit"
    fill = "#1b5e8a" if share >= 0 else "url(#over)"
    return (
        f'<svg width="300" height="16" role="img" aria-label="{words}">'
        '<defs><pattern id="over" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M0 6L6 0" stroke="#8a1b1b" stroke-width="3"/>'
        f'</pattern></defs><rect x="{left:.0f}" width="{width:.0f}" height="16" fill="{fill}"/>'
        '<path d="M150 0V16" stroke="#111" stroke-width="2"/></svg>'
        f"<p>{words}</p>"
    )
