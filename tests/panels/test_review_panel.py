"""The panel on design review says what the review says, and its pictures keep to their limits."""

from __future__ import annotations

import dataclasses
import re

import pytest

from labkit import Q_, desk_wind_tunnel, generic_part, review, review_panel
from labkit.figures.review import ReviewChart, review_picture
from labkit.panels.review import ReviewState, design_review
from labkit.parts import Build
from labkit.reviews import Outcome


@pytest.mark.parametrize(
    ("preset", "first"),
    [
        ("Threshold taken for on", "current that the gate lets through"),
        ("No diode", "energy into the transistor at each switch-off"),
        ("Edges too slow", "on-resistance at the real gate voltage"),
    ],
)
def test_each_preset_has_the_fault_that_it_names(preset, first):
    """The worst finding is the fault's, in the picture's words and in the working."""
    panel = review_panel()
    panel.presets.press(preset)
    panel.working.fill()

    assert panel.image.finding.startswith(f"Exceeded: {first}")
    assert first.lower() in panel.working.content.lower()


def test_a_limit_says_which_way_it_counts():
    """A gate has to let the stalled current through, at least; of resistance and of a starting jerk less is better."""
    panel = review_panel()
    panel.presets.press("Threshold taken for on")
    words = panel.image.finding

    assert re.search(r"lets through \([\d.]+ mA, at least [\d.]+ A wanted\)", words)
    assert re.search(r"real gate voltage \([\d.]+ Ω, at most \d+ mΩ wanted\)", words)
    assert re.search(r"running current \([\d.]+, at most 5.00 wanted\)", words)


def test_the_panel_agrees_with_the_review():
    """At typed values it shows the margins of ``review`` for the same circuit."""
    panel = review_panel()
    panel.controls["winding"].type_in("1.2 ohm")
    panel.controls["diode"].value = "silicon diode"
    drive = dataclasses.replace(
        desk_wind_tunnel(),
        motor=dataclasses.replace(desk_wind_tunnel().motor, resistance=Q_("1.2 ohm")),
        switch=generic_part("logic-level MOSFET"),
        diode=generic_part("silicon diode"),
    )
    expected = review(drive, (0.3, 1.0), "20 kHz")
    shown = {reading.name.partition(",")[0]: reading.value.m_as("") for reading in panel._picture.readings}

    assert shown == {
        found.name: pytest.approx(max(-10.0, min(10.0, found.margin)))
        for found in expected.findings
        if found.margin is not None
    }


def test_the_resistor_is_the_base_resistor_of_a_bipolar_transistor():
    """(3.3 - 0.75) V over 1 kΩ and the pin's 40 Ω, ten times: 25 mA, as its slider says."""
    state = ReviewState(transistor="small bipolar", gate_resistor=Q_("1 kohm"))
    found = design_review(state)["collector current that the base allows"]

    assert found.value.m_as("A") == pytest.approx(10 * 2.55 / 1040)


def test_every_part_on_offer_gives_a_review():
    """No choice of the panel leads to a refusal."""
    panel = review_panel()
    for name in ("transistor", "diode"):
        for option in panel.controls[name].options:
            panel.controls[name].value = option
            assert panel._picture is not None, option


def test_a_bar_never_leaves_the_picture():
    """Far beyond a limit, and far from it, a bar ends at the edge; what cannot be told has none."""
    found = design_review(ReviewState(diode="none"))
    chart = ReviewChart()
    chart.draw(found)
    widths = {one.name: bar.get_width() for one, bar in zip(found.findings, chart.bars, strict=False)}

    assert widths["energy into the transistor at each switch-off"] == -1.0
    assert widths["breakdown voltage"] == 1.0
    assert all(widths[one.name] == 0.0 for one in found.findings if one.outcome is Outcome.UNKNOWN)


def test_the_words_count_what_is_fine():
    """The alternative text names what is wrong with its numbers, and counts the rest."""
    found = review(dataclasses.replace(desk_wind_tunnel(), build=Build(diode_reversed=True)), 1.0)
    fine = sum(one.outcome is Outcome.FINE for one in found.findings)

    assert "Exceeded: current through the diode with the transistor on" in review_picture(found).alt
    assert f"{fine} of {len(found.findings)} findings are fine." in review_picture(found).alt
