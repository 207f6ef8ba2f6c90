"""The panel on supply, ground and wiring."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import cast

import numpy as np

from labkit.figures.supply import SupplyChart
from labkit.figures.supply_words import SHARED, STAR, UNJOINED, SupplyRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, FAN, FREE, HELD, HOLD, battery_sliders
from labkit.panels.working import note, worked
from labkit.parts import Drive, Load, Supply, desk_wind_tunnel
from labkit.simulation import MotorStart, board_supply, gate_drive_voltage, motor_start, on_resistance
from labkit.units import Q_, Quantity

__all__ = ["SupplyState", "supply_panel", "supply_run"]

NO_BUFFER, BUFFER = "none", "behind a diode"
_TIMES = Q_(np.geomspace(1e-5, 3.0, 160), "s")
_FARADS = (1e-5, 2.2e-5, 4.7e-5, 1e-4, 2.2e-4, 4.7e-4, 1e-3, 2.2e-3, 4.7e-3, 1e-2, 2.2e-2)
#: Below which the tunnel's board resets.
_BROWN_OUT = cast("Quantity", desk_wind_tunnel().supply.brown_out)
#: Of a small board that computes and does nothing else (invented).
_BOARD_CURRENT = Q_(50.0, "mA")
_OFF = Q_(np.zeros(_TIMES.magnitude.size), "A")


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyState:
    """What the panel is set to."""

    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    load: str = FAN
    ground: str = STAR
    #: In which the motor's current returns.
    lead: Quantity = Q_(100.0, "mohm")
    buffer: str = NO_BUFFER
    capacitance: Quantity = Q_(1e-3, "F")


def supply_run(state: SupplyState) -> SupplyRun:
    """Return all that the picture shows at *state*, for the desk wind tunnel."""
    start = _STARTS(state)
    if state.ground == UNJOINED:
        start = _no_start(start, state.battery_voltage)
    buffer = state.capacitance if state.buffer == BUFFER and state.ground != UNJOINED else None
    return SupplyRun(
        supply_voltage=state.battery_voltage,
        internal_resistance=state.battery_resistance,
        brown_out=_BROWN_OUT,
        ground=state.ground,
        lead=state.lead,
        buffer=buffer,
        board_current=_BOARD_CURRENT,
        start=start,
        board=board_supply(
            start,
            brown_out=_BROWN_OUT,
            shares_lead=state.ground == SHARED,
            capacitance=buffer,
            board_current=_BOARD_CURRENT,
        ),
    )


def _drive(state: SupplyState) -> Drive:
    tunnel = desk_wind_tunnel()
    supply = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
    return dataclasses.replace(tunnel, supply=supply, load={FAN: tunnel.load, FREE: Load(), HELD: HOLD}[state.load])


#: The start, which stays while only grounds and buffer change.
_STARTS = Kept(
    lambda state: motor_start(_drive(state), _TIMES, board_current=_BOARD_CURRENT, ground_lead=state.lead),
    "battery_voltage", "battery_resistance", "load", "lead",
)  # fmt: skip


def _no_start(start: MotorStart, voltage: Quantity) -> MotorStart:
    """Return a start that does not come about."""
    still = {"current": _OFF, "speed": Q_(_OFF.magnitude, "rad/s"), "lead_drop": Q_(_OFF.magnitude, "V")}
    return dataclasses.replace(start, **still, supply_voltage=Q_(_OFF.magnitude + voltage.m_as("V"), "V"))


def supply_panel(*, after: Prediction | None = None) -> Panel[SupplyState]:
    """Return the panel: start the motor on fresh and flat batteries, with the grounds joined one way or another.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = supply_panel()
    >>> panel.presets.press("Flat battery")
    >>> print(panel.image.finding.split(": ")[1])
    below 2.70 V, so it resets, 331 µs after the start.
    """
    chart, start = SupplyChart(), SupplyState()
    return Panel(
        start,
        controls={
            **battery_sliders(most_ohms=10),
            "load": Choice("On the shaft", [FAN, FREE, HELD], start.load),
            "ground": Choice("Grounds of board and motor", [STAR, SHARED, UNJOINED], start.ground),
            "lead": QuantitySlider("Motor's ground lead", stops(0, 500, 10), "mohm", start.lead),
            "buffer": Choice("Buffer at the board", [NO_BUFFER, BUFFER], start.buffer),
            "capacitance": QuantitySlider("Its capacitance", _FARADS, "F", start.capacitance, page=3, prefixed=True),
        },
        presets={
            **BATTERIES,
            "Old nine-volt block": {"battery_voltage": Q_(9.0, "V"), "battery_resistance": Q_(10.0, "ohm")},
            "Fan": {"load": FAN},
            "Free": {"load": FREE},
            "Stalled": {"load": HELD},
        },
        chart=chart,
        run=supply_run,
        working=_working,
        idle=_idle,
        after=after,
    )


def _idle(state: SupplyState) -> tuple[str, ...]:
    """Return what plays no part: a buffer that is not there, and a lead that nothing is joined by."""
    unjoined = state.ground == UNJOINED
    without = ("capacitance",) if unjoined or state.buffer == NO_BUFFER else ()
    return (*without, *(("lead", "buffer") if unjoined else ()))


def _working(state: SupplyState) -> str:
    if state.ground == UNJOINED:
        return note("A gate's voltage is between gate and source. With the grounds apart the pin does not reach both.")
    run = supply_run(state)
    drive = _drive(state)
    resistance = drive.motor.resistance + state.lead
    switch = drive.switch
    ohms = on_resistance(switch, gate_drive_voltage(drive))  # type: ignore[arg-type] # the tunnel's is a MOSFET
    loop = {
        "supply_voltage": state.battery_voltage,
        "internal_resistance": state.battery_resistance,
        "resistance": resistance,
        "on_resistance": ohms,
    }
    shown = [
        note("As if the shaft were held, which it is at first, and without the board's own current:"),
        worked("starting current with the source's resistance", **loop),
        worked("supply voltage at a start", **loop),
    ]
    if state.ground == SHARED:
        most = Q_(float(np.max(run.start.current.m_as("A"))), "A")
        shown.append(worked("ground offset", current=most, ground_resistance=state.lead))
    if run.buffer is not None:
        dip = Q_(float(run.board.voltage[0].m_as("V")), "V") - run.brown_out
        if dip.magnitude > 0:
            shown.append(note("How long the buffer alone feeds the board until it resets:"))
            shown.append(worked("hold-up time", capacitance=run.buffer, dip=dip, current=run.board_current))
    return "".join(shown)
