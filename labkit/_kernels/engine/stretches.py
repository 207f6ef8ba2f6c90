"""Stretches as arrays: the state at any time within them, and the nodes that integrate over them."""

from __future__ import annotations

from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "Nodes", "States", "Stretches", "nodes", "read_table", "state_at"]

Floats: TypeAlias = NDArray[np.float64]
Integers: TypeAlias = NDArray[np.int64]
#: i, ω and v.
States: TypeAlias = tuple[Floats, Floats, Floats]


class Stretches(NamedTuple):
    """The rows of a table of shape (28, n), named; shares have shape (3, 3, n): of i, ω and v in the three modes."""

    table: Floats
    start: Floats
    length: Floats
    place: Integers
    way: Floats
    state: Floats
    reference: Floats
    rates: Floats
    shares: Floats
    pair_middle: Floats
    pair_half_square: Floats
    pair: Floats
    pair_turned: Floats

    def rows(self, index: Any) -> Stretches:
        """The stretches that *index* picks, in its order."""
        return read_table(self.table.take(index, axis=1))


def read_table(table: Floats) -> Stretches:
    """Name the rows of a table of shape (28, n), one column a stretch."""
    return Stretches(
        table=table,
        start=table[0],
        length=table[1],
        place=table[2].astype(np.int64),
        way=table[3],
        state=table[4:7],
        reference=table[7],
        rates=table[8:11],
        shares=table[11:20].reshape(3, 3, -1),
        pair_middle=table[20],
        pair_half_square=table[21],
        pair=table[22:25],
        pair_turned=table[25:28],
    )


def state_at(stretches: Stretches, time: Floats) -> States:
    """Current, speed and capacitor voltage, shape (…, n), at times [s] since each stretch began, shape (…, n).

    Three arrays and not one: an array above some 100 kB costs more to allocate than to fill.
    """
    i, w, v = (np.broadcast_to(start, time.shape).copy() for start in stretches.state)
    present: NDArray[np.bool_] = np.any(stretches.shares != 0.0, axis=2)
    for mode, rates in enumerate(stretches.rates):
        if present[:, mode].any():
            rate = np.where(rates == 0.0, 1e-200, rates)
            grown = rate * time
            np.expm1(grown, out=grown)
            for part, share, there in zip((i, w, v), stretches.shares[:, mode], present[:, mode], strict=True):
                if there:
                    np.add(part, share / rate * grown, out=part)
    paired = np.flatnonzero(stretches.pair_middle)
    if paired.size:
        some = stretches.rows(paired)
        h, k = _pair_growth(some.pair_middle, some.pair_half_square, time[..., paired])
        for part, share, turned in zip((i, w, v), some.pair, some.pair_turned, strict=True):
            part[..., paired] += share * h + turned * k
    return i, w, v


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
    """Where and with what weight to sum: stretch and width [s] of panels, time in it [s] and share of each node."""

    stretch: Integers  # shape (n,), and so the width
    width: Floats
    time: Floats  # shape (6 or 8, n)
    share: Floats

    def total(self, values: Floats) -> Floats:
        """Integrals over each panel of values at the nodes."""
        result: Floats = self.width * (self.share @ values)
        return result


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
        return Nodes(np.arange(len(size)), stretches.length, np.multiply.outer(_SHORT, stretches.length), _SHORT_WEIGHT)
    panels = np.where(size <= 1.5, 1, np.ceil(np.log1p((_GROW - 1.0) * size) / np.log(_GROW))).astype(np.int64)
    stretch = np.repeat(np.arange(len(size)), panels)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(panels) - panels, panels)
    first = stretches.length[stretch] / (_GROW ** panels[stretch] - 1.0)
    left, width = first * (_GROW**number - 1.0), first * (_GROW - 1.0) * _GROW**number
    return Nodes(stretch, width, left + np.multiply.outer(_GAUSS, width), _GAUSS_WEIGHT)
