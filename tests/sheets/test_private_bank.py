"""A teacher's private bank: read from a folder, carried by sheets without answers, marked by its owner only."""

from __future__ import annotations

import json
import re
from pathlib import Path

import nbformat
import pytest

from labkit.cli import main
from labkit.errors import SheetError
from labkit.problems import bank, check, newest, plan, sheet_names, use_private_bank
from labkit.sheets import new_key, personal_sheet, read_key, sheet_notebook, sheet_opening

BANK = '''
"""Two questions that only the club has."""

from labkit.checks import Lesson, Mistake, Option, Parts, Question, Symbol, Value
from labkit.parts import desk_wind_tunnel
from labkit.problems import SheetPlan

SHEET = SheetPlan(
    name="club-evening",
    lesson=Lesson(number=20, title="Club evening"),
    about="On {voltage}.",
    since="2027-01",
    values=(
        Value.stepped("voltage", "the supply", "V", least="4.0", most="9.0", step="0.5", reference="6.0"),
        Value.stepped("resistance", "a {resistor}", "ohm", least="20", most="40", step="1", reference="30"),
    ),
    questions=(
        Question(
            title="Club current", wording="Which current does {voltage} drive through {resistance}?", unit="mA",
            answer=lambda n: n.voltage / n.resistance, kit=(), why="Secret why.", hints=("Secret hint.",),
            mistakes=(Mistake("turned over", "R is divided by V", lambda n: n.resistance / n.voltage),),
        ),
        Question(
            title="Club choice", wording="Which?", kit=(),
            options=(Option("The left one.", "left", "Secret because."), Option("The right one.")),
            reasons=(Option("it is.", "it is", "No."), Option("it has to be.")),
        ),
        Question(
            title="Club formula", wording="Power in {{braces}}?", unit="W", kit=(), formula="secret",
            symbols=(Symbol("V", "the voltage", "V", 2.0, 9.0), Symbol("R", "the resistor", "ohm", 2.0, 9.0)),
            answer=lambda n: n.V**2 / n.R,
        ),
        Question(
            title="Club design", wording="Choose.", kit=("review",),
            parts=Parts(names=("diode", "pull-down"), around=lambda _: desk_wind_tunnel(), example="secret"),
        ),
    ),
)
SHEETS = (SHEET,)
'''
LATER = BANK.replace("SHEETS = (SHEET,)", 'SHEETS = (SHEET, SHEET.later("2027-09"))')


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return the folder of the private bank, and forget it afterwards; what a sheet writes goes beside it."""
    monkeypatch.chdir(tmp_path)
    place = tmp_path / "private"
    place.mkdir()
    (place / "club.py").write_text(BANK)
    yield place
    bank._PLANS = bank._SHIPPED
    bank.plans.cache_clear()


def test_a_private_bank_is_held_beside_the_kits(folder):
    """Its sheets are found by name with today's version and with their own; the kit's stay as they are."""
    before = sheet_names()
    use_private_bank(folder)

    assert set(sheet_names()) - set(before) == {"club-evening"}
    assert newest("club-evening") == "2027-01"
    assert newest("generator-action") == bank.BANK
    assert plan("club-evening").title == plan("club-evening", "2027-01").title == "Club evening"


def test_a_later_version_still_marks_an_earlier_sheet(folder):
    """A sheet of January is drawn and judged by January's plan once September's is there."""
    use_private_bank(folder)
    numbers = personal_sheet("club-evening", learner="a", bank="2027-01", key=b"k" * 32).numbers
    (folder / "club.py").write_text(LATER)
    use_private_bank(folder)

    assert newest("club-evening") == "2027-09"
    assert personal_sheet("club-evening", learner="a", bank="2027-01", key=b"k" * 32).numbers == numbers
    assert personal_sheet("club-evening", learner="a", bank="2027-09", key=b"k" * 32).numbers != numbers


def test_a_sheet_carries_what_is_asked_and_no_answer(folder):
    """A kit that does not know the bank opens the sheet, tells kinds apart and records; no answer is in the file."""
    use_private_bank(folder)
    sheet = personal_sheet("club-evening", learner="a", bank="2027-01", key=b"k" * 32, assessed=True)
    text, opening = sheet_notebook(sheet), sheet_opening(sheet)
    bank._PLANS = bank._SHIPPED
    bank.plans.cache_clear()
    seen = {}
    exec(opening, seen)
    own = seen["sheet"]

    assert "ecret" not in text
    assert own.assessed
    assert own.titles == sheet.titles
    assert own.answer("Club current", "").comment.startswith(f"Which current does {sheet.numbers['voltage']} drive")
    assert own.answer("Club formula", "").comment.startswith("Power in {braces}?")
    given = {
        "Club current": "200 mA",
        "Club choice": "a 1",
        "Club formula": "V*R",
        "Club design": "diode = none; pull-down = 1 kohm",
    }
    outcomes = {title: own.answer(title, answer).outcome for title, answer in given.items()}
    assert outcomes == {title: "refused" if title == "Club formula" else "recorded" for title in given}
    assert own.answer("Club current", "200 V").outcome == "refused"
    assert own.plan.kit == {"review"}


def test_an_opening_that_was_broken_says_where_to_take_a_good_one():
    """Questions that were cut in the opening cell are named."""
    from labkit import open_sheet

    with pytest.raises(SheetError, match="opening cell cannot be read"):
        open_sheet("club-evening", numbers={}, questions=[{"asked": "?"}])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("SHEETS = 3", r"must have SHEETS, a tuple of SheetPlan; got 3"),
        ("\n\n1/0", r"own.py, line 3: ZeroDivisionError"),
        ("def (", r"own.py, line 1: SyntaxError"),
        (BANK.replace('"club-evening"', '"generator-action"'), r"'generator-action' is taken by labkit's own bank"),
        (BANK.replace('"Club current"', '"Free speed"'), r"'Free speed' is taken by running-motor"),
        (BANK.replace('"2027-01"', '"spring"'), r"since must be a year and a month.*got 'spring'"),
        (BANK.replace("n.resistance / n.voltage", "n.voltage / n.resistance"), r"'Club current' lies nearer"),
        (BANK.replace("{resistance}?", "{resistor}?"), r"does not draw"),
    ],
)
def test_a_bank_that_cannot_be_used_says_what_to_mend(folder, text, said):
    """The file, the line and the fault are named, and the bank stays as it was."""
    (folder / "club.py").unlink()
    (folder / "own.py").write_text(text)
    before = sheet_names()
    with pytest.raises(SheetError, match=said):
        use_private_bank(folder)
    assert sheet_names() == before


def test_hidden_files_beside_a_bank_are_none_of_it(folder):
    """On a stick or a network drive macOS puts one before each file that it copies, in its own kind of bytes."""
    (folder / "._club.py").write_bytes(b"\x00\x05\x16\x07\x00\x02\x00\x00Mac OS X")

    use_private_bank(folder)

    assert newest("club-evening") == "2027-01"


def test_the_bank_in_the_developers_page_works(folder):
    """What the page shows as an example is taken as it stands; 6 V through 33 Ω are 182 mA (worked by hand)."""
    page = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    (folder / "club.py").write_text(
        re.search(r"```python\n(# my-bank/club\.py\n.*?)```", page, re.DOTALL)[1], encoding="utf-8"
    )
    use_private_bank(folder)

    assert check("182 mA", "Current through the club's resistor").right
    assert check("5.5 A", "Current through the club's resistor").slip == "turned over"


def test_no_folder_and_no_file_are_named(tmp_path):
    """A folder that is missing or empty is no bank."""
    with pytest.raises(SheetError, match="There is no folder"):
        use_private_bank(tmp_path / "missing")
    with pytest.raises(SheetError, match="holds no bank"):
        use_private_bank(tmp_path)


def test_from_bank_to_marks(folder, tmp_path, capsys):
    """Sheets are made with --bank and marked with --bank; never from a bank among what learners handed in."""
    listing, key, out = tmp_path / "class.csv", tmp_path / "key", tmp_path / "out"
    listing.write_text("id,group\namber-17,t\n")
    new_key(key)
    made = ["sheets", str(listing), "--sheet", "club-evening", "--key", str(key), "--folder", str(out)]
    assert main(made) == 1  # without its bank there is no such sheet
    assert main([*made, "--bank", str(folder)]) == 0
    (path,) = out.iterdir()
    sheet = personal_sheet("club-evening", learner="amber-17", group="t", bank="2027-01", key=read_key(key))
    size = float(sheet.numbers["voltage"].split()[0]) / float(sheet.numbers["resistance"].split()[0])
    book = nbformat.read(path, as_version=4)
    assert json.loads(path.read_text())["metadata"]["labkit"]["bank"] == "2027-01"
    for cell in book.cells:
        cell.source = cell.source.replace('("Club current", "")', f'("Club current", "{1000 * size:.4g} mA")')
        cell.source = cell.source.replace('("Club formula", "")', '("Club formula", "V^2/R")')
    nbformat.write(book, path)

    inside = ["mark", str(out), "--class-list", str(listing), "--key", str(key), "--bank", str(out)]
    assert main(inside) == 2
    assert "outside the folder of returned sheets" in capsys.readouterr().err
    marked = _marked(sheet, book)
    assert [verdict.outcome for verdict in marked.values()] == ["right", "unanswered", "right", "unanswered"]


def _marked(sheet, book):
    """Judge the notebook's answers as the marker does, from what stands in its cells."""
    calls = (re.fullmatch(r'sheet\.answer\("(.+?)", "(.*)"\)', cell.source) for cell in book.cells)
    return sheet.judge_all({call[1]: call[2] for call in calls if call})
