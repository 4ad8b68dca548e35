"""What cannot be taken back, and what the keeper is told to do first; nothing changes then."""

from __future__ import annotations

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Batch, HistoryEntry, Stay
from farm.models.member import Role
from farm.services import batches, counts, farms, history, housings, members, observations, programmes, stays
from tests.conftest import TODAY, World
from tests.farm.judging import day, everything, newest, refused


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks hatched and arrived 14 days ago, in Brooder 1 since then until further notice."""
    return world.add_batch("Browns", housing="Brooder 1")


def stale(world: World, entry: HistoryEntry) -> str:
    """Return what Stale says, having checked that nothing at all was changed."""
    before = everything()
    with pytest.raises(Stale) as caught:
        history.undo(world.by, entry_id=entry.pk)
    assert everything() == before
    return str(caught.value)


def said(world: World, entry: HistoryEntry) -> dict[str, list[str]]:
    return refused(lambda: history.undo(world.by, entry_id=entry.pk))


def test_a_thing_is_undone_once(world: World, browns: Batch):
    entry = newest()
    history.undo(world.by, entry_id=entry.pk)

    assert said(world, entry) == {"": ["This was already undone."]}
    assert history.can_undo(HistoryEntry.objects.get(pk=entry.pk)) is False


def test_a_thing_undone_and_redone_is_taken_back_by_its_newest_entry(world: World, browns: Batch):
    for _time in range(4):
        history.undo(world.by, entry_id=newest().pk)

    assert Batch.objects.get().name == "Browns"


def test_what_was_changed_since_names_itself_and_the_later_change_comes_first(world: World, browns: Batch):
    batches.change(world.by, batch_id=browns.pk, expected_version=None, breed="hybrid")
    first = newest()
    batches.change(world.by, batch_id=browns.pk, expected_version=None, breed="heritage")
    later = newest()

    assert stale(world, first) == "Browns was changed again since. Undo the later change first."
    history.undo(world.by, entry_id=later.pk)
    history.undo(world.by, entry_id=first.pk)
    assert Batch.objects.get().breed == ""


def test_a_stay_removed_since_is_named(world: World, browns: Batch):
    stay = Stay.objects.get()
    stays.change(world.by, stay_id=stay.pk, expected_version=None, birds=30)
    changed = newest()
    stays.remove(world.by, stay_id=stay.pk)

    assert "was changed again since" in stale(world, changed)


def test_a_batch_with_counts_since_says_what_to_undo_first(world: World, browns: Batch):
    started = newest()
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=1, day=TODAY)
    died = newest()

    assert stale(world, started) == "Browns has count entries by now. Undo those first."
    history.undo(world.by, entry_id=died.pk)
    history.undo(world.by, entry_id=started.pk)
    assert not Batch.objects.exists()


def test_a_batch_that_was_observed_or_moved_since_says_so(world: World, browns: Batch):
    started = newest()
    observations.add(world.by, kind="note", batch_id=browns.pk, note="lively")
    assert stale(world, started) == "Browns has observations by now. Undo those first."
    history.undo(world.by, entry_id=newest().pk)

    old, new = (world.housing[name].pk for name in ("Brooder 1", "Brooder 2"))
    stays.move(world.by, batch_id=browns.pk, from_id=old, to_id=new, birds=40, day=TODAY)
    assert "Undo" in stale(world, started)


def test_a_housing_that_birds_moved_into_since_says_so(world: World):
    world.add_housing("Shed")
    added = newest()
    world.add_batch("Browns", housing="Shed")

    assert stale(world, added) == "Shed has stays by now. Undo those first."


def test_a_programme_that_a_batch_follows_cannot_go(world: World):
    own = programmes.copy(world.by, source="chicken_dual", name="Ours")
    copied = newest()
    world.add_batch("Reds", programme=str(own.pk))

    assert "Undo those first." in stale(world, copied)


def test_a_ledger_is_never_left_below_zero(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="found", birds=5, day=TODAY)
    found = newest()
    counts.add(world.by, batch_id=browns.pk, kind="sold", birds=42, day=TODAY)

    assert said(world, found) == {"": ["That is 2 more than were alive: 3 on 1 May 2026."]}


def test_a_removed_stay_does_not_return_into_a_housing_given_to_others(world: World):
    world.add_housing("Single", one_batch=True)
    world.add_batch("First", housing="Single")
    stays.remove(world.by, stay_id=Stay.objects.get().pk)
    removed = newest()
    world.add_batch("Second", housing="Single", age=0)

    told = said(world, removed)
    assert told == {"housing_id": ["Single takes one batch at a time, and Second is there on 1 May 2026."]}


def test_a_housings_one_batch_rule_does_not_return_over_two_batches(world: World):
    world.add_housing("Single", one_batch=True)
    world.add_batch("First", housing="Single")
    housings.change(world.by, housing_id=world.housing["Single"].pk, expected_version=None, one_batch=False)
    opened = newest()
    world.add_batch("Second", housing="Single", age=14)

    told = said(world, opened)
    assert list(told) == ["housing_id"]
    assert told["housing_id"][0].startswith("Single takes one batch at a time")


def test_a_name_given_away_since_is_not_taken_back(world: World, browns: Batch):
    batches.change(world.by, batch_id=browns.pk, expected_version=None, name="Reds")
    renamed = newest()
    world.add_batch("Browns")

    assert list(said(world, renamed).values()) == [["Another batch already has this name."]]


def test_heat_taken_back_from_a_housing_with_chicks_in_it_is_refused(world: World):
    housings.change(world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, heated=True)
    heated = newest()
    world.add_batch("Chicks", housing="Pen 1")

    assert list(said(world, heated)) == ["override_reason"]


def test_people_and_the_farm_are_changed_again_and_not_undone(world: World):
    members.add(world.by, name="Sam", role=Role.HELPER)
    added = newest()
    farms.change(world.by, expected_version=None, name="Low Farm")
    renamed = newest()

    for entry in (added, renamed):
        assert said(world, entry) == {"": ["This cannot be undone; change it again instead."]}
        assert history.can_undo(entry) is False


def test_another_farms_entry_is_not_found(world: World, elsewhere: World, browns: Batch):
    before = everything()
    with pytest.raises(NotFound):
        history.undo(elsewhere.by, entry_id=newest().pk)
    assert everything() == before


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_only_keepers_undo(world: World, browns: Batch, role: str):
    sam = world.add_member("Sam", role)
    before = everything()
    with pytest.raises(NotAllowed):
        history.undo(sam, entry_id=HistoryEntry.objects.filter(noun="batch").first().pk)
    assert everything() == before


def test_a_stay_brought_back_asks_again_for_birds_that_are_elsewhere_now(world: World, browns: Batch):
    stays.remove(world.by, stay_id=Stay.objects.get().pk)
    removed = newest()
    other = world.housing["Brooder 2"].pk
    stays.add(world.by, batch_id=browns.pk, housing_id=other, birds=40, start=TODAY, end=day(5))

    with pytest.raises(BadInput) as caught:
        history.undo(world.by, entry_id=removed.pk)
    assert list(caught.value.fields) == ["birds"]
