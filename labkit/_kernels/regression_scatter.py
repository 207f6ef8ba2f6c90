"""The constants of a motor, the scatter that the readings themselves show, and which readings to set aside.

Beyond the rounding of each reading, every balance of every table has a scatter variance of its own, and so has the
resistance from one rotor position to the next. Each is found so that the weighted squares of its group come to the
group's degrees of freedom, readings less what the constants took (Paule and Mandel 1982, J. Res. NBS 87, 377).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from labkit._kernels.regression import Floats, Model, least_squares
from labkit._kernels.regression_motor import (
    CONSTANTS,
    GROUPS,
    POSITIONS,
    TABLE_COUNT,
    Readings,
    Scatter,
    White,
    balances,
    derivatives,
    whiten,
)

__all__ = ["Constants", "Robust", "fit_constants", "robust_constants", "set_aside", "standardized", "suspects"]

_CONSTANT_COUNT = len(CONSTANTS)
_SUSPECT = 3.5  # robust standard deviations (Iglewicz and Hoaglin 1993)
_DOUBT = 0.01  # chance that a sound group loses a reading
_FEW_ENOUGH = 50_000  # readings, above which the constants' own uncertainty is nothing beside a reading's
_FEWEST = 5  # readings of a group, below which none is suspected


class Constants(NamedTuple):
    """A fit of the constants, with all that its uncertainty is made of."""

    value: Floats  # shape (5,)
    free: NDArray[np.bool_]  # shape (5,): fitted rather than held
    offsets: Floats  # shape (positions,) [ohm]
    scatter: Scatter
    freedom: Floats  # shape (GROUPS,): degrees of freedom of each scatter
    white: White
    root: Floats  # shape (q, q) over the free constants and the offsets
    jacobian: Floats  # shape (m, q)
    #: Covariance of the constants from each group's scatter, from the rounding, and from weights that were estimated.
    parts: Floats  # shape (GROUPS + 2, 5, 5)
    #: Variance of each constant's variance, shape (5,): what few readings leave unknown of their own scatter.
    doubt: Floats
    success: bool
    message: str


def _model(data: Readings, scatter: Scatter, free: NDArray[np.bool_], held: Floats) -> Model:
    """Return the residuals and Jacobian as a function of the free constants and the offsets."""
    count, columns = int(free.sum()), np.concatenate((free, np.ones(_positions(data), dtype=bool)))

    def model(parameters: Floats) -> tuple[Floats, Floats]:
        constants = held.copy()
        constants[free] = parameters[:count]
        white = whiten(constants, parameters[count:], data, scatter)
        return white.residuals, derivatives(constants, parameters[count:], data, scatter)[:, columns]

    return model


def _weighted(model: Model, root_weight: Floats) -> Model:
    """Return *model* with each residual multiplied by its own factor."""

    def weighted(parameters: Floats) -> tuple[Floats, Floats]:
        residuals, jacobian = model(parameters)
        return residuals * root_weight, jacobian * root_weight[:, None]

    return weighted


def _positions(data: Readings) -> int:
    return int(data.position.max(initial=-1)) + 1


def _scatter_variance(residual: Floats, known: Floats, width: Floats, freedom: float) -> float:
    """Return the variance at which the weighted squares come to the degrees of freedom; 0 if rounding suffices."""

    def excess(variance: float) -> float:
        return float(np.sum(residual**2 / (known + variance * width**2))) - freedom

    with np.errstate(divide="ignore", invalid="ignore"):
        if freedom < 1 - 1e-9 or not np.all(width > 0) or (np.all(known > 0) and excess(0.0) <= 0):
            return 0.0
    most = float(np.sum((residual / width) ** 2)) / freedom
    if most == 0 or not np.isfinite(most):
        return 0.0
    if excess(most * 1e-12) <= 0:
        return 0.0
    return float(optimize.brentq(excess, most * 1e-12, most * (1 + 1e-9), xtol=most * 1e-10))


def _update(white: White, leverage: Floats, scatter: Scatter, count: Floats) -> tuple[Scatter, Floats]:
    """Return the scatter that fits these residuals, and the degrees of freedom of each group."""
    freedom = count - np.bincount(white.group, leverage, GROUPS)
    variance = np.zeros(GROUPS)
    deviation = np.sqrt(white.known + scatter.variance[white.group] * white.width**2)
    residual = white.residuals * deviation
    for group in np.unique(white.group):
        own = white.group == group
        if group == POSITIONS:  # no reading's own variance: a plain mean square
            variance[group] = np.sum(residual[own] ** 2) / max(freedom[group], 1e-3)
        else:
            variance[group] = _scatter_variance(residual[own], white.known[own], white.width[own], freedom[group])
    return Scatter(variance), freedom


def fit_constants(
    data: Readings, *, free: NDArray[np.bool_], start: Floats, count: Floats | None = None, rounds: int = 60
) -> Constants:
    """Return the free constants with the scatter of each group.

    Parameters
    ----------
    data : Readings
    free : array of bool, shape (5,)
        Which constants to fit; the others stay at *start*.
    start : array, shape (5,)
    count : array, shape (GROUPS,), optional
        How many readings each group stands for, where rows were compressed.
    rounds : int
        Most rounds of fitting and finding the scatter.
    """
    places = _positions(data)
    held, offsets = start.copy(), np.zeros(places)
    scatter = Scatter(np.zeros(GROUPS))
    scatter.variance[POSITIONS] = (0.1 * start[0]) ** 2
    least = (1e-4 * max(abs(start[0]), 1e-9)) ** 2
    if count is None:
        groups = whiten(start, offsets, data, scatter).group
        count = np.bincount(groups, minlength=GROUPS).astype(float)
    for _ in range(rounds):
        model, point = _model(data, scatter, free, held), np.concatenate((held[free], offsets))
        solved = least_squares(model, point, limit=100, exact=False)
        held[free], offsets = solved.parameters[: int(free.sum())], solved.parameters[int(free.sum()) :]
        white = whiten(held, offsets, data, scatter)
        leverage = np.sum((solved.jacobian @ solved.root) ** 2, axis=1)
        found, freedom = _update(white, leverage, scatter, count)
        if places:
            found.variance[POSITIONS] = max(found.variance[POSITIONS], least)
        done = np.all(np.abs(found.variance - scatter.variance) <= 1e-4 * found.variance)
        if done or not np.isfinite(found.variance).all():
            break
        scatter = found
    parts, doubt = _parts(white, jacobian=solved.jacobian, root=solved.root, scatter=scatter, free=free, count=count)
    return Constants(
        held, free, offsets, scatter, freedom, white, solved.root, solved.jacobian, parts, doubt, solved.success,
        solved.message,
    )  # fmt: skip


def _parts(
    white: White, *, jacobian: Floats, root: Floats, scatter: Scatter, free: NDArray[np.bool_], count: Floats
) -> tuple[Floats, Floats]:
    """Return what each group's scatter, the rounding and the estimated weights add to the covariance, and its doubt."""
    own_count, at = int(free.sum()), np.ix_(free, free)
    covariance, by_scatter = root @ root.T, scatter.variance[white.group] * white.width**2
    gain = (root @ (jacobian @ root).T)[:own_count]  # what one standard deviation of each residual does
    total = white.known + by_scatter
    share = by_scatter / np.maximum(total, 1e-300)
    parts = np.zeros((GROUPS + 2, _CONSTANT_COUNT, _CONSTANT_COUNT))
    for group in np.unique(white.group):
        own = white.group == group
        parts[group][at] = (gain[:, own] * share[own]) @ gain[:, own].T
    parts[GROUPS][at] = (gain * (1 - share)) @ gain.T
    few = [
        _Group(jacobian[own], white.width[own] ** 2 / total[own], count[group] / own.sum())
        for group in np.flatnonzero(scatter.variance)
        if (own := white.group == group).any()
    ]
    doubt = np.zeros(_CONSTANT_COUNT)
    if few:
        added, variance = _weights(few, covariance)
        parts[GROUPS + 1][at] = added[:own_count, :own_count]
        doubt[free] = variance[:own_count]
    return parts, doubt


