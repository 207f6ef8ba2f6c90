"""The circuit diagram of a drive as it is built, with the way that the current takes."""

from __future__ import annotations

from collections.abc import Iterator

from labkit.errors import PartError
from labkit.figures.picture import Picture, Reading
from labkit.figures.schematic_flow import Flow, flow
from labkit.figures.schematic_parts import (
    BOTTOM,
    BUFFER,
    DIODE,
    GATE,
    MIDDLE,
    MOTOR,
    PIN,
    SUPPLY,
    TOP,
    Places,
    draw,
    ends_of,
    motor_centre,
    places_in,
)
from labkit.figures.schematic_sketch import Point, Sketch
from labkit.parts import DiodePlace, Drive
from labkit.parts._fields import expect
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["schematic"]


def schematic(
    drive: Drive,
    moment: str = "on",
    *,
    current: Quantity | str | None = None,
    speed: Quantity | str | None = None,
    mark: str = "",
) -> Picture:
    """Circuit diagram of *drive* as it is built, with its values and the way that the current takes.

    Symbols as IEC 60617 has them; one arrow says which way the current flows, and how much.
    Faults in ``drive.build``, and parts left out, are drawn as they are.

    Parameters
    ----------
    drive : Drive
    moment : str
        ``"on"``: the switch is closed. ``"off"``: it has just opened. ``"generator"``: it is open and the shaft is
        turned from outside.
    current : Quantity [A], optional
        Of the motor while the switch is closed; what it settles at with its load where not given.
    speed : Quantity [rad/s or rpm], optional
        Of the shaft that is turned; only a generator needs it.
    mark : str
        The place to draw a ring round: supply, fuse, buffer, motor, diode, switch, gate, pull-down or ground.

    Returns
    -------
    Picture
        With its alternative text, its values as readings, and an SVG form.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    The steady current counts in the faults of the build as the review of a design does. The arrow shows the
    conventional current, from + to −.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(schematic(desk_wind_tunnel(), "off").finding)
    The switch has just opened. The winding's 345 mA goes on, the same way through the motor, and now round through \
the diode. The transistor holds 6.40 V.
    """
    expect(drive, Drive, "schematic.drive")
    shown = flow(drive, moment, current, speed)
    places = places_in(drive)
    spots = _spots(drive, places)
    if mark and str(mark) not in spots:
        raise PartError("mark", f"a place of this diagram: {', '.join(spots)}", repr(mark), "Leave it out for none.")
    sketch = Sketch(x=(-0.1, 16.5), y=(-1.0, 9.0))
    draw(sketch, drive, places)
    _draw_current(sketch, shown, places)
    if mark:
        sketch.ring(*spots[mark])
    return sketch.picture(
        subject=_subject(drive, mark),
        finding=shown.finding,
        readings=tuple(_readings(drive, shown)),
    )


def _draw_current(sketch: Sketch, shown: Flow, places: Places) -> None:
    """Draw the band along the loop, and the arrow on it."""
    top, bottom = places.motor
    supply = ((SUPPLY, BOTTOM), (SUPPLY, TOP))
    loops: dict[str, tuple[Point, ...]] = {
        "motor": (*supply, (MOTOR, TOP), (MOTOR, BOTTOM)),
        "short": (*supply, (DIODE, TOP), (DIODE, top), (DIODE, bottom), (MOTOR, bottom), (MOTOR, BOTTOM)),
        "diode": ((DIODE, top), (MOTOR, top), (MOTOR, bottom), (DIODE, bottom)),
        "pin": ((PIN, top), (MOTOR, top), (MOTOR, bottom), (PIN, bottom)),
    }
    if not shown.loop:
        return
    loop = loops[shown.loop]
    sketch.live(*loop, loop[0])
    # one place for all loops of a drive, so that two diagrams can be compared: ahead of the motor, or of the diode
    height = top if shown.loop in {"diode", "pin"} else TOP
    ends = {"pin": (4.0, 5.5), "short": (11.2, 9.9)}.get(shown.loop, (8.95, 7.5))
    start, end = (ends[1], ends[0]) if shown.out_of_motor else ends
    sketch.arrow((start, height), (end, height), show(shown.current))


