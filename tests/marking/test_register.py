"""The mark register keeps what is entered, whatever happens to the one who enters it."""

from __future__ import annotations

import dataclasses
import os
import random
import signal
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from labkit.checks import Verdict
from labkit.errors import MarkingError
from labkit.marking import Register
from labkit.marking.register import SCHEMA
from labkit.reports.marks import MarkedAnswer, MarkedSheet, MarkingRun
from labkit.sheets import Learner

QUESTION = "Generator EMF at this speed"


def _sheet(learner: str = "amber-17", *, right: int = 1, path: str = "a.ipynb", **changed: Any) -> MarkedSheet:
    answers = tuple(
        MarkedAnswer(
            asked=f"Question {place}?",
            answer="4.7 V",
            verdict=Verdict(
                question=QUESTION if place == 0 else f"Question {place}",
                outcome="right" if place < right else "wrong",
                comment="Because.\nOf this.",
                misconception=None if place < right else "M14",
                lesson="lesson 3, “Generator action”",
                hint="Think.",
                follows_through=place == 1,
                attempt=place + 1,
                picture='<figure class="x">µ</figure>' if place else "",
            ),
            mark=1.0 if place < right else 0.0,
            out_of=1.0,
            rule="within 0.02",
            expected="4.52 V",
            tries=place,
            seconds=60 * place,
        )
        for place in range(3)
    )
    sheet = MarkedSheet(
        learner=learner, sheet="generator-action", bank="2026-11", path=path, digest=f"digest of {path} {right}",
        changed="2026-11-20T10:00:00", notes=("A note.", "Another: “so”."), answers=answers,
    )  # fmt: skip
    return dataclasses.replace(sheet, **changed)


def _as_entered(sheet: MarkedSheet) -> MarkedSheet:
    """Return a sheet as it was before the register knew its run."""
    return dataclasses.replace(sheet, run=MarkingRun())


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """An empty register with a run begun."""
    with Register(tmp_path / "marks.sqlite") as opened:
        opened.begin(labkit="0", isolation="bubblewrap", seconds=30)
        yield opened


def test_what_goes_in_comes_out(register: Register) -> None:
    """A marked sheet comes back as it was entered, with every word of its verdicts."""
    sheet = _sheet(right=2, trouble="It stopped.", late=True)
    register.enter(sheet)
    (counted,) = register.counted()
    assert counted.run == MarkingRun(counted.run.begun, "0", "bubblewrap", 30)
    assert _as_entered(counted) == sheet
    assert [answer.verdict.picture for answer in counted.answers] == [
        answer.verdict.picture for answer in sheet.answers
    ]
    assert register.has(sheet.path, sheet.digest)
    assert not register.has(sheet.path, "other")


def test_the_best_of_several_hand_ins_counts(register: Register) -> None:
    """Of three files the best counts, of equal ones the later, and the sheet says how many there were."""
    for name, right, changed in (
        ("a", 1, "2026-11-22"),
        ("b", 2, "2026-11-20"),
        ("c", 2, "2026-11-21"),
        ("d", 0, "2026-11-23"),
    ):
        register.enter(_sheet(right=right, path=name, changed=changed))
    (counted,) = register.counted()
    assert (counted.path, counted.mark, counted.hand_ins) == ("c", 2, 4)
    assert "Handed in 4 times; the best counts." in list(counted.remarks())


def test_a_pair_shares_its_files(register: Register) -> None:
    """What one of a pair hands in counts for each, the better of two for both; a correction is one learner's alone."""
    pair = [Learner("amber-17", "tuesday", "bench 4"), Learner("jade-2", "tuesday", "bench 4")]
    others = [Learner("opal-5", "wednesday", "bench 4"), Learner("teal-3", "tuesday"), Learner("ruby-9", "tuesday")]
    register.begin(labkit="0", isolation="bubblewrap", seconds=30, learners=[*pair, *others])
    register.enter(_sheet("amber-17", right=1, path="a"))
    register.enter(_sheet("teal-3", right=2, path="t"))
    assert register.missing() == ["opal-5", "ruby-9"]
    register.enter(_sheet("jade-2", right=2, path="j"))
    register.correct(learner="amber-17", sheet="generator-action", question="Question 2", mark=1, reason="Said aloud.")
    counted = {sheet.learner: sheet for sheet in register.counted()}
    assert {learner: (sheet.path, sheet.by, sheet.mark) for learner, sheet in counted.items()} == {
        "amber-17": ("j", "jade-2", 3),
        "jade-2": ("j", "", 2),
        "teal-3": ("t", "", 2),
    }
    assert "Handed in by jade-2, of the same pair." in list(counted["amber-17"].remarks())


