"""Slips of the pen that any number can suffer: told from wrong physics by the factor between the two."""

from __future__ import annotations

import math
from typing import NamedTuple

__all__ = ["Slip", "slip_between"]

_RPM = 60.0 / (2.0 * math.pi)


class Slip(NamedTuple):
    """A slip, and what to look at; the sentence follows the learner's own number."""

    name: str
    comment: str


_FACTORS: tuple[tuple[float, Slip], ...] = tuple(
    (factor, Slip(name, comment))
    for name, factors, comment in (
        ("sign", (-1.0,), "has the other sign. Look at which way round it goes."),
        (
            "prefix",
            (1e3, 1e-3, 1e6, 1e-6, 1e9, 1e-9),
            "has the right digits, but the prefix is off: look at m, k and µ.",
        ),
        ("per cent", (100.0, 0.01), "is off by a hundred: is a per cent written as a number, or the other way round?"),
        ("half or double", (0.5, 2.0), "is off by a factor of two. Look for a ½ that is missing or too many."),
        ("half or double", (0.25, 4.0), "is off by a factor of four: half or double of something that is squared?"),
    )
    for factor in factors
)
_TURNING: tuple[tuple[float, Slip], ...] = tuple(
    (factor, Slip("rpm for rad/s", comment))
    for factor, comment in (
        (_RPM, "is 9.55 times off: a speed in rpm stands where rad/s belongs."),
        (1 / _RPM, "is 9.55 times off: a speed in rad/s stands where rpm belongs."),
        (2 * math.pi, "is 2π off: turns and radians are mixed."),
        (1 / (2 * math.pi), "is 2π off: turns and radians are mixed."),
        (60.0, "is 60 times off: minutes and seconds are mixed."),
        (1 / 60.0, "is 60 times off: minutes and seconds are mixed."),
    )
)


def slip_between(given: float, right: float, *, window: float, turning: bool) -> Slip | None:
    """Return the slip that leads from *right* to *given*, both in coherent SI, or ``None``.

    Parameters
    ----------
    given, right : float
    window : float
        How far *given* may lie from the number that a slip gives, relative.
    turning : bool
        Whether a shaft speed comes into it.

    Examples
    --------
    >>> slip_between(470.0, 0.47, window=0.02, turning=False).name
    'prefix'
    """
    if right == 0 or given == 0 or not 1e-100 < abs(right) < 1e100:
        return None
    ratio = given / right
    known = _FACTORS + (_TURNING if turning else ())
    distance, slip = min(((abs(ratio / factor - 1.0), slip) for factor, slip in known), key=lambda pair: pair[0])
    if distance <= window:
        return slip
    if abs(ratio - 1.0) <= 10 * window:  # so near that a number, its square and its inverse lie together
        return None
    others = (
        (1.0 / right, Slip("inverse", "is one over the number that is asked for.")),
        (right**2, Slip("forgotten square", "is the square of the number that is asked for.")),
        (math.sqrt(abs(right)), Slip("forgotten square", "is the square root of the number that is asked for.")),
    )
    return next((slip for size, slip in others if abs(given - size) <= window * abs(size)), None)
