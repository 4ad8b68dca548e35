"""A problem is data: unharmed by JSON, of one digest however it was put together, and refused where it is nonsense."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.planning import codec, validate
from farm.planning import problem as problems
from farm.planning import solution as solutions
from farm.planning.problem import Arrival, Capacity, PartSize, Pin, Stage
from farm.planning.solve import solve
from tests.planning.plan_world import START, batch, brooder, day, demand, farm, past, pen, pin


def full():
    """A problem that uses every kind of field."""
    here = batch(
        "here", arrival=Arrival(day(-9)), history=(past("brooder", -9, 0),), survivors=(10, 9), leaves=day(60)
    )
    shifting = batch("shifting", arrival=Arrival(day(7), day(0), day(15), frozenset({2, 5})), max_parts=2)
    housings = (brooder(), pen(changes=(Capacity(day(30), 100),), species=frozenset({"duck", "chicken"})))
    return farm(here, shifting, housings=housings, pins=(pin("pen", 30, 33, "here"),))


def refused(problem):
    """The paths and sentences of what is wrong."""
    return {path: str(said) for path, said in validate.problems(problem)}


def test_a_problem_is_the_same_after_a_journey_through_json():
    assert problems.from_json(json.loads(json.dumps(full().to_json()))) == full()


def test_a_solution_is_the_same_after_a_journey_through_json():
    found = solve(full(), iterations=5)
    assert solutions.from_json(json.loads(json.dumps(found.to_json()))) == found


def test_the_digest_does_not_depend_on_the_order_things_are_named_in():
    one = full()
    other = replace(one, housings=one.housings[::-1], batches=one.batches[::-1])
    assert (other, other.digest) == (one, one.digest)


def test_the_digest_changes_with_a_single_bird():
    one = full()
    assert replace(one, batches=(replace(one.batches[0], birds=11), one.batches[1])).digest != one.digest


def test_a_plans_digest_says_who_lives_where_not_how_it_was_found():
    found = solve(full(), iterations=5)
    assert replace(found, seed=7, iterations=99).digest == found.digest
    assert replace(found, plans=found.plans[:1]).digest != found.digest


def test_data_cut_off_or_changed_is_refused_by_its_digest():
    data = full().to_json() | {"days": 90}
    with pytest.raises(codec.ReadingError, match="digest: does not match the data"):
        problems.from_json(data)


def test_another_version_is_refused():
    data = replace(full(), version=99).to_json()
    with pytest.raises(codec.ReadingError, match="version: is 99, but this program reads version 1"):
        problems.from_json(data)


def test_unknown_missing_and_mistyped_fields_are_refused_together_with_their_paths():
    data = full().to_json()
    data["colour"] = "red"
    del data["batches"][0]["birds"]
    data["batches"][1]["stages"][0]["from_age"] = "soon"
    data["pins"][0]["start"] = "yesterday"
    data["housings"] = "two"
    with pytest.raises(codec.ReadingError) as raised:
        problems.from_json(data)
    assert {path: str(said) for path, said in raised.value.problems} == {
        "colour": "is not a field here; known are: start, days, housings, batches, pins, apart, left, adopted, "
        "move_weekdays, weights, version",
        "batches[0].birds": "is missing",
        "batches[1].stages[0].from_age": "must be a whole number",
        "pins[0].start": "must be a day, like 2031-04-12",
        "housings": "must be a list",
    }


def test_a_sound_problem_has_no_problems():
    assert validate.problems(full()) == ()


@pytest.mark.parametrize(
    "changes, path, said",
    [
        ({"birds": 0}, "batches[0].birds", "reds has no birds: give a number, or leave the batch out"),
        ({"survivors": (11,)}, "batches[0].survivors", "must be between 1 and the birds of the batch"),
        (
            {"stages": (Stage(frozenset({"brooder"}), 0, 35), Stage(frozenset({"pen"}), 40))},
            "batches[0].stages",
            "no kind of housing is named for birds of 35 days: extend a stage",
        ),
        (
            {"stages": (Stage(frozenset({"brooder"}), 0, 35),)},
            "batches[0].stages",
            "no kind of housing is named for birds of 35 days: extend a stage",
        ),
        (
            {"arrival": Arrival(day(7), day(7), day(7))},
            "batches[0].arrival.before",
            "ends on 19 April, not after its start on 19 April: give a later end",
        ),
        (
            {"arrival": Arrival(day(-3))},
            "batches[0].history",
            "must reach 12 April: the birds came before and are somewhere",
        ),
        (
            {"leave_age_days": 0},
            "batches[0].leave_age_days",
            "must be above the age at arrival: the birds would never be here",
        ),
        ({"parts": (PartSize("a", 4),)}, "batches[0].parts", "add up to another number than the batch's 10 birds"),
        ({"forbidden": frozenset({"barn"})}, "batches[0].forbidden", "names barn, which is not there"),
        ({"demand": demand(young=0)}, "batches[0].demand.area_mm2", "must be above zero at every age"),
    ],
)  # fmt: skip
def test_an_impossible_batch_is_refused_with_the_field_and_the_fix(changes, path, said):
    assert refused(farm(batch(**changes)))[path] == said


def test_a_housing_smaller_than_one_bird_is_refused():
    problem = farm(batch(), housings=(brooder(area_dm2=9), pen()))
    assert refused(problem) == {
        "housings[0].area_dm2": "brooder is smaller than one bird: give its floor area"
    }


def test_a_housing_just_large_enough_for_one_bird_is_not():
    assert refused(farm(batch(), housings=(brooder(area_dm2=10), pen()))) == {}


def test_a_service_window_that_ends_before_it_starts_is_refused():
    problem = farm(batch(), housings=(brooder(in_service_from=day(9), in_service_to=day(9)), pen()))
    assert list(refused(problem)) == ["housings[0].in_service_to"]


def test_birds_that_should_have_left_already_are_refused():
    here = batch(arrival=Arrival(day(-70)), history=(past("pen", -70, 0),))
    assert refused(farm(here)) == {
        "batches[0]": "reds leave on 12 April, before there is anything to plan: give a later day"
    }


def test_pins_must_name_what_is_there_and_end_after_they_start():
    pins = (Pin("nobody", "barn", START, START),)
    assert refused(farm(batch(), pins=pins)) == {
        "pins[0].end": "ends on 12 April, not after its start on 12 April: give a later end",
        "pins[0].housing": "names barn, which is not there",
        "pins[0].batch": "names nobody, which is not there",
    }


def test_two_of_a_key_are_refused():
    assert refused(farm(batch(), batch())) == {"batches": "two of them have the key reds: give each its own"}


def test_nothing_is_solved_while_something_is_wrong():
    with pytest.raises(codec.ReadingError) as raised:
        solve(farm(batch(birds=0)))
    assert [path for path, _ in raised.value.problems] == ["batches[0].birds"]


def test_an_arrival_is_allowed_on_its_weekdays_and_on_the_day_asked_for():
    asked = Arrival(day(1), day(0), day(15), frozenset({5}))
    assert asked.days() == tuple(START + timedelta(days=at) for at in (0, 1, 7, 14))


@given(
    st.integers(-5, 25),
    st.none() | st.integers(-5, 25),
    st.none() | st.integers(-5, 25),
    st.frozensets(st.integers(0, 6)),
)
def test_the_last_allowed_arrival_is_the_last_of_all(asked, earliest, before, weekdays):
    first, stop = (None if number is None else day(number) for number in (earliest, before))
    arrival = Arrival(day(asked), first, stop, weekdays)
    assert arrival.last() == max(arrival.days())
