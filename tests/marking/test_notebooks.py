"""Reading a returned notebook, in whatever state it comes back."""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from typing import Any

import nbformat
import pytest

from labkit.marking.notebooks import Claims, NotebookError, read_notebook

OPENING = 'sheet = open_sheet("generator-action", learner="amber-17", group="tuesday", bank="2026-11")'


def _bytes(cells: list[dict[str, Any]], **metadata: object) -> bytes:
    return json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": metadata, "cells": cells}).encode()


def _code(source: object, kind: str = "code") -> dict[str, Any]:
    return {"cell_type": kind, "metadata": {}, "source": source}


def test_a_sheet_as_it_was_written(classroom: Any) -> None:
    """A sheet that ``labkit sheets`` wrote says in its metadata and in its code whose it is; nine cells hold code."""
    notebook = read_notebook(json.dumps(classroom.notebook("amber-17")).encode())
    permit = classroom.sheet("amber-17").retries
    claimed = Claims(learner="amber-17", sheet="generator-action", bank="2026-11", retries=permit)
    assert len(permit) == 32
    assert notebook.metadata == claimed
    assert replace(notebook.code, numbers=()) == claimed
    assert dict(notebook.code.numbers)["speed"].endswith(" rpm")
    assert notebook.opens
    assert len(notebook.cells) == 9


def test_formats_two_and_three() -> None:
    """The older formats keep cells in worksheets and call the source ``input``; both are read."""
    old = {"nbformat": 3, "worksheets": [{"cells": [{"cell_type": "code", "input": [OPENING, "\nsheet"]}]}]}
    notebook = read_notebook(json.dumps(old).encode())
    assert notebook.cells == (f"{OPENING}\nsheet",)
    assert notebook.code.learner == "amber-17"


@pytest.mark.filterwarnings("ignore::nbformat.warnings.MissingIDFieldWarning")
@pytest.mark.parametrize("minor", range(6))
def test_every_format_four(classroom: Any, minor: int) -> None:
    """A sheet saved in any of the formats 4.0 to 4.5, as the format's own library writes it, gives the same code."""
    book = nbformat.from_dict(classroom.notebook("amber-17"))
    book.nbformat_minor = minor
    if minor < 5:
        for cell in book.cells:
            cell.pop("id", None)
    notebook = read_notebook(nbformat.writes(book).encode())
    assert notebook.cells == read_notebook(json.dumps(classroom.notebook("amber-17")).encode()).cells
    assert notebook.metadata.learner == notebook.code.learner == "amber-17"


@pytest.mark.filterwarnings("ignore::nbformat.warnings.MissingIDFieldWarning")
@pytest.mark.parametrize("version", [3, 2])
def test_a_sheet_turned_into_an_older_format(classroom: Any, version: int) -> None:
    """The format's own library turns a sheet into format 3 or 2; its code is read all the same, and whose it is."""
    book = nbformat.convert(nbformat.from_dict(classroom.notebook("amber-17")), 3)
    if version == 2:
        book["nbformat"], book["nbformat_minor"] = 2, 0
    notebook = read_notebook(json.dumps(book).encode())
    assert notebook.cells == read_notebook(json.dumps(classroom.notebook("amber-17")).encode()).cells
    assert notebook.code.learner == "amber-17"


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_other_codings(classroom: Any, coding: str) -> None:
    """A notebook that an editor saved with a mark, or in UTF-16, is read; a half of a sign becomes a question mark."""
    text = json.dumps(classroom.notebook("amber-17"), ensure_ascii=False).replace(
        "sheet.answer", "'\\ud800'; sheet.answer"
    )
    notebook = read_notebook(text.encode(coding))
    assert notebook.code.learner == "amber-17"
    assert notebook.cells[1].startswith("'?'; sheet.answer")


