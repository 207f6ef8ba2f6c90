"""Lines off the pipe: only three kinds are taken, each with exactly its own keys."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.marking import Allowance
from labkit.marking.answers import Effort, Fault, Reader, decoded

GOOD = b'{"sheet": "s", "question": "q", "answer": "4 V"}\n'


def _read(*pieces: bytes) -> Reader:
    reader = Reader()
    for piece in pieces:
        reader.feed(piece)
    return reader


def test_lines_may_come_in_pieces() -> None:
    """A line counts once it is whole, however the pipe cuts it; a line without its end does not."""
    reader = _read(*(GOOD[place : place + 1] for place in range(len(GOOD))), GOOD[:-1])
    assert reader.answers == [("s", "q", "4 V")]


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"nonsense",
        b"null",
        b"[" * 3_900,
        b"9" * 3_900 + b"9" * 90,
        b"\xff\xfe",
        b'{"sheet": "s", "question": "q"}',
        b'{"sheet": "s", "question": "q", "answer": "4 V", "outcome": "right"}',
        b'{"sheet": "s", "question": "q", "answer": "4 V", "tries": 2, "mark": 9}',
        b'{"sheet": 1, "question": "q", "answer": "4 V"}',
        b'{"sheet": "s", "question": ["q"], "answer": "4 V"}',
        b'{"cell": -1, "error": "e"}',
        b'{"cell": 1e999, "error": "e"}',
        b'{"cell": 99999999999999999999, "error": "e"}',
        b'{"finished": "yes"}',
    ],
)
def test_other_lines_are_passed_over(line: bytes) -> None:
    """A line that is no JSON, has other keys or values of another type is passed over, and the next one is read."""
    reader = _read(line + b"\n", GOOD)
    assert reader.answers == [("s", "q", "4 V")]
    assert (reader.faults, reader.finished, reader.too_much) == ([], False, False)


@pytest.mark.parametrize("half", [0xD800, 0xDBFF, 0xDC00, 0xDFFF])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le"])
@pytest.mark.parametrize("written", ["raw", "small", "capital"])
def test_no_half_of_a_sign_comes_through(half: int, coding: str, written: str) -> None:
    """Halves of signs, as they are or as escapes, in every coding that JSON may have; whole signs beside them stay."""
    escaped = {"raw": chr(half), "small": f"\\u{half:04x}", "capital": f"\\u{half:04X}"}[written]
    said = decoded(f'["a{escaped}µ한😀"]'.encode(coding, "surrogatepass"))

    assert said == ["a?µ한😀"]


@given(st.recursive(st.text() | st.integers() | st.floats(allow_nan=False) | st.none(), st.lists, max_leaves=20))
def test_what_holds_no_halves_is_told_as_it_is(said: object) -> None:
    """JSON of whole signs comes through unchanged, with escapes and without them."""
    for plain in (True, False):
        assert decoded(json.dumps(said, ensure_ascii=plain).encode()) == said


def test_tries_and_times() -> None:
    """Tries and seconds are kept where they are whole numbers that can be, and make an answer neither more nor less."""
    told = b'{"sheet": "s", "question": "%s", "answer": "4 V", "tries": %s, "seconds": %s}\n'
    odd = [(b"a", b"3", b"240"), (b"b", b"true", b"-1"), (b"c", b"1e3", b"9" * 30), (b"d", b'"3"', b"null")]
    reader = _read(*(told % one for one in odd), GOOD)
    assert [question for _, question, _ in reader.answers] == ["a", "b", "c", "d", "q"]
    assert reader.efforts == {("s", "a"): Effort(3, 240)} | dict.fromkeys((("s", name) for name in "bcd"), Effort(0, 0))


def test_attempts() -> None:
    """An attempt is kept by the place of its answer where it can be one, 2 to 99; any other is the first."""
    told = b'{"sheet": "s", "question": "q", "answer": "4 V", "attempt": %s}\n'
    odd = (b"2", b"1", b"0", b"-1", b"true", b"2.0", b'"2"', b"[2]", b"null", b"100", b"9" * 30, b"99")
    reader = _read(*(told % one for one in odd), GOOD)
    assert reader.attempts == {0: 2, 11: 99}
    assert len(reader.answers) == 13
    assert reader.efforts == {}


def test_too_much_is_not_read() -> None:
    """A line of more than 16 kB, and more than 2000 lines, end the reading; what came before stands."""
    assert _read(GOOD, b"y" * 17_000).too_much
    reader = _read(GOOD * 2_001)
    assert reader.too_much
    assert len(reader.answers) == 2_000
    run = reader.run("exit status 0", Allowance())
    assert run.trouble == "It wrote more than a sheet can answer; what came after was not read."


def test_an_error_cannot_steer_a_terminal() -> None:
    """Escape signs and signs that turn a line round are taken out of an error's text, and it is cut."""
    line = json.dumps({"cell": 3, "error": "\x1b[2J\u202e" + "x" * 400}).encode() + b"\n"
    assert _read(line).faults == [Fault(cell=3, error="?[2J?" + "x" * 295)]


@given(st.lists(st.binary(max_size=200), max_size=20))
@settings(max_examples=200)
def test_no_bytes_break_the_reader(pieces: list[bytes]) -> None:
    """Whatever comes off the pipe, reading it raises nothing and gives answers of the stated shape."""
    reader = _read(*pieces)
    assert all(isinstance(sheet, str) and isinstance(question, str) for sheet, question, _ in reader.answers)
