"""What a switch-off finds, in words and numbers."""

from __future__ import annotations

from dataclasses import dataclass

from labkit.figures.picture import Reading, Table
from labkit.simulation import SwitchOffCourse
from labkit.units import Quantity
from labkit.writing import rpm_beside, show

__all__ = ["ENERGIES", "SwitchOffRun", "energies", "finding", "readings", "tables"]

#: Where energy may be.
ENERGIES = ("still stored", "winding", "diode", "transistor", "shaft")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SwitchOffRun:
    """What the picture is drawn from."""

    supply_voltage: Quantity
    #: In the winding at the opening.
    current: Quantity
    speed: Quantity
    has_diode: bool
    #: At the moment that is looked at, of shape ().
    now: SwitchOffCourse
    #: From nanoseconds to milliseconds, of shape (n,).
    course: SwitchOffCourse

    @property
    def stage(self) -> str:
        """What is going on at this moment: swings, flows or stopped."""
        if self.now.time < self.now.swing_time:
            return "swings"
        return "flows" if self.now.current.magnitude > 0 else "stopped"


def energies(course: SwitchOffCourse) -> dict[str, Quantity]:
    """Return the energies of a course, by the name of their place."""
    places = (
        course.stored_energy, course.winding_energy, course.diode_energy, course.avalanche_energy, course.shaft_energy,
    )  # fmt: skip
    return dict(zip(ENERGIES, places, strict=True))


def finding(run: SwitchOffRun) -> str:
    """Return what the picture shows, in words."""
    now, when = run.now, show(run.now.time)
    drain = show(now.switch_voltage)
    if run.stage == "swings":
        return (
            f"{when} after opening the drain is still on its way up, at {drain}; {show(now.current)} goes on through "
            "the transistor."
        )
    if run.stage == "stopped":
        emf = (
            f"what the motor shows is its generator EMF, {show(now.emf)}, so the drain is at {drain}"
            if now.emf.magnitude
            else f"a shaft that stands generates nothing, so the drain is at {drain}"
        )
        return f"{when} after opening no current flows and there is no kick; {emf}."
    turns = (
        f"the generator EMF is another voltage, {show(now.emf)} at {rpm_beside(run.speed)}"
        if now.emf.magnitude
        else "the shaft stands, so there is no generator EMF"
    )
    kick = f"The kick is {show(now.kick_voltage)}; {turns}."
    if run.has_diode:
        return (
            f"{when} after opening {show(now.current)} flows on through the freewheel diode, which holds the drain at "
            f"{drain}. {kick}"
        )
    return (
        f"{when} after opening {show(now.current)} has no other way than through the transistor, which breaks down at "
        f"{drain}. {kick}"
    )


def readings(run: SwitchOffRun) -> tuple[Reading, ...]:
    """Return the numbers at this moment."""
    now = run.now
    return (
        Reading("Time after opening", now.time),
        Reading("Current in the winding", now.current),
        Reading("Current in the freewheel diode", now.diode_current),
        Reading("Current in the transistor", now.switch_current),
        Reading("Voltage at the drain", now.switch_voltage),
        Reading("Voltage across the motor", now.motor_voltage),
        Reading("Switch-off kick, L·di/dt", now.kick_voltage),
        Reading("Generator EMF, k·ω", now.emf),
        Reading("The drain swings for", now.swing_time),
        Reading("Then the current flows on for", now.decay_time),
        *(Reading(f"Energy: {name}", energy) for name, energy in energies(now).items()),
        Reading("Energy that the battery added", now.supplied_energy),
    )


def tables(run: SwitchOffRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    course = run.course
    columns = (
        ("time", course.time, "us"),
        ("drain", course.switch_voltage, "V"),
        ("motor", course.motor_voltage, "V"),
        ("current", course.current, "A"),
        ("kick", course.kick_voltage, "V"),
    )
    return (Table("In slow motion", columns),)
