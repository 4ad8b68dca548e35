"""An allotment day by day, and how many birds may be handed over by hand."""

import pytest
from hypothesis import given

from farm.husbandry import odds
from farm.planning.allotments import Hold, allot, free_birds
from farm.planning.window import Window
from tests.planning.allotment_world import HEAVY, TODAY, day, farms, line, supply

WEEK, SEASON = Window(TODAY, 7), Window(day(-5), 70)


def rows(stock, wanted, window=WEEK):
    return {(row.day - TODAY).days: row for row in allot(stock, wanted, TODAY).by_day(window)}


def test_a_week_says_what_falls_due_and_what_is_over():
    asked = [line("1", 4, days=(2, 6)), line("2", 3, days=(2, 6)), line("3", 2, days=(4, 6))]
    week = rows([supply(birds=12)], asked)
    assert {number: (row.promised, row.expected, row.short) for number, row in week.items()} == {
        0: (0, 0, 0), 1: (0, 0, 0), 2: (7, 7, 0), 3: (0, 0, 0), 4: (2, 2, 0), 5: (0, 0, 0), 6: (0, 0, 0),
    }  # fmt: skip
    assert {row.surplus for row in week.values()} == {3}


def test_birds_nobody_can_give_are_short_on_the_day_of_the_last_hand_over():
    stock = [supply("a", 4), supply("b", 4, hatched=3)]
    week = rows(stock, [line(birds=10)])
    assert [(row.promised, row.short) for row in week.values()] == [
        (4, 0), (0, 0), (0, 0), (6, 2), (0, 0), (0, 0), (0, 0)
    ]  # fmt: skip


def test_a_line_no_batch_can_serve_is_short_on_its_first_day_not_before_today():
    assert rows([], [line(birds=3, days=(2, 6))])[2].short == 3
    assert rows([], [line(birds=3, days=(-9, 6))])[0].short == 3


def test_what_a_hatch_may_bring_is_said_as_a_span():
    hatch = supply(law=tuple(odds.birds(40, [odds.Stage("hatch", 0.75)]).tolist()), hatched=3)
    row = rows([hatch], [line(birds=30)])[3]
    assert row.promised == 30
    assert row.low < row.expected < row.high == 30
    assert (row.low, row.expected) == (
        odds.band(odds.birds(40, [odds.Stage("hatch", 0.75)]))[0],
        pytest.approx(
            odds.mean([sum(odds.birds(40, [odds.Stage("hatch", 0.75)])[k] for k in ks) for ks in thirty()])
        ),
    )


def thirty():
    """Return the counts of 40 that make k of at most 30, by k."""
    return [*([k] for k in range(30)), range(30, 41)]


def test_spare_birds_die_like_others_and_are_over_only_while_they_may_be_given():
    over = rows([supply(birds=10, programme=HEAVY, from_on=day(2), until=day(20))], [], Window(TODAY, 25))
    assert [over[number].surplus for number in (1, 2, 10, 19, 20)] == [0, 9, 8, 6, 0]


def test_of_birds_meant_for_later_those_that_will_die_are_not_over_today():
    asked = [line(birds=4, days=(10, 12))]
    over = rows([supply(birds=10, programme=HEAVY, holds=(Hold(1),))], asked, Window(TODAY, 12))
    assert (over[0].surplus, over[10].surplus, over[11].surplus) == (4, 3, 2)


@given(farms())
def test_a_season_promises_every_bird_ordered_once(farm):
    found = allot(*farm, TODAY)
    season = found.by_day(SEASON)
    assert [row.day for row in season] == list(SEASON.dates())
    assert sum(row.promised for row in season) == sum(order.birds for order in farm[1])
    assert sum(row.short for row in season) == sum(stands.short for stands in found.lines.values())
    assert sum(row.expected for row in season) == pytest.approx(
        sum(each.expected for each in found.lines.values())
    )


# Handing over by hand


def test_birds_held_or_meant_for_earlier_lines_are_not_free_those_of_later_ones_are():
    asked = [line("1", 3, priority=1), line("2", 2, priority=2), line("3", 1, priority=3)]
    found = allot([supply(birds=10, holds=(Hold(2),))], asked, TODAY)
    free = {key: free_birds(found, "a", key, TODAY) for key in ("1", "2", "3", None, "unknown")}
    assert free == {"1": 8, "2": 5, "3": 3, None: 2, "unknown": 2}
    assert found.free_birds("a", "2", TODAY) == 5


def test_birds_an_earlier_line_comes_for_later_are_not_free_today():
    found = allot([supply(birds=10)], [line("1", 6, days=(9, 9)), line("2", 9, priority=2)], TODAY)
    assert free_birds(found, "a", "2", TODAY) == 4


def test_a_line_that_asks_for_hens_gets_no_more_than_are_expected_rounded_up():
    asked = [line("1", 2, sex="female"), line("2", 9, sex="female", priority=2), line("3", 9, priority=3)]
    found = allot([supply(birds=11)], asked, TODAY)
    assert free_birds(found, "a", "2", TODAY) == 4
    assert free_birds(found, "a", "1", TODAY) == 6
    assert (
        free_birds(found, "a", None, TODAY) == 1
    )  # a half of each sex is rounded down for lines, one bird in all


def test_what_went_to_others_on_earlier_days_is_not_there_any_more():
    asked = [line("1", 6, days=(2, 2), priority=1), line("2", 2, days=(4, 4), priority=2)]
    found = allot([supply(birds=10)], asked, TODAY)
    assert [free_birds(found, "a", "2", day(number)) for number in (0, 2, 3, 4)] == [4, 4, 4, 4]
    assert [free_birds(found, "a", "1", day(number)) for number in (0, 2, 4, 5)] == [10, 10, 10, 8]


def test_a_hold_on_more_hens_than_there_may_be_keeps_no_cock_back():
    found = allot([supply(birds=10, holds=(Hold(9, "female"),))], [line(birds=3)], TODAY)
    assert free_birds(found, "a", "1", TODAY) == 5


def test_only_birds_alive_on_the_day_are_free():
    found = allot([supply(birds=10, programme=HEAVY)], [], TODAY)
    assert [free_birds(found, "a", None, day(number)) for number in (0, 10, 20)] == [10, 8, 6]


def test_a_batch_that_is_not_offered_has_no_free_birds_to_speak_of():
    with pytest.raises(KeyError):
        free_birds(allot([], [], TODAY), "a", None, TODAY)


@given(farms())
def test_what_is_meant_for_a_line_is_free_for_it(farm):
    found = allot(*farm, TODAY)
    for share in found.shares:
        assert free_birds(found, share.supply, share.wanted, share.day) >= share.birds


@given(farms())
def test_what_lacks_is_told_line_by_line_as_by_day(farm):
    stock, asked = farm
    allotment = allot(stock, asked, TODAY)
    lacking = allotment.lacking()

    assert {key: lack.birds for key, lack in lacking.items()} == {
        key: found.short for key, found in allotment.lines.items() if found.short
    }
    for row in allotment.by_day(SEASON):
        assert row.short == sum(lack.birds for lack in lacking.values() if lack.day == row.day)
