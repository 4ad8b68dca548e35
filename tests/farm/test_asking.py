"""The question before an order, answered on a farm's own rows."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from farm.errors import NotFound
from farm.models import Batch
from farm.planning.problem import Problem
from farm.queries import asking, kinds
from farm.queries.asking import Standing
from farm.services import programmes
from tests.conftest import TODAY, World

LATER = TODAY + timedelta(days=30)


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1."""
    return world.add_batch("Browns", housing="Brooder 1")


def ask(world: World, birds: int, day: date = LATER) -> asking.Asked:
    now = asking.adopted(world.farm, TODAY, until=day)
    return asking.ask(now, kinds.of(world.farm, "chicken_layer_brown", day), day, birds)


def test_the_most_that_fit_fit_and_one_more_does_not(world: World, browns: Batch):
    most = ask(world, 0).cell.birds

    assert most > 0
    assert ask(world, most).short == ()
    one_more = ask(world, most + 1)
    assert one_more.fits is False
    assert one_more.short != ()


def test_a_batch_that_fits_adds_nothing_to_what_is_short(world: World, browns: Batch):
    found = ask(world, 5)

    assert found.standing is not None
    assert found.standing.bill.shortfall == found.before.shortfall


def test_what_is_short_is_about_the_birds_asked_for(world: World, browns: Batch):
    found = ask(world, 400)

    assert {"asked"} <= {key for one in found.short for key in one.breach.groups}
    assert all("asked" in one.breach.groups for one in found.short)


def test_without_a_number_there_is_nothing_to_try(world: World):
    found = ask(world, 0)

    assert (found.change, found.standing, found.short) == (None, None, ())


def test_ways_out_end_the_shortfall_they_are_for(world: World, browns: Batch):
    found = ask(world, ask(world, 0).cell.birds + 10)
    worst = asking.worst(found.short)
    assert worst is not None
    assert found.standing is not None

    answer = asking.ways(found.standing, worst)

    assert answer.ways
    for way in answer.ways:
        assert way.left <= found.standing.bill.shortfall - worst.price


def test_nothing_short_has_no_worst():
    assert asking.worst(()) is None


def test_a_search_ends_when_it_is_told_to(world: World, browns: Batch):
    found = ask(world, 400)
    worst = asking.worst(found.short)
    assert worst is not None
    assert found.standing is not None

    answer = asking.ways(found.standing, worst, go_on=lambda: False)

    assert answer.nothing_helps is False
    assert len(answer.tried) <= 1


def standing(world: World) -> Standing:
    world.add_batch("Crowd", birds=80, housing="Brooder 1")
    return asking.adopted(world.farm, TODAY)


def test_a_shortfall_is_found_by_kind_housing_and_a_day_it_lasts(world: World):
    now = standing(world)
    one = next(each for each in now.shortfalls() if each.breach.kind == "room")
    room, last = one.breach.room, one.breach.end - timedelta(days=1)

    for day in (one.breach.start, last):
        assert now.at("room", room, day) == one
    assert now.at("room", room, one.breach.end) is None
    assert now.at("heat", room, last) is None
    assert now.at("room", "999", last) is None


def test_among_batches_without_housing_the_one_asked_about_is_meant(world: World):
    one, other = world.add_batch("One"), world.add_batch("Other")
    now = asking.adopted(world.farm, TODAY)

    for batch in (one, other):
        found = now.at("unhoused", None, TODAY, str(batch.pk))
        assert found is not None
        assert found.breach.groups == (str(batch.pk),)


def test_the_problem_reaches_to_the_arrival_asked_about(world: World):
    day = asking.last_day(TODAY)

    problem: Problem = asking.adopted(world.farm, TODAY, until=day).problem

    assert problem.window.index(day) < problem.days


def test_the_room_left_is_the_same_the_question_finds_day_by_day(world: World, browns: Batch):
    now = asking.adopted(world.farm, TODAY)
    layer = kinds.of(world.farm, "chicken_layer_brown", TODAY)

    (left,) = asking.room_left(now, [layer], TODAY, 20)

    birds = [ask(world, 0, TODAY + timedelta(days=day)).cell.birds for day in range(20)]
    assert (left.name, left.most, left.days) == (layer.name, max(birds), sum(one > 0 for one in birds))


def test_without_types_there_is_nothing_to_count(world: World):
    assert asking.room_left(asking.adopted(world.farm, TODAY), [], TODAY, 20) == ()


def test_types_in_use_are_those_of_batches_the_latest_hatch_first(world: World):
    world.add_batch("Old ducks", programme="duck", age=60)
    world.add_batch("Browns")
    world.add_batch("Young ducks", programme="duck", age=1)

    assert [choice for choice, _name in kinds.in_use(world.farm.pk)] == ["duck", "chicken_layer_brown"]


def test_an_own_programme_is_a_type_of_its_own(world: World):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    world.add_batch("Ducks", programme=str(own.pk))

    assert kinds.in_use(world.farm.pk) == [(str(own.pk), "Our ducks")]
    assert kinds.of(world.farm, str(own.pk), TODAY).name == "Our ducks"


def test_a_type_leaves_at_the_age_of_the_latest_batch_that_leaves(world: World):
    assert kinds.of(world.farm, "duck", TODAY).leave_age_days is None
    world.add_batch("Ducks", programme="duck", age=10, leaves_on=TODAY + timedelta(days=39))
    world.add_batch("Kept ducks", programme="duck", age=5)

    assert kinds.of(world.farm, "duck", LATER).leave_age_days == 49


def test_birds_older_than_that_leave_the_day_after_they_come(world: World):
    world.add_batch("Ducks", programme="duck", age=10, leaves_on=TODAY + timedelta(days=39))

    assert kinds.of(world.farm, "duck", LATER, age_days=70).leave_age_days == 71


def test_a_type_nobody_knows_is_not_found(world: World):
    with pytest.raises(NotFound):
        kinds.of(world.farm, "dodo", TODAY)


def test_another_farms_own_programme_is_not_found(world: World, elsewhere: World):
    theirs = programmes.copy(elsewhere.by, source="duck", name="Secret ducks")

    with pytest.raises(NotFound):
        kinds.of(world.farm, str(theirs.pk), TODAY)


def test_more_birds_than_all_heated_floor_is_proved_unavoidable(world: World):
    world.add_batch("Crowd", birds=400, age=14, housing="Brooder 1")
    now = asking.adopted(world.farm, TODAY, until=LATER)
    grave = asking.worst(now.shortfalls())
    assert grave is not None

    proved = asking.unavoidable(now, grave)

    assert proved is not None
    assert str(proved).startswith("Unavoidable: on ")


def test_crowding_that_another_housing_ends_is_not_called_unavoidable(world: World):
    world.add_batch("Browns", birds=40, age=14, housing="Brooder 2")
    now = asking.adopted(world.farm, TODAY, until=LATER)
    grave = asking.worst(now.shortfalls())
    assert grave is not None

    assert asking.unavoidable(now, grave) is None
