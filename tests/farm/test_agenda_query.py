"""A farm's work on a day, from its rows: what is due, what is still open, what is kept though nobody asks any more."""

from datetime import timedelta

import pytest

from farm.planning.window import Window
from farm.queries import agenda
from farm.services import batches, chores, counts
from tests.conftest import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def browns(world):
    """40 layers, 14 days old, in Brooder 1."""
    return world.add_batch("Browns", housing="Brooder 1")


def jobs(found):
    return {due.item.job for due in found}


def on(world, day=TODAY, today=TODAY):
    return agenda.on_day(world.farm, day, today)


def tick(world, source, due=TODAY, round="morning", **more):
    chores.mark(world.by, source=source, due=due, round=round, title="Done", **more)


def room(world, job):
    return f"room:{world.housing['Brooder 1'].pk}/{job}"


def test_a_farm_without_birds_has_nothing_to_do(world):
    assert on(world) == agenda.DayWork((), (), ())


def test_the_day_has_its_chores_and_its_steps(world, browns):
    found = jobs(on(world).due)
    assert {"feed_water", "look", "heat_check", "heat_lower"} <= found


def test_a_day_says_the_same_as_a_longer_window_says_of_it(world, browns):
    whole = agenda.for_farm(world.farm, Window(TODAY - 3 * DAY, 10), TODAY)
    expected = [item for item in whole if item.due == TODAY]
    assert [due.item for due in on(world).due] == expected


def test_a_tick_stands_beside_its_own_round_only(world, browns):
    tick(world, room(world, "feed_water"))
    marks = {due.item.round: due.mark for due in on(world).due if due.item.job == "feed_water"}
    assert marks["morning"].title == "Done"
    assert marks["evening"] is None


def test_a_step_missed_yesterday_is_still_open_and_a_chore_is_not(world, browns):
    before = on(world, TODAY + DAY, TODAY + DAY).before
    assert "heat_lower" in jobs(before)
    assert "feed_water" not in jobs(before)


def test_a_step_done_or_left_out_is_no_longer_open(world, browns):
    item = next(due.item for due in on(world).due if due.item.job == "heat_lower")
    tick(world, item.source, state="skipped", note="they huddle", round=item.round)
    assert "heat_lower" not in jobs(on(world, TODAY + DAY, TODAY + DAY).before)


def test_a_tick_of_what_the_plan_no_longer_asks_is_kept(world, browns):
    item = next(due.item for due in on(world).due if due.item.job == "heat_lower")
    tick(world, item.source, round=item.round)
    batches.change(
        world.by,
        batch_id=browns.pk,
        expected_version=None,
        hatch_day=browns.hatch_day - DAY,
        arrived_on=browns.arrived_on,
    )
    assert [mark.source for mark in on(world).kept] == [item.source]


def test_birds_still_here_after_their_leaving_day_get_their_work(world):
    world.add_batch("Late", housing="Brooder 2", age=30, leaves_on=TODAY + 2 * DAY)
    assert "feed_water" not in jobs(on(world, TODAY + 2 * DAY, TODAY).due)
    assert "feed_water" in jobs(on(world, TODAY + 3 * DAY, TODAY + 3 * DAY).due)


def test_the_housing_of_birds_that_are_all_gone_is_still_cleaned_out(world, browns):
    counts.add(world.by, batch_id=browns.pk, kind="sold", birds=40, day=TODAY)
    found = jobs(on(world).due)
    assert "clean_out" in found
    assert "feed_water" not in found


def test_what_was_done_for_birds_gone_since_still_shows_on_its_day(world, browns):
    tick(world, room(world, "feed_water"), due=TODAY - DAY)
    counts.add(world.by, batch_id=browns.pk, kind="sold", birds=40, day=TODAY)
    marks = [due.mark for due in on(world, TODAY - DAY).due if due.item.job == "feed_water"]
    assert any(mark is not None for mark in marks)


def test_a_stay_planned_for_after_the_last_bird_left_asks_for_nothing(world):
    batch = world.add_batch("Browns", housing="Brooder 1", age=50, housing_until=TODAY + 5 * DAY)
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=40, day=TODAY)
    later = agenda.for_farm(world.farm, Window(TODAY + DAY, 60), TODAY)
    assert {item.job for item in later} <= {"clean_out"}


def test_the_next_step_of_a_batch_is_the_first_not_yet_ticked(world, browns):
    first = agenda.next_steps(world.farm, TODAY)[browns.pk]
    tick(world, first.source, due=first.due, round=first.round)
    second = agenda.next_steps(world.farm, TODAY)[browns.pk]
    assert (first.due, second.occurrence != first.occurrence) == (TODAY, True)
    assert second.due >= first.due


def test_one_occurrence_is_found_with_its_mark_or_not_at_all(world, browns):
    source = room(world, "feed_water")
    tick(world, source)
    assert agenda.find(world.farm, source, TODAY, "morning", TODAY).mark.title == "Done"
    assert agenda.find(world.farm, source, TODAY, "evening", TODAY).open
    assert agenda.find(world.farm, source, TODAY, "midnight", TODAY) is None
    assert agenda.find(world.farm, "room:0/nothing", TODAY, "morning", TODAY) is None


def test_another_farms_birds_and_ticks_are_not_in_it(world, elsewhere, browns):
    elsewhere.add_housing("Theirs")
    elsewhere.add_batch("Strange", housing="Theirs")
    assert {due.item.room_name for due in on(world).due} == {"Brooder 1"}


def test_the_number_of_queries_does_not_grow_with_the_batches(world, browns, django_assert_max_num_queries):
    for number in range(8):
        world.add_batch(f"More {number}", housing="Brooder 1", age=10 + number)
    with django_assert_max_num_queries(12):
        on(world)