def test_a_late_sheet_keeps_its_part(register: Register) -> None:
    """A late file with 3 marks of which 60 % count stands behind one in time with 2, and its page says what counts."""
    register.enter(_sheet(right=3, path="late", late=True, share=0.6))
    (counted,) = register.counted()
    assert counted.mark == pytest.approx(1.8)
    assert "Handed in late: 60 % of its marks count." in list(counted.remarks())
    register.enter(_sheet(right=2, path="in time"))
    assert [sheet.path for sheet in register.counted()] == ["in time"]


def test_marking_again_counts_in_place_of_the_first(register: Register) -> None:
    """The same file marked again, now with fewer marks, counts as it was marked last, and as one hand-in."""
    register.enter(_sheet(right=3, digest="same"))
    register.enter(_sheet(right=1, digest="same"))
    (counted,) = register.counted()
    assert (counted.mark, counted.hand_ins) == (1, 1)


def test_a_correction_stands(register: Register) -> None:
    """A mark set by hand holds through a re-mark, with its reason; setting it again changes it; others stay."""
    register.enter(_sheet(right=0))
    change = {"learner": "amber-17", "sheet": "generator-action", "question": QUESTION}
    register.correct(**change, mark=0.5, reason="The drawing was right.")
    register.enter(_sheet(right=0))
    register.correct(**change, mark=1, reason="And the number.")
    register.enter(_sheet(right=0))
    (counted,) = register.counted()
    assert [(answer.mark, answer.by_rule, answer.corrected) for answer in counted.answers] == [
        (1, 0, "And the number."),
        (0, None, None),
        (0, None, None),
    ]
    register.correct(**change, mark=None, reason="It was another's drawing.")
    assert list(map(_as_entered, register.counted())) == [_sheet(right=0)]


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"learner": "opal"}, "No answer of opal"),
        ({"question": "No such question"}, "No answer of amber-17 to 'No such question'"),
        ({"mark": 2}, "mark must be from 0 to 1; got 2"),
        ({"mark": float("nan")}, "mark must be from 0 to 1"),
        ({"reason": "  "}, "needs its reason"),
    ],
)
def test_corrections_that_cannot_be(register: Register, change: dict[str, Any], reason: str) -> None:
    """A correction of nothing, beyond the marks there are, or without a reason is refused and changes nothing."""
    register.enter(_sheet(right=0))
    given = {"learner": "amber-17", "sheet": "generator-action", "question": QUESTION, "mark": 1.0, "reason": "So."}
    with pytest.raises(MarkingError, match=reason):
        register.correct(**(given | change))
    assert list(map(_as_entered, register.counted())) == [_sheet(right=0)]


def test_a_learner_is_erased_past_recovery(tmp_path: Path) -> None:
    """After erasing, no byte of the id is left in the register's files, and the others are untouched."""
    with Register(tmp_path / "marks.sqlite") as register:
        learners = [Learner("amber-17", pair="bench 4"), Learner("jade-2")]
        register.begin(labkit="0", isolation="bubblewrap", seconds=30, learners=learners)
        for learner in ("amber-17", "jade-2"):
            register.enter(_sheet(learner, path=f"{learner}.ipynb"))
            register.could_not_read(f"{learner}/notes.txt", "it is no notebook")
        register.could_not_read("x.ipynb", "it names different learners: its name says amber-17")
        register.correct(learner="amber-17", sheet="generator-action", question=QUESTION, mark=0, reason="So.")
        assert register.erase("amber-17") == 1
        assert [sheet.learner for sheet in register.counted()] == ["jade-2"]
        assert register.unread() == [("jade-2/notes.txt", "it is no notebook")]
        assert all(b"amber-17" not in file.read_bytes() for file in tmp_path.iterdir())


def test_erasing_one_learner_keeps_what_is_anothers(register: Register) -> None:
    """Files that were not marked are forgotten where they name the learner, however it is written, and no others."""
    files = ["17/notes.txt", "7/notes.txt", "all.zip/7_notes.txt", "Amber 17.txt", "amber-1/x.txt", "amber-170.txt"]
    for path in files:
        register.could_not_read(path, "it is no notebook")
    register.erase("7")
    assert [path for path, _ in register.unread()] == [*files[:1], *files[3:]]
    register.erase("amber-17")
    assert [path for path, _ in register.unread()] == ["17/notes.txt", "amber-1/x.txt", "amber-170.txt"]


