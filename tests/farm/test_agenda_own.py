"""Own chores and what was put off, on the agenda as the database has them: their day, what is missed, their marks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.models import OwnChore
from farm.planning.window import Window
from farm.queries import agenda
from farm.queries import own_chores as reads
from farm.services import chores, own_chores, postponing
from farm.services.actor import Actor
from tests.conftest import NOON, TODAY, World, actor

Found = list[tuple[date, str, bool]]


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def own(world: World, **fields: Any) -> OwnChore:
    return own_chores.add(world.by, **({"title": "Sweep", "start": TODAY, "minutes": 10} | fields))


def as_of(world: World, days: int) -> Actor:
    return actor(world.farm, world.keeper, NOON + timedelta(days=days))


def tick(world: World, chore: OwnChore, due: date, days: int = 0, **more: Any) -> None:
    name = {"source": reads.source(chore.pk), "due": due, "round": chore.round, "title": chore.title}
    chores.mark(as_of(world, days), **(name | more))


def put(world: World, chore: OwnChore, due: date, to: date, round: str = "morning", days: int = 0) -> None:
    postponing.put_off(
        as_of(world, days),
        source=reads.source(chore.pk),
        due=due,
        round=chore.round,
        to_due=to,
        to_round=round,
    )


def seen(world: World, chore: OwnChore, days: int, part: str = "due") -> Found:
    """Return what a part of a day's work has of a chore, as it is asked for on that day."""
    work = agenda.on_day(world.farm, on(days), on(days))
    return [
        (each.item.occurrence[1], each.item.round, each.open)
        for each in getattr(work, part)
        if each.item.source == reads.source(chore.pk)
    ]


def test_an_own_chore_is_on_its_days_and_no_others(world: World):
    chore = own(world, repeat="FREQ=DAILY;INTERVAL=2", exceptions=[on(4)], round="evening")
    found = agenda.for_farm(world.farm, Window(TODAY, 8), TODAY)
    assert [(item.due, item.round) for item in found] == [(on(n), "evening") for n in (0, 2, 6)]
    assert {item.source for item in found} == {reads.source(chore.pk)}


def test_an_item_says_all_that_the_keeper_typed(world: World):
    pen = world.housing["Pen 1"]
    own(
        world,
        housing_id=pen.pk,
        minutes=25,
        who="adult",
        needs=["heat"],
        two_people=True,
        care=True,
        asks="photo",
        checklist=["lamp", "cord"],
    )
    (item,) = agenda.for_farm(world.farm, Window(TODAY, 1), TODAY)
    assert (item.room, item.room_name, str(item.title)) == (str(pen.pk), "Pen 1", "Pen 1: Sweep")
    assert (item.minutes, item.who, item.needs, item.people) == (25, "adult", ("heat",), 2)
    assert (item.care, item.heated, item.asks) == (True, True, "photo")
    assert [str(point) for point in item.checklist] == ["lamp", "cord"]
    assert item.job == item.source.split("/")[0]


def test_a_place_in_words_is_no_housing(world: World):
    own(world, place="feed store")
    (item,) = agenda.for_farm(world.farm, Window(TODAY, 1), TODAY)
    assert (item.room, item.room_name) == (None, "feed store")


def test_another_farm_has_none_of_it(world: World, elsewhere: World):
    own(world)
    assert agenda.for_farm(elsewhere.farm, Window(TODAY, 9), TODAY) == ()


def test_one_that_was_missed_stays_on_the_list_until_it_is_done(world: World):
    chore = own(world)
    for days in (1, 20, 59, 60, 61, 300):
        assert seen(world, chore, days, "before") == [(TODAY, "morning", True)], days
    tick(world, chore, TODAY, 300)
    assert seen(world, chore, 300, "before") == []
    assert seen(world, chore, 301, "before") == []


@pytest.mark.parametrize("late", [3, 300])
def test_what_was_caught_up_stays_in_sight_that_day(world: World, late: int):
    chore = own(world)
    tick(world, chore, TODAY, late)
    assert seen(world, chore, late, "caught_up") == [(TODAY, "morning", False)]
    assert seen(world, chore, late + 1, "caught_up") == []


def test_one_that_repeats_rolls_until_its_next_day_takes_over(world: World):
    chore = own(world, repeat="FREQ=WEEKLY")
    assert seen(world, chore, 6, "before") == [(TODAY, "morning", True)]
    assert seen(world, chore, 7, "before") == []
    assert seen(world, chore, 7) == [(on(7), "morning", True)]


def test_one_that_comes_once_a_year_rolls_for_longer_than_the_agenda_looks_back(world: World):
    chore = own(world, repeat="FREQ=MONTHLY;INTERVAL=12")
    assert seen(world, chore, 200, "before") == [(TODAY, "morning", True)]
    tick(world, chore, TODAY, 200)
    assert seen(world, chore, 201, "before") == []


