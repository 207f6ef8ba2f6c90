"""Panels: a move against rebuilding the figure, in the kernel and from key press to picture; and running all lessons.

Every public ``*_panel`` is found by its name. The 95th percentile is of the moves of its first slider, there and back.
A move computes, draws, encodes and hands the picture to the widget; a rebuild makes the same figure anew and draws it.
In the browser both are pressed at the keyboard in one notebook: from the key to the picture's load event.
"""

from __future__ import annotations

import importlib.util
import os
import pathlib
import shutil
import statistics
import sys
import tempfile
import time
from functools import partial

import nbformat
import numpy as np
from nbclient import NotebookClient

import labkit
from labkit.figures import Chart
from labkit.panels import QuantitySlider

ROOT = pathlib.Path(__file__).parents[2]
MOVES, REBUILDS, PRESSES = 60, 12, 40
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def all_panels():
    """Return the name and the function of every public panel."""
    return [(name, getattr(labkit, name)) for name in sorted(labkit.__all__) if name.endswith("_panel")]


def chart_of(panel):
    """Return the chart that a panel draws on."""
    kept = [cell.cell_contents for cell in panel._draw.__closure__ or ()]
    return next(one for one in kept if isinstance(one, Chart))


def timed(task):
    """Return how long *task* takes [ms], of processor time: other programs on the machine do not count."""
    start = time.process_time()
    task()
    return 1e3 * (time.process_time() - start)


def moves_of(panel):
    """Return the duration of each move of the panel's first slider, one place at a time."""
    slider = next(one for one in panel.controls.values() if isinstance(one, QuantitySlider))
    count, durations = len(slider.stops), []
    place = slider.index
    step = 1 if place < count - 1 else -1
    for _ in range(MOVES):
        if not 0 <= place + step < count:
            step = -step
        place += step
        durations.append(timed(partial(slider._handle_custom_msg, {"move": place, "view": "bench"}, [])))
    return durations


def rebuilds_of(panel):
    """Return the duration of building the panel's figure anew and drawing what it shows now."""
    chart = chart_of(panel)
    drawn = []
    draw = chart.draw
    chart.draw = lambda run: drawn.append(run) or draw(run)
    panel._draw(panel.state)
    chart.draw = draw
    return [timed(lambda: type(chart)().draw(drawn[0])) for _ in range(REBUILDS)]


def in_the_kernel():
    """Yield (name, ratio, baseline) of each panel."""
    for name, make in all_panels():
        panel = make()
        moves_of(panel)  # once along its way, so that what is kept is kept
        moved, rebuilt = np.percentile(moves_of(panel), 95), statistics.median(rebuilds_of(panel))
        label = f"{name}: a move in the kernel, p95 {moved:.1f} ms for {rebuilt:.0f} ms"
        yield label, rebuilt / moved, "building the figure anew and drawing it, median"


def _load(path):
    spec = importlib.util.spec_from_file_location(f"bench_{path.parent.name}_{path.stem}", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


_WATCH = """([number]) => {
    const panel = document.querySelectorAll(".labkit-image")[number];
    window.waits = [];
    let pressed = 0;
    document.addEventListener("keydown", () => { pressed = performance.now(); }, true);
    panel.querySelector("img").addEventListener("load", () => window.waits.push(performance.now() - pressed));
}"""
_BOOK = (
    "from labkit import duty_panel\nfrom labkit.figures import duty_picture\nfrom labkit.panels.duty import duty_run",
    "duty_panel()",
    "rebuilt = duty_panel()\nrebuilt._draw = lambda state: duty_picture(duty_run(state))\nrebuilt",
)


def from_key_to_picture():
    """Return (name, ratio, baseline) for the duty panel in JupyterLab; nothing where no Chromium is."""
    program = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if program is None:
        return []
    from playwright.sync_api import sync_playwright

    kit, lab = _load(ROOT / "tests/conftest.py"), _load(ROOT / "tests/browser/conftest.py")
    with tempfile.TemporaryDirectory() as home, sync_playwright() as playwright:
        settings = pathlib.Path(home) / "jupyter-config" / "jupyter_lab_config.json"
        settings.parent.mkdir()
        settings.write_text('{"LabApp": {"expose_app_in_browser": true}}')
        with kit._running_kit(pathlib.Path(home)) as running:
            cells = [nbformat.v4.new_code_cell(source) for source in _BOOK]
            python = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
            nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata=python), running.folder / "bench.ipynb")
            browser = playwright.chromium.launch(executable_path=program, args=lab.CHROMIUM)
            page = browser.new_page(viewport={"width": 1280, "height": 720})
            page.goto(running.address)
            opened = lab.Lab(page, [], [])
            opened.shown()
            lesson = opened.open("bench.ipynb")
            lesson.run_all()
            moved, rebuilt = _pressed(page, 0), _pressed(page, 1)
            browser.close()
    name = f"duty_panel: key to picture in the browser, p95 {moved:.0f} ms for {rebuilt:.0f} ms"
    return [(name, rebuilt / moved, "the same panel with its figure built anew for each move, p95, same browser")]


def _pressed(page, number):
    """Return the 95th percentile [ms] from an arrow key on a panel's first slider to its picture."""
    slider = page.get_by_role("slider", name="Duty", exact=True).nth(number)
    slider.focus()
    page.evaluate(_WATCH, [number])
    for press in range(1, PRESSES + 1):
        slider.press("ArrowRight" if press <= PRESSES // 2 else "ArrowLeft")
        page.wait_for_function("count => window.waits.length >= count", arg=press)
    return float(np.percentile(page.evaluate("window.waits"), 95))


#: The kernel's own peak, in kB; what ``getrusage`` gives begins with that of the process which started it.
_MEMORY = "print(next(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"


def _executed(book):
    """Return how long a notebook takes [s], its kernel's start counted in, and the most memory of its kernel [MB]."""
    book.cells.append(nbformat.v4.new_code_cell(_MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        NotebookClient(book, timeout=300, kernel_name="python3", resources={"metadata": {"path": folder}}).execute()
        return time.perf_counter() - start, int(book.cells[-1].outputs[0].text) / 1000


def all_lessons():
    """Yield (name, ratio, baseline) of running every lesson headless, one after the other, and of their memory."""
    start, bare = _executed(nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("import labkit")]))
    lessons = sorted((ROOT / "notebooks").glob("*.ipynb"))
    ran = {path.stem: _executed(nbformat.read(path, as_version=4)) for path in lessons}
    whole, slowest = sum(seconds for seconds, _ in ran.values()), max(ran, key=lambda name: ran[name][0])
    largest = max(ran, key=lambda name: ran[name][1])
    name = (
        f"{len(ran)} lessons headless: {whole:.0f} s in all, longest {slowest} with {ran[slowest][0]:.0f} s; "
        f"load {os.getloadavg()[0]:.1f}"
    )
    yield name, len(ran) * start / whole, f"as many kernels that only import labkit, {start:.1f} s each"
    name = f"largest lesson kernel, {largest}: {ran[largest][1]:.0f} MB resident at most"
    yield name, bare / ran[largest][1], f"a kernel that only imports labkit, {bare:.0f} MB"


def run():
    """Yield (name, ratio, baseline) of each comparison, as soon as it is measured."""
    yield from in_the_kernel()
    yield from from_key_to_picture()
    yield from all_lessons()
