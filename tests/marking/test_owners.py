"""Finding whose a notebook is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from labkit.marking.notebooks import Claims, ReturnedNotebook
from labkit.marking.owners import OwnerError, Owners
from labkit.problems import BANK
from labkit.sheets import Learner

OWNERS = Owners([Learner("amber-17", "tuesday"), Learner("amber-1"), Learner("Jade 2"), Learner("opal")])


def _notebook(
    *, metadata: str = "", code: str = "", sheet: str = "generator-action", bank: str = "2026-11"
) -> ReturnedNotebook:
    return ReturnedNotebook(
        cells=(), metadata=Claims(learner=metadata, sheet=sheet, bank=bank), code=Claims(learner=code), opens=True
    )


@pytest.mark.parametrize(
    ("notebook", "path", "learner"),
    [
        (_notebook(metadata="amber-17"), "x.ipynb", "amber-17"),
        (_notebook(code="amber-17"), "x.ipynb", "amber-17"),
        (_notebook(), "generator-action-amber-17 (2).ipynb", "amber-17"),
        (_notebook(), "all.zip/jade_2/homework.ipynb", "Jade 2"),
        (_notebook(metadata="JADE 2"), "amber/x.ipynb", "Jade 2"),
        (_notebook(code="practice"), "opal.ipynb", "opal"),
        (_notebook(metadata="amber-17"), "amber-1 and amber-17.ipynb", "amber-17"),
    ],
    ids=["metadata", "code", "name", "folder", "capitals", "practice", "name says two"],
)
def test_who(notebook: ReturnedNotebook, path: str, learner: str) -> None:
    """Metadata, the opening call, or the path say whose it is, however it is written; the id is the class list's."""
    assert OWNERS.find(notebook, path).learner.id == learner


@pytest.mark.parametrize(
    ("notebook", "path", "reason"),
    [
        (_notebook(), "homework.ipynb", "nothing in it says whose it is"),
        (_notebook(metadata="ruby-9"), "homework.ipynb", "'ruby-9' is not in the class list"),
        (_notebook(metadata="amber-17", code="opal"), "x", "its metadata says amber-17, its code says opal"),
        (_notebook(metadata="amber-17", code="amber-17"), "opal/x", "its code says amber-17, its name says opal"),
        (_notebook(metadata="opal", sheet="no-such-sheet"), "x", "no sheet 'no-such-sheet'; one of a private bank"),
        (_notebook(metadata="opal", sheet=""), "x", "nothing in it says which sheet it is"),
    ],
    ids=["nobody", "stranger", "two in it", "two with its name", "no such sheet", "no sheet"],
)
def test_who_it_cannot_be_said(notebook: ReturnedNotebook, path: str, reason: str) -> None:
    """A notebook of nobody in the class, or of two, is not marked, and the reason says what it names."""
    with pytest.raises(OwnerError, match=reason):
        OWNERS.find(notebook, path)


def test_a_pair_may_both_be_named() -> None:
    """A sheet of one in a folder of the other is theirs where the class list has them as a pair, of its own learner."""
    pair = [Learner("amber-17", "tuesday", "bench 4"), Learner("opal", "tuesday", "bench 4")]
    others = [Learner("jade", "wednesday", "bench 4"), Learner("ruby", "tuesday")]
    owners = Owners([*pair, *others])
    assert owners.find(_notebook(metadata="amber-17"), "opal/x.ipynb").learner.id == "amber-17"
    for other in ("jade", "ruby"):
        with pytest.raises(OwnerError, match="names different learners"):
            owners.find(_notebook(metadata="amber-17"), f"{other}/x.ipynb")


@pytest.mark.parametrize(
    ("path", "learner"),
    [
        ("17.ipynb", "17"),
        ("17/homework.ipynb", "17"),
        ("generator-action-17.ipynb", "17"),
        ("all.zip/17/sheet 3.ipynb", "17"),
        ("week 3/generator-action-17.ipynb", "17"),
        ("homework 3.ipynb", ""),
        ("week 3/homework.ipynb", ""),
        ("2026-11-3/17 homework.ipynb", ""),
    ],
)
def test_an_id_that_is_a_number_alone(path: str, learner: str) -> None:
    """A number names a learner where it stands alone or behind the sheet's name; "week 3" names nobody."""
    numbered = Owners([Learner(str(number)) for number in range(1, 31)])
    assert numbered.find(_notebook(metadata="17", code="17"), path).learner.id == "17"
    if learner:
        assert numbered.find(_notebook(), path).learner.id == learner
    else:
        with pytest.raises(OwnerError, match="nothing in it says whose it is"):
            numbered.find(_notebook(), path)
    with pytest.raises(OwnerError, match="its name says 5"):
        numbered.find(_notebook(metadata="17"), "5/homework.ipynb")


def test_the_sheet_by_the_file_name() -> None:
    """Where nothing inside names the sheet, the file's name does; so is a lesson called, which answers nothing."""
    unnamed = replace(_notebook(sheet=""), cells=('sheet.answer("Loss while on", "0.2 W")',))
    assert OWNERS.find(unnamed, "driver-dissipation-opal.ipynb").sheet == "driver-dissipation"
    with pytest.raises(OwnerError, match="no cell in it answers a question of a sheet: is it the lesson"):
        OWNERS.find(_notebook(sheet=""), "opal 06-driver-dissipation.ipynb")


@pytest.mark.parametrize("bank", ["", "2999-01", "../../x", "0000-01", "2026-11' OR 1"])
def test_only_a_version_of_the_bank_that_is_known(bank: str) -> None:
    """A version that is none, or still to come, is not believed: the present one is taken, and it is said."""
    owner = OWNERS.find(_notebook(metadata="opal", bank=bank), "x")
    assert owner.bank == BANK
    assert f"{BANK} was taken" in owner.notes[0]
