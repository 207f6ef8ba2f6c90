"""First power in stages: for every stage the reading to expect, and the reading at which to stop, for this circuit."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from labkit.parts import Drive, Mosfet
from labkit.parts._fields import expect
from labkit.reviews._case import Case, Si, size
from labkit.reviews._static import circuit_of, readings
from labkit.simulation import preferred_value
from labkit.units import Q_

__all__ = ["FirstPower", "Reading", "Stage", "first_power"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One reading of a stage."""

    what: str
    expect: str
    stop: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """One stage: what to connect, what to read, when to stop."""

    name: str
    do: str
    readings: tuple[Reading, ...]
    caution: str


class FirstPower(tuple[Stage, ...]):
    """The stages in their order."""

    __slots__ = ()


def first_power(drive: Drive) -> FirstPower:
    """Return the stages in which to bring a new circuit to life.

    Parameters
    ----------
    drive : Drive
        As it is meant to be; readings are worked out for it, pin held low or high.

    Returns
    -------
    FirstPower
        A tuple of stages, in order: supply off; motor out; a resistor in the motor's place; motor free; motor loaded.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> [stage.name for stage in first_power(desk_wind_tunnel())]
    ['supply off', 'motor out', "resistor in the motor's place", 'motor free', 'motor loaded']
    """
    expect(drive, Drive, "first_power.drive")
    case = Case(drive, duty=(1.0, 1.0), frequency=20e3)
    return FirstPower((_off(case), _without_motor(case), _stand_in(case), _free(case), _loaded(case)))


def _off(case: Case) -> Stage:
    down = case.drive.pull_down
    gate = [] if down is None or not isinstance(case.drive.switch, Mosfet) else [
        Reading(what="ohms from gate to source", expect=f"about {Si(size(down, 'ohm')):ohm}", stop="open, or less than half of it"),
    ]  # fmt: skip
    return Stage(
        name="supply off",
        do="Everything wired, supply disconnected. Meter on ohms, then on diode test.",
        readings=(
            Reading(what="supply's + to ground, ohms", expect="more than a few ohms, and no beep", stop="under 1 Ω: a short"),
            Reading(what="freewheel diode, both ways", expect="a drop one way (with the motor's lead off), band to +; open the other way",
                    stop="a drop with the red lead on +: it is backwards; open both ways: there is none"),
            Reading(what="board's 0 V to the supply's negative", expect="under 1 Ω", stop="more: there is no common ground"),
            *gate,
        ),
        caution="Disconnect before rewiring, every time. Cells too: take one out.",
    )  # fmt: skip


def _terminals(case: Case) -> tuple[str, str, str]:
    """Return what the transistor's terminals are called: the one that commands, the motor's, and across what it drops."""
    if isinstance(case.drive.switch, Mosfet):
        return "gate", "drain", "drain to source"
    return "base", "collector", "collector to emitter"


def _without_motor(case: Case) -> Stage:
    told = readings(circuit_of(case.drive))
    volts, kept = case.voltage, case.switch_drop
    gate, drain, across = _terminals(case)
    return Stage(
        name="motor out",
        do=f"Motor disconnected, 10 kΩ from the {drain} to +. Supply on, its current limit as low as it goes. "
        "Let the program hold the pin low, then high.",
        readings=(
            Reading(what=f"{gate}, pin low", expect="0 V", stop="more than 0.3 V"),
            Reading(what=f"{gate}, pin high", expect=f"{Si(told['gate_on']):V}", stop=f"less than {Si(0.9 * told['gate_on']):V}"),
            Reading(what=f"{across}, pin low", expect=f"{Si(volts):V}", stop=f"less than {Si(0.9 * volts):V}: it conducts while off"),
            Reading(what=f"{across}, pin high", expect=f"under {Si(kept or 0.05):V}",
                    stop=f"more than {Si(kept + 0.2):V}: the {gate} does not turn it on"),
        ),
        caution="Nothing may get warm at this stage. If anything does, switch off.",
    )  # fmt: skip


def stand_in(voltage: float) -> float:
    """Return the resistor for the motor's place [ohm]: one that is sold, and takes about half a watt."""
    return size(preferred_value(Q_(max(voltage**2 / 0.5, 10.0), "ohm"), "E12"), "ohm")


def _stand_in(case: Case) -> Stage:
    ohms = stand_in(case.voltage)
    amps = case.voltage / (ohms + case.source)
    return Stage(
        name="resistor in the motor's place",
        do=f"A resistor of {Si(ohms):ohm}, 1 W, in the motor's place. Pin low, then high.",
        readings=(
            Reading(what="supply current, pin low", expect="0 A", stop="more than 1 mA"),
            Reading(what="supply current, pin high", expect=f"{Si(amps):A}", stop=f"more than {Si(1.2 * amps):A}"),
            Reading(what=f"{_terminals(case)[2]}, pin high", expect=f"under {Si(max(2 * amps * (case.switch_resistance or 0.1) + case.switch_drop, 0.02)):V}",
                    stop="more than 0.2 V beyond that"),
        ),
        caution="The resistor gets hot enough to hurt within a minute.",
    )  # fmt: skip


def _stalled(case: Case) -> float:
    """Return the current that the supply gives a motor that is held [A]."""
    limit = case.known(case.drive.supply, "current_limit", "A")
    return case.starting_current if limit is None else min(case.starting_current, limit)


def _free(case: Case) -> Stage:
    unloaded = dataclasses.replace(case.drive, load=type(case.drive.load)())
    told, stalled = readings(circuit_of(unloaded)), _stalled(case)
    free = told["current_on"]
    return Stage(
        name="motor free",
        do="Motor clamped down, fan off the shaft, meter in its 10 A socket. Pin high for two seconds.",
        readings=(
            Reading(what="supply current, running", expect=f"about {Si(free):A}, a moment near {Si(stalled):A} at the start",
                    stop=f"more than {Si(0.5 * (free + stalled)):A} after one second: it is held"),
            Reading(what="voltage across the motor", expect=f"{Si(told['motor_on']):V}", stop=f"less than {Si(0.85 * told['motor_on']):V}"),
            Reading(what="transistor, by hand", expect="cool", stop="too warm to touch"),
        ),
        caution="Eye protection on; hair, sleeves and cords away. Held still, a motor cooks: three seconds, then rest it for thirty.",
    )  # fmt: skip


def _loaded(case: Case) -> Stage:
    told, stalled = readings(circuit_of(case.drive)), _stalled(case)
    limit = case.known(case.drive.supply, "brown_out", "V")
    volts = told["supply_on"]
    return Stage(
        name="motor loaded",
        do="Supply off, fan on the shaft, guard in place, supply on. Half a minute at full duty.",
        readings=(
            Reading(what="supply current", expect=f"about {Si(told['current_on']):A}", stop=f"more than {Si(0.5 * (told['current_on'] + stalled)):A}"),
            Reading(what="supply voltage", expect=f"{Si(volts):V}",
                    stop=f"less than {Si(limit):V}: the board resets" if limit else f"less than {Si(0.8 * volts):V}"),
            Reading(what="transistor, above the room after a minute", expect=f"about {told['temperature_on']:.0f} °C" if told["temperature_on"] >= 1 else "under 1 °C",
                    stop="more than 50 °C above the room, or any smell"),
        ),
        caution="Stand out of the fan's plane with eye protection on. Never grip a shaft with a fan on it.",
    )  # fmt: skip
