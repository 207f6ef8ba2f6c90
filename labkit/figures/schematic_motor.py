"""The circuit diagram of a motor straight on a source: on its cells, or on a pin, where it does not belong."""

from __future__ import annotations

from labkit.figures.picture import Picture, Reading
from labkit.figures.schematic_sketch import Point, Sketch
from labkit.parts import Load, Motor, Pin, Supply
from labkit.simulation import OnSupply, motor_on_supply
from labkit.writing import rpm_beside, show

__all__ = ["motor_schematic"]

#: Where things stand: the columns of source and motor, and the heights of the wires and of the source's inner joint.
_SOURCE, _MOTOR, _TOP, _JOINT, _BOTTOM = 3.2, 8.4, 4.6, 2.0, 0.0
_MIDDLE = (_TOP + _BOTTOM) / 2


def motor_schematic(source: Supply | Pin, motor: Motor, load: Load | None = None) -> Picture:
    """Circuit diagram of a motor straight on its cells or on a pin, with the way that the current takes.

    Parameters
    ----------
    source : Supply or Pin
    motor : Motor
    load : Load, optional
        Nothing on the shaft where not given.

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
    Voltages and current are those of ``motor_on_supply``: a pin is a source with a resistance too.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> tunnel = desk_wind_tunnel()
    >>> print(motor_schematic(tunnel.supply, tunnel.motor, tunnel.load).finding)
    346 mA flows out of the supply, through the motor and back. 208 mV stay inside the supply, \
5.79 V are at the motor. It turns at 893 rad/s (8530 rpm), and its generator EMF takes 4.82 V of that.
    """
    name, feeding = ("pin", _as_supply(source)) if isinstance(source, Pin) else ("supply", source)
    settled = motor_on_supply(feeding, motor, load)
    sketch = Sketch(x=(0.0, 12.4), y=(-0.9, 5.9))
    if isinstance(source, Pin):
        sketch.box((0.5, -0.5), 3.5, 5.6)
        sketch.words((0.75, 4.75), "board", grey=True)
        sketch.terminal((4.0, _TOP), (4.0, _BOTTOM))
        sketch.words((4.15, _TOP - 0.35), "pin", grey=True)
        sketch.words((4.15, _BOTTOM + 0.35), "0 V", grey=True)
    _draw_source(sketch, name, feeding)
    _draw_motor(sketch, motor, settled)
    corners: tuple[Point, ...] = ((_SOURCE, _BOTTOM), (_SOURCE, _TOP), (_MOTOR, _TOP), (_MOTOR, _BOTTOM))
    sketch.live(*corners, corners[0])
    sketch.arrow((5.2, _TOP), (6.8, _TOP), show(settled.point.current))
    return sketch.picture(
        subject=f"Circuit diagram: a motor straight on a {name}, with nothing between them.",
        finding=_finding(name, feeding, settled),
        readings=(
            Reading(f"{name.capitalize()}, nothing connected", feeding.voltage),
            Reading(f"Resistance inside the {name}", feeding.internal_resistance),
            Reading("Motor: resistance", motor.resistance),
            Reading("Current", settled.point.current),
            Reading("Voltage at the motor", settled.voltage),
            Reading("Generator EMF", settled.point.emf),
            Reading("Speed", settled.point.speed, "rpm"),
        ),
    )


def _as_supply(pin: Pin) -> Supply:
    return Supply(voltage=pin.high_level, internal_resistance=pin.output_resistance)


def _draw_source(sketch: Sketch, name: str, source: Supply) -> None:
    sketch.between("Battery", (_SOURCE, _JOINT), (_SOURCE, _BOTTOM))
    sketch.between("ResistorIEC", (_SOURCE, _TOP), (_SOURCE, _JOINT))
    sketch.words((_SOURCE - 0.65, 1.0), f"{name}\n{show(source.voltage)}", side="right")
    sketch.words((_SOURCE - 0.45, 3.3), f"inside\n{show(source.internal_resistance)}", side="right")
    sketch.words((_SOURCE + 0.35, 1.55), "+", fontsize=10)


def _draw_motor(sketch: Sketch, motor: Motor, settled: OnSupply) -> None:
    point = settled.point
    sketch.wire((_SOURCE, _TOP), (_MOTOR, _TOP))
    sketch.wire((_SOURCE, _BOTTOM), (_MOTOR, _BOTTOM))
    sketch.motor((_MOTOR, _TOP), (_MOTOR, _BOTTOM))
    sketch.words((_MOTOR - 0.35, _MIDDLE + 0.75), "+", side="right", fontsize=10)
    turning = f"{show(point.speed, 'rpm')}\nEMF {show(point.emf)}" if point.turning else "stands still\nno EMF"
    sketch.words(
        (_MOTOR + 0.75, _MIDDLE), f"motor {show(motor.resistance)}\n{turning}\n{show(settled.voltage)} across it"
    )


def _finding(name: str, source: Supply, settled: OnSupply) -> str:
    point = settled.point
    lost = show(source.voltage - settled.voltage)
    told = (
        f"{show(point.current)} flows out of the {name}, through the motor and back. {lost} stay inside the {name}, "
        f"{show(settled.voltage)} are at the motor. "
    )
    if not point.turning:
        return told + "It stands still, so there is no generator EMF: nothing but resistance limits the current."
    return told + f"It turns at {rpm_beside(point.speed)}, and its generator EMF takes {show(point.emf)} of that."
