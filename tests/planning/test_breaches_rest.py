"""Breaches of the rest days between two batches in one room."""

from dataclasses import dataclass

import pytest
from occupancy_world import DUCKS, LATER, LAYERS, PADDOCK, PEN, POULTS, day, found, only, rooms, stay

from farm.planning.breach import Breach


def rested(*stays, **changes):
    return found(*stays, kind="rest", rooms=rooms(pen=changes))


def test_a_batch_that_moves_in_too_soon_is_a_breach_until_the_rest_is_over():
    early = only(rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 15, None, 20)))
    assert early == Breach("rest", "pen", ("later", "layers"), day(15), day(24), day(15), short=9.0, birds=20)


def test_moving_in_on_the_first_day_after_the_rest_is_no_breach():
    assert rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 24, None, 20)) == []


def test_moving_in_a_day_before_the_rest_is_over_is_a_breach_of_one_day():
    early = only(rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 23, None, 20)))
    assert (early.start, early.end, early.short) == (day(23), day(24), 1.0)


def test_moving_in_on_the_day_the_other_leaves_misses_the_whole_rest():
    early = only(rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 10, None, 20)))
    assert (early.start, early.short) == (day(10), 14.0)


def test_a_breach_ends_when_the_newcomer_leaves_again():
    early = only(rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 15, 18, 20)))
    assert (early.start, early.end, early.short) == (day(15), day(18), 9.0)


def test_a_batch_that_comes_back_to_its_own_room_needs_no_rest():
    assert rested(stay(LAYERS, PEN, 0, 10, 40, key="a"), stay(LAYERS, PEN, 12, None, 40, key="b")) == []


def test_a_batch_that_comes_back_after_another_needs_the_rest_after_that_one():
    back = rested(
        stay(LAYERS, PEN, 0, 10, 40, key="a"),
        stay(LATER, PEN, 30, 32, 20),
        stay(LAYERS, PEN, 35, 50, 40, key="b"),
    )
    assert only(back).groups == ("layers", "later")


def test_batches_that_share_the_room_owe_each_other_no_rest():
    assert rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 9, 30, 20)) == []


def test_a_room_without_rest_days_is_never_too_soon():
    assert rested(stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 10, None, 20), rest_days=0) == []


def test_a_stay_that_ended_before_the_window_counts():
    early = only(rested(stay(LAYERS, PEN, -30, -4, 40), stay(LATER, PEN, 2, None, 20)))
    assert (early.start, early.end, early.short) == (day(2), day(10), 8.0)


def test_a_batch_that_moved_in_too_soon_before_the_window_is_at_fault_in_it_still():
    early = only(rested(stay(LAYERS, PEN, -30, -4, 40), stay(LATER, PEN, -2, None, 20)))
    assert (early.start, early.end, early.short) == (day(0), day(10), 10.0)


def test_a_batch_in_two_stays_end_to_end_across_the_windows_first_day_moved_in_once():
    stays = stay(LATER, PEN, -20, 0, 20, key="a"), stay(LATER, PEN, 0, 9, 20, key="b")
    assert rested(stay(LAYERS, PEN, -60, -34, 40), *stays) == []


def test_a_stay_whose_birds_were_all_gone_leaves_from_the_day_they_were():
    gone = stay(LAYERS, PEN, 0, 20, [40] * 5 + [0] * 15)
    early = only(rested(gone, stay(LATER, PEN, 12, None, 20)))
    assert (early.start, early.end) == (day(12), day(19))


def test_the_batch_that_left_last_is_the_one_named():
    early = rested(stay(DUCKS, PEN, 0, 6, 12), stay(LAYERS, PEN, 0, 10, 40), stay(LATER, PEN, 12, None, 20))
    assert only(early).groups == ("later", "layers")


@dataclass(frozen=True)
class GroundRest:
    rest_days: int = 40


def turkeys_after_chickens(first, second, brooding):
    return GroundRest() if {first, second} == {"turkey", "chicken"} else None


@pytest.mark.parametrize("newcomer, ends", [(POULTS, 44), (DUCKS, 32)])
def test_species_that_never_share_ground_need_the_longer_rest_outdoors(newcomer, ends):
    stays = stay(LAYERS, PADDOCK, 0, 4, 40), stay(newcomer, PADDOCK, 10, None, 10)
    early = only(found(*stays, kind="rest", apart=turkeys_after_chickens))
    assert early.end == day(ends)


def test_indoors_the_rooms_own_rest_is_enough_after_any_species():
    stays = stay(LAYERS, PEN, 0, 4, 40), stay(POULTS, PEN, 18, None, 10)
    assert found(*stays, kind="rest", apart=turkeys_after_chickens) == []
