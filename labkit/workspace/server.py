"""Run JupyterLab in a learner's folder: on this machine only, behind a token, asking nothing of any other host."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

__all__ = ["serve"]


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
        Takes each sentence for the learner, the address among them, once the server listens.
    """
    from jupyterlab.labapp import LabApp  # noqa: PLC0415 (a second of imports that only this needs)

    os.environ.setdefault("PYDEVD_DISABLE_FILE_VALIDATION", "1")  # else every kernel prints a debugger's warning
    page = f"/lab/tree/{quote(first_lesson)}" if first_lesson else "/lab"
    token = secrets.token_urlsafe(24)
    server = LabApp.initialize_server(argv=_settings(folder, page=page, token=token, browser=browser))
    tell(f"JupyterLab runs at {server.connection_url.rstrip('/')}{page}?token={token}")
    tell("It listens to this computer only." if browser else "Open this address in a browser on this computer.")
    tell("To stop it, press Ctrl-C here.")
    server.start()
    tell(f"JupyterLab has stopped. Your files are in {folder}")


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
        "--JupyterApp.answer_yes=True",  # one Ctrl-C ends it
        "--Application.log_level=ERROR",
    ]
