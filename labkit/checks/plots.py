"""A plot to read a value off: drawn with a fine grid from a learner's own numbers, as SVG (W3C, version 1.1).

It is a ruled sheet and not a finding: how exactly a value can be read follows from its divisions.
The same curve as numbers stands below it, for whoever does not see the picture.
"""

from __future__ import annotations

import base64
import html
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit.checks.numbers import Numbers, coherent_size
from labkit.units import Q_
from labkit.writing import figures

__all__ = ["Axis", "Plot", "plot_html", "plot_text"]

_WIDTH, _HEIGHT = 640, 440
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 32, 16, 58
_INK, _LINE, _FAINT, _CURVE = "#1a1a1a", "#9a9a9a", "#dddddd", "#0b5394"


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis, from zero.

    Parameters
    ----------
    name : str
    unit : str
        Of the numbers along it, as written.
    most : float
        Where it ends.
    labelled : float
        From one number to the next.
    parts : int
        Small divisions between two numbers.
    """

    name: str
    unit: str
    most: float
    labelled: float
    parts: int = 5

    @property
    def division(self) -> float:
        """A small division, in coherent SI."""
        return self.size * self.labelled / self.parts

    @property
    def size(self) -> float:
        """One of its units in coherent SI."""
        return coherent_size(Q_(f"1 {self.unit}"))

    @property
    def title(self) -> str:
        """Name and unit."""
        return f"{self.name} [{self.unit}]"


@dataclass(frozen=True, kw_only=True, slots=True)
class Plot:
    """A curve on ruled paper.

    Parameters
    ----------
    subject : str
        What is drawn, in one sentence that gives nothing away.
    across, up : Axis
    curve : function of Numbers and an array
        Gives the height for each place across, both in coherent SI.
    reads : Axis
        The one that the answer is read from.
    dot : function of Numbers, optional
        A marked point, in coherent SI.
    """

    subject: str
    across: Axis
    up: Axis
    curve: Callable[[Numbers, NDArray[np.float64]], NDArray[np.float64]]
    reads: Axis
    dot: Callable[[Numbers], tuple[float, float]] | None = None

    @property
    def slack(self) -> float:
        """How far off an answer may be: one small division, in coherent SI."""
        return self.reads.division

    def places(self, numbers: Numbers, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return *count* points of the curve that lie on the paper, in the axes' own units."""
        across = np.linspace(0.0, self.across.most, count)
        up = np.asarray(self.curve(numbers, across * self.across.size)) / self.up.size
        shown = (up >= -1e-9) & (up <= self.up.most * (1 + 1e-9))
        return across[shown], up[shown]


def _rows(plot: Plot, numbers: Numbers) -> list[tuple[str, str]]:
    """Return the curve where the axis across is labelled, and the marked point, in the axes' own units."""
    across, up = plot.places(numbers, round(plot.across.most / plot.across.labelled) + 1)
    rows = [(figures(float(x)), figures(float(y))) for x, y in zip(across, up, strict=True)]
    if plot.dot:
        x, y = (size / axis.size for size, axis in zip(plot.dot(numbers), (plot.across, plot.up), strict=True))
        rows.append((figures(x), f"{figures(y)} (the dot)"))
    return rows


def plot_text(plot: Plot, numbers: Numbers) -> str:
    """Return the curve as lines of numbers, for a terminal."""
    lines = [f"{plot.across.title}, {plot.up.title}", *(", ".join(row) for row in _rows(plot, numbers))]
    return "\n".join([plot.subject, *(f"    {line}" for line in lines)])


