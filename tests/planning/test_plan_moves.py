"""What one plan moves otherwise than another, said so that a keeper can act on it."""

from __future__ import annotations

from farm.planning.plan_moves import changed, differences
from farm.planning.solution import BatchPlan, PlanPart
from tests.planning.plan_world import day, plan, stay

HOUSINGS = {"brooder": "Brooder 1", "pen": "Pen 1", "run": "Run"}
BATCHES = {"reds": "Reds", "blues": "Blues"}
USUAL = plan(stay("brooder", 0, 35), stay("pen", 35, 70))


def said(old: BatchPlan, new: BatchPlan) -> list[str]:
    return [str(phrase) for phrase in differences([old], [new], HOUSINGS, BATCHES)]


def test_the_same_plan_moves_nothing_otherwise():
    assert (said(USUAL, USUAL), changed([USUAL], [USUAL])) == ([], frozenset())


def test_a_move_on_another_day_names_both_days():
    later = plan(stay("brooder", 0, 42), stay("pen", 42, 70))

    assert said(USUAL, later) == ["Reds: 10 move from Brooder 1 to Pen 1 on 24 May instead of 17 May"]
    assert changed([USUAL], [later]) == {"reds"}


def test_a_move_elsewhere_on_the_same_day_names_both_housings():
    elsewhere = plan(stay("brooder", 0, 35), stay("run", 35, 70))

    assert said(USUAL, elsewhere) == ["Reds: 10 move from Brooder 1 to Run on 17 May, not to Pen 1"]


def test_another_first_housing_names_both():
    elsewhere = plan(stay("run", 0, 35), stay("pen", 35, 70))

    assert said(USUAL, elsewhere)[0] == "Reds: 10 begin in Run on 12 April, not in Brooder 1"


def test_a_move_more_and_a_move_less_are_each_a_line():
    longer = plan(stay("brooder", 0, 35), stay("pen", 35, 50), stay("run", 50, 70))

    assert said(USUAL, longer) == ["Reds: 10 move from Pen 1 to Run on 1 June"]
    assert said(longer, USUAL) == ["Reds: no move from Pen 1 to Run on 1 June any more"]


def test_birds_split_off_are_counted_in_the_move_they_make():
    parts = (
        PlanPart("1", 6, (stay("brooder", 0, 35), stay("pen", 35, 70))),
        PlanPart("2", 4, (stay("brooder", 0, 42), stay("run", 42, 70))),
    )
    split = BatchPlan("reds", day(0), parts)

    assert said(USUAL, split) == [
        "Reds: 6 move from Brooder 1 to Pen 1 on 17 May",
        "Reds: 4 move from Brooder 1 to Run on 24 May",
    ]


def test_birds_without_a_place_are_said_to_have_none():
    nowhere = plan(stay("brooder", 0, 35), stay(None, 35, 70))

    assert said(USUAL, nowhere) == ["Reds: 10 move from Brooder 1 to no housing on 17 May, not to Pen 1"]


def test_a_batch_more_begins_somewhere_and_one_less_no_more():
    blues = plan(stay("pen", 0, 70), batch="blues")

    assert [str(line) for line in differences([USUAL], [USUAL, blues], HOUSINGS, BATCHES)] == [
        "Blues: 10 begin in Pen 1 on 12 April"
    ]
    assert [str(line) for line in differences([USUAL, blues], [USUAL], HOUSINGS, BATCHES)] == [
        "Blues: none begin in Pen 1 on 12 April any more"
    ]