def test_another_class_is_kept_out(register: Register) -> None:
    """A class list of which nobody was here with the same group is refused, but where all is marked again."""

    def begin(*learners: Learner, again: bool = False) -> None:
        register.begin(labkit="0", isolation="bubblewrap", seconds=30, learners=learners, again=again)

    tuesday, thursday = Learner("01", "tuesday"), Learner("01", "thursday")
    begin(tuesday, Learner("02", "tuesday"))
    begin(thursday)  # nothing is marked yet: the list may be another
    begin(tuesday, Learner("02", "tuesday"))
    register.enter(_sheet("01"))
    register.could_not_read("x", "it is empty")
    with pytest.raises(MarkingError, match=r"marks of another class \(01, 02\)\. Name an --out of its own"):
        begin(thursday, Learner("02", "thursday"))
    assert register.unread() == [("x", "it is empty")]
    assert register.missing() == ["02"]
    begin(thursday, Learner("02", "thursday"), again=True)
    begin(Learner("02", "thursday"), Learner("03", "thursday"))
    assert register.unlisted() == ["01"]


def test_unread_files_are_those_of_the_last_run(register: Register) -> None:
    """A file that could be read in a later run is not reported for ever."""
    register.could_not_read("x", "it is empty")
    assert register.unread() == [("x", "it is empty")]
    register.begin(labkit="0", isolation="bubblewrap", seconds=30)
    assert register.unread() == []


def test_files_that_are_no_register(tmp_path: Path) -> None:
    """A text file, another program's database and a register of a later version are refused, and not changed."""
    (tmp_path / "text").write_text("not a database, and long enough to look at " * 50)
    with sqlite3.connect(tmp_path / "other") as other:
        other.execute("CREATE TABLE thing (x)")
    with Register(tmp_path / "later") as later:
        later._db.execute("PRAGMA user_version = 99")
    other.close()
    (tmp_path / "folder").mkdir()
    for name, reason in (
        ("folder", "cannot be opened: unable to open database file.*can be written to"),
        ("text", "not a database"),
        ("other", "version 0"),
        ("later", "version 99.*later labkit that wrote it"),
    ):
        with pytest.raises(MarkingError, match=reason):
            Register(tmp_path / name)


