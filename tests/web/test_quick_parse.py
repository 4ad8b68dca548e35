"""Plain sentences and what they say. No farm, no clock: names and the day are given."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.trade import behaviours
from farm.web.quick import words
from farm.web.quick.names import Name
from farm.web.quick.parse import MOST_LETTERS, parse
from farm.web.quick.sentence import NotUnderstood, Sentence
from tests.conftest import TODAY

NAMES = [
    Name("1", "Brooder 1", True),
    Name("2", "Pen 2", True),
    Name("12", "Pen 2 north", True),
    Name("7", "Pond ducks", False),
    Name("8", "7", False),
]


def read(text, system="metric"):
    return parse(text, NAMES, TODAY, system)


def understood(text, system="metric", **expected):
    found = read(text, system)
    assert isinstance(found, Sentence), found
    assert {name: getattr(found, name) for name in expected} == expected


def why(text):
    found = read(text)
    assert isinstance(found, NotUnderstood), found
    return str(found.reason)


@pytest.mark.parametrize(
    "text, kind, birds",
    [
        ("3 died", "died", 3),
        ("  Three   DIED. ", "died", 3),
        ("died 3", "died", 3),
        ("one dead", "died", 1),
        ("2 birds were culled", "culled", 2),
        ("we sold 5 ducks", "sold", 5),
        ("4 processed", "processed", 4),
        ("6 kept back", "kept_back", 6),
        ("found 2", "found", 2),
        ("12 chicks hatched", "hatched", 12),
    ],
)
def test_birds_that_came_or_went_are_a_count(text, kind, birds):
    understood(text, verb="count", kind=kind, birds=birds, day=TODAY, assumed=False)


def test_lost_birds_are_taken_for_dead_but_shown_first():
    understood("2 lost", verb="count", kind="died", birds=2, assumed=True)


def test_a_place_is_known_in_any_spelling_and_its_digit_is_no_count():
    understood("2 culled in  PEN 2", housing="2", batch=None, birds=2)


def test_the_longer_name_is_meant_where_one_begins_like_another():
    understood("2 culled in Pen 2 north", housing="12")


def test_a_batch_is_known_before_within_and_after_the_sentence():
    for text in ("Pond ducks: 3 died", "3 pond ducks died", "3 died of the Pond ducks"):
        understood(text, batch="7", birds=3)


def test_a_name_without_letters_is_a_number_unless_a_small_word_makes_it_a_name():
    understood("7 died", birds=7, batch=None)
    understood("3 died of 7", birds=3, batch="8")


def test_a_move_says_how_many_from_where_to_where():
    understood("moved 25 to pen 2", verb="move", birds=25, to="2", housing=None)
    understood("moved 25 from Brooder 1 to Pen 2", birds=25, housing="1", to="2")
    understood("Moved all into Pen 2", birds=None, to="2")


@pytest.mark.parametrize(
    "text, day",
    [
        ("3 died yesterday", TODAY - timedelta(days=1)),
        ("3 died 2 days ago", TODAY - timedelta(days=2)),
        ("3 died on 2026-04-20", date(2026, 4, 20)),
        ("today 3 died", TODAY),
    ],
)
def test_the_day_may_be_said(text, day):
    understood(text, day=day, birds=3)


@pytest.mark.parametrize(
    "text, word",
    [
        ("they huddle", "huddled"),
        ("the chicks are huddling", "huddled"),
        ("panting in Brooder 1", "away"),
        ("all spread out, eating", "even"),
        ("pushed to one side", "one_side"),
        ("piled this morning", "piled_morning"),
        ("poults eyes shut", "poult_eyes_shut"),
        ("pasty", "pasty_flapping"),
    ],
)
def test_what_they_do_is_a_behaviour(text, word):
    understood(text, verb="see", kind="behaviour", word=word, assumed=False)


def test_every_behaviour_of_the_tables_can_be_said():
    assert {key for _sayings, key in words.BEHAVIOURS} == set(behaviours.behaviours())


def test_a_loose_word_and_words_left_over_are_shown_before_they_are_recorded():
    understood("they are cold", word="huddled", assumed=True)
    understood("they huddle by the door", word="huddled", assumed=True)


@pytest.mark.parametrize(
    "text", ["they are not huddling", "no panting", "they don't huddle", "never spread out"]
)
def test_what_is_denied_is_not_recorded_as_seen(text):
    assert why(text) == "That says what is not so. Write what they do, for example: spread out."


@pytest.mark.parametrize(
    "text, kind, value, birds",
    [
        ("31 °C", "temperature", 31.0, None),
        ("31,5°C in Brooder 1", "temperature", 31.5, None),
        ("88 °F", "temperature", 31.111, None),
        ("-5 C", "temperature", -5.0, None),
        ("weigh 410 g (10 birds)", "weight", 410.0, 10),
        ("10 birds weigh 0.41 kg", "weight", 410.0, 10),
        ("weighed 14.5 oz", "weight", 411.068, None),
        ("2 kg feed left", "feed_left", 2.0, None),
        ("feed left: 500 g", "feed_left", 0.5, None),
    ],
)
def test_a_number_with_its_unit_is_a_reading_in_si_on_any_farm(text, kind, value, birds):
    for system in ("metric", "us"):
        understood(text, system, verb="see", kind=kind, value=value, birds=birds, assumed=False)


def test_a_number_without_a_unit_is_taken_in_the_farms_own_and_shown_first():
    understood("temp 31", value=31.0, assumed=True)
    understood("temp 88", "us", value=31.111, assumed=True)
    understood("weigh 410", value=410.0, assumed=True)
    understood("weigh 10", "us", value=283.495, assumed=True)


def test_what_comes_after_a_comma_is_a_note_with_its_capitals():
    understood("1 died, found under Lamp 2", kind="died", birds=1, note="found under Lamp 2", housing=None)


def test_a_note_is_kept_as_it_was_written():
    understood("note: 3 died? No, asleep.", verb="see", kind="note", note="3 died? No, asleep.")


@pytest.mark.parametrize(
    "text, part",
    [
        ("", "Write what happened"),
        ("x" * (MOST_LETTERS + 1), "too long"),
        ("died", "Say how many"),
        ("moved 25", "Say where to"),
        ("moved 25 to pen 9", "“pen 9” is not the name of a housing or batch"),
        ("3 died on 2026-02-30", "no such day"),
        ("3 died in Pen 2 in Brooder 1", "two places"),
        ("14 oz", "Say what was weighed"),
        ("weigh 31 °C", "does not fit"),
        ("3 died and 2 culled", "not understood"),
        ("3 died of cold", "“cold” is not the name"),
        ("3.5 died", "not understood"),
        ("huddle and pant", "not understood"),
        ("the cat sat on the mat", "not understood"),
        ("3 died to Pen 2", "not understood"),
    ],
)
def test_what_is_not_understood_is_said_so_that_it_can_be_mended(text, part):
    assert part in why(text)


@pytest.mark.parametrize("text", [*words.EXAMPLES, *words.CHILD_EXAMPLES])
def test_every_example_shown_is_understood_at_once(text):
    understood(text, assumed=False)


def test_a_comma_before_three_digits_may_be_a_thousand_and_is_shown_first():
    understood("weigh 1,200 kg", value=1200.0, assumed=True)
    understood("weigh 1,2 kg", value=1200.0, assumed=False)
    understood("weigh 1.200 kg", value=1200.0, assumed=False)


@given(st.text(max_size=400))
def test_no_text_whatever_raises(text):
    assert isinstance(read(text), Sentence | NotUnderstood)


_PIECES = st.sampled_from(
    ["3", "died", "moved", "to", "in", "Pen 2", "Pond ducks", "7", "huddle", "not", "31", "°C", "kg", "weigh",
     "yesterday", "2026-02-31", ",", ":", "note", "feed left", "all", "\ue000", "\ue001", "-", "(10 birds)"]
)  # fmt: skip


@given(st.lists(_PIECES, max_size=10))
def test_no_jumble_of_known_words_raises_or_invents_a_bird(pieces):
    text = " ".join(pieces)
    found = read(text)
    if isinstance(found, Sentence) and found.verb == "count":
        assert str(found.birds) in text.split()


@given(st.integers(1, 5000), st.sampled_from(["died", "culled", "sold", "processed", "found"]))
def test_a_count_says_exactly_the_birds_that_were_written(birds, kind):
    understood(f"{birds} {kind} in Pen 2", verb="count", kind=kind, birds=birds, housing="2")


@given(st.floats(-30, 50), st.sampled_from(["metric", "us"]))
def test_a_temperature_typed_in_either_unit_comes_back_to_a_tenth(celsius, system):
    typed, unit = (celsius, "C") if system == "metric" else (celsius * 9 / 5 + 32, "F")
    found = read(f"{typed:.2f} {unit}", "metric")
    assert isinstance(found, Sentence)
    assert found.value == pytest.approx(celsius, abs=0.01)
