"""The letters that may stand in a formula, and where two formulas of them are compared."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from labkit.checks.numbers import coherent_size
from labkit.units import Q_

__all__ = ["Symbol", "letters_help", "points", "sizes_at"]

_TRIED = 6  # points at which two formulas are compared


@dataclass(frozen=True, slots=True)
class Symbol:
    """A letter that may stand in a formula.

    Parameters
    ----------
    name : str
        As formulas of the bank read it, such as ``"omega"``.
    meaning : str
    unit : str
    least, most : float
        Sizes, in that unit, between which two formulas are compared: those that the thing can have.
    written : str
        As a person writes it, where that is another: ``"ω"``.
    """

    name: str
    meaning: str
    unit: str
    least: float
    most: float
    written: str = ""

    @property
    def shown(self) -> str:
        """The letter as wordings show it."""
        return self.written or self.name


def letters_help(symbols: tuple[Symbol, ...]) -> str:
    """Return which letters an answer may be made of; beside one that no keyboard has, the name to type for it."""
    letters = [one.shown if one.shown.isascii() else f"{one.shown} (or {one.name})" for one in symbols]
    named = "; ".join(f"{letter} for {one.meaning}" for letter, one in zip(letters, symbols, strict=True))
    return f"Write a formula with these letters: {named}."


@lru_cache(maxsize=256)
def points(symbols: tuple[Symbol, ...]) -> tuple[dict[str, str], ...]:
    """Return the points at which formulas of these symbols are compared: each symbol as text with its unit.

    They look random, lie within the symbols' own sizes, and are the same on every machine.
    """
    chance = random.Random(" ".join(symbol.name for symbol in symbols))  # noqa: S311 (no secret hangs on them)
    return tuple(
        {
            symbol.name: f"{symbol.least * (symbol.most / symbol.least) ** chance.random():.4g} {symbol.unit}".rstrip()
            for symbol in symbols
        }
        for _ in range(_TRIED)
    )


def sizes_at(symbols: tuple[Symbol, ...], seed: str, count: int) -> Iterator[dict[str, float]]:
    """Give *count* places within the symbols' own sizes as floats in coherent SI; which ones hangs on the *seed*.

    Nobody can make a formula that fits at these places by knowing where they are: another formula has others.
    """
    ends = [_ends(symbol) for symbol in symbols]
    chance = random.Random(seed)  # noqa: S311 (no secret hangs on them)
    for _ in range(count):
        yield {
            symbol.name: low * (high / low) ** chance.random()
            for symbol, (low, high) in zip(symbols, ends, strict=True)
        }


@lru_cache(maxsize=256)
def _ends(symbol: Symbol) -> tuple[float, float]:
    low, high = (coherent_size(Q_(f"{size!r} {symbol.unit}".rstrip())) for size in (symbol.least, symbol.most))
    return low, high
