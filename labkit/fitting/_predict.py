"""What a fitted motor will do, with a band, and whether a reading agrees with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from labkit._kernels.regression import Covariance, Floats, propagate
from labkit._kernels.steady import BrakesSI, MotorSI, run
from labkit.errors import BenchError, PartError
from labkit.fitting._result import FIT_FIRST, UNITS, MotorFit
from labkit.fitting._warm import warmth_of
from labkit.parts import Load, Motor
from labkit.parts._fields import expect, finite_quantity
from labkit.units import Q_, Quantity, from_si, magnitude
from labkit.writing import show

__all__ = ["Agreement", "Band", "agreement", "draw_motors", "predict"]

_PREDICTED = {"speed": "rad/s", "current": "A", "shaft_torque": "N*m", "stall_current": "A", "stall_heat": "W"}
_LOAD = {"friction": "N*m", "viscous": "N*m*s/rad", "fan": "N*m*s**2/rad**2", "weight": "N*m"}
#: What usually lies behind a reading that is off (common practice, no source).
_REASONS = {
    ("speed", 1): ("less load than was told", "a tachometer that counts a blade or a mark twice"),
    ("speed", -1): (
        "a terminal voltage below the one told: read it at the motor while it runs",
        "a warm winding: copper gains 0.39 % of resistance per °C",
        "more load than was told, or something that rubs",
    ),
    ("current", 1): ("more load or friction than was told: something rubs", "stiff grease in a cold motor"),
    ("current", -1): ("less load than was told", "an ammeter or its fuse socket in the wrong range"),
    ("stall_current", 1): ("a rotor position of low resistance", "lead resistance that was in the bench readings"),
    ("stall_current", -1): (
        "a supply that sags: read the voltage at the motor",
        "a contact film or a rotor position of high resistance",
        "a warm winding: copper gains 0.39 % of resistance per °C",
    ),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """A predicted value with its standard and its expanded (95 %) uncertainty, all of one kind of quantity."""

    name: str
    value: Quantity
    standard_uncertainty: Quantity
    expanded_uncertainty: Quantity


@dataclass(frozen=True, kw_only=True, slots=True)
class Agreement:
    """Whether a reading agrees with a band.

    Parameters
    ----------
    agrees : bool
        The difference is within the coverage factor times its standard uncertainty.
    deviations : float
        Reading less prediction, in standard uncertainties of the difference.
    sentence : str
    reasons : tuple of str
        What usually lies behind such a difference; empty where it agrees.
    """

    agrees: bool
    deviations: float
    sentence: str
    reasons: tuple[str, ...]


def _covariance(fit: MotorFit) -> Covariance:
    """Return the covariance of the five constants in SI, zero for those that are held."""
    at = [list(UNITS).index(name) for name in fit.names]
    u = np.array([float(magnitude(fit.standard_uncertainty[name], UNITS[name])) for name in fit.names])
    covariance = np.zeros((len(UNITS), len(UNITS)))
    covariance[np.ix_(at, at)] = fit.correlation * np.outer(u, u)
    return covariance


def _constants(fit: MotorFit) -> Floats:
    """Return the five constants in SI as they were read, the winding as warm as it was; zero for those held there.

    Raises
    ------
    BenchError
        When the readings do not give the motor.
    """
    _ = fit.motor  # refuses readings that do not give it
    return np.array(
        [float(magnitude(fit.value[name], unit)) if name in fit.value else 0.0 for name, unit in UNITS.items()]
    )


def _outcomes(constants: Floats, voltage: float, load: Mapping[str, float]) -> Floats:
    """Return what is predicted, shape (outcomes, n), for constants of shape (5, n)."""
    R, B, k, F, c = constants
    brakes = BrakesSI(
        friction=F + load["friction"],
        viscous=c + load["viscous"],
        fan=np.full_like(R, load["fan"]),
        weight=np.full_like(R, load["weight"]),
        holding=F + load["friction"],
        motor_friction=F,
        motor_viscous=c,
        motor_holding=F,
    )
    running = run(np.full_like(R, voltage), MotorSI(resistance=R, emf_constant=k, brush_drop=B), brakes)
    stall = np.maximum(voltage - B, 0.0) / R
    return np.array([running.speed, running.current, running.shaft_torque, stall, voltage * stall])


def predict(fit: MotorFit, *, voltage: Quantity | str, load: Load | None = None) -> dict[str, Band]:
    """Return what the fitted motor does on a steady voltage, with the fit's uncertainty carried through.

    Parameters
    ----------
    fit : MotorFit
    voltage : Quantity [V]
        At the motor's terminals, taken as exact, more than zero.
    load : Load, optional
        On the shaft, taken as exact; none where not given.

    Returns
    -------
    dict of str to Band
        ``speed``, ``current``, ``shaft_torque``, ``stall_current``, ``stall_heat``.

    Raises
    ------
    BenchError
        When the readings do not give the motor, or the voltage is not positive.

    Notes
    -----
    First-order propagation with the correlations of the constants (JCGM 100:2008, 5.2.2); the coverage factor is the
    largest of the fit's. The winding is taken at the temperature of the bench.

    Examples
    --------
    >>> from labkit.bench import BenchTable, bench_record
    >>> from labkit.fitting import fit_motor
    >>> from labkit.units import Q_
    >>> held = BenchTable(kind="locked rotor", voltage=Q_([0.30, 0.58, 0.86], "V"), current=Q_([100, 200, 300], "mA"))
    >>> free = BenchTable(kind="free running", voltage=Q_([3, 6], "V"), current=Q_([104, 112], "mA"),
    ...                   speed=Q_([4750, 9930], "rpm"))
    >>> band = predict(fit_motor(bench_record(held, free)), voltage="4.5 V")["speed"]
    >>> print(band.value.to("rpm").round(-2))
    7300.0 revolutions_per_minute
    """
    expect(fit, MotorFit, "predict.fit", FIT_FIRST)
    volts = float(magnitude(finite_quantity(voltage, "V", "predict.voltage"), "V"))
    if volts <= 0:
        raise BenchError(
            f"predict.voltage must be more than zero; got {show(Q_(voltage))}. Give the voltage at the terminals."
        )
    load = Load() if load is None else load
    expect(load, Load, "predict.load")
    on_shaft = {name: float(magnitude(getattr(load, name), unit)) for name, unit in _LOAD.items()}
    centre, covariance = _constants(fit), _covariance(fit)
    step = 0.1 * np.sqrt(np.diag(covariance))
    up = _outcomes(np.maximum(centre[:, None] + np.diag(step), 0.0), volts, on_shaft)
    down = _outcomes(np.maximum(centre[:, None] - np.diag(step), 0.0), volts, on_shaft)
    wide = np.maximum(centre + step, 0.0) - np.maximum(centre - step, 0.0)
    slopes = np.where(wide > 0, (up - down) / np.where(wide > 0, wide, 1.0), 0.0)
    u = np.sqrt(np.diag(propagate(covariance, slopes)))
    value = _outcomes(centre[:, None], volts, on_shaft)[:, 0]
    factor = max(fit.coverage_factor.values())
    return {
        name: Band(
            name=name,
            value=from_si(float(value[place]), unit),
            standard_uncertainty=from_si(float(u[place]), unit),
            expanded_uncertainty=from_si(float(factor * u[place]), unit),
        )
        for place, (name, unit) in enumerate(_PREDICTED.items())
    }


def agreement(band: Band, measured: Quantity | str, standard_uncertainty: Quantity | str) -> Agreement:
    """Return whether a reading agrees with a prediction, and what usually lies behind it where it does not.

    Parameters
    ----------
    band : Band
    measured : Quantity
        Of the band's kind.
    standard_uncertainty : Quantity
        Of the reading: meter and scatter together.
    """
    if not isinstance(band, Band):
        raise PartError("band", "one value of a prediction", band, 'Take one: predict(fit, voltage="4 V")["current"].')
    unit = _PREDICTED[band.name]
    off = float(magnitude(finite_quantity(measured, unit, "measured"), unit)) - float(magnitude(band.value, unit))
    own = float(magnitude(band.standard_uncertainty, unit))
    reading = float(magnitude(finite_quantity(standard_uncertainty, unit, "standard_uncertainty"), unit))
    if not reading >= 0:
        raise PartError("standard_uncertainty", "zero or more", standard_uncertainty, "It has no sign: drop the minus.")
    spread = float(np.hypot(own, reading))
    factor = float(magnitude(band.expanded_uncertainty, unit)) / own if own > 0 else 2.0
    if spread == 0:
        raise BenchError("agreement.standard_uncertainty must be more than zero where the prediction has none.")
    deviations, words = off / spread, band.name.replace("_", " ")
    if abs(deviations) <= factor:
        return Agreement(agrees=True, deviations=deviations, sentence=f"The {words} agrees.", reasons=())
    side = "above" if off > 0 else "below"
    reasons = _REASONS.get((band.name, 1 if off > 0 else -1), ())
    sentence = f"The {words} is {abs(deviations):.1f} standard uncertainties {side} the prediction."
    return Agreement(agrees=False, deviations=deviations, sentence=sentence, reasons=reasons)


def draw_motors(fit: MotorFit, *, count: int, seed: int) -> tuple[Motor, ...]:
    """Return motors drawn from the uncertainty of a fit, for whatever a formula cannot carry through.

    Parameters
    ----------
    fit : MotorFit
    count : int
    seed : int
        Equal seeds draw equal motors.

    Returns
    -------
    tuple of Motor
        Normal draws with the fit's correlations; those that no motor can have (nothing below zero) are drawn again,
        or, for brush drop and friction, held at zero.

    Raises
    ------
    BenchError
        When the readings do not give the motor, or know its resistance or EMF constant no better than ± 50 %.

    Examples
    --------
    >>> from labkit.bench import BenchTable, bench_record
    >>> from labkit.fitting import fit_motor
    >>> from labkit.units import Q_
    >>> held = BenchTable(kind="locked rotor", voltage=Q_([0.30, 0.58, 0.86], "V"), current=Q_([100, 200, 300], "mA"))
    >>> free = BenchTable(kind="free running", voltage=Q_([3, 6], "V"), current=Q_([104, 112], "mA"),
    ...                   speed=Q_([4750, 9930], "rpm"))
    >>> len(draw_motors(fit_motor(bench_record(held, free)), count=5, seed=1))
    5
    """
    expect(fit, MotorFit, "draw_motors.fit", FIT_FIRST)
    for name, number in (("count", count), ("seed", seed)):
        if not isinstance(number, int) or isinstance(number, bool) or number < 0:
            raise PartError(f"draw_motors.{name}", "a whole number, 0 or more", repr(number), "Count from 0.")
    centre, covariance = _constants(fit), _covariance(fit)
    for place, name in ((0, "resistance"), (2, "EMF constant")):
        if np.sqrt(covariance[place, place]) > 0.5 * centre[place]:
            raise BenchError(f"The {name} is known no better than ± 50 %: too little to draw motors from. Read more.")
    size = np.maximum(np.abs(centre), np.sqrt(np.diag(covariance)))
    size = np.where(size > 0, size, 1.0)  # in units of its own size, so that no constant is lost in rounding
    rng = np.random.default_rng(seed)
    drawn = np.empty((0, len(UNITS)))
    while len(drawn) < count:
        fresh = centre + size * rng.multivariate_normal(np.zeros(len(UNITS)), covariance / np.outer(size, size), count)
        drawn = np.concatenate((drawn, fresh[(fresh[:, 0] > 0) & (fresh[:, 2] > 0)]))
    drawn = np.maximum(drawn[:count], 0.0)
    drawn[:, 0] *= warmth_of(fit.record).factor  # a motor's resistance is that at 25 °C
    return tuple(
        Motor(**{name: from_si(float(row[place]), unit) for place, (name, unit) in enumerate(UNITS.items())})
        for row in drawn
    )
