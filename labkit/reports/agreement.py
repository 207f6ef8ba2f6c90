"""Whether a reading agrees with a prediction, in words."""

from __future__ import annotations

from html import escape

from labkit.fitting import Agreement

__all__ = ["agreement_html", "agreement_text"]


def _headline(found: Agreement) -> str:
    off = f" It lies {abs(found.deviations):.1f} standard uncertainties off." if found.agrees else ""
    return f"{'✓' if found.agrees else '✗'} {found.sentence}{off}"


def agreement_text(found: Agreement) -> str:
    """Return the verdict, and what usually lies behind a difference, as plain lines."""
    likely = ["Likely reasons:", *(f"- {reason}" for reason in found.reasons)] if found.reasons else []
    return "\n".join([_headline(found), *likely])


def agreement_html(found: Agreement) -> str:
    """Return the same as HTML."""
    reasons = "".join(f"<li>{escape(reason)}</li>" for reason in found.reasons)
    likely = f"<p>Likely reasons:</p><ul>{reasons}</ul>" if reasons else ""
    return f"<p><strong>{escape(_headline(found))}</strong></p>{likely}"
