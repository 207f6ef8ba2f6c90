"""Withhold the kit's own functions where a sheet is to be worked by hand.

It is a fence, not a wall: whoever looks for a way round it finds one, and at home there is none at all.
"""

from __future__ import annotations

import sys
from collections.abc import Collection
from typing import Any, NoReturn

from labkit.errors import SheetError

__all__ = ["in_notebook", "withhold"]

#: What a calculator does, and what opens the sheet.
_ALWAYS = frozenset({"desk_wind_tunnel", "open_sheet", "parse_quantity", "self_test", "show", "ureg"})


def in_notebook() -> bool:
    """Return whether a notebook is running in this process: elsewhere nothing is withheld from others who use it."""
    interactive = sys.modules.get("IPython")
    return interactive is not None and interactive.get_ipython() is not None


def withhold(sheet: str, allowed: Collection[str]) -> None:
    """Put in place of each public function that a sheet does not allow one that says so, in this process.

    Classes stay, and so do quantities: with them an answer is worked as on paper.

    Parameters
    ----------
    sheet : str
        Its name.
    allowed : collection of str
    """
    kit = sys.modules["labkit"]
    functions = {name for name in kit.__all__ if name[0].islower()}
    rooms = _rooms()
    for name in functions - _ALWAYS - set(allowed):
        there_is = _refusing(name, sheet, sorted(allowed))
        for room in (kit, *rooms):
            if room is kit or name in vars(room):
                setattr(room, name, there_is)


def _rooms() -> list[Any]:
    """Return the rooms that are loaded: what they hand out is withheld, and their own modules keep what they had."""
    loaded = [module for title, module in sys.modules.items() if title.startswith("labkit.") and title.count(".") == 1]
    return [room for room in loaded if hasattr(room, "__path__")]


def _refusing(name: str, sheet: str, allowed: list[str]) -> Any:
    def withheld(*_given: object, **_named: object) -> NoReturn:
        rest = f"Of the kit you may use {', '.join(allowed)} here." if allowed else "Work it by hand."
        msg = f"{name} is withheld where the sheet {sheet!r} is assessed or marked. {rest}"
        raise SheetError(msg)

    withheld.__name__ = name
    withheld.__doc__ = f"Withheld where the sheet {sheet!r} is assessed or marked."
    return withheld
