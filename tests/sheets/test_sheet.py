"""A learner's sheet: practice, assessed, recorded, judged again by the marker."""

from __future__ import annotations

import json
import math
import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.errors import SheetError, UnitError
from labkit.problems import PRACTICE_KEY, sheet_names
from labkit.sheets import open_sheet, personal_sheet
from labkit.units import Q_

pytestmark = pytest.mark.core

EMF = "Generator EMF at this speed"
CURRENT = "Current into a resistor"
TERMINALS = "Voltage left at the terminals"
KEY = b"k" * 32


def _number(sheet, name):
    """Return a drawn value's number as it is written."""
    return float(sheet.numbers[name].split()[0])


def _right_emf(sheet):
    """Return k·ω in volts, worked from the written numbers: mV·s/rad and rpm."""
    return _number(sheet, "emf_constant") * 1e-3 * _number(sheet, "speed") * 2 * math.pi / 60


def _loop_current(sheet, emf):
    return emf / (_number(sheet, "resistance") + _number(sheet, "resistor"))


def test_practice_numbers_come_from_the_public_key():
    """A sheet opened without numbers has those that the practice key gives, and another attempt has others."""
    sheet = open_sheet("generator-action", learner="amber-17")

    assert sheet.numbers == personal_sheet("generator-action", learner="amber-17", key=PRACTICE_KEY).numbers
    assert sheet.numbers != open_sheet("generator-action", learner="amber-17", attempt=2).numbers


def test_a_right_answer_is_right_and_the_next_step_builds_on_it():
    """k·ω worked from the written numbers is right; so is the current that it drives."""
    sheet = open_sheet("generator-action", learner="amber-17")
    emf = _right_emf(sheet)

    verdict = sheet.answer(EMF, f"{emf:.3g} V")

    assert verdict.right
    assert f"Next: {CURRENT}." in verdict.comment
    assert sheet.answer(CURRENT, Q_(_loop_current(sheet, emf), "A")).right


def test_an_empty_answer_shows_the_question_with_the_learners_numbers():
    """The cell as it is handed out shows the question, the learner's speed in it."""
    sheet = open_sheet("generator-action", learner="amber-17")
    verdict = sheet.answer(EMF, "")

    assert verdict.outcome == "unanswered"
    assert sheet.numbers["speed"] in verdict.comment


def test_an_unknown_title_lists_the_titles():
    """A retyped title is a mistake of the notebook and is met with the titles that there are."""
    with pytest.raises(SheetError, match=EMF):
        open_sheet("generator-action").answer("Generator EMF", "3 V")


def test_marking_ignores_the_numbers_that_a_file_claims():
    """A file that claims an easy speed changes its own display, and no mark: the key's numbers judge."""
    marker = personal_sheet("generator-action", learner="amber-17", group="t", key=KEY)
    claimed = open_sheet(
        "generator-action", learner="amber-17", group="t", numbers={**marker.numbers, "speed": "60 rpm"}
    )
    forged = f"{_right_emf(claimed):.4g} V"

    assert claimed.answer(EMF, forged).right
    assert not marker.judge(EMF, forged).right
    assert marker.judge(EMF, f"{_right_emf(marker):.4g} V").right


def test_a_later_attempt_is_drawn_also_where_a_sheet_carries_numbers():
    """``attempt=2`` in the opening cell of a personal sheet brings the numbers that ``sheet.again()`` brings."""
    marker = personal_sheet("generator-action", learner="amber-17", group="t", key=KEY)
    common = {"learner": "amber-17", "group": "t", "numbers": marker.numbers}

    assert open_sheet("generator-action", **common).again().numbers == marker.at_attempt(2).numbers
    assert open_sheet("generator-action", **common, attempt=2).numbers == marker.at_attempt(2).numbers


@pytest.mark.parametrize("changed", [{"learner": "teal-3"}, {"group": "t"}, {"bank": "2026-11"}, {"key": b"o" * 32}])
def test_what_lets_new_numbers_count_is_one_sheets_alone(changed):
    """Another learner, group, bank or key has another permit; an assessed sheet has none."""
    common = {"learner": "amber-17", "key": KEY}
    permit = personal_sheet("generator-action", **common).retries

    assert permit == personal_sheet("generator-action", **common).retries
    assert permit != personal_sheet("generator-action", **(common | changed)).retries
    assert permit != personal_sheet("driver-dissipation", **common).retries
    assert personal_sheet("generator-action", **common, assessed=True).retries == ""


