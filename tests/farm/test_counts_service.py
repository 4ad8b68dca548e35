"""The ledger: lines are added and taken back, never edited, and never count a bird that is not there."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Batch, CountEntry, HistoryEntry
from farm.models.count_entry import GAINS, CountKind
from farm.models.member import Role
from farm.queries import heads, soundness
from farm.services import counts, stays
from tests.conftest import TODAY, World, make_world
from tests.farm.judging import day, newest, refused, version

LOSSES = ["died", "culled", "sold", "processed", "kept_back"]


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks that arrived 14 days ago, in Brooder 1 since then."""
    return world.add_batch("Browns", housing="Brooder 1")


def add(world: World, batch: Batch, **fields: Any) -> CountEntry:
    fields = {"kind": "died", "birds": 1, "day": TODAY} | fields
    return counts.add(world.by, batch_id=batch.pk, **fields)


def said(world: World, batch: Batch, **fields: Any) -> dict[str, list[str]]:
    return refused(lambda: add(world, batch, **fields))


@pytest.mark.parametrize("kind", LOSSES)
def test_what_the_birds_were_lost_to_takes_them_off(world: World, browns: Batch, kind: str):
    assert add(world, browns, kind=kind, birds=3).birds == -3
    assert heads.alive_on(browns, TODAY) == 37


@pytest.mark.parametrize("kind", sorted(GAINS))
def test_what_brings_birds_adds_them(world: World, browns: Batch, kind: str):
    assert add(world, browns, kind=kind, birds=3).birds == 3
    assert heads.alive_on(browns, TODAY) == 43


def test_a_line_keeps_who_when_where_and_why(world: World, browns: Batch):
    sam = world.add_member("Sam", Role.HELPER)
    place = world.housing["Brooder 1"]

    entry = counts.add(
        sam, batch_id=browns.pk, kind="died", birds=2, day=day(-1), housing_id=place.pk, note="cold night"
    )

    assert (entry.member, entry.housing, entry.note, entry.day) == (sam.member, place, "cold night", day(-1))
    assert entry.created_at == sam.now
    assert (newest().summary, newest().member) == ("Browns: 2 birds died", sam.member)


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"birds": 0}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"birds": -1}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"birds": 5001}, {"birds": ["Enter a number from 1 to 5000."]}),
        ({"kind": "flew"}, {"kind": ["Choose what happened."]}),
        ({"kind": ""}, {"kind": ["Choose what happened."]}),
        ({"kind": CountKind.REVERSED}, {"kind": ["Choose what happened."]}),
        ({"day": day(1)}, {"day": ["This day is still to come; record it when it has happened."]}),
        ({"day": day(-15)}, {"day": ["The batch only arrives on 17 April 2026."]}),
        ({"birds": 41}, {"birds": ["That is 1 more than were alive: 40 on 1 May 2026."]}),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field(world: World, browns: Batch, fields: dict, expected: dict):
    assert said(world, browns, **fields) == expected


def test_the_day_of_arrival_and_today_are_both_taken(world: World, browns: Batch):
    assert add(world, browns, day=day(-14)).day == day(-14)
    assert add(world, browns, day=TODAY).day == TODAY


def test_all_birds_may_go_but_not_one_more(world: World, browns: Batch):
    add(world, browns, kind="sold", birds=40)

    assert heads.alive_on(browns, TODAY) == 0
    assert said(world, browns) == {"birds": ["That is 1 more than were alive: 0 on 1 May 2026."]}


def test_a_loss_of_the_past_may_not_take_birds_that_were_sold_later(world: World, browns: Batch):
    add(world, browns, kind="sold", birds=38, day=day(-1))

    assert said(world, browns, birds=3, day=day(-5)) == {
        "birds": ["That is 1 more than were alive: 2 on 30 April 2026."]
    }
    assert add(world, browns, birds=2, day=day(-5)).birds == -2


def test_birds_are_lost_only_where_the_batch_was(world: World, browns: Batch):
    other = world.housing["Brooder 2"].pk

    assert said(world, browns, housing_id=other) == {
        "housing_id": ["No birds of this batch are in Brooder 2 on 1 May 2026."]
    }


def test_a_loss_found_on_the_morning_of_a_move_may_be_named_in_the_old_place(world: World, browns: Batch):
    old, new = (world.housing[name].pk for name in ("Brooder 1", "Brooder 2"))
    stays.move(world.by, batch_id=browns.pk, from_id=old, to_id=new, birds=40, day=TODAY)

    assert add(world, browns, housing_id=old).housing_id == old
    assert heads.alive_on(browns, TODAY) == 39


