"""What comes through the one door for text."""

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendars.ics import clean

anything = st.text(alphabet=st.characters(), max_size=400)


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n", "\x85", "\u2028", "\u2029"])
def test_every_kind_of_line_end_becomes_one_line_feed(end):
    assert clean(f"one{end}two") == "one\ntwo"


@pytest.mark.parametrize(
    "char", ["\x00", "\x07", "\x0b", "\x0c", "\x1b", "\x7f", "\x9b", "\ud83d", "\ufeff", "\uffff"]
)
def test_a_character_that_can_crash_a_reader_is_dropped(char):
    assert clean(f"feed{char}er") == "feeder"


@pytest.mark.parametrize("char", "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
def test_a_bidi_override_is_dropped(char):
    assert clean(f"a{char}b") == "ab"


def test_accents_are_composed():
    assert clean("Ku\u0308ken") == "Küken"


@pytest.mark.parametrize("first", "=+-@")
def test_a_text_a_spreadsheet_would_run_is_marked_as_text(first):
    assert clean(f"{first}HYPERLINK(1)") == f"'{first}HYPERLINK(1)"


def test_a_formula_behind_blanks_and_breaks_is_marked_too():
    assert clean(" \r\n\t=1+1") == "'=1+1"


def test_a_title_is_one_line():
    assert clean("one\n two\t three", lines=False) == "one two three"


def test_a_long_text_is_cut_to_the_cap_and_says_so():
    assert clean("x" * 300, 200) == "x" * 199 + "…"


def test_a_text_of_exactly_the_cap_stays_whole():
    assert clean("x" * 200, 200) == "x" * 200


def test_a_cut_does_not_tear_a_joined_emoji():
    family = "👨‍👩‍👧‍👦"
    assert clean("x" * 195 + family, 200) == "x" * 195 + "…"


def test_a_cut_does_not_tear_a_mark_off_its_letter():
    assert clean("x" * 8 + "q\u0323\u0301zzz", 10) == "x" * 8 + "…"


def test_ordinary_emoji_and_scripts_stay():
    text = "🐣 Küken, цыплёнок, ひよこ, كتكوت"
    assert clean(text) == text


@given(anything, st.integers(2, 60), st.booleans())
def test_what_comes_out_is_clean_and_cleaning_again_changes_nothing(text, cap, lines):
    once = clean(text, cap, lines=lines)
    assert len(once) <= cap
    assert clean(once, cap, lines=lines) == once
    assert all(char == "\n" or unicodedata.category(char) not in ("Cc", "Cs") for char in once)
    assert not re.search("[\u202a-\u202e\u2066-\u2069\u2028\u2029]", once)
    assert lines or "\n" not in once
    assert not once.startswith(("=", "+", "-", "@"))
