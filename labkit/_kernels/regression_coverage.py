"""How wide an interval must be so that it holds the truth as often as it says, where few readings set the weights.

Kenward and Roger (1997) give the variance of a fit whose weights were estimated; their degrees of freedom are too many
where two or three sources of about five readings each share a constant. So the fit is played again with its own
scatter: the coverage factor is what 95 in 100 of the replayed fits need (JCGM 101:2008, a Monte Carlo method).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy import optimize
from scipy.special import ndtr, stdtrit

from labkit._kernels.regression import Floats, upper
from labkit._kernels.regression_motor import GROUPS
from labkit._kernels.regression_scatter import Constants

__all__ = ["replayed_freedom"]

_PROBABILITY = 0.95
_ROUNDS = 30
_SEED = 20_001
_PLENTY = 200.0  # degrees of freedom, from which Student's t is the normal distribution for all purposes here


class _Source(NamedTuple):
    """The readings of one group as the fit sees them, in units of their own estimated deviation."""

    corner: Floats  # triangle of the white Jacobian, shape (k, q)
    square: Floats  # its square, shape (q, q)
    readings: float  # how many
    least: float  # part of the variance that rounding explains: the scatter is never found smaller
    estimated: bool


class _Fits(NamedTuple):
    """Replayed fits of B draws."""

    off: Floats  # shape (B, q): fitted less true
    covariance: Floats  # shape (B, q, q)
    variance: Floats  # shape (B, sources), in units of the true one


def _sources(fit: Constants) -> list[_Source]:
    white, leverage = fit.white, np.sum((fit.jacobian @ fit.root) ** 2, axis=1)
    count = fit.freedom + np.bincount(white.group, leverage, GROUPS)
    total = white.known + fit.scatter.variance[white.group] * white.width**2
    sources = []
    for group in np.unique(white.group):
        own = white.group == group
        corner = upper(fit.jacobian[own])
        least = float(np.mean(white.known[own] / np.maximum(total[own], 1e-300)))
        estimated = bool(fit.scatter.variance[group] > 0)
        sources.append(_Source(corner, corner.T @ corner, max(count[group], len(corner)), least, estimated))
    return sources


def _replay(sources: list[_Source], draws: int) -> _Fits:
    """Return fits to drawn readings, each with the weights that its own readings give."""
    rng = np.random.default_rng(_SEED)
    pulls, squares = [], []
    for source in sources:
        seen = rng.standard_normal((draws, len(source.corner)))
        pulls.append(seen @ source.corner)
        rest = source.readings - len(source.corner)
        squares.append(np.sum(seen**2, axis=1) + (rng.chisquare(rest, draws) if rest > 0 else 0.0))
    pull, square = np.array(pulls), np.array([source.square for source in sources])
    spread, count = np.array(squares), np.array([[source.readings] for source in sources])
    least = np.array([[max(source.least, 1e-6)] for source in sources])
    estimated = np.array([[source.estimated] for source in sources])
    variance = np.ones((len(sources), draws))
    for _ in range(_ROUNDS):
        covariance = np.linalg.inv(np.einsum("gb,gij->bij", 1 / variance, square))
        off = np.einsum("bij,gbj,gb->bi", covariance, pull, 1 / variance, optimize=True)
        turned = np.einsum("gij,bj->gbi", square, off)
        left = spread - 2 * np.einsum("gbi,bi->gb", pull, off) + np.einsum("gbi,bi->gb", turned, off)
        leverage = np.einsum("bij,gij->gb", covariance, square) / variance
        found = np.maximum(left / np.maximum(count - leverage, 1e-3), least)
        found = np.where(estimated, found, 1.0)
        still = np.quantile(np.abs(found / variance - 1), 0.95) < 1e-2
        variance = found
        if still:
            break
    return _Fits(off, covariance, variance.T)


def _corrected(fits: _Fits, sources: list[_Source], constants: int) -> Floats:
    """Return the variance of each constant that each replayed fit would state, shape (B, constants)."""
    doubtful = [place for place, source in enumerate(sources) if source.estimated]
    square = np.array([sources[place].square for place in doubtful])
    count = np.array([sources[place].readings for place in doubtful])
    pace = 1 / fits.variance[:, doubtful]
    turned = fits.covariance[:, None] @ square
    traces = np.einsum("bgij,bhji->bgh", turned, turned)
    single = np.einsum("bgii->bg", turned)
    information = traces * pace[:, :, None] ** 2 * pace[:, None, :] ** 2
    own = np.arange(len(doubtful))
    information[:, own, own] += count * pace**2 - 2 * single * pace**3
    spread = 2 * np.linalg.pinv(information, hermitian=True)
    first = turned @ fits.covariance[:, None, :, :constants]  # covariance·square·covariance
    added = np.einsum("bgg,bg,bgii->bi", spread, pace**3, first[:, :, :constants])
    both = np.einsum("bgij,bhji->bghi", turned[:, :, :constants], first)
    added -= np.einsum("bgh,bg,bh,bghi->bi", spread, pace**2, pace**2, both, optimize=True)
    plain = np.einsum("bii->bi", fits.covariance)[:, :constants]
    return np.asarray(plain + 2 * np.maximum(added, 0.0), dtype=np.float64)


def replayed_freedom(fit: Constants, *, draws: int = 1200) -> Floats:
    """Return for each constant, shape (5,), the degrees of freedom whose Student's t holds 95 in 100 replayed fits.

    Parameters
    ----------
    fit : Constants
    draws : int
        Fits to replay, with random numbers that are the same in every run.

    Notes
    -----
    Satterthwaite's degrees of freedom are exact for one source of scatter. So the replay is used for the ratio of two
    factors only, each from the same draws: the one needed, and the one that fixed weights would need.
    """
    freedom = np.full(len(fit.free), np.inf)
    sources, constants = _sources(fit), int(fit.free.sum())
    if not any(source.estimated for source in sources):
        return freedom
    fits = _replay(sources, draws)
    square = np.array([source.square for source in sources])
    inner = np.einsum("bg,gij->bij", 1 / fits.variance**2, square)
    real = np.einsum("bij,bjk,bki->bi", fits.covariance, inner, fits.covariance, optimize=True)[:, :constants]
    stated = _corrected(fits, sources, constants) / real
    own = fit.root @ fit.root.T
    part = np.einsum("ij,gjk,ki->gi", own, square, own, optimize=True)[:, :constants]
    fixed = fits.variance @ (part / part.sum(axis=0))
    for column, place in enumerate(np.flatnonzero(fit.free)):
        if (doubt := float(fit.doubt[place])) <= 0:
            continue
        plain = min(2 * float(own[column, column]) ** 2 / doubt, 1e6)
        needed = _factor(stated[:, column]) / _factor(fixed[:, column])
        freedom[place] = _freedom_of(needed * float(stdtrit(max(plain, 1.0), 0.5 + _PROBABILITY / 2)))
    return freedom


def _factor(stated: Floats) -> float:
    """Return by which factor standard uncertainties must be widened to hold the truth 95 times in 100.

    Parameters
    ----------
    stated : array, shape (B,)
        Stated over real variance.
    """
    ratio = np.sqrt(stated)
    return float(optimize.brentq(lambda k: float(np.mean(2 * ndtr(k * ratio) - 1)) - _PROBABILITY, 0.1, 1e3))


def _freedom_of(factor: float) -> float:
    """Return the degrees of freedom at which Student's t for 95 % is this factor."""
    side = 0.5 + _PROBABILITY / 2
    if factor <= float(stdtrit(_PLENTY, side)):
        return np.inf
    if factor >= float(stdtrit(1.0, side)):
        return 1.0
    return float(optimize.brentq(lambda freedom: float(stdtrit(freedom, side)) - factor, 1.0, _PLENTY))
