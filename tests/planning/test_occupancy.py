"""How full the small farm's rooms are, day by day."""

from dataclasses import replace

import numpy as np
import pytest
from occupancy_world import (
    APRIL,
    BROODER,
    DUCKS,
    GROUPS,
    LATER,
    LAYERS,
    PADDOCK,
    PEN,
    POULTS,
    ROOMS,
    day,
    load,
    needs,
    rooms,
    stay,
)

from farm.planning.occupancy import occupancy


def row(array, room):
    return array[ROOMS.index(room)].tolist()


def test_an_empty_farm_is_empty_everywhere():
    empty = load()
    assert (empty.birds.shape, int(empty.birds.sum())) == ((3, 60), 0)
    assert (empty.youngest_age == -1).all()
    assert not empty.resting.any()


def test_a_farm_without_rooms_or_batches_has_tables_without_rows():
    nothing = occupancy(APRIL, (), (), ())
    assert (nothing.birds.shape, nothing.part_area_m2.shape) == ((0, 60), (0, 60))


def test_birds_are_counted_from_the_first_day_of_the_stay_to_the_day_before_its_end():
    birds = row(load(stay(LAYERS, BROODER, 2, 5, 40)).birds, BROODER)
    assert birds[:7] == [0, 0, 40, 40, 40, 0, 0]


def test_the_asked_floor_rises_on_the_day_the_age_is_reached():
    asked = load(stay(LAYERS, BROODER, 0, None, 40)).area_asked_m2[0]
    assert (asked[27], asked[28]) == (pytest.approx(4.0), pytest.approx(8.0))


def test_birds_older_than_the_arrays_hold_the_last_value():
    old = replace(LAYERS, hatch_day=day(-500))
    asked = load(stay(old, BROODER, 0, None, 10), groups=(old,)).area_asked_m2[0]
    assert asked.tolist() == pytest.approx([2.0] * 60)


def test_birds_before_their_hatch_day_ask_for_nothing():
    asked = load(stay(LATER, BROODER, 9, None, 20)).area_asked_m2[0]
    assert (asked[9], asked[10]) == (0.0, pytest.approx(2.0))


def test_feeder_and_drinker_edges_are_summed_over_batches():
    both = load(stay(LAYERS, BROODER, 0, None, 40), stay(POULTS, BROODER, 0, None, 10))
    assert (both.feeder_asked_cm[0, 0], both.drinker_asked_cm[0, 0]) == (100.0, 50.0)


def test_heat_is_asked_for_by_birds_below_the_age_that_does_without():
    heat = row(load(stay(LAYERS, PEN, 30, None, 40)).heat_asked, PEN)
    assert (heat[34], heat[35]) == (40, 0)


def test_a_room_gives_nothing_on_days_out_of_service():
    closed = rooms(pen={"in_service_from": day(3), "in_service_to": day(5), "feeder_cm": 90.0})
    given = load(rooms=closed)
    assert given.area_m2[1, 2:6].tolist() == [0, 12, 12, 0]
    assert given.feeder_cm[1, 2:6].tolist() == [0, 90, 90, 0]


def test_a_batch_split_over_two_stays_in_one_room_is_one_batch():
    split = load(stay(LAYERS, PEN, 0, None, 20, key="a"), stay(LAYERS, PEN, 0, None, 20, key="b"))
    assert (split.groups_together[1, 0], split.birds[1, 0]) == (1, 40)


def test_ages_and_batches_together_are_known_by_day():
    both = load(stay(LAYERS, PEN, 0, None, 40), stay(LATER, PEN, 10, None, 20))
    assert row(both.groups_together, PEN)[9:11] == [1, 2]
    assert (row(both.youngest_age, PEN)[9:11], row(both.oldest_age, PEN)[9:11]) == ([9, 0], [9, 10])


def test_a_room_rests_from_the_day_it_is_empty_for_its_rest_days():
    rests = row(load(stay(LAYERS, PEN, 0, 5, 40)).resting, PEN)
    assert (rests[4:6], rests[18:20], sum(rests)) == ([False, True], [True, False], 14)


def test_a_room_left_before_the_window_still_rests_in_it():
    rests = row(load(stay(LAYERS, PEN, -20, -4, 40)).resting, PEN)
    assert rests[:11] == [True] * 10 + [False]


def test_a_room_is_not_resting_while_birds_are_in_it():
    rests = row(load(stay(LAYERS, PEN, 0, 5, 40), stay(LATER, PEN, 10, 12, 20)).resting, PEN)
    assert (rests[9:12], sum(rests)) == ([True, False, False], 5 + 14)


def test_the_bands_of_the_board_are_each_stays_floor_in_the_order_given():
    bands = load(stay(POULTS, PEN, 0, None, 10), stay(LAYERS, BROODER, 3, None, 40)).part_area_m2
    assert bands[:, 2:4].tolist() == [[pytest.approx(1.0)] * 2, [0.0, pytest.approx(4.0)]]


def test_the_peak_is_the_first_day_with_the_most_floor_asked():
    assert load(stay(LAYERS, BROODER, 0, 40, 40)).peak("brooder") == (day(28), pytest.approx(8.0))


def test_the_first_day_over_is_the_day_the_room_no_longer_suffices():
    assert load(stay(LAYERS, BROODER, 0, None, 40)).first_over("brooder") == day(28)


def test_a_room_filled_to_the_last_centimetre_is_not_over():
    exact = load(stay(LAYERS, BROODER, 0, 28, 50))
    assert exact.first_over("brooder") is None


@pytest.mark.parametrize(
    "part, words",
    [
        (replace(stay(LAYERS, PEN, 0, None, 4), room="barn"), "unknown room 'barn'"),
        (replace(stay(LAYERS, PEN, 0, None, 4), group="blues"), "group 'blues'"),
        (replace(stay(LAYERS, PEN, 0, None, 4), birds=np.ones(3, dtype=np.int64)), "for 60 days"),
        (stay(LAYERS, PEN, 0, None, -4), "below zero"),
        (replace(stay(LAYERS, PEN, 0, None, 4), end=day(59)), "outside its days"),
        (replace(stay(LAYERS, PEN, 0, None, 4), start=day(1)), "outside its days"),
    ],
)
def test_parts_that_make_no_sense_are_refused(part, words):
    with pytest.raises(ValueError, match=words):
        load(part)


def test_two_rooms_of_one_key_are_refused():
    with pytest.raises(ValueError, match="every room needs a key of its own"):
        load(rooms=(PEN, PEN))


def test_needs_whose_arrays_differ_in_length_are_refused():
    lame = replace(DUCKS, needs=replace(needs(), heat=np.ones(3, dtype=bool)))
    with pytest.raises(ValueError, match="days of heat"):
        load(groups=(lame,))


def test_other_rooms_do_not_change_a_rooms_load():
    alone = load(stay(LAYERS, PEN, 0, None, 40))
    beside = load(stay(LAYERS, PEN, 0, None, 40), stay(DUCKS, PADDOCK, 0, None, 12), groups=GROUPS)
    assert row(beside.area_asked_m2, PEN) == row(alone.area_asked_m2, PEN)