def test_the_attempt_stands_beside_its_answers(marker_pipe):
    """An answer of the second attempt says so, to the marker and in the saved output; one of the first says nothing."""
    first = open_sheet("generator-action", learner="amber-17")
    saved = [sheet.answer(EMF, "31 V")._repr_mimebundle_()[1]["labkit"] for sheet in (first, first.again())]

    assert [told.get("attempt") for told in saved] == [line.get("attempt") for line in marker_pipe()] == [None, 2]


def test_a_teachers_key_gives_other_numbers_than_practice():
    """Practising does not show the numbers of the assessed sheet."""
    assert (
        personal_sheet("generator-action", learner="amber-17", key=KEY).numbers
        != personal_sheet("generator-action", learner="amber-17", key=PRACTICE_KEY).numbers
    )


def test_a_step_worked_from_an_earlier_wrong_answer_earns_its_marks():
    """With an EMF of double size the current doubles: consistent, so right, and the comment says why."""
    sheet = personal_sheet("generator-action", learner="amber-17", key=KEY)
    wrong = 2 * _right_emf(sheet)
    current = f"{_loop_current(sheet, wrong):.4g} A"
    drop = f"{_loop_current(sheet, wrong) * _number(sheet, 'resistor'):.4g} V"
    verdicts = sheet.judge_all({EMF: f"{wrong:.4g} V", CURRENT: current, TERMINALS: drop})

    assert verdicts[EMF].outcome == "wrong"
    assert [verdicts[title].follows_through for title in (CURRENT, TERMINALS)] == [True, True]
    assert verdicts[CURRENT].right
    assert "earlier answer" in verdicts[CURRENT].comment
    assert not sheet.judge(CURRENT, current).right


def test_nothing_follows_from_a_right_an_absent_or_an_unreadable_step():
    """Follow-through needs an earlier wrong answer of the right kind: no answer, bare numbers and zero give none."""
    sheet = personal_sheet("generator-action", learner="amber-17", key=KEY)
    current = f"{_loop_current(sheet, 2 * _right_emf(sheet)):.4g} A"
    for earlier in ({}, {EMF: ""}, {EMF: 5.0}, {EMF: "0 V"}, {EMF: "3 A"}, {EMF: f"{_right_emf(sheet):.4g} V"}):
        assert not sheet.judge(CURRENT, current, earlier=earlier).right, earlier


def test_a_right_answer_stays_right_after_an_earlier_wrong_one():
    """Who mends the error on the way is right, and not by following through."""
    sheet = personal_sheet("generator-action", learner="amber-17", key=KEY)
    verdict = sheet.judge(CURRENT, f"{_loop_current(sheet, _right_emf(sheet)):.4g} A", earlier={EMF: "9 V"})

    assert verdict.right
    assert not verdict.follows_through


def test_judge_all_goes_through_every_question_in_order():
    """A sheet without answers gets a verdict on each question, all unanswered, in the sheet's order."""
    sheet = personal_sheet("duty-speed-control", learner="teal-3", key=KEY)
    verdicts = sheet.judge_all({"no such title": "3 V"})

    assert tuple(verdicts) == sheet.titles
    assert {verdict.outcome for verdict in verdicts.values()} == {"unanswered"}


_HOSTILE = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=60),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["value", "unit"]), inner),
    max_leaves=6,
)


@given(answer=_HOSTILE, earlier=_HOSTILE)
@settings(deadline=None, max_examples=200)
def test_the_marker_never_raises_for_an_answer(answer, earlier):
    """Any JSON, as answer and as earlier answer, gets a verdict with a known outcome."""
    sheet = personal_sheet("generator-action", learner="amber-17", key=KEY)

    assert sheet.judge(CURRENT, answer, earlier={EMF: earlier}).outcome in ("right", "wrong", "refused", "unanswered")


@given(data=st.data())
@settings(deadline=None, max_examples=15)
@pytest.mark.parametrize("name", sheet_names())
def test_follow_through_survives_any_number(name, data):
    """Whatever finite numbers stand in all steps, every question gets its verdict: none overflows or warns."""
    sheet = personal_sheet(name, learner="amber-17", key=KEY)
    size = st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from([0.0, 1e-300, -1e300, 1e23, -1e-23])
    asked = [question for question in sheet.plan.questions if question.answer]
    sizes = data.draw(st.lists(size, min_size=len(asked), max_size=len(asked)))
    answers = {question.title: f"{value!r} {question.unit}" for question, value in zip(asked, sizes, strict=True)}

    assert {verdict.outcome for verdict in sheet.judge_all(answers).values()} <= {
        "right",
        "wrong",
        "refused",
        "unanswered",
    }


