"""A folder of pages for the teacher of a room."""

from __future__ import annotations

from pathlib import Path

from labkit.errors import FolderError
from labkit.parts import Drive
from labkit.reports.at_the_bench import first_power_html, shopping_html
from labkit.reports.page import page
from labkit.reports.teaching import risk_html, session_html
from labkit.reviews import first_power, shopping_list
from labkit.sheets.whole import whole_file

__all__ = ["write_room"]


def write_room(drive: Drive, people: int, folder: Path) -> tuple[Path, ...]:
    """Write session plan, parts list, cards, risk sheet and first-power sheet as pages to print.

    Parameters
    ----------
    drive : Drive
        What everybody builds.
    people : int
    folder : Path
        Made where it is missing; pages of the same name must not be there.

    Returns
    -------
    tuple of Path

    Raises
    ------
    PartError
        When *people* is no count.
    FolderError
        When a page is there already: it may hold notes.
    """
    pages = {
        "session-plan.html": ("Session plan", session_html(people)),
        "parts-list.html": ("Parts for the room", shopping_html(shopping_list(drive, people=people))),
        "cards.html": ("Cards for the bench", _cards()),
        "risk-sheet.html": ("Risk sheet", risk_html(drive)),
        "first-power.html": ("First power", first_power_html(first_power(drive))),
    }
    there = [name for name in pages if (folder / name).exists()]
    if there:
        raise FolderError(f"{folder} holds {', '.join(there)} already. Name another folder, or move these away.")
    folder.mkdir(parents=True, exist_ok=True)
    for name, (title, body) in pages.items():
        with whole_file(folder / name) as file:
            file.write(page(title, body))
    return tuple(folder / name for name in pages)


def _cards() -> str:
    from labkit.figures import bench_card, bench_cards  # noqa: PLC0415 (drawing is loaded when cards are drawn)

    titled = {name[0].upper() + name[1:]: bench_card(name).to_html() for name in bench_cards()}
    return "".join(f"<section><h2>{title}</h2>{card}</section>" for title, card in titled.items())
