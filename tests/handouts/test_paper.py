"""Handouts as PDF: a fraction is read off the rendered page, alternative texts are in the file, nothing is fetched."""

import ctypes
import http.server
import sys
import threading

import numpy as np
import pypdfium2 as pdfium
import pytest
from pypdfium2 import raw

from labkit import derivation, desk_wind_tunnel, schematic
from labkit.errors import HandoutError
from labkit.handouts import Handout, paper, write_handout
from labkit.handouts.paper import pdf_by_browser, pdf_by_library
from labkit.reports.page import page
from labkit.symbolic.html import formula

SCALE = 6


@pytest.fixture(scope="module", params=["browser", "library"])
def print_page(request, needs):
    """Return a function that makes a PDF of a page: by Chromium, or by the library that takes its place."""
    if request.param == "library":
        return pdf_by_library
    program = needs("chromium")
    return lambda html: pdf_by_browser(html, program)


def dark(data):
    """Return a PDF's first page as an array that is true where there is ink."""
    document = pdfium.PdfDocument(data)
    pixels = np.asarray(document[0].render(scale=SCALE, grayscale=True).to_pil()) < 128
    document.close()
    return pixels


def longest_run(row):
    """Return start and length of the longest run of ink in a row."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    starts, lengths = edges[::2], edges[1::2] - edges[::2]
    best = int(np.argmax(lengths)) if lengths.size else 0
    return (int(starts[best]), int(lengths[best])) if lengths.size else (0, 0)


def ink_width(pixels):
    """Return how wide the ink in a stretch of page is."""
    columns = np.flatnonzero(pixels.any(axis=0))
    return int(columns[-1] - columns[0]) if columns.size else 0


def test_a_fraction_stands_as_a_fraction(print_page):
    """I = k·ω/(R + R_L): below the heading there is one bar, the short numerator above it, the long denominator below.

    A library that sets fractions wrongly prints numerator and denominator in one line, without a bar.
    """
    result = derivation("generator current into a resistor").result
    pixels = dark(print_page(page("T", f"<p>{formula(result)}</p>")))
    rows = [longest_run(row) for row in pixels]
    below_heading = next(y for y in range(len(rows)) if pixels[y].any()) + 40 * SCALE
    y = max(range(below_heading, len(rows)), key=lambda row: rows[row][1])
    start, length = rows[y]
    reach, thickness = 14 * SCALE, 3 * SCALE
    above = pixels[y - reach : y - thickness, start : start + length]
    below = pixels[y + thickness : y + reach, start : start + length]

    assert length > 20 * SCALE
    assert 0 < ink_width(above) < 0.75 * ink_width(below) <= length
    outside = pixels[y - reach : y + reach, start + length + SCALE :]
    assert not outside.any()  # nothing of it stands beside the bar


def test_the_browsers_signs_stand_where_they_belong(needs):
    """The same by the places of its signs: the · of k·ω above the + of R + R_L, the = before both and between them."""
    result = derivation("generator current into a resistor").result
    document = pdfium.PdfDocument(pdf_by_browser(page("T", f"<p>{formula(result)}</p>"), needs("chromium")))
    text = document[0].get_textpage()
    places = {text.get_text_range(index, 1): text.get_charbox(index) for index in range(text.count_chars())}
    (_, dot, _, _), (left, _, _, plus), (_, low, right, high) = (places[sign] for sign in "·+=")
    document.close()

    assert plus < low < high < dot
    assert right < left


def alternative_texts(data):
    """Return the alternative texts in a tagged PDF's structure."""
    document = pdfium.PdfDocument(data)
    found = []

    def visit(element):
        size = raw.FPDF_StructElement_GetAltText(element, None, 0)
        if size:
            buffer = ctypes.create_string_buffer(size)
            raw.FPDF_StructElement_GetAltText(element, buffer, size)
            found.append(buffer.raw.decode("utf-16-le").rstrip("\0"))
        for child in range(raw.FPDF_StructElement_CountChildren(element)):
            inner = raw.FPDF_StructElement_GetChildAtIndex(element, child)
            if inner:
                visit(inner)

    for number in range(len(document)):
        sheet = document[number]
        tree = raw.FPDF_StructTree_GetForPage(sheet)
        for child in range(raw.FPDF_StructTree_CountChildren(tree)):
            visit(raw.FPDF_StructTree_GetChildAtIndex(tree, child))
        raw.FPDF_StructTree_Close(tree)
        sheet.close()
    document.close()
    return found


