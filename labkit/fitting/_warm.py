"""The winding's temperature while it was read, and the resistance that it would have at 25 °C."""

from __future__ import annotations

from typing import NamedTuple

from labkit.bench import BenchRecord, Problem
from labkit.errors import UnitError
from labkit.parts._fields import expect
from labkit.units import magnitude, parse_quantity

__all__ = ["READ_FIRST", "Warmth", "warmth_of"]

#: What to do where readings are asked for and something else was given.
READ_FIRST = "Read the file first: read_bench('my-motor.csv')."

_NOTES = ("winding temperature", "room temperature", "ambient")
_COPPER = 0.00393  # 1/K at 20 °C, standard annealed copper (IEC 60028)
_LEAST, _MOST = -50.0, 200.0  # °C, where copper's resistance follows a straight line


class Warmth(NamedTuple):
    """What a record says of the winding's temperature."""

    celsius: float | None
    #: Resistance at 25 °C over that of the readings; 1 where no temperature is noted.
    factor: float
    problem: Problem | None


def warmth_of(record: BenchRecord) -> Warmth:
    """Return the temperature noted with the readings, and copper's factor from there to 25 °C.

    R(25 °C)/R(T) = (1 + α·5 K)/(1 + α·(T − 20 °C)), α = 0.00393/K at 20 °C (IEC 60028). The brushes' share of the
    resistance is taken as copper too.
    """
    expect(record, BenchRecord, "warmth_of.record", READ_FIRST)
    name = next((name for name in _NOTES if name in record.notes), None)
    if name is None:
        return Warmth(None, 1.0, None)
    text = record.notes[name]
    try:
        celsius = float(magnitude(parse_quantity(text), "degC", name)) - 273.15
    except UnitError:
        celsius = float("nan")
    if not _LEAST <= celsius <= _MOST:
        problem = Problem(
            source=record.source,
            read=f"{name} {text!r}",
            expected="a temperature such as '22 °C'",
            consequence="The resistance is not referred to 25 °C.",
        )
        return Warmth(None, 1.0, problem)
    return Warmth(celsius, (1 + _COPPER * 5.0) / (1 + _COPPER * (celsius - 20.0)), None)
