"""Own chores: what is kept of them, what can't be, and how they change and end without losing what was ticked."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import ChoreMark, HistoryEntry, OwnChore, Postponement
from farm.models.member import Role
from farm.queries import agenda
from farm.queries import own_chores as reads
from farm.services import chores, history, own_chores, postponing
from farm.services.actor import Actor
from farm.services.own_chores import FARTHEST_DAYS, MOST_EXCEPTIONS
from tests.conftest import NOON, TODAY, World, actor

MONDAY = TODAY + timedelta(days=3)


def add(by: Actor, **fields: Any) -> OwnChore:
    return own_chores.add(by, **({"title": "Sweep the store", "start": TODAY, "minutes": 10} | fields))


def change(by: Actor, chore: OwnChore, **fields: Any) -> OwnChore:
    return own_chores.change(by, chore_id=chore.pk, expected_version=None, **fields)


def tick(by: Actor, chore: OwnChore, due: date = TODAY) -> ChoreMark:
    return chores.mark(by, source=reads.source(chore.pk), due=due, round=chore.round, title=chore.title)


def refused(by: Actor, **fields: Any) -> dict[str, str]:
    before = (OwnChore.objects.count(), HistoryEntry.objects.count())
    with pytest.raises(BadInput) as error:
        add(by, **fields)
    assert (OwnChore.objects.count(), HistoryEntry.objects.count()) == before
    return {name: " ".join(map(str, texts)) for name, texts in error.value.fields.items()}


def later(world: World, days: int) -> Actor:
    return actor(world.farm, world.keeper, NOON + timedelta(days=days))


def due(world: World, chore: OwnChore, day: date, today: date = TODAY) -> bool:
    items = [each.item for each in agenda.on_day(world.farm, day, today).due]
    return any(item.source == reads.source(chore.pk) for item in items)


def summary() -> str:
    return HistoryEntry.objects.latest("pk").summary


def test_a_chore_is_kept_clean_and_written_in_one_way(world: World):
    chore = add(
        world.by,
        title="  Sweep the store ",
        repeat=" rrule:freq=weekly;byday=th,mo;interval=1 ",
        place=" barn ",
        checklist=["broom ", "", "  bin"],
        needs=["water", "lifting", "water"],
        exceptions=[MONDAY, TODAY, MONDAY],
    )
    chore.refresh_from_db()
    assert (chore.title, chore.repeat, chore.place) == ("Sweep the store", "FREQ=WEEKLY;BYDAY=MO,TH", "barn")
    assert (chore.checklist, chore.needs) == (["broom", "bin"], ["lifting", "water"])
    assert chore.exceptions == [TODAY.isoformat(), MONDAY.isoformat()]
    assert summary() == "Chore “Sweep the store” added"


def test_a_housing_goes_before_a_place_in_words(world: World):
    pen = world.housing["Pen 1"]
    chore = add(world.by, housing_id=pen.pk, place="somewhere")
    assert (chore.housing, chore.place) == (pen, "")


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"title": "  "}, "title"),
        ({"title": "x" * 101}, "title"),
        ({"start": TODAY + timedelta(days=FARTHEST_DAYS + 1)}, "start"),
        ({"start": TODAY - timedelta(days=1)}, "start"),
        ({"repeat": "FREQ=SECONDLY"}, "repeat"),
        ({"repeat": "soon"}, "repeat"),
        ({"repeat": "FREQ=DAILY;UNTIL=20260430"}, "until"),
        ({"repeat": "FREQ=DAILY;COUNT=1", "exceptions": [TODAY]}, "start"),
        ({"repeat": "FREQ=DAILY;COUNT=2", "start": TODAY - timedelta(days=9)}, "start"),
        ({"exceptions": [TODAY + timedelta(days=n) for n in range(1, MOST_EXCEPTIONS + 2)]}, "exceptions"),
        ({"minutes": 0}, "minutes"),
        ({"minutes": 601}, "minutes"),
        ({"round": "night"}, "round"),
        ({"who": "cat"}, "who"),
        ({"asks": "song"}, "asks"),
        ({"needs": ["patience"]}, "needs"),
        ({"who": "child", "needs": ["heat"]}, "who"),
        ({"who": "helper", "needs": ["slaughter"]}, "who"),
        ({"who": "child", "needs": ["dosing"]}, "who"),
        ({"place": "x" * 61}, "place"),
        ({"checklist": [f"{n}" for n in range(21)]}, "checklist"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_is_kept(world: World, wrong, field):
    assert list(refused(world.by, **wrong)) == [field]


def test_everything_wrong_is_said_at_once(world: World):
    wrong = {"title": "", "start": TODAY - timedelta(days=1), "who": "child", "needs": ["heat"]}
    assert set(refused(world.by, **wrong)) == {"title", "start", "who"}


def test_a_chore_that_counts_from_a_past_day_is_asked_from_today(world: World):
    chore = add(world.by, start=TODAY - timedelta(days=8), repeat="FREQ=DAILY;INTERVAL=2")
    assert not due(world, chore, TODAY - timedelta(days=2))
    assert due(world, chore, TODAY)
    assert not agenda.on_day(world.farm, TODAY, TODAY).before


def test_there_is_an_end_to_how_many(world: World, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(own_chores, "MOST_CHORES", 2)
    first, _second = add(world.by), add(world.by)
    assert list(refused(world.by)) == [""]
    own_chores.end(world.by, chore_id=first.pk)
    assert add(world.by).pk


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_only_keepers_decide(world: World, role: str):
    chore, by = add(world.by), world.add_member("Bo", role)
    for act in (
        lambda: add(by),
        lambda: change(by, chore, title="x"),
        lambda: own_chores.end(by, chore_id=chore.pk),
        lambda: own_chores.remove(by, chore_id=chore.pk),
    ):
        with pytest.raises(NotAllowed):
            act()
    chore.refresh_from_db()
    assert (chore.title, chore.ended_on) == ("Sweep the store", None)


def test_another_farms_chore_and_housing_are_not_found(world: World, elsewhere: World):
    chore, pen = add(elsewhere.by), elsewhere.add_housing("Far pen")
    for act in (
        lambda: change(world.by, chore, title="x"),
        lambda: own_chores.end(world.by, chore_id=chore.pk),
        lambda: own_chores.remove(world.by, chore_id=chore.pk),
        lambda: add(world.by, housing_id=pen.pk),
    ):
        with pytest.raises(NotFound):
            act()


def test_a_change_leaves_alone_what_it_does_not_name(world: World):
    kept = {
        "repeat": "FREQ=DAILY",
        "exceptions": [MONDAY],
        "checklist": ["broom"],
        "needs": ["lifting"],
        "housing_id": world.housing["Pen 1"].pk,
    }
    chore = add(world.by, **kept)
    changed = change(world.by, chore, title="Sweep well")
    assert (changed.pk, changed.title, changed.version) == (chore.pk, "Sweep well", 2)
    assert (changed.repeat, changed.exceptions) == ("FREQ=DAILY", [MONDAY.isoformat()])
    assert (changed.checklist, changed.needs) == (["broom"], ["lifting"])
    assert changed.housing == world.housing["Pen 1"]


def test_a_change_that_changes_nothing_writes_nothing(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    before = HistoryEntry.objects.count()
    change(world.by, chore, title="Sweep the store ")
    assert HistoryEntry.objects.count() == before


def test_a_form_opened_before_somebody_elses_change_is_stale(world: World):
    chore = add(world.by)
    change(world.by, chore, minutes=20)
    with pytest.raises(Stale) as refusal:
        own_chores.change(world.by, chore_id=chore.pk, expected_version=1, minutes=30)
    assert refusal.value.version == 2
    assert OwnChore.objects.get().minutes == 20


def test_a_refused_change_keeps_the_chore(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    with pytest.raises(BadInput):
        change(world.by, chore, repeat="FREQ=HOURLY")
    with pytest.raises(BadInput):
        change(world.by, chore, start=TODAY + timedelta(days=9), repeat="FREQ=DAILY;UNTIL=20260503")
    chore.refresh_from_db()
    assert (chore.repeat, chore.version) == ("FREQ=DAILY", 1)


def test_new_days_before_anything_was_ticked_are_the_same_chore(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    assert change(world.by, chore, repeat="FREQ=WEEKLY;BYDAY=MO").pk == chore.pk
    assert due(world, chore, MONDAY)
    assert not due(world, chore, TODAY)


def test_new_days_of_a_ticked_chore_leave_its_ticks_where_they_are(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    tick(world.by, chore)
    new = change(world.by, chore, repeat="FREQ=DAILY;INTERVAL=2")
    chore.refresh_from_db()
    assert new.pk != chore.pk
    assert (chore.repeat, chore.ended_on) == ("FREQ=DAILY", TODAY + timedelta(days=1))
    # Today stays ticked and is not asked twice; from tomorrow on the new days count.
    (today,) = agenda.on_day(world.farm, TODAY, TODAY).due
    assert (today.item.source, today.open) == (reads.source(chore.pk), False)
    assert not due(world, new, TODAY + timedelta(days=1))
    assert due(world, new, TODAY + timedelta(days=2))


def test_another_name_of_a_ticked_chore_is_the_same_chore(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    tick(world.by, chore)
    assert change(world.by, chore, title="Sweep well", minutes=5).pk == chore.pk


def test_such_a_change_is_taken_back_as_one(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    tick(world.by, chore)
    change(world.by, chore, round="evening")
    history.undo(world.by, entry_id=HistoryEntry.objects.filter(verb="change own chore").latest("pk").pk)
    chore.refresh_from_db()
    assert (list(OwnChore.objects.all()), chore.ended_on) == ([chore], None)


def test_an_ended_chore_is_due_no_more_and_keeps_its_ticks(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    tick(world.by, chore)
    own_chores.end(later(world, 2), chore_id=chore.pk)
    assert due(world, chore, TODAY + timedelta(days=1), TODAY + timedelta(days=2))
    assert not due(world, chore, TODAY + timedelta(days=2), TODAY + timedelta(days=2))
    assert ChoreMark.objects.count() == 1
    assert summary() == "Chore “Sweep the store” ended"


def test_ending_twice_is_ending_once(world: World):
    chore = add(world.by)
    own_chores.end(world.by, chore_id=chore.pk)
    before = HistoryEntry.objects.count()
    assert own_chores.end(later(world, 3), chore_id=chore.pk).ended_on == TODAY
    assert HistoryEntry.objects.count() == before


def test_an_ended_chore_is_not_changed(world: World):
    chore = add(world.by, repeat="FREQ=DAILY")
    own_chores.end(world.by, chore_id=chore.pk)
    with pytest.raises(BadInput, match="has ended"):
        change(world.by, chore, title="x")


def test_what_was_put_off_ends_with_its_chore_and_comes_back_with_it(world: World):
    chore = add(world.by, start=TODAY, repeat="FREQ=WEEKLY")
    to = TODAY + timedelta(days=2)
    postponing.put_off(
        world.by,
        source=reads.source(chore.pk),
        due=TODAY,
        round="morning",
        to_due=to,
        to_round="morning",
    )
    assert due(world, chore, to)
    own_chores.end(later(world, 1), chore_id=chore.pk)
    assert not due(world, chore, to, TODAY + timedelta(days=1))
    history.undo(later(world, 1), entry_id=HistoryEntry.objects.latest("pk").pk)
    assert due(world, chore, to, TODAY + timedelta(days=1))
    assert Postponement.objects.count() == 1


def test_a_chore_nobody_ticked_is_removed_and_can_be_brought_back(world: World):
    chore = add(world.by)
    own_chores.remove(world.by, chore_id=chore.pk)
    assert not OwnChore.objects.exists()
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert OwnChore.objects.get().title == "Sweep the store"


@pytest.mark.parametrize("state", ["done", "skipped"])
def test_a_chore_that_was_ticked_or_left_out_is_not_removed(world: World, state: str):
    chore = add(world.by)
    chores.mark(
        world.by, source=reads.source(chore.pk), due=TODAY, round="morning", title="Sweep", state=state
    )
    with pytest.raises(BadInput, match="End it instead"):
        own_chores.remove(world.by, chore_id=chore.pk)
    assert OwnChore.objects.exists()


def test_ticks_of_another_chore_do_not_hold_one(world: World):
    # Their sources begin alike: own:1 and own:1… of a longer number.
    chore, other = add(world.by), add(world.by, title="Other")
    tick(world.by, other)
    assert (reads.ticked(chore), reads.ticked(other)) == (False, True)


def test_only_chores_said_to_be_for_children_are_ticked_by_them(world: World):
    child = world.add_member("Kim", Role.CHILD)
    theirs, ours = add(world.by, who="child"), add(world.by, who="helper")
    assert tick(child, theirs).member == child.member
    with pytest.raises(NotAllowed):
        tick(child, ours)


def test_the_list_has_the_coming_ones_first_by_name(world: World):
    over = add(world.by, title="a", repeat="FREQ=DAILY")
    own_chores.end(world.by, chore_id=over.pk)
    add(world.by, title="c", start=MONDAY)
    add(world.by, title="B", repeat="FREQ=WEEKLY;BYDAY=MO", exceptions=[MONDAY])
    found = reads.listed(world.farm, TODAY)
    assert [(row.chore.title, row.next_on) for row in found] == [
        ("B", MONDAY + timedelta(days=7)),
        ("c", MONDAY),
        ("a", None),
    ]
    assert [str(row.repeats) if row.repeats else None for row in found] == [
        "every week on Monday",
        None,
        "every day",
    ]
