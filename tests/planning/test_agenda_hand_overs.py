"""Steps of orders: birds to be handed over."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.phrase import Phrase
from farm.planning import agenda
from farm.planning.window import Window
from farm.trade.chores import chores
from tests.planning.agenda_world import BROODED, PENNED, REDS, WHOLE, day, until

NAME = Phrase("%(birds)d birds to %(customer)s: %(type)s", {"birds": 40, "customer": "Mead", "type": "Chick"})
ORDER = agenda.AgendaHandOver("12", NAME, 40, day(50), day(52), batch="7")
LEFT = until(BROODED, day(45))


def steps(*hand_overs, stays=(LEFT, PENNED), batches=(REDS,), window=WHOLE):
    found = agenda.steps(batches, stays, window, hand_overs=hand_overs)
    return [item for item in found if item.job == "hand_over"]


def test_birds_are_handed_over_from_the_housing_they_are_in():
    (item,) = steps(ORDER)

    assert str(item.title) == "Hand over 40 birds to Mead: Chick"
    assert (item.due, item.until, item.open_ended) == (day(50), day(53), True)
    assert (item.room, item.room_name, item.batches, item.age_days) == ("3", "Pen 3", ("7",), 50)
    assert item.occurrence == ("line:12/hand_over", day(50), "morning")
    assert "1 June to 3 June" in str(item.why)


def test_minutes_who_and_cautions_are_the_tables():
    (item,), table = steps(ORDER), chores()["hand_over"]

    assert item.minutes == table.minutes + table.minutes_per_50
    assert (item.who, item.cautions) == (table.who, table.cautions)
    assert [str(line) for line in item.checklist] == list(table.checklist)


def test_birds_of_no_batch_yet_of_several_or_of_one_not_told_of_have_no_housing():
    for other in (replace(ORDER, batch=None), replace(ORDER, batch="99")):
        (item,) = steps(other)
        assert (item.room, item.room_name, item.batch, item.batches, item.age_days) == (
            None,
            "",
            None,
            (),
            None,
        )


def test_birds_in_two_housings_or_in_none_have_no_one_place_to_fetch_them_from():
    part = replace(PENNED, birds=20)
    for stays in ((LEFT, part, replace(part, key="3", room="4", room_name="Pen 4")), (LEFT,)):
        (item,) = steps(ORDER, stays=stays)
        assert (item.room, item.batch) == (None, "7")


def test_birds_ready_only_after_the_last_day_are_still_due_on_it():
    (item,) = steps(replace(ORDER, from_on=day(60)))
    assert item.due == day(52)


def test_hand_overs_stand_among_the_whole_agenda_and_not_among_the_chores():
    window = Window(day(50), 1)
    whole = agenda.agenda((REDS,), (LEFT, PENNED), window, hand_overs=(ORDER,))
    assert "hand_over" in {item.job for item in whole}
    assert whole == tuple(sorted(whole, key=whole.index))
    assert not steps(ORDER, window=Window(day(51), 30))


@pytest.mark.parametrize("birds", [1, 50, 51])
def test_more_birds_take_longer(birds):
    (item,), (more,) = steps(replace(ORDER, birds=birds)), steps(replace(ORDER, birds=birds + 50))
    assert more.minutes > item.minutes


@given(
    st.lists(
        st.builds(
            lambda key, birds, first, span, batch: agenda.AgendaHandOver(
                str(key), NAME, birds, day(first), day(first + span), batch
            ),
            st.integers(1, 99),
            st.integers(1, 5000),
            st.integers(-5, 120),
            st.integers(-2, 9),
            st.sampled_from([None, "7", "8"]),
        ),
        unique_by=lambda each: each.key,
        max_size=6,
    )
)
def test_every_line_has_one_step_whatever_else_there_is(hand_overs):
    without = list(agenda.steps((REDS,), (LEFT, PENNED), WHOLE))
    found = agenda.steps((REDS,), (LEFT, PENNED), WHOLE, hand_overs=hand_overs)

    ours = [item for item in found if item.job == "hand_over"]
    assert sorted(item.source for item in ours) == sorted(f"line:{each.key}/hand_over" for each in hand_overs)
    assert [item for item in found if item.job != "hand_over"] == without
    by_source = {f"line:{each.key}/hand_over": each for each in hand_overs}
    for item in ours:
        asked = by_source[item.source]
        assert item.due <= asked.to_on or asked.to_on < asked.from_on
        assert (item.room is None) == (item.room_name == "")
