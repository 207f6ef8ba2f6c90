"""The panel on generator action."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from labkit.figures.generator import GeneratorChart, GeneratorRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import tunnel_with
from labkit.panels.working import note, worked
from labkit.parts import Led, Motor, desk_wind_tunnel
from labkit.simulation import generator_point, lighting_speed
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["GeneratorState", "generator_panel", "generator_run"]

NOTHING, RESISTOR, LED = "nothing", "a resistor", "a red LED with 47 Ω"
_LED = Led(series_resistance=Q_(47.0, "ohm"))
_SPEEDS = Q_(np.linspace(-9000.0, 9000.0, 181), "rpm")


@dataclass(frozen=True, kw_only=True, slots=True)
class GeneratorState:
    """What the panel is set to."""

    speed: Quantity = Q_(1500.0, "rpm")
    load: str = NOTHING
    resistor: Quantity = Q_(10.0, "ohm")


class _Turned:
    """A motor whose shaft is turned, and what was computed for it lately."""

    def __init__(self, motor: Motor) -> None:
        self.motor, self.lighting_speed = motor, lighting_speed(motor, _LED)
        self.curve = Kept(lambda state: generator_point(motor, _SPEEDS, _load(state)), "load", "resistor")


def _load(state: GeneratorState) -> Quantity | Led | None:
    return {NOTHING: None, RESISTOR: state.resistor, LED: _LED}[state.load]


def generator_run(state: GeneratorState, turned: _Turned | None = None) -> GeneratorRun:
    """Return all that the picture shows at *state*; for the desk wind tunnel's motor where none is given."""
    turned = turned or _Turned(desk_wind_tunnel().motor)
    return GeneratorRun(
        load=f"a resistor of {show(state.resistor)}" if state.load == RESISTOR else state.load,
        lighting_speed=turned.lighting_speed if state.load == LED else None,
        point=generator_point(turned.motor, state.speed, _load(state)),
        curve=turned.curve(state),
    )


def generator_panel(*, after: Prediction | None = None, motor: Motor | None = None) -> Panel[GeneratorState]:
    """Return the panel: turn the shaft either way, load it, see voltage, current, torque and light.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.
    motor : Motor, optional
        In the place of the desk wind tunnel's.

    Examples
    --------
    >>> panel = generator_panel()
    >>> panel.state = GeneratorState(speed=Q_(-3000, "rpm"))
    >>> print(panel.image.finding.split(";")[0])
    At -314 rad/s (-3000 rpm) the generator EMF is -1.70 V
    """
    chart, turned, start = GeneratorChart(), _Turned(tunnel_with(motor).motor), GeneratorState()
    return Panel(
        start,
        controls={
            "speed": QuantitySlider(
                "Speed of the shaft", stops(-9000, 9000, 50), "rpm", start.speed, page=20, digits=4
            ),
            "load": Choice("Connected to the terminals", [NOTHING, RESISTOR, LED], start.load),
            "resistor": QuantitySlider("The resistor", stops(1, 100, 1), "ohm", start.resistor),
        },
        presets={
            "At rest": {"speed": Q_(0.0, "rpm")},
            "Slow drill": {"speed": Q_(1500.0, "rpm")},
            "Blown on": {"speed": Q_(4000.0, "rpm"), "load": LED},
            "Backwards": {"speed": Q_(-4000.0, "rpm"), "load": LED},
        },
        chart=chart,
        run=lambda state: generator_run(state, turned),
        working=lambda state: _working(state, turned.motor),
        idle=lambda state: () if state.load == RESISTOR else ("resistor",),
        after=after,
    )


def _working(state: GeneratorState, motor: Motor) -> str:
    turning = {"emf_constant": motor.emf_constant, "speed": abs(state.speed)}
    shown = [worked("back-EMF", **turning)]
    if state.speed.magnitude < 0:
        shown.append(note("Turned backwards, voltage and current have the other sign."))
    if state.load == RESISTOR:
        loop = {**turning, "resistance": motor.resistance, "load_resistance": state.resistor}
        shown.append(worked("generator current into a resistor", **loop))
        shown.append(worked("torque that a generator costs", friction_torque=motor.friction_torque, **loop))
    elif state.load == LED and state.speed.magnitude > 0:
        led = {"led_voltage": _LED.forward_voltage, "led_slope_resistance": _LED.series_resistance}
        shown.append(worked("generator current into an LED", resistance=motor.resistance, **led, **turning))
        shown.append(note("The picture uses the LED's real curve, so its current differs a little from this line."))
    return "".join(shown)
