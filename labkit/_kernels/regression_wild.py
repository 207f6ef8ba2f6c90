"""Readings that lie too far off: found by a fit that they cannot pull, and confirmed by one made without them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from labkit._kernels.regression import Floats, Model, least_squares
from labkit._kernels.regression_motor import GROUPS, POSITIONS, TABLE_COUNT, Readings, Scatter, White, balances, whiten
from labkit._kernels.regression_scatter import Constants, model_of

__all__ = ["Robust", "robust_constants", "set_aside", "standardized", "suspects"]

_SUSPECT = 3.5  # robust standard deviations (Iglewicz and Hoaglin 1993)
_DOUBT = 0.01  # chance that a sound bench loses a reading
_FEW_ENOUGH = 50_000  # readings, above which the constants' own uncertainty is nothing beside a reading's
_FEWEST = 5  # readings of a group, below which none is suspected


def _weighted(model: Model, root_weight: Floats) -> Model:
    """Return *model* with each residual multiplied by its own factor."""

    def weighted(parameters: Floats) -> tuple[Floats, Floats]:
        residuals, jacobian = model(parameters)
        return residuals * root_weight, jacobian * root_weight[:, None]

    return weighted


def _plain(data: Readings) -> Readings:
    """Return the data without rotor positions, so that each locked reading scatters with its current."""
    width = np.where(data.position >= 0, np.abs(data.current), data.width)
    return data._replace(position=np.full_like(data.position, -1), width=np.where(width == 0, 1.0, width))


class Robust(NamedTuple):
    """A fit that single readings cannot pull away (Huber's weights, medians for the scatter)."""

    value: Floats
    scatter: Scatter
    leverage: Floats
    white: White


def robust_constants(data: Readings, *, free: NDArray[np.bool_], start: Floats) -> Robust:
    """Return constants and scatter that a minority of wild readings does not move."""
    data = _plain(data)
    held, scatter, none = start.copy(), Scatter(np.zeros(GROUPS)), np.zeros(0)
    white = whiten(held, none, data, scatter)
    leverage = np.zeros(len(white.residuals))
    scatter, weight = _robust_scatter(white, scatter, leverage), np.ones(len(leverage))
    for _ in range(12):
        model = _weighted(model_of(data, scatter, free, held), np.sqrt(weight))
        solved = least_squares(model, held[free], limit=20, exact=False)
        still = bool(np.all(np.abs(solved.parameters - held[free]) <= 1e-3 * np.abs(solved.parameters)))
        held[free] = solved.parameters
        leverage = np.minimum(np.sum((solved.jacobian @ solved.root) ** 2, axis=1), 0.99)
        scatter = _robust_scatter(whiten(held, none, data, scatter), scatter, leverage)
        white = whiten(held, none, data, scatter)
        size = np.abs(white.residuals) / np.sqrt(1 - leverage)
        weight = np.minimum(1.0, 1.345 / np.maximum(size, 1e-300))
        if still:
            break
    return Robust(held, scatter, leverage, white)


def suspects(data: Readings, robust: Robust) -> NDArray[np.bool_]:
    """Return which readings lie more than 3.5 robust standard deviations off a robust fit to them or to some of them.

    A group of fewer than five readings, or in which more than a quarter would go, loses none.
    """
    white = whiten(robust.value, np.zeros(0), _plain(data), robust.scatter)
    leverage = robust.leverage if len(robust.leverage) == len(white.residuals) else np.zeros(len(white.residuals))
    far = np.abs(white.residuals) > _SUSPECT * np.sqrt(1 - leverage)
    chosen = np.zeros(len(data.voltage), dtype=bool)
    for group in np.unique(white.group):
        own = white.group == group
        if own.sum() >= _FEWEST and 0 < far[own].sum() <= own.sum() / 4:
            chosen[white.row[own & far]] = True
    return chosen


def _robust_scatter(white: White, scatter: Scatter, leverage: Floats) -> Scatter:
    """Return each group's scatter variance from the median size of its residuals, less what rounding explains."""
    deviation = np.sqrt(white.known + scatter.variance[white.group] * white.width**2)
    scaled = np.abs(white.residuals) * deviation / white.width
    variance = np.zeros(GROUPS)
    for group in np.unique(white.group):
        own = white.group == group
        left = max(own.sum() - leverage[own].sum(), 1.0)
        spread = 1.4826 * np.median(scaled[own]) * np.sqrt(own.sum() / left)
        variance[group] = max(spread**2 - np.median(white.known[own] / white.width[own] ** 2), 0.0)
    return Scatter(variance)


def _model_variance(data: Readings, fit: Constants) -> tuple[Floats, Floats]:
    """Return the variance of each balance, shape (n,), that the uncertainty of the constants brings."""
    root, at = fit.root[: int(fit.free.sum())], np.zeros(len(data.voltage))
    moved = fit.value[:, None] + 1e-200j * np.eye(len(fit.value))[:, fit.free]
    turned = balances(moved[:, :, None], data, at)
    by_voltage, by_current = turned.voltage.imag / 1e-200, turned.current.imag / 1e-200
    return np.sum((root.T @ by_voltage) ** 2, axis=0), np.sum((root.T @ by_current) ** 2, axis=0)


def standardized(data: Readings, fit: Constants, used: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return each reading's two residuals in its own standard deviations, shape (n,) each; nan where not measured.

    A reading that took part has pulled the fit towards itself; one that did not is judged as a prediction.
    """
    at = np.zeros(len(data.voltage))
    b = balances(fit.value, data, at)
    own_share = _model_variance(data, fit) if len(at) <= _FEW_ENOUGH else (0.0 * at, 0.0 * at)
    pull = np.where(used, -1.0, 1.0)
    between = fit.scatter.variance[POSITIONS] * (data.position >= 0) if len(fit.offsets) else 0.0
    sizes = []
    for place, (e, known) in enumerate(((b.voltage, b.voltage_variance), (b.current, b.current_variance))):
        own = fit.scatter.variance[data.table + place * TABLE_COUNT] * (data.width**2 if place == 0 else 1.0)
        own = known + own + (between * data.current**2 if place == 0 else 0.0)
        measured = data.electrical | data.joined if place == 0 else data.mechanical
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(e == 0, 0.0, e / np.sqrt(np.maximum(own + pull * own_share[place], 0.05 * own)))
        sizes.append(np.where(measured, ratio, np.nan))
    return sizes[0], sizes[1]


def set_aside(data: Readings, suspected: NDArray[np.bool_], fit: Constants) -> NDArray[np.bool_]:
    """Return which suspected readings stay out: those too far from what the others predict.

    The limit is Student's t at a chance of 1 in 100 that a sound bench loses one of its readings (Bonferroni).

    Parameters
    ----------
    data : Readings
        All of them.
    suspected : array of bool, shape (n,)
    fit : Constants
        Fitted without the suspected ones.
    """
    confirmed = np.zeros(len(suspected), dtype=bool)
    sizes = standardized(data, fit, ~suspected)
    chance = _DOUBT / (2 * max(sum(int(np.sum(~np.isnan(size))) for size in sizes), 1))
    for offset, size in zip((0, TABLE_COUNT), sizes, strict=True):
        for table in (int(number) for number in np.unique(data.table[suspected])):
            own = (data.table == table) & ~np.isnan(size)
            freedom = fit.freedom[table + offset]
            if own.any() and freedom >= 1:
                confirmed |= own & suspected & (np.abs(size) > stdtrit(freedom, 1 - chance))
    return confirmed
