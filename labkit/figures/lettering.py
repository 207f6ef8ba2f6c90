"""Words kept as pixels: setting type costs most in a picture, and most of its words stay from one move to the next."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.text import Text
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray

__all__ = ["Lettering"]

_MOST = 256
#: Pixels around the words, for what backs them.
_MARGIN = 8


class Lettering:
    """Draws words, to the nearest whole pixel, from what was set before."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], tuple[NDArray[np.uint8], int, int]] = {}

    def draw(self, words: Text, renderer: Any) -> None:
        """Draw *words* at their place."""
        if not words.get_text():
            return
        look = _look(words)
        if look not in self._kept:
            if len(self._kept) == _MOST:
                del self._kept[next(iter(self._kept))]
            self._kept[look] = _set(words, renderer)
        pixels, left, bottom = self._kept[look]
        x, y = (round(float(place)) for place in _place(words))
        renderer.draw_image(renderer.new_gc(), x + left, y + bottom, pixels)


def _look(words: Text) -> tuple[object, ...]:
    """Return all that tells the pixels of *words*, their place apart."""
    return (
        words.get_text(), words.get_color(), words.get_fontsize(), words.get_fontweight(), words.get_rotation(),
        words.get_horizontalalignment(), words.get_verticalalignment(), words.get_bbox_patch() is not None,
    )  # fmt: skip


def _place(words: Text) -> NDArray[np.float64]:
    return np.asarray(words.get_transform().transform(words.get_unitless_position()), dtype=np.float64)


def _set(words: Text, renderer: Any) -> tuple[NDArray[np.uint8], int, int]:
    """Return the pixels of *words*, and where their lower left corner lies from the words' own place."""
    x, y = _place(words)
    extent = words.get_window_extent(renderer)
    left, bottom = (int(np.floor(low - at)) - _MARGIN for low, at in ((extent.x0, x), (extent.y0, y)))
    width, height = (int(np.ceil(size)) + 2 * _MARGIN for size in (extent.width, extent.height))
    paper: Any = RendererAgg(width, height, renderer.dpi)  # type: ignore[no-untyped-call] # matplotlib has none
    transform = words.get_transform()
    words.set_transform(transform + Affine2D().translate(-left - x, -bottom - y))
    words.draw(paper)
    words.set_transform(transform)
    return np.array(paper.buffer_rgba())[::-1], left, bottom
