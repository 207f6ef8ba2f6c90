"""The part of a trace that its law describes."""

from __future__ import annotations

import math

import numpy as np

from labkit._kernels.regression import Floats
from labkit.bench import BenchTable
from labkit.errors import BenchError

__all__ = ["trace_columns"]

_FEWEST = 8


def trace_columns(trace: BenchTable) -> tuple[Floats, Floats]:
    """Return time [s] and the current or speed from time 0 on, up to where the shaft stands."""
    falls = trace.kind.startswith("coast down")
    time, values = trace.si("time"), trace.si("current" if trace.kind == "current rise" else "speed")
    if time is None or values is None:  # the table could not have been made
        raise BenchError(f"A trace of {trace.kind} needs its time and its reading.")
    values = values * math.copysign(1.0, float(values.sum()))
    keep = time >= 0
    if falls:
        stopped = np.flatnonzero(keep & (values <= 0))
        keep &= np.arange(len(time)) < (stopped[0] if len(stopped) else len(time))
    time, values = time[keep], values[keep]
    wrong_way = falls and not (len(values) > 1 and values[-1] < values[0])
    if wrong_way or len(time) < _FEWEST or not time[-1] > time[0] or np.any(np.diff(time) < 0) or not values.max() > 0:
        raise BenchError(
            f"A trace of {trace.kind} needs {_FEWEST} readings or more from time 0 on that follow its law."
        )
    return time, values
