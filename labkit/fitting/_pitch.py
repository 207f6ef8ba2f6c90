"""Speed without a tachometer: from the sound of the motor, and from the ripple of its current."""

from __future__ import annotations

import math
import os
from typing import Any

import numpy as np
import pint
from scipy.special import stdtrit

from labkit._kernels.regression import Floats
from labkit._kernels.spectrum import Comb, Lines, combs, lines_of, spectrum_of, wander_of
from labkit.bench import BenchRecord
from labkit.errors import BenchError
from labkit.fitting._heard import HeardSpeed, OtherSpeed
from labkit.fitting._recording import Recording, logged, read_sound
from labkit.fitting._warm import READ_FIRST
from labkit.parts._fields import expect, finite_quantity
from labkit.units import Quantity, from_si, magnitude

__all__ = ["speed_from_log", "speed_from_ripple", "speed_from_sound"]

_CLOCK = 1e-4  # how far a recorder's clock is off at most (common practice, no source)
_SURE, _LIKELY = 0.15, 0.05  # by how much the best explanation must beat the next
_FEW = 3


def speed_from_sound(
    path: str | os.PathLike[str],
    *,
    blades: int = 1,
    slowest: Quantity | str = "300 rpm",
    fastest: Quantity | str = "40000 rpm",
) -> HeardSpeed:
    """Return the speed of a motor from a recording of its sound.

    Parameters
    ----------
    path : path of an uncompressed WAV file, of 8 to 64 bits, any number of channels
    blades : int
        Of the fan on the shaft: it is heard as many times a turn. 1 for a bare shaft.
    slowest, fastest : Quantity or str [rpm]
        Between which the speed lies.

    Returns
    -------
    HeardSpeed

    Raises
    ------
    BenchError
        When the file is no sound, too short or silent, or no line stands out of the noise.

    Notes
    -----
    Lines of a turning shaft are multiples of its turning frequency. That frequency is taken whose multiples explain
    the lines best with none missing. The uncertainty is that of the mean: how the line wanders from one second to the
    next, and the recorder's clock. Valid while the speed is about steady.
    """
    _whole("speed_from_sound.blades", blades)
    return _heard(read_sound(path), blades, (slowest, fastest), "sound")


def speed_from_ripple(
    time: Quantity,
    current: Quantity,
    *,
    bars: int,
    poles: int = 2,
    slowest: Quantity | str = "300 rpm",
    fastest: Quantity | str = "40000 rpm",
) -> HeardSpeed:
    """Return the speed of a motor from the ripple of its logged current.

    Parameters
    ----------
    time : Quantity [s], shape (n,)
        Evenly spaced.
    current : Quantity [A], shape (n,)
    bars, poles : int
        Of the commutator and of the magnet. The ripple comes as often in a turn as the least number that both divide:
        3 bars and 2 poles give 6.
    slowest, fastest : Quantity or str [rpm]
        Between which the speed lies.

    Returns
    -------
    HeardSpeed

    Raises
    ------
    BenchError
        When the times are uneven, the samples too few or too slow, or no line stands out of the noise.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> t = np.arange(4000) / 4000
    >>> i = 0.1 + 0.01 * np.sin(2 * np.pi * 600 * t) + 0.002 * np.sin(2 * np.pi * 100 * t)
    >>> heard = speed_from_ripple(Q_(t, "s"), Q_(i, "A"), bars=3)
    >>> print(heard.speed.to("rpm").round(-1))
    6000.0 revolutions_per_minute
    """
    _whole("speed_from_ripple.bars", bars)
    _whole("speed_from_ripple.poles", poles)
    recording = logged(_column(time, "s", "time"), _column(current, "A", "current"), "speed_from_ripple.current")
    return _heard(recording, math.lcm(bars, poles), (slowest, fastest), "log")


def speed_from_log(
    record: BenchRecord,
    *,
    bars: int,
    poles: int = 2,
    slowest: Quantity | str = "300 rpm",
    fastest: Quantity | str = "40000 rpm",
) -> HeardSpeed:
    """Return the speed from the ripple of a record's table of ``running current``.

    Parameters and errors as for ``speed_from_ripple``; a record without such a table is refused.
    """
    expect(record, BenchRecord, "speed_from_log.record", READ_FIRST)
    table = next((table for table in record.apart if table.kind == "running current"), None)
    if table is None or table.time is None or table.current is None:
        raise BenchError(
            f"{record.source} has no table of running current: write 'table: running current' above its header."
        )
    return speed_from_ripple(table.time, table.current, bars=bars, poles=poles, slowest=slowest, fastest=fastest)


def _whole(where: str, count: object) -> None:
    if not isinstance(count, int) or isinstance(count, bool) or not 1 <= count <= 100:
        raise BenchError(f"{where} must be a whole number, 1 to 100; got {count!r}. Count them.")


def _column(given: object, unit: str, name: str) -> Floats:
    if not isinstance(given, pint.Quantity):
        like = f"Write it as in Q_([1, 2], '{unit}')"
        raise BenchError(f"speed_from_ripple.{name} must be in {unit}; got {repr(given)[:40]}. {like}.")
    return np.asarray(magnitude(given, unit, name), dtype=np.float64)


def _limits(slowest: Quantity | str, fastest: Quantity | str) -> tuple[float, float]:
    low, high = (
        float(magnitude(finite_quantity(one, "rad/s", name), "rad/s")) / (2 * math.pi)
        for name, one in (("slowest", slowest), ("fastest", fastest))
    )
    if not 0 < low < high < np.inf:
        raise BenchError(f"slowest must be above zero and below fastest; got {slowest} and {fastest}.")
    return low, high


