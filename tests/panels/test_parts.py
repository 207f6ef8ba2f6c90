"""The other parts: choice, buttons, picture, fold, prediction."""

import json
import re

import pytest

from labkit import Q_, generator_panel
from labkit.errors import NoSolutionError, PartError
from labkit.figures import Picture
from labkit.panels import Buttons, Choice, Fold, Image, Prediction


def picture(**changes):
    """Return a picture with what matters here."""
    fields = {"png": b"\x89PNG", "width": 640, "height": 420, "subject": "A line.", "finding": "It rises."}
    return Picture(**fields | changes)


def test_choice_keeps_option_and_place_in_step():
    """Setting either the option's name or its place sets the other."""
    load = Choice("Load", ["a resistor", "an LED"], "an LED")
    load.index = 0
    assert load.value == "a resistor"

    load.value = "an LED"

    assert load.index == 1


def test_a_button_does_what_its_name_says_and_an_unknown_one_nothing():
    """A press calls the function of that name; a name that is not there is passed over."""
    pressed = []
    row = Buttons("Presets", {"Flat battery": lambda: pressed.append("flat")})

    row._handle_custom_msg({"press": "Flat battery"}, [])
    row._handle_custom_msg({"press": "Mains"}, [])

    assert pressed == ["flat"]


def test_an_image_takes_png_alt_text_and_finding_from_a_picture():
    """Everybody gets the picture: as pixels, as alternative text, and as a sentence."""
    image = Image()
    image.show(picture())

    assert image.png == b"\x89PNG"
    assert image.alt == "A line. It rises."
    assert image.finding == "It rises."


def test_an_image_without_an_answer_shows_no_old_picture():
    """A picture of the setting before would be a wrong number."""
    image = Image()
    image.show(picture())
    image.refuse("The junction runs away.")

    assert image.png == b""
    assert image.finding == image.alt == "The junction runs away."


def test_a_fold_makes_its_content_only_when_asked():
    """What nobody looks at costs nothing, however often the numbers change."""
    made = []
    fold = Fold("Show the working", lambda: made.append(1) or f"<p>{len(made)}</p>")
    fold.stale()
    fold.stale()
    assert made == []

    fold._handle_custom_msg({"ask": fold.version}, [])

    assert fold.content == "<p>1</p>"
    assert fold.asked == fold.version


def test_a_fold_knows_when_its_content_is_of_an_earlier_setting():
    """After a change the asked version falls behind, which is what makes the browser ask again."""
    fold = Fold("Show the numbers", lambda: "<p></p>")
    fold.fill()
    fold.stale()

    assert fold.asked == fold.version - 1


def test_a_fold_says_why_there_is_no_working():
    """Where the physics has no answer, the sentence stands in its place, harmless as HTML."""

    def none():
        raise NoSolutionError("It runs away: P > 3 W.")

    fold = Fold("Show the working", none)
    fold.fill()

    assert fold.content == "<p>It runs away: P &gt; 3 W.</p>"


def words(box):
    """Return what a gate shows, as plain text."""
    text = re.sub(r"<[^>]*>", " ", box.children[0].value)
    return re.sub(r"\s+", " ", text).strip()


@pytest.fixture
def ask(tmp_path):
    """Return a function that asks one question, whose answer is kept in a folder of this test."""

    def make(**options):
        return Prediction("Held still", "What does the meter read?", folder=tmp_path, **options)

    return make


def test_a_prediction_is_kept_across_a_restart(ask):
    """The same title asks no second time: the committed answer is there again."""
    ask(options=["speed", "current"]).commit("speed")

    assert ask(options=["speed", "current"]).answer == "speed"


def test_a_prediction_to_another_wording_is_not_taken_over(ask, tmp_path):
    """When the question has changed, an old answer to it says nothing."""
    ask(unit="V").commit("3 V")

    assert Prediction("Held still", "What now?", unit="V", folder=tmp_path).answer == ""


def test_a_damaged_file_asks_again(ask, tmp_path):
    """A file that cannot be read is no reason to fail a lesson."""
    ask(unit="V").commit("3 V")
    (tmp_path / "predictions" / "held-still.json").write_text("{", encoding="utf-8")

    assert ask(unit="V").answer == ""


