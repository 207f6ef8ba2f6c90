"""Where duty and frequency change what a drive does: where it starts, where its current becomes continuous."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from labkit._kernels.chopper import chopper
from labkit._kernels.duty_control import starting_way
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Celsius,
    Flags,
    Given,
    Hertz,
    RadiansPerSecond,
    Ratio,
    Watts,
    argument,
    plain,
    single,
    wrap,
)
from labkit.simulation._loop import ambient_kelvins, brakes, chopper_loop, motor_record
from labkit.simulation.duty_control import PwmOperatingPoint, pwm_operating_point
from labkit.simulation.junction import junction_temperature
from labkit.simulation.switching_loss import switching_times
from labkit.units import Quantity, from_si, magnitude

__all__ = ["FrequencyChoice", "continuous_frequency", "duty_from_count", "frequency_choice", "starting_duty"]

Floats = NDArray[np.float64]

#: Hearing ends here at the latest (common practice, no source); winding and frame sound at the ripple's frequency.
HEARING = 20e3  # Hz


def duty_from_count(count: Given, top: Given = 255) -> Quantity:
    """Duty that a program sets by writing a number to a timer.

    Parameters
    ----------
    count : whole number [1], any shape
        What the program writes.
    top : whole number [1]
        What stands for always on.

    Returns
    -------
    Quantity [1]

    Raises
    ------
    PartError
        When a number is not whole, or the count is above the top.

    Notes
    -----
    D = n/top. A duty can be set in steps of 1/top only.

    Examples
    --------
    >>> print(duty_from_count(50).round(3), duty_from_count(50, top=100))
    0.196 dimensionless 0.5 dimensionless
    """
    whole = argument(top, "", "top", least=1.0)
    number = argument(count, "", "count", least=0.0)
    for name, given, floats in (("top", top, whole), ("count", count, number)):
        if np.any(floats != np.round(floats)):
            raise PartError(name, "a whole number", given, "A timer counts.")
    if np.any(number > whole):
        raise PartError("count", f"at most the top, {float(np.min(whole)):g}", count, "Is the top another one?")
    return from_si(plain(number / whole), "")


def starting_duty(drive: Drive, frequency: Given) -> Quantity:
    """Smallest duty at which a drive starts from rest.

    Parameters
    ----------
    drive : Drive
    frequency : Quantity [Hz]
        One value.

    Returns
    -------
    Quantity [1]

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        When it does not start at full duty either.

    Notes
    -----
    The peak of the pulses must overcome what holds the shaft, and their mean the running friction. Slow pulses peak at
    V/R and need less duty; fast ones need (V_start + V_F)/(V + V_F), nearly.
    A buffer capacitor is taken as still full.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> fan = desk_wind_tunnel()
    >>> print(starting_duty(fan, "20 kHz").round(3), "|", starting_duty(fan, "100 Hz").round(3))
    0.112 dimensionless | 0.064 dimensionless
    """
    expect(drive, Drive, "starting_duty.drive")
    rate = np.asarray(single(frequency, "Hz", "frequency", least=0.0, least_allowed=False))
    air, k = ambient_kelvins(drive), motor_record(drive.motor).emf_constant
    volts = np.asarray(magnitude(drive.supply.voltage, "V"), dtype=np.float64)
    loop, brake = chopper_loop(drive, volts, air, air), brakes(drive.motor, drive.load)

    def starts(duty: float) -> bool:
        at_rest = chopper(loop, np.zeros(()), rate, np.asarray(duty))
        return bool(starting_way(at_rest, k, brake) > 0.0)

    if not starts(1.0):
        raise NoSolutionError(
            "The motor does not start at full duty. Raise the voltage, or take load and friction away."
        )
    low, high = 0.0, 1.0
    while high - low > 1e-12:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if starts(middle) else (middle, high)
    return from_si(high, "")


def continuous_frequency(drive: Drive, duty: Given) -> Quantity:
    """Frequency from which on a settled drive's current no longer stops within a period.

    Parameters
    ----------
    drive : Drive
    duty : float [1]
        One value, above 0 and below 1.

    Returns
    -------
    Quantity [Hz]

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        When the current is continuous, or stops, at any frequency.

    Notes
    -----
    Exact exponentials, with speed and load settled anew at each frequency: the settled speed falls as the current
    becomes continuous, so that the rule of thumb V·D·(1 - D)/(2·L·f) < mean current needs the mean current there.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(continuous_frequency(desk_wind_tunnel(), 0.4).to("kHz").round(2))
    5.87 kilohertz
    """
    expect(drive, Drive, "continuous_frequency.drive")
    share = single(duty, "", "duty", least=0.0, most=1.0, least_allowed=False)
    if share == 1.0:
        raise PartError("duty", "above 0 and below 1", 1, "At full duty nothing switches.")
    decades = np.linspace(0.0, 8.0, 161)
    continuous = np.asarray(pwm_operating_point(drive, share, from_si(10.0**decades, "Hz")).continuous)
    if continuous.all() or not continuous.any():
        word = "is continuous" if continuous.all() else "stops within the period"
        raise NoSolutionError(f"At this duty the current {word} at any frequency from 1 Hz to 100 MHz.")
    last = int(np.flatnonzero(~continuous)[-1])
    if last == len(decades) - 1:
        raise NoSolutionError("At this duty the current stops within the period even at 100 MHz.")

    def margin(decade: float) -> float:
        point = pwm_operating_point(drive, share, from_si(10.0**decade, "Hz"))
        if point.continuous:
            return float(point.minimum_current.magnitude)
        return float(float(point.extinction_time.magnitude) * 10.0**decade - (1.0 - share))

    return from_si(10.0 ** float(brentq(margin, decades[last], decades[last + 1], xtol=1e-13)), "Hz")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FrequencyChoice:
    """What each switching frequency costs and gives, at one duty; every field has the shape of the frequencies."""

    frequency: Hertz
    #: Whether people hear it.
    audible: Flags
    continuous: Flags
    speed: RadiansPerSecond
    ripple: Amperes
    #: Winding heat over that of a smooth current of the same mean.
    winding_heat_ratio: Ratio
    switching_loss: Watts
    #: All heat in the transistor.
    switch_loss: Watts
    #: Of the transistor, settled with that heat.
    junction: Celsius
    #: Turning on and off together, over the period: above a few percent the transistor hardly gets to be on.
    switching_share: Ratio


def frequency_choice(drive: Drive, duty: Given, frequency: Given) -> FrequencyChoice:
    """Compare switching frequencies: noise and ripple speak for high ones, the transistor's heat for low ones.

    Parameters
    ----------
    drive : Drive
        With a MOSFET whose gate-drain charge, plateau voltage and thermal resistance are known.
    duty : float [1]
    frequency : Quantity [Hz], any shape

    Returns
    -------
    FrequencyChoice

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        When the gate does not get past the plateau.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> choice = frequency_choice(desk_wind_tunnel(), 0.6, ["2 kHz", "25 kHz"])
    Traceback (most recent call last):
    labkit.errors.PartError: frequency must be quantities in Hz; got ...
    >>> from labkit.units import Q_
    >>> choice = frequency_choice(desk_wind_tunnel(), 0.6, Q_([2, 25], "kHz"))
    >>> print(choice.audible, choice.winding_heat_ratio.round(2))
    [ True False] [1.58 1.01] dimensionless
    """
    expect(drive, Drive, "frequency_choice.drive")
    on, off = (float(magnitude(time, "s")) for time in switching_times(drive))
    rate = argument(frequency, "Hz", "frequency", least=0.0, least_allowed=False)
    hot = junction_temperature(drive, duty=duty, frequency=frequency)
    point: PwmOperatingPoint = pwm_operating_point(drive, duty, frequency, junction_temperature=hot.temperature)
    mean, rms = (np.asarray(q.magnitude, dtype=np.float64) for q in (point.mean_current, point.rms_current))
    ratio = np.divide(rms**2, mean**2, out=np.ones_like(mean), where=mean != 0.0)
    floats: dict[str, Any] = {
        name: np.asarray(getattr(point, name).magnitude)
        for name in ("speed", "ripple", "switching_loss", "switch_loss")
    }
    floats |= {
        "frequency": rate,
        "audible": rate < HEARING,
        "continuous": np.asarray(point.continuous),
        "winding_heat_ratio": ratio,
        "junction": np.asarray(hot.temperature.to("kelvin").magnitude),
        "switching_share": (on + off) * rate,
    }
    return wrap(FrequencyChoice, {name: np.broadcast_to(value, np.shape(mean)) for name, value in floats.items()})
