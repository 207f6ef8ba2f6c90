"""How sure a review is: findings over motors drawn from the uncertainty of a bench fit."""

from __future__ import annotations

import dataclasses
from collections import Counter

import numpy as np

from labkit.fitting import MotorFit
from labkit.parts import Drive
from labkit.parts._fields import expect
from labkit.reviews._finding import Outcome
from labkit.reviews._review import review
from labkit.units import Quantity, from_si, magnitude

__all__ = ["review_spread"]


def review_spread(
    drive: Drive,
    fit: MotorFit,
    duty: float | tuple[float, float] = 1.0,
    frequency: Quantity | str = "20 kHz",
    *,
    draws: int = 100,
    seed: int = 0,
) -> dict[str, float]:
    """Share of plausible motors for which each finding is exceeded.

    Parameters
    ----------
    drive : Drive
        Its motor is replaced by draws around the fitted one.
    fit : MotorFit
    duty, frequency
        As ``review``.
    draws : int
    seed : int
        The same seed draws the same motors.

    Returns
    -------
    dict of str to float
        Findings by name, those that are never exceeded left out: 0.3 means for three motors of ten.

    Notes
    -----
    Constants are drawn from the joint normal distribution of the fit's standard uncertainties and correlations;
    a draw that no motor can have, such as a negative resistance, is drawn again.
    """
    expect(drive, Drive, "review_spread.drive")
    expect(fit, MotorFit, "review_spread.fit", "Give what fit_motor returns.")
    names = fit.names
    units = {name: str(fit.value[name].to_base_units().units) for name in names}
    mean = np.array([magnitude(fit.value[name], units[name]) for name in names])
    spread = np.array([magnitude(fit.standard_uncertainty[name], units[name]) for name in names])
    random = np.random.default_rng(seed)
    exceeded: Counter[str] = Counter()
    for _ in range(draws):
        values = mean
        while not np.all((values := random.multivariate_normal(mean, np.outer(spread, spread) * fit.correlation)) > 0):
            mean = np.maximum(mean, 1e-3 * spread)  # a constant that is zero within its uncertainty
        motor = dataclasses.replace(
            drive.motor, **{name: from_si(value, units[name]) for name, value in zip(names, values, strict=True)}
        )
        found = review(dataclasses.replace(drive, motor=motor), duty, frequency).findings
        exceeded.update(finding.name for finding in found if finding.outcome is Outcome.EXCEEDED)
    return {name: count / draws for name, count in exceeded.most_common()}
