"""Stretches as arrays: the state at any time within them, and the nodes that integrate over them."""

from __future__ import annotations

from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "Nodes", "Stretches", "nodes", "read_table", "state_at"]

Floats: TypeAlias = NDArray[np.float64]
Integers: TypeAlias = NDArray[np.int64]


class Stretches(NamedTuple):
    """The rows of a table, by column; shares have shape (3, n): of i, ω and v."""

    start: Floats
    length: Floats
    place: Integers
    way: Floats
    state: Floats
    rates: Floats
    shares: Floats  # shape (3 modes, 3 states, n)
    pair_middle: Floats
    pair_half_square: Floats
    pair: Floats
    pair_turned: Floats
    reference: Floats

    def rows(self, index: Any) -> Stretches:
        """The rows that *index* picks, in its order."""
        columns: list[Any] = [column[..., index] for column in self]
        return Stretches(*columns)


def read_table(table: Floats) -> Stretches:
    """Name the columns of a table of shape (n, 28)."""
    t = table.T
    return Stretches(
        start=t[0],
        length=t[1],
        place=t[2].astype(np.int64),
        way=t[3],
        state=t[4:7],
        rates=t[7:10],
        shares=np.stack((t[10:13], t[13:16], t[16:19]), axis=1),
        pair_middle=t[19],
        pair_half_square=t[20],
        pair=t[21:24],
        pair_turned=t[24:27],
        reference=t[27],
    )


def state_at(stretches: Stretches, time: Floats) -> Floats:
    """Current, speed, capacitor voltage, shape (3, …), at times [s] since each stretch began, shape (n,) or (n, m)."""
    wide = (slice(None), *(np.newaxis,) * (time.ndim - 1))
    state = np.stack([np.broadcast_to(part[wide], time.shape) for part in stretches.state])
    present: NDArray[np.bool_] = np.any(stretches.shares != 0.0, axis=2)
    for rates, shares, there in zip(stretches.rates, stretches.shares, present, strict=True):
        if there.any():
            rate = np.where(rates == 0.0, 1e-200, rates)[wide]
            grown = np.expm1(rate * time)
            grown /= rate
            for which in np.flatnonzero(there):
                state[which] += shares[which][wide] * grown
    paired = np.flatnonzero(stretches.pair_middle)
    if paired.size:
        some = stretches.rows(paired)
        h, k = _pair_growth(some.pair_middle[wide], some.pair_half_square[wide], time[paired])
        for part, share, turned in zip(state, some.pair, some.pair_turned, strict=True):
            part[paired] += share[wide] * h + turned[wide] * k
    return state


def _pair_growth(m: Floats, s: Floats, time: Floats) -> tuple[Floats, Floats]:
    """H and K of `modes.pair_growth`, for arrays: the power series up to m² - s = 1/(10t)², the closed form beyond."""
    product = m * m - s
    series = product * time**2 < 0.01
    with np.errstate(over="ignore", invalid="ignore"):
        h, k = _pair_series(m, product, np.where(series, time, 0.0))
        root = np.sqrt(np.abs(s))
        angle = root * time
        low, high = np.exp((m - root) * time), np.exp((m + root) * time)
        safe = np.where(root > 0.0, root, 1.0)
        decay = np.exp(m * time)
        near = (
            decay
            * time
            * (
                1.0
                + angle**2
                / 6.0
                * (1.0 + angle**2 / 20.0 * (1.0 + angle**2 / 42.0 * (1.0 + angle**2 / 72.0 * (1.0 + angle**2 / 110.0))))
            )
        )
        apart = np.where(angle > 0.5, 0.5 * (high - low) / safe, near)
        p = np.where(s < 0.0, decay * np.cos(angle), 0.5 * (low + high))
        q = np.where(s < 0.0, decay * np.sin(angle) / safe, apart)
    return (
        np.where(series, h, (m * (p - 1.0) - s * q) / product),
        np.where(series, k, (m * q - (p - 1.0)) / product),
    )


def _pair_series(m: Floats, product: Floats, time: Floats) -> tuple[Floats, Floats]:
    before, now = np.zeros_like(product), np.ones_like(product)
    power, q, k = np.ones_like(time), np.zeros_like(time), np.zeros_like(time)
    for n in range(1, 13):
        q += now * power * time / n
        k += now * power * time**2 / (n * (n + 1))
        before, now = now, 2.0 * m * now - product * before
        power = power * time / n
    return q - m * k, k


class Nodes(NamedTuple):
    """Where and with what weight [s] to sum: stretch number, shape (n,); time in it and weight, shape (n, 6 or 8)."""

    stretch: Integers
    time: Floats
    weight: Floats


_GAUSS, _GAUSS_WEIGHT = (0.5 * part for part in np.polynomial.legendre.leggauss(8))
_GAUSS = _GAUSS + 0.5
_SHORT, _SHORT_WEIGHT = (0.5 * part for part in np.polynomial.legendre.leggauss(6))
_SHORT = _SHORT + 0.5
_GROW = 1.5


def nodes(stretches: Stretches) -> Nodes:
    """Gauss's nodes for products of two or three of the states, good to some 1e-12.

    A panel of eight nodes integrates e^(-z·x) over 0 to 1 with an error below z¹⁶·(8!)⁴/(17·(16!)³), 7e-16 for z = 3.
    The first panel is no longer than 1/(fastest rate), each next one half as long again: by then the fast mode is gone.
    Where no stretch is longer than that, six nodes do (8e-13 for z = 2).
    """
    fastest = np.maximum(
        np.abs(stretches.rates).max(axis=0), np.abs(stretches.pair_middle) + np.sqrt(np.abs(stretches.pair_half_square))
    )
    size = fastest * stretches.length
    if size.max() <= 1.0:
        length = stretches.length[:, None]
        return Nodes(np.arange(len(size)), length * _SHORT, length * _SHORT_WEIGHT)
    panels = np.where(size <= 1.5, 1, np.ceil(np.log1p((_GROW - 1.0) * size) / np.log(_GROW))).astype(np.int64)
    stretch = np.repeat(np.arange(len(size)), panels)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(panels) - panels, panels)
    width = stretches.length[stretch] / (_GROW ** panels[stretch] - 1.0)
    left, wide = width * (_GROW**number - 1.0), width * (_GROW - 1.0) * _GROW**number
    return Nodes(stretch, left[:, None] + wide[:, None] * _GAUSS, wide[:, None] * _GAUSS_WEIGHT)