def _heard(recording: Recording, per_turn: int, between: tuple[Any, Any], thing: str) -> HeardSpeed:
    low, high = _limits(*between)
    spectrum = spectrum_of(recording.signal, recording.rate)
    least = max(low, 3 * spectrum.width)
    lines = lines_of(spectrum, low=least, high=0.49 * recording.rate)
    found = combs(lines, low=least, high=min(high * per_turn, 0.49 * recording.rate), width=spectrum.width)
    if not found:
        raise BenchError(
            f"No line stands out of the noise of this {thing}. "
            "Record longer and nearer, on a steady speed, in a quiet room."
        )
    turning, clear = _turning(found, lines, per_turn, low, high)
    own = [place for place in range(len(lines.frequency)) if _belongs(lines.frequency[place], turning)]
    strongest = own[0] if own else 0
    multiple = max(round(lines.frequency[strongest] / turning), 1)
    line = wander_of(recording.signal, recording.rate, float(lines.frequency[strongest]))
    turning = line.mean / multiple
    u = math.hypot(line.uncertainty / multiple, _CLOCK / math.sqrt(3) * turning)
    notes = list(recording.notes)
    if line.spread > 0.002 * line.mean:
        notes.append(f"The speed wandered by about {100 * line.spread / line.mean:.1f} %.")
    folded = thing == "log" and high * per_turn > 0.5 * recording.rate  # a sound recorder filters such lines out
    if folded:
        notes.append(
            f"{recording.rate:.4g} samples a second show nothing above {0.5 * recording.rate:.4g} Hz: lines beyond are "
            "folded back. Log faster, or give the fastest speed that can be."
        )
    angular, factor = 2 * math.pi, float(stdtrit(line.freedom, 0.975))
    with np.errstate(divide="ignore"):
        level = 20 * np.log10(np.maximum(spectrum.amplitude / spectrum.noise, 1e-3))
    return HeardSpeed(
        speed=from_si(angular * turning, "rad/s"),
        standard_uncertainty=from_si(angular * u, "rad/s"),
        expanded_uncertainty=from_si(angular * factor * u, "rad/s"),
        line=from_si(line.mean, "Hz"),
        multiple=multiple,
        certainty=_certainty(found, clear, folded=folded),
        others=_others(found, turning, per_turn, (low, high), recording.rate if folded else 0.0),
        frequency=from_si(spectrum.frequency, "Hz"),
        level=level,
        multiples=tuple(sorted({round(lines.frequency[place] / turning) for place in own})),
        notes=tuple(notes),
    )


def _belongs(line: float, turning: float) -> bool:
    multiple = round(line / turning)
    return multiple >= 1 and abs(line - multiple * turning) <= min(0.01 * line, 0.25 * turning)


def _turning(found: list[Comb], lines: Lines, per_turn: int, low: float, high: float) -> tuple[float, float]:
    """Return the turning frequency, and how clearly the blades' line tells it from the line of a turn.

    Where single turns are heard, the blades' line stands above its neighbours; else the lowest line is the blades' own.
    """
    best = found[0]
    if per_turn == 1:
        return best.frequency, np.inf
    slow, fast = best.frequency / per_turn, best.frequency
    if slow < low:
        return fast, np.inf
    if fast > high:
        return slow, np.inf
    heights = _heights(lines, best.frequency)
    here = heights.get(per_turn, 0.0)
    beside = max(heights.get(per_turn - 1, 0.0), heights.get(per_turn + 1, 0.0))
    gap = here - beside
    return (fast, gap) if gap > 0 else (slow, -gap if here else heights.get(1, 0.0))


def _heights(lines: Lines, frequency: float) -> dict[int, float]:
    heights: dict[int, float] = {}
    for place, line in enumerate(lines.frequency):
        if _belongs(float(line), frequency):
            multiple = round(float(line) / frequency)
            heights[multiple] = max(heights.get(multiple, 0.0), float(lines.strength[place]))
    return heights


def _certainty(found: list[Comb], clear: float, *, folded: bool) -> str:
    best = found[0]
    gap = best.score - (found[1].score if len(found) > 1 else 0.0)
    heard = len(best.multiples)
    if folded or heard < 2 or clear < 0.3 or gap < _LIKELY:
        return "doubtful"
    return "sure" if gap > _SURE and heard >= _FEW and clear > 1.0 and best.score > 0.5 else "likely"


def _others(
    found: list[Comb], turning: float, per_turn: int, between: tuple[float, float], rate: float
) -> tuple[OtherSpeed, ...]:
    low, high = between
    other: list[tuple[float, str]] = []
    base = found[0].frequency
    if per_turn > 1:
        if abs(turning / base - 1) < 1e-6:
            other.append((base / per_turn, f"the lowest line is that of all {per_turn} in a turn"))
        else:
            other.append((base, "the lowest line is that of one turn"))
    else:
        other.append((base / 2, "the lowest line comes twice a turn, as from two blades"))
        other.append((2 * base, "the lowest line comes every second turn only"))
    other += [(comb.frequency, f"its multiples {_few(comb.multiples)} stand out too") for comb in found[1:3]]
    if rate:
        line = per_turn * turning
        folds = [abs(fold * rate + side * line) / per_turn for fold in (1, 2) for side in (-1, 1)]
        other += [(one, "the line is folded back from above half the sampling rate") for one in folds]
    told: list[tuple[float, str]] = []
    for frequency, reason in other:
        known = [turning, *(one for one, _ in told)]
        if low <= frequency <= high and all(abs(frequency / one - 1) > 0.02 for one in known):
            told.append((frequency, reason))
    return tuple(OtherSpeed(speed=from_si(2 * math.pi * one, "rad/s"), reason=reason) for one, reason in told[:4])


def _few(multiples: tuple[int, ...]) -> str:
    return ", ".join(str(one) for one in multiples[:5]) + ("…" if len(multiples) > 5 else "")
