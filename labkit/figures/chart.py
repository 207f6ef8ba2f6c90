"""A figure that is built once and then only moved.

Axes, ticks, grid and words that stand still are drawn once and kept as pixels.
For each new result the moving artists are painted over that ground, and the pixels are packed into a PNG.
Words are set once and then painted from pixels as well.
Only limits of an axis that were not met lately draw the ground again.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

import matplotlib as mpl
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from numpy.typing import NDArray

from labkit.figures.lettering import Lettering
from labkit.figures.picture import Picture, Reading, Table
from labkit.units import Quantity

__all__ = [
    "GREY",
    "INK",
    "STYLES",
    "Chart",
    "beside",
    "decades",
    "first_above",
    "house_style",
    "nice_limit",
    "png",
    "svg",
    "time_axis",
    "write",
]

A = TypeVar("A", bound=Artist)

_RULES = mpl.rc_params_from_file(Path(str(files("labkit") / "data" / "labkit.mplstyle")), use_default_template=False)

#: Colour, dash and marker of the first, second, third and fourth thing in a picture.
STYLES: tuple[dict[str, Any], ...] = tuple(
    {"color": f"#{entry['color'].lstrip('#')}", "linestyle": entry["linestyle"], "marker": entry["marker"]}
    for entry in _RULES["axes.prop_cycle"]
)

#: What symbols and words are drawn in, and what steps back behind them.
INK, GREY = "#1a1a1a", "#595959"

_ROUND = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
#: How many still grounds a figure keeps, packed to about 60 kB each: mostly white, they shrink by forty.
_MOST_GROUNDS = 64
#: Keeps words readable where a line passes behind them.
_BACKING = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.8}


@contextmanager
def house_style() -> Iterator[None]:
    """Draw in the kit's own style inside this block."""
    with mpl.rc_context(_RULES):
        yield


def nice_limit(value: float) -> float:
    """Return a round number at or a little above *value*: a limit that seldom moves.

    >>> nice_limit(0.43), nice_limit(2.1), nice_limit(0.0)
    (0.5, 2.5, 1.0)
    """
    if value <= 0 or not np.isfinite(value):
        return 1.0
    scale = 10.0 ** np.floor(np.log10(value))
    return float(next(s for s in _ROUND if s * scale >= value * (1 - 1e-9)) * scale)


def first_above(value: float, ends: tuple[float, ...]) -> float:
    """Return the first of a few ends of an axis that is not below *value*: few, so that each is drawn but once.

    >>> first_above(0.7, (0.5, 1.0, 2.0)), first_above(3.0, (0.5, 1.0, 2.0))
    (1.0, 2.0)
    """
    return next((end for end in ends if end >= value), ends[-1])


