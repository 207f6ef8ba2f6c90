"""What a review says: one finding after another, each with its number, its limit and the cheapest way out."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from enum import Enum

from labkit.parts import Drive
from labkit.units import Quantity, from_si

__all__ = ["BenchTest", "Finding", "Outcome", "Review", "judged", "unknown"]

#: A margin below this is tight (common practice, no source).
TIGHT = 0.2


class Outcome(Enum):
    """How a finding stands, best first."""

    FINE = "fine"
    TIGHT = "tight"
    UNKNOWN = "cannot tell"
    EXCEEDED = "exceeded"

    @property
    def badness(self) -> int:
        """Its place in that order: zero where all is fine."""
        return list(Outcome).index(self)

    @property
    def symbol(self) -> str:
        """A sign to stand beside the word."""
        return {"fine": "✓", "tight": "△", "cannot tell": "?", "exceeded": "✗"}[self.value]


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One thing that was looked at.

    The margin is what is left before the limit, over the limit: 0.25 leaves a quarter, -0.5 is half too much.
    """

    name: str
    outcome: Outcome
    #: One sentence that a beginner understands.
    reason: str
    #: The formula, with this circuit's numbers in it.
    formula: str = ""
    value: Quantity | None = None
    limit: Quantity | None = None
    margin: float | None = None
    #: The cheapest way out, computed; empty where all is fine.
    remedy: str = ""
    #: Number of the lesson that explains it.
    lesson: int = 12
    #: What of the circuit it is about, as `schematic` knows its places.
    part: str = ""
    #: What can burn, cut or blind here.
    caution: str = ""

    @property
    def verdict(self) -> str:
        """The outcome in words."""
        return self.outcome.value

    def softened(self, because: str) -> Finding:
        """Return the finding as tight at the worst, with the reason."""
        return dataclasses.replace(self, outcome=Outcome.TIGHT, reason=f"{self.reason} {because}")


@dataclass(frozen=True, kw_only=True, slots=True)
class BenchTest:
    """What only a measurement can settle: what to do, and the reading to expect."""

    name: str
    do: str
    expect: str
    lesson: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Review:
    """All that a review found, worst first, and the tests that only the bench can answer."""

    #: The circuit that was looked at.
    drive: Drive
    findings: tuple[Finding, ...]
    tests: tuple[BenchTest, ...] = ()

    @property
    def outcome(self) -> Outcome:
        """The worst outcome; a limit that is exceeded outranks one that is not known."""
        outcomes = (finding.outcome for finding in self.findings)
        return max(outcomes, key=lambda outcome: outcome.badness, default=Outcome.FINE)

    @property
    def trouble(self) -> str:
        """The part that the worst finding is about; empty where all is fine."""
        return next((found.part for found in self.findings if found.outcome is not Outcome.FINE), "")

    def __getitem__(self, name: str) -> Finding:
        """Return the finding of that name."""
        for finding in self.findings:
            if finding.name == name:
                return finding
        raise KeyError(name)


def judged(
    name: str,
    value: float,
    limit: float,
    unit: str,
    *,
    reason: str,
    formula: str,
    remedy: str,
    lesson: int,
    at_least: bool = False,
    caution: str = "",
    tight: float = TIGHT,
) -> Finding:
    """Return a finding on *value* against *limit*, an upper one unless *at_least*; floats in coherent SI of *unit*."""
    left = value - limit if at_least else limit - value
    at_nothing = math.inf if at_least else -math.inf if left < 0 else 1.0  # where the limit is zero
    margin = left / abs(limit) if limit else at_nothing
    outcome = Outcome.EXCEEDED if margin < 0 else Outcome.TIGHT if margin < tight else Outcome.FINE
    sound = outcome is Outcome.FINE
    return Finding(
        name=name, outcome=outcome, reason=reason, formula=formula, value=from_si(value, unit),
        limit=from_si(limit, unit), margin=margin, remedy="" if sound else remedy, lesson=lesson,
        caution="" if sound else caution,
    )  # fmt: skip


def unknown(name: str, *, missing: str, reason: str, lesson: int) -> Finding:
    """Return a finding that cannot be told until *missing* is known."""
    return Finding(name=name, outcome=Outcome.UNKNOWN, reason=reason, remedy=f"Find out {missing}.", lesson=lesson)
