"""How many birds each stay of a batch holds, day by day."""

from datetime import date, timedelta

import numpy as np
import pytest

from farm.planning.heads import Line, Stay, alive, by_stay, shares, taken
from farm.planning.window import Window

DAYS = Window(date(2031, 5, 1), 10)


def on(number):
    return DAYS.start + timedelta(days=number)


def hatched(birds, number=0):
    return Line(on(number), birds)


def lost(birds, number, room=None):
    return Line(on(number), -birds, room)


def home(key, room, start, end, birds):
    return Stay(key, room, on(start), None if end is None else on(end), birds)


def counts(ledger, stays, window=DAYS):
    held, unhoused = by_stay(ledger, stays, window)
    return {key: birds.tolist() for key, birds in held.items()}, unhoused.tolist()


def test_alive_is_the_running_sum_from_the_day_of_each_line():
    assert alive([hatched(40, 2), lost(3, 4)], DAYS).tolist() == [0, 0, 40, 40, 37, 37, 37, 37, 37, 37]


def test_alive_remembers_lines_before_the_window_and_ignores_those_after():
    assert alive([hatched(40, -9), lost(1, -1), lost(5, 10)], DAYS).tolist() == [39] * 10


def test_alive_never_goes_below_zero_for_a_ledger_that_does():
    assert alive([hatched(2), lost(3, 1), hatched(4, 2)], DAYS).tolist()[:4] == [2, 0, 3, 3]


def test_birds_without_a_stay_are_unhoused_from_the_day_they_arrive():
    assert counts([hatched(12, 3)], []) == ({}, [0] * 3 + [12] * 7)


def test_a_stay_holds_its_birds_from_its_start_until_the_day_before_its_end():
    held, unhoused = counts([hatched(40)], [home("a", "brooder", 2, 5, 40)])
    assert held["a"] == [0, 0, 40, 40, 40, 0, 0, 0, 0, 0]
    assert unhoused == [40, 40, 0, 0, 0, 40, 40, 40, 40, 40]


def test_a_move_leaves_no_bird_outside_on_the_day_of_the_move():
    held, unhoused = counts([hatched(40)], [home("a", "brooder", 0, 5, 40), home("b", "pen", 5, None, 40)])
    assert (held["a"][4:6], held["b"][4:6]) == ([40, 0], [0, 40])
    assert unhoused == [0] * 10


def test_a_stay_for_fewer_birds_leaves_the_rest_unhoused():
    held, unhoused = counts([hatched(40)], [home("a", "brooder", 0, None, 30)])
    assert (held["a"][0], unhoused[0]) == (30, 10)


def test_a_stay_for_more_birds_than_are_alive_takes_those_that_are():
    held, unhoused = counts(
        [hatched(40), lost(3, 1)], [home("a", "brooder", 0, 4, 40), home("b", "pen", 4, None, 40)]
    )
    assert (held["a"][:5], held["b"][4], unhoused[4]) == ([40, 37, 37, 37, 0], 37, 0)


def test_two_stays_that_start_together_and_do_not_fit_share_by_what_they_asked():
    held, unhoused = counts([hatched(30)], [home("a", "brooder", 0, None, 40), home("b", "pen", 0, None, 20)])
    assert (held["a"][0], held["b"][0], unhoused[0]) == (20, 10, 0)


def test_the_bird_left_over_by_a_fair_share_goes_to_the_first_key():
    held, _ = counts([hatched(5)], [home("b", "pen", 0, None, 4), home("a", "brooder", 0, None, 4)])
    assert (held["a"][0], held["b"][0]) == (3, 2)


def test_a_loss_comes_off_the_stay_in_the_named_room():
    stays = [home("a", "brooder", 0, None, 20), home("b", "pen", 0, None, 20)]
    held, _ = counts([hatched(40), lost(3, 2, "pen")], stays)
    assert (held["a"][2], held["b"][1], held["b"][2]) == (20, 20, 17)


def test_a_loss_larger_than_the_named_stay_takes_the_rest_from_the_others():
    stays = [home("a", "brooder", 0, None, 20), home("b", "pen", 0, None, 2)]
    held, _ = counts([hatched(22), lost(3, 2, "pen")], stays)
    assert (held["a"][2], held["b"][2]) == (19, 0)


def test_a_loss_without_a_room_is_spread_by_size():
    stays = [home("a", "brooder", 0, None, 30), home("b", "pen", 0, None, 10)]
    held, _ = counts([hatched(40), lost(4, 2)], stays)
    assert (held["a"][2], held["b"][2]) == (27, 9)


