"""The readings that come with the kit, for everybody without a motor."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from labkit.errors import BenchError

__all__ = ["demo_bench"]

_FOLDER = Path(str(files("labkit") / "data" / "bench"))


def demo_bench(name: str = "fan_motor") -> Path:
    """Return the file of supplied readings of that name; all of them are invented, with realistic scatter.

    Raises
    ------
    BenchError
        When there is none; lists those that there are.

    Examples
    --------
    >>> from labkit.bench import read_bench
    >>> len(read_bench(demo_bench()).generator)
    6
    """
    path = _FOLDER / f"{name}.csv"
    if path.parent != _FOLDER or not path.is_file():
        known = ", ".join(sorted(file.stem for file in _FOLDER.glob("*.csv")))
        msg = f"There are no supplied readings called {name!r}. There are: {known}."
        raise BenchError(msg)
    return path
