"""The circuit diagram of a motor whose shaft is turned, with what hangs on its terminals."""

from __future__ import annotations

from labkit.figures.picture import Picture, Reading
from labkit.figures.schematic_sketch import Point, Sketch
from labkit.parts import Led, Motor
from labkit.simulation import GeneratorPoint, generator_point
from labkit.units import Quantity, absolute, parse_quantity
from labkit.writing import rpm_beside, show

__all__ = ["generator_schematic"]

#: Where things stand: the columns of motor and load, and the two wires.
_MOTOR, _LOAD, _TOP, _BOTTOM = 3.6, 8.0, 3.6, 0.0
_MIDDLE = (_TOP + _BOTTOM) / 2
#: Below this the arrow would point out a leakage [A].
_LEAST = 1e-6


def generator_schematic(motor: Motor, speed: Quantity | str, load: Quantity | str | Led | None = None) -> Picture:
    """Circuit diagram of a turned motor and its load, with the way that the current takes.

    Parameters
    ----------
    motor : Motor
    speed : Quantity [rad/s or rpm]
        Negative backwards.
    load : Quantity [ohm], Led or None
        A resistor, an LED with its anode at the + terminal, or a voltmeter alone.

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
    Voltages and current are those of ``generator_point``.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(generator_schematic(desk_wind_tunnel().motor, "4000 rpm", "10 ohm").finding)
    Turned at 419 rad/s (4000 rpm) the motor generates 2.26 V, + at its upper terminal. 177 mA flows out of it and \
through the load, which has 1.77 V across it.
    """
    given = parse_quantity(load) if isinstance(load, str) else load
    point = generator_point(motor, speed, given)
    sketch = Sketch(x=(0.0, 12.0), y=(-0.8, 4.8))
    turning = rpm_beside(point.speed).replace(" (", "\n(")
    sketch.motor((_MOTOR, _TOP), (_MOTOR, _BOTTOM))
    sketch.words((_MOTOR - 0.75, _MIDDLE), f"motor\n{show(motor.resistance)}\n{turning}", side="right")
    sketch.words((_MOTOR - 0.3, _MIDDLE + 0.75), "+" if point.emf.magnitude >= 0 else "−", side="right", fontsize=10)
    sketch.words((_MOTOR + 0.7, _MIDDLE), f"EMF\n{show(absolute(point.emf))}")
    sketch.wire((_MOTOR, _TOP), (_LOAD, _TOP))
    sketch.wire((_MOTOR, _BOTTOM), (_LOAD, _BOTTOM))
    _draw_load(sketch, given, point)
    amps = absolute(point.current)
    if amps.m_as("A") > _LEAST:
        corners: tuple[Point, ...] = ((_MOTOR, _BOTTOM), (_MOTOR, _TOP), (_LOAD, _TOP), (_LOAD, _BOTTOM))
        sketch.live(*corners, corners[0])
        ends = ((5.0, _TOP), (6.6, _TOP))
        sketch.arrow(*(ends if point.current.magnitude > 0 else ends[::-1]), show(amps))
    return sketch.picture(
        subject=f"Circuit diagram: a motor whose shaft is turned, with {_name(given)} across its terminals.",
        finding=_finding(point),
        readings=(
            Reading("Speed", point.speed, "rpm"),
            Reading("Generator EMF", point.emf),
            Reading("Motor: resistance", motor.resistance),
            Reading("Current out of the + terminal", point.current),
            Reading("Voltage at the terminals", point.terminal_voltage),
        ),
    )


def _draw_load(sketch: Sketch, load: Quantity | Led | None, point: GeneratorPoint) -> None:
    top, bottom = (_LOAD, _TOP), (_LOAD, _BOTTOM)
    across = f"{show(point.terminal_voltage)} across it"
    if load is None:
        sketch.between("MeterV", top, bottom)
        sketch.words((_LOAD + 0.85, _MIDDLE), f"meter reads\n{show(point.terminal_voltage)}")
    elif isinstance(load, Led):
        at = (_LOAD, _MIDDLE)
        sketch.between("ResistorIEC", top, at)
        sketch.words((_LOAD + 0.45, (_TOP + _MIDDLE) / 2), show(load.series_resistance))
        sketch.between("LED", at, bottom, fill=True)
        sketch.words((_LOAD + 0.95, _MIDDLE / 2), f"LED {show(load.forward_voltage)}")
    else:
        sketch.between("ResistorIEC", top, bottom)
        sketch.words((_LOAD + 0.45, _MIDDLE), f"{show(load)}\n{across}")


def _name(load: Quantity | Led | None) -> str:
    if load is None:
        return "only a voltmeter"
    return f"an LED and {show(load.series_resistance)}" if isinstance(load, Led) else f"a resistor of {show(load)}"


def _finding(point: GeneratorPoint) -> str:
    if point.emf.magnitude == 0:
        return "The shaft stands still, so there is no generator EMF and no current."
    end = "upper" if point.emf.magnitude > 0 else "lower"
    told = (
        f"Turned at {rpm_beside(point.speed)} the motor generates {show(absolute(point.emf))}, + at its {end} terminal."
    )
    if abs(point.current.m_as("A")) <= _LEAST:
        return f"{told} No current flows, and the terminals show all of it."
    volts = show(absolute(point.terminal_voltage))
    return f"{told} {show(absolute(point.current))} flows out of it and through the load, which has {volts} across it."