class Chart:
    """The root of all pictures that move: one figure, its still ground and its moving artists.

    Parameters
    ----------
    width, height : float
        Size in hundreds of CSS pixels: 6.4 is shown 640 pixels wide.
    """

    def __init__(self, width: float, height: float) -> None:
        with house_style():
            self.figure = Figure(figsize=(width, height), layout="constrained")
        self.canvas: Any = FigureCanvasAgg(self.figure)  # its methods have no types
        self.size = (round(100 * width), round(100 * height))
        self._moving: list[Artist] = []
        self._grounds: dict[tuple[float, ...], bytes] = {}
        #: The ground of the present limits, unpacked.
        self._ground: tuple[tuple[float, ...], NDArray[np.uint8]] = ((), np.empty(0, np.uint8))
        self._lettering = Lettering()

    def moving(self, artist: A) -> A:
        """Take *artist* out of the still ground; it is painted anew for each result."""
        artist.set_animated(True)
        self._moving.append(artist)
        return artist

    def all_moving(self, artists: Iterable[A]) -> list[A]:
        """Take the artists that make up one thing out of the still ground."""
        return [self.moving(artist) for artist in artists]

    def line(self, axes: Axes, style: int, **changes: Any) -> Line2D:
        """Return a moving line in the given style of the house, without points yet and without markers."""
        (line,) = axes.plot([], [], **{**STYLES[style], "marker": "", **changes})
        return self.moving(line)

    def dot(self, axes: Axes, style: int, **changes: Any) -> Line2D:
        """Return a moving marker for the present setting, in the given style of the house."""
        look = {**STYLES[style], "linestyle": "", "markeredgecolor": "white", "markersize": 9, "zorder": 5}
        (dot,) = axes.plot([], [], **{**look, **changes})
        return self.moving(dot)

    def words(self, axes: Axes, style: int | None = None, **look: Any) -> Text:
        """Return moving words; in the colour of a style they name its line."""
        colour = {} if style is None else {"color": STYLES[style]["color"]}
        return self.moving(axes.text(0, 0, "", **{"fontsize": 8.5, "bbox": _BACKING, **colour, **look}))

    @staticmethod
    def limits(axes: Axes, *, x: tuple[float, float] | None = None, y: tuple[float, float] | None = None) -> None:
        """Set an axis' limits, best such as seldom change."""
        if x is not None and axes.get_xlim() != x:
            axes.set_xlim(*x)
        if y is not None and axes.get_ylim() != y:
            axes.set_ylim(*y)

    def picture(
        self,
        *,
        subject: str,
        finding: str,
        readings: tuple[Reading, ...] = (),
        tables: tuple[Table, ...] = (),
        vector: bool = False,
    ) -> Picture:
        """Return the picture as it stands now, with its words and numbers; as SVG too where *vector* says so."""
        return Picture(
            png=self.png(),
            svg=self.svg() if vector else "",
            width=self.size[0],
            height=self.size[1],
            subject=subject,
            finding=finding,
            readings=readings,
            tables=tables,
        )

    def svg(self) -> str:
        """Return the picture as it stands now as SVG: for paper, since it takes longer than a move may."""
        for artist in self._moving:
            artist.set_animated(False)
        drawing = svg(self.figure)
        for artist in self._moving:
            artist.set_animated(True)
        return drawing

    def png(self) -> bytes:
        """Return the picture as it stands now, as pixels."""
        ground = self._at_these_limits()
        renderer = self.canvas.get_renderer()
        pixels = np.asarray(self.canvas.buffer_rgba())
        pixels[:] = ground
        for artist in self._moving:
            if not artist.get_visible():
                continue
            if type(artist) is Text:
                self._lettering.draw(artist, renderer)
            else:
                artist.draw(renderer)
        return png(pixels)

    def _at_these_limits(self) -> NDArray[np.uint8]:
        """Return the pixels that stand still, drawn now or kept from an earlier time that the axes had these limits."""
        limits = tuple(float(end) for axes in self.figure.axes for end in (*axes.get_xlim(), *axes.get_ylim()))
        if self._ground[0] != limits:
            packed = self._grounds.pop(limits, None) or zlib.compress(self._draw_ground(), level=1)
            self._grounds[limits] = packed
            if len(self._grounds) > _MOST_GROUNDS:
                del self._grounds[next(iter(self._grounds))]  # the one that was not used for longest
            shape = np.asarray(self.canvas.buffer_rgba()).shape
            self._ground = limits, np.frombuffer(zlib.decompress(packed), np.uint8).reshape(shape)
        return self._ground[1]

    def _draw_ground(self) -> bytes:
        with house_style():
            self.canvas.draw()
            if self.figure.get_layout_engine() is not None:
                self.figure.set_layout_engine("none")  # laid out once; later draws keep the places
        return bytes(np.asarray(self.canvas.buffer_rgba()).tobytes())


def write(words: Text, x: float, y: float, text: str) -> None:
    """Put *text* at a place of the words' axes."""
    words.set_position((x, y))
    words.set_text(text)


def beside(words: Text, x: float, y: float, text: str) -> None:
    """Put *text* beside a dot, on the side where there is room in its axes."""
    axes: Any = words.axes
    (low, high), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    to_left = x > low + 0.45 * (high - low)
    words.set_horizontalalignment("right" if to_left else "left")
    across, up = 0.03 * (high - low), 0.03 * (top - bottom)
    write(words, x - across if to_left else x + across, min(y + up, top - 3 * up), text)


def time_axis(axes: Axes, ticks: Mapping[int, str], last: float) -> None:
    """Give every factor of ten of time the same room, from the first of the *ticks* to *last* [s].

    Parameters
    ----------
    ticks : dict of int to str
        Powers of ten of a second, and how each is written.
    """
    axes.set(xlim=(min(ticks), np.log10(last)), xticks=list(ticks), xticklabels=list(ticks.values()))


def decades(time: Quantity) -> NDArray[np.float64]:
    """Return times as places on such an axis: powers of ten of a second, in their own shape."""
    return np.asarray(np.log10(time.m_as("s")))


def svg(figure: Figure) -> str:
    """Return a figure as SVG that needs no other file and no font, the same each time."""
    drawing = io.StringIO()
    with house_style():
        figure.savefig(drawing, format="svg", metadata={"Date": None})
    return drawing.getvalue()


def png(pixels: NDArray[np.uint8]) -> bytes:
    """Pack opaque pixels of shape (height, width, 4) into a PNG: three times faster than a general encoder.

    Each row is stored as its difference from the row above, which is zero over most of a line drawing.
    """
    height, width, channels = pixels.shape
    flat = pixels.reshape(height, width * channels)
    rows = np.empty((height, 1 + flat.shape[1]), np.uint8)
    rows[:, 0] = 2  # the filter "up"
    rows[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=rows[1:, 1:])
    header = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    body = zlib.compress(rows.data, level=1)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", body) + _chunk(b"IEND", b"")


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(kind)))
