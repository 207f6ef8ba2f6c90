"""A learner's JupyterLab in a headless browser: open a lesson, run it, use its panels, read what they show.

Everything is found as a person finds it: controls by role and spoken name, pictures by their alternative text.
Playwright's event loop must not outlive a test file, since other tests run loops of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, sync_playwright

#: For a browser in a container, that shall itself ask nothing of any other host.
CHROMIUM = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip

_NOTEBOOK = "jupyterapp.shell.currentWidget"
_PATIENCE = 300_000  # milliseconds: the machine may be busy with other tests


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of this folder."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="module")
def browser(needs) -> Iterator[Browser]:
    """Return a Chromium of this machine, with nothing remembered from before."""
    program = needs("chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=CHROMIUM)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def kit(start_kit, needs, tmp_path_factory):
    """Run ``labkit start`` in a new folder, with JupyterLab's own object within reach of the page's scripts."""
    needs("chromium")
    home = tmp_path_factory.mktemp("learner")
    settings = {
        "jupyter_lab_config.json": '{"LabApp": {"expose_app_in_browser": true}}',
        # axe-core sees only what is laid out, so cells below the window are laid out too
        "lab/user-settings/@jupyterlab/notebook-extension/tracker.jupyterlab-settings": '{"windowingMode": "none"}',
    }
    for name, text in settings.items():
        path = home / "jupyter-config" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    with start_kit(home) as running:
        yield running


@dataclass
class Lab:
    """JupyterLab in one window, as ``labkit start`` opens it, and all that the window asked for and that failed."""

    page: Page
    asked: list[str]
    #: Answers of the server that say that it failed.
    failures: list[str]

    def open(self, name: str) -> Lesson:
        """Close what is open and open one notebook, alone in the window."""
        self.page.evaluate(
            """async (name) => {
                for (const panel of [...jupyterapp.shell.widgets("main")]) {
                    await panel.context?.save();
                    await panel.sessionContext?.shutdown();
                    panel.close();
                }
                await jupyterapp.commands.execute("docmanager:open", {path: name});
            }""",
            name,
        )
        return self.shown()

    def shown(self) -> Lesson:
        """Return the lesson that is open, once its kernel answers."""
        self.page.wait_for_function(f"() => window.jupyterapp && {_NOTEBOOK}?.context?.isReady")
        self.page.evaluate("jupyterapp.restored")
        lesson = Lesson(self.page, self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)"))
        lesson.wait_for_idle()
        return lesson

    def asked_of_others(self) -> list[str]:
        """Return the addresses that were asked for and are not on this machine."""
        hosts = {address: urlsplit(address).hostname for address in self.asked}
        return [address for address, host in hosts.items() if host not in ("127.0.0.1", None)]


@dataclass
class Lesson:
    """One notebook, open in a browser."""

    page: Page
    #: The notebook's own part of the window.
    area: Locator

    # --- running ---

    def sources(self) -> list[str]:
        """Return the code of all code cells, in order."""
        cells = self.page.evaluate(f"{_NOTEBOOK}.content.model.toJSON().cells")
        return ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]

    def restart(self) -> None:
        """Restart the kernel, as the menu does, and wait until it answers."""
        self.page.evaluate(f"{_NOTEBOOK}.sessionContext.restartKernel()")
        self.wait_for_idle()

    def run_all(self) -> None:
        """Run all cells and wait until the kernel has nothing left to do."""
        self.page.evaluate("jupyterapp.commands.execute('notebook:run-all-cells')")
        self.wait_for_idle()

    def run_cell(self, text: str, *, source: str | None = None) -> Locator:
        """Run the one code cell that contains *text*, with another *source* if one is given; return its output."""
        index = self.page.evaluate(
            f"""([text, source]) => {{
                const notebook = {_NOTEBOOK}.content;
                const found = notebook.widgets.findIndex(
                    (cell) => cell.model.type === "code" && cell.model.sharedModel.getSource().includes(text));
                if (found < 0) throw new Error("no code cell contains " + text);
                if (source !== null) notebook.widgets[found].model.sharedModel.setSource(source);
                notebook.activeCellIndex = found;
                notebook.deselectAll();
                return found;
            }}""",
            [text, source],
        )
        self.page.evaluate("jupyterapp.commands.execute('notebook:run-cell')")
        self.wait_for_idle()
        return self.area.locator(".jp-Cell").nth(index).locator(".jp-OutputArea").first

    def wait_for_idle(self) -> None:
        """Wait until the kernel is idle and no cell waits for it."""
        self.page.wait_for_function(
            f"""() => {{
                const panel = {_NOTEBOOK};
                const waiting = [...panel.content.node.querySelectorAll(".jp-InputPrompt")]
                    .some((prompt) => prompt.textContent.includes("*"));
                return panel.sessionContext.session?.kernel?.status === "idle" && !waiting;
            }}"""
        )

    def complaints(self) -> list[str]:
        """Return each error, warning and failed widget in any cell: a lesson has none."""
        cells = self.page.evaluate(f"{_NOTEBOOK}.content.model.toJSON().cells")
        outputs = [output for cell in cells for output in cell.get("outputs", [])]
        shown = [
            str(output.get("text") or output.get("evalue"))
            for output in outputs
            if output["output_type"] == "error" or output.get("name") == "stderr"
        ]
        return shown + self.area.get_by_text("Error displaying widget").all_inner_texts()

    # --- predictions and panels ---

    def commit_predictions(self, typed: str) -> None:
        """Commit every prediction that is still open, at the keyboard: the last choice, or *typed*.

        Where that is refused for its unit, the example in the refusal is typed, as a learner would.
        """
        opened = self.area.locator(".labkit-prediction").filter(
            has=self.page.get_by_role("button", name="Commit my prediction")
        )
        while left := opened.count():
            first = opened.first
            refused = first.get_by_role("alert").all_inner_texts()
            if first.get_by_role("radio").count():
                first.get_by_role("radio").last.press("Space")
            else:
                first.get_by_role("textbox").fill("")
                first.get_by_role("textbox").press_sequentially(
                    refused[0].rpartition(" as in ")[2][:-1] if refused else typed
                )
            first.get_by_role("button", name="Commit my prediction").press("Enter")
            self.page.wait_for_function(
                """([left, refused]) => document.querySelectorAll('.labkit-prediction fieldset').length < left
                    || !refused && document.querySelector('.labkit-prediction [role=alert]:not([hidden])')""",
                arg=[left, bool(refused)],
            )
            self.wait_for_idle()

    def sliders(self) -> list[str]:
        """Return the names of all sliders, as a screen reader speaks them."""
        self.area.get_by_role("slider").first.wait_for()
        return self.area.get_by_role("slider").evaluate_all(
            "(inputs) => inputs.map((input) => [...input.labels].map((label) => label.textContent).join(' '))"
        )

    def slider(self, label: str) -> Locator:
        """Return the first slider of that name."""
        return self.area.get_by_role("slider", name=label, exact=True).first

    def entry(self, label: str) -> Locator:
        """Return the entry beside that slider."""
        return self.area.get_by_role("textbox", name=label).first

    def picture(self) -> tuple[str, str]:
        """Return the address and the alternative text of the first panel's picture."""
        image = self.area.locator(".labkit-image img").first
        return str(image.get_attribute("src")), str(image.get_attribute("alt"))

    def wait_for_another_picture(self, before: tuple[str, str]) -> tuple[str, str]:
        """Wait until picture and alternative text both differ from *before*, and return them."""
        self.page.wait_for_function(
            """([source, alt]) => {
                const image = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .labkit-image img");
                return image.src !== source && image.alt !== alt && image.complete && image.naturalWidth > 0;
            }""",
            arg=list(before),
        )
        return self.picture()

    # --- what is wrong with it ---

    def violations(self, *within: str) -> list[str]:
        """Return what axe-core calls serious or critical inside the elements that match *within*."""
        result = Axe().run(self.page, context={"include": [[selector] for selector in within]})
        return [
            f"{found['id']} ({found['impact']}): {node['html'][:300]} {node['failureSummary']}"
            for found in result.response["violations"]
            if found["impact"] in ("serious", "critical")
            for node in found["nodes"]
        ]


@pytest.fixture(scope="module")
def lab(browser: Browser, kit) -> Iterator[Lab]:
    """Open the address that ``labkit start`` told, in a small window; at the end, no other host was asked."""
    context = browser.new_context(viewport={"width": 1280, "height": 720}, reduced_motion="reduce")
    asked: list[str] = []
    failures: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    context.on("response", lambda answer: failures.append(answer.url) if answer.status >= 500 else None)
    page = context.new_page()
    page.set_default_timeout(_PATIENCE)
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.goto(kit.address)
    opened = Lab(page, asked, failures)
    opened.shown()
    yield opened
    context.close()
