"""What holds for the occupancy of any farm."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from occupancy_strategies import farms

from bench.farms import farm_year
from bench.plain import plain_occupancy
from farm.planning.occupancy import occupancy


@given(farms())
def test_every_table_equals_a_plain_loop_over_days(farm):
    load = occupancy(*farm)
    for name, table in plain_occupancy(*farm).items():
        np.testing.assert_allclose(
            getattr(load, name), np.reshape(table, getattr(load, name).shape), atol=1e-9
        )


@given(st.integers(0, 2**32))
def test_larger_farms_equal_a_plain_loop_as_well(seed):
    farm = farm_year(batches=6, housings=4, days=90, seed=seed)
    load = occupancy(farm.window, farm.rooms, farm.groups, farm.parts)
    for name, table in plain_occupancy(farm.window, farm.rooms, farm.groups, farm.parts).items():
        np.testing.assert_allclose(getattr(load, name), table, atol=1e-9)


@given(farms())
def test_the_birds_of_the_rooms_are_the_birds_of_the_parts(farm):
    load = occupancy(*farm)
    held = sum((part.birds for part in farm[3]), np.zeros(farm[0].days, dtype=np.int64))
    assert load.birds.sum(axis=0).tolist() == held.tolist()


@given(farms())
def test_the_bands_of_a_room_stack_up_to_its_load(farm):
    load = occupancy(*farm)
    for row, room in enumerate(load.rooms):
        bands = [
            band for band, part in zip(load.part_area_m2, load.parts, strict=True) if part.room == room.key
        ]
        np.testing.assert_allclose(np.sum(bands or np.zeros((1, 24)), axis=0), load.area_asked_m2[row])


@given(farms(), st.randoms())
def test_the_order_of_the_parts_changes_no_load(farm, random):
    window, rooms, groups, parts = farm
    mixed = occupancy(window, rooms, groups, random.sample(parts, len(parts)))
    np.testing.assert_allclose(mixed.area_asked_m2, occupancy(*farm).area_asked_m2)


@given(farms())
def test_the_first_day_over_is_the_first_day_the_asked_floor_exceeds_the_given(farm):
    load = occupancy(*farm)
    for row, room in enumerate(load.rooms):
        over = [i for i in range(24) if load.area_asked_m2[row, i] > load.area_m2[row, i] + 1e-6]
        assert load.first_over(room.key) == (load.window.day(over[0]) if over else None)
