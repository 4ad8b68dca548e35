"""Edits a keeper may try: what they change, what they refuse, and their JSON."""

import json
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.planning import changes, suits
from farm.planning.changes import (
    AddBatch,
    AddHousing,
    AllowSplit,
    ChangeArea,
    ChangeBirds,
    DropBatch,
    DropPins,
    ForbidHousing,
    LeaveEarly,
    LoseHousing,
    MoveArrival,
    PinStay,
    WaiveRest,
)
from farm.planning.codec import ReadingError
from farm.planning.loads import leave_day
from farm.planning.problem import Arrival, Capacity, PartSize, Pin
from farm.planning.validate import problems
from farm.planning.window import Window
from tests.planning.plan_world import START, batch, brooder, day, farm, past, pen, pin, plan, stay

ALL = (
    AddBatch(batch("blues")),
    DropBatch("reds"),
    MoveArrival("reds", day(9)),
    ChangeBirds("reds", 4),
    LeaveEarly("reds", 3),
    AllowSplit("reds", 2),
    ForbidHousing("reds", "pen"),
    PinStay("reds", "pen", day(30), day(40)),
    DropPins("reds"),
    AddHousing(pen("borrowed", in_service_from=day(3), in_service_to=day(9))),
    LoseHousing("pen", day(20)),
    ChangeArea("pen", 70, day(3), None),
    WaiveRest("pen", 2),
)


def only(problem):
    (found,) = problem.batches
    return found


def room(problem, key):
    return next(housing for housing in problem.housings if housing.key == key)


def area(housing, days=60):
    return suits.given(housing, Window(START, days))[0].tolist()


def refusal(change, problem):
    with pytest.raises(ReadingError) as refused:
        change.apply(problem)
    ((path, message),) = refused.value.problems
    return path, str(message)


@pytest.mark.parametrize("change", ALL, ids=lambda change: type(change).__name__)
def test_every_change_comes_back_from_json_the_same(change):
    assert changes.from_json(json.loads(json.dumps(changes.to_json(change)))) == change


@pytest.mark.parametrize("change", ALL, ids=lambda change: type(change).__name__)
def test_every_change_leaves_a_problem_that_can_be_planned(change):
    assert problems(change.apply(farm(batch()))) == ()


def test_every_kind_of_change_is_known_by_a_name():
    assert {type(change) for change in ALL} == set(changes.KINDS.values())


def test_a_kind_nobody_knows_is_refused_with_those_there_are():
    with pytest.raises(ReadingError) as refused:
        changes.from_json({"kind": "magic"})
    ((path, message),) = refused.value.problems
    assert path == "kind"
    assert str(message).startswith("is none we know; there are: add_batch, drop_batch")


def test_a_change_without_its_fields_is_refused_field_by_field():
    with pytest.raises(ReadingError) as refused:
        changes.from_json({"kind": "move_arrival", "batch": 7})
    assert [path for path, _ in refused.value.problems] == ["batch", "day"]


def test_changes_are_made_one_after_the_other():
    found = changes.apply_all(
        farm(batch()), (ChangeBirds("reds", 8), ChangeBirds("reds", 6), WaiveRest("pen", 1))
    )
    assert only(found).birds == 6


def test_a_second_batch_of_the_same_key_is_refused():
    assert refusal(AddBatch(batch()), farm(batch())) == (
        "batch.key",
        "reds is there already: give the new one its own",
    )


def test_a_dropped_batch_takes_its_pins_and_its_adopted_plan_along():
    held = farm(batch(), pins=(pin("pen", 30, 40),), adopted=(plan(stay("brooder", 0, 70)),))
    found = DropBatch("reds").apply(held)
    assert (found.batches, found.pins, found.adopted) == ((), (), ())


def test_birds_that_are_here_are_neither_dropped_nor_sent_back():
    here = farm(batch(arrives=-7, history=(past("brooder", -7, 0),)))
    assert refusal(DropBatch("reds"), here)[0] == "batch"
    assert refusal(MoveArrival("reds", day(3)), here) == ("batch", "reds is here already")


def test_a_moved_arrival_is_the_only_day_left():
    problem = farm(batch(arrival=Arrival(day(3), day(0), day(20))))
    assert only(MoveArrival("reds", day(9)).apply(problem)).arrival.days() == (day(9),)


def test_no_arrival_is_moved_before_the_plan():
    assert refusal(MoveArrival("reds", day(-1)), farm(batch()))[0] == "day"


def test_another_count_takes_survivors_and_parts_along_in_proportion():
    problem = farm(batch(survivors=(10, 9), parts=(PartSize("a", 4), PartSize("b", 6))))
    found = only(ChangeBirds("reds", 5).apply(problem))
    assert (found.birds, found.survivors, found.parts) == (5, (5, 5), (PartSize("a", 2), PartSize("b", 3)))


@given(st.integers(1, 200), st.integers(1, 200), st.integers(1, 200))
def test_survivors_never_outnumber_the_birds_and_parts_always_add_up(birds, first, other):
    problem = farm(
        batch(
            birds=first + other,
            survivors=(first + other, first),
            parts=(PartSize("a", first), PartSize("b", other)),
        )
    )
    found = only(ChangeBirds("reds", birds).apply(problem))
    assert all(1 <= kept <= birds for kept in found.survivors)
    assert sum(part.birds for part in found.parts) == birds