def test_an_assessed_sheet_tells_no_verdict():
    """Right and wrong answers are met with the same words; only the kind is checked, with the help of practice."""
    practice = open_sheet("generator-action", learner="amber-17")
    sheet = open_sheet("generator-action", learner="amber-17", numbers=practice.numbers, assessed=True)
    right = sheet.answer(EMF, f"{_right_emf(sheet):.3g} V")
    wrong = sheet.answer(EMF, f"{3 * _right_emf(sheet):.3g} V")
    named = sheet.answer(EMF, f"{_right_emf(sheet) * 30 / math.pi:.3g} V")
    refused = sheet.answer(EMF, f"{_right_emf(sheet):.3g} A")

    assert right.outcome == wrong.outcome == named.outcome == "recorded"
    assert right.comment.partition(" V")[2] == wrong.comment.partition(" V")[2] == named.comment.partition(" V")[2]
    assert (named.misconception, named.hint, named.lesson) == (None, "", None)
    assert (refused.outcome, refused.slip) == ("refused", None)
    assert sheet.answer(EMF, "").outcome == "unanswered"
    assert "marks" in sheet.worked(EMF)


def test_hints_grow_with_different_wrong_tries():
    """The same wrong answer typed again counts once; the second asks for a drawing; the third brings the last hint."""
    sheet = open_sheet("generator-action", learner="amber-17")
    hints = [sheet.answer(EMF, typed).hint for typed in ("31 V", "31 V", "33 V", "37 V")]

    assert hints[0] == hints[1] != hints[2] != hints[3]
    assert "Draw" in hints[2]


def test_the_worked_answer_waits_for_a_right_one_or_three_tries():
    """Before trying there is none; after three different tries there is, with the right number in it."""
    sheet = open_sheet("generator-action", learner="amber-17")
    assert "Try it first" in sheet.worked(EMF)
    for typed in ("31 V", "33 V", "37 V"):
        sheet.answer(EMF, typed)

    assert f"{_right_emf(sheet):.3g}" in sheet.worked(EMF)
    assert sheet.answer(EMF, "39 V").hint.endswith(
        'sheet.worked("Generator EMF at this speed") shows how it goes; sheet = sheet.again() brings new numbers.'
    )


def test_a_notebook_shows_the_worked_answer_line_by_line():
    """As a person reads it: no quotation marks around it and no backslash in it, as Python would write a text."""
    sheet = open_sheet("generator-action", learner="amber-17")
    sheet.answer(EMF, f"{_right_emf(sheet):.3g} V")
    worked = sheet.worked(EMF)
    lines = worked.splitlines()

    assert len(lines) == 3
    assert repr(worked) == "\n".join(lines)
    assert worked._repr_html_() == "".join(f"<p>{line}</p>" for line in lines)


def test_the_question_can_be_unfolded_while_an_answer_is_not_right():
    """A wrong answer, and one without its unit, take the question's place: its numbers are at hand all the same."""
    sheet = open_sheet("generator-action", learner="amber-17")
    for typed in ("31 V", "31"):
        shown = sheet.answer(EMF, typed)._repr_html_()

        assert f"<summary>The question again</summary><p>The shaft turns at {sheet.numbers['speed']}" in shown
    assert "The question again" not in sheet.answer(EMF, f"{_right_emf(sheet):.3g} V")._repr_html_()


def test_the_overview_says_how_far_one_is():
    """The sheet shows its numbers and each question's state in words; learner's text is escaped."""
    sheet = open_sheet("generator-action", learner="<b>amber")
    sheet.answer(EMF, f"{_right_emf(sheet):.3g} V")

    for shown in (repr(sheet), sheet._repr_markdown_(), sheet._repr_html_()):
        assert sheet.numbers["speed"] in shown
        assert f"{EMF}: ✓ right" in shown
        assert f"{CURRENT}: ○ not answered yet" in shown
    assert "<b>" not in sheet._repr_html_()


