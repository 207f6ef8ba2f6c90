"""A small circuit on the axes of a chart: IEC 60617 symbols that stand still, and a live path that moves.

A wide band below the wires is the way that the current takes; one arrow on it says which way and how much.

Diagrams that stand still are drawn by ``schematic_sketch`` with a library's symbols.
Here each part must be artists of a chart, to be shown, hidden and painted within a frame; the library draws a whole
diagram at once, on a figure that it takes for its own, and brings pyplot with it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle

from labkit.figures.chart import INK, STYLES, Chart

__all__ = ["Circuit", "Point"]

Point = tuple[float, float]

_WIDTH = 1.3
_LIVE = str(STYLES[1]["color"])


class Circuit:
    """Symbols, wires and the live path on one pair of axes, in units of the drawing.

    Parameters
    ----------
    chart : Chart
        That the axes belong to.
    axes : Axes
    x, y : pair of float
        What of the plane is seen.
    """

    def __init__(self, chart: Chart, axes: Axes, *, x: tuple[float, float], y: tuple[float, float]) -> None:
        axes.set(xlim=x, ylim=y, aspect="equal")
        axes.set_axis_off()
        self.axes = axes
        look: dict[str, Any] = {"alpha": 0.3, "linewidth": 8, "solid_joinstyle": "round", "zorder": 0.5}
        self._path = chart.line(axes, 1, **{**look, "linestyle": "-"})
        look = {"arrowstyle": "-|>", "mutation_scale": 13, "color": _LIVE, "linewidth": 2.2, "zorder": 5}
        arrow = FancyArrowPatch((0, 0), (0, 0), **look)
        axes.add_patch(arrow)
        self._arrow = chart.moving(arrow)
        self._amps = chart.words(axes, 1, fontsize=9, fontweight="bold", va="center")

    def flows(self, path: list[Point], arrow: tuple[Point, Point], text: str, at: Point, *, side: str = "left") -> None:
        """Show that a current flows along *path*, with one arrow, and *text* with its *side* at a place."""
        for artist in (self._path, self._arrow):
            artist.set_visible(bool(path))
        if path:
            self._path.set_data(*np.transpose(path))
            self._arrow.set_positions(*arrow)
        self._amps.set(position=at, text=text, horizontalalignment=side)

    def wire(self, *points: Point, style: str = "-", width: float = _WIDTH) -> list[Artist]:
        """Draw a wire, or another line, through *points*."""
        look: dict[str, Any] = {"color": INK, "linewidth": width, "linestyle": style, "marker": ""}
        return [*self.axes.plot(*np.transpose(points), **look)]

    def joint(self, *points: Point) -> list[Artist]:
        """Draw a joint of wires at each of *points*."""
        return [*self.axes.plot(*np.transpose(points), color=INK, marker="o", markersize=4, linestyle="", zorder=4)]

    def words(self, at: Point, text: str, *, side: str = "left", **look: Any) -> list[Artist]:
        """Write *text* with its *side* at a place."""
        return [self.axes.text(*at, text, **{"ha": side, "va": "center", "fontsize": 8, **look})]

    def battery(self, bottom: Point, top: Point) -> list[Artist]:
        """Draw a cell from - to +, upright."""
        x, low, high = bottom[0], bottom[1], top[1]
        middle = (low + high) / 2
        return [
            *self.wire(bottom, (x, middle - 0.12)),
            *self.wire((x, middle + 0.12), top),
            *self.wire((x - 0.45, middle + 0.12), (x + 0.45, middle + 0.12)),
            *self.wire((x - 0.22, middle - 0.12), (x + 0.22, middle - 0.12), width=3),
            *self.words((x - 0.35, middle + 0.5), "+", side="center"),
        ]

    def box(self, corner: Point, width: float, height: float, **look: Any) -> list[Artist]:
        """Draw a box: a resistor's body, or something that is not looked into."""
        face = {"facecolor": "white", "edgecolor": INK, "linewidth": _WIDTH, "zorder": 3, **look}
        return [self.axes.add_patch(Rectangle(corner, width, height, **face))]

    def resistor(self, start: Point, end: Point) -> list[Artist]:
        """Draw a resistor between two points, upright or lying."""
        (x, y), upright = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2), start[0] == end[0]
        across, along = 0.4, 1.0
        width, height = (across, along) if upright else (along, across)
        return [*self.wire(start, end), *self.box((x - width / 2, y - height / 2), width, height)]

    def motor(self, top: Point, bottom: Point) -> list[Artist]:
        """Draw a motor between its + terminal and the other, upright."""
        centre = (top[0], (top[1] + bottom[1]) / 2)
        circle = Circle(centre, 0.62, facecolor="white", edgecolor=INK, linewidth=_WIDTH, zorder=3)
        return [
            *self.wire(top, bottom),
            self.axes.add_patch(circle),
            *self.words(centre, "M", side="center", fontsize=10, zorder=4),
        ]

    def diode(self, anode: Point, cathode: Point) -> list[Artist]:
        """Draw an upright diode, its band towards the cathode."""
        x, y = anode[0], (anode[1] + cathode[1]) / 2
        up = 0.35 if cathode[1] > anode[1] else -0.35
        body = Polygon(
            [(x - 0.42, y - up), (x + 0.42, y - up), (x, y + up)],
            facecolor="white", edgecolor=INK, linewidth=_WIDTH, zorder=3,
        )  # fmt: skip
        band = self.wire((x - 0.42, y + up), (x + 0.42, y + up), width=2.4)
        return [*self.wire(anode, cathode), self.axes.add_patch(body), *band]

    def capacitor(self, top: Point, bottom: Point) -> list[Artist]:
        """Draw a capacitor, upright."""
        x, middle = top[0], (top[1] + bottom[1]) / 2
        return [
            *self.wire(top, (x, middle + 0.12)),
            *self.wire((x, middle - 0.12), bottom),
            *(line for y in (-0.12, 0.12) for line in self.wire((x - 0.4, middle + y), (x + 0.4, middle + y), width=2)),
        ]

    @staticmethod
    def gate(drain: Point, source: Point) -> Point:
        """Return where the lead of gate or base of a transistor ends."""
        return drain[0] - 1.15, (drain[1] + source[1]) / 2 - 0.5

    def mosfet(self, drain: Point, source: Point) -> list[Artist]:
        """Draw an N-channel MOSFET of the enhancement kind, upright, its gate to the left."""
        x, middle = drain[0], (drain[1] + source[1]) / 2
        plate, gate = x - 0.55, self.gate(drain, source)
        arrow = [(plate + 0.05, middle), (plate + 0.32, middle + 0.13), (plate + 0.32, middle - 0.13)]
        return [
            # the channel is broken: it conducts only while the gate opens it
            *(line for y in (0.5, 0.0, -0.5) for line in self._channel(plate, middle + y)),
            *self.wire((plate, middle + 0.5), (x, middle + 0.5), drain),
            *self.wire((plate, middle - 0.5), (x, middle - 0.5), source),
            *self.wire((plate, middle), (x, middle), (x, middle - 0.5)),
            *self.wire((plate - 0.2, middle + 0.5), (plate - 0.2, middle - 0.5), gate),
            self.axes.add_patch(Polygon(arrow, color=INK)),
        ]

    def _channel(self, x: float, y: float) -> list[Artist]:
        return self.wire((x, y - 0.18), (x, y + 0.18), width=2)

    def bipolar(self, collector: Point, emitter: Point) -> list[Artist]:
        """Draw an NPN transistor, upright, its base to the left."""
        x, middle = collector[0], (collector[1] + emitter[1]) / 2 - 0.5
        bar, base = x - 0.6, self.gate(collector, emitter)
        arrow = [(x - 0.02, middle - 0.56), (x - 0.3, middle - 0.44), (x - 0.16, middle - 0.2)]
        return [
            *self.wire(base, (bar, middle)),
            *self.wire((bar, middle - 0.5), (bar, middle + 0.5), width=3),
            *self.wire((bar, middle + 0.2), (x, middle + 0.6), collector),
            *self.wire((bar, middle - 0.2), (x, middle - 0.6), emitter),
            self.axes.add_patch(Polygon(arrow, color=INK)),
        ]
