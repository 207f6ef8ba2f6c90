"""Cards for the bench: which leg is which, and which holes of a breadboard are joined. Drawn by hand, not to scale."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, FancyBboxPatch, Rectangle

from labkit.errors import PartError
from labkit.figures.chart import INK, STYLES, house_style, svg
from labkit.figures.picture import Picture

__all__ = ["bench_card", "bench_cards"]

_FILL, _METAL = "#e6e6e6", "#bfbfbf"
_WORDS: dict[str, Any] = {"fontsize": 9, "ha": "center", "va": "center"}


def _body(axes: Axes, x: float, y: float, width: float, height: float, **look: Any) -> None:
    look = {"facecolor": _FILL, "edgecolor": INK, "linewidth": 1.2, **look}
    axes.add_patch(Rectangle((x, y), width, height, **look))


def _wire(axes: Axes, x: tuple[float, float], y: tuple[float, float], **look: Any) -> None:
    axes.plot(
        x, y, **{"color": INK, "linewidth": 2.5, "linestyle": "-", "marker": "", "solid_capstyle": "butt", **look}
    )


def _leg(axes: Axes, x: float, top: float, bottom: float, words: str = "") -> None:
    _wire(axes, (x, x), (top, bottom))
    axes.text(x, bottom - 0.35, words, **_WORDS)


def _power_mosfet(axes: Axes) -> None:
    _body(axes, -1.6, 1.7, 3.2, 1.1, facecolor=_METAL)
    axes.add_patch(Circle((0, 2.25), 0.28, facecolor="white", edgecolor=INK, linewidth=1.2))
    _body(axes, -1.6, 0.0, 3.2, 1.7)
    axes.text(0, 0.85, "print\ntowards you", **_WORDS)
    axes.text(1.8, 2.25, "metal tab:\ndrain too", **{**_WORDS, "ha": "left"})
    for x, words in ((-1.0, "gate"), (0.0, "drain"), (1.0, "source")):
        _leg(axes, x, 0.0, -1.5, words)


def _small_transistor(axes: Axes) -> None:
    axes.add_patch(Arc((0, 1.0), 2.4, 2.4, theta1=0, theta2=180, color=INK, linewidth=1.2))
    _wire(axes, (-1.2, 1.2), (1.0, 1.0), linewidth=1.2)
    axes.text(0, 1.7, "from above", **_WORDS)
    axes.text(0, 0.75, "flat side", **_WORDS)
    for x, words in ((-0.7, "1"), (0.0, "2"), (0.7, "3")):
        axes.add_patch(Circle((x, 1.2), 0.08, facecolor=INK))
        _leg(axes, x, 0.45, -0.9, words)
    axes.text(0, -1.9, "1, 2, 3 differ between types:\nread them in your part's data sheet", **_WORDS)


def _diode(axes: Axes) -> None:
    _wire(axes, (-3, -1.2), (0.5, 0.5))
    _wire(axes, (1.2, 3), (0.5, 0.5))
    _body(axes, -1.2, 0.0, 2.4, 1.0)
    _body(axes, 0.65, 0.0, 0.3, 1.0, facecolor=INK)
    axes.text(0.8, 1.35, "band: cathode", **_WORDS)
    axes.text(-2.2, 0.9, "anode", **_WORDS)
    axes.annotate("", (2.0, -0.6), (-2.0, -0.6), arrowprops={"arrowstyle": "-|>", "color": STYLES[1]["color"], "lw": 2})
    axes.text(0, -1.0, "the only way that it conducts", **_WORDS)
    axes.text(0, -1.6, "across a motor: band to the supply's +", **{**_WORDS, "fontweight": "bold"})


def _led(axes: Axes) -> None:
    axes.add_patch(Arc((0, 2.0), 1.8, 1.8, theta1=0, theta2=180, color=INK, linewidth=1.2))
    _body(axes, -0.9, 1.0, 1.8, 1.0)
    _body(axes, -1.1, 0.75, 2.0, 0.25)
    _wire(axes, (0.9, 0.9), (0.75, 1.0), linewidth=1.2)
    _leg(axes, -0.4, 0.75, -2.0, "long leg\n+ (anode)")
    _leg(axes, 0.4, 0.75, -1.2, "")
    axes.text(1.4, -1.0, "short leg, flat edge\n− (cathode)", **{**_WORDS, "ha": "left"})
    axes.text(1.4, 1.6, "always with a resistor", **{**_WORDS, "ha": "left"})


def _capacitor(axes: Axes) -> None:
    round_can = FancyBboxPatch((-0.9, 0.0), 1.8, 2.6, boxstyle="round,pad=0.02", facecolor=_FILL, edgecolor=INK)
    axes.add_patch(round_can)
    _body(axes, 0.35, 0.05, 0.35, 2.5, facecolor=_METAL)
    for y in (0.6, 1.3, 2.0):
        axes.text(0.53, y, "−", **_WORDS)
    _leg(axes, -0.4, 0.0, -1.6, "long leg\n+")
    _leg(axes, 0.5, 0.0, -1.1, "−")
    axes.text(1.4, 1.3, "stripe: −\nthe wrong way round it bursts:\neye protection", **{**_WORDS, "ha": "left"})


def _breadboard(axes: Axes) -> None:
    columns = 12
    joined = {"color": STYLES[1]["color"], "linewidth": 5, "alpha": 0.35, "solid_capstyle": "round"}
    for y in (4.4, 4.0, -2.4, -2.8):
        _wire(axes, (-3.3, 3.3), (y, y), **joined)
        axes.plot(
            [-3.3 + 0.6 * n for n in range(columns)], [y] * columns, color=INK, linestyle="", marker="o", markersize=3
        )
    for n in range(columns):
        x = -3.3 + 0.6 * n
        for first in (1.4, -1.8):
            rows = [first + 0.45 * row for row in range(5)]
            _wire(axes, (x, x), (rows[0], rows[-1]), **joined)
            axes.plot([x] * 5, rows, color=INK, linestyle="", marker="o", markersize=3)
    _body(axes, -3.6, 0.5, 7.2, 0.45, facecolor=_FILL, linewidth=0)
    axes.text(0, 0.72, "gap: the two halves are apart", **{**_WORDS, "fontsize": 8})
    axes.text(3.8, 4.2, "rails: one line each", **{**_WORDS, "ha": "left"})
    axes.text(3.8, 2.3, "five holes in a\ncolumn are one", **{**_WORDS, "ha": "left"})
    axes.text(3.8, -2.6, "some boards break\nthe rails half-way", **{**_WORDS, "ha": "left"})


def _motor(axes: Axes) -> None:
    _body(axes, -1.5, 0.0, 3.0, 1.8, facecolor=_METAL)
    _body(axes, 1.5, 0.7, 1.1, 0.4, facecolor=_FILL)
    for y, words in ((1.35, "+"), (0.45, "−")):
        _wire(axes, (-2.4, -1.5), (y, y))
        axes.text(-2.7, y, words, **_WORDS)
    axes.text(0, 0.9, "either way round:\nswap the leads and it turns\nthe other way", **{**_WORDS, "fontsize": 8})
    axes.text(0, -0.7, "diode and 100 nF straight at these two terminals", **_WORDS)
    axes.text(2.1, 1.5, "shaft", **_WORDS)


#: Name: how it is drawn, its limits, and what it says in words.
_CARDS: dict[str, tuple[Callable[[Axes], None], tuple[float, float, float, float], str]] = {
    "power MOSFET": (_power_mosfet, (-3.0, 4.4, -2.3, 3.0),
        ("Print towards you, legs down: gate left, drain in the middle, source right. The metal tab is the drain "
         "too, so it must touch nothing. Common practice, no source: your part's data sheet comes first.")),
    "small transistor": (_small_transistor, (-3.2, 3.2, -2.4, 2.5),
        "Which leg is which differs between types that look alike. Read it in the data sheet of your part."),
    "freewheel diode": (_diode, (-3.4, 3.4, -2.0, 1.8),
        "Current passes from the anode to the band, the cathode. Across a motor the band goes to the supply's +."),
    "LED": (_led, (-2.2, 5.4, -2.9, 3.2),
        "The long leg is +, the anode; the short one, at the flat edge, is −. Always with a resistor in series."),
    "electrolytic capacitor": (_capacitor, (-1.6, 6.4, -2.5, 3.0),
        "The stripe marks −; the long leg is +. The wrong way round, or above its voltage, it can burst."),
    "motor": (_motor, (-3.2, 3.2, -1.2, 2.4),
        "Its two terminals may be swapped: then it turns the other way. The diode and 100 nF sit straight at them."),
    "breadboard": (_breadboard, (-3.9, 8.6, -3.2, 4.8),
        "The holes of a rail are one line; five holes of a column are one; nothing crosses the gap in the middle."),
}  # fmt: skip


def bench_cards() -> tuple[str, ...]:
    """Return the names of the cards."""
    return tuple(_CARDS)


def bench_card(name: str) -> Picture:
    """Return a card to lay beside the parts: which leg is which.

    Parameters
    ----------
    name : str
        One of ``bench_cards()``.

    Returns
    -------
    Picture
        Drawn for this kit, not to scale; with its words as alternative text, and as SVG.

    Raises
    ------
    PartError
        When there is no such card; lists those that there are.

    Notes
    -----
    Legs are as most parts have them (common practice, no source). A part's own data sheet comes first.

    Examples
    --------
    >>> print(bench_card("freewheel diode").finding)
    Current passes from the anode to the band, the cathode. Across a motor the band goes to the supply's +.
    """
    if name not in _CARDS:
        raise PartError("name", f"one of {', '.join(_CARDS)}", repr(name), "Write one of these.")
    draw, (left, right, bottom, top), words = _CARDS[name]
    scale = 3.4 / (right - left)
    width, height = 3.4, (top - bottom) * scale
    with house_style():
        figure = Figure(figsize=(width, height))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set(xlim=(left, right), ylim=(bottom, top), aspect="equal")
        axes.set_axis_off()
        draw(axes)
        image = io.BytesIO()
        figure.savefig(image, format="png")
    return Picture(
        png=image.getvalue(),
        svg=svg(figure),
        width=round(100 * width),
        height=round(100 * height),
        subject=f"Card: {name}.",
        finding=words,
    )
