"""Constants of supply, pin, transistor, diode and case, and the starting voltage: each from a table of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from labkit._kernels.regression import Floats
from labkit._kernels.regression_apart import Found, line_of, warming_of
from labkit.bench import BenchRecord, BenchTable, Meter, procedures
from labkit.errors import BenchError
from labkit.fitting._design import one_count
from labkit.fitting._disc import inertia_from_disc
from labkit.fitting._table_fit import TableFit, beyond, constant_of
from labkit.fitting._warm import READ_FIRST
from labkit.parts._fields import expect
from labkit.units import from_si
from labkit.writing import show

__all__ = ["fit_table", "fit_tables"]

_UNIT = {"voltage": "V", "current": "A", "temperature": "kelvin", "inductance": "H", "time": "s"}
_DECIDES = 0.9  # leverage
_TOLD = 2.0  # standard uncertainties, from which a constant is told from zero
_ALIKE = 0.1  # currents that differ by less make no line


class _Law(NamedTuple):
    """How one kind of table is computed."""

    measured: str
    against: str
    constants: tuple[tuple[str, str], ...]  # name and unit
    fit: Callable[[Floats, Floats, Floats], Found]  # against, measured, rounding


def _falling(current: Floats, voltage: Floats, rounding: Floats) -> Found:
    return line_of(np.column_stack((np.ones_like(current), -current)), voltage, rounding)


def _rising(current: Floats, voltage: Floats, rounding: Floats) -> Found:
    return line_of(np.column_stack((np.ones_like(current), current)), voltage, rounding)


def _through_zero(current: Floats, voltage: Floats, rounding: Floats) -> Found:
    return line_of(current[:, None], voltage, rounding)


def _mean(_: Floats, values: Floats, rounding: Floats) -> Found:
    return line_of(np.ones((len(values), 1)), values, rounding)


_LAWS = {
    "source resistance": _Law("voltage", "current", (("open_voltage", "V"), ("internal_resistance", "ohm")), _falling),
    "pin resistance": _Law("voltage", "current", (("high_level", "V"), ("output_resistance", "ohm")), _falling),
    "transistor on": _Law("voltage", "current", (("on_resistance", "ohm"),), _through_zero),
    "diode drop": _Law("voltage", "current", (("forward_voltage", "V"), ("slope_resistance", "ohm")), _rising),
    "starting voltage": _Law("voltage", "", (("starting_voltage", "V"),), _mean),
    "inductance meter": _Law("inductance", "", (("inductance", "H"),), _mean),
    "case temperature": _Law(
        "temperature",
        "time",
        (("start_temperature", "kelvin"), ("temperature_rise", "kelvin"), ("thermal_time_constant", "s")),
        warming_of,
    ),
}
_ONE_CURRENT = _Law("voltage", "", (("drop", "V"),), _mean)


def _column(table: BenchTable, name: str) -> Floats:
    if not name:
        return np.arange(len(table), dtype=float)
    values = table.si(name)
    if values is None:  # the table could not have been made
        raise BenchError(f"A table of {table.kind} needs its {name}.")
    return values


def _alike(current: Floats) -> bool:
    """Return whether the currents lie too near each other for a line through them."""
    return bool(np.ptp(current) < _ALIKE * np.max(np.abs(current)))


def _law(table: BenchTable) -> _Law:
    """Return how the table is computed.

    Raises
    ------
    BenchError
        When its kind is not computed by itself, or it has too few readings.
    """
    if table.kind not in _LAWS:
        raise BenchError(f"fit_table.table must be one of {', '.join(_LAWS)}; got {table.kind}, which has another fit.")
    law = _LAWS[table.kind]
    if table.kind == "diode drop" and _alike(_column(table, "current")):
        return _ONE_CURRENT
    readings = next(one.readings for one in procedures() if any(t.kind == table.kind for t in one.tables))
    if len(table) < len(law.constants) + (law.fit is warming_of) * 2:
        raise BenchError(f"A table of {table.kind} with {len(table)} reading gives nothing yet. {readings}")
    if law.against == "time" and np.ptp(_column(table, "time")) == 0:
        raise BenchError(f"A table of {table.kind} needs times that differ. {readings}")
    if law.fit is _falling and _alike(_column(table, "current")):
        raise BenchError(f"A table of {table.kind} needs loads that differ: all currents are alike. {readings}")
    return law


def _prepared(table: BenchTable, law: _Law) -> tuple[Floats, Floats]:
    """Return what the law is set against, and what was measured, signs and order put right."""
    against, measured = _column(table, law.against), _column(table, law.measured)
    if law.against == "time":
        order = np.argsort(against, kind="stable")
        return against[order] - min(float(against.min()), 0.0), measured[order]
    return np.abs(against), np.abs(measured)


def _shifts(table: BenchTable, law: _Law, meters: Mapping[str, Meter]) -> list[tuple[str, float, bool]]:
    """Return the errors that all readings share: column, standard uncertainty, whether it is a part of the reading."""
    found = []
    for name in (law.measured, law.against):
        if (meter := meters.get(name)) is not None:
            if meter.percent and name != "temperature":  # a percentage of degrees from an arbitrary zero means nothing
                found.append((name, meter.percent / 100 / np.sqrt(3), True))
            if meter.counts:
                found.append((name, meter.counts * one_count(table, name, meter) / np.sqrt(3), False))
    return found


def _rounding(table: BenchTable, law: _Law, meters: Mapping[str, Meter], slope: float) -> Floats:
    """Return what rounding leaves of each reading, that of the other axis turned by the slope."""
    size = one_count(table, law.measured, meters.get(law.measured)) / np.sqrt(12)
    if law.against == "current":
        size = float(np.hypot(size, slope * one_count(table, "current", meters.get("current")) / np.sqrt(12)))
    return np.full(len(table), size)


def fit_table(table: BenchTable, record: BenchRecord) -> TableFit:
    """Return the constants of a table that is computed by itself.

    Parameters
    ----------
    table : BenchTable
        ``"source resistance"``, ``"pin resistance"``: V = E − r·I. ``"diode drop"``: V = V₀ + r·I, or the mean drop
        where all currents are alike. ``"transistor on"``: V = R·I. ``"starting voltage"``, ``"inductance meter"``: a
        mean over rotor positions. ``"case temperature"``: T = T₀ + rise·(1 − e^(−t/τ)).
    record : BenchRecord
        Of which it is: tells the meters and the notes ``heat``, ``gate voltage`` and ``test frequency``.

    Returns
    -------
    TableFit

    Raises
    ------
    BenchError
        When there are too few readings, they do not differ, or they follow no such law.

    Examples
    --------
    >>> from labkit.bench import bench_record
    >>> from labkit.units import Q_
    >>> loads = BenchTable(kind="source resistance", voltage=Q_([6.1, 5.9, 5.6], "V"), current=Q_([0, 270, 690], "mA"))
    >>> found = fit_table(loads, bench_record(loads))
    >>> print(found["internal_resistance"].value.round(2))
    0.72 ohm
    """
    expect(table, BenchTable, "fit_table.table", "Give one of a record's .apart, or take fit_tables(record).")
    expect(record, BenchRecord, "fit_table.record", READ_FIRST)
    law, meters = _law(table), record.meters
    against, measured = _prepared(table, law)
    first = law.fit(against, measured, np.zeros(len(table)))
    found = law.fit(against, measured, _rounding(table, law, meters, float(abs(first.value[-1]))))
    _refuse(table, law, found, against)
    total = found.covariance.copy()
    for name, size, scale in _shifts(table, law, meters):
        moved = {law.against: against, law.measured: measured}
        moved[name] = moved[name] * (1 + size) if scale else moved[name] + size
        change = law.fit(moved[law.against], moved[law.measured], np.zeros(len(table))).value - found.value
        total += np.outer(change, change)
    constants = tuple(
        constant_of(
            name,
            unit,
            max(float(found.value[place]), 0.0) if law.against == "current" else float(found.value[place]),
            own=float(found.covariance[place, place]),
            total=float(total[place, place]),
            freedom=found.freedom,
        )
        for place, (name, unit) in enumerate(law.constants)
    )
    constants, sentences = beyond(table, record, constants, measured)
    sentences += _alone(table, law, against)
    if law.against == "current" and found.value[-1] < _TOLD * np.sqrt(found.covariance[-1, -1]):
        sentences.append(
            f"The {law.constants[-1][0].replace('_', ' ')} is not told from zero: read at higher currents."
        )
    unit = _UNIT[law.measured]
    return TableFit(
        kind=table.kind,
        constants=constants,
        against=from_si(against, _UNIT.get(law.against, "")),
        measured=from_si(measured, unit),
        residual=from_si(found.residuals, unit),
        sentences=tuple(sentences),
    )


def _alone(table: BenchTable, law: _Law, against: Floats) -> list[str]:
    """Name a reading that decides the slope nearly alone, since nothing then shows that it is wrong."""
    if law.against != "current" or len(law.constants) < 2 or len(table) < 4:
        return []
    away = (against - against.mean()) ** 2
    weight = 1 / len(against) + away / max(float(away.sum()), 1e-300)
    place = int(np.argmax(weight))
    if weight[place] < _DECIDES:
        return []
    line = int(table.line[place])
    return [f"The reading of line {line} decides the slope nearly alone: read it again, or others near it."]


def _refuse(table: BenchTable, law: _Law, found: Found, against: Floats) -> None:
    if not found.success or not np.isfinite(found.value).all():
        raise BenchError(f"The readings of {table.kind} do not follow their law. Look at them: is a column swapped?")
    if law.against == "time":
        unseen = found.value[1] <= _TOLD * float(np.sqrt(found.covariance[1, 1]))
        if unseen or found.value[2] > 20 * float(against[-1]):
            raise BenchError(
                f"The readings of {table.kind} do not climb towards an end. Go on for two time constants or more."
            )
        return
    spread = np.sqrt(np.diag(found.covariance))
    for place, ((name, unit), value) in enumerate(zip(law.constants, found.value, strict=True)):
        slope = len(law.constants) > 1 and place == 1
        if value <= (
            -_TOLD * max(spread[place], 1e-9) if slope else 0
        ):  # a slope may be too small to be told from zero
            raise BenchError(
                f"The readings of {table.kind} give {name.replace('_', ' ')} {show(from_si(float(value), unit))}, "
                "which cannot be. Are two columns or their units swapped?"
            )


def fit_tables(record: BenchRecord) -> tuple[TableFit, ...]:
    """Return what each table of *record* gives that is computed by itself; nothing where there is none.

    Two coast-downs, one with a known disc on the shaft, count as one such table.

    Raises
    ------
    BenchError
        As ``fit_table``.
    """
    expect(record, BenchRecord, "fit_tables.record", READ_FIRST)
    found = [fit_table(table, record) for table in record.apart if table.kind in _LAWS]
    if any(trace.kind == "coast down with disc" for trace in record.traces):
        found.append(inertia_from_disc(record))
    return tuple(found)