def test_no_birds_at_all_is_refused():
    assert refusal(ChangeBirds("reds", 0), farm(batch())) == (
        "birds",
        "reds needs at least one bird: leave it out instead",
    )


@pytest.mark.parametrize("leaving", ({"leave_age_days": 70}, {"leave_age_days": None, "leaves": day(70)}))
def test_leaving_early_brings_the_leave_day_forward_however_it_was_given(leaving):
    assert leave_day(only(LeaveEarly("reds", 5).apply(farm(batch(**leaving)))), START) == day(65)


def test_birds_without_a_leave_day_cannot_leave_earlier_than_it():
    assert refusal(LeaveEarly("reds", 5), farm(batch(leave_age_days=None)))[0] == "batch"


def test_birds_cannot_leave_before_they_are_here():
    assert refusal(LeaveEarly("reds", 70), farm(batch())) == ("days", "reds would leave before it is here")


def test_a_split_is_allowed_into_at_least_two():
    assert only(AllowSplit("reds", 3).apply(farm(batch()))).max_parts == 3
    assert refusal(AllowSplit("reds", 1), farm(batch()))[0] == "parts"


def test_a_forbidden_housing_joins_those_already_ruled_out():
    found = ForbidHousing("reds", "pen").apply(farm(batch(forbidden=frozenset({"brooder"}))))
    assert only(found).forbidden == {"brooder", "pen"}


@pytest.mark.parametrize(
    "change",
    (
        ForbidHousing("reds", "barn"),
        PinStay("reds", "barn", day(1), day(2)),
        WaiveRest("barn", 1),
        ChangeArea("barn", 1),
        LoseHousing("barn", day(3)),
    ),
)
def test_a_housing_that_is_not_there_is_refused(change):
    assert refusal(change, farm(batch())) == ("housing", "names barn, which is not there")


def test_a_pin_joins_the_others_and_ends_after_it_starts():
    found = PinStay("reds", "pen", day(30), day(40)).apply(farm(batch()))
    assert found.pins == (Pin("reds", "pen", day(30), day(40)),)
    assert refusal(PinStay("reds", "pen", day(30), day(30)), farm(batch()))[0] == "end"


def test_only_the_pins_of_the_batch_are_lifted():
    held = farm(batch(), batch("blues"), pins=(pin("pen", 30, 40), pin("pen", 30, 40, "blues")))
    assert [each.batch for each in DropPins("reds").apply(held).pins] == ["blues"]


def test_a_housing_lost_for_good_is_in_service_until_then():
    assert room(LoseHousing("pen", day(20)).apply(farm(batch())), "pen").in_service_to == day(20)
    shut = farm(batch(), housings=(brooder(), pen(in_service_to=day(9))))
    assert room(LoseHousing("pen", day(20)).apply(shut), "pen").in_service_to == day(9)


def test_a_housing_lost_for_a_while_gives_no_floor_until_it_is_back():
    found = room(LoseHousing("pen", day(2), day(4)).apply(farm(batch())), "pen")
    assert area(found, 6) == [200, 200, 0, 0, 200, 200]


def test_a_housing_cannot_be_lost_before_it_is_there():
    later = farm(batch(), housings=(brooder(), pen(in_service_from=day(9))))
    assert refusal(LoseHousing("pen", day(9)), later)[0] == "start"


def test_floor_changed_without_days_is_changed_for_good():
    found = room(ChangeArea("pen", 70).apply(farm(batch())), "pen")
    assert (found.area_dm2, found.changes) == (70, ())


def test_floor_changed_from_a_day_on_keeps_what_was_before():
    assert area(room(ChangeArea("pen", 70, day(2)).apply(farm(batch())), "pen"), 4) == [200, 200, 70, 70]


@given(
    st.lists(st.tuples(st.integers(-5, 40), st.integers(0, 500)), max_size=4, unique_by=lambda step: step[0]),
    st.integers(-3, 30),
    st.integers(1, 20),
)
def test_floor_changed_for_some_days_is_as_before_on_all_others(steps, start, days):
    own = pen(changes=tuple(Capacity(day(at), dm2, 7, 9) for at, dm2 in steps))
    found = changes.with_area(own, 33, day(start), day(start + days))
    before, after = np.array(area(own)), np.array(area(found))
    at = np.arange(60)
    inside = (at >= start) & (at < start + days)
    assert (after[inside] == 33).all()
    assert (after[~inside] == before[~inside]).all()
    window = Window(START - timedelta(days=10), 70)
    for edge in (1, 2):
        assert (suits.given(own, window)[edge] == suits.given(found, window)[edge]).all()


def test_less_floor_than_none_is_refused_and_so_are_days_that_end_before_they_start():
    assert refusal(ChangeArea("pen", -1), farm(batch()))[0] == "area_dm2"
    assert refusal(ChangeArea("pen", 5, day(3), day(3)), farm(batch()))[0] == "end"


def test_a_second_housing_of_the_same_key_is_refused():
    assert refusal(AddHousing(pen()), farm(batch()))[0] == "housing.key"


def test_no_more_rest_is_waived_than_there_is():
    found = WaiveRest("pen", 5).apply(farm(batch(), housings=(brooder(), pen(rest_days=3))))
    assert room(found, "pen").rest_days == 0
