"""Freeze for print in JupyterLab: at the keyboard, saved with the notebook, there after a restart."""

import json
import re

import pytest


@pytest.fixture(scope="module")
def lesson(lab):
    """Open a lesson, run it, and freeze what its panel shows, at the keyboard."""
    opened = lab.open("notebooks/03-generator-action.ipynb")
    opened.run_all()
    opened.commit_predictions(typed="3000 rpm")
    opened.area.get_by_role("button", name="Freeze for print").first.press("Enter")
    opened.area.get_by_role("region", name="Frozen for print").first.wait_for()
    opened.wait_for_idle()
    return opened


def test_it_stands_below_the_panel_with_its_words(lesson):
    """Settings, picture and tables; the picture has the alternative text that the panel's has."""
    frozen = lesson.area.get_by_role("region", name="Frozen for print").first

    assert "Frozen at Speed of the shaft 1500 rpm" in frozen.inner_text()
    assert frozen.get_by_role("img").get_attribute("alt") == lesson.picture()[1]
    assert frozen.get_by_role("table").count() >= 3


def test_it_is_accessible(lesson):
    """axe-core finds nothing serious or critical in it."""
    assert lesson.violations(".labkit-frozen") == []


def test_it_is_saved_and_shown_again_without_a_kernel(lesson, lab, kit):
    """The file holds it as plain HTML; opened again, with nothing run, it is there."""
    lesson.page.evaluate("jupyterapp.commands.execute('docmanager:save')")
    lesson.page.wait_for_function("() => !jupyterapp.shell.currentWidget.context.model.dirty")
    saved = json.loads((kit.folder / "notebooks/03-generator-action.ipynb").read_text())
    outputs = [output for cell in saved["cells"] for output in cell.get("outputs", [])]
    plain = ["".join(output["data"].get("text/html", "")) for output in outputs if "data" in output]
    assert len([text for text in plain if re.search("Frozen</strong> at Speed of the shaft 1500 rpm", text)]) == 1

    again = lab.open("notebooks/03-generator-action.ipynb")
    image = again.area.get_by_role("region", name="Frozen for print").get_by_role("img")
    image.wait_for()

    assert image.evaluate("image => image.decode().then(() => image.naturalWidth > 0)")
    assert again.area.get_by_role("slider").count() == 0  # nothing was run


@pytest.mark.parametrize(("width", "height"), [(1280, 720), (640, 360)], ids=["1280x720", "the same at 200 %"])
def test_it_fits_a_small_window(lesson, width, height):
    """Neither panel nor frozen picture needs sideways scrolling, also where text is twice as large."""
    lesson.page.set_viewport_size({"width": width, "height": height})
    frozen = lesson.area.locator(".labkit-frozen").first
    wide = frozen.evaluate("node => [node.querySelector('img').getBoundingClientRect().right, "
                           "node.closest('.jp-OutputArea-output').getBoundingClientRect().right]")  # fmt: skip
    lesson.page.set_viewport_size({"width": 1280, "height": 720})

    assert wide[0] <= wide[1] + 1
