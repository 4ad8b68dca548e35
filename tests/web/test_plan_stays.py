"""A stay seen before it is saved, pinned and let go, and dragged on the board."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, HistoryEntry, Stay
from farm.services import stays
from tests.conftest import NOON, World
from tests.web.plan_pages import words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 until 11 May and then in the pen."""
    batch = world.add_batch("Browns", housing="Brooder 1", housing_until=date(2026, 6, 10))
    pen = world.housing["Pen 1"].pk
    stays.add(world.by, batch_id=batch.pk, housing_id=pen, birds=40, start=date(2026, 6, 10), end=None)
    return batch


def typed(world: World, stay: Stay, **fields: str) -> dict[str, str]:
    """What the form of a stay holds, with some of it changed."""
    return {
        "housing_id": str(stay.housing_id),
        "birds": str(stay.birds),
        "start": stay.start.isoformat(),
        "end": stay.end.isoformat() if stay.end else "",
        "version": str(stay.version),
    } | fields


def first_and_last(batch: Batch) -> tuple[Stay, Stay]:
    first, last = batch.stays.order_by("start")
    return first, last


def rows(world: World) -> list[dict[str, Any]]:
    return list(Stay.objects.filter(farm=world.farm).order_by("pk").values())


def test_a_change_is_shown_with_what_it_breaks_and_nothing_is_saved(
    seen: Client, world: World, browns: Batch
):
    first, _last = first_and_last(browns)
    before, entries = rows(world), HistoryEntry.objects.count()

    answer = seen.post(
        f"/stays/{first.pk}/look/", typed(world, first, housing_id=str(world.housing["Brooder 2"].pk))
    )

    assert re.search(r"Then this does not fit: Brooder 2 is [\d.]+ m² short on", words(answer))
    assert (rows(world), HistoryEntry.objects.count()) == (before, entries)


def test_a_change_that_mends_something_says_so(seen: Client, world: World):
    batch = world.add_batch("Crowd", birds=80, housing="Brooder 1")
    stay = batch.stays.get()

    answer = seen.post(f"/stays/{stay.pk}/look/", typed(world, stay, end="2026-05-02"))

    assert re.search(r"This is then no longer so: Brooder 1 is [\d.]+ m² short", words(answer))


def test_a_change_that_breaks_nothing_says_so(seen: Client, world: World, browns: Batch):
    _first, last = first_and_last(browns)

    assert "Nothing new stops fitting" in words(seen.post(f"/stays/{last.pk}/look/", typed(world, last)))


def test_what_cannot_be_saved_is_said_before(seen: Client, world: World, browns: Batch):
    first, _last = first_and_last(browns)

    answer = seen.post(f"/stays/{first.pk}/look/", typed(world, first, birds="41", end="2026-04-01"))

    assert "It cannot be saved like this" in words(answer)
    assert rows(world)[0]["birds"] == 40


def test_without_scripts_a_button_shows_the_same_on_the_form_itself(
    seen: Client, world: World, browns: Batch
):
    first, _last = first_and_last(browns)
    fields = typed(world, first, housing_id=str(world.housing["Brooder 2"].pk))

    answer = seen.post(f"/stays/{first.pk}/", fields | {"look": "1"})

    assert answer.status_code == 200
    assert "Then this does not fit" in words(answer)
    assert answer.context["form"]["housing_id"].value() == fields["housing_id"]
    assert Stay.objects.get(pk=first.pk).housing_id == first.housing_id


def test_a_new_stay_is_looked_at_before_too(seen: Client, world: World):
    batch = world.add_batch("Browns")
    fields = {
        "housing_id": str(world.housing["Brooder 2"].pk),
        "birds": "40",
        "start": "2026-05-01",
        "end": "",
    }

    by_itself = seen.post(f"/batches/{batch.pk}/stays/new/look/", fields)
    by_button = seen.post(f"/batches/{batch.pk}/stays/new/", fields | {"look": "1"})

    for answer in (by_itself, by_button):
        assert re.search(r"Brooder 2 is [\d.]+ m² short", words(answer))
    assert Stay.objects.count() == 0


def test_the_form_asks_for_the_preview_by_itself(seen: Client, browns: Batch):
    first, _last = first_and_last(browns)

    html = seen.get(f"/stays/{first.pk}/").content.decode()

    assert f'hx-post="/stays/{first.pk}/look/"' in html
    assert 'hx-trigger="load, change from:closest form delay:300ms"' in html


def test_a_stay_is_pinned_and_let_go(seen: Client, browns: Batch):
    first, _last = first_and_last(browns)

    answer = seen.post(f"/stays/{first.pk}/pin/", {"pinned": "1"}, follow=True)

    assert "no plan moves this stay" in words(answer)
    assert Stay.objects.get(pk=first.pk).pinned is True
    assert "Let plans move it again" in words(seen.get(f"/stays/{first.pk}/"))
    seen.post(f"/stays/{first.pk}/pin/", {"pinned": "0"})
    assert Stay.objects.get(pk=first.pk).pinned is False


def test_a_dragged_band_opens_the_form_with_the_days_moved_and_the_housing_chosen(
    seen: Client, world: World, browns: Batch
):
    _first, last = first_and_last(browns)
    room = world.housing["Brooder 2"].pk

    form = seen.get(f"/stays/{last.pk}/?shift=9&housing={room}").context["form"]

    assert (form.initial["start"], form.initial["end"]) == (date(2026, 6, 19), None)
    assert form.initial["housing_id"] == room
    assert rows(world)[1]["start"] == date(2026, 6, 10)


def test_what_has_begun_keeps_its_first_day_when_it_is_dragged(seen: Client, browns: Batch):
    first, _last = first_and_last(browns)

    form = seen.get(f"/stays/{first.pk}/?shift=-3").context["form"]

    assert (form.initial["start"], form.initial["end"]) == (first.start, first.end - timedelta(days=3))


@pytest.mark.parametrize("query", ["shift=x", "shift=", "housing=x", "housing=999999", "shift=9999999"])
def test_a_drag_that_makes_no_sense_opens_the_form_all_the_same(seen: Client, browns: Batch, query: str):
    first, _last = first_and_last(browns)

    answer = seen.get(f"/stays/{first.pk}/?{query}")

    assert answer.status_code == 200
    assert answer.context["form"].initial["housing_id"] == first.housing_id


def test_another_farms_housing_is_not_dragged_to(seen: Client, browns: Batch, elsewhere: World):
    first, _last = first_and_last(browns)
    theirs = elsewhere.add_housing("Secret shed")

    form = seen.get(f"/stays/{first.pk}/?housing={theirs.pk}").context["form"]

    assert form.initial["housing_id"] == first.housing_id


def test_bands_of_the_board_can_be_dragged_by_keepers_alone(
    seen: Client, client: Client, world: World, browns: Batch
):
    first, _last = first_and_last(browns)
    keeper = seen.get("/board/").content.decode()
    helper = Client()
    helper.force_login(world.add_member("Lina", "helper").login)

    assert f'data-stay="/stays/{first.pk}/"' in keeper
    assert f'data-housing="{first.housing_id}"' in keeper
    assert "data-stay" not in helper.get("/board/").content.decode()


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_look_and_pin(client: Client, world: World, browns: Batch, role: str):
    first, _last = first_and_last(browns)
    client.force_login(world.add_member("Lina", role).login)

    for part in ("look", "pin"):
        assert client.post(f"/stays/{first.pk}/{part}/", typed(world, first)).status_code == 403
    assert Stay.objects.get(pk=first.pk).pinned is False