def test_a_loss_in_a_room_where_the_batch_is_not_is_spread():
    held, _ = counts([hatched(10), lost(1, 2, "paddock")], [home("a", "brooder", 0, None, 10)])
    assert held["a"][1:3] == [10, 9]


def test_a_loss_with_no_stay_at_all_comes_off_the_unhoused():
    assert counts([hatched(10), lost(1, 2)], [])[1][:3] == [10, 10, 9]


def test_thirty_eight_of_forty_moved_because_two_died_are_thirty_eight_in_the_pen():
    stays = [home("a", "brooder", 0, 5, 40), home("b", "pen", 5, None, 38)]
    for room in (None, "brooder"):
        held, unhoused = counts([hatched(40), lost(2, 5, room)], stays)
        assert (held["b"][5], unhoused[5]) == (38, 0)


def test_a_gain_in_a_named_room_joins_the_stay_there():
    held, unhoused = counts([hatched(10), Line(on(3), 2, "brooder")], [home("a", "brooder", 0, None, 10)])
    assert (held["a"][2:4], unhoused) == ([10, 12], [0] * 10)


def test_a_gain_without_a_room_waits_unhoused_for_a_stay():
    held, unhoused = counts(
        [hatched(10), hatched(2, 3)], [home("a", "brooder", 0, None, 10), home("b", "pen", 5, None, 2)]
    )
    assert (held["a"][5], held["b"][5], unhoused[2:6]) == (10, 2, [0, 2, 2, 0])


def test_a_correction_of_the_same_day_and_room_leaves_no_trace():
    stays = [home("a", "brooder", 0, None, 20), home("b", "pen", 0, None, 20)]
    reversal = Line(on(2), 3, "pen")
    assert counts([hatched(40), lost(3, 2, "pen"), reversal], stays) == counts([hatched(40)], stays)


def test_a_stay_planned_before_late_chicks_arrive_begins_with_them():
    held, unhoused = counts([hatched(25, 3)], [home("a", "brooder", 1, None, 25)])
    assert (held["a"], unhoused) == ([0] * 3 + [25] * 7, [0] * 10)


def test_a_stay_over_before_the_first_arrival_holds_nothing():
    held, unhoused = counts([hatched(25, 3)], [home("a", "brooder", 1, 3, 25)])
    assert (held["a"], unhoused[3]) == ([0] * 10, 25)


def test_a_life_before_the_window_shows_in_it():
    ledger = [hatched(40, -30), lost(4, -20, "brooder")]
    stays = [home("a", "brooder", -30, -10, 40), home("b", "pen", -10, 4, 40)]
    held, unhoused = counts(ledger, stays)
    assert (held["a"], held["b"], unhoused) == ([0] * 10, [36] * 4 + [0] * 6, [0] * 4 + [36] * 6)


def test_stays_of_the_same_key_are_refused():
    with pytest.raises(ValueError, match="a key of its own"):
        by_stay([hatched(1)], [home("a", "pen", 0, 1, 1), home("a", "pen", 2, 3, 1)], DAYS)


def test_counts_are_whole_numbers():
    held, unhoused = by_stay([hatched(3)], [home("a", "pen", 0, None, 3)], DAYS)
    assert (held["a"].dtype, unhoused.dtype) == (np.int64, np.int64)


def test_shares_of_nothing_are_nothing():
    assert shares(0, {"a": 0, "b": 0}) == {"a": 0, "b": 0}


def test_taken_is_what_each_stay_began_with_before_later_losses():
    stays = [home("a", "brooder", 0, 4, 40), home("b", "pen", 4, None, 40)]
    assert taken([hatched(40), lost(3, 1)], stays) == {"a": 40, "b": 37}


def test_a_stay_waiting_for_late_chicks_has_taken_them():
    assert taken([hatched(25, 3)], [home("a", "brooder", 1, None, 25)]) == {"a": 25}


def test_a_stay_that_found_no_bird_free_has_taken_none():
    stays = [home("a", "brooder", 0, None, 25), home("b", "pen", 2, None, 5)]
    assert taken([hatched(25)], stays) == {"a": 25, "b": 0}


def test_a_loss_without_a_room_comes_off_the_unhoused_before_the_housed():
    held, unhoused = counts([hatched(40), lost(3, 2)], [home("a", "brooder", 0, None, 30)])
    assert (held["a"][2], unhoused[1:3]) == (30, [10, 7])
