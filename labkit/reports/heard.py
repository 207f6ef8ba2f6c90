"""A speed found in a recording, in words."""

from __future__ import annotations

from html import escape

from labkit.fitting import HeardSpeed

__all__ = ["heard_html", "heard_text"]


def heard_text(heard: HeardSpeed) -> str:
    """Return the speed, the line that was taken, how sure it is and what else it could be, one a line."""
    return "\n".join(heard.sentences)


def heard_html(heard: HeardSpeed) -> str:
    """Return the same as a list."""
    return f"<ul>{''.join(f'<li>{escape(sentence)}</li>' for sentence in heard.sentences)}</ul>"
