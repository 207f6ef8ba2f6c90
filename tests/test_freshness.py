"""Cells run out of order, twice, and after their input changed: stale input is said to be stale."""

import time

import nbformat
import pytest
from nbclient.exceptions import CellExecutionError

from labkit import demo_bench
from labkit.freshness import Freshness


class Notebook:
    """A namespace and the cells of a notebook, run in any order; what is said is kept, the last word of each place."""

    def __init__(self):
        self.names = {}
        self.said = {}
        self.freshness = Freshness(self.names, lambda words, place, _update: self.said.update({place: words}))
        self.count = 0

    def run(self, source):
        """Run one cell, and return what was said that was not said before."""
        self.count += 1
        before = dict(self.said)
        self.freshness.begin(source, source)
        exec(source, self.names)
        self.freshness.end(f"[{self.count}]")
        return [words for place, words in self.said.items() if before.get(place) != words]


@pytest.fixture
def notebook():
    """Return a notebook in which nothing was run."""
    return Notebook()


class Ear:
    """Hears what a panel would."""

    def __init__(self, freshness):
        self.heard = []
        self.freshness = freshness

    def open(self):
        """Be made by the running cell, as a panel is."""
        self.freshness.listen(self.hear)
        return self

    def hear(self, words):
        """Take a sentence."""
        self.heard.append(words)


def test_from_the_top_down_nothing_is_said(notebook):
    """In order, and the whole of it twice: no word."""
    cells = ["readings = [1.0, 2.0]", "fit = sum(readings)", "shown = fit * 2", "fit"]

    assert [notebook.run(cell) for cell in cells + cells] == [[]] * 8


def test_a_value_made_anew_says_which_cells_are_old(notebook):
    """Readings that change make old what was made from them, directly and by way of the fit."""
    for cell in ("readings = [1.0, 2.0]", "fit = sum(readings)", "fit"):
        notebook.run(cell)

    said = notebook.run("readings = [1.0, 5.0]")

    assert said == ["what cells [2], [3] show rests on the values before. Run them again."]


def test_a_long_notebook_is_looked_through_in_no_time(notebook):
    """Thirty cells that each rest on two names of the one before have a thousand million ways through; none is walked.

    The same is said as of a short one: all that come after the changed cell are old.
    """
    notebook.run("a, b = [1.0], [2.0]")
    for n in range(1, 31):
        before = "" if n == 1 else n - 1
        notebook.run(f"a{n}, b{n} = [sum(a{before}) + sum(b{before})], list(b{before})")

    start = time.process_time()
    (said,) = notebook.run("a, b = [1.0], [7.0]")

    assert time.process_time() - start < 1.0
    assert said.startswith("what cells [2], [3], ")
    assert ", [31] show rests" in said


def test_the_list_shrinks_as_they_are_run_again(notebook):
    """What was said is taken back in its own place once it is mended."""
    notebook.run("readings = [1.0, 2.0]")
    notebook.run("fit = sum(readings)")
    notebook.run("shown = fit * 2")
    notebook.run("readings = [4.0]")

    assert notebook.run("fit = sum(readings)") == ["what cell [3] shows rests on the values before. Run it again."]
    assert notebook.run("shown = fit * 2") == [""]


def test_a_cell_that_reads_an_old_value_says_so_itself(notebook):
    """Whoever jumps over the fit after new readings is told in the cell that they look at."""
    notebook.run("readings = [1.0, 2.0]")
    notebook.run("fit = sum(readings)")
    notebook.run("readings = [4.0]")

    (said,) = notebook.run("answer = fit + 1")

    assert said.startswith("fit was made from something that has changed since. Run the cell that makes fit again")


def test_the_same_content_again_makes_nothing_old(notebook):
    """A cell that is run twice gives another object with the same numbers: no alarm."""
    notebook.run("readings = [1.0, 2.0]")
    notebook.run("fit = sum(readings)")

    assert notebook.run("readings = [1.0, 2.0]  # the same file, read again") == []


def test_a_panel_hears_it_and_hears_when_it_is_fresh_again(notebook):
    """Something that shows in place is told in place; when the old value comes back, that is told too."""
    ear = notebook.names["ear"] = Ear(notebook.freshness)
    notebook.run("motor = (2.8, 5.4)")
    notebook.run("panel = ear.open(); used = motor")
    notebook.run("motor = (3.9, 5.4)")
    assert ear.heard[-1] == "motor changed after this was made. Run this cell again."

    notebook.run("motor = (2.8, 5.4)")

    assert ear.heard[-1] == ""


