"""The class report: its two indices against other ways to compute them, and what the page says, to everybody."""

from __future__ import annotations

import itertools
import random
import re
import statistics
from collections.abc import Callable
from html.parser import HTMLParser

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, sync_playwright
from scipy import stats

from labkit.bench import demo_bench, read_bench
from labkit.checks import Verdict
from labkit.fitting import fit_room
from labkit.problems.misconceptions import MISCONCEPTIONS
from labkit.reports.benches import room_page
from labkit.reports.charts import Point, scatter
from labkit.reports.classroom import class_page
from labkit.reports.comments import comment_page
from labkit.reports.marks import MarkedAnswer, MarkedSheet
from labkit.reports.tally import ClassTally, QuestionTally, interval_of_correlation, interval_of_share
from labkit.sheets import personal_sheet

_NASTY = "<script>alert(1)</script>"


def _answer(title: str, outcome: str, *, idea: str | None = None, tries: int = 1, seconds: int = 0) -> MarkedAnswer:
    misconception = idea if idea in MISCONCEPTIONS else None
    verdict = Verdict(
        question=title,
        outcome=outcome,
        comment="So.",
        misconception=misconception,
        slip=None if misconception else idea,
    )
    mark = float(outcome == "right")
    return MarkedAnswer(
        asked="?", answer="1 V", verdict=verdict, mark=mark, out_of=1, rule="r", tries=tries, seconds=seconds
    )


def _sheet(learner: str, *answers: MarkedAnswer, **changed: object) -> MarkedSheet:
    given = {"sheet": "generator-action", "bank": "2026-11", "path": "a", "digest": "d", "changed": "2026-11-20"}
    return MarkedSheet(learner=learner, answers=answers, **(given | changed))


def _tally(*sheets: MarkedSheet, **told: object) -> ClassTally:
    tally = ClassTally(**told)
    for sheet in sheets:
        tally.add(sheet)
    return tally


def _class(number: int, *, questions: int = 8, seed: int = 3) -> list[MarkedSheet]:
    """Return a class in which the able get more right, and half of the wrong answers come from M14."""
    chance = random.Random(seed)
    sheets = []
    for place in range(number):
        able = chance.random()
        answers = [
            _answer(f"Question {q}", "right")
            if chance.random() < able
            else _answer(
                f"Question {q}", "wrong", idea=chance.choice(["M14", None, "prefix", "M10"]), tries=q + 1, seconds=300
            )
            for q in range(questions)
        ]
        sheets.append(_sheet(f"learner-{place:02}", *answers))
    return sheets


# --- the indices ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("right", "number", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_of_a_share(right: int, number: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I (from memory): the same to four places."""
    assert interval_of_share(right / number, number) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(("correlation", "number"), [(0.5, 28), (-0.2, 50), (0.9, 21)])
def test_the_interval_of_a_correlation(correlation: float, number: int) -> None:
    """SciPy's interval of the same data is the same."""
    chance = np.random.default_rng(1)
    x, noise = chance.normal(size=(2, number))
    x = (x - x.mean()) / x.std()
    noise -= noise.mean() + x * (x @ noise) / number
    y = correlation * x + np.sqrt(1 - correlation**2) * noise / noise.std()
    found = stats.pearsonr(x, y)
    assert found.statistic == pytest.approx(correlation)
    expected = found.confidence_interval(0.95)
    assert interval_of_correlation(correlation, number) == pytest.approx((expected.low, expected.high))


def test_facility_and_discrimination_by_another_way() -> None:
    """From running sums the indices are those that the whole table gives, by Python's own statistics."""
    sheets = _class(40)
    questions = _tally(*sheets).questions["generator-action"]
    for place in range(8):
        marks = [sheet.answers[place].mark for sheet in sheets]
        rest = [sheet.mark - sheet.answers[place].mark for sheet in sheets]
        one = questions[f"Question {place}"]
        assert one.facility == pytest.approx(statistics.mean(marks))
        assert one.discrimination == pytest.approx(statistics.correlation(marks, rest))


def _question(number: int, right: int, rest: list[float]) -> QuestionTally:
    tally = QuestionTally("q")
    for place in range(number):
        tally.add(_answer("q", "right" if place < right else "wrong"), rest[place])
    return tally


@pytest.mark.parametrize(
    ("number", "right", "rest", "said"),
    [
        (9, 0, [0] * 9, "too few to say"),
        (10, 0, [0] * 10, "too hard"),
        (10, 10, [0] * 10, "too easy"),
        (30, 15, [7] * 15 + [2] * 15, "fine"),
        (30, 15, [2, 7] * 15, "fine"),
        (30, 15, [2] * 15 + [7] * 15, "who does well elsewhere fails here: look for a fault in it"),
        (200, 100, [2, 7] * 100, "tells little about who understood the rest"),
    ],
)
def test_what_the_indices_say(number: int, right: int, rest: list[float], said: str) -> None:
    """A small class says nothing, a chance of thirty convicts no question, and one that the able fail is named."""
    assert _question(number, right, rest).verdict == said


