"""Work put off to another day or round: where it shows, and that it stays the occurrence it was."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import agenda
from farm.planning.agenda import AgendaOwnChore, Postponed, postponing
from farm.planning.repeats import Repeat
from farm.planning.window import Window
from tests.planning.agenda_world import BROODED, HATCH, REDS, WHOLE, day, farms, jobs

BEDDING = "room:2/bedding"
WEEK = Window(day(4), 7)  # bedding on days 4, 6, 8 and 10


def asked(window):
    return agenda.agenda([REDS], [BROODED], window)


def put_off(source=BEDDING, due=6, to=7, round_="morning", to_round="morning"):
    return Postponed(source, day(due), round_, day(to), to_round)


def bedding(*postponed, window=WEEK):
    return jobs(postponing.gather(asked, postponed, window), "bedding")


def where(items):
    return [((item.due - HATCH).days, item.round) for item in items]


def test_work_put_off_is_shown_on_its_new_day_and_round():
    assert where(bedding(put_off(to=7, to_round="evening"))) == [
        (4, "morning"),
        (7, "evening"),
        (8, "morning"),
        (10, "morning"),
    ]


def test_it_stays_the_occurrence_it_was():
    moved = bedding(put_off())[1]
    assert moved.first == (day(6), "morning")
    assert moved.occurrence == (BEDDING, day(6), "morning")
    assert Counter(i.occurrence for i in bedding(put_off())) == Counter(i.occurrence for i in bedding())


def test_another_round_of_the_same_day_is_possible():
    assert where(bedding(put_off(to=6, to_round="midday")))[1] == (6, "midday")


def test_put_off_onto_the_day_of_its_next_one_both_are_there():
    on_eight = [i for i in bedding(put_off(to=8)) if i.due == day(8)]
    assert sorted(i.occurrence for i in on_eight) == [
        (BEDDING, day(6), "morning"),
        (BEDDING, day(8), "morning"),
    ]


def test_put_off_out_of_the_window_it_is_gone_from_it():
    assert where(bedding(put_off(to=20))) == [(4, "morning"), (8, "morning"), (10, "morning")]


@pytest.mark.parametrize("due, to", [(2, 5), (12, 5)])
def test_put_off_into_the_window_it_is_there_from_before_or_after(due, to):
    late = replace(REDS, hatch_day=day(-4))  # so that bedding is due on even days from before the window on
    stay = replace(BROODED, start=day(-4))
    moved = postponing.gather(
        lambda window: agenda.agenda([late], [stay], window), [put_off(due=due, to=to)], WEEK
    )
    found = [i for i in jobs(moved, "bedding") if i.first]
    assert [(i.due, i.first) for i in found] == [(day(to), (day(due), "morning"))]


def test_nothing_else_of_the_days_asked_for_besides_comes_with_it():
    plain = asked(Window(day(20), 1))
    moved = postponing.gather(asked, [put_off(due=6, to=20)], Window(day(20), 1))
    assert [i for i in moved if not i.first] == list(plain)
    assert [i.occurrence for i in moved if i.first] == [(BEDDING, day(6), "morning")]


def test_its_age_is_that_of_the_day_it_is_done():
    assert bedding(put_off(to=9))[2].age_days == 9


def test_a_window_still_open_on_the_new_day_stays_as_it_was_and_one_that_is_over_lasts_that_day():
    (off,) = jobs(agenda.steps([REDS], [BROODED], WHOLE), "heat_off")
    assert (off.due, off.until) == (day(35), day(43))

    def until(to):
        return postponing.move(off, Postponed(off.source, off.due, off.round, day(to), "morning")).until

    assert [until(to) for to in (30, 36, 42, 43, 50)] == [day(43), day(43), day(43), day(44), day(51)]


def test_one_day_work_has_no_window_on_its_new_day_either():
    assert bedding(put_off())[1].until is None


def test_put_off_twice_it_is_still_the_first_occurrence():
    (item,) = jobs(asked(Window(day(6), 1)), "bedding")
    once = postponing.move(item, put_off(to=7))
    assert postponing.move(once, put_off(to=9, to_round="evening")).occurrence == item.occurrence
    assert where([postponing.move(once, put_off(to=9, to_round="evening"))]) == [(9, "evening")]


def test_put_back_to_where_it_was_it_is_as_it_was():
    (item,) = jobs(asked(Window(day(6), 1)), "bedding")
    assert postponing.move(postponing.move(item, put_off(to=7)), put_off(to=6)) == item


def test_of_two_about_one_occurrence_the_last_counts():
    assert where(bedding(put_off(to=7), put_off(to=9)))[1:3] == [(8, "morning"), (9, "morning")]


@pytest.mark.parametrize(
    "stale",
    [
        put_off(source="room:2/sing"),
        put_off(due=5),
        put_off(round_="evening"),
        put_off(source="own:1/own_chore", due=-400, to=6),
    ],
)
def test_what_the_agenda_no_longer_has_changes_nothing(stale):
    assert postponing.gather(asked, [stale], WEEK) == asked(WEEK)


def test_items_are_in_order_at_their_new_places():
    items = postponing.gather(asked, [put_off(to=7, to_round="evening"), put_off(due=8, to=4)], WEEK)
    keys = [(i.due, agenda.ROUNDS.index(i.round), i.room_name, str(i.title)) for i in items]
    assert keys == sorted(keys)


def test_an_own_chore_that_rolls_may_be_put_off_past_its_next_day():
    own = AgendaOwnChore("5", "Walk the fence", day(0), Repeat("weekly"))
    source = "own:5/own_chore"
    items = postponing.gather(
        lambda window: agenda.agenda([], [], window, own=(own,)),
        [put_off(source, due=0, to=9), put_off(source, due=7, to=8)],
        Window(day(0), 14),
    )
    assert [(i.occurrence[1], i.due, i.until) for i in items] == [
        (day(7), day(8), day(14)),
        (day(0), day(9), day(10)),
    ]


def test_reach_is_the_days_outside_from_which_something_comes_in_stretches():
    postponed = [put_off(due=n, to=5) for n in (-3, 0, 1, 2, 2, 11, 20)]
    assert postponing.reach(postponed, WEEK) == [
        Window(day(-3), 1),
        Window(day(0), 3),
        Window(day(11), 1),
        Window(day(20), 1),
    ]


def test_nothing_reaches_in_when_days_change_inside_or_outside_only():
    postponed = [put_off(due=5, to=6), put_off(due=1, to=2), put_off(due=5, to=20), put_off(due=3, to=11)]
    assert postponing.reach(postponed, WEEK) == []
    assert postponing.span(postponed, WEEK) == WEEK


def test_span_covers_the_window_and_all_it_reaches_for():
    assert postponing.span([put_off(due=-3, to=5), put_off(due=20, to=10)], WEEK) == Window(day(-3), 24)
    assert postponing.span([put_off(due=1, to=4)], WEEK) == Window(day(1), 10)


@st.composite
def put_offs(draw, items):
    """Some of the items, each put off by up to forty days either way to any round."""
    chosen = (
        draw(st.lists(st.sampled_from(items), max_size=12, unique_by=lambda item: item.occurrence))
        if items
        else []
    )
    return [
        Postponed(
            *item.occurrence,
            item.due + timedelta(days=draw(st.integers(-40, 40))),
            draw(st.sampled_from(agenda.ROUNDS)),
        )
        for item in chosen
    ]


wide = Window(WHOLE.start - timedelta(days=50), WHOLE.days + 100)
windows = st.builds(
    lambda offset, days: Window(HATCH + timedelta(days=offset), days),
    st.integers(-10, 80),
    st.integers(1, 40),
)


@given(farms(), windows, st.data())
@settings(max_examples=20, deadline=None)
def test_a_window_shows_what_the_whole_shows_there(farm, window, data):
    postponed = data.draw(put_offs(agenda.agenda(*farm, WHOLE)))
    whole = postponing.gather(lambda each: agenda.agenda(*farm, each), postponed, wide)
    part = postponing.gather(lambda each: agenda.agenda(*farm, each), postponed, window)
    assert part == tuple(item for item in whole if window.start <= item.due < window.end)


@given(farms(), st.data())
@settings(max_examples=20, deadline=None)
def test_no_occurrence_is_lost_doubled_or_changed_by_putting_off(farm, data):
    plain = agenda.agenda(*farm, wide)
    postponed = data.draw(put_offs(agenda.agenda(*farm, WHOLE)))
    moved = postponing.apply(plain, postponed, wide)
    assert {item.occurrence: item.minutes for item in moved} == {
        item.occurrence: item.minutes for item in plain
    }
    assert len(moved) == len(plain)
    places = {each.occurrence: (each.to_due, each.to_round) for each in postponed}
    for item in moved:
        assert (item.due, item.round) == places.get(item.occurrence, item.occurrence[1:])
        assert item.until is None or item.until > item.due


@given(st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), max_size=20), st.integers(1, 10))
@settings(max_examples=150, deadline=None)
def test_reach_holds_each_day_once_and_no_day_too_many(moves, length):
    window = Window(HATCH, length)
    postponed = [put_off(due=due, to=to) for due, to in moves]
    reached = [each for stretch in postponing.reach(postponed, window) for each in stretch.dates()]
    inside = set(window.dates())
    assert reached == sorted({p.due for p in postponed if p.to_due in inside and p.due not in inside})
    covered = set(postponing.span(postponed, window).dates())
    assert covered >= inside | set(reached)
