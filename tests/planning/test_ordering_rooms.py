"""Room in the planner's plan: what headroom says, less what was taken, and all given back."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import headroom
from farm.planning.ordering import PlannedRoom, horizon
from farm.planning.ordering.records import LATER_DAYS
from farm.planning.widest import MOST
from tests.planning.ordering_world import line
from tests.planning.plan_world import batch, brooder, day, farm, pen, plan, stay

CHICKS = batch("chicks", leave_age_days=None)
HERE = plan(stay("brooder", 10, 38), stay("pen", 38, 80), arrives=10)


def standing(**changes):
    return farm(
        batch(arrives=10), housings=(brooder(area_dm2=200), brooder("small", area_dm2=70), pen()), **changes
    )


def rooms(**changes):
    return PlannedRoom(standing(**changes), (HERE,), (CHICKS,), days=300)


def table(problem, life, first, age=0):
    """What headroom says for chicks that stay `life` days."""
    kind = replace(CHICKS, leave_age_days=life + age, age_at_arrival_days=age)
    return headroom.fixed(problem, _solution(problem), [kind], day(first), 1).birds[0, 0]


def _solution(problem):
    return headroom.Solution(problem.digest, (HERE,), 0, 0)


@pytest.mark.parametrize("first", (0, 5, 20, 31, 60, 120))
@pytest.mark.parametrize("life, age", ((1, 0), (7, 1), (28, 0), (56, 0)))
def test_the_largest_batch_is_the_one_headroom_says(first, life, age):
    assert rooms().most("chicks", day(first), age, day(first + life)) == table(standing(), life, first, age)


def test_a_batch_taken_is_seen_by_the_next_question_and_not_once_given_back():
    asked = ("chicks", day(12), 0, day(26))
    given = rooms()
    before = given.most(*asked)
    taken = given.take("chicks", day(10), 0, before - 2, day(24))
    assert given.most(*asked) == 7  # the small brooder, or 2 beside the others
    given.give_back(taken)
    assert given.most(*asked) == before
    given.put_back(taken)
    assert given.most(*asked) == 7


def test_one_bird_more_than_fits_is_refused_and_changes_nothing():
    given = rooms()
    asked = ("chicks", day(12), 0)
    most = given.most(*asked, day(26))
    free = [each.copy() for each in given.state.free]
    assert given.take(*asked, most + 1, day(26)) is None
    assert all(np.array_equal(one, other) for one, other in zip(free, given.state.free, strict=True))


def test_birds_that_leave_on_the_day_they_come_need_no_room():
    given = rooms()
    assert given.most("chicks", day(12), 0, day(12)) == MOST
    assert given.take("chicks", day(12), 0, 10_000, day(12)) is not None


def test_the_housing_and_the_day_that_bind_are_named():
    given = PlannedRoom(farm(batch(arrives=10), housings=(brooder(), pen())), (HERE,), (CHICKS,), days=300)
    assert given.most("chicks", day(12), 0, day(20)) == 0
    assert given.narrowest("chicks", day(12), 0, day(20)) == ("brooder", day(12))
    nowhere = PlannedRoom(farm(housings=(pen(),)), (), (CHICKS,), days=300)
    assert nowhere.take("chicks", day(12), 0, 1, day(20)) is None


def test_a_batch_taken_says_where_it_lives_from_its_arrival_until_it_is_gone():
    given = rooms()
    taken = given.take("chicks", day(90), 0, 9, day(146))
    stays = given.stays(taken)
    assert (stays[0].start, stays[-1].end) == (day(90), day(146))
    assert all(one.end == other.start for one, other in pairwise(stays))
    assert len(stays) > 1
    assert {stay.housing for stay in stays} <= {"brooder", "small", "pen"}
    assert given.stays(given.take("chicks", day(12), 0, 20, day(12))) == ()


def test_a_type_needs_a_key_no_batch_has():
    with pytest.raises(ValueError, match="key"):
        PlannedRoom(standing(), (HERE,), (replace(CHICKS, key="reds"),))


def test_a_room_reaches_as_far_as_the_last_line_could_be_put_off():
    orders = [
        line("a", 0, 0, from_on=day(200), to_on=day(299)),
        line("b", 0, 0, from_on=day(9), to_on=day(9)),
    ]
    assert horizon(standing(), orders) == 300 + LATER_DAYS
    assert rooms().take("chicks", day(290), 0, 1, day(299)) is not None
    assert horizon(standing(), ()) == standing().days


def test_a_day_beyond_the_plan_is_refused():
    with pytest.raises(ValueError, match="reaches"):
        rooms().take("chicks", day(290), 0, 1, day(301))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 90), st.integers(1, 40), st.integers(1, 25)), max_size=8), st.data())
def test_whatever_is_taken_nothing_is_over_full_and_all_can_be_given_back(asked, data):
    given = rooms()
    free = [each.copy() for each in given.state.free]
    rules = [
        given.state.low.copy(),
        given.state.high.copy(),
        given.state.entry.copy(),
        given.state.exit.copy(),
    ]
    held = []
    for first, life, birds in asked:
        most = given.most("chicks", day(first), 0, day(first + life))
        taken = given.take("chicks", day(first), 0, birds, day(first + life))
        assert (taken is not None) == (birds <= most)
        if taken is not None:
            held.append(taken)
        if held and data.draw(st.booleans()):
            given.give_back(held.pop(data.draw(st.integers(0, len(held) - 1))))
        assert all(each.min() >= 0 for each in given.state.free)
    for taken in reversed(held):
        given.give_back(taken)
    assert all(np.array_equal(one, other) for one, other in zip(free, given.state.free, strict=True))
    now = [given.state.low, given.state.high, given.state.entry, given.state.exit]
    assert all(np.array_equal(one, other) for one, other in zip(rules, now, strict=True))
