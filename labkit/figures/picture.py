"""A picture that everybody can read: the image, what it finds in words, and the numbers behind it."""

from __future__ import annotations

import base64
import html
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.units import Quantity
from labkit.writing import figures, show, unit_symbol

__all__ = ["Picture", "Reading", "Table", "image_html", "numbers_html", "picture_html"]

_MOST_ROWS = 13


class Reading(NamedTuple):
    """One number of a picture: what it is, and how large."""

    name: str
    value: Quantity
    #: The unit to write it in; empty for the prefix that suits.
    unit: str = ""

    def text(self) -> str:
        """Return the value as a person writes it."""
        return show(self.value, self.unit or None)


class Table(NamedTuple):
    """A curve or a set of points of a picture: one column a quantity, all of one length."""

    caption: str
    #: Name, values of shape (n,), and the unit to write them in.
    columns: tuple[tuple[str, Quantity, str], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Picture:
    """An image with its finding and its data.

    Parameters
    ----------
    png : bytes
    width, height : int
        The size to show it at, in CSS pixels; the image itself is finer.
    subject : str
        What is drawn, in one sentence.
    finding : str
        What it shows, with the numbers, in one or two sentences.
    readings : tuple of Reading
    tables : tuple of Table
    svg : str
        The same image as SVG that needs no other file, where there is one: sharp at any size.
    """

    png: bytes
    width: int
    height: int
    subject: str
    finding: str
    readings: tuple[Reading, ...] = ()
    tables: tuple[Table, ...] = ()
    svg: str = ""

    @property
    def source(self) -> str:
        """The image as the address of an ``img`` element that needs no other file."""
        kind, data = ("svg+xml", self.svg.encode()) if self.svg else ("png", self.png)
        return f"data:image/{kind};base64,{base64.b64encode(data).decode('ascii')}"

    @property
    def alt(self) -> str:
        """What a person hears who does not see the image."""
        return f"{self.subject} {self.finding}"

    def to_html(self) -> str:
        """Return the picture, its finding and its numbers as HTML that needs no other file."""
        return picture_html(self)

    def _repr_html_(self) -> str:
        return picture_html(self)

    def __repr__(self) -> str:
        return f"Picture: {self.alt}"


def image_html(picture: Picture) -> str:
    """Return the image alone, with its alternative text."""
    return (
        f'<img src="{picture.source}" width="{picture.width}" alt="{html.escape(picture.alt)}" '
        'style="max-width: 100%; height: auto; background: white">'
    )


def picture_html(picture: Picture) -> str:
    """Return a figure element: image with alt text, finding, and the numbers to unfold."""
    numbers = numbers_html(picture)
    return (
        f'<figure class="labkit-picture" style="margin: 0.5em 0; max-width: {picture.width}px">'
        f"{image_html(picture)}<figcaption>{html.escape(picture.finding)}</figcaption>"
        + (f"<details><summary>The numbers</summary>{numbers}</details>" if numbers else "")
        + "</figure>"
    )


def numbers_html(picture: Picture) -> str:
    """Return the readings and the thinned curves of a picture as HTML tables with proper headings."""
    parts = []
    if picture.readings:
        rows = "".join(
            f'<tr><th scope="row">{html.escape(r.name)}</th><td>{html.escape(r.text())}</td></tr>'
            for r in picture.readings
        )
        parts.append(f'<table class="labkit-numbers"><caption>At the present setting</caption>{rows}</table>')
    parts += [_table_html(table) for table in picture.tables]
    return "".join(parts)


def _table_html(table: Table) -> str:
    count = len(table.columns[0][1].magnitude)
    rows = np.unique(np.linspace(0, count - 1, min(count, _MOST_ROWS)).round().astype(int))
    head = "".join(
        f'<th scope="col">{html.escape(name)}{f" ({unit_symbol(unit)})" if unit else ""}</th>'
        for name, _, unit in table.columns
    )
    columns = [np.asarray(values.to(unit).magnitude) for _, values, unit in table.columns]
    body = "".join("<tr>" + "".join(f"<td>{figures(float(c[i]))}</td>" for c in columns) + "</tr>" for i in rows)
    return (
        f'<table class="labkit-numbers"><caption>{html.escape(table.caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )
