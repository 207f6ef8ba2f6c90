"""What happens when the transistor opens: the winding's current goes on, and something has to take it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.switching import decay
from labkit.errors import NoSolutionError
from labkit.parts import Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Given, Joules, Seconds, Volts, argument, wrap
from labkit.simulation._loop import ambient_kelvins, capacitor_share, needed
from labkit.simulation._warmth import copper_factor
from labkit.units import magnitude

__all__ = ["OpenedLoop", "TurnOff", "opened_loop", "refuse_endless", "turn_off_transient"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TurnOff:
    """The way of the winding's current to zero; every field has the shape of current and speed together.

    Energies balance: stored + supplied = winding + wiring + brush + diode + avalanche + source + shaft.
    """

    #: From the opening to zero current.
    decay_time: Seconds
    #: Across the transistor, at the opening; without a current, what supply and generator EMF leave.
    peak_switch_voltage: Volts
    #: Across the winding's inductance, at the opening: the switch-off kick, of the sign that keeps the current going.
    kick_voltage: Volts
    #: Generator EMF k·ω.
    emf: Volts
    peak_current: Amperes
    #: ½·L·I² before the opening.
    stored_energy: Joules
    #: In the freewheel diode; zero without one.
    diode_energy: Joules
    #: In the transistor, which breaks down where there is no freewheel diode; zero with one.
    avalanche_energy: Joules
    #: What the source adds while a transistor that breaks down still draws on it; zero with a freewheel diode.
    supplied_energy: Joules
    #: In the source's resistance, and in a buffer capacitor's.
    source_loss: Joules
    winding_loss: Joules
    wiring_loss: Joules
    brush_loss: Joules
    #: What the last of the current still does at the shaft.
    shaft_work: Joules


def turn_off_transient(drive: Drive, current: Given, speed: Given = "0 rad/s") -> TurnOff:
    """Decay of the winding's current after the transistor opens, and where its energy goes.

    Parameters
    ----------
    drive : Drive
        With its freewheel diode, or with ``diode=None``: then the transistor breaks down, and takes it.
    current : Quantity [A], any shape
        In the winding at the opening, zero or more.
    speed : Quantity [rad/s or rpm], any shape
        Constant while the current decays. Broadcasts with the current.

    Returns
    -------
    TurnOff

    Raises
    ------
    PartError
        Names the argument, its value and what to do; without a diode also a breakdown voltage that is not known.
    NoSolutionError
        When the current never stops: the shaft is driven backwards, or breakdown lies below the supply.
        When the diode's slope takes the transistor up to its breakdown, so that the two would share the current.

    Notes
    -----
    Exact exponentials. With a diode, L·di/dt = -(E + brush + V_F) - (R + wiring + r_F)·i, and the transistor sees
    V + V_F + r_F·i.
    Without one, L·di/dt = -(E + brush + V_BR - V) - (R + wiring + r)·i, and the transistor takes about V_BR/(V_BR - V)
    times the stored energy, since the supply goes on feeding; r is the source's resistance. A buffer capacitor is taken
    as large and charged to the supply's voltage: its own resistance then lies beside the source's, r is the two in
    parallel, and the heat in both is ``source_loss``. The drain's own capacitance is left out: it softens the
    first nanoseconds. The winding is as warm as the ambient.

    Examples
    --------
    >>> import dataclasses
    >>> from labkit.parts import desk_wind_tunnel
    >>> drive = desk_wind_tunnel()
    >>> with_diode = turn_off_transient(drive, "2 A")
    >>> print(with_diode.decay_time.to("us").round(0), with_diode.peak_switch_voltage)
    870.0 microsecond 6.4 volt
    >>> without = turn_off_transient(dataclasses.replace(drive, diode=None), "2 A")
    >>> print(without.decay_time.to("us").round(0), without.peak_switch_voltage)
    66.0 microsecond 30.0 volt
    """
    expect(drive, Drive, "turn_off_transient.drive")
    loop = opened_loop(drive, current, speed)
    amps, path, flows = loop.current, loop.path, loop.current > 0.0
    course = decay(amps, loop.opposing, np.asarray(loop.ohms), np.asarray(loop.inductance))
    refuse_endless(drive, loop, course.time)
    went = loop.energies(course.charge, course.square)
    floats: dict[str, Any] = {
        "decay_time": course.time,
        "peak_switch_voltage": np.where(flows, path.drain(amps), path.supply - loop.emf),
        "kick_voltage": np.where(flows, loop.opposing + loop.ohms * amps, 0.0),
        "emf": loop.emf,
        "peak_current": amps,
        "stored_energy": 0.5 * loop.inductance * amps**2,
        "diode_energy": went.diode,
        "avalanche_energy": went.avalanche,
        "supplied_energy": went.supplied,
        "source_loss": went.source,
        "winding_loss": went.winding,
        "wiring_loss": went.wiring,
        "brush_loss": went.brush,
        "shaft_work": went.shaft,
    }
    return wrap(TurnOff, {name: np.broadcast_to(value, amps.shape) for name, value in floats.items()})


class _Path(NamedTuple):
    """What takes the current [V, ohm]: the freewheel diode, or a transistor that breaks down."""

    supply: float
    #: Across what takes it, at no current, and the drain's voltage then.
    drop: float
    switch_volts: float
    #: One is the drop, the other zero.
    diode_drop: float = 0.0
    breakdown: float = 0.0
    #: What the source adds, and its resistance, where the current still goes through it.
    fed: float = 0.0
    source_ohms: float = 0.0
    diode_ohms: float = 0.0

    def drain(self, amps: Floats) -> Floats:
        """The drain's voltage [V] while a current [A] flows."""
        return np.asarray(self.switch_volts + self.diode_ohms * amps)


