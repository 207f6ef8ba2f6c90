"""Read a returned notebook: its code, and whose it says that it is. Nothing in it is run or believed here.

Reads all versions of the notebook format, and notebooks that no longer keep to it:
learners delete, copy, move and retype cells, and some tools leave half of what the format asks for.
"""

from __future__ import annotations

import ast
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from labkit.marking.answers import Effort, attempt_told, decoded

__all__ = ["Claims", "NotebookError", "ReturnedNotebook", "read_notebook"]

_BEGINNING = 200  #: bytes in which a notebook has told that it is one
_CELLS = 2_000
_CODE = 2_000_000  #: characters of code in all
#: How gzip, bzip2, xz, 7z and rar files begin.
_OTHER_ARCHIVES = (b"\x1f\x8b", b"BZh", b"\xfd7zXZ", b"7z\xbc\xaf\x27\x1c", b"Rar!")
_OPENING = 20_000  #: characters of the cell that opens the sheet


class NotebookError(Exception):
    """The file is no notebook that can be run; its text ends the sentence "… could not be read: "."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Claims:
    """What a notebook says about itself, each empty where it says nothing."""

    learner: str = ""
    sheet: str = ""
    bank: str = ""
    #: The drawn numbers as text; compared with those that are drawn here, and used for nothing.
    numbers: tuple[tuple[str, str], ...] = ()
    #: What only the owner of the key can have written; checked, not believed.
    retries: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class ReturnedNotebook:
    """A notebook as it came back."""

    #: The code to run, cell by cell.
    cells: tuple[str, ...]
    #: What its metadata say, as ``labkit sheets`` wrote them.
    metadata: Claims
    #: What its call of ``open_sheet`` says.
    code: Claims
    #: Whether a cell opens a sheet at all.
    opens: bool
    #: How often each question was tried, as the outputs say that were saved with it.
    efforts: Mapping[str, Effort] = field(default_factory=dict)
    #: Which attempt's numbers each question had last, by the same outputs.
    attempts: Mapping[str, int] = field(default_factory=dict)


def read_notebook(data: bytes) -> ReturnedNotebook:
    """Return what is in a notebook file.

    Raises
    ------
    NotebookError
        Says why it is no notebook.
    """
    content = _decoded(data)
    metadata = content.get("metadata")
    told = metadata.get("labkit") if isinstance(metadata, dict) else None
    cells = tuple(_code_of(content))
    if len(cells) > _CELLS or sum(map(len, cells)) > _CODE:
        raise NotebookError("it has more code than a sheet can have")
    outputs = dict(_outputs(content))
    opening = next((claims for cell in cells if (claims := _opening(cell)) is not None), None)
    return ReturnedNotebook(
        cells=cells,
        metadata=_claims(told if isinstance(told, dict) else {}),
        code=opening or Claims(),
        opens=opening is not None,
        efforts={title: Effort.told(told) for title, told in outputs.items()},
        attempts={title: attempt_told(told) for title, told in outputs.items()},
    )


def _decoded(data: bytes) -> dict[str, Any]:
    if not data.strip():
        raise NotebookError("it is empty")
    if data.startswith(_OTHER_ARCHIVES):
        raise NotebookError("it is an archive of another kind than zip: unpack it, and mark what is in it")
    if data.startswith(b"PK"):
        raise NotebookError("it is no notebook, but a document or a damaged archive")
    try:
        content = decoded(data)
    except (ValueError, RecursionError):  # UnicodeDecodeError is a ValueError
        begun = data.lstrip().startswith(b"{") and b'"cells"' in data[:_BEGINNING]
        damaged = "it is no notebook that can be read, but the beginning of one: ask for it again"
        raise NotebookError(damaged if begun else "it is no notebook") from None
    if not isinstance(content, dict) or not (isinstance(content.get("cells"), list) or "worksheets" in content):
        raise NotebookError("it is no notebook")
    return content


def _claims(told: dict[str, Any]) -> Claims:
    def text(name: str) -> str:
        value = told.get(name)
        return value.strip()[:200] if isinstance(value, str) else ""

    numbers = told.get("numbers")
    pairs = numbers.items() if isinstance(numbers, dict) else ()
    shown = tuple((name, value) for name, value in pairs if isinstance(name, str) and isinstance(value, str))
    return Claims(
        learner=text("learner"), sheet=text("sheet"), bank=text("bank"), numbers=shown, retries=text("retries")
    )


def _code_of(content: dict[str, Any]) -> Iterator[str]:
    """Give the code cells, and cells of another type that hold an answer: a learner's slip of one key."""
    for cell in _cells(content):
        source = cell.get("source", cell.get("input", ""))  # format 3 said "input"
        if isinstance(source, list):
            source = "".join(part for part in source if isinstance(part, str))
        if not isinstance(source, str) or not source.strip():
            continue
        if cell.get("cell_type") == "code" or _retyped(source):
            yield source


def _cells(content: dict[str, Any]) -> Iterator[dict[str, Any]]:
    sheets = content.get("worksheets")  # where formats 2 and 3 keep them
    groups = [content.get("cells"), *(sheet.get("cells") for sheet in sheets or () if isinstance(sheet, dict))]
    for group in groups:
        yield from (cell for cell in group or () if isinstance(cell, dict))


def _outputs(content: dict[str, Any]) -> Iterator[tuple[str, dict[Any, object]]]:
    """Give what each verdict left in its saved output: the question, and what stands beside it."""
    for cell in _cells(content):
        outputs = cell.get("outputs")
        for output in outputs if isinstance(outputs, list) else ():
            match output:
                case {"metadata": {"labkit": {"question": str(question), **told}}}:
                    yield question, told


def _retyped(source: str) -> bool:
    begins = source.lstrip().startswith(("sheet.answer(", "from labkit import open_sheet", "sheet = open_sheet("))
    return begins and _parsed(source) is not None


def _parsed(source: str) -> ast.Module | None:
    if len(source) > _OPENING:
        return None
    plain = "\n".join("" if line.lstrip().startswith(("%", "!")) else line for line in source.split("\n"))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return ast.parse(plain)
    except (SyntaxError, ValueError, MemoryError, RecursionError):
        return None


def _opening(source: str) -> Claims | None:
    """Return what a cell's call of ``open_sheet`` says, if it has one; only plain texts are taken from it."""
    if "open_sheet" not in source or (tree := _parsed(source)) is None:
        return None
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id="open_sheet") | ast.Attribute(attr="open_sheet")):
                told = {word.arg: _literal(word.value) for word in node.keywords if word.arg}
                if node.args:
                    told["sheet"] = _literal(node.args[0])
                return _claims({"sheet": told.get("name"), **told})
    return None


def _literal(node: ast.expr) -> object:
    try:
        return ast.literal_eval(node)
    except (ValueError, TypeError, MemoryError, RecursionError):
        return None