def _spots(drive: Drive, places: Places) -> dict[str, tuple[Point, float, float]]:
    """Return where a ring may be drawn, by name: its centre, width and height."""
    build = drive.build
    across = places.motor if build.diode_place is DiodePlace.MOTOR or build.motor_on_pin else places.switch
    spots = {
        "motor": ((MOTOR, motor_centre(drive, places)), 1.35, 1.35),  # within its words and its sign
        "pin": ((PIN, MIDDLE if build.motor_on_pin else places.gate), 0.9, 0.9),
        "diode": ((DIODE, sum(across) / 2), 1.5, 1.5),
    }
    if build.motor_on_pin:
        return spots
    spots |= {
        "switch": ((MOTOR, places.drain - 1.25), 2.2, 2.8),
        "gate": (((PIN + GATE) / 2, places.gate), 1.5, 0.9),
        "pull-down": ((GATE, places.gate / 2), 1.0, 1.6),
        "ground": (((GATE + MOTOR) / 2, BOTTOM), 1.9, 0.9),
        "supply": ((SUPPLY, 1.8), 1.4, 1.4),
        "fuse": (((BUFFER + SUPPLY) / 2, TOP), 1.7, 0.9),  # or where one should sit
    }
    if drive.supply.capacitance is not None:
        spots["buffer"] = ((BUFFER, 4.0), 1.2, 1.2)
    return spots


def _subject(drive: Drive, mark: str) -> str:
    build = drive.build
    marked = f" Marked: the {mark}." if mark else ""
    if build.motor_on_pin:
        return f"Circuit diagram of a motor that hangs on the board's pin, without a transistor.{marked}"
    kind = type(drive.switch).__name__.replace("Mosfet", "MOSFET").replace("Bipolar", "bipolar transistor")
    if drive.diode is None:
        diode = "no freewheel diode"
    else:
        way = ", the wrong way round" if build.diode_reversed else ""
        diode = f"a diode {build.diode_place.value}{way}"
    ends = ends_of(drive.switch)
    extras = [
        ("no pull-down", drive.pull_down is None),
        ("no common ground", not build.common_ground),
        (f"{ends[0]} and {ends[1]} swapped", build.drain_source_swapped),
    ]
    said = "".join(f", {words}" for words, is_so in extras if is_so)
    return (
        f"Circuit diagram: a supply of {show(drive.supply.voltage)}, a motor with a {kind} on the {build.side.value} "
        f"of it, {diode}{said}.{marked}"
    )


def _readings(drive: Drive, shown: Flow) -> Iterator[Reading]:
    """Yield the current shown and the values of the parts drawn."""
    if shown.loop:
        yield Reading("Current of the arrow", shown.current)
    build, supply, motor = drive.build, drive.supply, drive.motor
    values: dict[str, Quantity | None] = {
        "Pin, high": drive.pin.high_level,
        "Motor: resistance": motor.resistance,
        "Motor: constant k": motor.emf_constant,
        "Motor: inductance": motor.inductance,
        "Leads": drive.wiring if drive.wiring.magnitude else None,
        "Resistor in series": build.series_resistor,
        "Capacitor across the motor": build.motor_capacitor,
        "Diode: forward voltage": None if drive.diode is None else drive.diode.forward_voltage,
    }
    if not build.motor_on_pin:
        values |= {
            "Supply, nothing connected": supply.voltage,
            "Supply: inside": supply.internal_resistance,
            "Buffer capacitor": supply.capacitance,
            "Fuse": None if build.fuse is None else build.fuse.rating,
            "Resistor at the gate": drive.gate_resistor,
            "Pull-down": drive.pull_down,
            "Shared lead": build.shared_return if build.shared_return.magnitude else None,
        }
    yield from (Reading(name, value) for name, value in values.items() if value is not None)
