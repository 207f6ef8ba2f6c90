"""Lessons and sheets on paper: what a learner's copy holds, what a teacher's copy adds, and that nothing is missing."""

import itertools
import json
import re
from html import unescape

import pytest

from labkit import check
from labkit.errors import HandoutError
from labkit.handouts import COPIES, find_notebook, handouts
from labkit.handouts.prose import prose_html
from labkit.problems import asked, plan


@pytest.fixture(scope="module")
def generator():
    """Return both copies of the lesson on generator action, its panel at a stated speed."""
    return dict(
        zip(COPIES, handouts(find_notebook("3"), copies=COPIES, at=[("Speed of the shaft", "3000 rpm")]), strict=True)
    )


@pytest.fixture(scope="module")
def sheet():
    """Return both copies of that lesson's homework sheet."""
    return {one.copy: one for one in handouts(find_notebook("3", sheet=True), copies=COPIES)}


@pytest.fixture
def notebook(tmp_path):
    """Return a function that writes cells, those of text begin with #, to a notebook file."""

    def write(*sources, **metadata):
        cells = [
            {"cell_type": "markdown" if source.startswith("#") else "code", "source": source, "metadata": {}}
            for source in sources
        ]
        path = tmp_path / "mine.ipynb"
        path.write_text(json.dumps({"cells": cells, "metadata": metadata}), encoding="utf-8")
        return path

    return write


def words(html):
    """Return a page's body as plain text."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html.partition("<body>")[2]))).strip()


def test_a_learners_copy_asks_and_does_not_answer(generator):
    """Predictions and checks have blanks; no result, no worked solution."""
    text = words(generator["learner"].html)

    assert text.count("a blank to write in") >= 8
    assert "Write your prediction down before you read on." in text
    assert "twice the speed, twice the voltage" not in text  # why the prediction's answer is what it is
    for title in ("Generator EMF at this speed", "Current into a resistor"):
        assert title in text
        assert asked(title)[0].worked_lines(asked(title)[1])[-1] not in text


def test_a_teachers_copy_answers_all_that_the_learners_asks(generator):
    """Result and reason of each prediction, and the worked lines of each question."""
    text = words(generator["teacher"].html)

    assert "twice the speed, twice the voltage" in text
    for title in ("Generator EMF at this speed", "Current into a resistor", "Drag torque of the loaded generator"):
        assert check("", title).comment.splitlines()[0] in text
        assert all(line in text for line in asked(title)[0].worked_lines(asked(title)[1]))


def test_a_choice_is_answered_by_its_letter(generator):
    """The question on polarity: the option that the bank calls right, and only in the teacher's copy."""
    question, _ = asked("Polarity of the generator EMF")
    letter, right = next((letter, option.text) for letter, option in question.letters.items() if option.right)
    answers = {copy: words(made.html).count(f"{letter}) {right}") for copy, made in generator.items()}

    assert answers == {"learner": 1, "teacher": 2}


@pytest.mark.parametrize("copy", COPIES)
def test_panels_are_frozen_where_they_were_set(generator, copy):
    """The picture says 3000 rpm, and 1.70 V, which is 5.4 mV·s/rad · 314 rad/s by hand."""
    html = generator[copy].html
    frozen = html[html.index('class="labkit-frozen"') :]

    assert "Frozen</strong> at Speed of the shaft 3000 rpm" in frozen
    assert "the generator EMF is 1.70 V" in frozen.partition("</figure>")[0]


@pytest.mark.parametrize("copy", COPIES)
def test_every_picture_keeps_its_words(generator, copy):
    """No image without an alternative text that is a sentence."""
    alts = [re.search(r'alt="([^"]*)"', image) for image in re.findall(r"<img [^>]*>", generator[copy].html)]

    assert len(alts) >= 3
    assert all(alt and alt[1].endswith(".") for alt in alts)


@pytest.mark.parametrize("copy", COPIES)
def test_a_page_is_complete_in_itself(generator, copy):
    """No address but those of data inside the page; no script; formulas are MathML."""
    html = generator[copy].html

    assert all(source.startswith("data:") for source in re.findall(r'(?:src|href)="([^"]*)"', html))
    assert not re.search(r"<script|url\(|@import", html)
    assert html.count("<math ") > 20
    assert '<html lang="en">' in html
    assert html.count("<main>") == html.count("<h1>") == 1


def test_headings_go_down_one_step_at_a_time(generator):
    """No level is left out on the way down, so that a reader who jumps by headings misses nothing."""
    levels = [int(level) for level in re.findall(r"<h([1-6])", generator["teacher"].html)]

    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_a_sheet_has_its_numbers_and_questions_and_not_how_to_run_cells(sheet):
    """On paper nobody runs a cell."""
    text = words(sheet["learner"].html)

    assert "8. Polarity of the generator EMF" in text
    assert "The numbers of practice" in text
    assert "Run the cell" not in text
    written = [question for question in plan("generator-action").questions if not question.options]
    assert text.count("a blank to write in") == len(written)
    assert text.count("Formula: (a blank to write in)") == 1