def test_a_number_that_cannot_be_read_is_named():
    """A sheet whose numbers were retyped says which text is no quantity."""
    numbers = open_sheet("generator-action").numbers | {"speed": "fast"}
    with pytest.raises(UnitError, match="fast"):
        open_sheet("generator-action", numbers=numbers).answer(EMF, "3 V")


def test_a_number_that_a_sheet_lacks_is_named():
    """A sheet whose numbers were cut says which one is missing."""
    numbers = dict(open_sheet("generator-action").numbers)
    del numbers["speed"]
    with pytest.raises(SheetError, match="needs a value of 'speed'"):
        open_sheet("generator-action", numbers=numbers)


@pytest.fixture
def marker_pipe(monkeypatch):
    """Open a pipe and name its end in the environment, as the marker does; return a function that reads the lines."""
    reading, writing = os.pipe()
    monkeypatch.setenv("LABKIT_ANSWERS_FD", str(writing))

    def lines():
        os.close(writing)
        with os.fdopen(reading, encoding="utf-8") as pipe:
            return [json.loads(line) for line in pipe]

    return lines


def test_answers_reach_the_marker_as_plain_json(marker_pipe):
    """Each call writes one line with sheet, title and answer; the marker judges it alike; it tells no verdict."""
    sheet = open_sheet("generator-action", learner="amber-17")
    given = ["", "31 V", Q_(31.0, "V"), [1], math.nan, "µ" * 150]
    outcomes = [sheet.answer(EMF, answer).outcome for answer in given]
    sent = marker_pipe()
    marker = personal_sheet("generator-action", learner="amber-17", key=PRACTICE_KEY)

    assert [set(line) - {"tries", "seconds"} for line in sent] == [{"sheet", "question", "answer"}] * len(given)
    assert [line.get("tries", 0) for line in sent] == [0, 1, 2, 2, 2, 2]  # text and quantity are two answers
    assert [marker.judge(line["question"], line["answer"]).outcome for line in sent] == outcomes
    assert outcomes == ["unanswered", "wrong", "wrong", "refused", "refused", "refused"]


def test_the_longest_answer_fits_into_a_line_that_the_marker_reads(marker_pipe):
    """Text of any signs, cut where no answer is longer, stays below the 16,000 bytes that the marker reads."""
    sheet = open_sheet("generator-action", learner="amber-17")
    for sign in ("x", "µ", "\U0001f600", "\ud800", "\n", '"'):
        sheet.answer(EMF, sign * 100_000)

    assert max(len(json.dumps(line, ensure_ascii=False).encode("utf-8", "replace")) for line in marker_pipe()) < 16_000


@pytest.mark.parametrize("named", ["", "x", "-1", "99999", "²"])
def test_a_descriptor_that_is_none_disturbs_nobody(monkeypatch, named):
    """A learner's own run goes on whatever stands in the environment."""
    monkeypatch.setenv("LABKIT_ANSWERS_FD", named)

    assert open_sheet("generator-action").answer(EMF, "31 V").outcome == "wrong"


def test_tries_outlive_a_restart(tmp_path):
    """After a restart the sheet knows verdicts, hints due and earlier steps; running a cell again adds no line."""
    kept = tmp_path / "generator-action.tries"
    first = open_sheet("generator-action", learner="amber-17", tries=kept)
    for typed in ("31 V", "31 V", "12", ""):
        first.answer(EMF, typed)
    again = open_sheet("generator-action", learner="amber-17", tries=kept)

    assert [json.loads(line)["answer"] for line in kept.read_text().splitlines()] == ["31 V"]
    assert again.verdicts[EMF].outcome == "wrong"
    assert "Draw" in again.answer(EMF, "37 V").hint
    assert again.answer(CURRENT, f"{_loop_current(again, 37):.4g} A").follows_through


def test_tries_are_counted_over_a_restart_and_left_in_the_notebook(tmp_path):
    """Different answers count once each, also after a restart; the count goes into the saved output's metadata."""
    kept = tmp_path / "generator-action.tries"
    first = open_sheet("generator-action", learner="amber-17", tries=kept)
    counts = [first.answer(EMF, typed).tries for typed in ("", "31 V", "31 V", "12", "33 V")]
    again = open_sheet("generator-action", learner="amber-17", tries=kept).answer(EMF, "37 V")

    assert counts == [0, 1, 1, 1, 2]
    assert again.tries == 3
    assert again._repr_mimebundle_() == ({}, {"labkit": {"question": EMF, "tries": 3, "seconds": again.seconds}})
    assert first.answer(CURRENT, "")._repr_mimebundle_() == ({}, {})


