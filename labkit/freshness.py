"""What was shown with which values: a notebook whose cells are run out of order says which results are old.

A cell rests on the names that it reads. When one of them is made anew with another content, what the cell showed is
old, and so is every name that it made. That is said in three places: in the cell that makes the name anew, which lists
the cells to run again; in a cell that reads an old name; and in every panel and comparison that rests on one.
Nothing is asked of the learner, and a cell that gives the same content again makes nothing old.
"""

from __future__ import annotations

import ast
import html
import pickle
import sys
import traceback
import types
import weakref
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from labkit.errors import LabkitError

__all__ = ["Freshness", "listen", "watch"]

_GONE = object()
_NOTE = (
    '<p role="note" style="max-width: 46em; margin: 4px 0; padding: 6px 12px; border: 2px solid; '
    'border-left-width: 8px"><strong>Old: </strong>{}</p>'
)


@dataclass
class _Cell:
    """What a cell read when it was last run, and who wants to hear when that is old."""

    read: dict[str, object]
    made: frozenset[str]
    label: str = ""
    listeners: list[weakref.WeakMethod[Callable[[str], None]]] = field(default_factory=list)


class Freshness:
    """The cells that were run, and the names that they read and made.

    Parameters
    ----------
    names : mapping of str to object
        The notebook's own namespace.
    say : callable
        Takes a sentence, an id and whether it takes the place of what was said under that id before.
    """

    def __init__(self, names: Mapping[str, object], say: Callable[[str, str, bool], None]) -> None:
        self._names, self._say = names, say
        self._cells: dict[str, _Cell] = {}
        self._running: tuple[str, _Cell] | None = None
        self._old_before: set[str] = set()
        #: By the cell in which it was said: the cells that were called old.
        self._told: dict[str, tuple[str, ...]] = {}

    def begin(self, key: str, source: str) -> None:
        """Take note of a cell that is about to run; *key* stays its own when it runs again."""
        read, made = _read_and_made(source)
        told = {name: self._names[name] for name in sorted(read - made) if _is_content(self._names.get(name, _GONE))}
        self._running = (key, _Cell(told, frozenset(made)))
        self._old_before = {other for other, old in self._old_names().items() if old}

    def end(self, label: str) -> None:
        """Say what is old now that the cell has run; *label* is what a person calls it."""
        if self._running is None:
            return
        (key, cell), self._running = self._running, None
        cell.label = label
        self._cells.pop(key, None)  # the last that made a name is the last in order
        self._cells[key] = cell
        old = self._old_names()
        if old[key]:
            first = old[key][0]
            words = f"{first} was made from something that has changed since. Run the cell that makes {first} again, "
            self._say(f"{words}then this one: until then do not trust what it shows.", f"labkit-rests-{label}", False)
        known = self._old_before | {key}
        aged = [other for other in self._cells if other not in known and old[other]]
        if aged:
            self._told[key] = tuple(aged)
            self._say(self._to_run_again(aged), f"labkit-aged-{key}", False)
        for earlier, listed in list(self._told.items()):
            if earlier != key and key in listed:
                left = [other for other in listed if old[other]]
                self._say(self._to_run_again(left), f"labkit-aged-{earlier}", True)
                self._told[earlier] = tuple(left)
        self._tell_listeners(old)

    def listen(self, heard: Callable[[str], None]) -> None:
        """Call a method with a sentence when what the running cell rests on becomes old, and empty when it is not."""
        if self._running is not None:
            self._running[1].listeners.append(weakref.WeakMethod(heard))

    def _tell_listeners(self, old: Mapping[str, list[str]]) -> None:
        for key, cell in self._cells.items():
            words = f"{' and '.join(old[key])} changed after this was made. Run this cell again." if old[key] else ""
            for listener in cell.listeners:
                if heard := listener():
                    heard(words)

    def _to_run_again(self, keys: list[str]) -> str:
        if not keys:
            return ""
        labels = ", ".join(self._cells[key].label for key in keys)
        which = f"what cell {labels} shows" if len(keys) == 1 else f"what cells {labels} show"
        return f"{which} rests on the values before. Run {'it' if len(keys) == 1 else 'them'} again."

    def _old_names(self) -> dict[str, list[str]]:
        """Return for each cell the names that it read which have another content now, or were made from such a name."""
        cells = self._cells.items()
        old = {
            key: [name for name, value in cell.read.items() if not _same(self._names.get(name, _GONE), value)]
            for key, cell in cells
        }
        maker = {name: key for key, cell in cells for name in cell.made}  # the last that made it

        def spread() -> dict[str, list[str]]:
            rests = {key: [name for name in cell.read if name in maker and old[maker[name]]] for key, cell in cells}
            return {key: sorted({*old[key], *names}) for key, names in rests.items()}

        while (wider := spread()) != old:
            old = wider
        return old


