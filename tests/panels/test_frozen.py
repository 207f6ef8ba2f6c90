"""Freeze for print: the present state of a panel as plain HTML below it, saved with the notebook."""

import re

import nbformat
import pytest

from labkit import Q_, dissipation_panel, generator_panel
from labkit.panels import DissipationState, GeneratorState, Prediction
from labkit.panels.dissipation import HIGH_GATE
from labkit.panels.generator import RESISTOR


@pytest.fixture
def panel():
    """Return the generator panel, open."""
    return generator_panel()


def words(html):
    """Return HTML as plain text."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html)).strip()


def test_what_is_frozen_is_dated_by_its_settings(panel):
    """The first line says what the controls stood at, and a table says it again, each with its unit."""
    panel.state = GeneratorState(speed=Q_(4000, "rpm"), load=RESISTOR)
    panel.freeze()

    (frozen,) = panel.frozen
    assert words(frozen).startswith(
        "Frozen at Speed of the shaft 4000 rpm, Connected to the terminals a resistor, The resistor 10.0 Ω."
    )
    assert '<th scope="row">The resistor</th><td>10.0 Ω</td>' in frozen


def test_it_holds_picture_words_and_numbers(panel):
    """The alternative text, the finding and the readings are those of that moment; the picture is sharp on paper."""
    panel.freeze()

    (frozen,) = panel.frozen
    assert f'alt="{panel.image.alt}"' in frozen
    assert f"<figcaption>{panel.image.finding}</figcaption>" in frozen
    assert '<th scope="row">Generator EMF</th><td>848 mV</td>' in frozen
    assert 'src="data:image/svg+xml;base64,' in frozen


def test_it_stays_while_the_panel_moves_on(panel):
    """Two states beside each other, each as it was."""
    panel.freeze()
    panel.state = GeneratorState(speed=Q_(3000, "rpm"))
    panel.freeze()

    assert ["1500 rpm" in one for one in panel.frozen] == [True, False]
    assert ["3000 rpm" in one for one in panel.frozen] == [False, True]


def test_the_same_state_stands_there_once(panel):
    """Pressing twice does not fill the page."""
    panel.keeping.press("Freeze for print")
    panel.keeping.press("Freeze for print")

    assert len(panel.frozen) == 1


def test_it_can_be_cleared(panel):
    """What is not wanted on paper goes away again."""
    panel.keeping.press("Freeze for print")
    panel.keeping.press("Clear what is frozen")

    assert panel.frozen == ()


def test_a_control_without_effect_is_left_out(panel):
    """The resistor's value says nothing while none is connected."""
    panel.freeze()

    assert "The resistor" not in panel.frozen[0]


def test_where_there_is_no_picture_the_reason_is_frozen():
    """A transistor that stays off: the sentence stands in the picture's place."""
    panel = dissipation_panel()
    panel.state = DissipationState(gate_voltage=Q_(2.0, "V"), transistor=HIGH_GATE)
    panel.freeze()

    assert "<img" not in panel.frozen[0]
    assert "the transistor stays off" in panel.frozen[0]


def test_a_closed_panel_freezes_nothing(tmp_path):
    """What waits for a prediction is not given away on paper."""
    panel = generator_panel(after=Prediction("Closed", "What now?", unit="V", folder=tmp_path))
    panel.freeze()

    assert panel.frozen == ()


def test_it_is_saved_with_the_notebook(tmp_path, run_notebook):
    """In a real kernel: a later cell freezes, and the panel's own output in the file holds the plain HTML."""
    cells = ["from labkit import generator_panel\npanel = generator_panel()\npanel", "panel.freeze()"]
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
    run_notebook(book, tmp_path)

    plain = [output.data["text/html"] for output in book.cells[0].outputs if "text/html" in output.data]
    assert len(plain) == 1
    assert "<strong>Frozen</strong> at Speed of the shaft 1500 rpm" in plain[0]
    assert not re.search(r'(src|href)="(?!data:)', plain[0])
