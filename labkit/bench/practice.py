"""Invented readings of a motor that is known, to see what a bench can know of it."""

from __future__ import annotations

import numpy as np

from labkit.bench._meters import Meter
from labkit.bench._record import BenchRecord, bench_record
from labkit.bench._table import BenchTable
from labkit.errors import BenchError
from labkit.parts import Motor
from labkit.parts._fields import expect, finite_quantity
from labkit.units import Q_, Quantity, magnitude

__all__ = ["practice_bench"]

_SPEEDS = np.linspace(500.0, 2500.0, 5)  # rpm, of the drill
_MOST_POSITIONS = 12


def practice_bench(
    motor: Motor, *, positions: int, currents: tuple[Quantity, Quantity], scatter: Quantity, meter: Meter, seed: int
) -> BenchRecord:
    """Return readings as a person with these meters would take them: rotor locked, then turned by a drill.

    Parameters
    ----------
    motor : Motor
        What the readings are made from.
    positions : int
        Of the rotor, 1 to 12; each has a resistance of its own.
    currents : pair of Quantity [A]
        Both are read at each position.
    scatter : Quantity [ohm]
        Standard deviation of the resistance between positions.
    meter : Meter
        Of volts and amperes alike: one scale error for the whole bench, one of counts for each table.
    seed : int
        Another number is another bench; the same one gives the same readings.

    Raises
    ------
    BenchError
        When there are no such positions, or the meter is none.

    Examples
    --------
    >>> known = Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad")
    >>> pair = (Q_("100 mA"), Q_("300 mA"))
    >>> read = practice_bench(known, positions=1, currents=pair, scatter=Q_("0 ohm"), meter=Meter(), seed=1)
    >>> read.tables[0].voltage.m_as("V").tolist()
    [0.28, 0.84]
    """
    expect(motor, Motor, "practice_bench.motor")
    expect(meter, Meter, "practice_bench.meter", "Write Meter.from_text('0.5 % + 2 counts').")
    if not isinstance(positions, int) or not 1 <= positions <= _MOST_POSITIONS:
        raise BenchError(f"practice_bench.positions must be 1 to {_MOST_POSITIONS}; got {positions!r}. Take six.")
    low, high = (float(magnitude(finite_quantity(one, "A", "practice_bench.currents"), "A")) for one in currents)
    wide = float(magnitude(finite_quantity(scatter, "ohm", "practice_bench.scatter"), "ohm"))
    chance, share = np.random.default_rng(seed), meter.percent / 100.0
    volt_scale, amp_scale = 1.0 + share * chance.uniform(-1.0, 1.0, 2)
    volt_zero, spin_zero, amp_zero = meter.counts * 1e-3 * chance.uniform(-1.0, 1.0, 3)
    place = np.arange(1.0, positions + 1.0)
    film = wide * chance.standard_normal(_MOST_POSITIONS)[:positions]
    amps = np.repeat([low, high], positions)
    ohms = float(magnitude(motor.resistance, "ohm")) + np.tile(film, 2)
    volts = ohms * amps + float(magnitude(motor.brush_drop, "V"))
    turning = Q_(_SPEEDS + chance.uniform(-20.0, 20.0, len(_SPEEDS)), "rpm")
    open_volts = float(magnitude(motor.emf_constant, "V*s/rad")) * magnitude(turning, "rad/s")
    step = {"voltage": Q_(1.0, "mV"), "current": Q_(1.0, "mA"), "speed": Q_(1.0, "rpm")}
    return bench_record(
        BenchTable(
            kind="locked rotor",
            position=np.tile(place, 2),
            voltage=Q_(np.round(volts * volt_scale + volt_zero, 3), "V"),
            current=Q_(np.round(amps * amp_scale + amp_zero, 3), "A"),
            step=step,
        ),
        BenchTable(
            kind="generator",
            speed=Q_(np.asarray(turning.m_as("rpm")).round(), "rpm"),
            voltage=Q_(np.round(open_volts * volt_scale + spin_zero, 3), "V"),
            step=step,
        ),
        source="an invented bench",
        meters={"voltmeter": meter, "ammeter": meter, "tachometer": "0.05 % + 1 count"},
    )