def test_what_birds_depend_on_is_of_its_day_alone(world: World):
    chore = own(world, repeat="FREQ=DAILY", care=True)
    assert seen(world, chore, 1, "before") == []
    assert seen(world, chore, 1) == [(on(1), "morning", True)]


def test_an_ended_chore_is_still_open_nowhere(world: World):
    chore = own(world)
    own_chores.end(as_of(world, 2), chore_id=chore.pk)
    assert seen(world, chore, 1, "before") == [(TODAY, "morning", True)]
    assert seen(world, chore, 2, "before") == []


def test_put_off_it_leaves_its_day_and_comes_to_another(world: World):
    chore = own(world)
    put(world, chore, TODAY, on(4), "evening")
    assert seen(world, chore, 0) == []
    assert [seen(world, chore, days, "before") for days in (1, 3)] == [[], []]
    assert seen(world, chore, 4) == [(TODAY, "evening", True)]
    assert seen(world, chore, 5, "before") == [(TODAY, "evening", True)]


def test_put_off_from_before_what_the_page_looks_back_to(world: World):
    chore = own(world)
    put(world, chore, TODAY, on(82), "evening", days=80)
    assert seen(world, chore, 81, "before") == []
    assert seen(world, chore, 82) == [(TODAY, "evening", True)]
    assert seen(world, chore, 90, "before") == [(TODAY, "evening", True)]


def test_put_off_and_forgotten_for_long_it_is_still_on_the_list(world: World):
    chore = own(world)
    put(world, chore, TODAY, on(2))
    assert seen(world, chore, 200, "before") == [(TODAY, "morning", True)]


def test_put_off_work_is_once_on_any_page(world: World):
    chore = own(world, repeat="FREQ=WEEKLY")
    put(world, chore, TODAY, on(6))
    for days in range(9):
        work = agenda.on_day(world.farm, on(days), on(days))
        keys = [each.item.occurrence for each in (*work.due, *work.before, *work.caught_up)]
        assert len(keys) == len(set(keys)), days


def test_a_mark_keeps_its_identity_through_putting_off_and_bringing_back(world: World):
    chore = own(world)
    put(world, chore, TODAY, on(3), "evening")
    tick(world, chore, TODAY, 3)
    assert seen(world, chore, 3) == [(TODAY, "evening", False)]
    assert agenda.on_day(world.farm, TODAY, on(3)).kept == ()
    postponing.bring_back(as_of(world, 3), source=reads.source(chore.pk), due=TODAY, round="morning")
    assert seen(world, chore, 3) == []
    (back,) = agenda.on_day(world.farm, TODAY, on(3)).due
    assert (back.open, back.item.first) == (False, None)


def test_one_occurrence_is_found_by_what_it_first_was(world: World):
    chore = own(world)
    put(world, chore, TODAY, on(3), "evening")
    found = agenda.find(world.farm, reads.source(chore.pk), TODAY, "morning", TODAY)
    assert found is not None
    assert (found.item.due, found.item.round, found.item.first) == (on(3), "evening", (TODAY, "morning"))
    assert agenda.find(world.farm, reads.source(chore.pk), on(3), "evening", TODAY) is None


def test_the_birds_work_is_put_off_the_same_way(world: World):
    world.add_batch("Spring", age=9, housing="Brooder 1")
    window = Window(TODAY, 10)
    item = next(i for i in agenda.for_farm(world.farm, window, TODAY) if i.job == "bedding")
    source, due, round = item.occurrence
    to = due + timedelta(days=1)
    postponing.put_off(world.by, source=source, due=due, round=round, to_due=to, to_round="midday")
    after = [i for i in agenda.for_farm(world.farm, window, TODAY) if i.source == source]
    assert (to, "midday") in [(i.due, i.round) for i in after]
    assert item.occurrence in [i.occurrence for i in after]
    assert item.occurrence not in [i.occurrence for i in agenda.for_farm(world.farm, Window(due, 1), TODAY)]


def test_own_chores_are_no_step_of_a_batch(world: World):
    own(world)
    batch = world.add_batch("Spring", age=9, housing="Brooder 1")
    assert all(not due.item.source.startswith("own:") for due in agenda.for_batch(batch, TODAY, 60))
    assert all(not item.source.startswith("own:") for item in agenda.next_steps(world.farm, TODAY).values())


def test_a_day_costs_no_query_more_for_more_own_chores(world: World, django_assert_max_num_queries):
    for n in range(15):
        chore = own(world, title=f"Chore {n}", repeat="FREQ=DAILY", housing_id=world.housing["Pen 1"].pk)
        put(world, chore, TODAY, TODAY, "midday")
    with django_assert_max_num_queries(20):
        work = agenda.on_day(world.farm, TODAY, TODAY)
    assert len(work.due) == 15
