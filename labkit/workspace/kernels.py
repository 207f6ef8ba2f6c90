"""Start kernels whose own words go to a file: a terminal with JupyterLab in it shows what the learner has to know."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jupyter_server.services.kernels.kernelmanager import ServerKernelManager

__all__ = ["WORDS", "QuietKernel"]

#: The file, in the learner's folder, for what a kernel writes beside the notebook: why one could not start, or died.
WORDS = Path(".labkit") / "kernels.txt"


class QuietKernel(ServerKernelManager):
    """A kernel that writes into `WORDS` what it would write to the terminal.

    A kernel that is stopped or started anew in the midst of its work complains of that, in tracebacks.
    """

    async def start_kernel(self, *args: Any, **kwargs: Any) -> None:  # type: ignore[override]  # theirs is not typed
        """Start it; the file stays open, since the kernel may be started anew with the same arguments."""
        assert self.parent is not None  # noqa: S101 (the server's manager of kernels, which knows the folder)
        file = Path(self.parent.root_dir) / WORDS
        file.parent.mkdir(exist_ok=True)
        words = file.open("a", encoding="utf-8")
        await super().start_kernel(*args, stdout=words, stderr=words, **kwargs)
