"""Every handout in a browser: accessible, complete in itself, readable in a small window and at 200 %."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from labkit.handouts import COPIES, handouts

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted([*(ROOT / "notebooks").glob("*.ipynb"), *(ROOT / "exercises").glob("*.ipynb")])


@pytest.fixture(scope="module", params=NOTEBOOKS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def pages(request, browser, tmp_path_factory):
    """Open both copies of a notebook, and note what they ask for."""
    folder = tmp_path_factory.mktemp("handouts")
    context = browser.new_context(viewport={"width": 1280, "height": 720})
    context.set_default_timeout(300_000)  # milliseconds: the machine may be busy with other tests
    asked = []
    context.on("request", lambda one: asked.append(one.url))
    opened = []
    for made in handouts(request.param, copies=COPIES):
        path = folder / f"{made.name}.html"
        path.write_text(made.html, encoding="utf-8")
        page = context.new_page()
        page.goto(path.as_uri())
        opened.append(page)
    yield opened, asked
    context.close()


def test_it_is_accessible(pages):
    """axe-core finds nothing serious or critical."""
    for page in pages[0]:
        found = [
            f"{one['id']} ({one['impact']}): {node['html'][:200]} {node['failureSummary']}"
            for one in Axe().run(page).response["violations"]
            if one["impact"] in ("serious", "critical")
            for node in one["nodes"]
        ]
        assert found == []


def test_it_asks_for_nothing_and_every_picture_is_there(pages):
    """One file each, opened from the disk: no request goes anywhere else, and all images are drawn."""
    opened, asked = pages

    assert {address.partition(":")[0] for address in asked} <= {"file", "data"}
    assert len([address for address in asked if address.startswith("file:")]) == len(opened)
    for page in opened:
        assert page.evaluate("[...document.images].every((image) => image.complete && image.naturalWidth > 0)")


@pytest.mark.parametrize("width", [1280, 640], ids=["1280 pixels", "the same at 200 %"])
def test_nothing_needs_sideways_scrolling(pages, width):
    """Neither in a small window nor with everything twice as large."""
    for page in pages[0]:
        page.set_viewport_size({"width": width, "height": 360})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_an_answer_is_nowhere_folded_away(pages):
    """Paper does not unfold: whatever there is to see is open."""
    for page in pages[0]:
        assert page.evaluate("[...document.querySelectorAll('details')].every((one) => one.open)")
