"""Which further reading would help most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from labkit._kernels.regression import Floats
from labkit._kernels.regression_motor import GROUPS, POSITIONS, TABLE_COUNT, Readings, Scatter, derivatives
from labkit.fitting._design import STEADY
from labkit.fitting._result import UNITS, NextReading
from labkit.fitting._solve import Solved
from labkit.units import Quantity, from_si

__all__ = ["next_reading"]

_METERS = ("voltmeter", "ammeter", "tachometer", "torque meter")
_MOSTLY = 0.7  # of a variance
_READ = ("voltage", "current", "speed", "torque")


def _steady(value: Floats, voltage: float) -> tuple[float, float]:
    """Return current and speed of the free motor."""
    R, B, k, F, c = value
    speed = max((voltage - B - R * F / k) / (k + R * c / k), 0.0)
    return (F + c * speed) / k, speed


def _candidates(solved: Solved) -> Iterator[tuple[str, Quantity, dict[str, float]]]:
    """Yield table, what to set, and the readings to expect, within what was used already."""
    data, value, free = solved.used, solved.fit.value, solved.unbound.free
    held = (data.table == STEADY.index("locked rotor")) & (data.current > 0)
    run = data.table == STEADY.index("free running")
    driven = data.table == STEADY.index("generator")
    if held.any():
        for current in {float(data.current[held].min()), float(data.current[held].max())}:
            yield "locked rotor", from_si(current, "A"), {"voltage": value[0] * current + value[1], "current": current}
    if free[2] and free[3]:
        top = float(np.abs(data.voltage[run]).max()) if run.any() else float(np.abs(data.voltage).max())
        for voltage in (top, top / 2):
            current, speed = _steady(value, voltage)
            if speed > 0:
                yield "free running", from_si(voltage, "V"), {"voltage": voltage, "current": current, "speed": speed}
    fastest = float(np.abs(data.speed[driven]).max()) if driven.any() else float(np.abs(data.speed).max())
    if free[2] and fastest > 0:
        yield "generator", from_si(fastest, "rad/s"), {"voltage": value[2] * fastest, "speed": fastest}


def _row(kind: str, expected: Mapping[str, float], data: Readings) -> Readings:
    """Return the expected readings as one row, with the rounding of the others."""
    one = np.ones(1)
    values = {name: np.array([expected.get(name, 0.0)]) for name in _READ}
    fine = {name: np.array([getattr(data, f"u_{name}").max() * (name in expected)]) for name in _READ}
    return Readings(
        voltage=values["voltage"],
        current=values["current"],
        speed=values["speed"],
        torque=values["torque"],
        one=one,
        brush=one * (kind != "generator"),
        u_voltage=fine["voltage"],
        u_current=fine["current"],
        u_speed=fine["speed"],
        u_torque=fine["torque"],
        electrical=one > 0,
        joined=one < 0,
        mechanical=np.array([kind == "free running"]),
        table=np.array([STEADY.index(kind)]),
        position=np.array([-1]),
        width=values["current"] if kind == "locked rotor" else one,
    )


def _scatter(solved: Solved) -> Scatter:
    """Return each group's scatter; where a group was never read, that of the free run's voltage."""
    variance = solved.fit.scatter.variance.copy()
    count = np.bincount(solved.fit.white.group, minlength=GROUPS)
    variance[:TABLE_COUNT] = np.where(count[:TABLE_COUNT] > 0, variance[:TABLE_COUNT], variance[1])
    if count[POSITIONS]:
        variance[0] = variance[POSITIONS]  # another position scatters in ohm
    return Scatter(variance)


def next_reading(solved: Solved, parts: Mapping[str, Floats], places: Mapping[str, int]) -> NextReading | None:
    """Return what would lower the uncertainties most: one further reading of those usual, or a better meter.

    The reading counts that lowers the product of all uncertainties most; its own error is taken as that of its kind.
    """
    wanted = [name for name in ("resistance", "emf_constant") if name in places]
    if not wanted:
        return None
    total = sum(parts.values(), np.zeros((len(UNITS), len(UNITS))))
    relative = {name: np.sqrt(total[places[name], places[name]]) / solved.fit.value[places[name]] for name in wanted}
    weakest = max(relative, key=lambda name: float(relative[name]))
    at = places[weakest]
    source = max(parts, key=lambda name: float(parts[name][at, at]))
    meters = sum(part[at, at] for name, part in parts.items() if name.startswith(_METERS))
    if meters > _MOSTLY * total[at, at]:
        return NextReading(table="", at=None, source=source, constant=weakest, gain=1.0)
    return _best_reading(solved, source)


def _best_reading(solved: Solved, source: str) -> NextReading | None:
    free, root = solved.unbound.free, solved.unbound.root[: int(solved.unbound.free.sum())]
    own, scatter, names = root @ root.T, _scatter(solved), [name for name, f in zip(UNITS, free, strict=True) if f]
    least, best = 1.0, None
    for kind, setting, expected in _candidates(solved):
        slopes = derivatives(solved.fit.value, np.zeros(0), _row(kind, expected, solved.used), scatter)[:, free]
        if not np.isfinite(slopes).all():
            continue
        lowered = own - own @ slopes.T @ np.linalg.solve(np.eye(len(slopes)) + slopes @ own @ slopes.T, slopes @ own)
        gain = np.sqrt(np.clip(np.diag(lowered) / np.maximum(np.diag(own), 1e-300), 0, 1))
        if float(np.prod(gain)) < least:
            least, index = float(np.prod(gain)), int(np.argmin(gain))
            best = NextReading(table=kind, at=setting, source=source, constant=names[index], gain=float(gain[index]))
    return best
