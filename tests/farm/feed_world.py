"""Feed for tests: a store on Hollow Farm, filled and emptied on days counted from TODAY."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from farm.models import Feed
from farm.services import feed_entries, feeds
from farm.services.actor import Actor
from tests.conftest import TODAY, World


def day(offset: int) -> date:
    """Return the day so many days from TODAY."""
    return TODAY + timedelta(days=offset)


def on(world: World, offset: int) -> Actor:
    """Return the keeper so many days from TODAY."""
    shift = timedelta(days=offset)
    return replace(world.by, now=world.by.now + shift, today=world.by.today + shift)


def starter(world: World, name: str = "Chick starter", **fields: Any) -> Feed:
    """Add a feed: 25 kg bags of chicken starter unless told otherwise."""
    usual = {"kind": "starter", "species": ["chicken"], "bag_kg": 25.0, "lead_days": 5}
    return feeds.add(world.by, name=name, **(usual | fields))


def bought(world: World, feed: Feed, bags: int, offset: int = 0, **fields: Any) -> Any:
    """Buy bags on a day."""
    return feed_entries.buy(world.by, feed_id=feed.pk, bags=bags, day=day(offset), **fields)


def opened(world: World, feed: Feed, *offsets: int) -> None:
    """Open a bag on each of some days."""
    for offset in offsets:
        feed_entries.open_bag(world.by, feed_id=feed.pk, day=day(offset))
