"""One source for both ways to run: plain Python, or compiled where numba is installed (the extra ``fast``)."""

from __future__ import annotations

import hashlib
import importlib.util
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import platformdirs

__all__ = ["COMPILED", "compiled"]

Function = TypeVar("Function", bound=Callable[..., object])

#: Whether the stepping is compiled: numba's own variable NUMBA_DISABLE_JIT=1 turns that off.
COMPILED = importlib.util.find_spec("numba") is not None and os.environ.get("NUMBA_DISABLE_JIT", "0") == "0"


@cache
def _folder() -> str:
    """Where compiled code is kept: another folder for any other source.

    numba looks only at a function's own file, and would go on using what it calls as that once was.
    """
    sources = b"".join(path.read_bytes() for path in sorted(Path(__file__).parent.glob("*.py")))
    name = f"engine-{hashlib.sha256(sources).hexdigest()[:12]}"
    return str(Path(platformdirs.user_cache_dir("labkit", appauthor=False)) / name)


def compiled(function: Function) -> Function:
    """Return *function* compiled by numba on its first call, or as it is where numba is not installed."""
    if not COMPILED:
        return function
    import numba  # noqa: PLC0415 (an extra: most installations have no numba)

    settings: Any = numba.config
    usual, settings.CACHE_DIR = settings.CACHE_DIR, _folder()
    try:
        return cast("Function", numba.njit(cache=True, error_model="numpy")(function))
    finally:
        settings.CACHE_DIR = usual
