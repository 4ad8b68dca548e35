"""Errands stand in the agenda on their day, with the chore table's minutes and cautions."""

from datetime import date

import pytest

from farm.phrase import Phrase
from farm.planning import agenda
from farm.planning.agenda import AgendaErrand
from farm.planning.window import Window
from farm.trade.chores import chores

DAY = date(2026, 5, 1)


def errand(**fields):
    usual = {
        "source": "feed:3/order_feed/9",
        "due": DAY,
        "title": Phrase("Order mash"),
        "why": Phrase("Soon"),
    }
    return AgendaErrand(**(usual | fields))


def steps(*errands, days=1):
    return agenda.steps([], [], Window(DAY, days), to_do=errands)


def test_an_errand_is_a_step_of_no_housing_with_the_tables_minutes():
    (item,) = steps(errand(open_ended=True))

    assert (item.kind, item.room, item.batches, item.open_ended) == ("step", None, (), True)
    assert item.minutes == chores()["order_feed"].minutes
    assert item.checklist


def test_a_lamps_timer_is_set_in_its_housing_with_the_caution_for_cords():
    (item,) = steps(errand(source="room:2/set_light/1", room="2", room_name="Coop"))

    assert (item.room, item.room_name) == ("2", "Coop")
    assert "cord" in item.cautions


def test_errands_outside_the_window_are_left_out():
    assert steps(errand(due=date(2026, 5, 2)), errand(due=date(2026, 4, 30))) == ()


def test_work_that_the_table_does_not_know_is_an_error():
    with pytest.raises(KeyError):
        steps(errand(source="feed:3/sing/1"))
