"""When sheets are due: at everybody's time, or at one that the class list gives a learner."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from labkit.cli import main
from labkit.marking.deadlines import due_times
from labkit.reports.marks import Due
from labkit.sheets import Learner

FRIDAY, MONDAY = datetime(2026, 11, 20, 18, 0), datetime(2026, 11, 23, 12, 0)  # noqa: DTZ001 (the teacher's own clock)


def test_who_has_a_time_of_their_own() -> None:
    """The time in the class list stands in place of everybody's; of a pair the later holds for both."""
    learners = [
        Learner("amber-17"),
        Learner("jade-2", due=MONDAY),
        Learner("opal-5", "tuesday", "bench 4", due=MONDAY),
        Learner("teal-3", "tuesday", "bench 4"),
        Learner("ruby-9", "wednesday", "bench 4"),
        Learner("slate-8", due=FRIDAY),
    ]
    friday, monday = Due("2026-11-20T18:00:00"), Due("2026-11-23T12:00:00", own=True)
    assert due_times(learners, FRIDAY) == {
        "amber-17": friday,
        "jade-2": monday,
        "opal-5": monday,
        "teal-3": monday,
        "ruby-9": friday,
        "slate-8": friday,
    }


def test_without_a_time_for_everybody() -> None:
    """Then only those are late who have a time of their own, and of a pair none whose other half has none."""
    learners = [
        Learner("amber-17"),
        Learner("jade-2", due=MONDAY),
        Learner("opal-5", "", "bench 4", due=MONDAY),
        Learner("teal-3", "", "bench 4"),
    ]
    due = due_times(learners, None)
    assert due == {
        "amber-17": Due(),
        "jade-2": Due("2026-11-23T12:00:00", own=True),
        "opal-5": Due(),
        "teal-3": Due(),
    }


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, needs: Callable[[str], str]) -> Path:
    """A folder with a key and four returned sheets, all changed on Saturday."""
    needs("bwrap")
    base = tmp_path_factory.mktemp("desk")
    (base / "class.csv").write_text("id,due\namber-17,\njade-2,\nopal-5,\nteal-3,\n")
    assert main(["sheets", "--new-key", str(base / "key")]) == 0
    drawn = ["--sheet", "generator-action", "--key", str(base / "key"), "--folder", str(base / "returned")]
    assert main(["sheets", str(base / "class.csv"), *drawn]) == 0
    saturday = datetime(2026, 11, 21, 9, 30).timestamp()  # noqa: DTZ001 (as above)
    for path in (base / "returned").iterdir():
        os.utime(path, (saturday, saturday))
    return base


def _mark(desk: Path, *more: str, due: str = "2026-11-20T18:00") -> int:
    key = ["--class-list", str(desk / "class.csv"), "--key", str(desk / "key"), "--out", str(desk / "marks")]
    return main(["mark", str(desk / "returned"), *key, *(["--due", due] if due else []), *more])


def _rows(desk: Path) -> dict[str, tuple[str, str]]:
    with (desk / "marks" / "marks.csv").open(encoding="utf-8-sig") as file:
        return {row["learner"]: (row["due"], row["remarks"]) for row in csv.DictReader(file)}


def test_an_extension_from_the_list_to_the_pages(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of four sheets changed on Saturday those are late that were due on Friday; table, page and report say by what.

    A list that was changed later holds for what is marked from then on, and it is said that the rest keeps its time.
    """
    (desk / "class.csv").write_text("id,due\namber-17,\njade-2,2026-11-23\nopal-5,21.11.2026 09:00\nteal-3,\n")
    assert _mark(desk, "--late-keeps", "50") == 0
    late = "Handed in late: 50 % of its marks count."
    friday, monday, saturday = "2026-11-20T18:00:00", "2026-11-23T23:59:59", "2026-11-21T09:00:00"
    assert _rows(desk) == {
        "amber-17": (friday, late),
        "jade-2": (monday, "Due 2026-11-23 23:59, a time of its own."),
        "opal-5": (saturday, f"Due 2026-11-21 09:00, a time of its own. {late}"),
        "teal-3": (friday, late),
    }
    page = (desk / "marks" / "comments" / "jade-2.html").read_text(encoding="utf-8")
    assert "Due 2026-11-23 23:59; your file was last changed 2026-11-21 09:30." in page
    report = (desk / "marks" / "class.html").read_text(encoding="utf-8")
    assert "Due 2026-11-20 18:00, and for 2 learners at a time of their own" in report
    assert "<caption>Late, or due at a time of their own</caption>" in report

    (desk / "class.csv").write_text(
        "id,due\namber-17,2026-11-23\njade-2,2026-11-23\nopal-5,21.11.2026 09:00\nteal-3,\n"
    )
    capsys.readouterr()
    assert _mark(desk) == 0
    # one by its time, and two for the half of its marks that a late sheet kept
    assert "3 sheets are still late, or not, by an earlier due time or --late-keeps" in capsys.readouterr().out
    assert _rows(desk)["amber-17"] == (friday, late)
    assert _mark(desk, "--late-keeps", "50") == 0
    assert "1 sheet is still late, or not, by an earlier due time" in capsys.readouterr().out
    assert _mark(desk, "--again") == 0
    assert _rows(desk)["amber-17"] == (monday, "Due 2026-11-23 23:59, a time of its own.")
    capsys.readouterr()
    assert _mark(desk) == 0
    assert "still late" not in capsys.readouterr().out


def test_what_late_sheets_keep_needs_a_time(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without any time nothing is late, and a part of the marks for late sheets is refused; one in the list will do."""
    (desk / "class.csv").write_text("id,due\namber-17,\n")
    assert _mark(desk, "--late-keeps", "50", due="") == 1
    assert "--late-keeps needs --due, or a column due in the class list" in capsys.readouterr().err
    (desk / "class.csv").write_text("id,due\namber-17,2026-11-30\n")
    assert _mark(desk, "--late-keeps", "50", due="") == 0
