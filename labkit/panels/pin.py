"""The panel on what a pin can give."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cache

import numpy as np

from labkit.figures.pin import PinChart, PinRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import HOLD
from labkit.panels.working import note, worked
from labkit.parts import Led, Load, Pin, desk_wind_tunnel
from labkit.simulation import PinLoad, operating_point, pin_point
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["PinState", "pin_panel", "pin_run"]

LED, GATE = "a red LED and the resistor", "a gate and the resistor"
HELD, FREE = "a motor, held still", "a motor, free"
_RESISTORS = (0, 10, 22, 33, 47, 68, 100, 120, 150, 180, 220, 270, 330, 470, 680, 1000)
#: Of the pin's level: the load's own line goes on beyond it.
_LEVELS = np.linspace(0.0, 3.0, 121)
_PRESETS: dict[str, dict[str, object]] = {
    "Motor stalled": {"load": HELD},
    "Motor free": {"load": FREE},
    "3.3 V pin": {"high_level": Q_(3.3, "V"), "rated": Q_(20.0, "mA"), "damage_limit": Q_(40.0, "mA")},
    "Weak pin": {"high_level": Q_(3.3, "V"), "rated": Q_(4.0, "mA"), "damage_limit": Q_(12.0, "mA")},
}


@dataclass(frozen=True, kw_only=True, slots=True)
class PinState:
    """What the panel is set to."""

    load: str = LED
    resistor: Quantity = Q_(150.0, "ohm")
    winding: Quantity = Q_(2.8, "ohm")
    high_level: Quantity = Q_(3.3, "V")
    output_resistance: Quantity = Q_(40.0, "ohm")
    rated: Quantity = Q_(20.0, "mA")
    damage_limit: Quantity = Q_(40.0, "mA")


def pin_run(state: PinState) -> PinRun:
    """Return all that the picture shows at *state*."""
    pin = Pin(high_level=state.high_level, output_resistance=state.output_resistance, current_limit=state.rated)
    load, shaft = _hung(state)
    return PinRun(
        load=_words(state),
        pin=pin,
        damage_limit=state.damage_limit,
        point=pin_point(pin, load, shaft=shaft),
        short=pin_point(pin, "0 ohm").current,
        line=pin_point(pin, load, shaft=shaft, level=state.high_level * _LEVELS),
        needed=_free_current() if state.load == FREE else None,
    )


def _hung(state: PinState) -> tuple[PinLoad, Load | None]:
    """Return what hangs on the pin, and what is on its shaft if it is a motor."""
    if state.load == LED:
        return Led(series_resistance=state.resistor), None
    if state.load == GATE:
        return state.resistor, None  # an empty gate is a short for the first moment
    return _MOTORS(state), HOLD if state.load == HELD else None


_MOTORS = Kept(lambda state: dataclasses.replace(desk_wind_tunnel().motor, resistance=state.winding), "winding")


@cache
def _free_current() -> Quantity:
    """Return what the tunnel's motor draws while it turns with nothing on its shaft, at any voltage that turns it."""
    return operating_point(desk_wind_tunnel().motor, "6 V").current


def _words(state: PinState) -> str:
    through = f"through {show(state.resistor)}" if state.resistor.magnitude else "without a resistor"
    return {
        LED: f"a red LED {through}",
        GATE: f"an empty gate, for the first moment, {through}",
        HELD: f"a held motor of {show(state.winding)}",
        FREE: f"a free motor of {show(state.winding)}",
    }[state.load]


def pin_panel(*, after: Prediction | None = None) -> Panel[PinState]:
    """Return the panel: hang something on a pin, see current, voltage and heat, and the limits.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = pin_panel()
    >>> panel.presets.press("Motor stalled")
    >>> print(panel.image.finding.split(".")[0])
    With a held motor of 2
    """
    chart, start = PinChart(), PinState()
    return Panel(
        start,
        controls={
            "load": Choice("On the pin", [LED, GATE, HELD, FREE], start.load),
            "resistor": QuantitySlider("The resistor", _RESISTORS, "ohm", start.resistor, page=3),
            "winding": QuantitySlider("The motor's winding", stops(1, 30, 0.2), "ohm", start.winding),
            "high_level": QuantitySlider("Pin, nothing connected", stops(1.8, 5, 0.1), "V", start.high_level),
            "output_resistance": QuantitySlider(
                "Pin's own resistance", stops(5, 200, 5), "ohm", start.output_resistance
            ),
            "rated": QuantitySlider("Rated current of the pin", stops(2, 40, 1), "mA", start.rated),
            "damage_limit": QuantitySlider("Its damage limit", stops(5, 60, 1), "mA", start.damage_limit),
        },
        presets=_PRESETS,
        chart=chart,
        run=pin_run,
        working=_working,
        idle=lambda state: ("winding",) if state.load in (LED, GATE) else ("resistor",),
        after=after,
    )


def _working(state: PinState) -> str:
    pin = {"high_level": state.high_level, "output_resistance": state.output_resistance}
    lost = worked(
        "power from current and resistance", current=pin_run(state).point.current, resistance=state.output_resistance
    )
    heat = note("The heat inside the chip, by the pin's own resistance:") + lost
    if state.load == LED:
        led = {"led_voltage": Led().forward_voltage, "led_slope_resistance": state.resistor}
        straight = note("The picture uses the LED's real curve, so its current differs a little from this line.")
        return worked("LED on a pin", **led, **pin) + straight + heat
    if state.load == GATE:
        return worked("peak gate current", gate_resistor=state.resistor, **pin) + heat
    divided = {"voltage": state.high_level, "resistance": state.output_resistance, "other_resistance": state.winding}
    held = worked("motor on a pin", resistance=state.winding, **pin) + worked("voltage divider", **divided)
    if state.load == HELD:
        return held + heat
    motor = desk_wind_tunnel().motor
    free = worked("no-load current", friction_torque=motor.friction_torque, emf_constant=motor.emf_constant)
    return free + note("It is the least that turns it. What the pin gives before anything turns:") + held + heat
