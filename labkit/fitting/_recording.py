"""Recordings to arrays: sound files, and logged currents."""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.io import wavfile

from labkit._kernels.regression import Floats
from labkit.errors import BenchError

__all__ = ["Recording", "logged", "read_sound"]

_SHORTEST = 0.25  # s
_LONGEST = 60.0  # s; what follows is left out
_LARGEST = 200_000_000  # bytes
_SILENT = 1e-4  # of full scale
_CLIPPED = 1e-3  # share of samples at full scale
_JITTER = 0.2  # of a sampling interval
_FEWEST = 64  # samples of a log
_SLOWEST = 100.0  # of them a second, as of a sound


class Recording(NamedTuple):
    """Samples, shape (n, channels), how many there are in a second, and what to know about them."""

    signal: Floats
    rate: float
    notes: tuple[str, ...]


def read_sound(path: str | os.PathLike[str]) -> Recording:
    """Return a WAV file's samples in parts of full scale.

    Raises
    ------
    BenchError
        When it is no uncompressed WAV file, too short, or silent.
    """
    if not isinstance(path, str | os.PathLike):
        raise BenchError(f"A sound's path must be the name of a file; got {path!r}. Write 'motor.wav'.")
    file = Path(path)
    with file.open("rb") as stream:  # a missing or forbidden file is told as for any other
        size = stream.seek(0, 2)
    if size > _LARGEST:
        raise BenchError(f"{file.name} has {size / 1e6:.0f} MB: too large to read. Cut 10 s out of it.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", wavfile.WavFileWarning)  # chunks that carry no sound
            rate, samples = wavfile.read(file)
    except (ValueError, EOFError, OSError, MemoryError, ArithmeticError, LookupError) as error:
        raise BenchError(
            f"{file.name} is no WAV file that can be read ({error}). Save the recording as uncompressed WAV (PCM)."
        ) from error
    except Exception as error:  # a damaged header makes the reader fail in ways of its own
        raise BenchError(f"{file.name} is damaged: {error}. Record it again as uncompressed WAV (PCM).") from error
    if samples.ndim == 1:
        samples = samples[:, None]
    full = 1.0 if samples.dtype.kind == "f" else float(np.iinfo(samples.dtype).max)
    zero = 128.0 if samples.dtype == np.uint8 else 0.0
    signal = (samples[: int(_LONGEST * max(rate, 1))].astype(np.float64) - zero) / (127.0 if zero else full)
    return _checked(signal, float(rate), file.name, full_scale=samples.dtype.kind != "f")


def _checked(signal: Floats, rate: float, name: str, *, full_scale: bool) -> Recording:
    if not _SLOWEST <= rate <= 1e7 or not np.isfinite(signal).all():
        raise BenchError(f"{name} holds no sound: {rate:g} samples a second, or values that are no numbers.")
    if len(signal) < _SHORTEST * rate:
        raise BenchError(
            f"{name} lasts {len(signal) / rate:.2g} s; {_SHORTEST:g} s or more are needed, 5 s are good. Record longer."
        )
    if float(np.max(np.std(signal, axis=0))) < _SILENT:
        raise BenchError(f"{name} is silent. Bring the microphone nearer to the motor, and record again.")
    notes = []
    clipped = float(np.mean(np.abs(signal) >= 0.999)) if full_scale else 0.0
    if clipped > _CLIPPED:
        notes.append(
            f"{100 * clipped:.2g} % of the samples are clipped, which makes lines of its own: record it fainter."
        )
    return Recording(signal, rate, tuple(notes))


def logged(time: Floats, values: Floats, name: str) -> Recording:
    """Return a logged quantity as a recording.

    Raises
    ------
    BenchError
        When the times are not evenly spaced, or there are too few, in all or in a second.
    """
    if time.ndim != 1 or time.shape != values.shape or len(time) < _FEWEST:
        shapes = f"{time.shape}, {values.shape}"
        raise BenchError(f"{name} needs two lists of one length, {_FEWEST} samples or more; got {shapes}. Log longer.")
    if not (np.isfinite(time).all() and np.isfinite(values).all()):
        raise BenchError(f"{name} holds values that are no numbers. Leave those rows out.")
    steps = np.diff(time)
    step = float(np.median(steps))
    if (
        step <= 0
        or float(np.max(np.abs(time - time[0] - step * np.arange(len(time))))) > _JITTER * step * len(time) ** 0.5
    ):
        raise BenchError(f"{name} must have evenly spaced times: a spectrum needs them. Log at a fixed rate.")
    if float(np.ptp(values)) == 0:
        raise BenchError(f"{name} does not change at all: there is no ripple to be seen. Choose a finer range.")
    rate = 1.0 / float(np.mean(steps))
    if rate < _SLOWEST:
        raise BenchError(f"{name} has {rate:.3g} samples a second; {_SLOWEST:g} or more are needed. Log faster.")
    return Recording((values - values.mean())[:, None], rate, ())
