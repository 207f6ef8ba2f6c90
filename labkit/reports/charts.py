"""Small pictures for pages, as SVG in the page itself: text and lines take the page's own colours, light or dark.

Each has a sentence of alternative text that states what it shows; the numbers stand in a table beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape
from typing import NamedTuple

__all__ = ["CHART_STYLE", "Interval", "Point", "bars", "intervals", "scatter"]

#: For the page that a picture stands in.
CHART_STYLE = """
:root { --mark: #1b5e8a; --faint: #767676; --band: #1b5e8a22; }
@media (prefers-color-scheme: dark) { :root { --mark: #7db8e0; --faint: #949494; --band: #7db8e033; } }
@media print { :root { --mark: #1b5e8a; --faint: #767676; --band: #1b5e8a22; } }
svg { display: block; max-width: 100%; height: auto; margin: .5rem 0; font: 13px system-ui, sans-serif; }
svg text { fill: currentColor; }
""".strip()

_ROW = 24  #: pixels from one row to the next
_DASH = ' stroke-dasharray="4 3"'
_LETTER = 7.3  #: pixels that a letter takes at most, on average


def _svg(width: float, height: float, says: str, parts: Iterator[str]) -> str:
    return (
        f'<svg role="img" aria-label="{escape(says)}" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}">'
        f"{''.join(parts)}</svg>"
    )


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, *, dashed: bool = False) -> str:
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="var(--faint)"{_DASH if dashed else ""}/>'


def bars(says: str, rows: Sequence[tuple[str, int]]) -> str:
    """Return horizontal bars, one a row, each with its label before it and its number behind.

    Parameters
    ----------
    says : str
        The alternative text: what the picture shows.
    rows : sequence of (str, int)
    """
    left = 12 + _LETTER * max((len(label) for label, _ in rows), default=0)
    longest = max((number for _, number in rows), default=0) or 1

    def parts() -> Iterator[str]:
        for place, (label, number) in enumerate(rows):
            y, length = place * _ROW, 300 * number / longest
            yield _text(left - 8, y + 17, label, "end")
            yield f'<rect x="{left:.1f}" y="{y + 4}" width="{length:.1f}" height="{_ROW - 8}" fill="var(--mark)"/>'
            yield _text(left + length + 6, y + 17, str(number))
        yield _line(left, 0, left, _ROW * len(rows))

    return _svg(left + 350, _ROW * len(rows), says, parts())


class Point(NamedTuple):
    """A point with the few letters that name it."""

    x: float
    y: float
    name: str


def scatter(
    says: str,
    points: Sequence[Point],
    *,
    x: str,
    y: str,
    x_limits: Sequence[float],
    y_limits: Sequence[float],
) -> str:
    """Return named points on x from 0 to 1 and y from −1 to 1.

    Parameters
    ----------
    says : str
        The alternative text.
    points : sequence of Point
        Those at one place are named side by side.
    x, y : str
        What the axes show.
    x_limits, y_limits : sequence of float
        Where dashed lines stand.
    """
    left, top, wide, high = 60, 10, 420, 240
    lowest = 0.5 * math.floor(2 * min([0.0, *(point.y for point in points)]))

    def at(across: float, up: float) -> tuple[float, float]:
        return left + wide * across, top + high * (1 - up) / (1 - lowest)

    def parts() -> Iterator[str]:
        for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
            yield _text(at(tick, 0)[0], top + high + 18, f"{tick:g}", "middle")
        for tick in (-1.0, -0.5, 0.0, 0.5, 1.0):
            if tick >= lowest:
                yield _text(left - 8, at(0, tick)[1] + 4, f"{tick:g}".replace("-", "−"), "end")
        yield _line(left, top, left, top + high)
        yield _line(left, at(0, 0)[1], left + wide, at(0, 0)[1])
        yield from (_line(at(limit, 0)[0], top, at(limit, 0)[0], top + high, dashed=True) for limit in x_limits)
        yield from (_line(left, at(0, limit)[1], left + wide, at(0, limit)[1], dashed=True) for limit in y_limits)
        yield _text(left + wide / 2, top + high + 38, x, "middle")
        yield f'<text transform="translate(16 {top + high / 2}) rotate(-90)" text-anchor="middle">{escape(y)}</text>'
        together: dict[tuple[float, float], list[str]] = {}
        for point in points:
            together.setdefault((round(point.x, 2), round(point.y, 2)), []).append(point.name)
        dots = [at(across, up) for across, up in together]
        yield from (f'<circle cx="{px:.1f}" cy="{py:.1f}" r="5" fill="var(--mark)"/>' for px, py in dots)
        yield from _beside(dots, [", ".join(names) for names in together.values()])

    return _svg(left + wide + 60, top + high + 46, says, parts())


def _beside(dots: Sequence[tuple[float, float]], names: Sequence[str]) -> Iterator[str]:
    """Give each dot's name beside it, on the first of four sides where it covers neither dot nor name."""
    taken = [(x - 5, y - 5, x + 5, y + 5) for x, y in dots]
    for (x, y), name in zip(dots, names, strict=True):
        wide = _LETTER * len(name)
        sides = [(x + 8, y - 5), (x - 8 - wide, y - 5), (x + 8, y + 13), (x - 8 - wide, y + 13)]
        boxes = [(left, bottom - 10, left + wide, bottom) for left, bottom in sides]
        free = next((box for box in boxes if not any(_overlap(box, other) for other in taken)), boxes[0])
        taken.append(free)
        yield _text(free[0], free[3], name)


def _overlap(one: Sequence[float], other: Sequence[float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


class Interval(NamedTuple):
    """One row of a picture of intervals."""

    label: str
    value: float
    half: float
    #: What stands behind it, with its unit.
    words: str
    #: Drawn hollow: set aside.
    aside: bool = False


def intervals(says: str, rows: Sequence[Interval], *, middle: float, half: float) -> str:
    """Return values with their intervals on one scale, and the band of what they have in common.

    Parameters
    ----------
    says : str
        The alternative text.
    rows : sequence of Interval
    middle, half : float
        Of the band.
    """
    left = 16 + _LETTER * max((len(row.label) for row in rows), default=0)
    width, height = 320, _ROW * len(rows)
    low = min([middle - half, *(row.value - row.half for row in rows)])
    high = max([middle + half, *(row.value + row.half for row in rows)])
    room = 0.04 * (high - low) or abs(middle) or 1.0

    def at(value: float) -> float:
        return left + width * (value - low + room) / (high - low + 2 * room)

    def parts() -> Iterator[str]:
        yield (
            f'<rect x="{at(middle - half):.1f}" y="0" width="{at(middle + half) - at(middle - half):.1f}" '
            f'height="{height}" fill="var(--band)"/>'
        )
        yield _line(at(middle), 0, at(middle), height, dashed=True)
        for row, y in zip(rows, range(_ROW // 2, height, _ROW), strict=True):
            fill = "none" if row.aside else "var(--mark)"
            yield _text(left - 10, y + 4, row.label, "end")
            yield (
                f'<path d="M{at(row.value - row.half):.1f} {y}H{at(row.value + row.half):.1f}" '
                f'stroke="var(--mark)" stroke-width="2"{_DASH if row.aside else ""}/>'
            )
            place = f'cx="{at(row.value):.1f}" cy="{y}" r="5"'
            yield f'<circle {place} fill="{fill}" stroke="var(--mark)" stroke-width="2"/>'
            yield _text(left + width + 10, y + 4, row.words)

    longest = max((len(row.words) for row in rows), default=0)
    return _svg(left + width + 20 + _LETTER * longest, height, says, parts())
