"""The parts of a drive's circuit diagram, each drawn where it stands and as it is built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from labkit.figures.schematic_sketch import Sketch
from labkit.parts import Bipolar, DiodePlace, Drive, Mosfet, PullDownPlace, Side
from labkit.units import Quantity
from labkit.writing import show

__all__ = [
    "BOTTOM",
    "BUFFER",
    "DIODE",
    "GATE",
    "MIDDLE",
    "MOTOR",
    "PIN",
    "SUPPLY",
    "TOP",
    "Places",
    "draw",
    "ends_of",
    "motor_centre",
    "places_in",
]

#: Where things stand: the columns from left to right, and the rails.
PIN, GATE, MOTOR, DIODE, BUFFER, SUPPLY = 2.2, 3.9, 7.0, 9.4, 11.7, 14.2
TOP, MIDDLE, BOTTOM = 8.0, 4.6, 0.0
#: Each resistor in the motor's lead takes so much of its column.
_BODY = 1.15


@dataclass(frozen=True, kw_only=True, slots=True)
class Places:
    """Upper and lower end of the motor and of the transistor, and where the gate's lead runs."""

    motor: tuple[float, float]
    switch: tuple[float, float]

    @property
    def drain(self) -> float:
        """Height of the transistor's upper end."""
        return self.switch[0] - 0.6

    @property
    def gate(self) -> float:
        """Height of the gate's lead."""
        return self.drain - 1.75


def places_in(drive: Drive) -> Places:
    """Return which of motor and transistor stands above the other."""
    upper, lower = (TOP, MIDDLE), (MIDDLE, BOTTOM)
    if drive.build.side is Side.HIGH or drive.build.motor_on_pin:
        return Places(motor=lower, switch=upper)
    return Places(motor=upper, switch=lower)


def draw(sketch: Sketch, drive: Drive, places: Places) -> None:
    """Draw all of *drive*, as it is built."""
    if drive.build.motor_on_pin:
        _draw_motor_on_pin(sketch, drive, places)
        return
    _draw_supply(sketch, drive)
    _draw_motor(sketch, drive, *places.motor)
    across = places.motor if drive.build.diode_place is DiodePlace.MOTOR else places.switch
    _draw_diode(sketch, drive, *across)
    _draw_switch(sketch, drive, places)
    _draw_gate(sketch, drive, places)
    sketch.wire((MOTOR, TOP), (DIODE, TOP))
    sketch.dot((MOTOR, MIDDLE))
    if drive.build.common_ground:
        sketch.dot((MOTOR, BOTTOM))
    if drive.diode is not None:
        sketch.dot((DIODE, TOP if across[0] == TOP else BOTTOM))


def _draw_supply(sketch: Sketch, drive: Drive) -> None:
    """Draw battery, its inner resistance, the buffer capacitor and the fuse."""
    supply, fuse, shared = drive.supply, drive.build.fuse, drive.build.shared_return
    sketch.between("Battery", (SUPPLY, 3.6), (SUPPLY, BOTTOM))
    sketch.between("ResistorIEC", (SUPPLY, TOP), (SUPPLY, 3.6))
    sketch.words((SUPPLY + 0.65, 2.2), f"supply\n{show(supply.voltage)}")
    sketch.words((SUPPLY + 0.45, 5.8), f"inside\n{show(supply.internal_resistance)}")
    sketch.words((SUPPLY - 0.35, 2.75), "+", side="right", fontsize=10)
    if fuse is None:
        sketch.wire((DIODE, TOP), (SUPPLY, TOP))
    else:
        sketch.between("FuseIEC", (BUFFER, TOP), (SUPPLY, TOP))
        sketch.wire((DIODE, TOP), (BUFFER, TOP))
        sketch.words(((BUFFER + SUPPLY) / 2, TOP + 0.75), f"fuse {show(fuse.rating)}", side="center")
    if supply.capacitance is not None:
        sketch.between("Capacitor", (BUFFER, TOP), (BUFFER, BOTTOM))
        sketch.dot((BUFFER, TOP), (BUFFER, BOTTOM))
        sketch.words((BUFFER + 0.75, 4.0), f"buffer\n{show(supply.capacitance)}")
    if shared.magnitude:
        sketch.between("ResistorIEC", (MOTOR, BOTTOM), (BUFFER, BOTTOM))
        sketch.words(((MOTOR + BUFFER) / 2, BOTTOM - 0.5), f"shared lead {show(shared)}", side="center")
    else:
        sketch.wire((MOTOR, BOTTOM), (BUFFER, BOTTOM))
    sketch.wire((BUFFER, BOTTOM), (SUPPLY, BOTTOM))


