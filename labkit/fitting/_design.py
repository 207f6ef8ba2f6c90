"""A bench record to the arrays that the fit works on, and the errors that its readings share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from labkit._kernels.regression import Floats
from labkit._kernels.regression_motor import Readings, joined
from labkit.bench import BenchRecord, BenchTable, Meter

__all__ = ["STEADY", "Design", "Shared", "design_of", "one_count"]

#: Tables of steady readings in the order of the kernel's numbers.
STEADY = ("locked rotor", "free running", "loaded running", "generator")
_READ = ("voltage", "current", "speed", "torque")
_METER_NAMES = {"voltage": "voltmeter", "current": "ammeter", "speed": "tachometer", "torque": "torque meter"}
_MOST_POSITIONS = 48  # beyond these, neighbours count as one
_EXACT = 1e-9  # nothing is taken to be read more finely than this part of its largest value


class Shared(NamedTuple):
    """An error that several readings have in common: a meter's scale, or its zero in one table."""

    source: str
    quantity: str
    table: int  # -1: all tables
    scale: bool  # the error is this part of the reading; else the same for all readings
    uncertainty: float


class Design(NamedTuple):
    """The readings as the kernel takes them, the lines they stand on, and their shared errors."""

    readings: Readings
    line: np.ndarray[tuple[int], np.dtype[np.int64]]
    shared: tuple[Shared, ...]


def one_count(table: BenchTable, name: str, meter: Meter | None) -> float:
    """Return one count of a column's meter in coherent SI: its resolution, else one step of the last digit written."""
    step = meter.resolution if meter is not None and meter.resolution is not None else table.step[name]
    return abs(float(step.to_base_units().magnitude))


def _columns(table: BenchTable, meters: Mapping[str, Meter]) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Return the sizes of the readings and their rounding, with zeros for what was not read."""
    values, rounding = {}, {}
    for name in _READ:
        column = table.si(name)
        values[name] = np.zeros(len(table)) if column is None else np.abs(column)
        fine = 0.0
        if column is not None:
            fine = max(one_count(table, name, meters.get(name)) / np.sqrt(12), _EXACT * float(np.max(values[name])))
        rounding[name] = np.full(len(table), fine)
    return values, rounding


def _positions(table: BenchTable) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Return a number for each rotor position, or -1 where positions were not told apart or never repeated."""
    if table.position is None:
        return np.full(len(table), -1)
    _, number = np.unique(table.position, return_inverse=True)
    if (count := int(number.max()) + 1) > _MOST_POSITIONS:
        number = number * _MOST_POSITIONS // count
    repeated = 1 < number.max() + 1 < len(table)
    return number if repeated else np.full(len(table), -1)


def _readings(table: BenchTable, number: int, meters: Mapping[str, Meter]) -> Readings:
    values, rounding = _columns(table, meters)
    n, one = len(table), np.ones(len(table))
    locked, generator = STEADY[number] == "locked rotor", STEADY[number] == "generator"
    has_current = table.current is not None
    has_torque = table.torque is not None or STEADY[number] == "free running"
    position = _positions(table) if locked else np.full(n, -1)
    by_current = locked and has_current and (position < 0).all()
    return Readings(
        voltage=values["voltage"],
        current=np.zeros(n) if generator else values["current"],
        speed=np.zeros(n) if locked else values["speed"],
        torque=values["torque"],
        one=one,
        brush=np.zeros(n) if generator else one,
        u_voltage=rounding["voltage"],
        u_current=rounding["current"],
        u_speed=rounding["speed"],
        u_torque=rounding["torque"],
        electrical=np.full(n, has_current or generator),
        joined=np.full(n, not has_current and not generator),
        mechanical=np.full(n, has_current and has_torque and not generator),
        table=np.full(n, number),
        position=position,
        width=values["current"] if by_current else one,
    )


def _shared(table: BenchTable, number: int, meters: Mapping[str, Meter]) -> list[Shared]:
    """Return the zero error of each meter in this table: its counts, as the limits of a rectangle."""
    found = []
    for name in table.columns:
        if name in meters and meters[name].counts:
            limit = meters[name].counts * one_count(table, name, meters[name])
            source = f"{_METER_NAMES[name]} counts, {STEADY[number]}"
            found.append(Shared(source, name, number, scale=False, uncertainty=limit / np.sqrt(3)))
    return found


def design_of(record: BenchRecord, meters: Mapping[str, Meter]) -> Design:
    """Return the arrays of all steady tables of *record*.

    The tachometer and the terminals' polarity tell no direction, so all readings are taken as positive.
    """
    numbered = [(STEADY.index(table.kind), table) for table in record.tables]
    readings = joined([_readings(table, number, meters) for number, table in numbered])
    scales = [
        Shared(f"{_METER_NAMES[name]} scale", name, -1, scale=True, uncertainty=meter.percent / 100 / np.sqrt(3))
        for name, meter in meters.items()
        if meter.percent and any(name in table.columns for _, table in numbered)
    ]
    zeros = [shared for number, table in numbered for shared in _shared(table, number, meters)]
    return Design(readings, np.concatenate([table.line for _, table in numbered]), tuple(scales + zeros))
