"""Words kept as pixels: setting type costs most in a picture, and most of its words stay from one move to the next."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.text import Text
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray

__all__ = ["Lettering"]

#: All the words of a slider's hundred stops, about 15 kB each.
_MOST = 1024
#: Pixels around the words, for what backs them.
_MARGIN = 8
#: Width and height of the paper that words are set on, in pixels; larger words get a larger one.
_PAPER = (480, 80)


class Lettering:
    """Draws words, to the nearest whole pixel, from what was set before."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], tuple[NDArray[np.uint8], int, int]] = {}
        self._paper: Any = None

    def draw(self, words: Text, renderer: Any) -> None:
        """Draw *words* at their place."""
        if not words.get_text():
            return
        look = _look(words)
        if look not in self._kept:
            if len(self._kept) == _MOST:
                del self._kept[next(iter(self._kept))]
            self._kept[look] = self._set(words, renderer.dpi)
        pixels, left, bottom = self._kept[look]
        x, y = (round(float(place)) for place in _place(words))
        renderer.draw_image(renderer.new_gc(), x + left, y + bottom, pixels)

    def _set(self, words: Text, dpi: float) -> tuple[NDArray[np.uint8], int, int]:
        """Return the pixels of *words*, and where their lower left corner lies from the words' own place.

        Words are measured and drawn on one paper: matplotlib keeps what it measured as long as that is the same.
        """
        paper = self._paper_of(*_PAPER, dpi)
        x, y = _place(words)
        extent = words.get_window_extent(paper)
        left, bottom = (int(np.floor(low - at)) - _MARGIN for low, at in ((extent.x0, x), (extent.y0, y)))
        width, height = (int(np.ceil(size)) + 2 * _MARGIN for size in (extent.width, extent.height))
        paper = self._paper_of(width, height, dpi)
        paper.clear()
        transform = words.get_transform()
        words.set_transform(transform + Affine2D().translate(-left - x, -bottom - y))
        words.draw(paper)
        words.set_transform(transform)
        return np.array(paper.buffer_rgba())[: -height - 1 : -1, :width], left, bottom

    def _paper_of(self, width: int, height: int, dpi: float) -> Any:
        """Return the paper, a new one where that at hand is too small or of another fineness."""
        old = self._paper
        if old is None or old.dpi != dpi or old.width < width or old.height < height:
            wide, high = (width, height) if old is None else (max(width, old.width), max(height, old.height))
            self._paper = RendererAgg(wide, high, dpi)  # type: ignore[no-untyped-call] # matplotlib has none
        return self._paper


def _look(words: Text) -> tuple[object, ...]:
    """Return all that tells the pixels of *words*, their place apart."""
    return (
        words.get_text(), words.get_color(), words.get_fontsize(), words.get_fontweight(), words.get_rotation(),
        words.get_horizontalalignment(), words.get_verticalalignment(), words.get_bbox_patch() is not None,
    )  # fmt: skip


def _place(words: Text) -> NDArray[np.float64]:
    return np.asarray(words.get_transform().transform(words.get_unitless_position()), dtype=np.float64)
