"""A resistor in line with the motor, whose voltage tells the current."""

from __future__ import annotations

import re
from dataclasses import dataclass

from labkit.bench._meters import Meter
from labkit.errors import BenchError, UnitError
from labkit.units import Quantity, magnitude, parse_quantity

__all__ = ["Shunt"]

_TEXT = re.compile(r"(?P<size>[^%±]+?)\s*(?:[,;±\s]|\+/-)+(?P<percent>\d+(?:[.,]\d+)?)\s*%")


@dataclass(frozen=True, kw_only=True, slots=True)
class Shunt:
    """A known resistance and its tolerance.

    Parameters
    ----------
    resistance : Quantity [ohm]
    percent : float
        The limits of its tolerance.
    """

    resistance: Quantity
    percent: float = 0.0

    @classmethod
    def from_text(cls, text: str) -> Shunt:
        """Return the shunt that *text* describes.

        Raises
        ------
        BenchError
            When it is no resistance above zero.

        Examples
        --------
        >>> Shunt.from_text("10,0 ohm, 1 %").percent
        1.0
        """
        match = _TEXT.fullmatch(text.strip())
        try:
            resistance = parse_quantity(match["size"] if match else text)
            ohms = float(magnitude(resistance, "ohm", "shunt"))
        except UnitError as error:
            raise BenchError(f"It is left out: {error}") from error
        if not 0 < ohms < 1e9:
            raise BenchError(f"It is left out: a shunt has a resistance above zero; got {text!r}.")
        percent = float(match["percent"].replace(",", ".")) if match else 0.0
        return cls(resistance=resistance.to("ohm"), percent=percent)

    def current(self, voltage: Quantity) -> Quantity:
        """Return the current that this voltage across the shunt stands for."""
        current: Quantity = (voltage.to("V") / self.resistance).to("A")
        return current

    def meter(self, voltmeter: Meter | None) -> Meter | None:
        """Return voltmeter and shunt together as the accuracy of an ammeter.

        Both readings have the voltmeter's error in common, which then cancels in a resistance; counting it twice is on
        the safe side.
        """
        volts = voltmeter or Meter()
        percent = min(volts.percent + self.percent, 50.0)
        if not percent and not volts.counts:
            return None
        resolution = None if volts.resolution is None else self.current(volts.resolution)
        return Meter(percent=percent, counts=volts.counts, resolution=resolution)
