"""The working of a panel: derivations with the present numbers put in."""

from __future__ import annotations

import html
from typing import Any

from labkit.errors import LabkitError
from labkit.symbolic import derivation

__all__ = ["note", "worked"]


def worked(name: str, **numbers: Any) -> str:
    """Return a derivation with these numbers in it; where it has no answer for them, why.

    Examples
    --------
    >>> print(worked("stall current", voltage="6 V", resistance="2.8 ohm").count("2.14 A"))
    1
    """
    found = derivation(name)
    try:
        return found.to_html(numbers)
    except LabkitError as refusal:
        return note(f"{found.title} {refusal}")


def note(sentence: str) -> str:
    """Return a sentence as a paragraph."""
    return f"<p>{html.escape(sentence)}</p>"
