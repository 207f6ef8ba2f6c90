"""The first thing that a learner sees: the index opens, says whether all is whole, and leads on."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="module")
def index(lab):
    """Return the notebook that ``labkit start`` opened by itself, with all its cells run."""
    opened = lab.shown()
    opened.run_all()
    return opened


def test_the_index_is_what_start_opens(index) -> None:
    """Its title, and no other notebook."""
    assert index.area.get_by_role("heading", level=1).first.inner_text().startswith("Start here")


def test_it_says_in_one_look_whether_the_installation_is_whole(index) -> None:
    """The self-test's sentence and its table."""
    assert "The installation is whole." in index.area.inner_text()
    assert index.area.get_by_role("row", name="sliders").count() == 1
    assert index.complaints() == []


def test_it_is_accessible(index) -> None:
    """axe-core finds nothing serious or critical."""
    assert index.violations(".jp-OutputArea-output", ".jp-RenderedMarkdown") == []


def test_a_click_leads_to_lesson_zero(lab, index) -> None:
    """Its link opens the next notebook, which runs clean."""
    index.area.get_by_role("link", name="Meter and breadboard").first.click()
    lab.page.wait_for_function(
        "() => jupyterapp.shell.currentWidget?.context?.path.endsWith('00-meter-and-breadboard.ipynb')"
    )
    zero = lab.shown()
    zero.run_all()
    zero.commit_predictions(typed="1 V")

    assert zero.complaints() == []
    assert "in the ampere socket the meter is nearly a wire" in zero.area.inner_text().lower()
    assert zero.violations(".jp-OutputArea-output", ".jp-RenderedMarkdown") == []
