"""The slider part: what a hand or a typed entry sends, and what Python then holds."""

import comm
import pytest
from comm.base_comm import BaseComm

from labkit import Q_
from labkit.panels import QuantitySlider
from labkit.panels.controls import stops
from labkit.testing import assert_quantity_close


class Wire(BaseComm):
    """The wire to the browser, with nobody at the other end: it keeps what was sent."""

    def __init__(self, **options):
        self.messages = []
        super().__init__(**options)

    def publish_msg(self, msg_type, data=None, metadata=None, buffers=None, **keys):  # noqa: ARG002
        """Keep what is sent."""
        self.messages.append(data or {})


@pytest.fixture
def sent(monkeypatch):
    """What a part sends to the browser, in order: custom content, and the names of the traits that changed."""
    monkeypatch.setattr(comm, "create_comm", Wire)

    def messages(part):
        return [m.get("content") or sorted(m["state"]) for m in part.comm.messages if m.get("method")]

    return messages


@pytest.fixture
def speed(sent):  # noqa: ARG001 (the wire must lie before the part is made)
    """Return a slider like the generator panel's."""
    return QuantitySlider("Shaft speed", stops(0, 9000, 50), "rpm", Q_(3000, "rpm"), digits=4)


def browser(slider, **content):
    """Deliver a message as the browser's side sends it."""
    slider._handle_custom_msg(content, [])


def test_a_move_sets_value_text_and_place(speed):
    """A move to a stop sets the quantity, its text with unit, and the slider's place."""
    browser(speed, move=81, view="a")

    assert_quantity_close(Q_(4050, "rpm"), speed.value, relative=1e-12)
    assert speed.text == "4050 rpm"
    assert speed.index == 81


def test_a_move_is_answered_after_all_that_it_changed(speed, sent):
    """The view hears the new place and text first and the answer last, so that its next move is never taken back."""
    browser(speed, move=81, view="a")

    assert sent(speed) == [["index", "text"], {"done": "a"}]


def test_every_move_is_answered_to_the_view_that_sent_it(speed, sent):
    """The view may send its next move only after an answer, so each move gets one, with the view's name."""
    browser(speed, move=60, view="a")  # where it stands already
    browser(speed, move=61, view="b")

    assert [m for m in sent(speed) if "done" in m] == [{"done": "a"}, {"done": "b"}]


def test_a_move_is_answered_even_when_drawing_fails(speed, sent):
    """A failure in what follows the move must not leave the slider dead."""

    def fail(_change):
        raise RuntimeError

    speed.observe(fail, "value")
    with pytest.raises(RuntimeError):
        speed._heard(speed, {"move": 3, "view": "a"}, [])

    assert sent(speed)[-1] == {"done": "a"}


@pytest.mark.parametrize(
    ("typed", "rpm"),
    [("2970 rpm", 2970.0), ("4500 1/min", 4500.0), ("100 rad/s", 954.9296585513721), ("2,5e3 rpm", 2500.0)],
)
def test_typed_text_is_read_as_a_person_writes_it(speed, typed, rpm):
    """Any unit of the right kind will do, and a decimal comma; the value need not be a stop of the slider."""
    browser(speed, typed=typed, view="a")

    assert_quantity_close(Q_(rpm, "rpm"), speed.value, relative=1e-12)
    assert not speed.refusal


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("2970", "as in 2970 rpm"),
        ("50 Hz", "rpm"),
        ("3 V", "Check the unit"),
        ("12000 rpm", "from 0 rpm to 9000 rpm"),
        ("-5 rpm", "too low"),
        ("fast", "does not begin with a number"),
    ],
)
def test_what_cannot_be_is_refused_with_a_helpful_word_and_changes_nothing(speed, typed, word):
    """A missing or wrong unit, a value beyond the ends, and no number at all each get their own advice."""
    browser(speed, typed=typed, view="a")

    assert word in speed.refusal
    assert_quantity_close(Q_(3000, "rpm"), speed.value)


def test_a_refusal_goes_away_with_the_next_good_value(speed):
    """A sentence about the last entry must not stand beside a later move."""
    speed.type_in("fast")
    speed.type_in("3000 rpm")
    assert not speed.refusal

    speed.type_in("fast")
    browser(speed, move=0, view="a")

    assert not speed.refusal


@pytest.mark.parametrize("empty", ["", "  "])
def test_an_emptied_entry_takes_a_refusal_back_and_changes_nothing(speed, sent, empty):
    """Who clears the entry or presses Escape wants the value that stands, not another complaint."""
    speed.type_in("fast")
    browser(speed, typed=empty, view="a")

    assert speed.refusal == ""
    assert_quantity_close(Q_(3000, "rpm"), speed.value)
    assert sent(speed)[-1] == {"done": "a"}


def test_a_value_set_by_a_preset_takes_a_refusal_back(speed):
    """What was refused stays in the entry: it must not cover a value that came by another way."""
    speed.type_in("fast")
    speed.value = Q_(1500, "rpm")

    assert speed.refusal == ""
    assert speed.text == "1500 rpm"


def test_the_same_value_again_after_a_refusal_is_accepted(speed):
    """Typing the value that already stands clears the refusal although nothing changes."""
    speed.type_in("50 Hz")
    speed.type_in("3000 rpm")

    assert speed.refusal == ""


def test_duty_takes_a_percentage_or_a_part_of_one_and_asks_when_unsure():
    """40 % and 0.4 are one duty; a bare 40 is asked about."""
    duty = QuantitySlider("Duty", stops(0, 100, 1), "percent", Q_(40, "percent"))
    duty.type_in("0.25")
    assert duty.text == "25.0 %"

    duty.type_in("40")

    assert duty.refusal.endswith("A percentage? Write 40 %.")


def test_a_temperature_stands_at_its_own_stop():
    """Degrees stay degrees: 25 °C is not 298 of anything on a slider from 0 to 60 °C."""
    air = QuantitySlider("Air around it", stops(0, 60, 1), "degC", Q_(25, "degC"))

    assert air.index == 25
    assert air.stops[air.index] == air.text == "25.0 °C"


def test_the_text_of_each_stop_carries_its_unit(speed):
    """What a screen reader speaks while the kernel is busy is there beforehand, unit and all."""
    assert len(speed.stops) == 181
    assert all(text.endswith(" rpm") for text in speed.stops)
    assert speed.page == 18
