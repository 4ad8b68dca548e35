"""A steady rhythm: the law's bound beside the planner's number."""

from dataclasses import replace
from math import ceil

import pytest

from farm.planning import rhythm
from tests.planning.plan_world import batch, brooder, pen, stages

CHICKS = batch("chicks", leave_age_days=None)  # 10 dm² each in the brooder, 28 days of it


def test_batches_that_fill_a_brooder_each_take_one_each():
    found = rhythm.steady(CHICKS, 7, 10, brooder())
    assert (found.bound, found.needed, found.days) == (4, 4, 28)
    assert str(found.sentence()) == (
        "10 birds (chicks) every 7 days take 4 such housings; by floor and days alone it is at least 4"
    )


def test_rest_days_are_days_in_the_brooder_where_it_holds_one_batch():
    alone = brooder(one_batch=True, rest_days=7)
    assert rhythm.steady(CHICKS, 7, 10, alone).bound == rhythm.steady(CHICKS, 7, 10, alone).needed == 5


def test_half_a_batch_fills_a_brooder_of_its_own_where_batches_are_kept_apart():
    apart, shared = brooder(one_batch=True), brooder()
    assert rhythm.steady(CHICKS, 14, 5, apart).bound == 2
    assert rhythm.steady(CHICKS, 14, 5, shared).bound == 1


def test_a_batch_too_large_for_one_brooder_is_kept_in_parts():
    found = rhythm.steady(CHICKS, 7, 20, brooder(one_batch=True))
    assert (found.bound, found.needed) == (8, 8)


def test_the_planner_may_need_more_than_the_law_and_both_are_said():
    # Three batches of 70 dm² at a time: 2.1 brooders by the floor, but no two fit one.
    found = rhythm.steady(CHICKS, 10, 7, brooder())
    assert (found.bound, found.needed) == (2, 3)
    assert str(found.sentence()) == (
        "7 birds (chicks) every 10 days take 3 such housings; by floor and days alone it is at least 2"
    )


@pytest.mark.parametrize("every, birds", ((7, 4), (10, 9), (14, 10), (28, 12), (35, 6)))
def test_the_planners_number_is_never_below_the_law(every, birds):
    found = rhythm.steady(CHICKS, every, birds, brooder())
    assert found.bound == ceil(birds * 10 * 28 / every / 100)
    assert found.needed >= found.bound


def test_losses_make_room():
    losing = replace(CHICKS, survivors=(10, 5))
    assert rhythm.steady(losing, 7, 10, brooder()).bound == 3  # 100 dm² for a week, 50 for three


def test_birds_that_need_no_such_housing_take_none():
    found = rhythm.steady(CHICKS, 7, 10, pen(kind="barn"))
    assert (found.bound, found.needed, found.days) == (0, 0, 0)


def test_a_stage_that_overlaps_the_next_need_not_be_stayed_in():
    assert rhythm.steady(replace(CHICKS, stages=stages(35, 28)), 7, 10, brooder()).days == 28
    assert rhythm.steady(replace(CHICKS, stages=stages(35, 35)), 7, 10, brooder()).days == 35


def test_birds_with_a_day_to_leave_stay_no_longer():
    assert rhythm.steady(replace(CHICKS, leave_age_days=14), 7, 10, brooder()).bound == 2


def test_what_no_number_can_do_is_said():
    cold = rhythm.steady(CHICKS, 7, 10, brooder(heated=False))
    assert cold.needed is None
    assert "found no plan with up to 10" in str(cold.sentence())


@pytest.mark.parametrize("every, birds, area", ((0, 10, 100), (7, 0, 100), (7, 10, 0)))
def test_a_rhythm_without_days_birds_or_floor_is_refused(every, birds, area):
    with pytest.raises(ValueError):
        rhythm.steady(CHICKS, every, birds, brooder(area_dm2=area))


def test_birds_that_never_leave_are_refused():
    with pytest.raises(ValueError):
        rhythm.steady(replace(CHICKS, stages=stages()[:1]), 7, 10, brooder())
