"""What an oscilloscope would show of one switching period."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from labkit._kernels.waveform import period_samples
from labkit.errors import PartError
from labkit.parts import Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Given, Seconds, Volts, single, wrap
from labkit.simulation._loop import ambient_kelvins, chopper_loop
from labkit.simulation.duty_control import PwmOperatingPoint
from labkit.units import magnitude

__all__ = ["PwmPeriod", "pwm_period"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PwmPeriod:
    """One period, sampled densely enough for a drawing; every field has the shape (n,)."""

    #: From the closing of the switch.
    time: Seconds
    #: In the winding.
    current: Amperes
    #: At the motor and its wiring: the supply's, the diode's, or the generator EMF once the current has stopped.
    voltage: Volts


def pwm_period(drive: Drive, point: PwmOperatingPoint, duty: Given, frequency: Given, *, points: int = 40) -> PwmPeriod:
    """Current and voltage over one period of a settled drive.

    Parameters
    ----------
    drive : Drive
        With a freewheel diode.
    point : PwmOperatingPoint
        What ``pwm_operating_point`` gave for this drive, duty and frequency at its ambient; one point, no array.
    duty : float [1]
    frequency : Quantity [Hz]
    points : int
        Samples while the switch is closed, and as many while the diode conducts; 2 or more.

    Returns
    -------
    PwmPeriod

    Raises
    ------
    PartError
        When there is no freewheel diode, *point* is an array, or its current flows backwards.

    Notes
    -----
    The exponentials of the chopper between its own lowest and highest current; holds for forward current.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.simulation import pwm_operating_point
    >>> fan = desk_wind_tunnel()
    >>> period = pwm_period(fan, pwm_operating_point(fan, 0.4, "2 kHz"), 0.4, "2 kHz")
    >>> print(period.voltage[-1].round(2), period.current[-1])
    2.63 volt 0.0 ampere
    """
    expect(drive, Drive, "pwm_period.drive")
    expect(point, PwmOperatingPoint, "pwm_period.point", "Give what pwm_operating_point(…) returns.")
    if drive.diode is None:
        raise PartError("Drive.diode", "fitted for a freewheeling current", None, "Give a Diode.")
    if np.ndim(point.speed.magnitude):
        raise PartError("point", "one operating point", "an array", "Call pwm_operating_point with single values.")
    if float(point.mean_current.magnitude) < 0.0:
        raise PartError(
            "pwm_period.point", "of forward current", f"{point.mean_current:.3g~P}", "Take away what drives the shaft."
        )
    if not isinstance(points, int) or points < 2:
        raise PartError("points", "a whole number, 2 or more", repr(points), "40 draw a smooth curve.")
    air = ambient_kelvins(drive)
    loop = chopper_loop(drive, np.zeros(()), air, air)
    behind = magnitude(point.supply_voltage, "V") + loop.source_resistance * magnitude(point.mean_current, "A")
    samples = period_samples(
        loop._replace(supply_voltage=np.asarray(behind)),
        emf=float(magnitude(point.emf, "V")),
        frequency=single(frequency, "Hz", "frequency", least=0.0, least_allowed=False),
        duty=single(duty, "", "duty", least=0.0, most=1.0),
        start=float(magnitude(point.minimum_current, "A")),
        peak=float(magnitude(point.peak_current, "A")),
        extinction=float(magnitude(point.extinction_time, "s")),
        points=points,
    )
    return wrap(PwmPeriod, samples._asdict())