@pytest.mark.parametrize("typed", ["", "3", "3 A", "much"])
def test_a_typed_prediction_needs_its_unit(ask, typed):
    """A number without its unit is no prediction, and the refusal says how to write one."""
    guess = ask(unit="V")
    guess.commit(typed)

    assert guess.answer == ""
    assert guess.refusal


def test_not_knowing_is_an_answer(ask):
    """Nobody is locked out for being unsure."""
    guess = ask(options=["speed", "current"])
    guess.commit("I do not know yet")

    assert guess.answer == "I do not know yet"


def test_nothing_of_the_result_is_shown_before_the_commitment(ask):
    """The result beside no prediction would answer for the learner."""
    guess = ask(unit="V")

    assert "4.74" not in words(guess.beside(Q_(4.74, "V")))
    assert "k·ω" not in words(guess.then(picture(finding="It is k·ω.")))


def test_prediction_and_result_stand_side_by_side(ask):
    """After the commitment both are shown, as typed and as found."""
    guess = ask(unit="V")
    box = guess.beside(Q_(4.74, "V"), "k·ω.")
    guess.commit("3 V")

    assert words(box) == "You predicted 3 V The result 4.74 V k·ω."


def test_what_waits_opens_by_itself_and_closes_again(ask):
    """Nothing has to be run again after the commitment, and a second round begins closed."""
    guess = ask(unit="V")
    box = guess.then(picture(finding="It is k·ω."))
    guess.commit("3 V")
    assert "It is k·ω." in words(box)

    guess.again()

    assert "k·ω" not in words(box)


def test_typed_text_is_harmless_in_the_page(ask):
    """What was kept in the file is text, never markup."""
    guess = ask(unit="V")
    guess.file.parent.mkdir(parents=True)
    guess.file.write_text(json.dumps({"question": guess.question, "answer": "<img>"}), encoding="utf-8")

    assert "<img>" not in ask(unit="V").beside("x").children[0].value


def test_predicting_again_asks_anew_also_after_a_restart(ask):
    """A second time through the lesson begins closed."""
    guess = ask(unit="V")
    guess.commit("3 V")
    guess._handle_custom_msg({"again": True}, [])

    assert guess.answer == ""
    assert ask(unit="V").answer == ""


def test_a_prediction_changed_after_the_result_does_not_pass_for_the_first(ask):
    """Whoever has seen the result and predicts again reads both; the same answer again is no second one."""
    guess = ask(unit="V")
    box = guess.beside(Q_(4.74, "V"))
    guess.commit("3 V")
    guess.again()
    guess.commit("4.7 V")
    assert words(box).startswith("You predicted at first 3 V and then 4.7 V The result 4.74 V")

    later = ask(unit="V")
    assert words(later.beside("x")).startswith("You predicted at first 3 V and then 4.7 V")
    later.again()
    later.commit("3 V")
    assert words(later.beside("x")).startswith("You predicted 3 V The result x")


@pytest.mark.parametrize(
    ("use", "words"),
    [
        (lambda _ask: Prediction(None, "What now?"), "title must be text; got None"),
        (lambda _ask: Prediction("Held", 3), "question must be text; got 3"),
        (lambda ask: ask(options="more"), "options must be a list of answers; got 'more'"),
        (lambda ask: ask(options=["more", 3]), r"options\[1\] must be text; got 3"),
        (lambda ask: ask(unit="V").beside(None), "result must be a quantity or text; got None"),
        (lambda ask: ask(unit="V").then(None), "then must be a derivation or a picture; got a NoneType"),
        (lambda _ask: generator_panel(after="Held still"), "after must be a prediction; got a str"),
    ],
)
def test_what_is_no_prediction_and_no_result_is_refused_by_name(ask, use, words):
    """Each argument of another kind is named, before anything waits for it."""
    with pytest.raises(PartError, match=words):
        use(ask)


def test_two_titles_in_another_script_are_two_predictions(tmp_path):
    """Letters of any alphabet make the file's name, so that one answer does not take the place of the other."""
    first, second = (Prediction(title, "What now?", unit="V", folder=tmp_path) for title in ("Напряжение", "Ток"))
    first.commit("3 V")

    assert second.file != first.file
    assert Prediction("Ток", "What now?", unit="V", folder=tmp_path).answer == ""
