"""Every lesson, as a learner meets it: in JupyterLab, at the keyboard, with what a screen reader is told."""

import math
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

import labkit
from labkit.panels import QuantitySlider
from labkit.problems import asked
from labkit.units import from_si

NOTEBOOKS = sorted(path.name for path in (Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
LESSONS = [name for name in NOTEBOOKS if not name.startswith("00-")]


@pytest.fixture(scope="module", params=LESSONS)
def lesson(request, lab):
    """Open one lesson, run all of it and commit the predictions that keep its panels closed."""
    opened = lab.open(f"notebooks/{request.param}")
    opened.run_all()
    opened.commit_predictions(typed="3000 rpm")
    return opened


def test_it_runs_from_top_to_bottom(lesson) -> None:
    """Every code cell runs, in order, without an error, a warning or a widget that fails to show."""
    cells = lesson.page.evaluate("jupyterapp.shell.currentWidget.content.model.toJSON().cells")
    counts = [cell["execution_count"] for cell in cells if cell["cell_type"] == "code" and cell["source"]]

    assert lesson.complaints() == []
    assert counts == list(range(1, len(counts) + 1))


def test_keys_move_a_slider_and_the_picture_follows(lesson) -> None:
    """An arrow key on the first slider: its spoken value, the entry beside it, the picture and its words all follow."""
    name = lesson.sliders()[0]
    slider, entry, before = lesson.slider(name), lesson.entry(name), lesson.picture()
    said = slider.get_attribute("aria-valuetext")
    at_its_end = slider.get_attribute("max") == slider.input_value()

    slider.press("ArrowLeft" if at_its_end else "ArrowRight")

    lesson.wait_for_another_picture(before)
    assert slider.get_attribute("aria-valuetext") != said
    assert entry.input_value() == slider.get_attribute("aria-valuetext")


def test_every_control_has_a_name_and_a_value_with_its_unit(lesson) -> None:
    """A screen reader speaks what each slider sets and its value with a unit; each has an entry to type into."""
    names = lesson.sliders()

    assert names
    assert all(names)
    for name in set(names):
        assert re.search(r"\d.* ?\D|^\d+$", str(lesson.slider(name).get_attribute("aria-valuetext")))  # or a count
        assert lesson.entry(name).count() == 1


def test_what_is_shown_is_accessible(lesson) -> None:
    """axe-core finds nothing serious or critical in the outputs and in the text of the lesson."""
    assert lesson.violations(".jp-OutputArea-output", ".jp-RenderedMarkdown") == []


def test_the_panel_shows_what_the_library_says(lesson) -> None:
    """The numbers unfolded in the browser are those of a panel made here and set to what the sliders say."""
    called = re.search(r"(\w+_panel)\(after", "\n".join(lesson.sources()))
    panel = getattr(labkit, called[1])()
    block = lesson.area.locator(".jp-OutputArea-output").filter(has=lesson.page.get_by_role("slider")).first
    for control in panel.controls.values():
        if isinstance(control, QuantitySlider):
            control.type_in(
                str(block.get_by_role("slider", name=control.label, exact=True).get_attribute("aria-valuetext"))
            )
        else:
            group = block.get_by_role("group", name=control.label, exact=True)
            control.value = group.get_by_role("radio", checked=True).evaluate(
                "(one) => one.labels[0].textContent.trim()"
            )
    block.get_by_text("Show the numbers").click()
    block.locator(".labkit-numbers td").first.wait_for()
    shown = (
        block.locator("table.labkit-numbers")
        .first.locator("tr")
        .evaluate_all("(rows) => rows.map((row) => [...row.children].map((cell) => cell.textContent))")
    )

    assert shown == [[one.name, one.text()] for one in panel._picture.readings]


def test_a_check_cell_answers_right_wrong_and_bare_numbers(lesson) -> None:
    """The lesson's first check with a number: right, half as much again, and without a unit."""
    source, title, given, unit, size = _first_check(lesson.sources())
    for answer, word in (
        (f"{size:.5g} {unit}", "right"),
        (f"{1.37 * size:.5g} {unit}", "not yet"),
        (f"{size:.5g}", "unit"),
    ):
        said = lesson.run_cell(title, source=source.replace('check("",', f'check("{answer}",')).inner_text()
        assert word in said, (answer, given)


def _first_check(sources: list[str]) -> tuple[str, str, dict[str, str], str, float]:
    """Return the first check cell whose answer is a number with a unit: its code, title, numbers, unit and answer."""
    for source in sources:
        call = re.fullmatch(r'check\("", "([^"]+)"(.*)\)', source.strip())
        if not call:
            continue
        given = dict(re.findall(r'(\w+)="([^"]*)"', call[2]))
        question, numbers = asked(call[1], **given)
        if question.answer is not None and question.unit and not question.options:
            return (
                source,
                call[1],
                given,
                question.unit,
                float(from_si(question.answer(numbers), question.unit).magnitude),
            )
    raise AssertionError("no check cell with a number")


def test_a_prediction_is_kept_when_the_kernel_starts_anew(lesson) -> None:
    """After a restart the prediction cell shows what was committed, and asks nothing again."""
    lesson.restart()
    cells = [source for source in lesson.sources() if source.startswith("from labkit") or "prediction(" in source]
    for source in cells[: 1 + sum(source.startswith("from labkit") for source in cells)]:
        shown = lesson.run_cell(source)
    shown.get_by_text("Your prediction").first.wait_for()

    assert shown.get_by_role("button", name="Commit my prediction").count() == 0


def test_a_learner_goes_from_slider_to_check(lab) -> None:
    """Turn the shaft to 3000 rpm at the keyboard, read the EMF off the panel, and the check cell takes that reading.

    Expected: k·ω = 5.4 mV·s/rad · 3000 · 2π/60 rad/s = 1.70 V, by hand.
    """
    lesson = lab.open("notebooks/03-generator-action.ipynb")
    lesson.run_all()
    lesson.commit_predictions(typed="3000 rpm")
    title = "Generator EMF at this speed"
    assert "3000 rpm" in lesson.run_cell(title, source=f'check("", "{title}")').inner_text()

    before = lesson.picture()
    lesson.slider("Speed of the shaft").press("Home")
    backwards = lesson.wait_for_another_picture(before)
    for _ in range(12):
        lesson.slider("Speed of the shaft").press("PageUp")
    lesson.page.wait_for_function("document.querySelector('.labkit-image img').alt.includes('3000 rpm')")
    _, words = lesson.wait_for_another_picture(backwards)
    reading = re.search(r"EMF is ([\d.]+) V", words)
    assert reading
    assert float(reading[1]) == pytest.approx(5.4e-3 * 3000 * 2 * math.pi / 60, abs=0.005)

    for answer, word in [(reading[1], "cannot be judged"), ("16.2 V", "not yet"), (f"{reading[1]} V", "right")]:
        assert word in lesson.run_cell(title, source=f'check("{answer}", "{title}")').inner_text()


def test_a_learner_scrubs_through_a_switch_off(lab) -> None:
    """Jam the motor, go through its switch-off at the keyboard, take the diode away, and answer from what was read.

    Expected by hand: 6 V + 0.4 V at the drain with the diode; a breakdown at the 30 V of the transistor without.
    """
    lesson = lab.open("notebooks/07-switching-off.ipynb")
    lesson.run_all()
    lesson.commit_predictions(typed="60 V")
    time, shown = lesson.slider("Time after opening"), lesson.picture()
    said = []
    for press in (
        lambda: lesson.area.get_by_role("button", name="Stalled", exact=True).first.press("Enter"),
        lambda: time.press("Home"),
        lambda: time.press("End"),
        lambda: lesson.area.get_by_role("button", name="Just after", exact=True).first.press("Enter"),
        lambda: lesson.area.get_by_role("radio", name="no diode", exact=True).first.press("Space"),
    ):
        press()
        shown = lesson.wait_for_another_picture(shown)
        said.append(shown[1])
    found = (
        "holds the drain at 6.40 V",
        "still on its way up",
        "no current flows",
        "at 6.40 V",
        "breaks down at 30.0 V",
    )

    assert [words for words, sentence in zip(found, said, strict=True) if words not in sentence] == []
    title = "Drain voltage just after switch-off"
    for answer, word in [("6.40", "cannot be judged"), ("4.24 V", "generator EMF"), ("6.40 V", "right")]:
        assert word in lesson.run_cell(title, source=f'check("{answer}", "{title}")').inner_text()


def test_what_is_refused_stays_in_its_box_to_be_mended(lab) -> None:
    """Leaving the box takes nothing away; Escape brings back what stands, and takes the refusal with it."""
    lesson = lab.open("notebooks/03-generator-action.ipynb")
    lesson.run_cell("import bench_picture")
    shown = lesson.run_cell("generator_panel(after", source="generator_panel()")
    speed, refusal = lesson.entry("Speed of the shaft"), shown.get_by_role("alert").first
    speed.wait_for()
    before = speed.input_value()

    speed.fill("fast")
    speed.press("Tab")
    expect(refusal).to_contain_text("does not begin with a number")
    expect(speed).to_have_value("fast")
    speed.press("Escape")
    expect(speed).to_have_value(before)
    expect(refusal).to_be_hidden()


def test_nothing_left_this_machine(lab, kit) -> None:
    """Through all lessons the browser asked no other host, the server failed in nothing, and the terminal is clean."""
    assert len(lab.asked) > 100
    assert lab.asked_of_others() == []
    assert lab.failures == []
    assert kit.errors.read_text() == ""
