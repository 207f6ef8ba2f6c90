"""``fit_motor``: a bench record to constants with their uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from scipy.special import stdtrit

from labkit._kernels.regression import Floats
from labkit._kernels.regression_coverage import replayed_freedom
from labkit._kernels.regression_motor import CONSTANTS, GROUPS, POSITIONS, TABLE_COUNT, balances
from labkit._kernels.regression_wild import standardized
from labkit.bench import BenchRecord, Meter, bench_record
from labkit.errors import BenchError
from labkit.fitting._checks import faint, refuse_contradictions, unusual
from labkit.fitting._design import STEADY, Design, design_of
from labkit.fitting._doubts import doubts, not_identified
from labkit.fitting._next import next_reading
from labkit.fitting._result import UNITS, MotorFit, Reading, ResidualSet
from labkit.fitting._solve import Solved, meter_parts, solve
from labkit.fitting._warm import READ_FIRST, warmth_of
from labkit.parts._fields import expect
from labkit.units import Quantity, from_si

__all__ = ["fit_motor"]

_PROBABILITY = 0.95
_MOST_LISTED = 1000


def fit_motor(
    record: BenchRecord,
    *,
    voltmeter: Meter | str | None = None,
    ammeter: Meter | str | None = None,
    tachometer: Meter | str | None = None,
    torque_meter: Meter | str | None = None,
) -> MotorFit:
    """Return a motor's constants, all found at once, with their uncertainty.

    V = R·I + brush drop + k·ω and k·I = torque + friction torque + viscous friction·ω hold at every steady reading.
    The constants are those for which the readings, each moved within its own error, miss these balances least.

    Parameters
    ----------
    record : BenchRecord
    voltmeter, ammeter, tachometer, torque_meter : Meter or str, optional
        Accuracy, instead of what the file says: ``"0.5 % + 2 counts"``.

    Returns
    -------
    MotorFit

    Raises
    ------
    BenchError
        When there are no steady readings, or they contradict each other.

    Notes
    -----
    Errors in every reading: weighted distance of each reading from the balances. The parts of the uncertainty follow
    JCGM 100:2008: rounding step/√12, meters rectangular, scatter from the readings themselves, Student's t at the
    effective degrees of freedom.
    Wild readings: more than 3.5 robust standard deviations off a robust fit, and then more than Student's t at a chance
    of 1 in 100 a bench off what the other readings predict; at most a quarter of a group, and none of fewer than five.
    A contact film, which only ever adds resistance, is taken out that way where it is rare.
    The resistance is that of the winding at the temperature at which it was read; ``MotorFit.motor`` has it at 25 °C,
    once the note ``winding temperature`` tells from where.

    Valid for steady readings; the brush drop is taken as independent of current, friction as constant plus a part
    proportional to speed. The meters' own errors widen the uncertainty and do not weigh the readings, which costs a
    little where one meter is far better in one table than in another.

    Examples
    --------
    >>> from labkit.bench import BenchTable, bench_record
    >>> from labkit.units import Q_
    >>> held = BenchTable(kind="locked rotor", voltage=Q_([0.30, 0.58, 0.86], "V"), current=Q_([100, 200, 300], "mA"))
    >>> fit = fit_motor(bench_record(held))
    >>> print(fit.value["resistance"].round(2))
    2.8 ohm
    """
    expect(record, BenchRecord, "fit_motor.record", READ_FIRST)
    given = {"voltmeter": voltmeter, "ammeter": ammeter, "tachometer": tachometer, "torque meter": torque_meter}
    meters = {name: meter for name, meter in given.items() if meter is not None}
    if meters:
        record = replace(record, meters={**record.meters, **bench_record(meters=meters).meters})
    if not record.tables:
        raise BenchError(f"{record.source} has no steady readings to fit. Add a table: locked rotor is the simplest.")
    design = design_of(record, record.meters)
    refuse_contradictions(design.readings)
    return _result(record, design, solve(design))


def _source(group: int) -> str:
    if group == POSITIONS:
        return "scatter between rotor positions"
    if group == GROUPS:
        return "rounding of the readings"
    if group == GROUPS + 1:
        return "too few readings to know their scatter"
    return f"scatter of {'voltage' if group < TABLE_COUNT else 'current'}, {STEADY[group % TABLE_COUNT]}"


def _freedom(replayed: float, stated: float, total: float) -> float:
    """Return the effective degrees of freedom of a constant (Welch and Satterthwaite; JCGM 100:2008, G.4).

    Parameters
    ----------
    replayed : float
        Degrees of freedom of what the readings themselves show.
    stated, total : float
        Its variance without and with the meters' own errors, which are taken as known.
    """
    return max(replayed * (total / stated) ** 2, 1.0) if stated > 0 else np.inf


def _residuals(solved: Solved, design: Design) -> tuple[ResidualSet, ...]:
    data, fit = design.readings, solved.fit
    sizes = standardized(data, fit, solved.kept)
    missed = balances(fit.value, data, np.zeros(len(data.voltage)))
    balance = (("voltage", "V", missed.voltage, sizes[0]), ("current", "A", missed.current, sizes[1]))
    sets = []
    for table in (int(number) for number in np.unique(data.table)):
        held = STEADY[table] == "locked rotor"
        for name, unit, off, size in balance:
            own = (data.table == table) & ~np.isnan(size)
            if own.any():
                against = from_si(data.current[own], "A") if held else from_si(data.speed[own], "rad/s")
                sets.append(
                    ResidualSet(
                        table=STEADY[table],
                        balance=name,
                        against=against,
                        residual=from_si(off[own], unit),
                        standardized=size[own],
                        line=design.line[own],
                        set_aside=~solved.kept[own],
                    )
                )
    return tuple(sets)


def _readings(sets: tuple[ResidualSet, ...], *, out: bool) -> list[Reading]:
    """Return the readings that were set aside, or the worst of each set that were used; farthest first."""
    found: dict[tuple[str, int], Reading] = {}
    for one in sets:
        rows = np.flatnonzero(one.set_aside == out)
        if not out and len(rows):
            rows = rows[[int(np.argmax(np.abs(one.standardized[rows])))]]
        for row in rows[:_MOST_LISTED]:
            line, size = int(one.line[row]), float(one.standardized[row])
            other = found.get((one.table, line))
            if other is None or abs(other.deviations) < abs(size):
                found[one.table, line] = Reading(
                    table=one.table, line=line, balance=one.balance, off=one.residual[row], deviations=size
                )
    return sorted(found.values(), key=lambda reading: -abs(reading.deviations))


def _budget(parts: Mapping[str, Floats], place: int, unit: str) -> dict[str, Quantity]:
    """Return what each source alone would leave as standard uncertainty, largest first."""
    sizes = {source: float(np.sqrt(part[place, place])) for source, part in parts.items() if part[place, place] > 0}
    return {source: from_si(sizes[source], unit) for source in sorted(sizes, key=lambda source: -sizes[source])}


def _result(record: BenchRecord, design: Design, solved: Solved) -> MotorFit:
    unbound = solved.unbound
    parts = {_source(group): unbound.parts[group] for group in range(GROUPS + 2)}
    parts |= meter_parts(unbound, solved.used, design)
    total = sum(parts.values(), np.zeros((len(CONSTANTS), len(CONSTANTS))))
    places = {name: place for place, name in enumerate(CONSTANTS) if unbound.free[place] and name not in solved.unknown}
    order = list(places.values())
    u = np.sqrt(np.diag(total))
    own, replayed = np.diag(unbound.parts.sum(axis=0)), replayed_freedom(unbound)
    freedom = {name: _freedom(replayed[place], own[place], total[place, place]) for name, place in places.items()}
    factor = {name: float(stdtrit(freedom[name], 0.5 + _PROBABILITY / 2)) for name in places}
    value = {name: float(solved.fit.value[place]) for name, place in places.items()}
    sets, size = _residuals(solved, design), np.maximum(u[order], 1e-300)
    warm = warmth_of(record).problem
    problems = [*record.problems, *unusual(value, record.source), *faint(design.readings, record.source)]
    problems += [*doubts(record, solved, design), *([warm] if warm else [])]
    return MotorFit(
        record=record,
        value={name: from_si(value[name], UNITS[name]) for name in places},
        standard_uncertainty={name: from_si(float(u[places[name]]), UNITS[name]) for name in places},
        coverage_factor=factor,
        degrees_of_freedom=freedom,
        expanded_uncertainty={name: from_si(factor[name] * float(u[places[name]]), UNITS[name]) for name in places},
        correlation=total[np.ix_(order, order)] / np.outer(size, size),
        budget={name: _budget(parts, place, UNITS[name]) for name, place in places.items()},
        residuals=sets,
        not_identifiable=not_identified(solved),
        set_aside=tuple(_readings(sets, out=True)),
        worst_reading=next(iter(_readings(sets, out=False)), None),
        next_reading=next_reading(solved, parts, places),
        problems=tuple(problems),
    )
