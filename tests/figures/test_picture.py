"""A picture's words and numbers, as HTML."""

import numpy as np

from labkit import Q_
from labkit.figures import Picture, Reading, Table


def picture(**changes):
    """Return a picture with what matters here."""
    table = Table("Climb", (("time", Q_(np.arange(100.0), "s"), "s"), ("speed", Q_(np.arange(100.0), "rpm"), "rpm")))
    fields = {
        "png": b"\x89PNG",
        "width": 640,
        "height": 420,
        "subject": "Speed against time.",
        "finding": "It rises & rises.",
        "readings": (Reading("Current", Q_(0.45, "A")), Reading("Speed", Q_(3000, "rpm"), "rad/s")),
        "tables": (table,),
    }
    return Picture(**fields | changes)


def test_the_alternative_text_says_what_is_drawn_and_what_it_shows():
    """A reader who sees nothing gets subject and finding, in the image itself."""
    html = picture().to_html()

    assert 'alt="Speed against time. It rises &amp; rises."' in html
    assert "<figcaption>It rises &amp; rises.</figcaption>" in html


def test_every_number_has_its_unit():
    """Readings are written with prefix and unit, columns name theirs in the heading."""
    html = picture().to_html()

    assert '<th scope="row">Current</th><td>450 mA</td>' in html
    assert "<td>314 rad/s</td>" in html
    assert '<th scope="col">speed (rpm)</th>' in html


def test_a_long_curve_is_thinned_but_keeps_both_ends():
    """A hundred points come as a dozen rows, the first and the last among them."""
    html = picture().to_html()

    assert html.count("<tr><td>") == 13
    assert "<tr><td>0</td><td>0</td></tr>" in html
    assert "<tr><td>99.0</td><td>99.0</td></tr>" in html


def test_the_text_form_is_the_alternative_text():
    """In a terminal a picture says what it shows."""
    assert repr(picture()) == "Picture: Speed against time. It rises & rises."
