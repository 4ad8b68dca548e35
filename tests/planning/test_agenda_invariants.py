"""What holds of every agenda, whatever the farm."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import agenda
from farm.planning.window import Window
from farm.trade.chores import chores as chore_table
from tests.planning.agenda_world import BROODED, CHICK, HATCH, REDS, WHOLE, day, farms

ROUND = {"morning": 0, "midday": 1, "evening": 2}
windows = st.builds(
    lambda offset, days: Window(HATCH + timedelta(days=offset), days),
    st.integers(-20, 120),
    st.integers(1, 90),
)


@given(farms(), windows)
@settings(max_examples=25, deadline=None)
def test_no_two_items_are_the_same_occurrence(farm, window):
    counted = Counter(item.occurrence for item in agenda.agenda(*farm, window))
    assert [found for found, times in counted.items() if times > 1] == []


@given(farms(), windows)
@settings(max_examples=25, deadline=None)
def test_items_come_by_day_then_round_then_housing_then_title(farm, window):
    items = agenda.agenda(*farm, window)
    keys = [(item.due, ROUND[item.round], item.room_name, str(item.title)) for item in items]
    assert keys == sorted(keys)


@given(farms(), windows)
@settings(max_examples=25, deadline=None)
def test_every_item_is_due_inside_the_window(farm, window):
    assert all(window.start <= item.due < window.end for item in agenda.agenda(*farm, window))


@given(farms(), windows)
@settings(max_examples=25, deadline=None)
def test_a_window_that_has_an_end_ends_after_its_due_day(farm, window):
    assert all(item.until is None or item.until > item.due for item in agenda.agenda(*farm, window))


@given(farms(), windows, st.integers(1, 89))
@settings(max_examples=25, deadline=None)
def test_a_window_says_what_its_two_parts_say(farm, window, at):
    at = min(at, window.days - 1)
    if at == 0:
        return
    first, second = Window(window.start, at), Window(window.day(at), window.days - at)
    assert agenda.agenda(*farm, window) == agenda.agenda(*farm, first) + agenda.agenda(*farm, second)


@given(farms(), st.data())
@settings(max_examples=25, deadline=None)
def test_the_order_of_batches_and_stays_changes_nothing(farm, data):
    batches, stays = farm
    mixed = data.draw(st.permutations(batches)), data.draw(st.permutations(stays))
    assert agenda.agenda(*mixed, WHOLE) == agenda.agenda(batches, stays, WHOLE)


@given(farms(), st.integers(1, 5))
@settings(max_examples=25, deadline=None)
def test_occurrences_stay_the_same_when_names_change(farm, number):
    batches, stays = farm
    renamed = [replace(batch, name=f"{number} {batch.name}") for batch in batches]
    moved_sign = [replace(stay, room_name=f"{9 - int(stay.room)} new") for stay in stays]
    assert occurrences(renamed, moved_sign) == occurrences(batches, stays)


@given(farms(), st.integers(2, 7))
@settings(max_examples=25, deadline=None)
def test_occurrences_stay_the_same_when_there_are_more_birds_everywhere(farm, times):
    batches, stays = farm
    more = [replace(stay, birds=stay.birds * times) for stay in stays]
    assert occurrences(batches, more) == occurrences(batches, stays)


@given(farms())
@settings(max_examples=10, deadline=None)
def test_occurrences_stay_the_same_when_the_table_changes_minutes_and_texts(farm):
    table = {
        key: replace(chore, minutes=chore.minutes + 7, title=f"other {key}")
        for key, chore in chore_table().items()
    }
    changed = {item.occurrence for item in agenda.agenda(*farm, WHOLE, table)}
    assert changed == occurrences(*farm)


@given(farms())
@settings(max_examples=25, deadline=None)
def test_another_batch_in_its_own_housing_changes_no_item_of_the_others(farm):
    batches, stays = farm
    guest = replace(REDS, key="99")
    alone = replace(BROODED, key="99", batch="99", room="99", room_name="Elsewhere")
    both = agenda.agenda([*batches, guest], [*stays, alone], WHOLE)
    assert tuple(item for item in both if item.room != "99") == agenda.agenda(batches, stays, WHOLE)


@given(st.integers(-30, 30))
@settings(max_examples=40, deadline=None)
def test_changing_the_hatch_date_moves_every_step_by_age_by_as_many_days(shift):
    early = replace(BROODED, start=HATCH - timedelta(days=40))  # in place for every hatch date tried
    wide = Window(HATCH - timedelta(days=40), 300)

    def dated(batch):
        steps = agenda.steps([batch], [early], wide)
        return [(s.source, s.due - batch.hatch_day, s.until and s.until - batch.hatch_day) for s in steps]

    assert dated(replace(REDS, hatch_day=day(shift))) == dated(REDS)


@given(farms(), st.integers(-40, 40))
@settings(max_examples=25, deadline=None)
def test_moving_the_whole_farm_in_time_moves_the_whole_agenda(farm, shift):
    batches, stays = farm
    by = timedelta(days=shift)
    later = (
        [replace(b, hatch_day=b.hatch_day + by, arrived_on=b.arrived_on + by) for b in batches],
        [replace(s, start=s.start + by, end=s.end and s.end + by) for s in stays],
    )
    expected = sorted((item.source, item.due + by, item.round) for item in agenda.agenda(*farm, WHOLE))
    window = Window(WHOLE.start + by, WHOLE.days)
    assert sorted(item.occurrence for item in agenda.agenda(*later, window)) == expected


@given(farms())
@settings(max_examples=25, deadline=None)
def test_steps_by_age_fall_where_the_batch_has_birds_that_day(farm):
    batches, stays = farm
    for item in agenda.steps(batches, stays, WHOLE):
        if item.batch is not None and item.job != "preheat":
            there = [s for s in stays if s.batch == item.batch and s.room == item.room]
            assert any(s.start <= item.due and (s.end is None or item.due < s.end) for s in there)
            assert item.age_days >= 0


@given(farms())
@settings(max_examples=25, deadline=None)
def test_an_occupied_housing_is_fed_twice_a_day_and_an_empty_one_never(farm):
    batches, stays = farm
    hatched = {batch.key: batch.hatch_day for batch in batches}
    fed = Counter((c.room, c.due) for c in agenda.chores(batches, stays, WHOLE) if c.job == "feed_water")
    expected = {
        (s.room, d): 2
        for s in stays
        for d in WHOLE.dates()
        if max(s.start, hatched[s.batch]) <= d and (s.end is None or d < s.end)
    }
    assert fed == expected


def occurrences(batches, stays):
    return {item.occurrence for item in agenda.agenda(batches, stays, WHOLE)}


def test_the_world_is_busy_enough_for_these_tests_to_mean_something():
    items = agenda.agenda([REDS], [BROODED], WHOLE)
    assert len(items) > 1000
    assert {item.kind for item in items} == {"step", "chore"}
    assert CHICK.jobs == ()  # no list: every job applies