def test_parts_readings_and_reasons_have_blanks_of_their_own():
    """A choice a line for parts; a ± where a result is measured; a number beside the letter where a reason counts."""
    parts, measured, reasons = (words(handouts(find_notebook(n, sheet=True))[0].html) for n in ("5", "10", "9"))

    for name in ("transistor", "gate resistor", "pull-down", "diode"):
        assert f"{name}: (a blank to write in)" in parts
    assert measured.count("with its ± and its unit: (a blank to write in)") == 2
    assert reasons.count("Ring one letter and one number.") == 1


def test_the_teachers_sheet_has_the_numbers_of_that_sheet(sheet):
    """Worked with the drawn values of the page, not with the desk wind tunnel's."""
    text = words(sheet["teacher"].html)
    constant = re.search(r"the motor's constant ([\d.]+) mV", text)
    speed = re.search(r"the shaft's speed (\d+) rpm", text)
    volts = float(constant[1]) * 1e-3 * float(speed[1]) * 2 * 3.14159 / 60

    assert f"= {volts:.2f} V" in text


def test_what_a_learner_typed_stays_off_the_paper(notebook):
    """Answer cells are not run: a filled-in sheet prints with blanks."""
    sheet = json.loads(find_notebook("3", sheet=True).read_text(encoding="utf-8"))
    for cell in sheet["cells"]:
        cell["source"] = "".join(cell["source"]).replace('speed", "")', 'speed", "4711 V")')
    path = notebook()
    path.write_text(json.dumps(sheet), encoding="utf-8")
    (made,) = handouts(path)

    assert "4711" not in made.html
    assert not path.with_name("generator-action.tries").exists()


def test_links_to_other_notebooks_are_plain_words_on_paper(notebook):
    """Where the page is, that notebook is not; an address in the network stays, as what it is."""
    (made,) = handouts(notebook("# T", "# Go\n\n[lesson one](01-pin.ipynb) and [a sheet](https://example.org/x.pdf)"))

    assert "<p>lesson one and <a href=" in made.html
    assert made.html.count("<a ") == 1


def test_results_look_as_in_a_notebook(notebook):
    """Quantities, parts, printed text and strings come out as JupyterLab shows them."""
    path = notebook(
        "# Mine", "from labkit import Q_, desk_wind_tunnel, operating_point", "Q_(0.4712, 'A')",
        "print('by hand')\noperating_point(desk_wind_tunnel().motor, '6 V')", "display(Q_(3, 'V'))\nNone",
    )  # fmt: skip
    text = words(handouts(path)[0].html)

    assert "471 mA" in text
    assert "by hand" in text
    assert "Operating point" in text
    assert "3.00 V" in text


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (("# T", "1 +"), "Cell 2 is no Python"),
        (("# T", "1 / 0"), "Cell 2 failed with ZeroDivisionError: division by zero. Run the notebook in JupyterLab"),
        (("# T", "from labkit import check", "check('', 'No such thing')"), "Cell 3 was refused: There is no question"),
    ],
)
def test_a_cell_that_fails_is_named(notebook, cells, words):
    """Which cell, what it said, and what to do."""
    with pytest.raises(HandoutError, match=words):
        handouts(notebook(*cells))


def test_a_file_that_is_no_notebook_is_refused(tmp_path):
    """A text file with the ending of a notebook."""
    path = tmp_path / "no.ipynb"
    path.write_text("hello", encoding="utf-8")
    with pytest.raises(HandoutError, match="must be a notebook with cells in it"):
        handouts(path)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        (("Speed", "3000 rpm"), None),
        (("Torque", "3 N*m"), "--at must name a control of 03-generator-action.ipynb; got 'Torque'. It has: Connected"),
        (("Speed of the shaft", "99000 rpm"), "99000 rpm is too high"),
        (("Connected to the terminals", "a lamp"), "must be one of nothing, a resistor, a red LED"),
    ],
)
def test_what_a_panel_cannot_be_set_to_is_refused(setting, words):
    """The control's own name or its label; a value of its own kind."""
    if words is None:
        assert "3000 rpm" in handouts(find_notebook("3"), at=[setting])[0].html
    else:
        with pytest.raises(HandoutError, match=words):
            handouts(find_notebook("3"), at=[setting])


def test_lessons_are_found_by_number_name_and_file(tmp_path):
    """What a person would type; what there is not is answered with what there is."""
    assert find_notebook("3") == find_notebook("generator-action") == find_notebook("03-generator-action")
    assert find_notebook("3", sheet=True).parent.name == "exercises"
    with pytest.raises(HandoutError, match=r"There is no lesson '99'\. There is: .*03-generator-action"):
        find_notebook("99")
    with pytest.raises(HandoutError, match="There is no file"):
        find_notebook(str(tmp_path / "gone.ipynb"))


def test_mathematics_in_a_notebooks_text_becomes_mathml():
    """A fraction stays a fraction: V above R; and a formula that cannot be read stays as it was typed."""
    html = prose_html(r"So $I = \frac{V}{R}$.")

    assert re.search(r"<mfrac><mrow><mi>V</mi></mrow><mrow><mi>R</mi></mrow></mfrac>", html)
    assert r'aria-label="I = \frac{V}{R}"' in html
    assert "<script" not in prose_html("<script>alert(1)</script>")
