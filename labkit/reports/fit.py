"""What a fit found, in words: a table of constants, what they mean, what is missing and what to read next."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape
from typing import NamedTuple

import numpy as np

from labkit.fitting import MotorFit, Reading, warmth_of
from labkit.parts._fields import expect
from labkit.reports.beside import Part, beside, how_to_read, part_html, part_lines
from labkit.units import Quantity, absolute, magnitude
from labkit.writing import figures, rpm_beside, show

__all__ = ["CONSTANT_NAMES", "PREFIX", "fixed", "prefix_power", "report", "report_html"]

#: In words, the unit, and the unit's symbol.
CONSTANT_NAMES = {
    "resistance": ("resistance R", "ohm", "Ω"),
    "brush_drop": ("brush drop", "V", "V"),
    "emf_constant": ("EMF constant k", "V*s/rad", "V·s/rad"),
    "friction_torque": ("friction torque", "N*m", "N·m"),
    "viscous_friction": ("viscous friction", "N*m*s/rad", "N·m·s/rad"),
}
#: By power of ten.
PREFIX = {-9: "n", -6: "µ", -3: "m", 0: "", 3: "k"}
_HEADER = ("constant", "value", "± U (95 %)", "u", "factor", "unit")
_MOST_LISTED = 20


class _Row(NamedTuple):
    constant: str
    value: str
    expanded: str
    standard: str
    factor: str
    unit: str


def fixed(value: float, decimals: int) -> str:
    """Return a number with so many decimals, its sign a real minus, and none before a zero."""
    text = f"{value:.{max(decimals, 0)}f}"
    return text.removeprefix("-") if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def prefix_power(size: float) -> int:
    """Return the power of ten whose prefix suits a size.

    >>> prefix_power(0.0054), prefix_power(2.8), prefix_power(0)
    (-3, 0, 0)
    """
    return min(max(3 * math.floor(math.log10(size) / 3), -9), 3) if size > 0 else 0


def _rows(fit: MotorFit) -> list[_Row]:
    """Return the table: two figures of the expanded uncertainty, and the value to the same digit."""
    rows = []
    for name in fit.names:
        words, unit, symbol = CONSTANT_NAMES[name]
        value = float(magnitude(fit.value[name], unit))
        wide = float(magnitude(fit.expanded_uncertainty[name], unit))
        narrow = float(magnitude(fit.standard_uncertainty[name], unit))
        power = prefix_power(max(abs(value), wide))
        scale = 10.0**power
        finest = wide / scale if 0 < wide < math.inf else max(abs(value), wide) / scale / 1000 or 1.0
        decimals = 1 - math.floor(math.log10(finest))
        rows.append(
            _Row(
                words,
                fixed(value / scale, decimals),
                fixed(wide / scale, decimals),
                fixed(narrow / scale, decimals),
                f"{fit.coverage_factor[name]:.2f}",
                PREFIX[power] + symbol,
            )
        )
    return rows


def _highest(fit: MotorFit, name: str) -> Quantity | None:
    """Return the highest voltage or speed that was read."""
    columns = [getattr(table, name) for table in fit.record.tables if getattr(table, name) is not None]
    return max((absolute(column).max() for column in columns), default=None)


def _meaning(fit: MotorFit) -> Iterator[str]:
    if "resistance" in fit.value and (voltage := _highest(fit, "voltage")) is not None:
        drop = fit.value.get("brush_drop", 0 * voltage)
        stall = (voltage - drop) / fit.value["resistance"]
        if float(stall.magnitude) > 0:
            yield (
                f"Held still on {show(voltage)} it would draw {show(stall.to('A'))}, and all of that becomes heat: "
                "never hold it longer than 3 s, and let it cool for 30 s."
            )
    if "emf_constant" in fit.value:
        k = fit.value["emf_constant"]
        per_volt = float((1 / k).to("rpm/V").magnitude)
        yield (
            f"Each ampere gives {show(k.to('newton_meter/A'))[:-2]} of torque, "
            f"and each volt of generator EMF stands for {figures(per_volt)} rpm."
        )
    if "emf_constant" in fit.value and "friction_torque" in fit.value:
        current = (fit.value["friction_torque"] / fit.value["emf_constant"]).to("A")
        yield f"Its friction alone takes {show(current)} at low speed."


def _at_25(fit: MotorFit) -> Iterator[str]:
    """Say at which temperature the resistance holds, and what it would be at 25 °C."""
    if "resistance" not in fit.value:
        return
    warm = warmth_of(fit.record)
    if warm.celsius is None:
        yield "The resistance holds at the winding's temperature then, which is not noted: 10 °C change it by 4 %."
        return
    value, wide = (warm.factor * one["resistance"] for one in (fit.value, fit.expanded_uncertainty))
    yield (
        f"The resistance was read at {warm.celsius:.3g} °C; at 25 °C copper makes it {show(value)} ± "
        f"{show(wide, digits=2)}, and the motor is taken over with that."
    )


def _limits(fit: MotorFit) -> Iterator[str]:
    for name in fit.names:
        total = float(magnitude(fit.standard_uncertainty[name], CONSTANT_NAMES[name][1]))
        source, size = next(iter(fit.budget[name].items()), ("", None))
        if size is not None and total > 0:
            share = (float(magnitude(size, CONSTANT_NAMES[name][1])) / total) ** 2
            yield f"{CONSTANT_NAMES[name][0]}: mostly {source} ({100 * min(share, 1.0):.0f} % of the variance)."
    for i, name in enumerate(fit.names):
        for j in range(i):
            if abs(fit.correlation[i, j]) > 0.8:
                both = f"{CONSTANT_NAMES[fit.names[j]][0]} and {CONSTANT_NAMES[name][0]}"
                correlation = fixed(float(fit.correlation[i, j]), 2)
                yield f"{both} are known better together than alone (correlation {correlation})."


def _off(reading: Reading) -> str:
    return (
        f"{reading.table}, line {reading.line}: {show(absolute(reading.off))} off in {reading.balance}, "
        f"{abs(reading.deviations):.1f} standard deviations"
    )


def _to_do(fit: MotorFit) -> Iterator[str]:
    for entry in fit.not_identifiable:
        yield f"{entry.reason} {entry.remedy} {how_to_read(entry.name)}"
    step = fit.next_reading
    if step is None:
        return
    if not step.table:
        yield f"A better meter helps more than further readings: the largest part is the {step.source}."
        return
    at = "" if step.at is None else f" at {rpm_beside(step.at) if step.table == 'generator' else show(step.at)}"
    where = ", at another rotor position," if step.table == "locked rotor" else ""
    yield (
        f"Of further readings, one of {step.table}{at}{where} helps most: the uncertainty of the "
        f"{CONSTANT_NAMES[step.constant][0]} would fall by about {100 * (1 - step.gain):.0f} %."
    )


def _parts(fit: MotorFit) -> list[Part]:
    used = sum(int(np.sum(~one.set_aside)) for one in fit.residuals)
    about = [
        f"These follow from {used} equation{'s' * (used != 1)} that the readings of {fit.record.source} give.",
        "The truth lies within ± U about 95 times in 100; u is the standard uncertainty, and U is the factor times u.",
        *_at_25(fit),
    ]
    if not fit.names:
        about = [f"No constant of the motor follows from the readings of {fit.record.source} alone."]
    parts = [
        Part("What was found", about),
        *beside(fit.record, fit),
        Part("What it means", list(_meaning(fit))),
        Part("What limits it", list(_limits(fit))),
        Part("What to do next", list(_to_do(fit))),
        Part("Readings set aside", [f"{_off(one)}." for one in fit.set_aside[:_MOST_LISTED]]),
    ]
    if len(fit.set_aside) > _MOST_LISTED:
        parts[-1].sentences.append(f"And {len(fit.set_aside) - _MOST_LISTED} more.")
    if fit.worst_reading is not None and abs(fit.worst_reading.deviations) >= 2:
        parts.append(Part("Farthest off of those used", [f"{_off(fit.worst_reading)}. Look at it again."]))
    parts.append(Part("Problems", [str(problem) for problem in fit.problems]))
    return [part for part in parts if part.sentences]


def report(fit: MotorFit) -> str:
    """Return a fit as plain text: table, meaning, limits, what to do next, problems.

    Parameters
    ----------
    fit : MotorFit

    Examples
    --------
    >>> from labkit.bench import BenchTable, bench_record
    >>> from labkit.fitting import fit_motor
    >>> from labkit.units import Q_
    >>> held = BenchTable(kind="locked rotor", voltage=Q_([0.30, 0.58, 0.86], "V"), current=Q_([100, 200, 300], "mA"))
    >>> print(report(fit_motor(bench_record(held))).splitlines()[0])
    constant         value   ± U (95 %)       u   factor   unit
    """
    expect(fit, MotorFit, "report.fit", "Give what fit_motor returns.")
    table = [_HEADER, *_rows(fit)] if fit.names else []
    widths = [max((len(row[column]) for row in table), default=0) for column in range(len(_HEADER))]
    lines = []
    for row in table:
        cells = [
            row[0].ljust(widths[0]),
            *(cell.rjust(width) for cell, width in zip(row[1:5], widths[1:5], strict=True)),
        ]
        lines.append("   ".join([*cells, row[5]]).rstrip())
    return "\n".join([*lines, *part_lines(_parts(fit), below=bool(table))])


def report_html(fit: MotorFit) -> str:
    """Return a fit as a piece of HTML with the same content as ``report``.

    Parameters
    ----------
    fit : MotorFit
    """
    expect(fit, MotorFit, "report_html.fit", "Give what fit_motor returns.")
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in _HEADER)
    body = "".join(
        f'<tr><th scope="row">{escape(row.constant)}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in _rows(fit)
    )
    caption = f"<caption>Constants from {escape(fit.record.source)}</caption>"
    numbers = f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if fit.names else ""
    return f'<section class="labkit-fit">{numbers}{part_html(_parts(fit))}</section>'
