"""Comment pages and tables: all there is to say, in words, safe to open."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from html.parser import HTMLParser

import openpyxl
import pytest

from labkit.checks import Verdict
from labkit.reports.comments import comment_page
from labkit.reports.marks import (
    ANSWERS_HEADER,
    MARKS_HEADER,
    MarkedAnswer,
    MarkedSheet,
    answers_rows,
    explanation,
    marks_row,
    missing_row,
)
from labkit.reports.tables import Sheetful, csv_lines, workbook

NASTY = '<script>alert(1)</script><img src=x onerror="x">&\u202e'


class _Outline(HTMLParser):
    """Collects what a screen reader would go by."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attributes)))
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)


def _answer(
    outcome: str, *, answer: str = "4.7 V", corrected: str | None = None, comment: str = "So it is."
) -> MarkedAnswer:
    verdict = Verdict(
        question="Generator EMF at this speed",
        outcome=outcome,
        comment=comment,
        misconception="M14",
        hint="Look again.",
        lesson="lesson 3, “Generator action”",
    )
    return MarkedAnswer(
        asked="Which voltage?", answer=answer, verdict=verdict, mark=float(outcome == "right"), out_of=1, rule="r",
        corrected=corrected,
    )  # fmt: skip


def _sheet(*answers: MarkedAnswer, learner: str = "amber-17", **changed: str) -> MarkedSheet:
    given = {"path": "a.ipynb", "trouble": "", **changed}
    return MarkedSheet(
        learner=learner,
        sheet="generator-action",
        bank="2026-11",
        digest="d",
        changed="2026-11-20",
        answers=answers,
        **given,
    )


def _read(page: str) -> _Outline:
    outline = _Outline()
    outline.feed(page)
    assert outline.open == []
    return outline


def test_a_page_can_be_read_aloud() -> None:
    """The page says its language and title, has one first heading and no gap below it, and one heading a question."""
    outline = _read(comment_page("amber-17", [_sheet(_answer("right"), _answer("wrong"))]))
    assert ("html", {"lang": "en"}) in outline.tags
    headings = [tag for tag, _ in outline.tags if tag in {"h1", "h2", "h3", "h4"}]
    assert headings == ["h1", "h2", "h3", "h3"]
    assert "main" in [tag for tag, _ in outline.tags]


def test_outcomes_are_told_in_words() -> None:
    """Right, wrong, refused and unanswered are words with a sign in the heading; no colour is needed."""
    answers = [_answer(outcome) for outcome in ("right", "wrong", "refused", "unanswered")]
    text = " ".join(_read(comment_page("amber-17", [_sheet(*answers)])).words)
    for said in (
        "✓ right",
        "✗ not yet",
        "! cannot be judged",
        "○ not answered",
        "1 of 4",
        "Look again.",
        "Read again: lesson 3",
    ):
        assert said in text


