"""The twelve lessons, so that a comment can point to one."""

from __future__ import annotations

from labkit.checks import Lesson

__all__ = ["LESSONS"]

_TITLES = (
    "What a pin can give",
    "The motor as a load",
    "Generator action",
    "The running motor",
    "The transistor as a switch",
    "Driver dissipation",
    "Switching off",
    "Duty-cycle speed control",
    "Supply, ground and wiring",
    "Measure your own motor",
    "The control program",
    "Design review",
)

#: By number, from 1.
LESSONS = {number: Lesson(number=number, title=title) for number, title in enumerate(_TITLES, start=1)}
