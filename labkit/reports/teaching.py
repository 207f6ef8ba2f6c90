"""What the teacher of a room prepares: a plan with times and helpers, and a risk sheet with this drive's numbers."""

from __future__ import annotations

import math
import tomllib
from html import escape
from importlib.resources import files

from labkit.errors import PartError
from labkit.parts import Drive
from labkit.problems.lessons import LESSONS
from labkit.reports.page import table
from labkit.simulation import operating_point
from labkit.writing import rpm_beside, show

__all__ = ["risk_html", "session_html"]

_RISKS = files("labkit") / "data" / "room" / "risks.toml"
#: Learners to each helper: about one for eight to ten is what volunteer-taught workshops plan with.
_EACH_HELPER = 8
#: Minutes at the screen, and at the bench after it.
_SCREEN = 25
_BENCH = {1: 20, 2: 20, 3: 20, 4: 15, 5: 25, 6: 25, 7: 20, 8: 20, 9: 20, 10: 30, 11: 25, 12: 30}
#: Which lessons one session holds; a break comes between them.
_SESSIONS = ((1, 2), (3, 4), (5, 6), (7, 8), (9, 10), (11, 12))
_OPENING = (
    (10, "Welcome; the cautions, aloud, with the parts in hand", "everybody reads the risk sheet"),
    (20, "Meter and breadboard: volts across, amperes in series, ohms with the power off", "one helper a table"),
)
_FIRST = (10, "Back to the cautions; what came out last time", "helpers check eye protection and fuses")
_BREAK = (10, "Break: supplies off, cells out", "a helper stays with the benches")
_LAST = (10, "Supplies off, cells out, parts counted; one thing learnt, from each", "helpers count the spares")


def session_html(people: int) -> str:
    """Return the plan: for each session a table of times, what happens, and what helpers do.

    Raises
    ------
    PartError
        When *people* is no count.
    """
    if not isinstance(people, int) or not 1 <= people <= 1000:
        raise PartError("people", "a whole number from 1 to 1000", people, "Count those who build the drive.")
    helpers = math.ceil(people / _EACH_HELPER)
    opening = (
        f"<p>For {people} {'person' if people == 1 else 'people'}, with {helpers} "
        f"{'helper' if helpers == 1 else 'helpers'} beside you: about one for every {_EACH_HELPER}. "
        "The bench part of a lesson can be cut, its screen part and its cautions cannot.</p>"
        "<p>A motor turns in the first session, and the freewheel diode and the common ground are in the very first "
        "circuit that has a transistor, though they are explained later.</p>"
    )
    parts = [opening]
    for number, lessons in enumerate(_SESSIONS, 1):
        rows, minute = [], 0
        for minutes, what, who in (*(_OPENING if number == 1 else (_FIRST,)), *_lesson_rows(lessons), _LAST):
            rows.append((f"{minute // 60}:{minute % 60:02d}", f"{minutes}\u00a0min", what, who))
            minute += minutes
        times = table(f"Times of session {number}", ("At", "Takes", "What", "Helpers"), rows)
        heading = f"Session {number}, {minute // 60} h {minute % 60:02d} min"
        parts.append(f"<section><h2>{heading}</h2>{times}</section>")
    return "".join(parts)


def _lesson_rows(lessons: tuple[int, ...]) -> list[tuple[int, str, str]]:
    rows = []
    for place, number in enumerate(lessons):
        if place:
            rows.append(_BREAK)
        what = f"Lesson {number}, {LESSONS[number].title}: at the screen, in pairs"
        rows.append((_SCREEN, what, "listen to predictions, tell nothing"))
        rows.append((_BENCH[number], f"Lesson {number}: at the bench", "nobody powers up before a helper has looked"))
    return rows


def risk_html(drive: Drive) -> str:
    """Return a risk sheet to adapt: what can hurt in this room, what is done about it, in this drive's numbers."""
    stall = drive.supply.voltage / (drive.motor.resistance + drive.supply.internal_resistance)
    numbers = {
        "stall_current": show(stall, "A"),
        "stall_heat": show(stall**2 * drive.motor.resistance, "W"),
        "free_speed": rpm_beside(operating_point(drive.motor, drive.supply.voltage).speed),
    }
    risks = tomllib.loads(_RISKS.read_text(encoding="utf-8"))["risk"]
    rows = [(risk["what"], risk["here"].format(**numbers), risk["measure"], "") for risk in risks]
    headings = ("What can hurt", "Here", "What we do", "Your room: who, where, checked")
    return (
        "<p>A start, not a permission: adapt it to your room, and let the person who is responsible there sign it. "
        f"Local rules come first. Numbers are for {escape(show(drive.supply.voltage))} and a winding of "
        f"{escape(show(drive.motor.resistance))}.</p>{table('Risks and what is done about them', headings, rows)}"
        "<p>Where are first aid, extinguisher, the switch for the benches, and a telephone? ______________________</p>"
        "<p>Date and signature: ______________________</p>"
    )
