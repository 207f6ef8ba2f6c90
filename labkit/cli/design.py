"""Commands for a design: look it over, power it up, buy it, find its fault."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from labkit.cli._say import Command, tell, write_page

if TYPE_CHECKING:
    from labkit.reviews import Design

__all__ = ["COMMANDS"]

#: Exit status of a review by its verdict.
_STATUS = {"fine": 0, "tight": 10, "exceeded": 20, "cannot tell": 30}


def _read(options: argparse.Namespace) -> Design:
    from labkit.reviews import read_design  # noqa: PLC0415 (nothing heavy is imported before it is needed)

    return read_design(options.design)


def _review(options: argparse.Namespace) -> int:
    from labkit.reports.review import review_data, review_html, review_table  # noqa: PLC0415 (as above)
    from labkit.reviews import Tolerances, review, review_spread  # noqa: PLC0415 (as above)

    design = _read(options)
    tolerances = Tolerances() if options.corners else None
    found = review(design.drive, design.duty, design.frequency, duty_count=design.duty_count, tolerances=tolerances)
    spread = review_spread(design.drive, design.fit, design.duty, design.frequency) if design.fit else None
    if options.page:
        from labkit.figures.review import trouble_picture  # noqa: PLC0415 (as above)

        write_page(options.page, f"Review: {design.name}", review_html(found, picture=trouble_picture(found).to_html()))
    if options.json:
        import json  # noqa: PLC0415 (as above)

        tell(json.dumps({**review_data(found), "exceeded_share": spread}, indent=2))
    else:
        from rich.console import Console  # noqa: PLC0415 (as above)

        Console().print(review_table(found))
        for sentence in _spread_sentences(spread):
            tell(sentence)
    return _STATUS[found.outcome.value]


def _spread_sentences(spread: dict[str, float] | None) -> list[str]:
    if spread is None:
        return []
    if not spread:
        return ["Of 100 motors that your readings allow, none exceeds a limit."]
    shares = [f"  {name}: with {100 * share:.0f} of them" for name, share in spread.items()]
    return ["Of 100 motors that your readings allow, these limits are exceeded:", *shares]


def _first_power(options: argparse.Namespace) -> int:
    from labkit.reports.at_the_bench import first_power_html, first_power_text  # noqa: PLC0415 (as above)
    from labkit.reviews import first_power  # noqa: PLC0415 (as above)

    design = _read(options)
    stages = first_power(design.drive)
    if options.page:
        write_page(options.page, f"First power: {design.name}", first_power_html(stages))
    tell(first_power_text(stages))
    return 0


def _shopping(options: argparse.Namespace) -> int:
    from labkit.reports.at_the_bench import shopping_html, shopping_text  # noqa: PLC0415 (as above)
    from labkit.reviews import shopping_list  # noqa: PLC0415 (as above)

    design = _read(options)
    items = shopping_list(design.drive, people=options.people)
    if options.page:
        write_page(options.page, f"Shopping list: {design.name}", shopping_html(items))
    tell(shopping_text(items))
    return 0


def _diagnose(options: argparse.Namespace) -> int:
    from labkit.reports.at_the_bench import diagnosis_html, diagnosis_text  # noqa: PLC0415 (as above)
    from labkit.reviews import diagnose  # noqa: PLC0415 (as above)

    design = _read(options)
    found = diagnose(design.drive, dict(options.reading), symptom=options.symptom)
    if options.page:
        write_page(options.page, f"Fault-finding: {design.name}", diagnosis_html(found))
    tell(diagnosis_text(found))
    return 0


def _pair(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f'{text!r} has no "="; write it as in "gate_on=3.2 V"')
    return name.strip(), value.strip()


def _add_design(command: argparse.ArgumentParser) -> None:
    command.add_argument("design", type=Path, help="TOML file that describes the drive")
    command.add_argument("--page", type=Path, metavar="FILE", help="write a page to keep or print as well")


def _add_review(command: argparse.ArgumentParser) -> None:
    _add_design(command)
    command.add_argument("--corners", action="store_true", help="at the worst corner of the usual tolerances")
    command.add_argument("--json", action="store_true", help="plain data instead of a table")


def _add_shopping(command: argparse.ArgumentParser) -> None:
    _add_design(command)
    command.add_argument(
        "--people", type=int, default=1, metavar="N", help="how many build it; spares come on top (default: 1)"
    )


def _add_diagnose(command: argparse.ArgumentParser) -> None:
    _add_design(command)
    command.add_argument("--symptom", metavar="TEXT", help='what you notice, such as "does not turn"')
    command.add_argument(
        "--reading",
        type=_pair,
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help='such as "gate_on=3.2 V"; may be repeated',
    )


COMMANDS = (
    Command("review", _add_review, _review, "look a drive over before power is applied",
            "Exit status: 0 fine, 10 tight, 20 exceeded, 30 cannot tell."),
    Command("first-power", _add_design, _first_power, "say in which stages to power a new circuit, and what to read",
            "Every stage has the readings to expect in this circuit, and those at which to stop."),
    Command("shopping", _add_shopping, _shopping, "say what to buy for a drive",
            "Values and ratings with their margins, by class of part, and spares for a room."),
    Command("diagnose", _add_diagnose, _diagnose, "rank the causes of a fault from what you notice and read",
            "It also names the reading that would tell the likeliest causes apart."),
)  # fmt: skip
