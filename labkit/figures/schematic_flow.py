"""Which way the current takes through a drive as it is built, and how much of it flows."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from labkit.errors import NoSolutionError, PartError
from labkit.parts import DiodePlace, Drive, Mosfet, Side
from labkit.parts._fields import finite_quantity
from labkit.reviews._static import circuit_of, readings
from labkit.simulation import turn_off_transient
from labkit.symbolic import derivation
from labkit.units import Q_, Quantity, absolute
from labkit.writing import rpm_beside, show

__all__ = ["MOMENTS", "Flow", "flow"]

#: What a diagram may show: the switch closed, the instant after it opened, and the shaft turned from outside.
MOMENTS = ("on", "off", "generator")

_NOTHING = Q_(0.0, "A")


@dataclass(frozen=True, kw_only=True, slots=True)
class Flow:
    """The current of one moment."""

    #: The loop that carries it: motor, diode, short or pin; empty where none flows.
    loop: str
    current: Quantity = _NOTHING
    #: Whether it leaves the motor at its + terminal, as a generator's does.
    out_of_motor: bool = False
    #: What there is to say about it, with numbers.
    finding: str


def flow(drive: Drive, moment: str, current: Quantity | str | None, speed: Quantity | str | None) -> Flow:
    """Return the way that the current takes at *moment*.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    """
    if moment == "generator":
        if speed is None:
            raise PartError("speed", "given where the shaft is turned", None, "Write speed='3000 rpm'.")
        return _turned(drive, finite_quantity(speed, "rad/s", "speed"))
    if moment not in MOMENTS:
        raise PartError("moment", f"one of {', '.join(MOMENTS)}", repr(moment), "Write moment='on'.")
    given = None if current is None else finite_quantity(current, "A", "current")
    if given is not None and given.magnitude < 0:
        raise PartError("current", "zero or more", show(given), "Which way it flows follows from the circuit.")
    closed = _closed(drive, given)
    return closed if moment == "on" else _opened(drive, closed)


def _closed(drive: Drive, given: Quantity | None) -> Flow:
    """Return what flows while the pin is high."""
    build = drive.build
    if build.motor_on_pin:
        return _from_the_pin(drive, given)
    if not build.common_ground:
        words = "The board's 0 V and the supply's − are not joined: the pin's voltage does not reach the transistor."
        return Flow(loop="", finding=f"{words} No current flows that could be relied on.")
    amps = _settled(drive) if given is None else given
    if _shorts(drive):
        words = f"The diode is the wrong way round: as the switch closes it shorts the supply, and {show(amps)} flows"
        return Flow(loop="short", current=amps, finding=f"{words} past the motor.")
    if _swapped(drive) or _bridged(drive):
        why = "Drain and source are swapped: the body diode" if _swapped(drive) else "The diode across the transistor"
        words = f"{why} conducts, and {show(amps)} flows whatever the pin does. The motor never stops."
        return Flow(loop="motor", current=amps, finding=words)
    if not amps.magnitude:
        words = "The pin is high, but the transistor stays off" if given is None else "The switch is closed"
        return Flow(loop="", finding=f"{words}: no current flows.")
    way = "transistor and motor" if build.side is Side.HIGH else "motor and transistor"
    words = f"The switch is closed: {show(amps)} flows from the supply's + through {way}, and back to its −."
    if build.side is Side.HIGH:
        words += " Above the motor the transistor only follows the pin, and keeps the rest of the voltage to itself."
    return Flow(loop="motor", current=amps, finding=words + (" The diode blocks." if _catches(drive) else ""))


def _shorts(drive: Drive) -> bool:
    build = drive.build
    return drive.diode is not None and build.diode_reversed and build.diode_place is DiodePlace.MOTOR


def _swapped(drive: Drive) -> bool:
    return drive.build.drain_source_swapped and isinstance(drive.switch, Mosfet)


def _bridged(drive: Drive) -> bool:
    """Return whether a diode across the transistor, the wrong way round, carries the current past it."""
    build = drive.build
    return drive.diode is not None and build.diode_reversed and build.diode_place is DiodePlace.TRANSISTOR


def _catches(drive: Drive) -> bool:
    """Return whether there is a freewheel diode that does its work."""
    build = drive.build
    return drive.diode is not None and not build.diode_reversed and build.diode_place is DiodePlace.MOTOR


def _settled(drive: Drive) -> Quantity:
    """Return what the supply gives once the motor has settled, pin high, the faults of the build counted in."""
    circuit = dataclasses.replace(
        circuit_of(drive),
        swapped=_swapped(drive),
        high_side=drive.build.side is Side.HIGH,
        diode_shorts=_shorts(drive),
    )
    return Q_(readings(circuit)["current_on"], "A")


def _from_the_pin(drive: Drive, given: Quantity | None) -> Flow:
    ohms = drive.pin.output_resistance + drive.motor.resistance
    stalled = derivation("stall current").evaluate(voltage=drive.pin.high_level, resistance=ohms)
    asked = stalled if given is None else given
    limit = drive.pin.current_limit
    made_for = "" if limit is None else f", which is made to give {show(limit)}"
    return Flow(
        loop="pin", current=asked, finding=f"The motor hangs on the pin: at rest it asks {show(asked)} of it{made_for}."
    )


def _opened(drive: Drive, closed: Flow) -> Flow:
    """Return what flows in the first instant after the pin went low."""
    if closed.loop in {"", "pin"} or _swapped(drive) or _bridged(drive):
        return closed
    if closed.loop == "short":
        words = "The diode is the wrong way round: it carried a short circuit, and gives the winding's current no way."
        return Flow(loop="", finding=words)
    amps = show(closed.current)
    if _catches(drive):
        after = turn_off_transient(drive, closed.current)
        words = (
            f"The switch has just opened. The winding's {amps} goes on, the same way through the motor, and now "
            f"round through the diode. The transistor holds {show(after.peak_switch_voltage)}."
        )
        return Flow(loop="diode", current=closed.current, finding=words)
    volts = getattr(drive.switch, "breakdown_voltage", None)
    until = "something breaks down" if volts is None else f"the transistor breaks down at {show(volts)}"
    why = "There is no freewheel diode" if drive.diode is None else "The diode is not across the motor"
    words = f"The switch has just opened. {why}, so the winding's {amps} drives the voltage up until {until}."
    return Flow(loop="motor", current=closed.current, finding=words)


def _turned(drive: Drive, speed: Quantity) -> Flow:
    """Return what flows while the shaft is turned from outside and the switch is open."""
    if drive.build.motor_on_pin or _swapped(drive) or _bridged(drive):
        remedy = "Draw it at moment='on'."
        raise PartError("build", "one whose transistor can open, to show the motor as a generator", "another", remedy)
    emf = derivation("back-EMF").evaluate(emf_constant=drive.motor.emf_constant, speed=absolute(speed))
    forward = speed.magnitude >= 0
    told = (
        f"Turned at {rpm_beside(speed)}, with the switch open, the motor generates {show(emf)}, "
        f"+ at its {'upper' if forward else 'lower'} terminal"
    )
    ohms, diode = drive.motor.resistance + drive.wiring, drive.diode
    at_motor = diode is not None and drive.build.diode_place is DiodePlace.MOTOR
    if diode is not None and at_motor and drive.build.diode_reversed is forward:
        amps = _beyond(drive, speed, diode.forward_voltage, ohms + diode.slope_resistance)
        if amps is None:
            return Flow(loop="", finding=f"{told}: too little for the diode, and no current flows.")
        words = f"{told}: {show(amps)} flows round through the diode, and brakes the shaft."
        return Flow(loop="diode", current=amps, out_of_motor=forward, finding=words)
    if not forward or not isinstance(drive.switch, Mosfet):
        return Flow(loop="", finding=f"{told}. No current has a way back.")
    barrier = drive.supply.voltage + drive.switch.body_diode_drop
    amps = _beyond(drive, speed, barrier, ohms + drive.supply.internal_resistance)
    if amps is None:
        words = f"{told}. The supply's {show(drive.supply.voltage)} and the body diode hold against it: no current."
        return Flow(loop="", finding=words)
    words = f"{told}, more than the supply has: {show(amps)} flows back into the supply, through the body diode."
    return Flow(loop="motor", current=amps, out_of_motor=True, finding=words)


def _beyond(drive: Drive, speed: Quantity, barrier: Quantity, ohms: Quantity) -> Quantity | None:
    """Return the current that the generator EMF drives past a voltage that it must exceed, or None if it does not."""
    try:
        amps: Quantity = derivation("generator current into an LED").evaluate(
            emf_constant=drive.motor.emf_constant,
            speed=absolute(speed),
            led_voltage=barrier,
            resistance=ohms,
            led_slope_resistance=Q_(0.0, "ohm"),
        )
    except NoSolutionError:
        return None
    return amps if amps.magnitude > 0 else None
