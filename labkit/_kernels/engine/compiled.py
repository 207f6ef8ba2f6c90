"""One source for both ways to run: plain Python, or compiled where numba is installed (the extra ``fast``)."""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Callable
from typing import TypeVar, cast

__all__ = ["COMPILED", "compiled"]

Function = TypeVar("Function", bound=Callable[..., object])

#: Whether the stepping is compiled: numba's own variable NUMBA_DISABLE_JIT=1 turns that off.
COMPILED = importlib.util.find_spec("numba") is not None and os.environ.get("NUMBA_DISABLE_JIT", "0") == "0"


def compiled(function: Function) -> Function:
    """Return *function* compiled by numba on its first call, or as it is where numba is not installed."""
    if not COMPILED:
        return function
    import numba  # noqa: PLC0415 (an extra: most installations have no numba)

    return cast("Function", numba.njit(cache=True, error_model="numpy")(function))
