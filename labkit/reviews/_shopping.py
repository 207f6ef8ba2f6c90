"""What to buy for a drive: values, ratings with their margins, generic classes, and spares for a room."""

from __future__ import annotations

import math
from dataclasses import dataclass

from labkit.parts import Drive, Mosfet
from labkit.reviews._case import Case, Si, size

__all__ = ["Item", "shopping_list"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One line of the list."""

    part: str
    rating: str
    #: For the room, spares included.
    count: int
    why: str


def shopping_list(drive: Drive, *, people: int = 1) -> tuple[Item, ...]:
    """Return what to buy for so many people who each build this drive.

    Parameters
    ----------
    drive : Drive
    people : int
        Parts that learners break come with spares: one for every five people, at least one.

    Returns
    -------
    tuple of Item

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> shopping_list(desk_wind_tunnel(), people=10)[1].count
    12
    """
    case = Case(drive, duty=(0.2, 1.0), frequency=20e3)
    stall, run, volts = case.starting_current, case.running_current, case.voltage
    spared = people + max(1, math.ceil(people / 5))
    gate = size(drive.gate_resistor, "ohm")
    items = [
        Item(part="brushed d.c. motor", rating=f"{Si(volts):V}, about {Si(case.winding):ohm}", count=people + 1, why="one spare for the room"),
        _switch(case, spared),
        Item(part="Schottky diode", rating=f"{Si(max(2 * volts, 20)):V} or more, {Si(max(1.25 * run, 1.0)):A} or more", count=spared,
             why=f"carries the motor's {Si(run):A} while the transistor is off; stands {Si(volts):V} the other way"),
        Item(part="gate resistor", rating=f"{Si(gate):ohm}, 1/4 W", count=spared, why="keeps the gate's peak current within the pin's rating"),
        Item(part="pull-down resistor", rating="10.0 kΩ, 1/4 W", count=spared, why="holds the gate down while the board starts"),
        Item(part="ceramic capacitor", rating=f"100 nF, {Si(max(5 * volts, 50)):V}", count=spared, why="straight at the motor's terminals, against noise"),
        Item(part="buffer capacitor", rating=f"470 µF, {Si(2 * volts):V} or more", count=people, why="at the board's supply; mind its polarity"),
        _fuse(run, stall, spared),
        Item(part="supply", rating=f"{Si(volts):V}, {Si(1.25 * stall):A} for an instant, inner resistance under {Si(case.winding / 5):ohm}",
             count=people, why="the start takes what the bare winding takes"),
        Item(part="eye protection", rating="safety spectacles", count=people, why="a spinning fan, a drill-driven shaft"),
    ]  # fmt: skip
    return tuple(items)


def _switch(case: Case, count: int) -> Item:
    stall, volts = case.starting_current, case.voltage
    if isinstance(case.drive.switch, Mosfet):
        most = 0.05 * volts / stall
        rating = f"{Si(2 * volts):V} or more, {Si(1.5 * stall):A} or more, at most {Si(most):ohm} at {Si(case.pin_voltage):V} on the gate"
        return Item(
            part="logic-level N-channel MOSFET", rating=rating, count=count, why="loses 5 % of the voltage at the start"
        )
    rating = f"{Si(2 * volts):V} or more, {Si(1.5 * stall):A} or more"
    return Item(part="NPN transistor", rating=rating, count=count, why="carries the starting current")


def _fuse(run: float, stall: float, count: int) -> Item:
    if run < stall / 2.75:
        return Item(part="cartridge fuse and holder", rating=f"between {Si(run):A} and {Si(stall / 2.75):A}, quick", count=count,
                    why="holds the run, melts on a stall")  # fmt: skip
    return Item(part="resettable fuse", rating=f"holds {Si(1.1 * run):A}, trips below {Si(stall):A}", count=count,
                why="no cartridge fuse fits between run and stall")  # fmt: skip
