"""A panel's present state as plain HTML that needs no kernel, no script and no style sheet."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from labkit.figures import Picture, image_html, numbers_html

__all__ = ["frozen_html"]


def frozen_html(settings: Sequence[tuple[str, str]], picture: Picture | None, finding: str) -> str:
    """Return a section: the settings that date it, the picture with its words, and its numbers.

    Parameters
    ----------
    settings : pairs of name and value
        What the controls stood at, those that play a part.
    picture : Picture or None
        ``None`` where there was none for these numbers.
    finding : str
        What the picture shows, or why there is none.
    """
    at = ", ".join(f"{name} {value}" for name, value in settings)
    rows = "".join(f'<tr><th scope="row">{escape(name)}</th><td>{escape(value)}</td></tr>' for name, value in settings)
    table = f'<table class="labkit-numbers"><caption>Set to</caption>{rows}</table>'
    image, numbers, width = (
        ("", "", 640) if picture is None else (image_html(picture), numbers_html(picture), picture.width)
    )
    return (
        '<section class="labkit-frozen" aria-label="Frozen for print" style="margin: 0.5em 0">'
        f'<p style="break-after: avoid"><strong>Frozen</strong> at {escape(at)}.</p>'
        f'<figure style="break-inside: avoid; margin: 0.5em 0; max-width: {width}px">'
        f"{image}<figcaption>{escape(finding)}</figcaption></figure>{table}{numbers}</section>"
    )
