"""What a bench file gives besides the steady fit: transients, parts of the drive, and what it lacks for more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import NamedTuple

from labkit.bench import BenchRecord, procedures
from labkit.errors import BenchError
from labkit.fitting import Constant, MotorFit, TableFit, fit_table, fit_trace, inertia_from_disc
from labkit.reports.page import table
from labkit.units import Quantity
from labkit.writing import sentence_case, show

__all__ = [
    "Part",
    "beside",
    "how_to_read",
    "part_html",
    "part_lines",
    "record_report",
    "record_report_html",
    "table_html",
    "table_text",
]

_WORDS = {"inductance meter": "inductance by meter", "transistor on": "transistor, switched on"}
_DISC = "coast down with disc"


class Part(NamedTuple):
    """A heading and the sentences below it."""

    title: str
    sentences: list[str]


def how_to_read(constant: str) -> str:
    """Return where the measurement of a constant is shown.

    >>> how_to_read("friction_torque")
    'Shown by: labkit procedure "friction".'
    """
    best = {"friction_torque": "friction", "viscous_friction": "friction"}.get(constant)
    name = best or next(one.name for one in procedures() if constant in one.finds)
    return f'Shown by: labkit procedure "{name}".'


def _pair(value: Quantity, wide: Quantity) -> str:
    return f"{show(value)} ± {show(wide, digits=2)}"


def _constant(one: Constant) -> str:
    return f"{one.name.replace('_', ' ')} {_pair(one.value, one.expanded_uncertainty)}"


def table_text(found: TableFit) -> str:
    """Return the constants of one table with their expanded uncertainty, and what to know."""
    numbers = ", ".join(_constant(one) for one in found.constants)
    words = _WORDS.get(found.kind, found.kind)
    begin = "" if numbers.startswith(words) else f"{words}: "
    text = f"{begin}{numbers}."
    return " ".join([sentence_case(text), *found.sentences])


def table_html(found: TableFit) -> str:
    """Return the same as a table."""
    rows = [
        (one.name.replace("_", " "), show(one.value), show(one.expanded_uncertainty, digits=2))
        for one in found.constants
    ]
    words = "".join(f"<p>{escape(sentence)}</p>" for sentence in found.sentences)
    return table(sentence_case(found.kind), ("Constant", "Value", "± U (95 %)"), rows) + words


def _tables(record: BenchRecord) -> Iterator[str]:
    for one in record.apart:
        if one.kind == "running current":
            yield f"Running current, {len(one)} samples: 'labkit speed {record.source} --bars 3' finds the speed."
            continue
        try:
            yield table_text(fit_table(one, record))
        except BenchError as error:
            yield str(error)
    if any(trace.kind == _DISC for trace in record.traces):
        try:
            yield table_text(inertia_from_disc(record))
        except BenchError as error:
            yield str(error)


def _traces(record: BenchRecord, fit: MotorFit | None) -> Iterator[str]:
    paired = any(trace.kind == _DISC for trace in record.traces)
    for trace in record.traces:
        if trace.kind == _DISC:
            continue
        if fit is None:
            if not (paired and trace.kind == "coast down"):
                yield f"The trace of {trace.kind} needs steady readings beside it: add a table of locked rotor first."
            continue
        try:
            found = fit_trace(trace, fit)
        except BenchError as error:
            yield str(error)
            continue
        tau = "" if found.time_constant is None else f", time constant {show(found.time_constant)}"
        yield (
            f"{sentence_case(trace.kind)}, {len(found.time)} samples: {found.name} "
            f"{_pair(found.value, found.expanded_uncertainty)}{tau}."
        )


def beside(record: BenchRecord, fit: MotorFit | None) -> list[Part]:
    """Return what the traces and the other tables give, each number with its expanded uncertainty (95 %)."""
    return [
        Part("From the traces", list(_traces(record, fit))),
        Part("Beside the motor", list(_tables(record))),
    ]


def part_lines(parts: Sequence[Part], *, below: bool) -> list[str]:
    """Return parts as plain lines, with an empty one before each that stands *below* something."""
    lines: list[str] = []
    for part in parts:
        lines += [*[""] * (below or bool(lines)), part.title, *(f"- {sentence}" for sentence in part.sentences)]
    return lines


def part_html(parts: Sequence[Part]) -> str:
    """Return parts as headings and lists."""
    pieces = []
    for part in parts:
        items = "".join(f"<li>{escape(sentence)}</li>" for sentence in part.sentences)
        pieces.append(f"<h4>{escape(part.title)}</h4><ul>{items}</ul>")
    return "".join(pieces)


def _without_motor(record: BenchRecord) -> list[Part]:
    begin = f"For a motor's constants begin with its resistance. {how_to_read('resistance')}"
    parts = [
        Part("What was found", [f"{record.source} has no steady readings of a motor, such as locked rotor."]),
        *beside(record, None),
        Part("What to do next", [begin]),
        Part("Problems", [str(problem) for problem in record.problems]),
    ]
    return [part for part in parts if part.sentences]


def record_report(record: BenchRecord) -> str:
    """Return what a record without steady readings of a motor gives, as plain text."""
    return "\n".join(part_lines(_without_motor(record), below=False))


def record_report_html(record: BenchRecord) -> str:
    """Return the same as a piece of HTML."""
    return f'<section class="labkit-fit">{part_html(_without_motor(record))}</section>'
