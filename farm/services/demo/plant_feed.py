"""Plants the demo's feed, each line of its ledger dated to its own day."""

from __future__ import annotations

from datetime import timedelta

from farm.models import Batch, Feed
from farm.services import feed_entries, feeds, waits
from farm.services.actor import Actor
from farm.services.demo.scene_feed import FEEDS, WAIT, WAIT_GIVEN, WAIT_OF, DemoFeed
from farm.services.demo.when import at


def plant_feed(by: Actor) -> None:
    """Plant the feed that the batches ate and will eat."""
    for scene in FEEDS:
        _keep(by, scene)
    batch = Batch.objects.get(farm_id=by.farm_id, name=WAIT_OF)
    on = at(by, WAIT_GIVEN)
    waits.add(on, batch_id=batch.pk, given_on=on.today, **WAIT)


def _keep(by: Actor, scene: DemoFeed) -> None:
    first = min(day for day, *_rest in scene.bought)
    feed = feeds.add(at(by, first), name=scene.name, **scene.fields)
    for day, bags, cents, age in scene.bought:
        _buy(at(by, day), feed, bags, cents, age)
    for day in scene.opened:
        on = at(by, day)
        feed_entries.open_bag(on, feed_id=feed.pk, day=on.today)
    for day, kg, note in scene.spoiled:
        on = at(by, day)
        feed_entries.spoil(on, feed_id=feed.pk, day=on.today, kg=kg, note=note)


def _buy(on: Actor, feed: Feed, bags: int, cents: int | None, age: int | None) -> None:
    milled = None if age is None else on.today - timedelta(days=age)
    feed_entries.buy(on, feed_id=feed.pk, bags=bags, day=on.today, milled_on=milled, price_cents=cents)
