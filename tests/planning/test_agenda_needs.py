"""What items tell the rota: needs, care, and where heat equipment is on."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from farm.phrase import Phrase
from farm.planning import agenda
from farm.planning.agenda import AgendaErrand
from farm.planning.window import Window
from farm.trade.chores import chores
from tests.planning.agenda_world import BROODED, CHICK, PENNED, REDS, WHOLE, day, farms, jobs, named, until

LAST = 42  # the latest day on which the world's chicks may need heat


def ask(*stays, batches=(REDS,), start=0, days=80, **fields):
    return agenda.agenda(batches, stays, Window(day(start), days), **fields)


def test_an_item_needs_what_its_chore_needs():
    (fed, *_), (checked, *_) = (jobs(ask(BROODED), job) for job in ("feed_water", "heat_check"))
    assert (fed.needs, fed.care) == (("water",), True)
    assert (checked.needs, checked.care) == (("heat",), True)


def test_bedding_and_moves_can_wait_and_take_a_strong_back():
    items = ask(until(BROODED, day(45)), PENNED)
    for job in ("bedding", "move"):
        assert {(i.needs, i.care) for i in jobs(items, job) if i.minutes} == {(("lifting",), False)}


def test_what_only_becomes_true_needs_nobody():
    (over,) = named(ask(until(BROODED, day(10))), "rest_over")
    assert (over.minutes, over.needs, over.care, over.heated) == (0, (), False, False)


def test_all_work_in_a_brooder_is_beside_heat_as_long_as_its_birds_may_need_it():
    for item in ask(BROODED, days=60):
        if item.minutes:
            assert item.heated == (item.due <= day(LAST)), item.source


def test_work_in_the_pen_is_not_beside_heat():
    assert [i.source for i in ask(PENNED, start=45) if i.heated] == []


def test_housing_without_heat_is_never_warm_however_young_the_birds():
    cold = ask(replace(BROODED, heated=False))
    assert [i.source for i in cold if i.heated and "heat" not in i.needs] == []


def test_older_birds_beside_chicks_that_need_heat_are_tended_beside_it():
    older = replace(REDS, key="8", hatch_day=day(-70))
    stays = (BROODED, replace(BROODED, key="2", batch="8", start=day(-70)))
    items = ask(*stays, batches=(REDS, older), start=-1, days=3)
    before, since = (
        [i for i in items if "8" in i.batches and (i.due < day(0)) is late] for late in (True, False)
    )
    assert {i.heated for i in since} == {True}
    assert [i.source for i in before if i.heated and i.job != "preheat"] == []


def test_warming_a_brooder_is_hot_before_there_are_birds():
    (warmed,) = jobs(ask(BROODED, start=-3, days=10), "preheat")
    assert warmed.due < day(0)
    assert warmed.heated


def test_lowering_heat_is_beside_heat():
    lowered = jobs(ask(BROODED), "heat_lower")
    assert lowered
    assert {(i.heated, i.needs, i.who) for i in lowered} == {(True, ("heat",), "adult")}


@pytest.mark.parametrize("on, heated", [(day(LAST), True), (day(LAST + 1), False)])
def test_an_errand_in_a_brooder_is_beside_heat_while_it_is_on(on, heated):
    errand = AgendaErrand("room:2/set_light/1", on, Phrase("Timer"), Phrase("Week"), room="2", room_name="B")
    (item,) = jobs(ask(BROODED, to_do=(errand,)), "set_light")
    assert item.heated is heated


def test_birds_whose_programme_has_no_heat_are_not_beside_any():
    hardy = replace(REDS, programme=replace(CHICK, curves={**CHICK.curves, "temp_c": ()}))
    assert [i.source for i in ask(BROODED, batches=(hardy,)) if i.heated] == []


def test_nothing_asks_for_more_than_a_tick_and_nothing_was_put_off():
    assert {(i.asks, i.first) for i in ask(BROODED, PENNED)} == {("", None)}


@given(farms())
@settings(max_examples=25, deadline=None)
def test_every_item_that_takes_time_carries_its_chores_needs_and_care(farm):
    table = chores()
    for item in agenda.agenda(*farm, WHOLE):
        if item.minutes:
            assert (item.needs, item.care) == (table[item.job].needs, table[item.job].care), item.source


@given(farms())
@settings(max_examples=25, deadline=None)
def test_heat_is_on_in_a_housing_for_everybody_there_that_day_or_for_nobody(farm):
    seen = {}
    for item in agenda.agenda(*farm, WHOLE):
        if item.room is not None and "heat" not in item.needs:
            assert seen.setdefault((item.room, item.due), item.heated) == item.heated, item.source


@given(farms())
@settings(max_examples=25, deadline=None)
def test_steps_and_chores_asked_apart_say_the_same_of_heat(farm):
    apart = [*agenda.steps(*farm, WHOLE), *agenda.chores(*farm, WHOLE)]
    assert {i.occurrence: i for i in apart} == {i.occurrence: i for i in agenda.agenda(*farm, WHOLE)}