def test_a_pictures_words_are_in_the_file(print_page):
    """A circuit diagram in a PDF says to a screen reader what it shows."""
    picture = schematic(desk_wind_tunnel())

    assert picture.alt in alternative_texts(print_page(page("T", picture.to_html())))


def test_a_picture_is_drawn(print_page):
    """The diagram's SVG has ink on the page: more than the words alone."""
    picture = schematic(desk_wind_tunnel())
    with_it, without = (print_page(page("T", body)) for body in (picture.to_html(), f"<p>{picture.finding}</p>"))

    assert dark(with_it).sum() > 2 * dark(without).sum()


def test_nothing_is_fetched(print_page):
    """A page that asks a server for an image gets none, and the server hears nothing."""
    asked = []

    class Server(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_error(404)

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Server) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        try:
            data = print_page(f'<html><body>hello<img src="http://127.0.0.1:{server.server_port}/x.png"></body></html>')
        finally:
            server.shutdown()
            thread.join()

    assert data.startswith(b"%PDF")
    assert asked == []


MADE = Handout(name="mine-learner", title="Mine", copy="learner", html=page("Mine", "<p>words</p>"))


def test_a_file_that_is_there_is_not_overwritten_unasked(tmp_path):
    """The refusal names the file and both ways out; the file is as it was."""
    (tmp_path / "mine-learner.html").write_text("mine", encoding="utf-8")
    with pytest.raises(HandoutError, match=r"is there already\. Name another folder, or write --replace\."):
        write_handout(MADE, tmp_path, as_pdf=False)

    assert (tmp_path / "mine-learner.html").read_text(encoding="utf-8") == "mine"
    assert write_handout(MADE, tmp_path, as_pdf=False, replace=True) == [tmp_path / "mine-learner.html"]
    assert "words" in (tmp_path / "mine-learner.html").read_text(encoding="utf-8")


def test_without_browser_and_library_html_is_made_and_pdf_refused(tmp_path, monkeypatch):
    """On a machine that has neither: the HTML is there, and the refusal says what would bring the PDF."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(paper.importlib.util, "find_spec", lambda _name: None)
    assert write_handout(MADE, tmp_path / "out", as_pdf=False)[0].is_file()
    with pytest.raises(HandoutError, match=r'pip install "labkit\[handout\]"'):
        write_handout(MADE, tmp_path / "out2", html=False)


def test_a_browser_that_prints_nothing_is_named(tmp_path):
    """A program of that name that fails: what it said, and what to do instead."""
    program = tmp_path / "chromium"
    program.write_text("#!/bin/sh\necho no display >&2\nexit 3\n", encoding="utf-8")
    program.chmod(0o755)
    with pytest.raises(HandoutError, match=r"printed nothing; it said: no display\. Print the HTML"):
        pdf_by_browser(MADE.html, str(program))


@pytest.mark.parametrize("folder", ["PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"])
def test_a_browser_is_found_where_windows_puts_it(tmp_path, monkeypatch, folder):
    """It is on no search path there; the places are common practice, tried on no Windows."""
    program = tmp_path / "Google/Chrome/Application/chrome.exe"
    program.parent.mkdir(parents=True)
    program.write_bytes(b"")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    monkeypatch.setenv(folder, str(tmp_path))

    assert paper.printer() == str(program)


def test_a_library_without_its_own_library_is_refused_in_a_sentence(tmp_path, monkeypatch):
    """On Windows and macOS the package is installed, and what it sets text with is not there: importing it fails so."""
    (tmp_path / "weasyprint.py").write_text("raise OSError('cannot load library libgobject-2.0-0')", encoding="utf-8")
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.syspath_prepend(tmp_path)

    with pytest.raises(HandoutError, match=r"does not find Pango: cannot load library .* --form html"):
        pdf_by_library(MADE.html)
