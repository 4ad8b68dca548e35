"""Feeds are added, changed and removed; what cannot be is refused at its field, and nothing is saved."""

from __future__ import annotations

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Feed, HistoryEntry
from farm.queries import feed_kinds, programmes
from farm.services import feeds, history
from farm.services import programmes as editing
from tests.conftest import World
from tests.farm.feed_world import bought, starter


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "Taken"}, "name"),
        ({"kind": "hay"}, "kind"),
        ({"species": []}, "species"),
        ({"species": ["dragon"]}, "species"),
        ({"bag_kg": 0.4}, "bag_kg"),
        ({"bag_kg": 1500.1}, "bag_kg"),
        ({"bag_kg": float("nan")}, "bag_kg"),
        ({"lead_days": -1}, "lead_days"),
        ({"keeps_days": 6}, "keeps_days"),
        ({"wait_days": 3}, "wait_days"),
        ({"medicated": True, "wait_days": 366}, "wait_days"),
        ({"delivery_weekdays": [7]}, "delivery_weekdays"),
    ],
)
def test_a_feed_that_cannot_be_is_refused_at_its_field(world: World, typed: dict, field: str):
    starter(world, "Taken")
    before = (Feed.objects.count(), HistoryEntry.objects.count())

    with pytest.raises(BadInput) as refused:
        starter(world, **typed)

    assert list(refused.value.fields) == [field]
    assert (Feed.objects.count(), HistoryEntry.objects.count()) == before


@pytest.mark.parametrize("bag_kg", [0.5, 22.7, 500, 1500])
def test_small_bags_and_big_bags_are_bags(world: World, bag_kg: float):
    assert starter(world, bag_kg=bag_kg).bag_kg == bag_kg


def test_a_feed_is_changed_alone_where_it_was_seen(world: World):
    feed = starter(world)
    feeds.change(world.by, feed_id=feed.pk, expected_version=feed.version, lead_days=9)

    with pytest.raises(Stale):
        feeds.change(world.by, feed_id=feed.pk, expected_version=feed.version, lead_days=2)

    feed.refresh_from_db()
    assert (feed.lead_days, feed.bag_kg) == (9, 25.0)


def test_a_change_is_judged_together_with_what_stays(world: World):
    feed = starter(world, medicated=True, wait_days=5)

    with pytest.raises(BadInput) as refused:
        feeds.change(world.by, feed_id=feed.pk, expected_version=None, medicated=False)

    assert list(refused.value.fields) == ["wait_days"]


def test_a_feed_with_a_ledger_stays_and_one_without_may_go(world: World):
    used, unused = starter(world), starter(world, "Spare")
    bought(world, used, 1)

    feeds.remove(world.by, feed_id=unused.pk)
    with pytest.raises(BadInput, match="stays in the records"):
        feeds.remove(world.by, feed_id=used.pk)

    assert list(Feed.objects.all()) == [used]


def test_a_farms_own_programme_brings_its_own_kinds_of_feed(world: World):
    own = editing.copy(world.by, source="duck", name="Our ducks")
    content = programmes.latest(own).content
    content["feeds"][1]["feed"] = "pond mash"
    editing.edit(world.by, programme_id=own.pk, content=content, note="", expected_number=1)

    assert "pond mash" in feed_kinds.names(world.farm.pk)
    assert starter(world, kind="pond mash", species=["duck"]).kind == "pond mash"


def test_helpers_add_no_feeds_and_strangers_change_none(world: World, elsewhere: World):
    feed = starter(world)

    with pytest.raises(NotAllowed):
        feeds.add(world.add_member("Lina", "helper"), name="Mash", kind="layer", species=["chicken"])
    with pytest.raises(NotFound):
        feeds.change(elsewhere.by, feed_id=feed.pk, expected_version=None, lead_days=1)


def test_adding_and_removing_a_feed_can_be_undone(world: World):
    feed = starter(world)
    feeds.remove(world.by, feed_id=feed.pk)

    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="remove feed").pk)
    assert Feed.objects.get().name == "Chick starter"

    history.undo(world.by, entry_id=HistoryEntry.objects.filter(verb="undo").get().pk)
    assert not Feed.objects.exists()
