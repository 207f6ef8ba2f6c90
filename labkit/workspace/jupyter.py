"""What labkit changes of Jupyter's: a port that nobody else can take, an end whatever its kernels do, quiet kernels."""

from __future__ import annotations

import asyncio
import errno
from pathlib import Path
from typing import Any

from jupyter_server.serverapp import ServerApp
from jupyter_server.services.kernels.kernelmanager import ServerKernelManager
from tornado.netutil import bind_sockets

from labkit.workspace.server import WORDS

__all__ = ["QuietKernel", "Server"]


class Server(ServerApp):
    """A server that keeps the port that it found free, and that Ctrl-C ends.

    Jupyter's own lets the port go until it listens: of two that start together, one found it taken then and gave up.
    """

    def _find_http_port(self) -> None:
        while True:
            super()._find_http_port()
            try:
                self._sockets = bind_sockets(self.port, self.ip)
            except OSError as error:
                if error.errno != errno.EADDRINUSE:  # else another took it just now
                    raise
            else:
                return

    def _bind_http_server_tcp(self) -> bool:
        self.http_server.add_sockets(self._sockets)
        return True

    async def cleanup_kernels(self) -> None:
        """End all kernels: one that is just starting once it has, and one that could not start not at all.

        Jupyter's own ends none of these two and, for its error then, not itself.
        """
        starting = self.kernel_manager._pending_kernels  # noqa: SLF001 (there is no other way to them)
        await asyncio.gather(*starting.values(), return_exceptions=True)
        for failed in starting.keys() - self.kernel_manager.list_kernel_ids():
            del starting[failed]
        await super().cleanup_kernels()


class QuietKernel(ServerKernelManager):
    """A kernel that writes into `WORDS` what it would write to the terminal.

    A kernel that is stopped or started anew in the midst of its work complains of that, in tracebacks.
    """

    async def start_kernel(self, *args: Any, **kwargs: Any) -> None:  # type: ignore[override]  # theirs is not typed
        """Start it; the file stays open, since the kernel may be started anew with the same arguments."""
        assert self.parent is not None  # noqa: S101 (the server's manager of kernels, which knows the folder)
        words = (Path(self.parent.root_dir) / WORDS).open("a", encoding="utf-8")
        await super().start_kernel(*args, stdout=words, stderr=words, **kwargs)
