"""Sheets as notebooks: what they hold, what they do not, and that they run."""

from __future__ import annotations

import json
import re
from pathlib import Path

import nbformat
import pytest

from labkit.cli import main
from labkit.errors import SheetError
from labkit.problems import plan, plans
from labkit.sheets import Learner, new_key, personal_sheet, read_key, sheet_notebook, write_sheets
from labkit.sheets.notebook import practice_notebook

ROOT = Path(__file__).parents[2]
SHIPPED = sorted((ROOT / "exercises").glob("*.ipynb"))
KEY = b"k" * 32
EACH = pytest.mark.parametrize("sheet_plan", plans(), ids=lambda sheet_plan: sheet_plan.name)


def _cells(text, kind):
    return [cell for cell in nbformat.reads(text, as_version=4).cells if cell.cell_type == kind]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_practice_sheet_is_what_the_bank_writes(path):
    """Each shipped sheet is byte for byte what the bank writes today, under the lesson's number and name."""
    number, _, name = path.stem.partition("-")
    sheet_plan = plan(name)

    assert int(number) == sheet_plan.number
    assert path.read_text(encoding="utf-8") == practice_notebook(sheet_plan)


def test_a_sheet_of_each_lesson_is_shipped():
    """All twelve lessons have a practice sheet in the kit."""
    assert {path.stem for path in SHIPPED} == {f"{plan.number:02}-{plan.name}" for plan in plans()}
    assert len(SHIPPED) == 12


def test_the_command_writes_the_practice_sheets(tmp_path, capsys):
    """One command writes what is shipped, the same bytes; it overwrites nothing that somebody worked in."""
    arguments = ["sheets", "--practice", "--folder", str(tmp_path / "out")]

    assert main(arguments) == 0
    assert "Wrote 12 practice sheets" in capsys.readouterr().out
    written = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert written == {path.name: path.read_bytes() for path in SHIPPED}
    (tmp_path / "out" / "01-pin-limits.ipynb").write_text("worked in")
    assert main(arguments) == 1
    assert "another file" in capsys.readouterr().err
    assert main(["sheets", "--practice"]) == 2


@EACH
def test_a_personal_sheet_has_each_question_written_out_and_one_cell_to_answer(sheet_plan):
    """The wording stands in Markdown with the learner's numbers, and below it one cell with an empty answer."""
    sheet = personal_sheet(sheet_plan.name, learner="amber-17", group="t", key=KEY)
    text = sheet_notebook(sheet)
    sources = [cell.source for cell in _cells(text, "code")]
    prose = "\n".join(cell.source for cell in _cells(text, "markdown"))

    assert [source.partition(', "')[0] for source in sources[1:]] == [
        f'sheet.answer("{title}"' for title in sheet.titles
    ]
    for title in sheet.titles:
        assert sheet.asked(title).splitlines()[0].replace("*", "\\*") in prose
    assert text == sheet_notebook(personal_sheet(sheet_plan.name, learner="amber-17", group="t", key=KEY))


@EACH
def test_each_cell_as_handed_out_is_unanswered(sheet_plan):
    """Run as it stands, each cell shows its question: an empty text, or a blank of several lines to fill in."""
    sheet = personal_sheet(sheet_plan.name, learner="amber-17", key=KEY)
    for source in [cell.source for cell in _cells(sheet_notebook(sheet), "code")][1:]:
        verdict = eval(source, {"sheet": sheet})
        assert verdict.outcome == "unanswered", source
        assert verdict.tries == 0


def test_a_picture_stands_in_the_sheet_and_readings_as_they_are():
    """A plot is in the Markdown above its cell, with alt text; readings keep their lines."""
    text = sheet_notebook(personal_sheet("switching-off", learner="amber-17", key=KEY))
    prose = "\n".join(cell.source for cell in _cells(text, "markdown"))
    own = "\n".join(
        cell.source for cell in _cells(sheet_notebook(personal_sheet("own-motor", learner="a", key=KEY)), "markdown")
    )

    assert '<img src="data:image/svg+xml;base64,' in prose
    assert 'alt="Current in a held motor' in prose
    assert re.search(r"```text\nvoltmeter: .*\ntable: generator\nspeed \[rpm\], voltage \[V\]\n\d+, 0\.\d+\n", own)
    assert "clamp it" in own


@EACH
def test_a_sheet_shows_neither_key_nor_answer(sheet_plan):
    """No form of the key, no formula and no worked answer stands in the file."""
    sheet = personal_sheet(sheet_plan.name, learner="amber-17", group="t", key=KEY)
    text = sheet_notebook(sheet)
    worked = [question.worked_lines(sheet.own)[-1] for question in sheet.plan.questions]
    formulas = [question.formula for question in sheet.plan.questions if question.formula]

    assert KEY.hex() not in text
    assert KEY.decode() not in text
    assert not [line for line in worked + formulas if line in text]
    assert all(cell["outputs"] == [] for cell in json.loads(text)["cells"] if cell["cell_type"] == "code")


def test_text_of_a_class_list_cannot_become_code():
    """An id with quotes, backslashes or brackets stays text in the cell that opens the sheet."""
    nasty = 'a"); print("x\\'
    sheet = personal_sheet("generator-action", learner=nasty, group='"', key=KEY)
    opening = _cells(sheet_notebook(sheet), "code")[0].source
    seen = {}
    exec(opening.replace("from labkit import open_sheet", ""), {"open_sheet": lambda *_, **given: seen.update(given)})

    assert seen["learner"] == nasty
    assert seen["group"] == '"'