@pytest.mark.parametrize("tenths", range(1, 9))
def test_a_damaged_register_is_told_in_a_sentence(tmp_path: Path, tenths: int) -> None:
    """From wherever its file is spoilt, whoever works with it is told what to do."""

    def work() -> None:
        with Register(path) as register:
            assert list(register.counted())
            register.begin(labkit="0", isolation="bubblewrap", seconds=30)
            register.enter(_sheet(path="new.ipynb"))

    path = tmp_path / "marks.sqlite"
    with Register(path) as register:
        register.begin(labkit="0", isolation="bubblewrap", seconds=30, learners=[Learner("amber-17")])
        for number in range(30):
            register.enter(_sheet(path=f"{number}.ipynb"))
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(tenths * size // 10)
        file.write(b"\xff" * (size - file.tell()))
    with pytest.raises(MarkingError, match="Put a copy back, or name another folder"):
        work()


#: The tables of version 1, and one answer in them.
_VERSION_1 = """
CREATE TABLE run (id INTEGER PRIMARY KEY, begun TEXT NOT NULL, labkit TEXT NOT NULL, isolation TEXT NOT NULL,
    seconds REAL NOT NULL) STRICT;
CREATE TABLE hand_in (id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES run, path TEXT NOT NULL,
    digest TEXT NOT NULL, generation INTEGER NOT NULL, changed TEXT NOT NULL, learner TEXT NOT NULL,
    sheet TEXT NOT NULL, bank TEXT NOT NULL, late INTEGER NOT NULL, mark REAL NOT NULL, trouble TEXT NOT NULL,
    notes TEXT NOT NULL, UNIQUE (path, digest, generation)) STRICT;
CREATE INDEX hand_in_of_learner ON hand_in (learner, sheet);
CREATE TABLE answer (hand_in INTEGER NOT NULL REFERENCES hand_in ON DELETE CASCADE, place INTEGER NOT NULL,
    asked TEXT NOT NULL, answer TEXT NOT NULL, mark REAL NOT NULL, out_of REAL NOT NULL, rule TEXT NOT NULL,
    question TEXT NOT NULL, outcome TEXT NOT NULL, comment TEXT NOT NULL, misconception TEXT, slip TEXT, lesson TEXT,
    hint TEXT NOT NULL, follows_through INTEGER NOT NULL, PRIMARY KEY (hand_in, place)) STRICT, WITHOUT ROWID;
CREATE TABLE correction (learner TEXT NOT NULL, sheet TEXT NOT NULL, question TEXT NOT NULL, mark REAL NOT NULL,
    reason TEXT NOT NULL, made TEXT NOT NULL, PRIMARY KEY (learner, sheet, question)) STRICT, WITHOUT ROWID;
CREATE TABLE unread (path TEXT PRIMARY KEY, reason TEXT NOT NULL) STRICT, WITHOUT ROWID;
INSERT INTO run VALUES (1, '2026-11-20T10:00:00', '0.0.9', 'bubblewrap', 30.0);
INSERT INTO hand_in VALUES
    (1, 1, 'a', 'd', 1, '2026-11-19', 'amber-17', 'generator-action', '2026-11', 0, 1.0, '', '[]');
INSERT INTO answer VALUES (1, 0, 'Which?', '4.7 V', 1.0, 1.0, 'r', 'Q', 'right', 'So.', NULL, NULL, NULL, '', 0);
INSERT INTO correction VALUES ('amber-17', 'generator-action', 'Q', 0.5, 'Half.', '2026-11-20');
PRAGMA user_version = 1;
"""


def test_an_older_register_is_brought_up_to_date(tmp_path: Path) -> None:
    """A register of version 1 keeps its marks and corrections, takes new sheets, and has all tables afterwards."""
    path = tmp_path / "marks.sqlite"
    old = sqlite3.connect(path)
    old.executescript(_VERSION_1)
    old.close()
    with Register(path) as register:
        (counted,) = register.counted()
        assert (counted.mark, counted.share, counted.answers[0].corrected, counted.run.labkit) == (
            0.5,
            1,
            "Half.",
            "0.0.9",
        )
        register.begin(labkit="0", isolation="bubblewrap", seconds=30, learners=[Learner("jade-2")])
        register.enter(_sheet("jade-2"))
    with Register(path) as register:
        assert [sheet.learner for sheet in register.counted()] == ["amber-17", "jade-2"]
        assert register._db.execute("PRAGMA user_version").fetchone()[0] == SCHEMA
        new = {row["name"]: row["sql"] for row in register._db.execute("SELECT name, sql FROM sqlite_schema")}
    with Register(tmp_path / "fresh") as fresh:
        assert new.keys() == {row["name"] for row in fresh._db.execute("SELECT name FROM sqlite_schema")}


def _enter_all(path: Path, sheets: Iterable[MarkedSheet], *, tell: Callable[[], object] = lambda: None) -> None:
    with Register(path) as register:
        register.begin(labkit="0", isolation="bubblewrap", seconds=30)
        for sheet in sheets:
            if not register.has(sheet.path, sheet.digest):
                tell()
                register.enter(sheet)


def _held(path: Path) -> int:
    with Register(path) as register:
        assert register._db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        return int(register._db.execute("SELECT count(*) FROM hand_in").fetchone()[0])


_MOST = 18  #: sheets that a process begins before it waits for its end, however late the killer comes


def _enter_and_be_killed(path: Path, sheets: Iterable[MarkedSheet], *, after: int, pause: float) -> None:
    """Enter sheets in another process, and kill it a moment after it began so many of them."""
    begun, tell = os.pipe()
    child = os.fork()
    if child == 0:
        left = iter(range(_MOST))

        def begin() -> None:
            os.write(tell, b".")
            if next(left, None) is None:
                signal.pause()

        try:
            _enter_all(path, sheets, tell=begin)
        finally:
            os._exit(0)
    os.close(tell)
    with os.fdopen(begun, "rb") as told:
        told.read(after)
        time.sleep(pause)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def test_killed_at_any_moment_the_register_is_whole(tmp_path: Path) -> None:
    """``kill -9`` at 20 random moments of entering 400 sheets: each is in the register once and whole afterwards."""
    sheets = [_sheet(f"learner-{number}", right=number % 4, path=f"{number}.ipynb") for number in range(400)]
    path, moments, found = tmp_path / "marks.sqlite", random.Random(5), []
    for _ in range(20):
        _enter_and_be_killed(path, sheets, after=moments.randrange(1, _MOST), pause=moments.uniform(0, 0.001))
        found.append(_held(path))
    assert found == sorted(found)
    assert 0 < found[-1] < len(sheets)
    _enter_all(path, sheets)
    with Register(path) as register:
        assert {sheet.learner: _as_entered(sheet) for sheet in register.counted()} == {
            sheet.learner: sheet for sheet in sheets
        }
    assert _held(path) == len(sheets)
