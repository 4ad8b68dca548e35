"""Breaches of what a room gives: floor, feeder, drinker, heat, service, and no room at all."""

import numpy as np
import pytest
from occupancy_world import APRIL, BROODER, LATER, LAYERS, PADDOCK, PEN, day, found, only, rooms, stay

from farm.planning.breach import Breach


def test_a_farm_with_room_for_all_has_no_breach():
    assert found(stay(LAYERS, BROODER, 0, 28, 40), stay(LAYERS, PEN, 35, None, 40)) == []


def test_a_brooder_outgrown_is_one_breach_over_its_run_of_days():
    outgrown = only(found(stay(LAYERS, BROODER, 0, 31, 40)))
    assert outgrown == Breach(
        kind="room",
        room="brooder",
        groups=("layers",),
        start=day(28),
        end=day(31),
        worst=day(28),
        short=pytest.approx(3.0),
        birds=15,
    )


def test_a_stay_that_ends_on_the_day_it_would_be_outgrown_is_no_breach():
    assert found(stay(LAYERS, BROODER, 0, 28, 40)) == []


def test_a_stay_that_ends_a_day_later_is_a_breach_of_one_day():
    one_day = only(found(stay(LAYERS, BROODER, 0, 29, 40)))
    assert (one_day.start, one_day.end) == (day(28), day(29))


def test_a_room_filled_exactly_is_no_breach():
    assert found(stay(LAYERS, BROODER, 0, 28, 50)) == []


def test_one_bird_more_than_fits_is_one_bird_too_many():
    over = only(found(stay(LAYERS, BROODER, 0, 28, 51)))
    assert (over.birds, over.short) == (1, pytest.approx(0.1))


def test_two_runs_of_days_are_two_breaches():
    birds = np.where(np.arange(20) % 10 < 4, 51, 50)
    assert [(b.start, b.end) for b in found(stay(LAYERS, BROODER, 0, 20, birds))] == [
        (day(0), day(4)),
        (day(10), day(14)),
    ]


def test_the_worst_day_is_the_first_of_the_largest_shortage():
    birds = np.array([51, 53, 53, 52])
    worst = only(found(stay(LAYERS, BROODER, 0, 4, birds)))
    assert (worst.worst, worst.birds) == (day(1), 3)


def test_the_birds_that_ask_most_are_taken_out_first():
    # On day 28: 20 older birds at 0.2 m² and 30 younger at 0.1 m² ask for 7 m² of 5.
    shared = found(stay(LAYERS, BROODER, 28, 29, 20), stay(LATER, BROODER, 28, 29, 30), kind="room")
    assert (only(shared).short, only(shared).birds) == (pytest.approx(2.0), 10)


def test_taking_out_goes_on_with_the_next_batch_when_the_first_is_gone():
    # 10 older and 80 younger ask for 10 m² of 5: the 10 give back 2 m², 30 of the younger the other 3.
    shared = found(stay(LAYERS, BROODER, 28, 29, 10), stay(LATER, BROODER, 28, 29, 80), kind="room")
    assert only(shared).birds == 40


def test_feeder_and_drinker_are_judged_where_they_are_recorded():
    short = found(
        stay(LAYERS, BROODER, 0, 28, 40), rooms=rooms(brooder={"feeder_cm": 60.0, "drinker_cm": 39.0})
    )
    assert [(b.kind, b.short, b.birds) for b in short] == [("drinker", 1.0, 1), ("feeder", 20.0, 10)]


def test_an_edge_of_zero_is_not_recorded_and_not_judged():
    assert found(stay(LAYERS, BROODER, 0, 28, 40), rooms=rooms(brooder={"feeder_cm": 0.0})) == []


def test_birds_that_need_heat_in_a_cold_pen_are_a_breach_until_they_do_without():
    cold = only(found(stay(LAYERS, PEN, 30, None, 40)))
    assert cold == Breach("heat", "pen", ("layers",), day(30), day(35), day(30), short=40.0, birds=40)


def test_a_cold_pen_is_no_breach_from_the_day_heat_is_no_longer_needed():
    assert found(stay(LAYERS, PEN, 35, None, 40)) == []


def test_a_recorded_override_allows_the_cold():
    assert found(stay(LAYERS, PEN, 30, None, 40, override=True)) == []


def test_an_override_counts_for_its_own_stay_only():
    cold = found(
        stay(LAYERS, PEN, 30, None, 25, override=True, key="a"), stay(LAYERS, PEN, 30, None, 15, key="b")
    )
    assert only(cold).birds == 15


def test_each_batch_in_the_cold_is_a_breach_of_its_own():
    both = found(stay(LAYERS, PADDOCK, 30, None, 40), stay(LATER, PADDOCK, 40, None, 20), kind="heat")
    assert [(b.groups, b.end) for b in both] == [(("layers",), day(35)), (("later",), day(45))]


def test_a_room_out_of_service_is_a_breach_for_every_bird_in_it():
    closed = rooms(brooder={"in_service_to": day(20)})
    stranded = only(found(stay(LAYERS, BROODER, 0, 25, 40), rooms=closed))
    assert stranded == Breach(
        "service", "brooder", ("layers",), day(20), day(25), day(20), short=pytest.approx(4.0), birds=40
    )


def test_the_last_day_of_service_is_the_day_before_its_end():
    closed = rooms(brooder={"in_service_from": day(5), "in_service_to": day(20)})
    assert found(stay(LAYERS, BROODER, 5, 20, 40), rooms=closed) == []


def test_a_room_out_of_service_is_not_called_too_small_as_well():
    closed = rooms(brooder={"in_service_from": day(59)})
    kinds = {b.kind for b in found(stay(LAYERS, BROODER, 0, 59, 400), rooms=closed)}
    assert kinds == {"service"}


def test_unhoused_birds_are_a_breach_without_a_room():
    outside = np.zeros(APRIL.days, dtype=np.int64)
    outside[3:6] = [2, 7, 7]
    lost = only(found(unhoused={"layers": outside}))
    assert lost == Breach(
        "unhoused", None, ("layers",), day(3), day(6), day(4), short=pytest.approx(0.7), birds=7
    )


def test_breaches_come_by_start_then_room_then_kind():
    listed = found(
        stay(LAYERS, PEN, 2, 5, 400),
        stay(LATER, BROODER, 10, 12, 99),
        unhoused={"layers": np.ones(APRIL.days, dtype=np.int64)},
    )
    assert [(b.start, b.room, b.kind) for b in listed] == [
        (day(0), None, "unhoused"),
        (day(2), "pen", "heat"),
        (day(2), "pen", "room"),
        (day(10), "brooder", "room"),
    ]
