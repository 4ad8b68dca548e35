"""Counting and observing on a batch's pages: recorded once, refused at the field, taken back after a question."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, CountEntry, Farm, Observation
from farm.models.member import Role
from farm.queries import heads
from farm.services import counts
from tests.conftest import NOON, TODAY, World
from tests.web.batches_world import counted, errors, text


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    return world.add_batch("Browns", housing="Brooder 1")


def typed(**fields: str) -> dict[str, str]:
    return {"kind": "died", "birds": "3", "day": "2026-05-01"} | fields


def test_the_form_opens_with_today_the_one_place_and_the_kind_asked_for(
    seen: Client, world: World, browns: Batch
):
    form = seen.get(f"/batches/{browns.pk}/count/?kind=sold").context["form"]

    assert (form["day"].value(), form["kind"].value()) == (TODAY, "sold")
    assert form["housing_id"].value() == world.housing["Brooder 1"].pk
    assert "reversed" not in dict(form.fields["kind"].choices)


def test_a_line_is_added_and_the_new_number_said(seen: Client, world: World, browns: Batch):
    answer = seen.post(f"/batches/{browns.pk}/count/", typed(note="cold night"), follow=True)

    assert "3 birds died; 37 are here now." in text(answer)
    entry = CountEntry.objects.get(kind="died")
    assert (entry.birds, entry.note, entry.member) == (-3, "cold night", world.keeper)


def test_a_form_sent_twice_is_one_line(seen: Client, browns: Batch):
    address = f"/batches/{browns.pk}/count/"
    key = seen.get(address).context["form"]["client_key"].value()

    for _time in range(2):
        assert seen.post(address, typed(client_key=key)).status_code == 302
    assert heads.alive_on(Batch.objects.get(), TODAY) == 37


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"birds": "41"}, {"birds": ["That is 1 more than were alive: 40 on 1 May 2026."]}),
        ({"birds": "-1"}, {"birds": ["Ensure this value is greater than or equal to 1."]}),
        ({"kind": ""}, {"kind": ["This field is required."]}),
        (
            {"day": "2026-05-02"},
            {"day": ["This day is still to come; record it when it has happened."]},
        ),
        ({"day": "2026-04-16"}, {"day": ["The batch only arrives on 17 April 2026."]}),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field_and_the_rest_is_kept(
    seen: Client, browns: Batch, fields: dict[str, str], expected: dict[str, list[str]]
):
    before = counted()

    answer = seen.post(f"/batches/{browns.pk}/count/", typed(note="cold night", **fields))

    assert (errors(answer), counted()) == (expected, before)
    assert answer.context["form"]["note"].value() == "cold night"


def test_taking_a_line_back_asks_first_and_keeps_the_line(seen: Client, world: World, browns: Batch):
    entry = counts.add(world.by, batch_id=browns.pk, kind="died", birds=3, day=TODAY)
    address = f"/counts/{entry.pk}/reverse/"

    assert "Take this line back?" in text(seen.get(address))
    assert heads.alive_on(Batch.objects.get(), TODAY) == 37
    answer = seen.post(address, follow=True)

    assert "Taken back: 3 birds died." in text(answer)
    assert "taken back" in text(answer)
    assert heads.alive_on(Batch.objects.get(), TODAY) == 40
    assert CountEntry.objects.filter(pk=entry.pk).exists()


def test_a_line_taken_back_by_somebody_else_meanwhile_is_said_plainly(
    seen: Client, world: World, browns: Batch
):
    entry = counts.add(world.by, batch_id=browns.pk, kind="died", birds=3, day=TODAY)
    counts.reverse(world.by, entry_id=entry.pk)

    answer = seen.post(f"/counts/{entry.pk}/reverse/")

    assert errors(answer) == {"": ["This line was already taken back."]}
    assert "batch-count-reverse" not in text(seen.get(f"/batches/{browns.pk}/"))


def test_helpers_count_and_children_only_observe(client: Client, world: World, browns: Batch):
    entry = browns.count_entries.get()
    client.force_login(world.add_member("Kim", Role.CHILD).login)
    with time_machine.travel(NOON, tick=False):
        assert client.get(f"/batches/{browns.pk}/count/").status_code == 403
        assert client.post(f"/counts/{entry.pk}/reverse/").status_code == 403
        page = text(client.get(f"/batches/{browns.pk}/"))
        assert "/count/" not in page
        assert "/reverse/" not in page
        client.post(f"/batches/{browns.pk}/observe/", {"kind": "note", "note": "they play"})
    assert Observation.objects.get().note == "they play"


def test_a_weighing_is_recorded_in_the_farms_units(seen: Client, world: World, browns: Batch):
    Farm.objects.filter(pk=world.farm.pk).update(units="us")

    assert "Weight of one bird (oz)" in text(seen.get(f"/batches/{browns.pk}/observe/"))
    seen.post(f"/batches/{browns.pk}/observe/", {"kind": "weight", "value": "10", "birds": "8"})

    one = Observation.objects.get()
    assert (round(one.value, 2), one.birds) == (283.50, 8)
    assert one.housing == world.housing["Brooder 1"]


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"kind": "weight", "value": "2"}, "value"),
        ({"kind": "weight", "value": ""}, "value"),
        ({"kind": "temperature", "value": "70"}, "value"),
        ({"kind": "behaviour", "word": "dancing"}, "word"),
        ({"kind": "note", "note": " "}, "note"),
        ({"kind": "feed_left", "value": "-1"}, "value"),
    ],
)
def test_an_observation_that_cannot_be_right_is_told_at_its_own_form(
    seen: Client, browns: Batch, fields: dict[str, str], field: str
):
    answer = seen.post(f"/batches/{browns.pk}/observe/", fields)

    refused = {form.kind: list(form.errors) for form in answer.context["forms"] if form.is_bound}
    assert refused == {fields["kind"]: [field]}
    assert not Observation.objects.exists()


def test_an_unknown_kind_of_observation_is_not_found(seen: Client, browns: Batch):
    assert seen.post(f"/batches/{browns.pk}/observe/", {"kind": "dream"}).status_code == 404