def test_what_is_no_python_is_passed_over(notebook):
    """A cell for the shell, or one that cannot be parsed, rests on nothing."""
    notebook.freshness.begin("x", "!ls = (")
    notebook.freshness.end("[1]")

    assert notebook.said == {}


def test_a_value_that_cannot_be_compared_counts_as_changed(notebook):
    """Rather one word too many than a stale number."""
    notebook.run("source = (n for n in [1])")
    notebook.run("shown = source")

    assert notebook.run("source = (n for n in [1])  # another")


READ = "readings = read_bench('mine.csv')"
FIT = "fit = fit_motor(readings)"
LESSON = [
    "from labkit import bench_picture, duty_panel, fit_motor, prediction, read_bench",
    "guess = prediction('Speed', 'Which speed?', unit='rpm')",
    READ,
    FIT,
    "own = duty_panel(motor=fit.motor)",
    "seen = guess.beside(str(fit.motor.resistance))",
]


def written(cells):
    """Return a notebook of these code cells."""
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])


@pytest.fixture
def shown_by(folder, run_notebook):
    """Return a function that runs cells in a real kernel in the folder, and returns what each showed, as text."""

    def run(cells):
        book = written(cells)
        run_notebook(book, folder)
        return [
            "\n".join(str(output.get("text") or output.data.get("text/plain", "")) for output in cell.outputs)
            for cell in book.cells
        ]

    return run


@pytest.fixture
def folder(tmp_path):
    """Return a folder with the kit's readings in a file of the learner's."""
    (tmp_path / "mine.csv").write_text(demo_bench().read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


def test_a_lesson_with_its_readings_changed_says_what_is_old(shown_by):
    """A reading is corrected and the file read again: all that rests on the fit is named, and the panel says it too."""
    corrected = (
        "from pathlib import Path; text = Path('mine.csv').read_text(); kept = text.rstrip().rpartition(chr(10))[0]"
    )
    write = "_ = Path('mine.csv').write_text(kept)"
    heard = "print(own.children[0].value, seen.children[0].value)"
    *_, said, picture, before = shown_by([*LESSON, corrected, write, READ, "bench_picture(fit)", heard])

    assert said == "Old: what cells [4], [5], [6] show rests on the values before. Run them again."
    assert "Old: fit was made from something that has changed since." in picture
    assert before.count("fit changed after this was made. Run this cell again.") == 2


def test_running_the_readings_and_the_fit_twice_is_no_alarm(shown_by):
    """The same file gives the same fit: nothing is old, and the panel says nothing."""
    heard = "print(type(own.children[0]).__name__)"
    *_, read, fitted, kind = shown_by([*LESSON, READ, FIT, heard])

    assert (read, fitted, kind) == ("", "", "Box\n")


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (LESSON[4], "fit is not there yet. Run the cells above this one first, or look at its spelling."),
        (
            "read_bench('my-motor.csv')",
            "There is no file my-motor.csv beside this notebook. Save it there, or write its name as it stands.",
        ),
        ("read_bench('.')", ". cannot be opened: "),
        (
            "labkit.check('1 V', 'Mean voltge')",
            "There is no question 'Mean voltge'. Did you mean: Mean voltage at this duty; ",
        ),
    ],
)
def test_a_cell_that_cannot_run_says_why_in_words(folder, run_notebook, cell, words):
    """No traceback of twenty lines: what is missing, and what to do."""
    book = written([LESSON[0], "import labkit", READ, cell])
    with pytest.raises(CellExecutionError):  # the run stops there
        run_notebook(book, folder)

    (output,) = book.cells[3].outputs
    assert output.text.startswith(words)


def test_an_error_of_the_learners_own_code_keeps_its_traceback(folder, run_notebook):
    """A missing file that labkit did not ask for, and a sum that fails, are Python's to tell."""
    for cell, name in (("open('none.txt')", "FileNotFoundError"), ("1 / 0", "ZeroDivisionError")):
        book = written([LESSON[0], cell])
        with pytest.raises(CellExecutionError, match=name):
            run_notebook(book, folder)
        assert book.cells[1].outputs[0].ename == name


def test_a_prediction_that_is_asked_again_is_the_same_one(shown_by):
    """The cell of the question is run twice: a comparison that was open before follows the new commitment."""
    heard = "print('4000 rpm' in seen.children[0].value)"
    cells = [*LESSON, "guess.commit('3000 rpm')", LESSON[1], "guess.commit('4000 rpm')", heard]

    assert shown_by(cells)[-1] == "True\n"