def _ahead(drive: Drive) -> list[tuple[str, Quantity]]:
    """Return the resistors in the motor's lead, by name."""
    both = (("leads", drive.wiring), ("series", drive.build.series_resistor))
    return [(name, ohms) for name, ohms in both if ohms is not None and ohms.magnitude]


def motor_centre(drive: Drive, places: Places) -> float:
    """Return the height of the motor's middle, below the resistors in its lead."""
    top, bottom = places.motor
    return (top - _BODY * len(_ahead(drive)) + bottom) / 2


def _draw_motor(sketch: Sketch, drive: Drive, top: float, bottom: float, column: float = MOTOR) -> None:
    for name, ohms in _ahead(drive):
        sketch.between("ResistorIEC", (column, top), (column, top - _BODY))
        sketch.words((column - 0.4, top - _BODY / 2), f"{name} {show(ohms)}", side="right")
        top -= _BODY
    centre = (top + bottom) / 2
    sketch.motor((column, top), (column, bottom))
    sketch.words((column - 0.3, centre + 0.72), "+", side="right", fontsize=10)
    motor = drive.motor
    values = "\n".join(show(value) for value in (motor.resistance, motor.emf_constant, motor.inductance) if value)
    sketch.words((column - 0.75, centre), f"motor\n{values}", side="right")
    capacitor = drive.build.motor_capacitor
    if capacitor is not None:
        across = column + 1.0
        sketch.wire((column, top), (across, top))
        sketch.between("Capacitor", (across, top), (across, bottom))
        sketch.wire((column, bottom), (across, bottom))
        sketch.words((across + 0.3, centre), show(capacitor), fontsize=7)


def _draw_diode(sketch: Sketch, drive: Drive, top: float, bottom: float, column: float = DIODE) -> None:
    centre = (top + bottom) / 2
    if drive.diode is None:
        sketch.wire((column, top), (column, top - 0.7), style=":")
        sketch.wire((column, bottom), (column, bottom + 0.7), style=":")
        sketch.words((column, centre), "no diode", side="center", grey=True)
    else:
        ends = ((column, top), (column, bottom)) if drive.build.diode_reversed else ((column, bottom), (column, top))
        charge = drive.diode.recovery_charge
        symbol = "Schottky" if charge is not None and charge.magnitude == 0 else "Diode"
        sketch.between(symbol, *ends, fill=True)
        fault = "\nreversed" if drive.build.diode_reversed else ""
        sketch.words((column + 0.85, centre), f"diode\n{show(drive.diode.forward_voltage)}{fault}")
    sketch.wire((MOTOR, bottom), (column, bottom))
    sketch.wire((MOTOR, top), (column, top))