# --- the page -------------------------------------------------------------------------------------


class _Words(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attributes)))

    def handle_data(self, data: str) -> None:
        self.words += f" {data}"


def test_it_names_what_to_teach_again_and_where() -> None:
    """The commonest idea stands first, with the number of learners, its lesson and what to say; slips stand apart."""
    again = [
        _sheet(f"l-{place}", _answer("A", "wrong", idea="M14"), _answer("B", "wrong", idea="M14")) for place in range(3)
    ]
    page = _Words(
        class_page(_tally(*again, _sheet("l-9", _answer("A", "wrong", idea="prefix"), _answer("B", "right"))))
    )
    belief = MISCONCEPTIONS["M14"]
    assert f"Commonest idea to teach again: “{belief.belief}” (3 learners; {belief.lesson})." in page.words
    assert belief.rethink in page.words
    assert "A (3); B (3)" in page.words
    assert "Slips, the commonest first" in page.words


def test_it_names_who_needs_help_and_why() -> None:
    """Few marks, one idea twice, many questions left out and many tries are reasons; who did well is not listed."""
    unanswered = [_answer(f"Q{place}", "unanswered", tries=0) for place in range(3)]
    tally = _tally(
        _sheet("well", *[_answer(f"Q{place}", "right") for place in range(4)]),
        _sheet("few", _answer("Q0", "wrong", idea="M14"), _answer("Q1", "wrong", idea="M14"), _answer("Q2", "right")),
        _sheet("out", *unanswered, *[_answer(f"R{place}", "right") for place in range(3)]),
        _sheet("tries", _answer("Q0", "right", tries=7)),
        missing=("absent",),
    )  # fmt: skip
    said = {one.learner.learner: (one.reasons, one.ideas) for one in tally.in_need()}
    assert said == {
        "few": (("fewer than half of the marks",), (("M14", 2),)),
        "out": (("3 not answered",), ()),
        "tries": (("7 tries at “Q0”",), ()),
    }
    words = _Words(class_page(tally)).words
    assert "3 learners need help." in words
    assert "Nothing handed in absent." in " ".join(words.split())


def test_being_late_is_no_lack_of_understanding() -> None:
    """Who knew all and was late has fewer marks, and is not listed among those who need help."""
    answers = [_answer(f"Q{place}", "right") for place in range(4)]
    tally = _tally(
        _sheet("late", *answers, late=True, share=0.25),
        _sheet("weak", *answers[:1], _answer("Q1", "wrong"), _answer("Q2", "wrong")),
    )
    assert [one.learner.learner for one in tally.in_need()] == ["weak"]
    assert tally.learners["late"].mark == 1
    assert "late: 25 % of its marks count" in class_page(tally)


def test_what_a_pair_shares_tells_of_a_question_once() -> None:
    """One sheet that counts for two is one in the sums over questions, and two learners' marks and ideas."""
    wrong = _answer("A", "wrong", idea="M14")
    tally = _tally(_sheet("amber", wrong), _sheet("opal", wrong, by="amber"))
    assert tally.questions["generator-action"]["A"].number == 1
    assert (len(tally.learners), tally.ideas_at["M14"]) == (2, 2)


def test_tries_and_times_stand_where_notebooks_tell_them() -> None:
    """The median of tries and of minutes stands beside each question; where nothing is known it is left out."""
    told = class_page(_tally(*(_sheet(f"l-{n}", _answer("A", "right", tries=n, seconds=60 * n)) for n in (2, 3, 7))))
    assert re.search(r"<th[^>]*>tries, minutes \(medians\)</th>", told)
    assert re.search(r"<td[^>]*>3, 3</td></tr>", told)
    assert "minutes (medians)" not in class_page(_tally(_sheet("l", _answer("A", "right"))))


def test_a_small_class_gets_no_column_that_says_nothing() -> None:
    """Below ten sheets facility and discrimination would be “too few to say” on every line; above they stand there."""
    few, more = (
        class_page(_tally(*(_sheet(f"l-{n}", _answer("A", "right")) for n in range(count)))) for count in (9, 10)
    )
    assert "facility" not in few.casefold()
    assert "too few to say" not in few
    assert "half of them have all marks." in few
    assert re.search(r"<th[^>]*>facility</th>", more)


def test_sheets_stand_in_the_order_of_their_lessons() -> None:
    """Whatever order sheets are counted in, the page goes by lesson; a sheet of the teacher's own comes last."""
    names = ("driver-dissipation", "a-sheet-of-ours", "pin-limits", "generator-action")
    page = class_page(_tally(*(_sheet("l", _answer("A", "right"), sheet=name) for name in names)))
    assert re.findall("<h3>(.*?)</h3>", page) == [
        "Pin limits",
        "Generator action",
        "Driver dissipation",
        "A sheet of ours",
    ]


