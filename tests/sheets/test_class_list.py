"""Class lists and keys: what is read, and how a file that cannot be used is met."""

from __future__ import annotations

import ntpath
import os
import stat
import unicodedata
from datetime import UTC, date, datetime
from pathlib import PureWindowsPath

import pytest

from labkit.errors import SheetError
from labkit.sheets import Learner, new_key, read_class_list, read_key
from labkit.sheets.classlist import file_name, plain_name

pytestmark = pytest.mark.core


@pytest.fixture
def listing(tmp_path):
    """Return a function that writes a class list of this text, or of these bytes."""

    def write(content):
        path = tmp_path / "class.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.mark.parametrize(
    "content",
    [
        "id,group\namber-17,tuesday\nteal-3,\n",
        "\ufeffID;Group\r\namber-17;tuesday\r\nteal-3;\r\n",
        "name\tgroup\tid\nx\ttuesday\tamber-17\n\ny\t\tteal-3\n",
        'group,id\n"tuesday"," amber-17 "\n,teal-3\n',
    ],
    ids=["commas", "semicolons and mark", "tabs, more columns, empty line", "other order, quoted"],
)
def test_the_same_class_from_every_spreadsheet(listing, content):
    """Commas, semicolons, tabs, other columns, other order: the same two learners."""
    assert read_class_list(listing(content)) == [Learner("amber-17", "tuesday"), Learner("teal-3", "")]


def test_the_same_class_from_a_workbook(tmp_path):
    """A spreadsheet's first sheet is read as its CSV would be; numbers are ids too, and a column says who is a pair."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (
        ["Name", "ID", "Group", "Pair"],
        [],
        ["x", "amber-17", "tuesday", "bench 4"],
        ["y", 17, None, "bench 4"],
    ):
        book.active.append(row)
    book.create_sheet("other").append(["id", "nobody"])
    book.save(tmp_path / "class.xlsx")

    assert read_class_list(tmp_path / "class.xlsx") == [
        Learner("amber-17", "tuesday", "bench 4"),
        Learner("17", "", "bench 4"),
    ]


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2026-11-30T18:00", (2026, 11, 30, 18, 0)),
        ("2026-11-30 18:00", (2026, 11, 30, 18, 0)),
        (" 30.11.2026  8:05 ", (2026, 11, 30, 8, 5)),
        ("30.11.2026 18:00", (2026, 11, 30, 18, 0)),
        ("4.5.2026", (2026, 5, 4, 23, 59, 59)),
        ("2026-11-30", (2026, 11, 30, 23, 59, 59)),
        ("2026-11-30 00:00:00", (2026, 11, 30, 23, 59, 59)),
        ("2026-11-30T00:00", (2026, 11, 30, 0, 0)),
        ("", None),
    ],
)
def test_a_learner_may_have_a_time_of_their_own(listing, written, read):
    """A date and time as a person or a spreadsheet writes it; a date alone is the end of that day."""
    due = datetime(*read) if read else None  # noqa: DTZ001 (the teacher's own clock)
    assert read_class_list(listing(f"id;due\namber-17;{written}\n")) == [Learner("amber-17", due=due)]


def test_a_moment_with_a_zone_is_on_the_teachers_clock(listing):
    """A time in UTC is the same moment on this machine's clock."""
    (learner,) = read_class_list(listing("id,due\namber-17,2026-11-30T18:00:00+00:00\n"))

    assert learner.due.timestamp() == datetime(2026, 11, 30, 18, 0, tzinfo=UTC).timestamp()


