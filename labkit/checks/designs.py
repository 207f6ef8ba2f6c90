"""Parts that a learner chooses: put into the circuit of the question, and looked over by the review."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from labkit.checks.choosing import BY_NAME, checked_parts, named_parts, quoted
from labkit.checks.numbers import Numbers
from labkit.errors import DesignError, LabkitError
from labkit.parts import Drive, Part
from labkit.writing import show

if TYPE_CHECKING:
    from labkit.reviews import Finding

__all__ = ["Looked", "Parts", "looked_over", "parts_help", "tightest"]

#: How a part of one's own is written; none of these passes.
_OWN = {
    "transistor": ("transistor = MOSFET", "on resistance = 0.4 ohm at 4.5 V, 0.2 ohm at 10 V", "threshold = 2.5 V"),
    "diode": ("diode = diode", "forward voltage = 0.9 V", "max current = 0.2 A"),
    "supply": ("supply = supply", "voltage = 6 V", "internal resistance = 8 ohm"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Parts:
    """What a learner may choose, and the circuit around it.

    Parameters
    ----------
    names : tuple of str
        Of ``"transistor"``, ``"diode"``, ``"supply"``, ``"gate resistor"``, ``"pull-down"``.
    around : function of Numbers
        The drive; what is chosen takes the place of its own.
    example : str
        A choice that passes, as a learner would write it.
    duty : function of Numbers
        The least and the greatest duty.
    frequency : str
        Of the PWM, with its unit.
    """

    names: tuple[str, ...]
    around: Callable[[Numbers], Drive]
    example: str
    duty: Callable[[Numbers], tuple[float, float]] = lambda _: (1.0, 1.0)
    frequency: str = "20 kHz"


def parts_help(parts: Parts) -> list[str]:
    """Return the lines that say what may be chosen, and how an answer is written."""
    lines = [f"Write one choice a line, {' and '.join((', '.join(parts.names[:-1]), parts.names[-1]))}, as in:"]
    lines += [f"    {name} = {_example(name)}" for name in parts.names]
    lines += [f"For {name}: {quoted(name)}." for name in parts.names if name in BY_NAME]
    if own := next((_OWN[name] for name in parts.names if name in _OWN), ()):
        lines += ["Or a part of your own, by the figures of its data sheet below it, named as in a design file:"]
        lines += [f"    {line}" for line in own]
        lines += ["What the review cannot tell for want of a figure does not count as passed."]
    return lines


def _example(name: str) -> str:
    """Return a choice that shows how one is written, and is not the right one."""
    written = {"gate resistor": "33 ohm", "pull-down": "1 Mohm", "diode": "silicon diode"}
    return written.get(name) or named_parts(name)[-1]


class Looked(NamedTuple):
    """What the review says of a choice, worst first."""

    failed: list[Finding]
    #: What it cannot tell for want of a figure of a part of the learner's own.
    untold: list[Finding]
    others: list[Finding]


def looked_over(parts: Parts, numbers: Numbers, text: str) -> Looked:
    """Return what the review says of a choice.

    Raises
    ------
    LabkitError
        When the text chooses no circuit.
    """
    from labkit.reviews import Outcome, generic_part, generic_parts  # noqa: PLC0415 (as above)

    fields = checked_parts(parts.names, text)
    found = _reviewed(parts, numbers, fields)
    failed = [finding for finding in found if finding.outcome is Outcome.EXCEEDED]
    unknown = [finding for finding in found if finding.outcome is Outcome.UNKNOWN]
    generic = [generic_part(name) for name in generic_parts()]
    own = {field for field, part in fields.items() if isinstance(part, Part) and part not in generic}
    if own and unknown and not failed:  # what cannot be told of the example either is no matter of these parts
        example = checked_parts(parts.names, parts.example)
        there = _reviewed(parts, numbers, fields | {field: example[field] for field in own})
        untellable = {finding.name for finding in there if finding.outcome is Outcome.UNKNOWN}
        unknown = [finding for finding in unknown if finding.name not in untellable]
    untold = unknown if own else []
    return Looked(failed, untold, [finding for finding in found if finding not in failed and finding not in untold])


def _reviewed(parts: Parts, numbers: Numbers, fields: dict[str, object]) -> tuple[Finding, ...]:
    from labkit.reviews import review  # noqa: PLC0415 (as above)

    try:
        drive = dataclasses.replace(parts.around(numbers), **fields)  # type: ignore[arg-type] # by their own names
        return review(drive, parts.duty(numbers), parts.frequency).findings
    except LabkitError as error:
        raise DesignError(f"With these parts the circuit cannot be looked over: {error}") from error
    except ArithmeticError as error:
        raise DesignError("With parts of such sizes nothing can be calculated. Look at their prefixes.") from error


def tightest(findings: list[Finding]) -> str:
    """Return the finding with the least margin, in a sentence; empty where none has one.

    A finding that is a nuisance and no danger can lie beyond its limit: it has no room to speak of.
    """
    with_margin = [found for found in findings if (found.margin or 0.0) > 0.0 and found.value is not None]
    if not with_margin:
        return ""
    least = min(with_margin, key=lambda found: found.margin if found.margin is not None else 0.0)
    return f"Least room is left in “{least.name}”: {show(least.value)}, where {show(least.limit)} is the limit."  # type: ignore[arg-type] # chosen above
