"""The house style, and the figure that is moved instead of rebuilt."""

import io
import itertools
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from PIL import Image

from labkit.figures import STYLES, Chart, house_style
from labkit.figures.chart import beside, nice_limit, png


class Rising(Chart):
    """One line through the origin, of a slope that is set."""

    def __init__(self):
        super().__init__(3, 2)
        with house_style():
            self.axes = self.figure.subplots()
        self.rise = self.line(self.axes, 0)
        self.name = self.words(self.axes, 0)

    def draw(self, slope, top=10.0):
        """Return the picture at that slope."""
        self.limits(self.axes, x=(0.0, 1.0), y=(0.0, top))
        self.rise.set_data([0.0, 1.0], [0.0, slope])
        beside(self.name, 1.0, slope, f"{slope}")
        return self.png()


def pixels(data):
    """Return a PNG as an array, by a decoder that is not ours."""
    return np.asarray(Image.open(io.BytesIO(data)))


def luminance(colour):
    """Return the relative luminance of a colour (WCAG 2.2)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style["color"])
def test_every_colour_can_be_read_as_text_on_white(style):
    """Direct labels wear their line's colour, so each has a contrast of 4.5:1 or more (WCAG 2.2, 1.4.3)."""
    assert 1.05 / (luminance(style["color"]) + 0.05) >= 4.5


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(STYLES, 2)))
def test_no_two_lines_differ_by_colour_alone(one, other):
    """Printed grey or seen by a colour-blind reader, dash and marker still tell them apart."""
    assert one["linestyle"] != other["linestyle"]
    assert one["marker"] != other["marker"]


@pytest.mark.parametrize("value", [1e-9, 0.02, 0.999, 1.0, 1.01, 2.4, 9.99, 12345.0])
def test_a_limit_is_above_its_value_and_not_far(value):
    """Nothing is cut off, and at least two thirds of the height is used."""
    limit = nice_limit(value)

    assert value <= limit * (1 + 1e-9)
    assert value >= 0.66 * limit


def test_the_png_decodes_to_the_pixels():
    """Another decoder gives back every pixel, so the fast encoder loses nothing."""
    rng = np.random.default_rng(7)
    picture = rng.integers(0, 256, (17, 23, 4), dtype=np.uint8)

    np.testing.assert_array_equal(pixels(png(picture)), picture)


def test_a_moved_picture_keeps_nothing_of_the_one_before():
    """There and back again gives the very same picture."""
    chart = Rising()
    first, other = chart.draw(4.0), chart.draw(8.0)

    assert chart.draw(4.0) == first
    assert other != first


def test_a_move_draws_no_new_ground():
    """Axes and ticks are drawn once for each pair of limits, however often the line moves."""
    chart, drawn = Rising(), []
    draw = chart.canvas.draw
    chart.canvas.draw = lambda: drawn.append(1) or draw()
    for slope in (1.0, 2.0, 3.0):
        chart.draw(slope)
    assert len(drawn) == 1

    chart.draw(1.0, top=20.0)
    chart.draw(1.0)

    assert len(drawn) == 2


def test_words_stay_inside_their_axes():
    """A label beside a dot at the right edge stands to the left of it."""
    chart = Rising()
    chart.draw(9.9)

    assert chart.name.get_horizontalalignment() == "right"
    assert chart.name.get_position()[0] < 1.0
    assert chart.name.get_position()[1] < 10.0


def test_the_picture_for_paper_has_what_moves_in_it():
    """Of the same line at two places the SVG differs, is made alike twice, and the moved picture stays as it was."""
    chart = Rising()
    pixels_before, low = chart.draw(4.0), chart.svg()
    again = chart.svg()
    chart.draw(8.0)

    assert low == again
    assert chart.svg() != low
    assert chart.draw(4.0) == pixels_before


def test_the_picture_for_paper_needs_nothing_else():
    """No font, no pixels and no link: letters are outlines, and every reference stays inside."""
    chart = Rising()
    chart.draw(4.0)
    root = ET.fromstring(chart.svg())
    names = {element.tag.rpartition("}")[2] for element in root.iter()}
    links = [value for element in root.iter() for name, value in element.attrib.items() if name.endswith("href")]

    assert "path" in names
    assert not names & {"image", "script", "text", "font"}
    assert all(link.startswith("#") for link in links)