@pytest.mark.parametrize("number", [0, 1, 5, 30, 300])
def test_any_class_has_a_page(number: int) -> None:
    """Nobody, one, a few, a class and a course: each has a whole page, whose pictures say in words what they show."""
    page = _Words(class_page(_tally(*_class(number), missing=("absent",), unread=(("x.txt", _NASTY),))))
    headings = [tag for tag, _ in page.tags if tag in {"h1", "h2", "h3"}]
    assert headings[:2] == ["h1", "h2"]
    assert ("Nothing is marked yet." in page.words) == (number == 0)
    assert all(attributes.get("aria-label") for tag, attributes in page.tags if tag == "svg")
    assert ("and 100 more, in marks.csv" in page.words.lower()) == (number == 300)
    assert not any(tag == "script" for tag, _ in page.tags)
    assert "nan" not in page.words


def test_names_in_a_picture_cover_nothing() -> None:
    """Where points stand close to each other, each name is beside its own and on top of no other point or name."""
    close = [(0.58, 0.26), (0.58, 0.22), (0.62, 0.30), (0.62, 0.22), (0.62, 0.41), (0.67, 0.46), (0.71, 0.39)]
    points = [Point(x, y, str(place)) for place, (x, y) in enumerate(close, 9)]
    picture = scatter("so", points, x="x", y="y", x_limits=(), y_limits=())
    dots = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', picture)]
    names = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="start">(\d+)</text>', picture)
    marks = [(x - 5, y - 5, x + 5, y + 5) for x, y in dots]
    words = [(float(x), float(y) - 9, float(x) + 6 * len(name), float(y)) for x, y, name in names]
    assert [name for _, _, name in names] == [point.name for point in points]
    pairs = (*itertools.product(marks, words), *itertools.combinations(words, 2))
    for (left, top, right, bottom), (left_2, top_2, right_2, bottom_2) in pairs:
        assert left >= right_2 or left_2 >= right or top >= bottom_2 or top_2 >= bottom
    for (x, y), (left, bottom, _) in zip(dots, names, strict=True):
        assert max(abs(x - float(left)), abs(y - float(bottom))) < 30


@pytest.fixture(scope="module")
def browser(needs):
    """A Chromium that the machine has."""
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=needs("chromium"), args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


def _room() -> str:
    record = read_bench(demo_bench())
    return room_page(fit_room([record, record, record]))


def _with_a_plot() -> str:
    sheet = personal_sheet("switching-off", learner="amber-17", key=b"k" * 32)
    verdict = sheet.judge("Time constant off a curve", "9 ms")
    answer = MarkedAnswer(asked="Read it off.", answer="9 ms", verdict=verdict, mark=0.0, out_of=1.0, rule="r")
    return comment_page("amber-17", [_sheet("amber-17", answer, sheet="switching-off")])


#: Pages that people get, and how each is made.
PAGES: dict[str, Callable[[], str]] = {
    "empty class": lambda: class_page(_tally(missing=("absent",))),
    "class of one": lambda: class_page(_tally(*_class(1))),
    "class": lambda: class_page(_tally(*_class(30), missing=("absent",), unread=(("x.txt", _NASTY),))),
    "comments": lambda: comment_page("learner-00", _class(1)),
    "comments with a plot": _with_a_plot,
    "room": _room,
}


@pytest.mark.browser
@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_in_a_browser(browser: Browser, tmp_path, name: str, scheme: str) -> None:
    """The axe rules find nothing serious, in light and in dark; a narrow screen does not scroll sideways."""
    path = tmp_path / "page.html"
    path.write_text(PAGES[name](), encoding="utf-8")
    asked = []
    context = browser.new_context(viewport={"width": 400, "height": 800}, color_scheme=scheme)
    view = context.new_page()
    view.on("request", lambda request: asked.append(request.url))
    view.goto(path.as_uri())
    found = Axe().run(view).response["violations"]
    assert [one["id"] for one in found if one["impact"] in {"serious", "critical"}] == []
    assert view.evaluate("document.documentElement.scrollWidth") <= 400
    assert asked == [path.as_uri()]
    context.close()


@pytest.mark.browser
def test_a_page_printed_from_a_dark_screen(browser: Browser, tmp_path) -> None:
    """On paper text is dark and pictures have their light colours, whatever the screen was set to."""
    path = tmp_path / "page.html"
    path.write_text(PAGES["class"](), encoding="utf-8")
    context = browser.new_context(color_scheme="dark")
    view = context.new_page()
    view.goto(path.as_uri())
    colour = "getComputedStyle(document.querySelector('{}')).{}"
    assert view.evaluate(colour.format("body", "color")) == "rgb(255, 255, 255)"
    view.emulate_media(media="print")
    assert view.evaluate(colour.format("body", "color")) == "rgb(0, 0, 0)"
    assert view.evaluate(colour.format("svg rect", "fill")) == "rgb(27, 94, 138)"
    view.set_viewport_size({"width": 718, "height": 1000})  # A4 less a centimetre of margin on each side
    assert view.evaluate("Math.max(...[...document.querySelectorAll('table')].map(t => t.offsetWidth))") <= 718 - 32
    context.close()