class _Energies(NamedTuple):
    """Where energy came from and went since the opening [J]."""

    supplied: Floats
    source: Floats
    winding: Floats
    wiring: Floats
    brush: Floats
    diode: Floats
    avalanche: Floats
    shaft: Floats


class OpenedLoop(NamedTuple):
    """What the winding's current meets once the switch is open [A, V, ohm, H]."""

    #: At the opening, and the generator EMF, of one shape.
    current: Floats
    emf: Floats
    #: What works against the current besides resistance, and all resistance on the way.
    opposing: Floats
    ohms: float
    winding: float
    wiring: float
    brush: float
    inductance: float
    path: _Path

    def energies(self, charge: Floats, square: Floats) -> _Energies:
        """Energies [J] after a charge ∫i·dt [C] and ∫i²·dt [A²·s] have passed."""
        path = self.path
        return _Energies(
            supplied=path.fed * charge,
            source=path.source_ohms * square,
            winding=self.winding * square,
            wiring=self.wiring * square,
            brush=self.brush * charge,
            diode=path.diode_drop * charge + path.diode_ohms * square,
            avalanche=path.breakdown * charge,
            shaft=self.emf * charge,
        )


def opened_loop(drive: Drive, current: Given, speed: Given) -> OpenedLoop:
    """Return the loop that a current [A] finds at a speed [rad/s] when the switch opens."""
    amps = argument(current, "A", "current", least=0.0, remedy="Give the size of the winding's forward current.")
    emf = float(magnitude(drive.motor.emf_constant, "V*s/rad")) * argument(speed, "rad/s", "speed")
    amps, emf = np.broadcast_arrays(amps, emf)
    path = _path(drive)
    _refuse_sharing(drive, float(np.max(path.drain(amps), initial=0.0)))
    winding = float(magnitude(drive.motor.resistance, "ohm") * copper_factor(ambient_kelvins(drive)))
    wiring, brush = float(magnitude(drive.wiring, "ohm")), float(magnitude(drive.motor.brush_drop, "V"))
    return OpenedLoop(
        current=amps,
        emf=emf,
        opposing=emf + brush + path.drop - path.fed,
        ohms=winding + wiring + path.diode_ohms + path.source_ohms,
        winding=winding,
        wiring=wiring,
        brush=brush,
        inductance=needed(drive.motor, "inductance", "H", "where time matters"),
        path=path,
    )


def refuse_endless(drive: Drive, loop: OpenedLoop, decay_time: Floats) -> None:
    """Refuse a current that never stops."""
    if np.any(np.isinf(decay_time)):
        raise NoSolutionError(_endless(drive, float(np.min(loop.opposing)), loop.ohms))


def _path(drive: Drive) -> _Path:
    """Return what takes the current of a drive."""
    supply = float(magnitude(drive.supply.voltage, "V"))
    if drive.diode is not None:
        drop = float(magnitude(drive.diode.forward_voltage, "V"))
        slope = float(magnitude(drive.diode.slope_resistance, "ohm"))
        return _Path(supply=supply, drop=drop, switch_volts=supply + drop, diode_drop=drop, diode_ohms=slope)
    breakdown = needed(
        drive.switch, "breakdown_voltage", "V", "where there is no freewheel diode, since it then takes the current"
    )
    inner = (1.0 - capacitor_share(drive.supply)) * float(magnitude(drive.supply.internal_resistance, "ohm"))
    return _Path(
        supply=supply, drop=breakdown, switch_volts=breakdown, breakdown=breakdown, fed=supply, source_ohms=inner
    )


def _refuse_sharing(drive: Drive, peak: float) -> None:
    """Refuse a diode whose slope takes the transistor to its breakdown: the two would share the current."""
    given = drive.switch.breakdown_voltage
    if drive.diode is None or given is None or peak < float(magnitude(given, "V")):
        return
    raise NoSolutionError(
        f"The drain would reach {peak:.3g} V, not below its breakdown at {given:~P}: the transistor shares the current "
        "with the diode, which this does not cover. Take a diode with less slope resistance."
    )


def _endless(drive: Drive, opposing: float, ohms: float) -> str:
    if drive.diode is None:
        return (
            "The current never stops: the transistor breaks down below what the supply and the generator EMF give. "
            "Take a transistor with a breakdown voltage of at least twice the supply."
        )
    return (
        f"The current never stops: the shaft is driven backwards, and the generator EMF keeps {-opposing / ohms:.3g} A "
        "flowing through the freewheel diode, which brakes it. Give a forward speed."
    )
