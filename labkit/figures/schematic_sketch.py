"""A drawing board for circuits: schemdraw's IEC 60617 symbols in the house style, and what is drawn over them.

A wide band below the symbols is the path that the current takes; one arrow on it says which way and how much.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Ellipse, Rectangle

from labkit.figures.chart import GREY, INK, STYLES, house_style, png, svg
from labkit.figures.picture import Picture, Reading

__all__ = ["Point", "Sketch"]

Point = tuple[float, float]

#: CSS pixels for each unit of the drawing.
_SCALE = 40
_LIVE, _MARK = str(STYLES[1]["color"]), str(STYLES[3]["color"])


class Sketch:
    """One circuit diagram while it is drawn.

    Parameters
    ----------
    x, y : pair of float
        What of the plane is seen, in units of the drawing: a resistor's body is one long.
    """

    def __init__(self, *, x: tuple[float, float], y: tuple[float, float]) -> None:
        import schemdraw  # noqa: PLC0415 (it brings pyplot, which only diagrams need)
        from schemdraw import elements  # noqa: PLC0415 (as above)

        self._symbols: Any = elements  # their constructors have no types
        self._x, self._y = x, y
        self._size = (round(_SCALE * (x[1] - x[0])), round(_SCALE * (y[1] - y[0])))
        with house_style():
            self._figure = Figure(figsize=(self._size[0] / 100, self._size[1] / 100))
            self._axes: Any = self._figure.add_axes((0, 0, 1, 1))
            self._axes.set_prop_cycle(color=[INK])  # no dashes and markers of a curve's
        self._drawing = schemdraw.Drawing(canvas=self._axes, show=False)
        self._drawing.config(color=INK, lw=1.2, unit=2, font="DejaVu Sans")

    def between(self, symbol: str, start: Point, end: Point, **look: Any) -> None:
        """Draw a symbol of schemdraw's with two ends from *start* to *end*, its leads as long as they must be."""
        self._drawing.add(getattr(self._symbols, symbol)(**look).endpoints(start, end))

    def transistor(self, symbol: str, anchor: str, at: Point, *, scale: float, flip: bool, **look: Any) -> Any:
        """Draw a transistor with one of its ends at a place; return where its ends came to lie, by name."""
        part = getattr(self._symbols, symbol)(**look).scale(scale).theta(0)
        return self._drawing.add((part.flip() if flip else part).anchor(anchor).at(at)).absanchors

    def motor(self, start: Point, end: Point) -> None:
        """Draw a DC motor in a column."""
        self.between("Source", start, end)
        (x, y) = start[0], (start[1] + end[1]) / 2
        self.words((x, y + 0.06), "M", side="center", fontsize=11)
        self.wire((x - 0.17, y - 0.28), (x + 0.17, y - 0.28))

    def wire(self, *points: Point, style: str = "-") -> None:
        """Draw a wire through *points*."""
        self._axes.plot(*np.transpose(points), color=INK, linewidth=1.2, linestyle=style, solid_capstyle="round")

    def dot(self, *points: Point) -> None:
        """Draw a joint at each of *points*."""
        self._axes.plot(*np.transpose(points), color=INK, marker="o", markersize=4, linestyle="", zorder=4)

    def terminal(self, *points: Point) -> None:
        """Draw an open end at each of *points*."""
        look = {"markerfacecolor": "white", "markeredgecolor": INK, "linestyle": "", "zorder": 4}
        self._axes.plot(*np.transpose(points), marker="o", markersize=5, **look)

    def box(self, corner: Point, width: float, height: float) -> None:
        """Draw the case round what is in it, behind everything."""
        look: dict[str, Any] = {"facecolor": "#f2f2f2", "edgecolor": INK, "linewidth": 1.2, "zorder": 0.4}
        self._axes.add_patch(Rectangle(corner, width, height, **look))

    def words(self, at: Point, text: str, *, side: str = "left", grey: bool = False, **look: Any) -> None:
        """Write *text*, several lines perhaps, with its *side* at a place."""
        look = {"fontsize": 8, "color": GREY if grey else INK, "va": "center", "linespacing": 1.25, **look}
        self._axes.text(*at, text, ha=side, zorder=6, **look)

    def live(self, *points: Point) -> None:
        """Draw the path of the current as a band below the wires."""
        look = {"color": _LIVE, "alpha": 0.3, "linewidth": 8, "solid_joinstyle": "round", "solid_capstyle": "round"}
        self._axes.plot(*np.transpose(points), zorder=0.5, **look)

    def arrow(self, start: Point, end: Point, text: str) -> None:
        """Draw the one arrow: which way the current flows, and how much."""
        look = {"arrowstyle": "-|>,head_width=0.3,head_length=0.6", "color": _LIVE, "linewidth": 2.2}
        look |= {"shrinkA": 0, "shrinkB": 0}
        self._axes.annotate("", end, start, arrowprops=look, zorder=5)
        middle = ((start[0] + end[0]) / 2, max(start[1], end[1]) + 0.42)
        self.words(middle, text, side="center", color=_LIVE, fontsize=9.5, fontweight="bold")

    def ring(self, centre: Point, width: float, height: float) -> None:
        """Draw a ring of dashes round a place that is spoken of."""
        look: dict[str, Any] = {"facecolor": "none", "edgecolor": _MARK, "linewidth": 2, "linestyle": (0, (3, 1.6))}
        self._axes.add_patch(Ellipse(centre, width, height, zorder=5, **look))

    def cross(self, centre: Point) -> None:
        """Draw a cross over something that is wrong or missing."""
        look = {"color": _MARK, "marker": "x", "markersize": 11, "markeredgewidth": 2.4, "zorder": 5}
        self._axes.plot([centre[0]], [centre[1]], **look)

    def picture(self, *, subject: str, finding: str, readings: tuple[Reading, ...]) -> Picture:
        """Return the finished drawing with its words: pixels, and SVG that needs no other file and no font."""
        with house_style():
            self._drawing.draw(show=False)
            self._axes.set(xlim=self._x, ylim=self._y)
            self._axes.set_aspect("auto")
            self._axes.axis("off")
            canvas: Any = FigureCanvasAgg(self._figure)
            canvas.draw()
            pixels = png(np.asarray(canvas.buffer_rgba()))
        width, height = self._size
        words: dict[str, Any] = {"subject": subject, "finding": finding, "readings": readings}
        return Picture(png=pixels, svg=svg(self._figure), width=width, height=height, **words)
