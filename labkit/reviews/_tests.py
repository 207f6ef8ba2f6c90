"""What only a measurement can settle: the test to do, and the reading to expect for this circuit."""

from __future__ import annotations

from labkit.parts import Mosfet
from labkit.reviews._case import Case, Si
from labkit.reviews._finding import BenchTest

__all__ = ["bench_tests"]


def bench_tests(case: Case) -> tuple[BenchTest, ...]:
    """Return the tests that belong to this circuit."""
    return tuple(test for build in _TESTS if (test := build(case)) is not None)


def short_dip(case: Case) -> BenchTest | None:
    """A meter averages over the dip that resets the board."""
    limit = case.known(case.drive.supply, "brown_out", "V")
    if limit is None:
        return None
    room = max(case.voltage - limit, 1e-3)
    board, wait = 0.05, 0.02  # a board of about 50 mA, held for 20 ms
    return BenchTest(
        name="supply dip at the start", lesson=9,
        do="Watch the supply with an oscilloscope, or a meter that holds its minimum, while the motor starts: a plain meter averages.",
        expect=f"Down to {Si(case.voltage - case.demand * case.source):V} for a few milliseconds, above {Si(limit):V}. "
        f"To ride it out, {Si(board * wait / room):F} behind a diode holds a 50 mA board for 20 ms; buffer the board, not the motor.",
    )  # fmt: skip


def tired_source(case: Case) -> BenchTest | None:
    """The inner resistance of a cell rises while it empties."""
    if case.source == 0:
        return None
    volts = case.voltage - case.running_current * case.source
    return BenchTest(
        name="supply under load", lesson=9,
        do="Run the motor loaded and read the supply after 0, 30 and 60 s.",
        expect=f"About {Si(volts):V}, and no more than 5 % less after a minute; else the cells are tired or too small.",
    )  # fmt: skip


def pin_at_boot(_case: Case) -> BenchTest:
    """Some pins are driven high while the board starts."""
    return BenchTest(
        name="pin while the board starts", lesson=5,
        do="Motor out. Read the reset table for this pin, and watch the gate while you reset and load a program.",
        expect="0 V all the time; if not, choose another pin.",
    )  # fmt: skip


def failed_short(case: Case) -> BenchTest | None:
    """A transistor that failed, failed short."""
    if not isinstance(case.drive.switch, Mosfet):
        return None
    return BenchTest(
        name="transistor failed short", lesson=7,
        do="Supply off, one motor lead off, gate joined to source: read ohms from drain to source both ways.",
        expect="Open one way, a diode's drop the other way. A few ohms both ways: replace it, and ask why it died.",
    )  # fmt: skip


def which_current(case: Case) -> BenchTest | None:
    """What a meter's d.c. and a.c. ranges mean under PWM."""
    mean, rms, battery = (case.settled(field, "A") for field in ("mean_current", "rms_current", "supply_current"))
    if not case.pulsed or mean is None or rms is None or battery is None:
        return None
    return BenchTest(
        name="current under PWM", lesson=8,
        do="Read the d.c. range in the motor's lead, then in the battery's lead.",
        expect=f"At the greatest duty {Si(mean):A} in the motor's lead and {Si(battery):A} in the battery's. "
        f"Heat goes by the r.m.s. value, {Si(rms):A}; the a.c. range shows only part of the difference.",
    )  # fmt: skip


def noise(_case: Case) -> BenchTest:
    """Brush noise upsets the board."""
    return BenchTest(
        name="noise", lesson=9,
        do="Garbled display, false presses? Run the motor from a battery of its own, then put a lamp in its place.",
        expect="Clean with the lamp: it is the brushes. About 100 nF ceramic straight at the motor's terminals, and stronger pull-ups.",
    )  # fmt: skip


def leads(case: Case) -> BenchTest:
    """Breadboards and jumpers drop voltage."""
    amps = case.running_current
    return BenchTest(
        name="leads and contacts", lesson=9,
        do="Loaded, read the voltage at the supply's terminals and at the motor with the transistor on; divide the difference by the current.",
        expect=f"Less than 0.2 Ω, {Si(0.2 * amps):V} at {Si(amps):A}, apart from the transistor; leads of one length differ up to six times.",
    )  # fmt: skip


_TESTS = (short_dip, tired_source, pin_at_boot, failed_short, which_current, noise, leads)
