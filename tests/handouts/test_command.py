"""``labkit handout`` as it is typed."""

import json

import pytest

from labkit.cli import main
from labkit.handouts import paper


@pytest.fixture
def notebook(tmp_path, monkeypatch):
    """Return a small notebook's name in the working directory, in which nothing can make a PDF."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(paper, "printer", lambda: "")
    cells = [
        {"cell_type": "markdown", "source": "# Mine\n\nWords.", "metadata": {}},
        {"cell_type": "code", "source": "from labkit import check, generator_panel", "metadata": {}},
        {"cell_type": "code", "source": 'check("", "Current into a resistor")', "metadata": {}},
        {"cell_type": "code", "source": "generator_panel()", "metadata": {}},
    ]
    (tmp_path / "mine.ipynb").write_text(json.dumps({"cells": cells, "metadata": {}}), encoding="utf-8")
    return "mine.ipynb"


def test_a_learner_gets_no_answers_unless_asked_for(notebook, tmp_path, capsys):
    """Without options: the learner's copy alone, beside what was said of it."""
    assert main(["handout", notebook, "--form", "html"]) == 0

    assert capsys.readouterr().out == "Wrote mine-learner.html.\n"
    assert [path.name for path in tmp_path.glob("*.html")] == ["mine-learner.html"]


def test_both_copies_into_a_folder_at_a_stated_value(notebook, tmp_path):
    """The folder is made; the panel stands where it was told to."""
    assert (
        main(["handout", notebook, "--form", "html", "--copy", "both", "--folder", "out", "--at", "speed = 2000 rpm"])
        == 0
    )

    pages = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "out").iterdir()}
    assert set(pages) == {"mine-learner.html", "mine-teacher.html"}
    assert all("Speed of the shaft 2000 rpm" in page for page in pages.values())


def test_nothing_is_overwritten_unasked(notebook, capsys):
    """The second time it is refused with both ways out; with --replace it is done."""
    main(["handout", notebook, "--form", "html"])

    assert main(["handout", notebook, "--form", "html"]) == 1
    assert "mine-learner.html is there already. Name another folder, or write --replace." in capsys.readouterr().err
    assert main(["handout", notebook, "--form", "html", "--replace"]) == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["no.ipynb"], "There is no file no.ipynb. Check the path"),
        (["mine.ipynb", "--at", "2000 rpm"], "--at must be NAME=VALUE; got '2000 rpm'. Write it as in"),
        (["mine.ipynb", "--at", "Duty=60 %"], "--at must name a control of mine.ipynb; got 'Duty'. It has: Connected"),
    ],
)
def test_what_cannot_be_is_said_without_a_traceback(notebook, capsys, arguments, words):
    """Exit status 1, the value, and the remedy."""
    assert main(["handout", *arguments, "--form", "html"]) == 1

    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert notebook == "mine.ipynb"


def test_without_anything_that_makes_pdfs_the_html_is_made_and_it_is_said(notebook, tmp_path, capsys, monkeypatch):
    """No browser and no library: one sentence on the PDF, and the HTML all the same."""
    monkeypatch.setattr("labkit.handouts.printer", lambda: "")

    assert main(["handout", notebook]) == 0
    assert (tmp_path / "mine-learner.html").is_file()
    assert 'No PDF: it needs Chromium, or pip install "labkit[handout]".' in capsys.readouterr().err
    assert main(["handout", notebook, "--form", "pdf", "--folder", "out"]) == 1
    assert "Neither is here" in capsys.readouterr().err
