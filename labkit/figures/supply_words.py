"""What a start does to the supply, in words and numbers."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.figures.picture import Reading, Table
from labkit.simulation import BoardSupply, MotorStart
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["SHARED", "STAR", "UNJOINED", "SupplyRun", "finding", "readings", "tables"]

#: How the grounds of board and motor may meet.
STAR, SHARED, UNJOINED = "each its own lead", "one shared lead", "not joined"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SupplyRun:
    """What the picture is drawn from."""

    supply_voltage: Quantity
    internal_resistance: Quantity
    brown_out: Quantity
    #: One of ``STAR``, ``SHARED`` and ``UNJOINED``.
    ground: str
    #: Of the lead in which the motor's current returns.
    lead: Quantity
    #: Behind a diode at the board; ``None`` where there is none.
    buffer: Quantity | None
    board_current: Quantity
    start: MotorStart
    board: BoardSupply


def finding(run: SupplyRun) -> str:
    """Return what the picture shows, in words."""
    if run.ground == UNJOINED:
        return (
            f"The grounds are not joined, so the gate's voltage counts from nothing and no current flows that could be "
            f"relied on; the {show(run.supply_voltage)} stay at the battery. Join the two negatives, under 1 Ω, with "
            "the supplies off."
        )
    start, board = run.start, run.board
    sag = (
        f"At its start the motor draws {show(start.current.max())}, and the battery sags from "
        f"{show(run.supply_voltage)} to {show(start.supply_voltage.min())}."
    )
    shift = (
        f" The shared lead lifts the board's ground by up to {show(board.largest_shift)}."
        if run.ground == SHARED
        else " The board's ground stays where it is."
    )
    left = f" The board is left with {show(board.lowest_voltage)}"
    if board.reset_time is None:
        return f"{sag}{shift}{left}, and runs on."
    return f"{sag}{shift}{left}: below {show(run.brown_out)}, so it resets, {show(board.reset_time)} after the start."


def readings(run: SupplyRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    start, board = run.start, run.board
    shown = [
        Reading("Battery, nothing connected", run.supply_voltage),
        Reading("Battery's own resistance", run.internal_resistance),
        Reading("Motor's largest current", start.current.max()),
        Reading("Lowest voltage at the battery", start.supply_voltage.min()),
        Reading("Speed at the end", start.speed[-1], "rpm"),
        Reading("The board resets below", run.brown_out),
    ]
    if run.ground != UNJOINED:
        shown += [
            Reading("Largest shift of the board's ground", board.largest_shift),
            Reading("Lowest voltage at the board", board.lowest_voltage),
        ]
    if board.reset_time is not None:
        shown.append(Reading("The board resets after", board.reset_time))
    return tuple(shown)


def tables(run: SupplyRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    columns = (
        ("time", run.start.time, "ms"),
        ("motor current", run.start.current, "A"),
        ("battery", run.start.supply_voltage, "V"),
        ("board", run.board.voltage, "V"),
        ("ground shift", run.board.ground_shift, "mV"),
    )
    return (Table("From the start on", columns),)
