"""Moves, clean-outs and rest at the boundaries of stays."""

from dataclasses import replace

from farm.planning import agenda
from tests.planning.agenda_world import BROODED, PENNED, REDS, WHOLE, day, jobs, named, until

LEFT = until(BROODED, day(45))


def moves(*stays, batches=(REDS,)):
    return [i for i in jobs(agenda.steps(batches, stays, WHOLE), "move") if "move_due" not in i.source]


def test_birds_move_on_the_day_one_stay_ends_and_the_next_begins():
    (move,) = moves(LEFT, PENNED)
    assert str(move.title) == "Move 40 birds from Brooder 2 → Pen 3"
    assert move.occurrence == ("batch:7/move/room:3", day(45), "morning")
    assert (move.minutes, move.people) == (40, 1)


def test_fifty_birds_are_moved_by_one_person_and_fifty_one_by_two():
    (one,) = moves(replace(LEFT, birds=50), replace(PENNED, birds=50))
    (two,) = moves(replace(LEFT, birds=51), replace(PENNED, birds=51))
    assert [(one.people, one.minutes), (two.people, two.minutes)] == [(1, 40), (2, 60)]


def test_only_the_birds_that_change_housing_are_moved():
    rest = replace(BROODED, key="3", start=day(45), birds=15)
    (move,) = moves(LEFT, rest, replace(PENNED, birds=25))
    assert str(move.title) == "Move 25 birds from Brooder 2 → Pen 3"


def test_a_new_stay_in_the_same_housing_moves_nobody():
    assert moves(LEFT, replace(BROODED, key="3", start=day(45))) == []


def test_a_batch_that_splits_to_two_pens_has_two_moves():
    other = replace(PENNED, key="3", room="4", room_name="Pen 4", birds=15)
    both = moves(LEFT, replace(PENNED, birds=25), other)
    assert [str(i.title) for i in both] == [
        "Move 25 birds from Brooder 2 → Pen 3",
        "Move 15 birds from Brooder 2 → Pen 4",
    ]


def test_birds_gathered_from_two_brooders_are_one_move_that_names_both():
    other = replace(LEFT, key="0", room="5", room_name="Brooder 5", birds=10)
    (move,) = moves(replace(LEFT, birds=30), other, PENNED)
    assert str(move.title) == "Move 40 birds from Brooder 5 and Brooder 2 → Pen 3"


def test_birds_that_arrive_are_not_moved():
    assert moves(BROODED) == []


def test_birds_that_leave_the_farm_are_not_moved():
    assert moves(LEFT) == []


def test_a_gap_between_two_stays_is_not_a_move():
    assert moves(LEFT, replace(PENNED, start=day(46))) == []


def test_two_batches_that_move_the_same_day_have_two_occurrences():
    twin = replace(REDS, key="8", name="Blues")
    theirs = [replace(s, key=f"8{s.key}", batch="8") for s in (LEFT, PENNED)]
    assert sorted(i.source for i in moves(LEFT, PENNED, *theirs, batches=(REDS, twin))) == [
        "batch:7/move/room:3",
        "batch:8/move/room:3",
    ]


def test_a_housing_is_cleaned_out_the_day_it_stands_empty():
    (clean,) = named(agenda.steps([REDS], [LEFT, PENNED], WHOLE), "clean_out")
    assert clean.occurrence == ("room:2/clean_out", day(45), "morning")
    assert (clean.minutes, clean.who, clean.batches, clean.batch) == (75, "adult", ("7",), None)


def test_a_housing_that_keeps_some_birds_is_not_cleaned_out():
    rest = replace(BROODED, key="3", start=day(40), birds=15)
    assert named(agenda.steps([REDS], [LEFT, rest, PENNED], WHOLE), "clean_out") == []


def test_a_housing_refilled_the_same_day_is_not_cleaned_out():
    next_batch = replace(REDS, key="8", hatch_day=day(45))
    refill = replace(BROODED, key="9", batch="8", start=day(45))
    assert named(agenda.steps([REDS, next_batch], [LEFT, refill, PENNED], WHOLE), "clean_out") == []


def test_rest_is_over_after_the_rest_days_and_takes_no_time():
    (ready,) = named(agenda.steps([REDS], [LEFT, PENNED], WHOLE), "rest_over")
    assert (ready.due, ready.minutes) == (day(59), 0)


def test_rest_cut_short_by_the_next_batch_is_never_over():
    next_batch = replace(REDS, key="8", hatch_day=day(58))
    early = replace(BROODED, key="9", batch="8", start=day(58))
    steps = agenda.steps([REDS, next_batch], [LEFT, early, PENNED], WHOLE)
    assert named(steps, "rest_over") == []
    assert [i.due for i in named(steps, "clean_out")] == [day(45)]


def test_rest_that_ends_the_day_the_next_batch_comes_is_over():
    next_batch = replace(REDS, key="8", hatch_day=day(59))
    just = replace(BROODED, key="9", batch="8", start=day(59))
    (ready,) = named(agenda.steps([REDS, next_batch], [LEFT, just, PENNED], WHOLE), "rest_over")
    assert ready.due == day(59)


def test_a_housing_without_rest_days_is_only_cleaned_out():
    steps = agenda.steps([REDS], [replace(LEFT, rest_days=0), PENNED], WHOLE)
    assert (len(named(steps, "clean_out")), named(steps, "rest_over")) == (1, [])


def test_a_housing_in_use_until_further_notice_is_not_cleaned_out():
    assert named(agenda.steps([REDS], [BROODED], WHOLE), "clean_out") == []
