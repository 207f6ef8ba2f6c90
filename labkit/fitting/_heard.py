"""What a recording tells of the speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.units import Quantity
from labkit.writing import rpm_beside, show

__all__ = ["HeardSpeed", "OtherSpeed"]

_TIMES = {1: "once", 2: "twice"}
_MEANS = {
    "sure": "Sure: its multiples are there, and nothing else explains them as well.",
    "likely": "Likely, not sure: compare with what another voltage gives.",
    "doubtful": "Doubtful: check it another way before you use it.",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class OtherSpeed:
    """Another speed that the recording could mean, and why."""

    speed: Quantity
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeardSpeed:
    """A speed found in a spectrum.

    Parameters
    ----------
    speed, standard_uncertainty, expanded_uncertainty : Quantity [rad/s]
        Of the mean over the recording, if the line was taken rightly; expanded for 95 %.
    line : Quantity [Hz]
        The strongest line that belongs to it.
    multiple : int
        How many times the line comes in a turn.
    certainty : str
        ``"sure"``, ``"likely"`` or ``"doubtful"``: whether the line was taken rightly.
    others : tuple of OtherSpeed
        What else it could be, likeliest first.
    frequency : Quantity [Hz], shape (m,)
    level : array, shape (m,)
        In decibel over the noise.
    multiples : tuple of int
        The multiples of the turning frequency that stand out.
    notes : tuple of str
        What to know about the recording.
    """

    speed: Quantity
    standard_uncertainty: Quantity
    expanded_uncertainty: Quantity
    line: Quantity
    multiple: int
    certainty: str
    others: tuple[OtherSpeed, ...]
    frequency: Quantity
    level: NDArray[np.float64]
    multiples: tuple[int, ...]
    notes: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """The speed, the line that was taken, how sure it is, and what else it could be."""
        wide = show(self.expanded_uncertainty, "rpm", digits=2)
        times = _TIMES.get(self.multiple, f"{self.multiple} times")
        found = (
            f"Speed {rpm_beside(self.speed, digits=4)}, ± {wide} if the line is the right one.",
            f"Line taken: {show(self.line)}, which comes {times} a turn.",
            _MEANS[self.certainty],
        )
        return (*found, *(f"It could be {show(one.speed, 'rpm')}: {one.reason}." for one in self.others), *self.notes)
