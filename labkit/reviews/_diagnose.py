"""From a symptom and a few readings to the likely causes, and the measurement that would separate them best."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from labkit.errors import PartError
from labkit.parts import Drive, Mosfet
from labkit.parts._fields import expect, finite_quantity
from labkit.reviews._static import OPEN, READINGS, SHORT, Circuit, circuit_of, readings
from labkit.units import Q_, Quantity, from_si, magnitude

__all__ = ["SYMPTOMS", "Cause", "Diagnosis", "diagnose"]

#: What people notice.
SYMPTOMS = ("does not turn", "turns slowly", "never stops", "transistor hot", "board resets", "all as it should be")


@dataclass(frozen=True, kw_only=True, slots=True)
class _Fault:
    name: str
    symptoms: tuple[str, ...]
    look: str
    lesson: int
    change: Callable[[Circuit], Circuit]


@dataclass(frozen=True, kw_only=True, slots=True)
class Cause:
    """One possible cause, with the readings that it would give."""

    name: str
    #: Probability among the causes that were compared, from the readings and the symptom.
    likelihood: float
    #: What to look at, or to do.
    look: str
    lesson: int
    predicted: dict[str, Quantity]


@dataclass(frozen=True, kw_only=True, slots=True)
class Diagnosis:
    """Causes, likeliest first, and the reading that would tell the likeliest apart."""

    causes: tuple[Cause, ...]
    #: Name of the next reading, and where to put the probes; None when everything was read.
    next_reading: str | None
    probe: str


def _weak_part(circuit: Circuit) -> Circuit:
    """A transistor that is hardly on at this gate voltage."""
    switch = circuit.drive.switch
    if not isinstance(switch, Mosfet):
        return replace(circuit, switch_resistance=30.0)
    barely = Q_(max(circuit.gate_on - 0.25, 0.1), "V")
    weak = replace(switch, on_resistance=Q_(44.0, "mohm"), transconductance=Q_(3.0, "A/V**2"), threshold=barely)
    return replace(circuit, drive=replace(circuit.drive, switch=weak))


#: The commonest first: among causes that the readings do not tell apart, that is the order.
_FAULTS = (
    _Fault(name="nothing is wrong", symptoms=("all as it should be",), lesson=12, look="Compare the readings again.", change=lambda c: c),
    _Fault(name="no common ground", symptoms=("does not turn",), lesson=9, change=lambda c: replace(c, gate_on=0.0),
           look="Supplies off: under 1 Ω between the board's 0 V and the supply's negative? If so, the gate's own wire or the pin."),
    _Fault(name="supply open or fuse blown", symptoms=("does not turn",), lesson=9,
           look="Supply off: fuse, holder and leads with the ohmmeter.", change=lambda c: replace(c, supply_voltage=0.0)),
    _Fault(name="supply weak or empty", symptoms=("turns slowly", "board resets", "does not turn"), lesson=9,
           look="Read the supply with and without the motor: the drop over the current is its resistance.",
           change=lambda c: replace(c, supply_resistance=c.supply_resistance + 3.0)),
    _Fault(name="motor jammed", symptoms=("does not turn", "board resets", "transistor hot"), lesson=2,
           look="Supply off, fan off the shaft: does it turn by hand?", change=lambda c: replace(c, jammed=True)),
    _Fault(name="motor or its lead open", symptoms=("does not turn",), lesson=2,
           look="Supply off: ohms across the motor's leads, at several shaft positions.", change=lambda c: replace(c, motor_open=True)),
    _Fault(name="bad lead or contact in the motor's loop", symptoms=("turns slowly", "does not turn"), lesson=9,
           look="Loaded, measure along the loop: the contact that drops more than 0.1 V is the one.",
           change=lambda c: replace(c, path_resistance=c.path_resistance + 3.0)),
    _Fault(name="gate voltage too low for this transistor", symptoms=("turns slowly", "does not turn", "transistor hot"), lesson=5,
           look="Read the on-resistance at your gate voltage: take a logic-level part.", change=_weak_part),
    _Fault(name="gate divided down by its pull-down", symptoms=("turns slowly", "does not turn", "transistor hot"), lesson=5,
           look="Measure the pull-down and the gate resistor: 10 kΩ against 150 Ω, not the other way round.",
           change=lambda c: replace(c, gate_on=0.45 * c.gate_on)),
    _Fault(name="transistor failed short", symptoms=("never stops",), lesson=7, change=lambda c: replace(c, switch_resistance=SHORT),
           look="Supply off, one motor lead off, gate joined to source: ohms both ways. Then ask why: diode, heat, gate voltage."),
    _Fault(name="transistor failed open, or its lead", symptoms=("does not turn",), lesson=5,
           look="Supply off: solder joint and breadboard contact of drain and source.", change=lambda c: replace(c, switch_resistance=OPEN)),
    _Fault(name="drain and source swapped", symptoms=("never stops",), lesson=5,
           look="Supply off: source to ground, drain to the motor, by the data sheet's drawing.", change=lambda c: replace(c, swapped=True)),
    _Fault(name="gate not held down", symptoms=("never stops", "transistor hot"), lesson=5,
           change=lambda c: replace(c, gate_off=0.75 * c.gate_on), look="A pull-down of 10 kΩ from gate to source; does the pin have a pull-up while it starts?"),
    _Fault(name="freewheel diode backwards", symptoms=("does not turn", "board resets", "transistor hot"), lesson=7,
           look="Supply off: band to the supply's +.", change=lambda c: replace(c, diode_shorts=True)),
    _Fault(name="transistor above the motor", symptoms=("turns slowly", "transistor hot", "does not turn"), lesson=5,
           look="Motor to +, drain to the motor, source to ground.", change=lambda c: replace(c, high_side=True)),
)  # fmt: skip

#: What a reading may be off by: this share of it, and this much besides.
_SHARE = 0.05
_FLOOR = {"V": 0.05, "A": 0.02, "kelvin": 4.0}


def diagnose(
    drive: Drive, read: Mapping[str, Quantity | str] | None = None, *, symptom: str | None = None
) -> Diagnosis:
    """Rank the likely causes of a fault by how well each faulty circuit predicts what was read.

    Parameters
    ----------
    drive : Drive
        As it was meant to be.
    read : mapping of str to Quantity, optional
        Readings by name, such as ``{"gate_on": "3.2 V", "drain_on": "6.0 V"}``; the names are those of ``READINGS``.
    symptom : str, optional
        One of ``SYMPTOMS``.

    Returns
    -------
    Diagnosis

    Raises
    ------
    PartError
        Names a reading or a symptom that is not known, or a reading in another unit.

    Notes
    -----
    Each cause is worked out as a circuit of its own, pin held high and low, everything settled. A reading may be off
    by 5 % and a little besides (common practice, no source). Faults that only pulses show need an oscilloscope.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> found = diagnose(desk_wind_tunnel(), {"drain_off": "0.05 V", "gate_off": "0 V"}, symptom="never stops")
    >>> found.causes[0].name
    'transistor failed short'
    """
    expect(drive, Drive, "diagnose.drive")
    floats = {name: _reading(name, value) for name, value in (read or {}).items()}
    if symptom is not None and symptom not in SYMPTOMS:
        raise PartError("symptom", f"one of {', '.join(SYMPTOMS)}", repr(symptom), _near(symptom, SYMPTOMS))
    predicted = _predicted(drive)
    weights = [
        _prior(place, fault, symptom) * math.exp(-0.5 * _misfit(floats, told))
        for place, (fault, told) in enumerate(zip(_FAULTS, predicted, strict=True))
    ]
    total = sum(weights) or 1.0
    shares = [weight / total for weight in weights]
    causes = sorted(
        (
            Cause(name=fault.name, likelihood=share, look=fault.look, lesson=fault.lesson,
                  predicted={name: from_si(told[name], READINGS[name][0]) for name in READINGS})
            for fault, told, share in zip(_FAULTS, predicted, shares, strict=True)
        ),
        key=lambda cause: -cause.likelihood,
    )  # fmt: skip
    best = _most_telling(floats, predicted, shares)
    return Diagnosis(causes=tuple(causes), next_reading=best, probe=READINGS[best][1] if best else "")


@lru_cache(maxsize=8)
def _predicted(drive: Drive) -> tuple[dict[str, float], ...]:
    """Return what each fault would let one read on this drive."""
    sound = circuit_of(drive)
    return tuple(readings(fault.change(sound)) for fault in _FAULTS)


def _reading(name: str, value: Quantity | str) -> float:
    if name not in READINGS:
        raise PartError("reading", f"one of {', '.join(READINGS)}", repr(name), _near(name, READINGS))
    unit = READINGS[name][0]
    return float(magnitude(finite_quantity(value, unit, f"reading {name}"), unit))


def _near(word: str, known: Mapping[str, object] | tuple[str, ...]) -> str:
    near = difflib.get_close_matches(str(word), list(known), n=1, cutoff=0.4)
    return f"Did you mean {near[0]!r}?" if near else "Choose one of these."


def _spread(name: str, value: float) -> float:
    return _SHARE * abs(value) + _FLOOR[READINGS[name][0]]


def _misfit(floats: Mapping[str, float], told: Mapping[str, float]) -> float:
    """Return the squared distance between readings and prediction, in what a reading may be off by; each capped."""
    return sum(min(((value - told[name]) / _spread(name, told[name])) ** 2, 60.0) for name, value in floats.items())


def _prior(place: int, fault: _Fault, symptom: str | None) -> float:
    fits = symptom is None or symptom in fault.symptoms
    return 0.97**place * (1.0 if fits else 0.02)


def _most_telling(
    floats: Mapping[str, float], predicted: Sequence[dict[str, float]], shares: list[float]
) -> str | None:
    """Return the reading, not yet taken, on which the likely causes differ most."""

    def apart(name: str) -> float:
        mean = sum(share * told[name] for share, told in zip(shares, predicted, strict=True))
        return sum(
            share * min(((told[name] - mean) / _spread(name, mean)) ** 2, 25.0)
            for share, told in zip(shares, predicted, strict=True)
        )

    left = [name for name in READINGS if name not in floats]
    return max(left, key=apart) if left else None