def test_a_page_stands_alone_and_runs_nothing() -> None:
    """A page loads nothing and, whatever a learner typed, holds no tag but its own."""
    nasty = _sheet(
        _answer("wrong", answer=NASTY, comment=NASTY, corrected=NASTY), learner=NASTY, path=NASTY, trouble=NASTY
    )
    outline = _read(comment_page(NASTY, [nasty]))
    own = {"html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "h3", "p", "strong", "ul", "li"}
    own |= {"section", "dl", "dt", "dd", "a"}
    assert {tag for tag, _ in outline.tags} <= own
    assert not any(name in attributes for _, attributes in outline.tags for name in ("src", "onerror", "style"))
    ways = [attributes["href"] for tag, attributes in outline.tags if tag == "a"]
    places = {attributes["id"] for tag, attributes in outline.tags if tag == "section"}
    assert {way.removeprefix("#") for way in ways} == places
    assert NASTY in "".join(outline.words)


def test_what_to_look_at_again_stands_first() -> None:
    """Above the questions stand those that lack marks, each with the way to it; with all marks nothing is asked for."""
    answers = [_answer("right"), _answer("wrong"), replace(_answer("wrong", corrected="So."), mark=1.0)]
    page = comment_page("a", [_sheet(*answers)])
    assert re.findall('<a href="#(.*?)">(.*?)</a>', page) == [("generator-action-2", "2. Generator EMF at this speed")]
    assert page.index("Look again at:") < page.index("<h3>")
    assert "Look again at" not in comment_page("a", [_sheet(_answer("right"))])


def test_new_numbers_are_told() -> None:
    """The sheet says how many answers count by new numbers and the rule; each of them names its attempt."""
    answers = [
        _answer("right"),
        *[replace(_answer("right"), verdict=Verdict(question="Q", outcome="right", comment="", attempt=3))] * 2,
    ]
    text = " ".join(_read(comment_page("a", [_sheet(*answers)])).words)
    assert "2 answers were worked with new numbers and judged by them; each question counts at its best." in text
    assert text.count("of your attempt 3") == 2


def test_a_correction_is_told_with_its_reason() -> None:
    """Where the teacher set a mark, the page says so and why."""
    text = " ".join(_read(comment_page("a", [_sheet(_answer("wrong", corrected="The drawing was right."))])).words)
    assert "Set by your teacher:" in text
    assert "The drawing was right." in text
    assert "1. Generator EMF at this speed: ✎ marked by your teacher" in text


def test_a_mark_that_was_set_to_full_is_not_listed_as_not_right() -> None:
    """In the teacher's table an answer with all its marks is not among those that are not right, whoever gave them."""
    by_hand = replace(_answer("wrong", corrected="The drawing was right."), mark=1.0, by_rule=0.0)
    told = replace(_answer("unanswered", corrected="Told me."), mark=1.0, by_rule=0.0)
    assert marks_row(_sheet(by_hand, told))[4] == ""
    lowered = replace(_answer("right", corrected="Copied."), mark=0.0, by_rule=1.0)
    assert marks_row(_sheet(lowered, _answer("unanswered")))[4] == (
        "Generator EMF at this speed (marked by hand); 1 not answered"
    )
    assert marks_row(_sheet(by_hand, _answer("wrong")))[4] == (
        "Generator EMF at this speed (“A speed in rpm goes where rad/s belongs.”)"
    )


@pytest.mark.parametrize(
    ("typed", "cell"),
    [
        ("=HYPERLINK(1)", "'=HYPERLINK(1)"),
        ("@x", "'@x"),
        ("+1 V", "'+1 V"),
        ("-x", "'-x"),
        ("-3.2 V", "-3.2 V"),
        ("-0,5", "-0,5"),
        ("-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"),
        ("a,\n'b", "a,\n'b"),
    ],
)
def test_a_spreadsheet_runs_no_answer(typed: str, cell: str) -> None:
    """What a spreadsheet would take for a formula is kept as text; a negative number stays a number."""
    lines = csv_lines(ANSWERS_HEADER, answers_rows(_sheet(_answer("wrong", answer=typed))))
    (row,) = csv.DictReader(io.StringIO("".join(lines)))
    assert row["answer"] == cell
    assert row["misconception"] == "M14, “A speed in rpm goes where rad/s belongs.”"
    assert (row["mark"], row["out of"], row["rule"]) == ("0", "1", "r")


def test_the_tables_name_everybody() -> None:
    """The table has a line for each sheet, with what was not right, and one for each learner without a sheet."""
    sheet = _sheet(_answer("right"), _answer("unanswered"))
    rows = list(csv.reader(csv_lines(MARKS_HEADER, [marks_row(sheet), missing_row("opal-5")])))
    assert rows[1][:5] == ["amber-17", "generator-action", "1", "2", "1 not answered"]
    assert rows[2][0] == "opal-5"
    assert "Nothing was handed in." in rows[2]


@pytest.mark.parametrize("typed", ["=HYPERLINK(1)", "+1 V", "-x", "@x", "\x07bell", "\ud800", "x" * 40_000])
def test_a_workbook_runs_no_answer_either(typed: str) -> None:
    """In a spreadsheet whatever was typed is text, never a formula; signs that the format cannot hold are replaced."""
    book = workbook({"answers": Sheetful(("answer", "mark"), [(typed, "0.5"), ("007", "-3")])})
    sheet = openpyxl.load_workbook(io.BytesIO(book))["answers"]
    assert sheet["A2"].data_type == "s"
    assert sheet["A2"].value == typed.replace("\x07", "?").replace("\ud800", "?")[:32_767]
    assert [sheet[place].value for place in ("A1", "B1", "B2", "A3", "B3")] == ["answer", "mark", 0.5, "007", -3]


def test_a_mark_can_be_explained() -> None:
    """It gives question, answer, right answer, rule, what was recognised, and a correction with its reason."""
    answer = replace(_answer("wrong", corrected="The drawing was right."), mark=0.5, by_rule=0.0, expected="4.52 V")
    told = explanation(replace(answer, tries=3, seconds=240))
    for words in (
        "Generator EMF at this speed: 0.5 of 1, not yet",
        "Which voltage?",
        "Answered: 4.7 V (3 tries, 4 min)",
        "Right from these numbers: 4.52 V",
        "Rule: r",
        "Recognised: M14, “A speed in rpm goes where rad/s belongs.”",
        "Said to the learner: So it is.",
        "Set by hand, where the rule gave 0: The drawing was right.",
    ):
        assert words in told
    assert "4.52" not in comment_page("a", [_sheet(answer)])
    lines = explanation(replace(answer, answer="5.4 ohm\n1, 0.46, 149")).splitlines()
    assert lines[lines.index("  Answered: 5.4 ohm") + 1] == "    1, 0.46, 149"
