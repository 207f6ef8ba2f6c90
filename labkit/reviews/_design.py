"""A design as a short TOML file: values with units as a person types them.

::

    name = "Desk wind tunnel"
    ambient = "25 °C"
    duty = "0.3 to 1"
    frequency = "20 kHz"
    wiring = "0.1 ohm"

    [supply]
    like = "four AA alkaline cells"     # a generic part; fields below it replace its own
    voltage = "6.1 V"

    [motor]
    resistance = "2.8 ohm"
    emf_constant = "5.4 mV*s/rad"
    friction_torque = "0.59 mN*m"       # k times the free current
    # or, from your own bench: readings = "my-motor.csv", a file beside this one

    [transistor]
    like = "logic-level MOSFET"
    on_resistance = ["50 mOhm @ 3.3 V", "22 mOhm @ 10 V"]

    [diode]
    like = "Schottky diode"

    [build]
    diode_reversed = false
    side = "low side"

Sections: supply (with regulator or converter inside), motor, transistor or bipolar, diode, load, pin, build (with fuse
inside). ``diode = "none"`` leaves the diode out. A field's name is the part's own.
"""

from __future__ import annotations

import dataclasses
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from labkit.bench import BenchRecord, read_bench
from labkit.errors import DesignError, LabkitError
from labkit.fitting import MotorFit, fit_motor
from labkit.parts import Build, Drive, Motor
from labkit.reviews._sections import SECTIONS, generic_part, no_such_field, part_from_section
from labkit.units import Q_, Quantity, magnitude

__all__ = ["Design", "demo_design", "read_design"]

_OPERATION = ("name", "duty", "duty_count", "frequency")


@dataclass(frozen=True, kw_only=True, slots=True)
class Design:
    """A drive and how it is to be run."""

    name: str
    drive: Drive
    #: Least and greatest duty, bare numbers.
    duty: tuple[float, float]
    frequency: Quantity
    #: The number that the program writes for the greatest duty, where it is known.
    duty_count: float | None
    #: Of the motor, where its section names a file of readings.
    fit: MotorFit | None = None


def demo_design() -> Path:
    """Return the design file that comes with the kit, for everybody to copy; its values are invented.

    Examples
    --------
    >>> read_design(demo_design()).name
    'Desk wind tunnel'
    """
    return Path(str(files("labkit") / "data" / "designs" / "desk_wind_tunnel.toml"))


def read_design(path: str | Path) -> Design:
    """Read a design file.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    DesignError
        Names the file, the section and the field, and what to write.
    """
    if not isinstance(path, str | Path):
        raise DesignError(f"read_design takes the name of a file; got {path!r:.80}. Write it as in 'fan.toml'.")
    file = Path(path)
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise DesignError(f"There is no file {file.name!r}. Check the name and the folder.") from None
    except IsADirectoryError:
        raise DesignError(f"{str(path)!r} is a folder. Name the design file in it.") from None
    except UnicodeDecodeError:
        raise DesignError(f"{file.name} is no UTF-8 text. Open it in an editor and save it as UTF-8.") from None
    except (tomllib.TOMLDecodeError, OSError) as error:
        raise DesignError(f"{file.name} cannot be read as TOML: {error}.") from error
    try:
        return _design(table, file)
    except LabkitError as error:
        raise DesignError(f"{file.name}: {error}") from error


def _design(table: Mapping[str, Any], file: Path) -> Design:
    fields: dict[str, Any] = {}
    fit = None
    own = {item.name for item in dataclasses.fields(Drive)} - {field for field, _ in SECTIONS.values()}
    for key, value in table.items():
        if key in _OPERATION:
            continue
        if key in own:
            fields[key] = None if value == "none" else value
        elif key == "motor" and isinstance(value, Mapping) and "readings" in value:
            fit = fit_motor(_bench(file.parent / str(value["readings"])))
            said = {name: given for name, given in value.items() if name != "readings"}
            fields["motor"] = part_from_section(Motor, said, key, model=fit.motor)
        elif key in SECTIONS:
            field, kind = SECTIONS[key]
            fields[field] = None if value == "none" else part_from_section(kind, value, key)
        else:
            no_such_field(key, [*own, *SECTIONS, *_OPERATION], "the design")
    if isinstance(build := fields.get("build"), Build) and build.motor_on_pin:
        fields.setdefault("switch", generic_part("small-signal MOSFET"))
    for needed, section in (("supply", "supply"), ("motor", "motor"), ("switch", "transistor")):
        if needed not in fields:
            raise DesignError(f"The design must have a [{section}] section. Add one, at least with like = '…'.")
    return Design(
        name=str(table.get("name", file.stem)),
        drive=Drive(**fields),
        duty=_duty(table.get("duty", 1.0)),
        frequency=_frequency(table.get("frequency", "20 kHz")),
        duty_count=_count(table["duty_count"]) if "duty_count" in table else None,
        fit=fit,
    )


def _bench(path: Path) -> BenchRecord:
    try:
        return read_bench(path)
    except OSError as error:
        raise DesignError(
            f"[motor] readings = {path.name!r} cannot be read: {error.strerror}. Put it beside the design."
        ) from error


def _frequency(given: object) -> Quantity:
    if not isinstance(given, str):
        raise DesignError(f"frequency must be a text with its unit; got {given!r}. Write it as in '20 kHz'.")
    return Q_(given, "Hz")


def _count(given: object) -> float:
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise DesignError(
            f"duty_count must be the bare number that the program writes; got {given!r}. Write it as in 200."
        )
    return float(given)


def _duty(given: object) -> tuple[float, float]:
    if not _ends(given) or any(isinstance(end, bool) or not isinstance(end, str | int | float) for end in _ends(given)):
        raise DesignError(f"duty must be a number from 0 to 1, or two as '0.3 to 1'; got {given!r}. Write it so.")
    ends = [float(magnitude(Q_(end.strip() if isinstance(end, str) else end), "", "duty")) for end in _ends(given)]
    if len(ends) > 2 or not all(0 < end <= 1 for end in ends):
        raise DesignError(
            f"duty must be a number from 0 to 1, or two as '0.3 to 1'; got {given}. A percentage? Write 45 %."
        )
    return min(ends), max(ends)


def _ends(given: object) -> list[Any]:
    return given.split(" to ") if isinstance(given, str) else given if isinstance(given, list) else [given]
