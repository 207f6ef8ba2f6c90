"""Where a drive settles under pulse-width modulation, and what gets hot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.chopper import Chopped
from labkit._kernels.duty_control import Settled, settle
from labkit._kernels.steady import BrakesSI, efficiency
from labkit.errors import NoSolutionError
from labkit.parts import Drive, Supply
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Flags,
    Given,
    NewtonMetres,
    RadiansPerSecond,
    Ratio,
    Seconds,
    Volts,
    Watts,
    argument,
    wrap,
)
from labkit.simulation._loop import (
    Loads,
    ambient_kelvins,
    brakes,
    capacitor_share,
    chopper_loop,
    motor_record,
    refuse_early_breakdown,
)
from labkit.simulation._rooting import falling_root
from labkit.simulation.chopping import chopper_floats
from labkit.simulation.switching_loss import drive_losses, saturates
from labkit.units import magnitude

__all__ = ["PwmOperatingPoint", "pwm_floats", "pwm_operating_point"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PwmOperatingPoint:
    """A drive's periodic state at the speed that it settles at; every field has the shape of the arguments together.

    Powers balance:
    input = source + capacitor + wiring + winding + brush + switch conduction + diode + friction + shaft.
    What switching itself costs (``switching_loss``, ``recovery_loss``, ``gate_loss``) is small, and stands beside it.
    """

    #: Whether the shaft turns; where it does not, the pulses are too weak to start it, or only make it twitch.
    turning: Flags
    #: Whether the current flows all the time.
    continuous: Flags
    #: Whether the peak current is more than the transistor lets through at its gate voltage, so that this state is
    #: not what happens: simulate it instead. ``None`` where the data sheet's values are not known.
    saturated: Flags | None
    #: Positive forward.
    speed: RadiansPerSecond
    #: Generator EMF k·ω.
    emf: Volts
    mean_current: Amperes
    #: Sets the winding's heat.
    rms_current: Amperes
    peak_current: Amperes
    minimum_current: Amperes
    #: Peak to peak.
    ripple: Amperes
    #: From the switch's opening to zero current; infinite in continuous conduction.
    extinction_time: Seconds
    #: Mean voltage at the motor and its wiring.
    mean_voltage: Volts
    #: Mean current out of the source; the switch's mean too.
    supply_current: Amperes
    #: What the source alone gives: a buffer capacitor takes its share of the pulses.
    supply_rms_current: Amperes
    #: Peak to peak.
    supply_ripple: Amperes
    #: Voltage where the drive is connected while the switch is closed, at mean current.
    supply_voltage: Volts
    switch_rms_current: Amperes
    #: Peak to peak.
    switch_ripple: Amperes
    #: Mean.
    diode_current: Amperes
    diode_rms_current: Amperes
    #: Peak to peak.
    diode_ripple: Amperes
    #: Root mean square, and peak to peak, of a buffer capacitor; ``None`` without one.
    capacitor_current: Amperes | None
    capacitor_ripple: Amperes | None
    electromagnetic_torque: NewtonMetres
    shaft_torque: NewtonMetres
    shaft_power: Watts
    #: From the source's own voltage.
    input_power: Watts
    efficiency: Ratio
    source_loss: Watts
    #: In a buffer capacitor's own resistance; ``None`` without one.
    capacitor_loss: Watts | None
    wiring_loss: Watts
    winding_loss: Watts
    brush_loss: Watts
    #: The motor's own friction.
    friction_loss: Watts
    switch_conduction_loss: Watts
    diode_loss: Watts
    #: While the transistor changes over; ``None`` where gate charge or plateau voltage are not known, or the gate is
    #: not driven above the plateau.
    switching_loss: Watts | None
    #: Of the freewheel diode, burnt in the transistor; ``None`` where the recovery charge is not known.
    recovery_loss: Watts | None
    #: From the pin, the pull-down's own share left out; ``None`` where gate charge or base resistor is not known.
    gate_loss: Watts | None
    #: All known heat in the transistor: conduction, switching and recovery.
    switch_loss: Watts


def pwm_operating_point(
    drive: Drive,
    duty: Given,
    frequency: Given,
    *,
    voltage: Given | None = None,
    load: Loads | None = None,
    junction_temperature: Given | None = None,
    winding_temperature: Given | None = None,
) -> PwmOperatingPoint:
    """Speed, currents and heat of a drive under pulse-width modulation, starting from rest.

    Parameters
    ----------
    drive : Drive
    duty : float [1]
        0 to 1.
    frequency : Quantity [Hz]
    voltage : Quantity [V], optional
        In the place of the supply's.
    load : Load or nested sequence of Load, optional
        In the place of the drive's.
    junction_temperature, winding_temperature : Quantity [degC], optional
        The ambient's where not given.

    All but the drive may be arrays; they broadcast, and one call gives all points.

    Returns
    -------
    PwmOperatingPoint

    Raises
    ------
    PartError
        Names the argument, its value and what to do; also where the drive lacks a value that is needed.
    NoSolutionError
        The gate voltage does not turn the transistor on, or nothing brakes a shaft that its load drives.

    Notes
    -----
    Exact exponentials in continuous and discontinuous conduction; the speed is constant over a period (its ripple,
    about k·ripple·T/(8·J), is small). The speed solves k·mean current = friction + load torque.
    A buffer capacitor is taken as large, its voltage as constant: source and capacitor share the current's alternating
    part as their resistances have it, all of it going to a capacitor that has none.
    Without a freewheel diode the transistor's breakdown takes the current. A source's current limit is not applied.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> point = pwm_operating_point(desk_wind_tunnel(), [0.2, 0.4, 1.0], "20 kHz")
    >>> print(point.turning, point.speed.to("rpm").round(0))
    [ True  True  True] [970.0 3059.0 8504.0] revolutions_per_minute
    """
    expect(drive, Drive, "pwm_operating_point.drive")
    volts = (
        np.asarray(magnitude(drive.supply.voltage, "V"), dtype=np.float64)
        if voltage is None
        else argument(voltage, "V", "voltage", least=0.0, least_allowed=False)
    )
    floats = pwm_floats(
        drive,
        duty=argument(duty, "", "duty", least=0.0, most=1.0),
        frequency=argument(frequency, "Hz", "frequency", least=0.0, least_allowed=False),
        volts=volts,
        brake=brakes(drive.motor, drive.load if load is None else load),
        junction=_temperature(drive, junction_temperature, "junction_temperature"),
        winding=_temperature(drive, winding_temperature, "winding_temperature"),
    )
    return wrap(PwmOperatingPoint, floats)


def _temperature(drive: Drive, given: Given | None, name: str) -> Floats:
    return ambient_kelvins(drive) if given is None else argument(given, "degC", name, least=-200.0)


def pwm_floats(
    drive: Drive,
    *,
    duty: Floats,
    frequency: Floats,
    volts: Floats,
    brake: BrakesSI,
    junction: Floats,
    winding: Floats,
) -> dict[str, Any]:
    """Return the fields of a ``PwmOperatingPoint`` as floats in coherent SI, broadcast against each other."""
    k = motor_record(drive.motor).emf_constant
    inner = np.asarray(magnitude(drive.supply.internal_resistance, "ohm"), dtype=np.float64)
    buffered = drive.supply.capacitance is not None

    def at(
        terminal: Floats, junction: Floats, winding: Floats, frequency: Floats, duty: Floats, *brake: Floats
    ) -> Settled:
        return settle(chopper_loop(drive, terminal, junction, winding), k, BrakesSI(*brake), frequency, duty)

    refuse_early_breakdown(drive, float(np.max(volts, initial=0.0)))
    given = (junction, winding, frequency, duty, *brake)
    share = capacitor_share(drive.supply)
    terminal = _buffered_voltage(at, volts, share * inner, given) if buffered else volts
    settled = at(terminal, *given)
    if np.any(np.isinf(settled.speed)):
        msg = (
            "The load drives the shaft and nothing brakes it: the speed has no limit. Give the load or motor friction."
        )
        raise NoSolutionError(msg)
    state = settled.state
    torque = k * state.mean_current
    shaft_power = (torque - settled.own_friction) * settled.speed
    input_power = volts * state.supply_current
    wiring = np.asarray(magnitude(drive.wiring, "ohm"), dtype=np.float64) * state.mean_square
    costs = drive_losses(drive, state, terminal, frequency, duty)
    floats = chopper_floats(state) | {
        "turning": settled.turning,
        "saturated": saturates(drive, state.peak_current),
        "speed": settled.speed,
        "emf": k * settled.speed,
        "supply_voltage": terminal - (1.0 - share) * inner * state.mean_current,
        "electromagnetic_torque": torque,
        "shaft_torque": torque - settled.own_friction,
        "shaft_power": shaft_power,
        "input_power": input_power,
        "efficiency": efficiency(input_power, shaft_power),
        "wiring_loss": wiring,
        "winding_loss": state.winding_loss - wiring,
        "friction_loss": settled.own_friction * settled.speed,
        "switch_conduction_loss": state.switch_loss,
        **_divided(drive.supply, state, share),
        **costs,
        "switch_loss": state.switch_loss
        + sum(costs[name] for name in ("switching_loss", "recovery_loss") if costs[name] is not None),
    }
    shape = np.shape(settled.speed)
    return {name: None if value is None else np.broadcast_to(value, shape) for name, value in floats.items()}


def _divided(supply: Supply, state: Chopped, share: float) -> dict[str, Floats | None]:
    """Return what source and buffer capacitor each carry and burn [A, W]: the capacitor its *share* of the pulses."""
    inner, esr = (float(magnitude(part, "ohm")) for part in (supply.internal_resistance, supply.capacitor_resistance))
    pulses = np.maximum(state.switch_square - state.supply_current**2, 0.0)
    square = state.supply_current**2 + (1.0 - share) ** 2 * pulses
    buffered = supply.capacitance is not None
    return {
        "supply_rms_current": np.sqrt(square),
        "supply_ripple": (1.0 - share) * state.switch_ripple,
        "source_loss": inner * square,
        "capacitor_current": share * np.sqrt(pulses) if buffered else None,
        "capacitor_ripple": share * state.switch_ripple if buffered else None,
        "capacitor_loss": esr * share**2 * pulses if buffered else None,
    }


def _buffered_voltage(at: Any, volts: Floats, ohms: Floats, given: tuple[Floats, ...]) -> Floats:
    """Return the voltage [V] that stands behind source and buffer capacitor in parallel: V - ohms·mean current.

    The capacitor rests at V - r·mean current; what it and the source make together is that much nearer to V as the
    current divides between them.
    """
    if not np.any(ohms):
        return volts

    def excess(terminal: Floats, volts: Floats, *given: Floats) -> Floats:
        return np.asarray(volts - ohms * at(terminal, *given).state.supply_current - terminal, dtype=np.float64)

    return falling_root(excess, 1e-9 * volts, 1.5 * volts, (volts, *given), sought="supply voltage")
