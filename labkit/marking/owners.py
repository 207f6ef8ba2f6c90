"""Find out whose a returned notebook is, and which sheet: in its metadata, its code, or its name.

All three are claims. A notebook that names two learners is not marked but reported,
so that nobody's mark is changed by a file that only says it is theirs.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath

from labkit.errors import SheetError
from labkit.marking.notebooks import ReturnedNotebook
from labkit.problems import newest, plan, sheet_names
from labkit.sheets import Learner
from labkit.sheets.classlist import plain_name

__all__ = ["Owner", "OwnerError", "Owners"]

_BANK = re.compile(r"\d{4}-\d{2}(-\d{2})?")


class OwnerError(Exception):
    """It cannot be said whose it is, or which sheet; its text ends the sentence "… was not marked: "."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Owner:
    """Whose, which sheet, and from which version of the bank."""

    learner: Learner
    sheet: str
    bank: str
    #: What had to be assumed, in a sentence each.
    notes: tuple[str, ...] = ()


class Owners:
    """The class list, ready to be asked.

    Parameters
    ----------
    learners : iterable of Learner
    """

    def __init__(self, learners: Iterable[Learner]) -> None:
        self._by_id = {plain_name(learner.id): learner for learner in learners}
        self._sheets = {plain_name(name): name for name in sheet_names()}
        self._words = max((name.count("_") + 1 for name in (*self._by_id, *self._sheets)), default=1)

    def find(self, notebook: ReturnedNotebook, path: str) -> Owner:
        """Return whose *notebook* is.

        Parameters
        ----------
        notebook : ReturnedNotebook
        path : str
            Where it was found: its folders and its name may hold an id of the class list.

        Raises
        ------
        OwnerError
            When nothing names a learner of the class and a sheet of the bank, or two things name different ones.
        """
        notes: list[str] = []
        learner = self._learner(notebook, path)
        sheet = self._sheet(notebook, path)
        bank = next((b for b in (notebook.code.bank, notebook.metadata.bank) if _holds(sheet, b)), "")
        if not bank:
            bank = newest(sheet)
            notes.append(f"It does not say from which version of the bank it was drawn; {bank} was taken.")
        return Owner(learner=learner, sheet=sheet, bank=bank, notes=tuple(notes))

    def _learner(self, notebook: ReturnedNotebook, path: str) -> Learner:
        in_path = self._learners_in(path)
        said = {
            "its metadata": plain_name(notebook.metadata.learner),
            "its code": plain_name(notebook.code.learner),
            "its name": in_path.pop() if len(in_path) == 1 else "",
        }
        named = {where: key for where, key in said.items() if key in self._by_id}
        if not named:
            claimed = notebook.metadata.learner or notebook.code.learner
            raise OwnerError(f"{claimed!r} is not in the class list" if claimed else "nothing in it says whose it is")
        if len(set(named.values())) > 1 and not self._one_pair(named.values()):
            who = ", ".join(f"{where} says {self._by_id[key].id}" for where, key in named.items())
            raise OwnerError(f"it names different learners: {who}")
        return self._by_id[next(iter(named.values()))]

    def _learners_in(self, path: str) -> set[str]:
        """Return whom a path names; an id without letters only where it stands alone, or behind the sheet's name."""
        found: set[str] = set()
        for part in PurePosixPath(path).parts:
            alone = plain_name(PurePosixPath(part).stem)
            for sheet in self._sheets:
                alone = alone.removeprefix(f"{sheet}_")
            named = _named(part, self._by_id, self._words)
            found |= {key for key in named if key == alone or any(map(str.isalpha, key))}
        return found

    def _one_pair(self, keys: Iterable[str]) -> bool:
        """Return whether learners work together by the class list; the sheet is then that of whom it names first."""
        pairs = {(self._by_id[key].group, self._by_id[key].pair) for key in keys}
        return len(pairs) == 1 and all(pair for _, pair in pairs)

    def _sheet(self, notebook: ReturnedNotebook, path: str) -> str:
        for claims in (notebook.code, notebook.metadata):
            if plain_name(claims.sheet) in self._sheets:
                return self._sheets[plain_name(claims.sheet)]
        in_path = {name for part in PurePosixPath(path).parts for name in _named(part, self._sheets, self._words)}
        if len(in_path) == 1:
            if not any(".answer" in cell for cell in notebook.cells):
                raise OwnerError("no cell in it answers a question of a sheet: is it the lesson?")
            return self._sheets[in_path.pop()]
        claimed = notebook.code.sheet or notebook.metadata.sheet
        if not claimed:
            raise OwnerError("nothing in it says which sheet it is")
        raise OwnerError(f"there is no sheet {claimed!r}; one of a private bank needs --bank")


def _holds(sheet: str, bank: str) -> bool:
    """Return whether *bank* is a version that has this sheet and is not of the future."""
    if not _BANK.fullmatch(bank) or bank > newest(sheet):
        return False
    try:
        plan(sheet, bank)
    except SheetError:
        return False
    return True


def _named(part: str, known: Collection[str], longest: int) -> set[str]:
    """Return the known names in one part of a path: of two that begin at one word, the longer."""
    found: set[str] = set()
    words = plain_name(part).split("_")
    start = 0
    while start < len(words):
        stops = range(min(len(words), start + longest), start, -1)
        stop = next((stop for stop in stops if "_".join(words[start:stop]) in known), 0)
        if stop:
            found.add("_".join(words[start:stop]))
        start = stop or start + 1
    return found
