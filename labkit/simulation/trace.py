"""What a simulated run leaves: waveforms, events, and an account of the energy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit.simulation._crossing import Amperes, Joules, RadiansPerSecond, Seconds, Volts
from labkit.units import Quantity

__all__ = ["Energy", "Event", "Trace"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Energy:
    """Where the energy of a run came from and went: source = all the others together, but for ``imbalance``.

    Each term is integrated by itself; none is what the others leave.
    """

    #: What the source gave; negative where it was charged.
    source: Joules
    #: Heat in the source's own resistance, and in the buffer capacitor's.
    source_resistance: Joules
    capacitor_resistance: Joules
    #: Heat in winding and wiring.
    winding: Joules
    brushes: Joules
    #: Heat in the transistor: channel and body diode; and in its breakdown.
    switch: Joules
    breakdown: Joules
    #: Heat in the freewheel diode.
    diode: Joules
    #: Heat by the motor's own friction.
    friction: Joules
    #: Work on the load, the load's own friction included; negative where the load drives.
    load: Joules
    #: What is stored at the end less what was at the start: in the winding, in rotation, in the buffer capacitor.
    stored_in_winding: Joules
    stored_in_rotation: Joules
    stored_in_capacitor: Joules

    @property
    def imbalance(self) -> Quantity:
        """What the source gave less all else: zero but for rounding, and for the fan's straightened law."""
        spent: Quantity = (
            self.source_resistance + self.capacitor_resistance + self.winding + self.brushes + self.switch
            + self.breakdown + self.diode + self.friction + self.load
            + self.stored_in_winding + self.stored_in_rotation + self.stored_in_capacitor
        )  # fmt: skip
        left: Quantity = self.source - spent
        return left


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """Something that happened in a run: how often, when first and when last."""

    #: Such as ``"diode stops"``, ``"rotor starts"``, ``"rotor stops"``, ``"brown-out"``.
    name: str
    count: int
    first: Seconds
    last: Seconds


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Trace:
    """Waveforms of a run, all of one shape; at a jump, the value just after it."""

    time: Seconds
    #: Into the motor's + terminal.
    current: Amperes
    speed: RadiansPerSecond
    #: At the drain or collector, against ground.
    switch_voltage: Volts
    #: Between the + rail and ground.
    supply_voltage: Volts
    #: Out of the source, before the buffer capacitor.
    supply_current: Amperes
    switch_current: Amperes
    diode_current: Amperes
    #: Behind the capacitor's own resistance; ``None`` without a capacitor.
    capacitor_voltage: Volts | None
    #: Whether the gate is on.
    gate: NDArray[np.bool_]
    energy: Energy
    events: tuple[Event, ...]
    #: How far current and speed may be off because the fan's law was straightened; zero where the run is exact.
    speed_error: RadiansPerSecond
    current_error: Amperes
    #: The energy that the straightened law lost or made, at most.
    energy_error: Joules
    #: Largest speed met.
    largest_speed: RadiansPerSecond
    #: How many linear stretches the run was made of: what it cost.
    stretches: int
    #: What these parts would show and this run does not, a sentence each; empty where nothing of the kind is known.
    notes: tuple[str, ...]

    def event(self, name: str) -> Event | None:
        """The event of that name, or ``None`` where it did not happen."""
        return next((item for item in self.events if item.name == name), None)
