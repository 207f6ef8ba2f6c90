"""Spectrum of a recording, the lines that stand out of it, and the turning frequency whose multiples explain them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from labkit._kernels.regression import Floats

__all__ = ["Comb", "Lines", "Spectrum", "Wander", "combs", "lines_of", "spectrum_of", "wander_of"]

_SEGMENT = 1.0  # s; longer ones smear when the speed wanders
_CLEAR = 4.0  # a line's power over that of the noise around it, as a ratio of amplitudes
_MOST_LINES = 40
_MOST_MULTIPLE = 12
_NEAR = 0.6  # bins by which a line may miss a multiple, beside a share of its frequency
_WANDER = 0.01  # that share: how much the speed wanders in a recording


class Spectrum(NamedTuple):
    """Mean amplitude spectrum."""

    frequency: Floats  # [Hz], shape (m,)
    amplitude: Floats
    noise: Floats  # the amplitude that most of the neighbourhood has
    width: float  # [Hz] between two frequencies before padding


class Lines(NamedTuple):
    """Lines that stand out, strongest first."""

    frequency: Floats  # [Hz], between the steps of the spectrum
    strength: Floats  # natural logarithm of amplitude over noise


class Comb(NamedTuple):
    """A frequency and how well its multiples explain the lines."""

    frequency: float
    score: float
    multiples: tuple[int, ...]  # those that are there


def spectrum_of(signal: Floats, rate: float) -> Spectrum:
    """Return the mean spectrum over segments of a second and over channels.

    Parameters
    ----------
    signal : array, shape (samples, channels)
    rate : float
        Samples in a second.

    Notes
    -----
    Hann window, half overlapping segments, powers averaged (Welch 1967, IEEE Trans. Audio Electroacoust. 15, 70).
    """
    length = min(len(signal), int(_SEGMENT * rate))
    window, padded = np.hanning(length)[:, None], int(2 ** np.ceil(np.log2(2 * length)))
    power = np.zeros(padded // 2 + 1)
    starts = range(0, len(signal) - length + 1, max(length // 2, 1))
    for start in starts:
        part = signal[start : start + length]
        power += np.sum(np.abs(np.fft.rfft((part - part.mean(axis=0)) * window, padded, axis=0)) ** 2, axis=1)
    frequency: Floats = np.arange(padded // 2 + 1, dtype=np.float64) * (rate / padded)
    amplitude: Floats = np.sqrt(power / len(starts)) / (0.25 * length)
    return Spectrum(frequency, amplitude, _floor(amplitude, frequency, rate / length), rate / length)


def _floor(amplitude: Floats, frequency: Floats, width: float) -> Floats:
    """Return the median amplitude of blocks of a hundred widths, drawn through."""
    block = max(int(100 * width / frequency[1]), 8)
    count = max(len(amplitude) // block, 1)
    pieces = np.array_split(amplitude, count)
    middles = np.array_split(frequency, count)
    floor = np.array([np.median(piece) for piece in pieces])
    least = max(float(amplitude.max()) * 1e-6, 1e-300)  # a computed tone has no noise at all
    drawn: Floats = np.interp(frequency, [piece.mean() for piece in middles], np.maximum(floor, least))
    return drawn


def lines_of(spectrum: Spectrum, *, low: float, high: float) -> Lines:
    """Return the lines between two frequencies [Hz], at most forty, strongest first."""
    ratio = spectrum.amplitude / spectrum.noise
    inner = ratio[1:-1]
    top = np.flatnonzero((inner > ratio[:-2]) & (inner >= ratio[2:]) & (inner > _CLEAR)) + 1
    top = top[(spectrum.frequency[top] >= low) & (spectrum.frequency[top] <= high)]
    kept: list[int] = []
    for place in top[np.argsort(-ratio[top])]:  # side lobes and the flanks of a stronger line are no lines
        near = 2.5 * spectrum.width + _WANDER * spectrum.frequency[place]
        if all(abs(spectrum.frequency[place] - spectrum.frequency[other]) > near for other in kept):
            kept.append(int(place))
        if len(kept) == _MOST_LINES:
            break
    at = np.array(kept, dtype=int)
    left, here, right = (np.log(np.maximum(spectrum.amplitude[at + side], 1e-300)) for side in (-1, 0, 1))
    bend = left - 2 * here + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    return Lines(spectrum.frequency[at] + shift * spectrum.frequency[1], np.log(ratio[at]))


def combs(lines: Lines, *, low: float, high: float, width: float) -> list[Comb]:
    """Return frequencies between two limits whose multiples explain the lines, best first.

    A frequency gains by each line that is one of its multiples, as much as the line is clear, and loses by each
    multiple below the highest of them that is missing: so neither half nor double of the right one does as well.
    """
    if not len(lines.frequency):
        return []
    strongest = lines.frequency[:12]
    tried = np.concatenate(
        [strongest / multiple for multiple in range(1, _MOST_MULTIPLE + 1)]
        + [np.abs(strongest[:, None] - strongest[None, :]).ravel()]
    )
    tried = np.unique(np.round(tried[(tried >= low) & (tried <= high)], 6))
    found = [_comb(lines, float(frequency), width) for frequency in tried]
    best: list[Comb] = []
    for comb in sorted((one for one in found if one.multiples), key=lambda one: -one.score):
        if all(abs(comb.frequency / other.frequency - 1) > 0.02 for other in best):
            best.append(comb)
    return best[:20]


def _comb(lines: Lines, frequency: float, width: float) -> Comb:
    for _ in range(3):  # the frequency follows the lines that it explains
        multiple = np.round(lines.frequency / frequency)
        near = np.minimum(_NEAR * width + 0.5 * _WANDER * lines.frequency, 0.2 * frequency)
        fits = (multiple >= 1) & (np.abs(lines.frequency - multiple * frequency) <= near)
        if not fits.any():
            return Comb(frequency, -np.inf, ())
        weight = lines.strength * fits * multiple
        frequency = float(np.sum(weight * lines.frequency) / np.sum(weight * multiple))
    present = np.unique(multiple[fits]).astype(int)
    last = int(np.max(present))
    explained = float(np.sum(lines.strength[fits]) / np.sum(lines.strength))
    missing = 1.0 - len(present) / last
    return Comb(frequency, explained - 0.8 * missing, tuple(int(one) for one in present))


class Wander(NamedTuple):
    """A line followed through a recording."""

    mean: float  # [Hz]
    uncertainty: float  # [Hz], standard, of the mean
    spread: float  # [Hz], standard deviation from one segment to the next
    freedom: float


def wander_of(signal: Floats, rate: float, line: float) -> Wander:
    """Return the mean of a line [Hz] over a recording, how well it is known, and how far it wanders.

    The line is looked for in each segment anew, within 3 %; where there are too few segments, its width counts.
    """
    length = min(len(signal), int(_SEGMENT * rate))
    count = len(signal) // length
    if count < 3:  # shorter segments, as long as they still tell the line
        length = max(len(signal) // 4, int(min(20 * rate / line, len(signal))))
        count = len(signal) // length
    width = rate / length
    if count < 3:
        return Wander(line, width / np.sqrt(12), 0.0, np.inf)
    found = [_line_near(signal[place * length : (place + 1) * length], rate, line) for place in range(count)]
    spread = float(np.std(found, ddof=1))
    return Wander(float(np.mean(found)), max(spread / np.sqrt(count), 1e-6 * line), spread, float(count - 1))


def _line_near(part: Floats, rate: float, line: float) -> float:
    """Return where the strongest line near *line* [Hz] is in one segment."""
    padded = int(2 ** np.ceil(np.log2(4 * len(part))))
    window = np.hanning(len(part))[:, None]
    power = np.sum(np.abs(np.fft.rfft((part - part.mean(axis=0)) * window, padded, axis=0)) ** 2, axis=1)
    step, room = rate / padded, 0.03 * line + 1.5 * rate / len(part)
    low, high = max(int((line - room) / step), 1), min(int((line + room) / step) + 1, len(power) - 2)
    top = low + int(np.argmax(power[low : high + 1]))
    left, here, right = np.log(np.maximum(power[top - 1 : top + 2], 1e-300))
    bend = left - 2 * here + right
    return float(step * (top + (0.5 * (left - right) / bend if bend < 0 else 0.0)))