def test_tries_are_read_from_saved_outputs() -> None:
    """What outputs say of tries is read where it has the right shape; anything else there is passed over."""
    good = {"output_type": "display_data", "metadata": {"labkit": {"question": "q", "tries": 2, "seconds": 90}}}
    odd = [None, 5, {}, {"metadata": None}, {"metadata": {"labkit": {"question": 5}}}, {"metadata": {"labkit": "x"}}]
    bad = {"metadata": {"labkit": {"question": "r", "tries": "many", "seconds": -1}}}
    cells = [_code(OPENING) | {"outputs": [*odd, good, bad]}, _code("x") | {"outputs": "none"}]
    assert read_notebook(_bytes(cells)).efforts == {"q": (2, 90), "r": (0, 0)}


def test_an_answer_cell_turned_into_text_still_counts() -> None:
    """A cell that became Markdown or raw by a slip of one key is run when it is an answer; prose is not."""
    answer = 'sheet.answer("Generator EMF at this speed", "1.8 V")'
    cells = [_code(OPENING, "raw"), _code(answer, "markdown"), _code("sheet.answer( is how you answer", "markdown")]
    assert read_notebook(_bytes(cells)).cells == (OPENING, answer)


def test_an_opening_beside_magics() -> None:
    """Lines that only Jupyter understands do not hide the call that opens the sheet."""
    notebook = read_notebook(_bytes([_code(f"%matplotlib inline\n!ls\n{OPENING}")]))
    assert notebook.code.sheet == "generator-action"


def test_claims_are_plain_texts() -> None:
    """Only literal texts are taken from the call: an expression is not evaluated, and claims nothing."""
    notebook = read_notebook(_bytes([_code('open_sheet(print("no"), learner="a" + "b", bank=open("x").read())')]))
    assert notebook.opens
    assert notebook.code == Claims()


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "it is empty"),
        (b"\xff\xfe\x00", "it is no notebook"),
        (b"learner,mark\n", "it is no notebook"),
        (b"[" * 100_000, "it is no notebook"),
        (b'{"cells": 5}', "it is no notebook"),
        (b'{"cells": [{"cell_type": "code", "sou', "the beginning of one: ask for it again"),
        (gzip.compress(b"{}"), "it is an archive of another kind than zip: unpack it"),
        (b"PK\x03\x04" + bytes(40), "it is no notebook, but a document or a damaged archive"),
        (b'{"cells": [], "metadata": 1' + b"0" * 5_000 + b"}", "it is no notebook"),
        (_bytes([_code("x = 1")] * 2_001), "it has more code than a sheet can have"),
        (_bytes([_code("#" * 3_000_000)]), "it has more code than a sheet can have"),
    ],
    ids=[
        "empty",
        "binary",
        "table",
        "deep",
        "cells no list",
        "cut off",
        "archive",
        "half an archive",
        "long integer",
        "many cells",
        "much code",
    ],
)
def test_files_that_are_no_notebook(data: bytes, reason: str) -> None:
    """A file that is no notebook, or too much of one, is refused with the reason."""
    with pytest.raises(NotebookError, match=reason):
        read_notebook(data)


@pytest.mark.parametrize(
    "cells",
    [
        [1, None, "text", [], {}],
        [{"cell_type": "code"}, {"cell_type": "code", "source": 5}, {"cell_type": ["code"], "source": {}}],
        [{"cell_type": "code", "source": [1, None]}],
    ],
    ids=["no cells", "no source", "no text"],
)
def test_malformed_cells_are_passed_over(cells: list[Any]) -> None:
    """Cells that are none are passed over, and the rest of the notebook is read."""
    notebook = read_notebook(_bytes([*cells, _code(OPENING)], labkit=["no", "claims"]))
    assert notebook.cells == (OPENING,)
    assert notebook.metadata == Claims()


@pytest.mark.parametrize(
    "source",
    [
        "open_sheet(" + "(" * 5_000,
        "open_sheet(" + "-" * 9_000 + "1)",
        "open_sheet(x" + ".a" * 9_000 + ")",
        "open_sheet(\0)",
    ],
    ids=["brackets", "signs", "attributes", "zero byte"],
)
def test_code_made_to_break_the_reader(source: str) -> None:
    """Code that is deeper than Python's own parser bears opens no sheet, and does no harm to who reads it."""
    notebook = read_notebook(_bytes([_code(source)]))
    assert notebook.code == Claims()
