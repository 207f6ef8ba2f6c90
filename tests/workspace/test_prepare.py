"""What a teacher prints for a room: every page whole, with this drive's numbers, and nothing overwritten."""

from __future__ import annotations

import re

import pytest

from labkit import bench_card, bench_cards
from labkit.cli import main
from labkit.errors import PartError
from labkit.problems.lessons import LESSONS
from labkit.reports.teaching import session_html


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Return the pages for fourteen people, by name."""
    folder = tmp_path_factory.mktemp("room") / "pages"
    assert main(["prepare", str(folder), "--people", "14"]) == 0
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def test_the_pages_are_there_and_need_nothing_else(pages):
    """Five pages, each with one title and no address of any other machine."""
    assert set(pages) == {"session-plan.html", "parts-list.html", "cards.html", "risk-sheet.html", "first-power.html"}
    for html in pages.values():
        assert html.count("<h1>") == 1
        assert not re.search(r"(?:src|href)=[\"']?https?:", html)


def test_every_lesson_has_its_time_at_screen_and_bench(pages):
    """The plan holds all twelve, in order, and each session's times add up to what its caption says."""
    plan = pages["session-plan.html"]
    found = [int(number) for number in re.findall(r"Lesson (\d+), ", plan)]

    assert found == sorted(LESSONS)
    for session in plan.split("<section>")[1:]:
        hours, rest = re.search(r"Session \d+, (\d+) h (\d+) min", session).groups()
        assert sum(map(int, re.findall(r">(\d+)\u00a0min<", session))) == 60 * int(hours) + int(rest)


@pytest.mark.parametrize(("people", "helpers"), [(1, 1), (8, 1), (9, 2), (30, 4)])
def test_helpers_grow_with_the_room(people, helpers):
    """About one for eight to ten learners: what volunteer-taught workshops plan with (common practice, no source)."""
    assert f"with {helpers} helper" in session_html(people)


def test_the_risk_sheet_has_this_drives_numbers(pages):
    """Stalled on 6 V behind 0.6 Ω and 2.8 Ω: 6/3.4 = 1.76 A, and 1.76² · 2.8 = 8.72 W, worked out by hand."""
    assert "1.76 A and 8.72 W" in pages["risk-sheet.html"]
    for word in ("eye protection", "lithium", "Mains", "never grip a shaft"):
        assert word in pages["risk-sheet.html"]


def test_parts_come_with_spares(pages):
    """Fourteen people: a spare for every five, so seventeen transistors."""
    assert re.search(r"logic-level N-channel MOSFET</th><td[^>]*>17<", pages["parts-list.html"])


def test_notes_on_a_printed_page_are_not_overwritten(tmp_path, capsys):
    """A page that is there stays as it is, and the way out is said."""
    (tmp_path / "risk-sheet.html").write_text("signed")

    assert main(["prepare", str(tmp_path), "--people", "3"]) == 1
    assert "holds risk-sheet.html already" in capsys.readouterr().err
    assert [path.read_text() for path in tmp_path.iterdir()] == ["signed"]


@pytest.mark.parametrize("name", bench_cards())
def test_a_card_says_in_words_what_it_shows(name):
    """Image, sharp form and words; the words stand in the drawing's place for who does not see it."""
    card = bench_card(name)

    assert card.png.startswith(b"\x89PNG")
    assert "<svg" in card.svg
    assert card.alt.startswith(f"Card: {name}.")
    assert len(card.finding.split()) >= 10


def test_a_card_that_is_not_there_is_answered_with_those_that_are():
    """The names are listed."""
    with pytest.raises(PartError, match="power MOSFET"):
        bench_card("relay")


def test_a_wrong_room_of_people_writes_nothing(tmp_path):
    """The count is refused before the first page."""
    for people in ("0", "-2", "100000"):
        assert main(["prepare", str(tmp_path / "new"), "--people", people]) == 1
    assert not (tmp_path / "new").exists()