def plot_html(plot: Plot, numbers: Numbers) -> str:
    """Return a figure element: the picture with alt text, and the curve as numbers to unfold."""
    rows = "".join(f"<tr><td>{x}</td><td>{y}</td></tr>" for x, y in _rows(plot, numbers))
    head = "".join(f'<th scope="col">{html.escape(axis.title)}</th>' for axis in (plot.across, plot.up))
    source = base64.b64encode(plot_svg(plot, numbers).encode()).decode("ascii")
    return (
        f'<figure class="labkit-plot" style="margin: 0.5em 0"><img src="data:image/svg+xml;base64,{source}" '
        f'width="{_WIDTH}" height="{_HEIGHT}" style="max-width: 100%; height: auto; background: white" '
        f'alt="{html.escape(_alt(plot))}"><details><summary>The curve as numbers</summary><table>'
        f"<caption>{html.escape(plot.subject)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table></details></figure>"
    )


def _alt(plot: Plot) -> str:
    return (
        f"{plot.subject} Across: {plot.across.title}, 0 to {plot.across.most:g}; up: {plot.up.title}, 0 to "
        f"{plot.up.most:g}. The curve stands as numbers below the picture."
    )


def plot_svg(plot: Plot, numbers: Numbers) -> str:
    """Return the picture as the text of an SVG file."""
    across, up = plot.places(numbers, 401)
    places = zip(_x(plot, across).tolist(), _y(plot, up).tolist(), strict=True)
    along = " ".join(f"{x:.2f},{y:.2f}" for x, y in places)
    parts = [f'<polyline points="{along}" fill="none" stroke="{_CURVE}" stroke-width="2.2"/>']
    if plot.dot:
        place, height = plot.dot(numbers)
        centre = f'cx="{_x(plot, place / plot.across.size):.2f}" cy="{_y(plot, height / plot.up.size):.2f}"'
        parts.append(f'<circle {centre} r="5.5" fill="{_CURVE}" stroke="white" stroke-width="1.5"/>')
    rules, titles = _paper(plot)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" width="{_WIDTH}" height="{_HEIGHT}" '
        f'font-family="sans-serif" font-size="15" fill="{_INK}"><rect width="100%" height="100%" fill="white"/>'
        f"{rules}{''.join(parts)}{titles}</svg>"
    )


def _x(plot: Plot, place: Any) -> Any:
    """Return where a place across, or an array of them, lies on the picture."""
    return _LEFT + (_WIDTH - _LEFT - _RIGHT) * place / plot.across.most


def _y(plot: Plot, height: Any) -> Any:
    return _HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * height / plot.up.most


@cache  # all learners get the same
def _paper(plot: Plot) -> tuple[str, str]:
    """Return what lies below the curve, the rules with their numbers, and what lies above it, the axes' titles."""
    left, right, bottom, top = _x(plot, 0), _x(plot, plot.across.most), _y(plot, 0), _y(plot, plot.up.most)
    rules = []
    for place, strong in _ruled(plot.across):
        rules.append(_line(_x(plot, place), bottom, _x(plot, place), top, strong=strong))
        if strong:
            rules.append(_text(_x(plot, place), bottom + 20, f"{place:g}", "middle"))
    for height, strong in _ruled(plot.up):
        rules.append(_line(left, _y(plot, height), right, _y(plot, height), strong=strong))
        if strong:
            rules.append(_text(left - 8, _y(plot, height) + 5, f"{height:g}", "end"))
    turned = f'transform="rotate(-90 18 {(top + bottom) / 2:.0f})"'
    across = _text((left + right) / 2, _HEIGHT - 12, plot.across.title, "middle")
    return "".join(rules), across + _text(18, (top + bottom) / 2, plot.up.title, "middle", turned)


def _ruled(axis: Axis) -> list[tuple[float, bool]]:
    count = math.floor(axis.most / axis.labelled * axis.parts + 1e-9)
    return [(index * axis.labelled / axis.parts, index % axis.parts == 0) for index in range(count + 1)]


def _line(x1: float, y1: float, x2: float, y2: float, *, strong: bool) -> str:
    ink = f'stroke="{_LINE}" stroke-width="1.2"' if strong else f'stroke="{_FAINT}" stroke-width="0.8"'
    return f'<line x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}" {ink}/>'


def _text(x: float, y: float, text: str, anchor: str, turned: str = "") -> str:
    return f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}" {turned}>{html.escape(text)}</text>'
