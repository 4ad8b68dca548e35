"""Every text a page can show from the tables is offered to the translators."""

from farm.trade.cautions import cautions
from farm.trade.chores import chores
from farm.trade.load import programmes
from farm.trade.mixing import mixing
from farm.trade.species import young
from farm.trade.texts import texts

OFFERED = {text for _, text in texts()}


def test_every_title_and_checklist_line_of_a_chore_is_offered():
    for chore in chores().values():
        assert {chore.title, chore.why, *chore.checklist} <= OFFERED, chore.key


def test_every_caution_is_offered_whole():
    assert {caution.text for caution in cautions().values()} <= OFFERED


def test_every_name_of_birds_and_feeds_is_offered():
    for programme in programmes().values():
        words = {
            *young(programme.species, programme.type),
            programme.name,
            *(f.feed for f in programme.feeds),
        }
        assert words <= OFFERED, programme.key


def test_every_reason_to_keep_birds_apart_is_offered():
    assert {pair.text for pair in mixing().pairs} <= OFFERED


def test_no_text_is_empty_or_carries_a_stray_line_break():
    assert [place for place, text in texts() if not text.strip() or "\n" in text] == []


def test_no_text_holds_a_bare_percent_sign_that_would_break_a_sentence():
    assert [place for place, text in texts() if "%" in text] == []
