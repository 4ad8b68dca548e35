"""Two people at the feed store at the same moment, on real connections."""

from __future__ import annotations

import pytest

from farm.errors import BadInput
from farm.models import FeedEntry
from farm.queries import feed_store, soundness
from farm.services import counts, feed_entries, waits
from tests.conftest import TODAY, World, make_world
from tests.farm.feed_world import bought, starter
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def farm(transactional_db: None) -> World:
    """Hollow Farm with one bag of chick starter."""
    world = make_world()
    bought(world, starter(world), 1)
    return world


def test_of_two_who_open_the_last_bag_one_is_told_there_is_none(farm: World) -> None:
    feed = FeedEntry.objects.get().feed

    raised = at_once(*[lambda: feed_entries.open_bag(farm.by, feed_id=feed.pk, day=TODAY)] * 2)

    assert sorted(type(error) for error in raised if error) == [BadInput]
    assert feed_store.grams(list(feed.entries.all())) == 0
    assert soundness.problems(farm.farm) == []


def test_a_press_sent_twice_at_once_is_one_line(farm: World) -> None:
    feed = FeedEntry.objects.get().feed
    press = {"feed_id": feed.pk, "bags": 1, "day": TODAY, "client_key": "phone-1"}

    raised = at_once(*[lambda: feed_entries.buy(farm.by, **press)] * 2)

    assert raised == [None, None]
    assert FeedEntry.objects.filter(client_key="phone-1").count() == 1


def test_a_sale_and_days_to_wait_at_once_come_one_after_the_other(farm: World) -> None:
    batch = farm.add_batch("Browns", age=60)
    wait = {"what": "Wormer", "given_on": TODAY, "days": 7, "product": "meat"}

    sale, entered = at_once(
        lambda: counts.add(farm.by, batch_id=batch.pk, kind="sold", birds=1, day=TODAY),
        lambda: waits.add(farm.by, batch_id=batch.pk, **wait),
    )

    assert entered is None
    assert sale is None or isinstance(sale, BadInput)
    sold = batch.count_entries.filter(kind="sold").first()
    assert (sold is None) is (sale is not None)
