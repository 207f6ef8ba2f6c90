"""What to buy for a drive: values, ratings with their margins, generic classes, and spares for a room."""

from __future__ import annotations

import math
from dataclasses import dataclass

from labkit.errors import PartError
from labkit.parts import Drive, Mosfet
from labkit.parts._fields import expect
from labkit.reviews._case import Case, Si
from labkit.reviews._finding import TIGHT
from labkit.reviews._first_power import stand_in
from labkit.reviews._gate import EVERY_GATE
from labkit.reviews._supply import MELTS
from labkit.simulation import preferred_value
from labkit.units import Q_
from labkit.writing import show

__all__ = ["Item", "ShoppingList", "shopping_list"]

_MOST_PEOPLE = 10_000


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One line of the list."""

    part: str
    rating: str
    #: For the room, spares included.
    count: int
    why: str


class ShoppingList(tuple[Item, ...]):
    """The lines of the list."""

    __slots__ = ()


def shopping_list(drive: Drive, *, people: int = 1) -> ShoppingList:
    """Return what to buy for so many people who each build this drive.

    Parameters
    ----------
    drive : Drive
    people : int
        Parts that learners break come with spares: one for every five people, at least one.

    Returns
    -------
    ShoppingList
        A tuple of items.

    Raises
    ------
    PartError
        Where *people* is no count.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> shopping_list(desk_wind_tunnel(), people=10)[1].count
    12
    """
    expect(drive, Drive, "shopping_list.drive")
    if not isinstance(people, int) or not 1 <= people <= _MOST_PEOPLE:
        raise PartError(
            "people", f"a whole number from 1 to {_MOST_PEOPLE}", people, "Count those who build the drive."
        )
    case = Case(drive, duty=(0.2, 1.0), frequency=20e3)
    stall, volts = case.bare_current, case.voltage
    run = case.running_current if case.runs else stall
    spared = people + max(1, math.ceil(people / 5))
    items = [
        Item(part="brushed d.c. motor", rating=f"{Si(volts):V}, about {Si(case.winding):ohm}", count=people + 1, why="one spare for the room"),
        _switch(case, spared),
        Item(part="Schottky diode", rating=f"{rated(max(2 * volts, 20), 'V')} or more, {rated(max(1.25 * run, 1.0), 'A')} or more", count=spared,
             why=f"carries the motor's {Si(run):A} while the transistor is off; stands {Si(volts):V} the other way"),
        *_resistors(case, spared),
        Item(part="resistor for first power", rating=f"{Si(stand_in(volts)):ohm}, 1 W", count=spared, why="in the motor's place, before there is one"),
        Item(part="ceramic capacitor", rating=f"100 nF, {rated(max(5 * volts, 50), 'V')}", count=spared, why="straight at the motor's terminals, against noise"),
        Item(part="buffer capacitor", rating=f"470 µF, {rated(1.5 * volts, 'V')} or more", count=people, why="at the board's supply; mind its polarity"),
        _fuse(case, spared),
        Item(part="supply", rating=f"{Si(volts):V}, {rated(1.25 * stall, 'A')} for an instant, inner resistance under {Si(case.winding / 4):ohm}",
             count=people, why="the start takes what the bare winding takes"),
        Item(part="eye protection", rating="safety spectacles", count=people, why="a spinning fan, a drill-driven shaft"),
    ]  # fmt: skip
    return ShoppingList(items)


def rated(least: float, unit: str) -> str:
    """Return the next rating that parts are sold with."""
    return show(preferred_value(Q_(least, unit), "R10", at_least=True))


def _resistors(case: Case, count: int) -> list[Item]:
    switch = case.drive.switch
    if not isinstance(switch, Mosfet):
        known = switch.base_resistor
        rating = "1/4 W, its value by the review" if known is None else f"{show(known)}, 1/4 W"
        return [Item(part="base resistor", rating=rating, count=count, why="sets the current into the base")]
    gate, down = show(case.drive.gate_resistor), show(case.drive.pull_down or Q_("10 kohm"))
    return [
        Item(part="gate resistor", rating=f"{gate}, 1/4 W", count=count, why="keeps the gate's peak current within the pin's rating"),
        Item(part="pull-down resistor", rating=f"{down}, 1/4 W", count=count, why="holds the gate down while the board starts"),
    ]  # fmt: skip


def _switch(case: Case, count: int) -> Item:
    stall, volts = case.bare_current, case.voltage
    if isinstance(case.drive.switch, Mosfet):
        most = 0.05 * volts / stall
        bears = (
            f", which bears {rated(case.pin_voltage / (1 - TIGHT), 'V')} or more"
            if case.pin_voltage > EVERY_GATE
            else ""
        )
        rating = (f"{rated(2 * volts, 'V')} or more, {rated(1.5 * stall, 'A')} or more, "
                  f"at most {Si(most):ohm} at {Si(case.pin_voltage):V} on the gate{bears}")  # fmt: skip
        return Item(
            part="logic-level N-channel MOSFET", rating=rating, count=count, why="loses 5 % of the voltage at the start"
        )
    rating = f"{rated(2 * volts, 'V')} or more, {rated(1.5 * stall, 'A')} or more"
    return Item(part="NPN transistor", rating=rating, count=count, why="carries the starting current")


def _fuse(case: Case, count: int) -> Item:
    run, stall, most = case.running_current, case.bare_current, case.bare_current / MELTS
    if not case.runs:
        return Item(part="cartridge fuse and holder", rating=f"above the running current, below {Si(most):A}, quick", count=count,
                    why="the running current is not known: give the motor's friction torque, or its load")  # fmt: skip
    if run < most:
        middle = preferred_value(Q_(math.sqrt(run * most), "A"), "R10")
        return Item(part="cartridge fuse and holder", rating=f"{show(middle)}, quick", count=count,
                    why=f"anything between {Si(run):A} and {Si(most):A} holds the run and melts on a stall")  # fmt: skip
    return Item(part="resettable fuse", rating=f"holds {rated(1.1 * run, 'A')}, trips below {Si(stall):A}", count=count,
                why="no cartridge fuse fits between run and stall")  # fmt: skip
