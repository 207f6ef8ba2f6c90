"""The constants of a motor, together with the scatter that the readings themselves show.

Beyond the rounding of each reading, every balance of every table has a scatter variance of its own, and so has the
resistance from one rotor position to the next. Each is found so that the weighted squares of its group come to the
group's degrees of freedom, readings less what the constants took (Paule and Mandel 1982, J. Res. NBS 87, 377).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from labkit._kernels.regression import Floats, Model, least_squares
from labkit._kernels.regression_motor import (
    CONSTANTS,
    GROUPS,
    POSITIONS,
    Readings,
    Scatter,
    White,
    derivatives,
    whiten,
)

__all__ = ["Constants", "fit_constants", "model_of"]

_CONSTANT_COUNT = len(CONSTANTS)
#: Degrees of freedom below which a group tells nothing of its scatter. A group can have a little less than one, since
#: constants that another group fixes take a little of it: it must be able to show that the two contradict each other.
_LEAST_FREEDOM = 0.5


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


def model_of(data: Readings, scatter: Scatter, free: NDArray[np.bool_], held: Floats) -> Model:
    """Return the residuals and Jacobian as a function of the free constants and the offsets."""
    count, columns = int(free.sum()), np.concatenate((free, np.ones(_positions(data), dtype=bool)))

    def model(parameters: Floats) -> tuple[Floats, Floats]:
        constants = held.copy()
        constants[free] = parameters[:count]
        white = whiten(constants, parameters[count:], data, scatter)
        return white.residuals, derivatives(constants, parameters[count:], data, scatter)[:, columns]

    return model


def _positions(data: Readings) -> int:
    return int(data.position.max(initial=-1)) + 1


def _scatter_variance(residual: Floats, known: Floats, width: Floats, freedom: float) -> float:
    """Return the variance at which the weighted squares come to the degrees of freedom; 0 if rounding suffices."""

    def excess(variance: float) -> float:
        return float(np.sum(residual**2 / (known + variance * width**2))) - freedom

    with np.errstate(divide="ignore", invalid="ignore"):
        if freedom < _LEAST_FREEDOM or not np.all(width > 0) or (np.all(known > 0) and excess(0.0) <= 0):
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
        model, point = model_of(data, scatter, free, held), np.concatenate((held[free], offsets))
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
    nearest: Floats = (turn * np.maximum(value, 0.0)) @ turn.T * np.outer(size, size)
    return nearest


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
