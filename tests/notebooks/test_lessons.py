"""Every lesson runs top to bottom without a word of complaint, and keeps the rules for its cells."""

import ast
import re
from pathlib import Path

import nbformat
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
#: Index and lesson zero have a shape of their own.
LESSONS = [path for path in NOTEBOOKS if not path.name.startswith("00-")]
KINDS = {
    "predict": r"prediction\(",
    "derive": r"derivation\(",
    "try": r"_panel\(",
    "compare": r"\.beside\(",
    "check": r"\bcheck\(",
    "bench": r"read_bench\(",
}
SECTIONS = (
    "You will be able to",
    "At the bench",
    "What people get wrong",
    "What can go wrong",
    "Caution",
    "Where to go next",
)
FORBIDDEN = (ast.FunctionDef, ast.ClassDef, ast.For, ast.While, ast.Lambda, ast.Try, ast.With, ast.AsyncFunctionDef)

notebooks = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
lessons = pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)


def read(path):
    """Return the notebook as it stands in the file."""
    return nbformat.read(path, as_version=nbformat.NO_CONVERT)


def cells(path, kind):
    """Return the cells of one kind."""
    return [cell for cell in read(path).cells if cell.cell_type == kind]


def code(path):
    """Return all code but the imports."""
    return "\n".join(cell.source for cell in cells(path, "code") if "import" not in cell.source)


def test_the_lessons_are_there():
    """The three first lessons are found, so that the tests below test something."""
    assert {path.name[:2] for path in LESSONS} >= {"03", "06", "08"}


@notebooks
def test_a_lesson_runs_clean_in_an_empty_folder(path, tmp_path, run_notebook):
    """No cell fails, and nothing is written to the error stream: a learner sees neither tracebacks nor warnings."""
    notebook = read(path)
    run_notebook(notebook, tmp_path)

    said = [
        output.get("text", output.output_type)
        for cell in notebook.cells
        for output in cell.get("outputs", [])
        if output.output_type == "error" or output.get("name") == "stderr"
    ]
    assert said == []


@notebooks
def test_outputs_are_stripped(path):
    """A notebook in the repository carries no output, no count and no editor's leftovers."""
    for cell in cells(path, "code"):
        assert cell.outputs == []
        assert cell.execution_count is None
        assert set(cell.metadata) <= {"tags"}


@notebooks
def test_the_format_is_one_that_keeps_cell_names(path):
    """Format 4.5 with a name for each cell, and the kernel that every Python installation has."""
    notebook = read(path)
    names = [cell.id for cell in notebook.cells]

    assert (notebook.nbformat, notebook.nbformat_minor) == (4, 5)
    assert len(set(names)) == len(names)
    assert notebook.metadata.kernelspec.name == "python3"
    nbformat.validate(notebook)


@notebooks
def test_cells_are_short_and_hold_no_logic(path):
    """At most ten lines a cell, and no definition or loop: what computes lives in the library."""
    for cell in cells(path, "code"):
        found = [node for node in ast.walk(ast.parse(cell.source)) if isinstance(node, FORBIDDEN)]

        assert len(cell.source.splitlines()) <= 10, cell.source
        assert not found, cell.source


@lessons
def test_a_lesson_has_all_that_a_lesson_needs(path):
    """Prediction, derivation, panel, result beside the prediction, check, bench readings, and the fixed sections."""
    prose = "\n".join(cell.source for cell in cells(path, "markdown"))

    assert [kind for kind, pattern in KINDS.items() if not re.search(pattern, code(path))] == []
    assert [title for title in SECTIONS if title not in prose] == []


@lessons
def test_the_prediction_comes_before_everything_that_answers_it(path):
    """The first prediction stands above the first derivation, the first panel and the first result."""
    places = {kind: re.search(KINDS[kind], code(path)) for kind in ("predict", "derive", "try", "compare")}
    first = {kind: found.start() for kind, found in places.items() if found}

    assert min(first, key=first.__getitem__) == "predict"
    assert first["compare"] > first["try"]


@lessons
def test_every_panel_waits_for_a_prediction(path):
    """No panel of a lesson opens before its prediction is committed."""
    calls = re.findall(r"\w+_panel\(.*", code(path))

    assert calls
    assert all("after=" in call for call in calls)


@lessons
def test_the_first_derivation_waits_too(path):
    """Nothing that answers the question is shown before the commitment, even when all cells are run at once."""
    first = re.search(r"(\w+\.then\()?derivation\(", code(path))

    assert first
    assert first[1]


@notebooks
def test_the_two_voltages_never_share_a_name(path):
    """The switch-off kick is never called after the EMF, in any spelling."""
    words = "\n".join(cell.source for cell in read(path).cells)

    assert not re.search(r"emf[ -]+(spike|kick|pulse)|flyback emf", words, re.IGNORECASE)


@notebooks
def test_links_lead_to_notebooks_that_are_there(path):
    """No link ends nowhere, and the index leads to every lesson."""
    links = re.findall(r"\]\(([^)#:]+)\)", "\n".join(cell.source for cell in cells(path, "markdown")))

    assert [link for link in links if not (path.parent / link).is_file()] == []
    if path.name.startswith("00-index"):
        assert {*links} == {other.name for other in NOTEBOOKS} - {path.name}