def test_a_sheet_runs_as_handed_out_and_with_answers(tmp_path, run_notebook):
    """Run in a kernel, the sheet shows its questions, and a right answer is met with the word."""
    sheet = personal_sheet("duty-speed-control", learner="amber-17", group="t", key=KEY)
    duty = float(sheet.numbers["count"]) / float(sheet.numbers["top"])
    text = sheet_notebook(sheet).replace(
        '(\\"Duty of this number\\", \\"\\")', f'(\\"Duty of this number\\", \\"{duty:.3f}\\")'
    )
    book = nbformat.reads(text, as_version=4)
    run_notebook(book, tmp_path)
    shown = [cell.outputs[0]["data"] for cell in book.cells if cell.cell_type == "code"]

    assert [path.name for path in tmp_path.iterdir()] == ["duty-speed-control-amber-17.tries"]
    counted = [cell.outputs[0]["metadata"] for cell in book.cells if cell.cell_type == "code"]
    assert counted[1]["labkit"] == {"question": "Duty of this number", "tries": 1, "seconds": 0}
    assert counted[2] == {}
    assert "✓ right" in shown[1]["text/html"]
    assert "○ not answered yet" in shown[2]["text/plain"]
    assert sheet.numbers["voltage"] in shown[2]["text/html"]


def test_one_notebook_a_learner_the_same_bytes_each_time(tmp_path):
    """The command writes a sheet for each learner, twice the same, and says how many."""
    learners = [Learner("Amber 17", "t"), Learner("teal-3", "t")]
    paths = write_sheets(learners, sheet="generator-action", key=KEY, folder=tmp_path / "out")
    first = [path.read_bytes() for path in paths]

    assert [path.name for path in paths] == ["generator-action-amber_17.ipynb", "generator-action-teal-3.ipynb"]
    assert first[0] != first[1]
    assert [
        p.read_bytes() for p in write_sheets(learners, sheet="generator-action", key=KEY, folder=tmp_path / "out")
    ] == first


def test_a_filled_sheet_is_never_overwritten(tmp_path):
    """A file in the way that somebody has worked in stays as it is."""
    learners = [Learner("teal-3", "t")]
    (path,) = write_sheets(learners, sheet="generator-action", key=KEY, folder=tmp_path)
    path.write_text("worked in")
    with pytest.raises(SheetError, match="another file"):
        write_sheets(learners, sheet="generator-action", key=KEY, folder=tmp_path)
    assert path.read_text() == "worked in"


def test_the_command_from_key_to_sheets(tmp_path, capsys):
    """A key, a class list, a folder of assessed sheets: three commands' worth, and the key is never printed."""
    key, listing, out = tmp_path / "key", tmp_path / "class.csv", tmp_path / "out"
    listing.write_text("id,group\namber-17,t\nteal-3,t\n")

    assert main(["sheets", "--new-key", str(key)]) == 0
    common = ["sheets", str(listing), "--sheet", "generator-action", "--key", str(key), "--folder", str(out)]
    assert main([*common, "--assessed"]) == 0
    said = capsys.readouterr()

    assert "Wrote 2 assessed sheets" in said.out
    assert main([*common[:-1], str(tmp_path / "practice")]) == 0
    assert "Wrote 2 practice sheets" in capsys.readouterr().out
    assert key.read_text().strip() not in said.out + said.err
    texts = [path.read_text(encoding="utf-8") for path in sorted(out.iterdir())]
    assert len(texts) == 2
    assert all("assessed=True" in text and key.read_text().strip() not in text for text in texts)
    expected = personal_sheet("generator-action", learner="amber-17", group="t", key=read_key(key)).numbers
    assert all(f'\\"{name}\\": \\"{value}\\"' in texts[0] for name, value in expected.items())


@pytest.mark.parametrize(
    ("arguments", "status", "said"),
    [
        ([], 2, "needs a class list"),
        (["{list}"], 2, "needs --sheet"),
        (["{list}", "--sheet", "nope", "--key", "{key}", "--folder", "{out}"], 1, "There is no sheet 'nope'"),
        (["missing.csv", "--sheet", "generator-action", "--key", "{key}", "--folder", "{out}"], 1, "missing.csv"),
        (["{list}", "--sheet", "generator-action", "--key", "{list}", "--folder", "{out}"], 1, "holds no key"),
    ],
)
def test_the_command_says_what_it_needs(tmp_path, capsys, arguments, status, said):
    """What is missing or unknown is named in one line, and nothing is written."""
    listing, key, out = tmp_path / "class.csv", tmp_path / "key", tmp_path / "out"
    listing.write_text("id\namber-17\n")
    new_key(key)
    filled = [argument.format(list=listing, key=key, out=out) for argument in arguments]

    assert main(["sheets", *filled]) == status
    assert said in capsys.readouterr().err
    assert not out.exists()


def test_prose_is_one_sentence_a_line():
    """The shipped sheets keep one sentence a line in Markdown where they are not a question's wording."""
    for sheet_plan in plans():
        intro = _cells(practice_notebook(sheet_plan), "markdown")[0].source
        for line in intro.splitlines():
            if line != sheet_plan.about:
                assert not re.search(r"[.!?] [A-Z]", line), line
