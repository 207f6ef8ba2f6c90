"""``fit_room``: the benches of a room, each with its own motor of one type, fitted apart and taken together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from labkit._kernels.pooling import far_off, pool
from labkit.bench import BenchRecord
from labkit.errors import BenchError
from labkit.fitting._motor import fit_motor
from labkit.fitting._result import UNITS, MotorFit
from labkit.fitting._warm import READ_FIRST
from labkit.parts._fields import expect
from labkit.units import Quantity, from_si, magnitude

__all__ = ["RoomConstant", "RoomFit", "fit_room"]


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomConstant:
    """One constant over a room.

    Parameters
    ----------
    value, standard_uncertainty, expanded_uncertainty : Quantity
        Of the mean motor; expanded with Student's t for 95 % at one less than the number of benches.
    spread : Quantity
        Standard deviation from motor to motor, beyond what the readings leave open; zero where they explain it all.
    used, set_aside : tuple of str
        The benches, by the name of their record.
    """

    value: Quantity
    standard_uncertainty: Quantity
    expanded_uncertainty: Quantity
    spread: Quantity
    used: tuple[str, ...]
    set_aside: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RoomFit:
    """What a room of benches found.

    Parameters
    ----------
    fits : mapping of str to MotorFit
        By the name of the record, in the order given.
    unfit : mapping of str to str
        Records that give no constant, and why.
    constants : mapping of str to RoomConstant
        Under the names of ``Motor``'s fields, those that two benches or more give.
    """

    fits: Mapping[str, MotorFit]
    unfit: Mapping[str, str]
    constants: Mapping[str, RoomConstant]


def fit_room(records: Iterable[BenchRecord]) -> RoomFit:
    """Return the fit of each bench of a room, and each constant over all of them.

    The motors are taken to be of one type: alike, and not the same. Each is fitted by itself, the spread between them
    is found with the mean, and a bench far off the others is named and left out of it.

    Parameters
    ----------
    records : iterable of BenchRecord
        One a bench; records of one name are told apart by a number.

    Returns
    -------
    RoomFit

    Raises
    ------
    BenchError
        When no record gives a constant.

    Notes
    -----
    Mean and spread by R. C. Paule and J. Mandel, *J. Res. Natl. Bur. Stand.* **87** (1982) 377. A bench is set aside
    for one constant when it lies more than 3.5 robust standard deviations, its own uncertainty among them, off the
    middle of five benches or more (B. Iglewicz and D. Hoaglin, 1993; from memory). Constants are taken one by one,
    without their correlation. Benches that share one meter share its error, which no mean takes out.

    Examples
    --------
    >>> from labkit.bench import demo_bench, read_bench
    >>> room = fit_room([read_bench(demo_bench()), read_bench(demo_bench())])
    >>> list(room.fits), room.constants["resistance"].used
    (['fan_motor.csv', 'fan_motor.csv (2)'], ('fan_motor.csv', 'fan_motor.csv (2)'))
    """
    fits: dict[str, MotorFit] = {}
    unfit: dict[str, str] = {}
    if not isinstance(records, Iterable):
        raise BenchError(
            f"fit_room takes a list of records; got {repr(records)[:80]}. Write fit_room([read_bench(…), …])."
        )
    for record in records:
        expect(record, BenchRecord, "fit_room.records", READ_FIRST)
        name = _own_name(record.source, {*fits, *unfit})
        try:
            fit = fit_motor(record)
        except BenchError as error:
            unfit[name] = str(error)
            continue
        if fit.names:
            fits[name] = fit
        else:
            unfit[name] = " ".join(f"{entry.reason} {entry.remedy}" for entry in fit.not_identifiable)
    if not fits:
        reasons = " ".join(f"{name}: {reason}" for name, reason in unfit.items())
        raise BenchError(f"No bench gives a constant. {reasons}".rstrip())
    found = {name: [bench for bench, fit in fits.items() if np.isfinite(_known(fit, name))] for name in UNITS}
    constants = {name: _constant(name, fits, benches) for name, benches in found.items() if len(benches) > 1}
    return RoomFit(fits=fits, unfit=unfit, constants=constants)


def _own_name(name: str, taken: set[str]) -> str:
    number, own = 1, name
    while own in taken:
        number += 1
        own = f"{name} ({number})"
    return own


def _constant(name: str, fits: Mapping[str, MotorFit], benches: list[str]) -> RoomConstant:
    unit = UNITS[name]
    values = np.array([float(magnitude(fits[bench].value[name], unit)) for bench in benches])
    uncertainties = np.array([_known(fits[bench], name) for bench in benches])
    aside = far_off(values, uncertainties)
    pooled = pool(values[~aside], uncertainties[~aside])
    factor = float(stdtrit(int(np.sum(~aside)) - 1, 0.975))
    return RoomConstant(
        value=from_si(pooled.value, unit),
        standard_uncertainty=from_si(pooled.uncertainty, unit),
        expanded_uncertainty=from_si(factor * pooled.uncertainty, unit),
        spread=from_si(pooled.spread, unit),
        used=tuple(bench for bench, out in zip(benches, aside, strict=True) if not out),
        set_aside=tuple(bench for bench, out in zip(benches, aside, strict=True) if out),
    )


def _known(fit: MotorFit, name: str) -> float:
    """Return half of the 95 % range: wider than the standard uncertainty where few readings leave that doubtful."""
    wide = fit.expanded_uncertainty.get(name)
    return np.inf if wide is None else float(magnitude(wide, UNITS[name])) / 2