def test_a_retry_has_new_numbers(tmp_path):
    """The sheet again has another attempt's numbers and no tries; an assessed sheet keeps its own."""
    kept = tmp_path / "generator-action.tries"
    first = open_sheet("generator-action", learner="amber-17", tries=kept)
    first.answer(EMF, "31 V")
    again = first.again()

    assert again.numbers == open_sheet("generator-action", learner="amber-17", attempt=2).numbers != first.numbers
    assert again.answer(EMF, "31 V").tries == 1
    assert len(kept.read_text().splitlines()) == 2
    assert again.again().attempt == 3
    assert "attempt 2" in repr(again)
    with pytest.raises(SheetError, match="attempts 2 to 99; got 100"):
        open_sheet("generator-action", attempt=99).again()
    with pytest.raises(SheetError, match="keeps its numbers"):
        open_sheet("generator-action", assessed=True).again()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"attempt": 0}, "attempt must be a whole number from 1 to 99; got 0"),
        ({"attempt": 100}, "attempt must be a whole number from 1 to 99; got 100"),
        ({"attempt": 2, "assessed": True}, "has only its first numbers; got attempt=2"),
        ({"attempt": True}, "attempt must be"),
        ({"attempt": "2"}, "attempt must be"),
        ({"learner": 17}, "learner must be a text; got 17"),
        ({"group": None}, "group must be a text"),
        ({"bank": "2020"}, "There is no version '2020' of the bank"),
    ],
)
def test_arguments_of_the_wrong_kind_are_named(given, said):
    """What cannot be an attempt, an id or a version is refused with its value."""
    with pytest.raises(SheetError, match=said):
        open_sheet("generator-action", **given)


def test_a_closing_full_stop_is_no_part_of_an_answer():
    """A number may end a sentence; a full stop alone is no answer."""
    sheet = open_sheet("generator-action", learner="amber-17")

    assert sheet.answer(EMF, f"{_right_emf(sheet):.3g} V.").right
    assert sheet.answer(EMF, "31 V. ").outcome == "wrong"
    assert sheet.answer(EMF, ".").outcome == "refused"


def test_tries_of_others_are_not_mine(tmp_path):
    """Another learner, attempt or sheet in the same file, and lines that are broken or hostile, change nothing."""
    kept = tmp_path / "shared.tries"
    open_sheet("generator-action", learner="amber-17", tries=kept).answer(EMF, "31 V")
    with kept.open("a") as file:
        file.write('[[[[\n"x"\n{}\n{"question": 3}\nnull\n' + "[" * 100_000 + "\n")
    mine = json.loads(kept.read_text().splitlines()[0])
    with kept.open("a") as file:
        file.write(json.dumps(mine | {"answer": {"value": "x", "unit": [1]}, "question": "no such title"}) + "\n")

    assert open_sheet("generator-action", learner="teal-3", tries=kept).verdicts == {}
    assert open_sheet("generator-action", learner="amber-17", attempt=2, tries=kept).verdicts == {}
    assert list(open_sheet("generator-action", learner="amber-17", tries=kept).verdicts) == [EMF]


def test_the_markers_run_keeps_no_tries(tmp_path, marker_pipe):
    """While the marker listens nothing is written beside the notebook."""
    kept = tmp_path / "generator-action.tries"
    open_sheet("generator-action", tries=kept).answer(EMF, "31 V")

    assert len(marker_pipe()) == 1
    assert not kept.exists()


def test_half_a_sign_is_kept_as_a_question_mark(tmp_path):
    """Half of a sign that takes two, as some keyboards leave it, ends no cell: no file can hold it."""
    kept = tmp_path / "generator-action.tries"
    sheet = open_sheet("generator-action", tries=kept)

    assert sheet.answer("Polarity of the generator EMF", "b \ud83d").outcome in ("right", "wrong")
    assert json.loads(kept.read_text(encoding="utf-8"))["answer"] == "b ?"


def test_a_folder_that_cannot_be_written_to_stops_nobody(tmp_path):
    """Where the tries cannot be kept, the sheet goes on without."""
    sheet = open_sheet("generator-action", tries=tmp_path / "missing" / "x.tries")

    assert sheet.answer(EMF, "31 V").outcome == "wrong"