@pytest.mark.parametrize("written", ["Friday", "4/5/2026", "30.11.26", "31.11.2026", "2026-11-30T25:00", "46356", "99"])
def test_a_date_that_cannot_be_read_is_named(listing, tmp_path, written):
    """What is no date, or could be two, is told with file, line and what stands there: in text and in a workbook."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (["id", "due"], ["amber-17", None], ["teal-3", written]):
        book.active.append(row)
    book.save(tmp_path / "class.xlsx")
    for path in (listing(f"id,due\namber-17,\nteal-3,{written}\n"), tmp_path / "class.xlsx"):
        with pytest.raises(SheetError) as caught:
            read_class_list(path)
        assert f"{path}, line 3: due must be a date and time such as 2026-11-30T18:00" in str(caught.value)
        assert f"got {written!r}." in str(caught.value)


def test_times_from_a_workbook(tmp_path):
    """Cells that a spreadsheet holds as dates, with a time or without, are read as what they show."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    whole, timed = date(2026, 11, 30), datetime(2026, 11, 30, 18, 0)  # noqa: DTZ001 (as a spreadsheet has it)
    for row in (["id", "due"], ["amber-17", timed], ["teal-3", whole], ["opal-5", "30.11.2026 18:00"], ["jade-2"]):
        book.active.append(row)
    book.save(tmp_path / "class.xlsx")
    end = datetime(2026, 11, 30, 23, 59, 59)  # noqa: DTZ001 (as above)

    assert [learner.due for learner in read_class_list(tmp_path / "class.xlsx")] == [timed, end, timed, None]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([], "is empty"),
        ([["name"]], "no column 'id'"),
        ([["id"]], "lists nobody"),
        ([["id"], [], ["x"], ["X"]], "line 4"),
    ],
)
def test_a_workbook_that_cannot_be_used_says_why(tmp_path, rows, said):
    """What is wrong is told as for text, with the row; a file that is no workbook is told too."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "class.xlsx")
    with pytest.raises(SheetError, match=said):
        read_class_list(tmp_path / "class.xlsx")
    (tmp_path / "class.xlsx").write_text("id\namber-17\n")
    with pytest.raises(SheetError, match=r"class.xlsx is no spreadsheet that can be read.*Save it as CSV"):
        read_class_list(tmp_path / "class.xlsx")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "is empty"),
        ("\n \n", "is empty"),
        ("id,group\n", "lists nobody"),
        ("learner,group\nx,y\n", "no column 'id'. Its first line has: learner, group"),
        ("id,group,ID\nx,y,z\n", "two columns 'id'. Give the one that does not count another name"),
        ("id\namber\nteal\nAmber\n", "line 4: the id 'Amber' is on line 2 already"),
        ("id\na b\na_b\n", "line 3: the id 'a_b' is told from 'a b', on line 2, by signs alone"),
        ("id\na-b\na b\n", "line 3: the id 'a b' is told from 'a-b', on line 2, by signs alone"),
        ("id\nx\n--\n", "line 3: '--' is no id"),
        (f"id\n{'µ' * 70}\n", "line 2: 'µµµ"),
        ('id,group\n"amber,tuesday\nteal,x\n', "line 3: unexpected end of data"),
        (f'id\n"{"x" * 200_000}"\n', "line 2: field larger than field limit"),
        ("id,group\n,tuesday\n", "line 2: '' is no id"),
        ("id\na/b\na b\n", "line 3: the id 'a b' is told from 'a/b', on line 2, by signs alone"),
        (f"id\n{'x' * 81}\n", "line 2"),
        ("id\n\x07x\n", "line 2"),
        (b"id\n\xe9\xe8\n", "no UTF-8"),
    ],
)
def test_a_list_that_cannot_be_used_says_why_and_where(listing, content, said):
    """Empty files, missing columns, double and impossible ids are each named with their line."""
    with pytest.raises(SheetError) as caught:
        read_class_list(listing(content))

    assert said in str(caught.value)


def test_a_key_in_place_of_a_list_is_not_shown(tmp_path):
    """Whoever names the key file as the class list is told what it is, and no part of the key stands in the message."""
    new_key(tmp_path / "my.key")
    key = (tmp_path / "my.key").read_text().strip()
    with pytest.raises(SheetError, match="is a key file") as caught:
        read_class_list(tmp_path / "my.key")

    said = str(caught.value).replace(str(tmp_path), "")
    assert not any(key[place : place + 6] in said for place in range(len(key) - 5))


def test_a_new_key_is_secret_and_never_overwritten(tmp_path):
    """Two keys differ, only their owner may read them, and a key that exists is kept."""
    one, two = tmp_path / "one", tmp_path / "two"
    new_key(one)
    new_key(two)

    assert read_key(one) != read_key(two)
    assert len(read_key(one)) == 32
    if os.name == "posix":
        assert stat.S_IMODE(one.stat().st_mode) == 0o600
    before = one.read_bytes()
    with pytest.raises(SheetError, match="exists already"):
        new_key(one)
    assert one.read_bytes() == before


def test_a_key_that_an_editor_of_windows_saved_is_the_same(tmp_path):
    """With the mark of UTF-8 before it and a line that ends as there: an editor costs nobody a term's marks."""
    path = tmp_path / "my.key"
    new_key(path)
    key = read_key(path)

    path.write_bytes(path.read_text(encoding="ascii").replace("\n", "\r\n").encode("utf-8-sig"))

    assert read_key(path) == key


@pytest.mark.parametrize("content", [b"", b"hello", b"\xff\xfe", b"abcd"])
def test_a_file_that_is_no_key_is_refused(tmp_path, content):
    """A file with anything else, or a key that is too short, is met with the command that makes one."""
    path = tmp_path / "key"
    path.write_bytes(content)
    with pytest.raises(SheetError, match="labkit sheets --new-key"):
        read_key(path)


@pytest.mark.parametrize(
    "learner",
    [
        "con",
        "Aux",
        "NUL",
        "prn",
        "com1",
        "LPT9",
        "com²",
        "con.",
        "con.txt",
        "a:b?c",
        "amber ",
        "../amber",
        "Zoë",
        "日本",
    ],
)
def test_every_id_can_name_a_file_on_windows(learner):
    """Python's own rules of Windows names find nothing reserved or forbidden in the names of sheets and pages."""
    reserved = getattr(ntpath, "isreserved", None) or (lambda name: PureWindowsPath(name).is_reserved())
    assert reserved("con.html")

    for name in (f"{file_name(learner)}.html", f".{file_name(learner)}.html.draft-1", f"a-{file_name(learner)}.ipynb"):
        assert not reserved(name)
        assert not set(name) & set('<>:"/\\|?*')
        assert name == name.rstrip(" .")


def test_a_name_is_the_same_however_a_file_system_writes_its_accents():
    """Some disks and archives of macOS hold ë as e and a mark of its own; Zoë is not Zoe for it."""
    composed, apart = (unicodedata.normalize(form, "Zoë-1") for form in ("NFC", "NFD"))

    assert composed != apart
    assert plain_name(apart) == plain_name(composed) != plain_name("Zoe-1")
