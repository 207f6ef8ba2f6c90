"""The review: every finding that applies to a circuit, at its own values or at the worst corner of its tolerances."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from labkit.errors import PartError
from labkit.parts import Bipolar, Drive, Mosfet
from labkit.parts._fields import expect, finite_quantity
from labkit.reviews import _diode, _duty, _gate, _heat, _supply, _transistor, _wiring
from labkit.reviews._case import Case
from labkit.reviews._finding import Finding, Review
from labkit.reviews._tests import bench_tests
from labkit.units import Quantity, magnitude
from labkit.writing import show

__all__ = ["Tolerances", "review"]

_ALL: dict[Callable[[Case], Finding | None], str] = {
    look: part
    for module in (_supply, _transistor, _gate, _heat, _diode, _duty, _wiring)
    for look, part in module.FINDINGS.items()
}
#: Extra-low voltage: above it a touch can harm (60 V d.c. in dry rooms, IEC 60364-4-41, from memory) [V].
_HIGHEST_VOLTAGE = 60.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Tolerances:
    """How far the values of a drive may lie from what was typed; each is a share, 0.1 for ±10 %.

    The defaults are common practice, no source.
    """

    #: A fresh cell above, a flat one below its label.
    supply_high: float = 0.05
    supply_low: float = 0.25
    #: A cold winding below, a warm one above its resistance at 25 °C.
    winding: float = 0.1
    #: On-resistance of a hot transistor above the printed one.
    on_resistance_hot: float = 0.5
    #: The pin's high level under load.
    pin_low: float = 0.05


def review(
    drive: Drive,
    duty: Quantity | float | str | Sequence[float] = 1.0,
    frequency: Quantity | str = "20 kHz",
    *,
    duty_count: float | None = None,
    tolerances: Tolerances | None = None,
) -> Review:
    """Look a circuit over before power is applied.

    Parameters
    ----------
    drive : Drive
        As built, faults included.
    duty : float, or pair of float [1]
        The greatest duty, or the least and the greatest.
    frequency : Quantity [Hz]
        Of the PWM; without meaning where the duty is 1.
    duty_count : float, optional
        The number that the program writes for the greatest duty.
    tolerances : Tolerances, optional
        With them each finding is the worst of all corners; without them, that at the values given.

    Returns
    -------
    Review
        Findings, worst first, and the tests that only the bench can answer.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    Limits are those of the parts, or common practice where the finding says so. A finding whose number is not known
    says "cannot tell" and what is missing. This is a check of sums, not a permission: local rules and the qualified
    person who supervises your room come first.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> import dataclasses
    >>> review(dataclasses.replace(desk_wind_tunnel(), diode=None))["energy into the transistor at each switch-off"].verdict
    'exceeded'
    """
    expect(drive, Drive, "review.drive")
    ends = _duties(duty)
    hertz = float(magnitude(finite_quantity(frequency, "Hz", "frequency"), "Hz"))
    if not hertz > 0:
        raise PartError("frequency", "more than zero", frequency, "Give it in Hz.")

    if drive.supply.voltage.m_as("V") > _HIGHEST_VOLTAGE:
        remedy = "Only extra-low voltage is looked at here: what is above can kill. Ask a qualified person."
        raise PartError("Supply.voltage", f"{_HIGHEST_VOLTAGE:g} V or less", show(drive.supply.voltage), remedy)

    if tolerances is not None:
        expect(tolerances, Tolerances, "review.tolerances")
    count = None if duty_count is None else float(magnitude(finite_quantity(duty_count, "", "duty_count"), ""))

    def case_of(corner: Drive) -> Case:
        return Case(corner, duty=ends, frequency=hertz, duty_count=count)

    nominal = case_of(drive)
    cases = [nominal] if tolerances is None else [case_of(corner) for corner in corners(drive, tolerances)]
    findings = _worst_of(map(_look_over, cases))
    ranked = sorted(findings, key=lambda found: -found.outcome.badness)
    return Review(drive=drive, findings=tuple(ranked), tests=bench_tests(nominal))


def _look_over(case: Case) -> list[Finding]:
    looks = [(look(case), part) for look, part in _ALL.items()]
    return [dataclasses.replace(found, part=part) for found, part in looks if found is not None]


def _duties(duty: Quantity | float | str | Sequence[float]) -> tuple[float, float]:
    given = duty if isinstance(duty, tuple | list) else (duty,)
    ends = [float(magnitude(finite_quantity(end, "", "duty"), "")) for end in given]
    if not ends or len(ends) > 2 or not all(0 < end <= 1 for end in ends):
        remedy = (
            "A percentage? Divide by 100." if any(1 < end <= 100 for end in ends) else "Give one or two bare numbers."
        )
        raise PartError("duty", "above 0 to 1", duty, remedy)
    return min(ends), max(ends)


def corners(drive: Drive, tolerances: Tolerances) -> Iterator[Drive]:
    """Give the drive at each corner: battery fresh or flat, motor cold or warm, transistor cold or hot, gate full or low."""
    for fresh in (1.0 + tolerances.supply_high, 1.0 - tolerances.supply_low):
        for winding in (1.0 - tolerances.winding, 1.0 + tolerances.winding):
            for hot in (1.0, 1.0 + tolerances.on_resistance_hot):
                for gate in (1.0, 1.0 - tolerances.pin_low):
                    yield dataclasses.replace(
                        drive,
                        supply=dataclasses.replace(drive.supply, voltage=drive.supply.voltage * fresh),
                        motor=dataclasses.replace(drive.motor, resistance=drive.motor.resistance * winding),
                        switch=_scaled(drive.switch, hot),
                        pin=dataclasses.replace(drive.pin, high_level=drive.pin.high_level * gate),
                    )


def _scaled(switch: Mosfet | Bipolar, factor: float) -> Mosfet | Bipolar:
    """Return the transistor with so many times its on-resistance; a bipolar one has none."""
    if not isinstance(switch, Mosfet):
        return switch
    given = switch.on_resistance
    table = tuple((volt, ohm * factor) for volt, ohm in given) if isinstance(given, tuple) else given * factor
    return dataclasses.replace(switch, on_resistance=table)


def _worst_of(reviews: Iterable[list[Finding]]) -> list[Finding]:
    """Return for each name the finding with the worst outcome, and among these the least margin."""
    worst: dict[str, Finding] = {}
    for found in (finding for findings in reviews for finding in findings):
        before = worst.get(found.name)
        if before is None or _rank(found) > _rank(before):
            worst[found.name] = found
    return list(worst.values())


def _rank(found: Finding) -> tuple[int, float]:
    return found.outcome.badness, -math.inf if found.margin is None else -found.margin
