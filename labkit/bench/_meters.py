"""What a meter's manual says of its accuracy."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pint

from labkit.errors import BenchError, UnitError
from labkit.units import Q_, Quantity

__all__ = ["METERS", "Meter"]

#: The note that tells a meter's accuracy, and the quantity that the meter reads.
METERS = {
    "voltmeter": "voltage",
    "ammeter": "current",
    "tachometer": "speed",
    "torque meter": "torque",
    "thermometer": "temperature",
    "lcr meter": "inductance",
}

_NUMBER = r"(\d+(?:[.,]\d+)?|[.,]\d+)"
_SPACING = re.compile(r"[\s,;]+|±|\+/-|\+|\bof\b|\band\b")
_RESOLUTION = re.compile(r"\bresolution\s+(?P<size>[-+]?[\d.,]+\s*[A-Za-zΩµμ°][\w/*·.^]*)", re.IGNORECASE)
_PERCENT = re.compile(_NUMBER + r"\s*(?:%|percent)(?:\s*(?:of\s+)?(?:the\s+)?(?:reading|rdg)\b)?", re.IGNORECASE)
_COUNTS = re.compile(_NUMBER + r"\s*(?:counts?|digits?|dgts?)\b", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True, slots=True)
class Meter:
    """A meter's stated accuracy: ± *percent* of the reading ± *counts* of its last digit.

    Both are taken as limits of a rectangular distribution, so the standard uncertainty of each is the limit over √3
    (JCGM 100:2008, 4.3.7). The percentage is one error common to all readings of the meter; the counts are one error
    common to all readings of one table; besides, each reading is rounded to the resolution, u = step/√12 (F.2.2.1).

    Parameters
    ----------
    percent : float
        Of the reading, zero to 50.
    counts : float
        Steps of the last digit, zero to 1000.
    resolution : Quantity, optional
        One count; where it is not given, one step of the last digit that was written down.

    Examples
    --------
    >>> Meter.from_text("± 0.5 % of reading ± 2 counts")
    Meter(percent=0.5, counts=2.0, resolution=None)
    """

    percent: float = 0.0
    counts: float = 0.0
    resolution: Quantity | None = None

    def __post_init__(self) -> None:
        """Refuse what no meter's manual says; a resolution of 1 °C is a difference, and no temperature."""
        for name, most in (("percent", 50), ("counts", 1000)):
            size = getattr(self, name)
            if isinstance(size, bool) or not isinstance(size, (int, float)) or not 0 <= size <= most:
                raise BenchError(
                    f"Meter.{name} must be from 0 to {most}; got {size!r}. Copy it from the meter's manual."
                )
        if self.resolution is None:
            return
        step = Q_(self.resolution) if isinstance(self.resolution, str) else self.resolution
        if not isinstance(step, pint.Quantity) or np.ndim(step.magnitude):
            raise BenchError(f"Meter.resolution must be one quantity, such as '1 mV'; got {self.resolution!r}.")
        if str(step.units) == "degree_Celsius":
            step = Q_(step.magnitude, "kelvin")
        object.__setattr__(self, "resolution", step)

    @classmethod
    def from_text(cls, text: str) -> Meter:
        """Return the meter that *text* describes, such as ``"0.5 % + 2 counts, resolution 1 mV"``.

        Raises
        ------
        BenchError
            When some of the text is not understood.
        """
        rest, parts = text, {}
        for name, pattern in (("resolution", _RESOLUTION), ("percent", _PERCENT), ("counts", _COUNTS)):
            if match := pattern.search(rest):
                parts[name] = match.group(1)
                rest = rest[: match.start()] + " " + rest[match.end() :]
        if _SPACING.sub("", rest) or not parts:
            raise BenchError(f"{text!r} is no meter accuracy. Write it as in '0.5 % + 2 counts, resolution 1 mV'.")
        try:
            resolution = Q_(parts["resolution"]) if "resolution" in parts else None
        except UnitError as error:
            raise BenchError(f"{text!r} is no meter accuracy: {error}") from error
        numbers = {name: float(parts[name].replace(",", ".")) for name in ("percent", "counts") if name in parts}
        return cls(**numbers, resolution=resolution)
