"""Run JupyterLab in a learner's folder: on this machine only, behind a token, asking nothing of any other host."""

from __future__ import annotations

import os
import secrets
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

__all__ = ["WORDS", "serve"]

#: The file, in the learner's folder, for what Jupyter and its kernels write beside the notebook since the last start.
WORDS = Path(".labkit") / "jupyter.txt"


def serve(folder: Path, *, first_lesson: str | None, browser: bool, tell: Callable[[str], None]) -> None:
    """Run JupyterLab until it is stopped with Ctrl-C or from its menu.

    Parameters
    ----------
    folder : Path
        The only folder that JupyterLab shows.
    first_lesson : str or None
        The notebook to open, with forward slashes, from *folder*.
    browser : bool
        Open a browser on it; else only tell the address.
    tell : callable
        Takes each sentence for the learner; the address is told once the server listens.
    """
    tell("Starting JupyterLab. This takes a few seconds.")
    # jsonschema would build a grammar of international web addresses from it, for three seconds and no use of ours
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    from jupyterlab.labapp import LabApp  # noqa: PLC0415 (a second of imports that only this needs)

    from labkit.workspace.jupyter import Server  # noqa: PLC0415 (the same)

    os.environ.setdefault("PYDEVD_DISABLE_FILE_VALIDATION", "1")  # else every kernel prints a debugger's warning
    page = f"/lab/tree/{quote(first_lesson)}" if first_lesson else "/lab"
    token = secrets.token_urlsafe(24)
    LabApp.serverapp_class = Server
    server = LabApp.initialize_server(argv=_settings(folder, page=page, token=token, browser=browser))

    def listening() -> None:
        # its own way asks for a confirmation in a terminal, and outside one leaves the kernels running
        signal.signal(signal.SIGINT, lambda *_: server.stop(from_signal=True))
        tell(f"JupyterLab runs at {server.connection_url.rstrip('/')}{page}?token={token}")
        opened = "A browser opens on it. If none does, copy the address" if browser else "Copy the address"
        tell(f"{opened} into a browser on this computer; it answers no other.")
        tell("In a lesson, Shift+Enter runs the cell that you are in and goes on to the next.")
        tell("To stop JupyterLab, press Ctrl-C here.")

    server.web_app.settings["page_config_hook"] = _without_news
    server.io_loop.add_callback(listening)  # after the server's own, which opens the port
    with _complaints_in(folder / WORDS):
        server.start()
    tell(f"JupyterLab has stopped. Your files are in {folder}")


@contextmanager
def _complaints_in(file: Path) -> Iterator[None]:
    """Write to a file what would go to the terminal's error stream, by this process and by those that it starts.

    A running JupyterLab tells errors in the browser; of a page that is closed, a kernel that is slow or a browser that
    misses a driver there is nothing that a learner could do, and a traceback would hide the address of their lessons.
    """
    file.parent.mkdir(exist_ok=True)
    file.write_text("", encoding="utf-8")
    terminal = os.dup(2)
    try:
        with file.open("a", encoding="utf-8") as words:
            os.dup2(words.fileno(), 2)
        yield
    finally:
        sys.stderr.flush()
        os.dup2(terminal, 2)
        os.close(terminal)


def _without_news(_handler: object, page: dict[str, Any]) -> dict[str, Any]:
    """Keep JupyterLab from asking every learner whether they want its news."""
    page["disabledExtensions"] = [*page.get("disabledExtensions", []), "@jupyterlab/apputils-extension:announcements"]
    return page


def _settings(folder: Path, *, page: str, token: str, browser: bool) -> list[str]:
    return [
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.open_browser={browser}",
        "--ServerApp.ip=127.0.0.1",
        "--ServerApp.allow_root=True",  # it listens to this machine only, and a container has no other user
        f"--IdentityProvider.token={token}",  # read in this process; it stands in no list of processes
        f"--LabApp.default_url={page}",
        f"--LabApp.workspaces_dir={folder / '.labkit' / 'layout'}",  # open tabs belong to the folder
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",  # the other manager asks a registry for a list
        "--AsyncMappingKernelManager.kernel_manager_class=labkit.workspace.jupyter.QuietKernel",
        "--KernelManager.transport_encryption=auto",  # else every kernel warns that other users might listen
        "--Application.log_level=ERROR",
    ]
