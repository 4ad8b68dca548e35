"""Arrivals that the nights hold back: each day's own date, as if the type had said it of that day alone."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.planning import headroom
from tests.planning.plan_world import batch, brooder, day, farm, pen, solved, stages

#: Ready for the pen at 28 days; the pen is outdoors.
KIND = batch("new", stages=stages(brooder_to=60))
PROBLEM = farm(batch(), housings=(brooder(area_dm2=400), pen(indoor=False, area_dm2=900)))
SOLVED = solved(PROBLEM, 20)


def birds(kind, held=None, days=20):
    table = headroom.fixed(PROBLEM, SOLVED, [kind], day(0), days, held)
    return table.birds[0].tolist()


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.one_of(st.none(), st.integers(0, 80)), min_size=1, max_size=6))
def test_each_arrival_stands_as_the_type_would_with_that_day(offsets):
    held = [None if offset is None else day(offset) for offset in offsets]
    alone = [
        headroom.fixed(PROBLEM, SOLVED, [replace(KIND, outdoors_from=until)], day(place), 1).birds[0, 0]
        for place, until in enumerate(held)
    ]
    assert birds(KIND, {"new": held}, len(held)) == alone


def test_held_back_from_nothing_is_as_free_as_ever():
    assert birds(KIND, {"new": [None] * 20}) == birds(KIND, {}) == birds(KIND)


def test_what_holds_another_type_holds_nobody_else():
    assert birds(KIND, {"other": [day(300)] * 20}) == birds(KIND)


def test_birds_that_may_never_go_out_find_less_room():
    within = birds(KIND, {"new": [day(400)] * 20})
    assert all(less <= free for less, free in zip(within, birds(KIND), strict=True))
    assert within != birds(KIND)


@pytest.mark.parametrize("count", [19, 21])
def test_as_many_days_as_arrivals_are_needed(count):
    with pytest.raises(ValueError):
        birds(KIND, {"new": [day(1)] * count})