class _Group(NamedTuple):
    jacobian: Floats  # white, shape (rows, parameters)
    pace: Floats  # how fast a row's variance grows with the group's, over itself
    rows: float  # readings that each row stands for


def _positive(matrix: Floats) -> Floats:
    """Return the nearest symmetric matrix without negative eigenvalues, each row in its own size."""
    size = np.sqrt(np.abs(np.diag(matrix)))
    size = np.where(size > 0, size, 1.0)
    value, turn = np.linalg.eigh((matrix + matrix.T) / 2 / np.outer(size, size))
    return (turn * np.maximum(value, 0.0)) @ turn.T * np.outer(size, size)


def _weights(groups: list[_Group], covariance: Floats) -> tuple[Floats, Floats]:
    """Return what estimated instead of known weights add to the covariance, and the variance of each variance.

    Kenward and Roger (1997), Biometrics 53, 983, for residuals that are independent between groups: the inverse of the
    restricted likelihood's information gives the uncertainty of the scatter variances themselves.
    """
    first = [group.jacobian.T @ (group.jacobian * group.pace[:, None]) for group in groups]
    second = [group.jacobian.T @ (group.jacobian * group.pace[:, None] ** 2) for group in groups]
    turned = [covariance @ one for one in first]
    count = len(groups)
    information = np.array([[np.sum(turned[i] * turned[j].T) for j in range(count)] for i in range(count)])
    information += np.diag(
        [g.rows * np.sum(g.pace**2) - 2 * np.sum(covariance * q) for g, q in zip(groups, second, strict=True)]
    )
    spread = 2 * np.linalg.pinv(_positive(information), hermitian=True)
    inner = sum(spread[i, i] * second[i] for i in range(count))
    for i in range(count):
        for j in range(count):
            inner = inner - spread[i, j] * first[i] @ covariance @ first[j]
    slopes = np.array([np.diag(one @ covariance) for one in turned])  # of each variance with each scatter variance
    return _positive(2 * covariance @ inner @ covariance), np.einsum("ip,ij,jp->p", slopes, spread, slopes)


# --- readings set aside ---------------------------------------------------------------------------


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
        model = _weighted(_model(data, scatter, free, held), np.sqrt(weight))
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

    The limit is Student's t at a chance of 1 in 100 that a sound group loses one of its readings (Bonferroni).

    Parameters
    ----------
    data : Readings
        All of them.
    suspected : array of bool, shape (n,)
    fit : Constants
        Fitted without the suspected ones.
    """
    confirmed = np.zeros(len(suspected), dtype=bool)
    for offset, size in zip((0, TABLE_COUNT), standardized(data, fit, ~suspected), strict=True):
        for table in (int(number) for number in np.unique(data.table[suspected])):
            own = (data.table == table) & ~np.isnan(size)
            freedom = fit.freedom[table + offset]
            if own.any() and freedom >= 1:
                limit = stats.t.ppf(1 - _DOUBT / (2 * own.sum()), freedom)
                confirmed |= own & suspected & (np.abs(size) > limit)
    return confirmed
