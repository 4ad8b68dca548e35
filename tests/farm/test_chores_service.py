"""Ticks: one mark an occurrence whoever presses and however often, who may, and the way back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed
from farm.models import ChoreMark, HistoryEntry
from farm.models.member import Role
from farm.services import chores, history
from farm.services.actor import Actor
from farm.trade import chores as table
from tests.conftest import NOON, TODAY, World

FEED = {"source": "room:1/feed_water", "due": TODAY, "round": "morning", "title": "Feed and water"}
HEAT = {"source": "room:1/heat_check", "due": TODAY, "round": "morning", "title": "Check the heat"}


def tick(by: Actor, **fields: Any) -> ChoreMark:
    return chores.mark(by, **(FEED | fields))


def summaries(world: World) -> list[str]:
    return [row.summary for row in HistoryEntry.objects.filter(farm=world.farm, noun="choremark")]


def rows() -> list[dict[str, Any]]:
    return [*ChoreMark.objects.values(), *HistoryEntry.objects.values()]


def test_a_tick_keeps_what_was_done_when_and_by_whom(world: World):
    mark = tick(world.by)

    assert (mark.state, mark.title, mark.member, mark.at) == ("done", "Feed and water", world.keeper, NOON)
    assert summaries(world) == ["Feed and water: done"]


def test_ticking_twice_is_one_mark_of_whoever_came_first(world: World):
    first = tick(world.by)
    second = tick(world.add_member("Bo", Role.HELPER), title="Fed and watered", state="skipped")

    assert second.pk == first.pk
    assert (second.state, second.title, second.member) == ("done", "Feed and water", world.keeper)
    assert ChoreMark.objects.count() == 1
    assert summaries(world) == ["Feed and water: done"]


def test_a_note_said_later_joins_the_first_and_is_said_once(world: World):
    tick(world.by, note="two slow")
    tick(world.by, note="eating now")
    mark = tick(world.by, note="two slow")

    assert mark.note == "two slow\neating now"
    assert summaries(world) == ["Feed and water: note added", "Feed and water: done"]


def test_notes_that_grow_too_long_are_cut_and_not_refused(world: World):
    tick(world.by, note="a" * 600)
    assert tick(world.by, note="b" * 600).note == "a" * 500


@pytest.mark.parametrize(
    "other", [{"due": TODAY - timedelta(days=1)}, {"round": "evening"}, {"source": "room:2/feed_water"}]
)
def test_another_day_round_or_housing_is_another_mark(world: World, other: dict[str, Any]):
    assert tick(world.by).pk != tick(world.by, **other).pk


def test_the_same_occurrence_of_another_farm_is_another_mark(world: World, elsewhere: World):
    assert tick(world.by).pk != tick(elsewhere.by).pk
    assert ChoreMark.objects.filter(farm=world.farm).count() == 1


def test_an_offline_tick_sent_again_is_accepted_once(world: World):
    first = tick(world.by, client_key="phone-1")
    before = rows()
    again = tick(world.by, client_key="phone-1", title="Renamed since", note="twice")

    assert again.pk == first.pk
    assert rows() == before


def test_a_tick_that_comes_days_later_counts_for_the_day_it_was_due(world: World):
    mark = tick(world.by, due=TODAY - timedelta(days=9), client_key="phone-2")
    assert (mark.due, mark.at) == (TODAY - timedelta(days=9), NOON)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"state": "half"}, ""),
        ({"round": "night"}, ""),
        ({"source": ""}, ""),
        ({"due": TODAY + timedelta(days=chores.EARLY_DAYS + 1)}, "due"),
        ({"source": "room:1/" + "x" * 200}, "source"),
    ],
)
def test_what_cannot_be_ticked_is_refused_and_nothing_is_saved(
    world: World, wrong: dict[str, Any], field: str
):
    before = rows()
    with pytest.raises(BadInput) as refused:
        tick(world.by, **wrong)
    assert list(refused.value.fields) == [field]
    assert rows() == before


def test_a_chore_may_be_ticked_a_week_early(world: World):
    due = TODAY + timedelta(days=chores.EARLY_DAYS)
    assert tick(world.by, due=due).due == due


def test_a_child_ticks_what_a_child_may_do(world: World):
    child = world.add_member("Kim", Role.CHILD)
    assert tick(child).member == child.member


def test_a_child_cannot_tick_or_untick_hot_work(world: World):
    child = world.add_member("Kim", Role.CHILD)
    chores.mark(world.by, **HEAT)
    before = rows()
    with pytest.raises(NotAllowed):
        chores.mark(child, **(HEAT | {"round": "evening"}))
    with pytest.raises(NotAllowed):
        chores.unmark(child, source=HEAT["source"], due=TODAY, round="morning")
    assert rows() == before


@pytest.mark.parametrize(
    "source", ["", "room:1", "room:1/no_such_chore", "nonsense", "batch:3/heat_lower/14"]
)
def test_what_the_table_does_not_give_to_children_needs_a_helper(source: str):
    assert chores.least_role(source, 0) == Role.HELPER


def test_every_chore_of_the_table_asks_for_the_role_it_names(world: World):
    found = {key: chores.least_role(f"room:1/{key}", 0) for key in table.chores()}
    assert found == {
        key: Role.CHILD if chore.who == "child" else Role.HELPER for key, chore in table.chores().items()
    }
    assert set(found.values()) == {Role.CHILD, Role.HELPER}


def test_unticking_opens_the_chore_again_and_says_so(world: World):
    tick(world.by)
    chores.unmark(world.by, source=FEED["source"], due=TODAY, round="morning")

    assert ChoreMark.objects.count() == 0
    assert summaries(world)[0] == "Feed and water: open again"


def test_unticking_what_was_never_ticked_changes_nothing(world: World):
    before = rows()
    chores.unmark(world.by, source=FEED["source"], due=TODAY, round="morning")
    assert rows() == before


def test_unticking_leaves_another_farms_tick_alone(world: World, elsewhere: World):
    tick(elsewhere.by)
    chores.unmark(world.by, source=FEED["source"], due=TODAY, round="morning")
    assert ChoreMark.objects.filter(farm=elsewhere.farm).count() == 1


def test_a_tick_can_be_undone_and_done_again(world: World):
    tick(world.by)
    history.undo(world.by, entry_id=HistoryEntry.objects.filter(noun="choremark").latest("pk").pk)

    assert ChoreMark.objects.count() == 0
    assert tick(world.by).state == "done"


def test_a_tick_reaches_the_farms_version_so_that_calendars_follow(world: World):
    world.farm.refresh_from_db()
    before = world.farm.version
    tick(world.by)
    world.farm.refresh_from_db()
    assert world.farm.version == before + 1


def test_a_skipped_chore_keeps_its_reason(world: World):
    mark = tick(world.by, state="skipped", note=" feeder still full ")
    assert (mark.state, mark.note) == ("skipped", "feeder still full")


def test_a_title_longer_than_its_column_is_cut(world: World):
    assert tick(world.by, title="F" * 300).title == "F" * 200
