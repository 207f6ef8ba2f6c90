"""Words painted from kept pixels: the same as words that are set anew, wherever they go."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from labkit.figures.lettering import Lettering

#: Two pictures of the same words may differ by so many of 255 levels, for the order in which half-tones are mixed.
ROUNDING = 3
BACKING = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.8}


@pytest.fixture
def sheet():
    """Return a canvas of 300 × 200 pixels with a grey ground, and words on it at a whole pixel."""
    figure = Figure(figsize=(3, 2), dpi=100, facecolor="#808080")
    canvas = FigureCanvasAgg(figure)
    words = figure.text(120, 90, "1.76 A at 4.94 V", transform=None, color="#a8400a", fontsize=9, bbox=BACKING)
    words.set_animated(True)
    canvas.draw()
    return canvas, words


def painted(canvas, draw):
    """Return the pixels after *draw* has painted on the ground."""
    ground = canvas.copy_from_bbox(canvas.figure.bbox)
    draw(canvas.get_renderer())
    pixels = np.array(canvas.buffer_rgba()).astype(int)
    canvas.restore_region(ground)
    return pixels


@pytest.mark.parametrize("side", ["left", "right", "center"])
def test_kept_words_look_like_words_set_anew(sheet, side):
    """On a grey ground, backing and half-tones included; the second time they come from pixels alone."""
    canvas, words = sheet
    words.set_horizontalalignment(side)
    lettering = Lettering()
    expected = painted(canvas, words.draw)

    for _ in range(2):
        assert np.max(np.abs(painted(canvas, lambda ink: lettering.draw(words, ink)) - expected)) <= ROUNDING
    assert np.ptp(expected[..., 0]) > 100


def test_moved_words_are_the_same_pixels_elsewhere(sheet):
    """To the right by 30 and up by 20 pixels, without setting them again."""
    canvas, words = sheet
    lettering = Lettering()
    here = painted(canvas, lambda ink: lettering.draw(words, ink))
    words.set_position((150, 110))

    there = painted(canvas, lambda ink: lettering.draw(words, ink))

    np.testing.assert_array_equal(there[:-20, 30:], here[20:, :-30])


@pytest.mark.parametrize("change", [{"text": "1.77 A"}, {"color": "black"}, {"fontsize": 12}, {"va": "top"}])
def test_other_words_are_set_anew(sheet, change):
    """Nothing of the former look stays."""
    canvas, words = sheet
    lettering = Lettering()
    before = painted(canvas, lambda ink: lettering.draw(words, ink))
    words.set(**change)

    after = painted(canvas, lambda ink: lettering.draw(words, ink))

    assert np.any(after != before)
    assert np.max(np.abs(after - painted(canvas, words.draw))) <= ROUNDING


def test_no_words_leave_no_mark(sheet):
    """An empty text paints nothing."""
    canvas, words = sheet
    words.set_text("")

    assert np.ptp(painted(canvas, lambda ink: Lettering().draw(words, ink))[..., 0]) == 0