def test_the_same_devices_key_is_one_line(world: World, browns: Batch):
    first = add(world, browns, client_key="phone-1")
    told, farm_version = HistoryEntry.objects.count(), version(world.farm)

    assert add(world, browns, client_key="phone-1") == first
    assert (HistoryEntry.objects.count(), version(world.farm)) == (told, farm_version)
    assert heads.alive_on(browns, TODAY) == 39


def test_two_farms_may_send_the_same_key(world: World, elsewhere: World, browns: Batch):
    theirs = elsewhere.add_batch("Theirs")

    assert add(world, browns, client_key="1") != add(elsewhere, theirs, client_key="1")


def test_a_line_taken_back_stays_and_its_opposite_stands_beside_it(world: World, browns: Batch):
    entry = add(world, browns, birds=3, day=day(-2), housing_id=world.housing["Brooder 1"].pk)

    opposite = counts.reverse(world.by, entry_id=entry.pk)

    assert (opposite.kind, opposite.birds, opposite.day) == ("reversed", 3, day(-2))
    assert (opposite.reverses, opposite.housing) == (entry, entry.housing)
    assert CountEntry.objects.filter(pk=entry.pk, birds=-3, kind="died").exists()
    assert heads.alive_on(browns, TODAY) == 40
    assert newest().summary == "Browns: taken back: 3 birds died"


def test_a_line_is_taken_back_once(world: World, browns: Batch):
    entry = add(world, browns)
    counts.reverse(world.by, entry_id=entry.pk)

    assert refused(lambda: counts.reverse(world.by, entry_id=entry.pk)) == {
        "": ["This line was already taken back."]
    }


def test_birds_that_were_sold_since_cannot_be_said_never_to_have_come(world: World, browns: Batch):
    found = add(world, browns, kind="found", birds=5)
    add(world, browns, kind="sold", birds=42)

    assert refused(lambda: counts.reverse(world.by, entry_id=found.pk)) == {
        "": ["That is 2 more than were alive: 3 on 1 May 2026."]
    }


def test_another_farms_batch_housing_or_line_is_not_found(world: World, elsewhere: World, browns: Batch):
    entry, place = add(world, browns), elsewhere.add_housing("Their brooder")

    with pytest.raises(NotFound):
        add(elsewhere, browns)
    with pytest.raises(NotFound):
        add(world, browns, housing_id=place.pk)
    with pytest.raises(NotFound):
        counts.reverse(elsewhere.by, entry_id=entry.pk)
    assert heads.alive_on(browns, TODAY) == 39


def test_helpers_count_and_children_do_not(world: World, browns: Batch):
    entry = counts.add(
        world.add_member("Sam", Role.HELPER), batch_id=browns.pk, kind="died", birds=1, day=TODAY
    )
    kim = world.add_member("Kim", Role.CHILD)

    with pytest.raises(NotAllowed):
        counts.add(kim, batch_id=browns.pk, kind="died", birds=1, day=TODAY)
    with pytest.raises(NotAllowed):
        counts.reverse(kim, entry_id=entry.pk)
    assert heads.alive_on(browns, TODAY) == 39


def told(act: Callable[[], object]) -> list[str]:
    """Return the fields that were refused, none when it was taken."""
    try:
        act()
    except BadInput as error:
        return list(error.fields)
    return []


class AnyLedger(TestCase):
    """Whatever is typed in whatever order, the ledger never falls below zero on any day."""

    @settings(max_examples=25)
    @given(
        st.lists(
            st.tuples(st.sampled_from([*LOSSES, *sorted(GAINS)]), st.integers(1, 25), st.integers(-14, 0)),
            max_size=8,
        ),
        st.lists(st.integers(0, 8), max_size=4),
    )
    def test_no_day_ever_has_fewer_than_no_birds(self, typed: list, taken_back: list[int]):
        world = make_world()
        batch = world.add_batch("Any", birds=20)
        for kind, birds, offset in typed:
            line = partial(add, world, batch, kind=kind, birds=birds, day=day(offset))
            assert told(line) in ([], ["birds"])
        for index in taken_back:
            entries = list(CountEntry.objects.order_by("pk"))
            back = partial(counts.reverse, world.by, entry_id=entries[index % len(entries)].pk)
            assert told(back) in ([], [""])
        assert heads.first_day_below_zero(batch) is None
        assert soundness.problems(world.farm) == []
