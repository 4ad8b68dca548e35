"""The feed ledger: bought, opened, spoiled, counted anew, taken back; never less than none on any day."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import FeedEntry, HistoryEntry
from farm.queries import feed_store, soundness, tally
from farm.services import feed_entries, history
from tests.conftest import TODAY, World, make_world
from tests.farm.feed_world import bought, day, opened, starter


def stock(feed):
    return feed_store.grams(list(feed.entries.all()))


def refused(call, **typed):
    with pytest.raises(BadInput) as error:
        call(**typed)
    return list(error.value.fields)


@pytest.fixture
def feed(world: World):
    return starter(world)


def test_bags_and_loose_feed_are_bought_by_the_gram(world: World, feed):
    bought(world, feed, 2, price_cents=3990)
    feed_entries.buy(world.by, feed_id=feed.pk, kg=12.345, day=TODAY)

    assert stock(feed) == 62_345
    assert [entry.price_cents for entry in feed.entries.all()] == [3990, None]


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({}, "bags"),
        ({"bags": 1, "kg": 3.0}, "bags"),
        ({"bags": 0}, "bags"),
        ({"bags": 1001}, "bags"),
        ({"kg": 0.0}, "kg"),
        ({"kg": float("inf")}, "kg"),
        ({"bags": 1, "day": day(1)}, "day"),
        ({"bags": 1, "day": day(-401)}, "day"),
        ({"bags": 1, "milled_on": day(1)}, "milled_on"),
        ({"bags": 1, "day": day(-9), "milled_on": day(-8)}, "milled_on"),
        ({"bags": 1, "milled_on": day(-401)}, "milled_on"),
        ({"bags": 1, "price_cents": -1}, "price_cents"),
        ({"bags": 1, "price_cents": 10_000_001}, "price_cents"),
    ],
)
def test_a_purchase_that_cannot_be_is_refused_at_its_field(world: World, feed, typed: dict, field: str):
    usual = {"feed_id": feed.pk, "day": TODAY}

    assert refused(feed_entries.buy, by=world.by, **(usual | typed)) == [field]
    assert not FeedEntry.objects.exists()


def test_the_last_bag_may_be_less_than_a_bag_and_then_there_is_none(world: World, feed):
    feed_entries.buy(world.by, feed_id=feed.pk, kg=30, day=TODAY)
    opened(world, feed, 0, 0)

    assert [entry.grams for entry in feed.entries.filter(kind="opened")] == [-25_000, -5_000]
    with pytest.raises(BadInput, match="no unopened Chick starter"):
        opened(world, feed, 0)


def test_more_than_there_is_can_neither_spoil_nor_be_opened(world: World, feed):
    bought(world, feed, 1)

    with pytest.raises(BadInput, match=r"only 25\.0 kg of Chick starter"):
        feed_entries.spoil(world.by, feed_id=feed.pk, day=TODAY, kg=26)
    assert refused(feed_entries.open_bag, by=world.by, feed_id=feed.pk, day=TODAY, bags=2) == ["bags"]
    assert stock(feed) == 25_000


def test_nothing_is_opened_before_it_was_bought(world: World, feed):
    bought(world, feed, 1, -3)

    assert refused(feed_entries.open_bag, by=world.by, feed_id=feed.pk, day=day(-4)) == ["bags"]


def test_a_line_in_between_may_not_leave_less_than_none_later(world: World, feed):
    bought(world, feed, 1, -9)
    opened(world, feed, -1)

    assert refused(feed_entries.spoil, by=world.by, feed_id=feed.pk, day=day(-5), kg=1.0) == ["kg"]


def test_counting_anew_sets_the_store_to_what_was_counted(world: World, feed):
    bought(world, feed, 2)

    feed_entries.correct(world.by, feed_id=feed.pk, day=TODAY, kg=31.5)
    assert stock(feed) == 31_500
    assert feed_entries.correct(world.by, feed_id=feed.pk, day=TODAY, kg=31.5) is None
    feed_entries.correct(world.by, feed_id=feed.pk, day=TODAY, kg=0)
    assert stock(feed) == 0


def test_a_count_of_an_earlier_day_is_of_that_days_end(world: World, feed):
    bought(world, feed, 2, -5)
    bought(world, feed, 1, -1)

    feed_entries.correct(world.by, feed_id=feed.pk, day=day(-3), kg=45)

    assert stock(feed) == 70_000


def test_a_line_is_taken_back_once_and_not_when_its_feed_is_gone(world: World, feed):
    buying = bought(world, feed, 1)
    opened(world, feed, 0)
    opening = feed.entries.get(kind="opened")

    with pytest.raises(BadInput, match="less than none"):
        feed_entries.reverse(world.by, entry_id=buying.pk)
    feed_entries.reverse(world.by, entry_id=opening.pk)
    with pytest.raises(BadInput, match="already taken back"):
        feed_entries.reverse(world.by, entry_id=opening.pk)

    assert stock(feed) == 25_000
    assert tally.standing(list(feed.entries.all())) == [buying]


def test_the_same_key_twice_is_one_line(world: World, feed):
    first = bought(world, feed, 1, client_key="phone-1")

    assert bought(world, feed, 1, client_key="phone-1") == first
    assert FeedEntry.objects.count() == 1


def test_a_child_opens_no_bag_and_a_stranger_buys_none(world: World, elsewhere: World, feed):
    bought(world, feed, 1)
    child = world.add_member("Emil", "child")

    with pytest.raises(NotAllowed):
        feed_entries.open_bag(child, feed_id=feed.pk, day=TODAY)
    with pytest.raises(NotFound):
        feed_entries.buy(elsewhere.by, feed_id=feed.pk, bags=1, day=TODAY)
    with pytest.raises(NotFound):
        feed_entries.reverse(elsewhere.by, entry_id=feed.entries.get().pk)


def test_undo_takes_a_line_back_by_its_opposite_and_refuses_what_was_eaten(world: World, feed):
    bought(world, feed, 1)
    entry = HistoryEntry.objects.get(verb="buy feed")
    opened(world, feed, 0)

    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=entry.pk)
    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="open feed").pk)
    history.undo(world.by, entry_id=entry.pk)

    assert stock(feed) == 0
    assert feed.entries.count() == 4
    assert soundness.problems(world.farm) == []


def test_a_feed_with_lines_is_not_undone_away(world: World, feed):
    bought(world, feed, 1)

    with pytest.raises(Stale):
        history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="add feed").pk)


def test_the_database_itself_holds_no_less_than_none(world: World, feed):
    bought(world, feed, 1)
    line = FeedEntry(
        farm=world.farm, feed=feed, kind="spoiled", grams=-25_001, day=TODAY, created_at=world.by.now
    )

    with pytest.raises(IntegrityError), transaction.atomic():
        line.save()


def test_what_went_past_the_services_is_found(world: World, feed):
    bought(world, feed, 1, -3)
    opened(world, feed, -2)
    FeedEntry.objects.filter(kind="opened").update(day=day(-4))

    assert soundness.problems(world.farm) == [
        f"feed {feed.pk} has 25000 g less than none on {TODAY - timedelta(days=4)}"
    ]


def test_the_oldest_feed_is_taken_to_be_opened_first(world: World, feed):
    bought(world, feed, 1, -20, milled_on=day(-30))
    bought(world, feed, 1, -10)
    opened(world, feed, -9)

    heaps = feed_store.heaps(feed, list(feed.entries.all()))

    assert [(heap.kg, heap.milled_on, heap.told) for heap in heaps] == [(25.0, day(-17), False)]
    assert heaps[0].keeps_until == day(-17 + 60)


ACTS = st.lists(
    st.tuples(
        st.sampled_from(["buy", "open", "spoil", "count", "back"]), st.integers(-9, 0), st.integers(0, 80)
    ),
    max_size=12,
)


class AnyLedger(TestCase):
    """Whatever is tried in whatever order, the farm stays sound and refusals leave no trace."""

    @settings(max_examples=25)
    @given(acts=ACTS)
    def test_no_order_of_lines_leaves_less_than_none(self, acts):
        world = make_world(f"any{FeedEntry.objects.count()}@example.org")
        feed = starter(world)
        for verb, offset, number in acts:
            before = list(feed.entries.values_list("pk", flat=True))
            try:
                _act(world, feed, verb, offset, number)
            except BadInput:
                assert list(feed.entries.values_list("pk", flat=True)) == before
            assert feed_store.first_day_below_zero(list(feed.entries.all())) is None
        assert soundness.problems(world.farm) == []
        heaps = feed_store.heaps(feed, list(feed.entries.all()))
        assert round(sum(heap.kg for heap in heaps) * 1000) == stock(feed)


def _act(world: World, feed, verb: str, offset: int, number: int) -> None:
    at = {"by": world.by, "feed_id": feed.pk, "day": day(offset)}
    if verb == "buy":
        feed_entries.buy(**at, kg=float(number))
    elif verb == "open":
        feed_entries.open_bag(**at, bags=number % 3)
    elif verb == "spoil":
        feed_entries.spoil(**at, kg=float(number))
    elif verb == "count":
        feed_entries.correct(**at, kg=float(number))
    else:
        lines = list(feed.entries.all())
        if lines:
            feed_entries.reverse(world.by, entry_id=lines[number % len(lines)].pk)