def _read_and_made(source: str) -> tuple[set[str], set[str]]:
    """Return the names that a cell reads and those that it makes; none where it is no Python."""
    try:
        tree = ast.parse(source)
    except (SyntaxError, ValueError):
        return set(), set()
    names = [node for node in ast.walk(tree) if isinstance(node, ast.Name)]
    read = {name.id for name in names if isinstance(name.ctx, ast.Load)}
    return read, {name.id for name in names if isinstance(name.ctx, ast.Store)}


def _is_content(value: object) -> bool:
    """Return whether a value can change from one run to the next: no module, class or function."""
    code = (types.ModuleType, type, types.FunctionType, types.BuiltinFunctionType)
    return value is not _GONE and not isinstance(value, code)


def _same(one: object, other: object) -> bool:
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    try:
        return pickle.dumps(one) == pickle.dumps(other)
    except Exception:  # noqa: BLE001 (what cannot be compared is taken as changed, whatever it raises)
        return False


# --- in a notebook --------------------------------------------------------------------------------

_WATCHED: list[Freshness] = []


def listen(heard: Callable[[str], None]) -> None:
    """Call the method *heard* when what the running cell rests on is old; does nothing outside a notebook."""
    for freshness in _WATCHED:
        freshness.listen(heard)


def watch(shell: Any) -> Freshness | None:
    """Watch the cells of a notebook's shell from now on, once; return what watches it, or None outside a notebook."""
    if _WATCHED or not hasattr(shell, "kernel"):
        return None
    freshness = Freshness(shell.user_ns, lambda words, name, update: _publish(shell, words, name, update=update))
    _WATCHED.append(freshness)
    shell.events.register("pre_run_cell", lambda info: freshness.begin(*_about(shell, info)))
    shell.events.register("post_run_cell", lambda result: freshness.end(f"[{result.execution_count}]"))
    shell.set_custom_exc((NameError, LabkitError, OSError), _explain)
    return freshness


def _about(shell: Any, info: Any) -> tuple[str, str]:
    source = shell.transform_cell(info.raw_cell)
    return str(info.cell_id or source), source


def _publish(shell: Any, words: str, name: str, *, update: bool) -> None:
    data = {"text/html": _NOTE.format(html.escape(words)) if words else "", "text/plain": words and f"Old: {words}"}
    shell.display_pub.publish(data, transient={"display_id": name}, update=update)


def _explain(shell: Any, kind: type[BaseException], error: Exception, trace: Any, tb_offset: int | None = None) -> None:
    """Say in words what was wrong, where labkit has words for it; else show the traceback."""
    if words := _in_words(error, trace, shell.user_ns):
        sys.stdout.write(f"{words}\n")
    else:
        shell.showtraceback((kind, error, trace), tb_offset=tb_offset)


def _in_words(error: Exception, trace: Any, names: Mapping[str, object]) -> str:
    if isinstance(error, LabkitError):
        return str(error)
    frames = [frame for frame, _ in traceback.walk_tb(trace)]
    if isinstance(error, NameError) and error.name and frames[-1].f_globals is names:
        return f"{error.name} is not there yet. Run the cells above this one first, or look at its spelling."
    asked_here = any(str(frame.f_globals.get("__name__")).startswith("labkit.") for frame in frames)
    if not (isinstance(error, OSError) and error.filename and asked_here):
        return ""
    if isinstance(error, FileNotFoundError):
        return f"There is no file {error.filename} beside this notebook. Save it there, or write its name as it stands."
    return f"{error.filename} cannot be opened: {error.strerror}. Give a file that you may read."
