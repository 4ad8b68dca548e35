"""A change in a joined thing, its name for example, moves the events it shows in, all of them and no others."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from calendars.editions import Options
from farm.models import Batch, Order
from farm.services import batches, egg_sets, housings, members, orders
from tests.calendars.conftest import subscribe
from tests.calendars.test_build import events
from tests.conftest import NOON
from tests.farm.egg_world import cabinet, put_in
from tests.farm.orders_world import take

SOON = NOON + timedelta(minutes=1)


def plain(text: str) -> str:
    return text.replace("\r\n ", "")


def shown_in(found: dict[str, str], word: str) -> set[str]:
    """Return the events whose text, not whose UID or address, has a word in it."""
    kept = {
        uid: "\n".join(
            line
            for line in plain(text).split("\r\n")
            if line.startswith(("SUMMARY", "DESCRIPTION", "LOCATION"))
        )
        for uid, text in found.items()
    }
    return {uid for uid, text in kept.items() if word in text}


def moved(before: dict[str, str], after: dict[str, str]) -> set[str]:
    """Return the events whose stamp rose."""
    stamp = re.compile(r"LAST-MODIFIED:(\S+)")
    return {uid for uid in after if stamp.search(after[uid])[1] > stamp.search(before[uid])[1]}


@pytest.mark.parametrize("rounds", ["timed", "daily"])
def test_a_renamed_housing_bumps_exactly_the_events_it_shows_in(farm, rounds):
    farm.add_batch("Summer", housing="Brooder 2", age=2, birds=20)
    app = subscribe(farm.by, options=Options(rounds=rounds))
    before = events(app)
    concerned = shown_in(before, "Brooder 2")
    assert concerned
    assert concerned < before.keys()
    room = farm.housing["Brooder 2"].pk
    housings.change(farm.by, housing_id=room, expected_version=None, name="Red shed")
    after = events(app, SOON)
    assert after.keys() == before.keys()
    assert moved(before, after) == concerned
    assert {uid for uid in after if after[uid] != before[uid]} == concerned
    assert shown_in(after, "Red shed") == concerned
    assert not shown_in(after, "Brooder 2")


def test_a_new_name_alone_changes_no_sequence_and_no_uid(farm):
    app = subscribe(farm.by)
    sequences = {uid: re.search(r"SEQUENCE:\d+", text)[0] for uid, text in events(app).items()}
    room = farm.housing["Brooder 1"].pk
    housings.change(farm.by, housing_id=room, expected_version=None, name="Red shed")
    after = {uid: re.search(r"SEQUENCE:\d+", text)[0] for uid, text in events(app, SOON).items()}
    assert after == sequences


def test_a_renamed_batch_bumps_exactly_the_events_it_shows_in(farm):
    farm.add_batch("Summer", housing="Brooder 2", age=2, birds=20)
    app = subscribe(farm.by)
    before = events(app)
    concerned = shown_in(before, "Summer")
    batch = Batch.objects.get(name="Summer")
    batches.change(farm.by, batch_id=batch.pk, expected_version=None, name="Late ones")
    assert moved(before, events(app, SOON)) == concerned


def test_a_renamed_egg_set_bumps_its_own_events(farm):
    machine = cabinet(farm)
    eggs, _other = put_in(farm, machine, eggs=20, name="E7"), put_in(farm, machine, eggs=20, name="E8")
    app = subscribe(farm.by)
    before = events(app)
    concerned = shown_in(before, "E7")
    assert concerned
    egg_sets.change(farm.by, egg_set_id=eggs.pk, expected_version=None, name="E77")
    after = events(app, SOON)
    assert concerned <= moved(before, after)
    assert not moved(before, after) & (before.keys() - concerned)


def test_what_shows_nowhere_moves_nothing(farm):
    app = subscribe(farm.by)
    first = app.get()
    members.add(farm.by, name="Ben", role="helper")
    farm.add_housing("Empty shed")
    again = app.get(SOON)
    assert again.content == first.content
    assert again["ETag"] == first["ETag"]


def test_one_reader_of_many_is_moved_alone(farm):
    """A name shown in one housing's calendar leaves the other housing's bytes as they are."""
    farm.add_batch("Summer", housing="Brooder 2", age=2, birds=20)
    one, two = (
        subscribe(farm.by, scope="housing", housing_id=farm.housing[name].pk)
        for name in ("Brooder 1", "Brooder 2")
    )
    before = one.get().content, two.get().content
    room = farm.housing["Brooder 2"].pk
    housings.change(farm.by, housing_id=room, expected_version=None, name="Red shed")
    after = one.get(SOON).content, two.get(SOON).content
    assert after[0] == before[0]
    assert after[1] != before[1]


def test_an_order_that_is_cancelled_leaves_as_cancelled(farm):
    take(farm)
    app = subscribe(farm.by, scope="orders")
    (uid,) = events(app)
    orders.set_status(farm.by, order_id=Order.objects.get().pk, status="cancelled", expected_version=None)
    (after,) = events(app, SOON).values()
    assert "STATUS:CANCELLED" in after
    assert f"UID:{uid}" in plain(after)
    assert "SEQUENCE:1" in after
