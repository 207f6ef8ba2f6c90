"""The numbers that findings look at: one drive, at one duty and frequency, as floats in coherent SI."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit.errors import LabkitError, PartError
from labkit.parts import Bipolar, Drive, Mosfet, Side
from labkit.simulation import (
    PwmOperatingPoint,
    junction_temperature,
    on_resistance,
    operating_point,
    pwm_operating_point,
    saturation_current,
)
from labkit.units import Q_, Quantity, magnitude
from labkit.writing import show

__all__ = ["Case", "Si", "size"]

Floats: TypeAlias = NDArray[np.float64]

#: A start that takes this long [s] keeps the current near its running value (common practice, no source).
_RAMP = 0.5


def size(quantity: Quantity, unit: str) -> float:
    """Return a known quantity as a float."""
    return float(magnitude(quantity, unit))


class Si(float):
    """A float in coherent SI that a formula writes with its unit: ``f"{Si(0.47):A}"`` is ``470 mA``."""

    def __format__(self, unit: str) -> str:
        return show(Q_(float(self), unit))


class Junction(NamedTuple):
    """Where a junction gets hottest: duty, heat [W], temperature [K]."""

    duty: float
    power: float
    temperature: float


class Case:
    """A drive at its greatest duty: what starts, what runs, what reaches the gate."""

    def __init__(
        self, drive: Drive, *, duty: tuple[float, float], frequency: float, duty_count: float | None = None
    ) -> None:
        self.duty_count = duty_count
        self.drive = drive
        self.build = drive.build
        self.least_duty, self.duty = duty
        self.frequency = frequency

    def known(self, part: Any, field: str, unit: str) -> float | None:
        """Return a part's field as a float, or None where it, or the part, is not known."""
        value = getattr(part, field, None)
        return None if value is None else size(value, unit)

    @cached_property
    def voltage(self) -> float:
        """Supply without load [V]."""
        return size(self.drive.supply.voltage, "V")

    @cached_property
    def source(self) -> float:
        """Inner resistance of the supply [ohm]."""
        return size(self.drive.supply.internal_resistance, "ohm")

    @cached_property
    def winding(self) -> float:
        """Winding resistance [ohm]."""
        return size(self.drive.motor.resistance, "ohm")

    @cached_property
    def series(self) -> float:
        """Everything in the motor's loop but winding, transistor and source [ohm]."""
        extra = self.build.series_resistor
        return size(self.drive.wiring, "ohm") + (0.0 if extra is None else size(extra, "ohm"))

    @cached_property
    def diode_drop(self) -> float:
        """Forward voltage of the freewheel diode [V]; zero where there is none."""
        return 0.0 if self.drive.diode is None else size(self.drive.diode.forward_voltage, "V")

    @cached_property
    def k(self) -> float:
        """Motor constant [V·s/rad]."""
        return size(self.drive.motor.emf_constant, "V*s/rad")

    @cached_property
    def pulsed(self) -> bool:
        """Whether the drive is switched at all times, and not only on and off."""
        return self.least_duty < 1.0

    @cached_property
    def gate_path(self) -> float:
        """Gate resistor and pin together [ohm]."""
        return size(self.drive.gate_resistor, "ohm") + self.pin_resistance

    @cached_property
    def pin_voltage(self) -> float:
        """Pin held high, nothing connected [V]."""
        return size(self.drive.pin.high_level, "V")

    @cached_property
    def pin_resistance(self) -> float:
        """Output resistance of the pin [ohm]."""
        return size(self.drive.pin.output_resistance, "ohm")

    @cached_property
    def gate_voltage(self) -> float:
        """Gate to source with the pin high [V], the pull-down counted where it stands."""
        if self.drive.pull_down is None:
            return self.pin_voltage
        down = size(self.drive.pull_down, "ohm")
        before = self.gate_path if self.build.pull_down_place.name == "GATE" else self.pin_resistance
        return self.pin_voltage * down / (down + before)

    @cached_property
    def switch_resistance(self) -> float | None:
        """On-resistance at the real gate voltage, 25 °C [ohm]; None where not known, inf where it stays off."""
        switch = self.drive.switch
        if isinstance(switch, Bipolar):
            return 0.0
        try:
            return size(on_resistance(switch, Q_(self.gate_voltage, "V")), "ohm")
        except LabkitError:
            return None

    @cached_property
    def switch_drop(self) -> float:
        """Drop of the transistor that does not depend on the current [V]."""
        switch = self.drive.switch
        return 0.0 if isinstance(switch, Mosfet) else size(switch.saturation_voltage, "V")

    @cached_property
    def starting_current(self) -> float:
        """Current at standstill through source, winding, leads and transistor [A]."""
        loop = self.source + self.winding + self.series + min(self.switch_resistance or 0.0, 1e9)
        return max(self.voltage - self.switch_drop, 0.0) / loop

    @cached_property
    def base_current(self) -> float | None:
        """What the pin drives into the base of a bipolar transistor [A]; None where the base resistor is not known."""
        resistor = self.known(self.drive.switch, "base_resistor", "ohm")
        return None if resistor is None else self.base_volts / (resistor + self.pin_resistance)

    @cached_property
    def base_volts(self) -> float:
        """What of the pin's voltage is left for the base resistor and the pin's own [V]."""
        return max(self.pin_voltage - (self.gate_above_source or 0.0), 0.0)

    @cached_property
    def let_through(self) -> float:
        """Most current that gate or base lets the transistor carry [A]; inf where that is not known."""
        switch = self.drive.switch
        if isinstance(switch, Bipolar):
            return math.inf if self.base_current is None else switch.gain * self.base_current
        try:
            return size(saturation_current(switch, Q_(self.gate_voltage, "V")), "A")
        except LabkitError:
            return math.inf

    @cached_property
    def gate_above_source(self) -> float | None:
        """How far a transistor that follows its gate, or base, stays below it [V]; None where not known."""
        name = "threshold" if isinstance(self.drive.switch, Mosfet) else "base_emitter_voltage"
        return self.known(self.drive.switch, name, "V")

    def reaches_motor(self, below: float) -> float:
        """Return what a transistor above the motor, so far below its gate, leaves the motor [V]."""
        return max(min(self.pin_voltage - below, self.voltage), 0.0)

    @cached_property
    def standing_current(self) -> float:
        """Current at standstill that really flows [A]: the transistor may let less through than the loop would take."""
        if self.build.side is Side.LOW:
            return min(self.starting_current, self.let_through)
        volts = self.reaches_motor(self.gate_above_source or 0.0)
        return min(volts / (self.winding + self.series), self.starting_current)

    @cached_property
    def ramped(self) -> bool:
        """Whether the program starts so slowly that the start takes little more than the running current."""
        return size(self.build.start_ramp, "s") >= _RAMP

    @cached_property
    def demand(self) -> float:
        """What a start asks of the supply [A]."""
        return min(self.running_current, self.starting_current) if self.ramped else self.starting_current

    @cached_property
    def bare_current(self) -> float:
        """Current at standstill with a transistor that keeps nothing to itself: what it must bear [A]."""
        return self.voltage / (self.source + self.winding + self.series)

    @cached_property
    def pin_current(self) -> float:
        """Current at standstill of a motor straight on the pin [A]."""
        return self.pin_voltage / (self.pin_resistance + self.winding + self.series)

    @cached_property
    def duties(self) -> Floats:
        """Duties at which heat is looked for, from the least to the greatest: at full duty nothing is switched."""
        if not self.pulsed:
            return np.array([self.duty])
        return np.append(np.linspace(self.least_duty, max(0.99 * self.duty, self.least_duty), 9), self.duty)

    @cached_property
    def _settled(self) -> PwmOperatingPoint | None:
        """Where the drive settles at each of its duties; None where that cannot be worked out."""
        try:
            return pwm_operating_point(self.drive, self.duties, Q_(self.frequency, "Hz"))
        except LabkitError:
            return None

    def course(self, field: str, unit: str) -> Floats | None:
        """Return a field of the settled state at each of the duties; None where not known."""
        values = None if self._settled is None else getattr(self._settled, field)
        return None if values is None else np.asarray(magnitude(values, unit), dtype=np.float64)

    def settled(self, field: str, unit: str) -> float | None:
        """Return a field of the settled state at the greatest duty; None where not known."""
        values = self.course(field, unit)
        return None if values is None else float(values[-1])

    @cached_property
    def running_current(self) -> float:
        """Mean motor current at the greatest duty [A]; on plain d.c. where the inductance is not known."""
        amps = self.settled("mean_current", "A")
        if amps is None:
            volts = self.duty * (self.voltage - self.switch_drop)
            amps = size(operating_point(self.drive.motor, Q_(volts, "V"), self.drive.load).current, "A")
        return abs(amps)

    @cached_property
    def runs(self) -> bool:
        """Whether the running current is known: a motor without friction and load takes none, and no motor is that."""
        return self.running_current > 1e-6 * self.starting_current

    @cached_property
    def mean_currents(self) -> Floats:
        """Mean motor current at each of the duties [A]; that at the greatest duty where they are not known."""
        amps = self.course("mean_current", "A")
        return np.full(self.duties.shape, self.running_current) if amps is None else np.asarray(np.abs(amps))

    @cached_property
    def low_current(self) -> float:
        """Mean motor current at the least duty [A]; that at the greatest duty where it is not known."""
        return float(self.mean_currents[0])

    @cached_property
    def junction(self) -> Junction | None:
        """The transistor's junction at the duty that makes it hottest; None where a value that it needs is not known.

        The current is that of a transistor at 25 °C: the winding, not the transistor, decides it.
        """
        switch = self.drive.switch
        through = self.course("switch_rms_current" if isinstance(switch, Mosfet) else "supply_current", "A")
        losses = [self.course(loss, "W") for loss in ("switching_loss", "recovery_loss")]
        try:
            state = junction_temperature(
                switch,
                Q_(np.full_like(self.duties, self.running_current) if through is None else np.abs(through), "A"),
                ambient=self.drive.ambient,
                gate_voltage=Q_(self.gate_voltage, "V"),
                other_loss=Q_(sum(loss for loss in losses if loss is not None), "W"),
            )
        except PartError:
            return None
        power, temperature = magnitude(state.power, "W"), magnitude(state.temperature, "kelvin")
        hottest = max(range(self.duties.size), key=lambda at: (temperature[at], at))
        return Junction(float(self.duties[hottest]), float(power[hottest]), float(temperature[hottest]))

    @cached_property
    def breakaway_current(self) -> float | None:
        """Current that gets the shaft off its rest [A], from the starting torque where that is known."""
        held = self.drive.motor.starting_torque
        return None if held is None else (size(held, "N*m") + self.load_torque) / self.k

    @cached_property
    def load_torque(self) -> float:
        """What the load holds against the start, and against slow turning [N·m]; a weight that helps does not count."""
        load = self.drive.load
        return size(load.friction, "N*m") + max(size(load.weight, "N*m"), 0.0)
