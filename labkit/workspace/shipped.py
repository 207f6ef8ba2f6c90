"""Where an installed kit, or a checkout of it, keeps the files that every learner gets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from labkit.errors import FolderError

__all__ = ["shipped_files"]

_PACKAGE = Path(__file__).parent.parent


def _home() -> Path:
    """Return the folder that holds ``notebooks`` and ``exercises``: inside a wheel, or the top of a checkout."""
    for home in (_PACKAGE / "_shipped", _PACKAGE.parent):
        if (home / "notebooks").is_dir():
            return home
    again = "Install labkit again, from the folder that it came in: pip install --force-reinstall ."
    raise FolderError(f"labkit's own lessons are missing from {_PACKAGE}. {again}")


def _visible_files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")) if folder.is_dir() else []:
        inside = path.relative_to(folder)
        if path.is_file() and not any(part.startswith((".", "_")) for part in inside.parts):
            yield path


def shipped_files() -> dict[str, Path]:
    """Return what a learner's folder shall hold: the name of each file in it, and where its shipped copy is.

    The names have forward slashes on every system and come in reading order: lessons, sheets, bench files, designs.

    Raises
    ------
    FolderError
        When this installation lacks its lessons.

    Examples
    --------
    >>> sorted({name.split("/")[0] for name in shipped_files()} - {"notebooks", "exercises", "bench", "designs"})
    []
    """
    home = _home()
    lessons = {f"{room}/{p.relative_to(home / room).as_posix()}": p
               for room in ("notebooks", "exercises") for p in _visible_files(home / room)}  # fmt: skip
    data = {f"{room}/{p.name}": p for room in ("bench", "designs") for p in _visible_files(_PACKAGE / "data" / room)}
    return lessons | data