def _draw_switch(sketch: Sketch, drive: Drive, places: Places) -> None:
    """Draw the transistor; swapped, with the end that belongs below at the top."""
    (top, bottom), at = places.switch, (MOTOR, places.drain)
    swapped = drive.build.drain_source_swapped
    ends = ends_of(drive.switch)
    first = ends[1] if swapped else ends[0]
    if isinstance(drive.switch, Mosfet):
        name = f"MOSFET\n{_on_resistance(drive.switch, drive.pin.high_level)}"
        lie = sketch.transistor("NMos", first, at, scale=1.5, flip=swapped, diode=True)
    else:
        name = f"bipolar\n{show(drive.switch.saturation_voltage)} when on"
        lie = sketch.transistor("BjtNpn", first, at, scale=1.6, flip=swapped, circle=True)
    if swapped:
        name = f"{name}\n{ends[0]} and {ends[1]} swapped"
    control, lower = lie[ends[2]], lie[ends[0] if swapped else ends[1]]
    sketch.wire((MOTOR, top), at)
    sketch.wire(tuple(lower), (MOTOR, bottom))
    sketch.wire((GATE, places.gate), (control[0], places.gate), tuple(control))
    sketch.words((5.75, max(places.gate + 0.75, control[1] + 0.15)), name, side="right", va="bottom")


def ends_of(switch: Mosfet | Bipolar) -> tuple[str, str, str]:
    """Return what a transistor's legs are called: the one that belongs above, the one below, and what commands it."""
    return ("drain", "source", "gate") if isinstance(switch, Mosfet) else ("collector", "emitter", "base")


def _on_resistance(switch: Mosfet, level: Quantity) -> str:
    """Return what a MOSFET has when on: its one resistance, or the row of its table at or below the pin's level."""
    given: Any = switch.on_resistance
    if not isinstance(given, tuple):
        return show(given)
    below = [row for row in given if row[0] <= level]
    volts, ohms = below[-1] if below else given[0]
    return f"{show(ohms)} at {show(volts)}"


def _draw_gate(sketch: Sketch, drive: Drive, places: Places) -> None:
    """Draw the board, the resistors at the gate and the common ground."""
    height, at_pin = places.gate, drive.build.pull_down_place is PullDownPlace.PIN
    _draw_board(sketch, drive, height)
    resistor = drive.gate_resistor
    if isinstance(drive.switch, Bipolar) and drive.switch.base_resistor is not None:
        resistor = drive.switch.base_resistor
    down = PIN + 0.5 if at_pin else GATE
    start = down if at_pin else PIN
    sketch.wire((PIN, height), (start, height))
    sketch.between("ResistorIEC", (start, height), (GATE, height))
    sketch.words(((start + GATE) / 2, height + 0.45), show(resistor), side="center")
    if drive.pull_down is None:
        sketch.words((down + 0.1, height - 0.9), "no pull-down", side="center", grey=True)
    else:
        sketch.between("ResistorIEC", (down, height), (down, BOTTOM))
        sketch.dot((down, height), (down, BOTTOM))
        side = "left" if at_pin else "right"
        sketch.words((down + (0.35 if at_pin else -0.35), height / 2), show(drive.pull_down), side=side)
    if drive.build.common_ground:
        sketch.wire((PIN, BOTTOM), (MOTOR, BOTTOM))
    else:
        sketch.wire((PIN, BOTTOM), (GATE, BOTTOM))
        sketch.cross(((GATE + MOTOR) / 2, BOTTOM))
        sketch.words(((GATE + MOTOR) / 2, BOTTOM - 0.75), "no common ground", side="center", grey=True)


def _draw_board(sketch: Sketch, drive: Drive, height: float) -> None:
    sketch.box((0.0, -0.55), PIN, height + 1.2)
    sketch.terminal((PIN, height), (PIN, BOTTOM))
    sketch.words((PIN - 0.25, height), f"pin {show(drive.pin.high_level)}", side="right")
    sketch.words((PIN - 0.25, BOTTOM), "0 V", side="right")
    sketch.words((0.25, height / 2), "board")


def _draw_motor_on_pin(sketch: Sketch, drive: Drive, places: Places) -> None:
    _draw_board(sketch, drive, MIDDLE)
    _draw_motor(sketch, drive, *places.motor)
    sketch.wire((PIN, MIDDLE), (MOTOR, MIDDLE))
    sketch.wire((PIN, BOTTOM), (MOTOR, BOTTOM))
    if drive.diode is not None:
        _draw_diode(sketch, drive, *places.motor)
