"""The panel on the transistor as a switch."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.figures.switch import SwitchChart
from labkit.figures.switch_words import SwitchRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.dissipation import HIGH_GATE_PART
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES
from labkit.panels.working import note, worked
from labkit.parts import Bipolar, Drive, Mosfet, Supply, desk_wind_tunnel
from labkit.simulation import SwitchedLoad, floating_load, on_resistance, switched_load
from labkit.units import Q_, Quantity

__all__ = ["SwitchState", "switch_panel", "switch_run"]

LOW_GATE, HIGH_GATE, BIPOLAR = "MOSFET for 3.3 V gates", "MOSFET for 10 V gates", "bipolar"
HIGH, LOW, FLOATING = "high", "low", "not set yet"
LEFT_OUT = "left out"
RESISTOR, MOTOR = "a resistor of 10 Ω", "the motor, held still"
_PULL_DOWNS = {"1 kΩ": Q_(1.0, "kohm"), "10 kΩ": Q_(10.0, "kohm"), "100 kΩ": Q_(100.0, "kohm"), LEFT_OUT: None}
_RESISTORS = (10.0, 22.0, 47.0, 68.0, 100.0, 150.0, 180.0, 220.0, 330.0, 470.0, 680.0, 1e3, 2.2e3, 4.7e3, 1e4)
_LEVELS = Q_(np.linspace(0.0, 5.0, 126), "V")


@dataclass(frozen=True, kw_only=True, slots=True)
class SwitchState:
    """What the panel is set to."""

    transistor: str = LOW_GATE
    pin: str = HIGH
    #: The pin's voltage when it is high and gives nothing.
    level: Quantity = Q_(3.3, "V")
    #: Between pin and gate, or pin and base.
    resistor: Quantity = Q_(150.0, "ohm")
    pull_down: str = "10 kΩ"
    load: str = RESISTOR
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")


def switch_run(state: SwitchState) -> SwitchRun:
    """Return all that the picture shows at *state*, for the desk wind tunnel."""
    drive, sweep = _SETTINGS(state)
    load = _load(state.load)
    level = {HIGH: state.level, LOW: Q_(0.0, "V"), FLOATING: None}[state.pin]
    limit = drive.pin.current_limit
    assert limit is not None  # noqa: S101 (for the type checker: it is the tunnel's)
    return SwitchRun(
        bipolar=state.transistor == BIPOLAR,
        is_motor=state.load == MOTOR,
        load=load,
        resistor=state.resistor,
        pull_down=_PULL_DOWNS[state.pull_down],
        pin=state.pin,
        level=level,
        pin_limit=limit,
        supply_voltage=state.battery_voltage,
        now=floating_load(drive, load) if level is None else switched_load(drive, load, level),
        sweep=sweep,
        levels=_LEVELS,
    )


def _load(name: str) -> Quantity:
    return desk_wind_tunnel().motor.resistance if name == MOTOR else Q_(10.0, "ohm")


class _Setting(NamedTuple):
    """What does not change while only the pin's level is moved."""

    drive: Drive
    #: The load at each of the levels.
    sweep: SwitchedLoad


def _setting(state: SwitchState) -> _Setting:
    tunnel = desk_wind_tunnel()
    part: Mosfet | Bipolar = {
        LOW_GATE: tunnel.switch,
        HIGH_GATE: HIGH_GATE_PART,
        BIPOLAR: Bipolar(base_resistor=state.resistor),
    }[state.transistor]
    drive = dataclasses.replace(
        tunnel,
        supply=Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance),
        switch=part,
        gate_resistor=state.resistor,
        pull_down=_PULL_DOWNS[state.pull_down],
    )
    return _Setting(drive, switched_load(drive, _load(state.load), _LEVELS))


_SETTINGS = Kept(
    _setting, "transistor", "resistor", "pull_down", "load", "battery_voltage", "battery_resistance"
)  # fmt: skip


def switch_panel(*, after: Prediction | None = None) -> Panel[SwitchState]:
    """Return the panel: choose pin level, transistor, gate resistor and pull-down; see who decides the current.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = switch_panel()
    >>> panel.presets.press("Stalled")
    >>> print(panel.image.finding.split(",")[0])
    With 3.24 V at its gate the transistor is a closed switch: 1.74 A flows
    """
    chart, start = SwitchChart(), SwitchState()
    return Panel(
        start,
        controls={
            "transistor": Choice("Transistor", [LOW_GATE, HIGH_GATE, BIPOLAR], start.transistor),
            "pin": Choice("The pin is", [HIGH, LOW, FLOATING], start.pin),
            "level": QuantitySlider("Pin's high level", stops(1.8, 5, 0.1), "V", start.level),
            "resistor": QuantitySlider("Resistor at the pin", _RESISTORS, "ohm", start.resistor, page=3, prefixed=True),
            "pull_down": Choice("Pull-down at the gate", list(_PULL_DOWNS), start.pull_down),
            "load": Choice("Switched", [RESISTOR, MOTOR], start.load),
        },
        presets={
            "Resistor first": {"load": RESISTOR},
            "Stalled": {"load": MOTOR},
            **BATTERIES,
            "Board starting": {"pin": FLOATING},
        },
        chart=chart,
        run=switch_run,
        working=_working,
        idle=_idle,
        after=after,
    )


def _idle(state: SwitchState) -> tuple[str, ...]:
    """Return what plays no part: the level of a pin that is not high, the pull-down of a base."""
    return (*(() if state.pin == HIGH else ("level",)), *(("pull_down",) if state.transistor == BIPOLAR else ()))


def _working(state: SwitchState) -> str:
    drive, load = _SETTINGS(state).drive, _load(state.load)
    pin = {"output_resistance": drive.pin.output_resistance}
    if state.pin == LOW:
        return note("A pin that is low puts 0 V on the transistor: it is off, and nothing flows.")
    if state.pin == FLOATING:
        if drive.pull_down is None or state.transistor == BIPOLAR:
            return note("A pin that is no output yet gives next to nothing, whatever the transistor is.")
        return note(
            "Only the pin's leakage flows through the pull-down. The largest that keeps the transistor off:"
        ) + worked("pull-down for a leakage", threshold=_threshold(drive), leakage_current=drive.pin.leakage)
    if state.transistor == BIPOLAR:
        wanted = switched_load(drive, load, state.level).allowed_current
        base = {"base_emitter_voltage": Q_(0.7, "V"), "high_level": state.level, "gain": 10.0, "current": wanted}
        return note("Turned round: the base resistor, the pin's own with it, that this current needs.") + worked(
            "base resistor", **base
        )
    gate = switched_load(drive, load, state.level).gate_voltage
    asked = {
        "supply_voltage": state.battery_voltage,
        "internal_resistance": state.battery_resistance,
        "resistance": load,
    }
    driven = {"high_level": state.level, "gate_resistor": state.resistor, **pin}
    shown = [worked("peak gate current", **driven)]
    if drive.pull_down is not None:
        shown.append(worked("gate voltage with a pull-down", pull_down=drive.pull_down, **driven))
    ohms = on_resistance(_mosfet(drive), gate)
    if np.isfinite(ohms.magnitude):
        shown.append(note("With the on-resistance that the transistor has at this gate voltage:"))
        shown.append(worked("starting current with the source's resistance", on_resistance=ohms, **asked))
    return "".join(shown)


def _mosfet(drive: Drive) -> Mosfet:
    assert isinstance(drive.switch, Mosfet)  # noqa: S101 (for the type checker)
    return drive.switch


def _threshold(drive: Drive) -> Quantity | None:
    return _mosfet(drive).threshold
