"""Putting work off: how far, by whom, said in the history, taken back; and it stays the same occurrence."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed
from farm.models import ChoreMark, HistoryEntry, OwnChore, Postponement
from farm.models.member import Role
from farm.queries import agenda
from farm.queries import own_chores as reads
from farm.services import chores, history, own_chores, postponing
from farm.services.actor import Actor
from tests.conftest import NOON, TODAY, World, actor


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def own(world: World, **fields: Any) -> OwnChore:
    return own_chores.add(world.by, **({"title": "Sweep", "start": TODAY, "minutes": 10} | fields))


def named(chore: OwnChore, due: date = TODAY) -> dict[str, Any]:
    return {"source": reads.source(chore.pk), "due": due, "round": chore.round}


def feed(world: World, round: str = "morning") -> dict[str, Any]:
    """Return the feeding of the chicks in Brooder 1 today: routine that birds depend on."""
    return {"source": f"room:{world.housing['Brooder 1'].pk}/feed_water", "due": TODAY, "round": round}


def put(by: Actor, which: dict[str, Any], days: int, round: str = "morning", **more: Any) -> Postponement:
    return postponing.put_off(by, **which, to_due=on(days), to_round=round, **more)


def refused(
    by: Actor, which: dict[str, Any], days: int, round: str = "morning", **more: Any
) -> dict[str, str]:
    before = list(Postponement.objects.values())
    with pytest.raises(BadInput) as error:
        put(by, which, days, round, **more)
    assert list(Postponement.objects.values()) == before
    return {name: " ".join(map(str, texts)) for name, texts in error.value.fields.items()}


def where(world: World, which: dict[str, Any], today: date = TODAY) -> tuple[date, str]:
    found = agenda.find(world.farm, which["source"], which["due"], which["round"], today)
    assert found is not None
    return found.item.due, found.item.round


def later(world: World, days: int) -> Actor:
    return actor(world.farm, world.keeper, NOON + timedelta(days=days))


@pytest.fixture
def chicks(world: World) -> World:
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


def test_what_is_put_off_is_due_there_and_the_history_says_who_and_why(world: World):
    which = named(own(world))
    row = put(world.by, which, 3, "evening", reason=" rain ")
    assert where(world, which) == (on(3), "evening")
    assert (row.reason, row.member) == ("rain", world.keeper)
    assert HistoryEntry.objects.latest("pk").summary == "Sweep: put off to 4 May, evening"


def test_put_off_again_it_goes_on_from_where_it_is(world: World):
    which = named(own(world))
    put(world.by, which, 3)
    assert refused(world.by, which, 3) == {"to_due": "Choose a later day or round."}
    put(world.by, which, 3, "midday")
    put(world.by, which, 5)
    assert where(world, which) == (on(5), "morning")
    assert Postponement.objects.count() == 1


def test_bringing_back_leaves_it_where_it_first_was(world: World):
    which = named(own(world))
    put(world.by, which, 3)
    postponing.bring_back(world.by, **which)
    assert where(world, which) == (TODAY, "morning")
    assert HistoryEntry.objects.latest("pk").summary == "Sweep: back on 1 May, morning"


def test_bringing_back_what_was_not_put_off_writes_nothing(world: World):
    which = named(own(world))
    before = HistoryEntry.objects.count()
    postponing.bring_back(world.by, **which)
    assert HistoryEntry.objects.count() == before


@pytest.mark.parametrize(
    ("days", "round", "field"),
    [
        (0, "morning", "to_due"),  # where it is
        (-1, "evening", "to_due"),
        (postponing.MOST_DAYS + 1, "morning", "to_due"),
        (1, "night", "to_round"),
        (1, "", "to_round"),
    ],
)
def test_where_it_cannot_go_is_refused_by_field(world: World, days, round, field):
    assert list(refused(world.by, named(own(world)), days, round)) == [field]


def test_a_reason_that_is_too_long_is_refused_at_its_field(world: World):
    assert list(refused(world.by, named(own(world)), 1, reason="x" * 201)) == ["reason"]


def test_the_last_day_allowed_is_allowed(world: World):
    which = named(own(world))
    put(world.by, which, postponing.MOST_DAYS)
    assert where(world, which)[0] == on(postponing.MOST_DAYS)


def test_what_comes_round_again_waits_only_until_then(world: World):
    which = named(own(world, repeat="FREQ=WEEKLY"))
    assert "until 7 May at most" in refused(world.by, which, 7)["to_due"]
    put(world.by, which, 6, "evening")
    assert where(world, which) == (on(6), "evening")


def test_what_waits_on_the_list_for_long_can_still_be_put_off_from_today(world: World):
    which = named(own(world))
    after = later(world, 40)
    postponing.put_off(after, **which, to_due=on(42), to_round="morning")
    assert where(world, which, on(40)) == (on(42), "morning")
    with pytest.raises(BadInput, match="It can wait until"):
        postponing.put_off(after, **which, to_due=on(40 + postponing.MOST_DAYS + 1), to_round="morning")


def test_feeding_goes_only_to_a_later_round_of_the_day(chicks: World):
    which = feed(chicks)
    assert "only go to a later round of that day" in refused(chicks.by, which, 1)["to_due"]
    put(chicks.by, which, 0, "midday")
    assert where(chicks, which) == (TODAY, "midday")
    assert refused(chicks.by, which, 0, "morning")


def test_the_evenings_feeding_can_go_nowhere(chicks: World):
    which = feed(chicks, "evening")
    for days, round in ((0, "evening"), (0, "morning"), (1, "morning")):
        assert "to_due" in refused(chicks.by, which, days, round)
    found = agenda.find(chicks.farm, which["source"], TODAY, "evening", TODAY)
    assert postponing.later_rounds(found.item, TODAY) == []
    assert postponing.latest_day(found.item, TODAY) == TODAY


def test_an_own_chore_the_birds_depend_on_is_treated_like_feeding(world: World):
    which = named(own(world, care=True, repeat="FREQ=DAILY"))
    assert "to_due" in refused(world.by, which, 1)
    put(world.by, which, 0, "evening")
    assert where(world, which) == (TODAY, "evening")


def test_yesterdays_care_can_not_be_put_off_any_more(world: World):
    which = named(own(world, care=True))
    with pytest.raises(BadInput, match="later round of that day"):
        postponing.put_off(later(world, 1), **which, to_due=on(1), to_round="evening")


@pytest.mark.parametrize("which", [{"source": "own:999/own_chore"}, {"due": on(1)}, {"round": "evening"}])
def test_what_is_not_on_the_agenda_is_not_known(world: World, which):
    assert list(refused(world.by, named(own(world)) | which, 3)) == [""]


def test_what_is_ticked_is_not_put_off(world: World):
    which = named(own(world))
    chores.mark(world.by, **which, title="Sweep")
    assert refused(world.by, which, 3) == {"": "This is ticked already."}


def test_a_tick_of_what_was_put_off_is_of_the_day_it_was_first_due(world: World):
    which = named(own(world))
    put(world.by, which, 3)
    chores.mark(later(world, 3), **which, title="Sweep")
    assert ChoreMark.objects.get().due == TODAY
    work = agenda.on_day(world.farm, on(3), on(3))
    assert [due.open for due in work.due] == [False]


def test_a_child_puts_off_only_what_a_child_may_tick(world: World):
    child = world.add_member("Kim", Role.CHILD)
    put(child, named(own(world, who="child")), 2)
    ours = named(own(world))
    with pytest.raises(NotAllowed):
        put(child, ours, 2)
    put(world.by, ours, 2)
    with pytest.raises(NotAllowed):
        postponing.bring_back(child, **ours)
    assert Postponement.objects.count() == 2


def test_another_farms_work_is_not_known(world: World, elsewhere: World):
    which = named(own(elsewhere))
    assert list(refused(world.by, which, 2)) == [""]
    put(elsewhere.by, which, 2)
    postponing.bring_back(world.by, **which)
    assert Postponement.objects.count() == 1


def test_putting_off_and_bringing_back_are_undone_like_any_write(world: World):
    which = named(own(world))
    put(world.by, which, 3)
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert where(world, which) == (TODAY, "morning")
    put(world.by, which, 4)
    postponing.bring_back(world.by, **which)
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert where(world, which) == (on(4), "morning")


def test_it_reaches_the_farms_version_so_that_calendars_follow(world: World):
    which = named(own(world))
    world.farm.refresh_from_db()
    before = world.farm.version
    put(world.by, which, 3)
    world.farm.refresh_from_db()
    assert world.farm.version == before + 1
