"""Lying bars on the axes of a chart: built once and then moved, as everything else on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes

from labkit.figures.chart import STYLES, Chart, write
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["Bars"]


class Bars:
    """Bars below each other, each with its name before it and its size in words behind it.

    Parameters
    ----------
    chart : Chart
        That the axes belong to.
    axes : Axes
    names : sequence of str
        From the top down.
    colour : colour, or one for each bar
    **look
        Of the words.
    """

    def __init__(
        self, chart: Chart, axes: Axes, names: Sequence[str], *, colour: Any = STYLES[1]["color"], **look: Any
    ) -> None:
        count = len(names)
        axes.set_yticks(range(count), labels=list(names))
        axes.set_ylim(count - 0.4, -0.6)
        axes.grid(visible=False, axis="y")
        self.bars: list[Any] = chart.all_moving(axes.barh(range(count), [0.0] * count, height=0.6, color=colour))
        self.words = [chart.words(axes, va="center", **look) for _ in names]

    def move(self, sizes: Sequence[Quantity], unit: str, *, gap: float) -> None:
        """Give each bar the length of its size and the size in words, a *gap* behind it; both in *unit*, the axis'."""
        self.set([float(size.m_as(unit)) for size in sizes], [show(size) for size in sizes], gap=gap)

    def set(self, lengths: Sequence[float], texts: Sequence[str], *, gap: float) -> None:
        """Give each bar a length and its words, where an axis or the words say something else than the sizes."""
        for place, (bar, words, length, text) in enumerate(zip(self.bars, self.words, lengths, texts, strict=True)):
            bar.set_width(length)
            write(words, length + gap, place, text)
