"""Candling and the hatch, written down on a phone before the machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, EggEntry, EggSet
from farm.services import hatches
from tests.conftest import NOON, TODAY, World
from tests.web.hatching_world import cabinet, day, errors, put_in, said, sign_in, written


@pytest.fixture
def helping(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as a helper, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.add_member("Cara", "helper"))


def ripe(world: World, **fields: Any) -> EggSet:
    return put_in(world, cabinet(world), 40, set_on=day(-21), **fields)


def test_a_helper_writes_down_a_candling(helping: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-7))

    answer = helping.post(
        f"/hatching/{egg_set.pk}/candle/", {"clear": "4", "quitter": "", "day": TODAY.isoformat()}
    )

    assert answer.url == f"/hatching/{egg_set.pk}/"
    assert list(EggEntry.objects.values_list("kind", "eggs", "member__name")) == [("clear", 4, "Cara")]
    assert "Noted. 36 eggs are left in." in said(helping.get(answer.url))


def test_a_candling_sent_twice_is_one(helping: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-7))
    key = helping.get(f"/hatching/{egg_set.pk}/candle/").context["form"]["client_key"].value()

    for _ in range(2):
        typed = {"clear": "4", "early_dead": "2", "day": TODAY.isoformat(), "client_key": key}
        assert helping.post(f"/hatching/{egg_set.pk}/candle/", typed).status_code == 302

    assert EggEntry.objects.count() == 2


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"clear": "41"}, "clear"),
        ({"clear": "30", "broken": "11"}, "broken"),
        ({"clear": "-1"}, "clear"),
        ({"clear": "1", "day": "2026-05-02"}, "day"),
        ({"clear": "1", "day": "2026-04-01"}, "day"),
        ({}, ""),
    ],
)
def test_a_candling_that_cannot_be_is_refused_at_its_field(
    helping: Client, world: World, typed: dict[str, str], field: str
):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-7))
    before = written()

    answer = helping.post(f"/hatching/{egg_set.pk}/candle/", {"day": TODAY.isoformat()} | typed)

    assert list(errors(answer)) == [field]
    assert written() == before


def test_one_press_makes_the_batch_and_leads_to_it(helping: Client, world: World):
    egg_set = ripe(world)
    form = helping.get(f"/hatching/{egg_set.pk}/hatch/").context["form"]
    brooder = world.housing["Brooder 2"]

    answer = helping.post(
        f"/hatching/{egg_set.pk}/hatch/",
        {
            "hatched": "31",
            "culled": "1",
            "day": form["day"].value().isoformat(),
            "housing_id": str(brooder.pk),
            "version": form["version"].value(),
        },
    )

    batch = Batch.objects.get()
    assert answer.url == f"/batches/{batch.pk}/"
    assert (batch.expected, batch.hatch_day) == (False, TODAY)
    assert sum(entry.birds for entry in batch.count_entries.all()) == 30
    assert batch.stays.get().housing == brooder
    assert "E1 is here: 31 chicks hatched." in said(helping.get(answer.url))


def test_a_hatch_of_none_ends_the_set_without_a_batch(helping: Client, world: World):
    egg_set = ripe(world)

    answer = helping.post(
        f"/hatching/{egg_set.pk}/hatch/",
        {"hatched": "0", "day": TODAY.isoformat(), "version": str(egg_set.version)},
    )

    assert answer.url == f"/hatching/{egg_set.pk}/"
    assert not Batch.objects.exists()
    assert "Noted: nothing hatched of E1." in said(helping.get(answer.url))


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"hatched": "41"}, "hatched"),
        ({"hatched": ""}, "hatched"),
        ({"hatched": "3", "culled": "4"}, "culled"),
        ({"hatched": "30", "pipped": "11"}, "pipped"),
        ({"hatched": "3", "day": "2026-04-20"}, "day"),
        ({"hatched": "3", "day": "2026-05-02"}, "day"),
    ],
)
def test_a_hatch_that_cannot_be_is_refused_at_its_field(
    helping: Client, world: World, typed: dict[str, str], field: str
):
    egg_set = ripe(world)
    before = written()

    answer = helping.post(
        f"/hatching/{egg_set.pk}/hatch/", {"day": TODAY.isoformat(), "version": str(egg_set.version)} | typed
    )

    assert list(errors(answer)) == [field]
    assert written() == before


def test_a_hatch_is_recorded_once(helping: Client, world: World):
    egg_set = ripe(world)
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=egg_set.version)
    before = written()

    again = helping.post(
        f"/hatching/{egg_set.pk}/hatch/",
        {"hatched": "30", "day": TODAY.isoformat(), "version": str(egg_set.version)},
    )

    assert errors(again) == {"": ["The hatch of E1 was already recorded."]}
    assert helping.get(f"/hatching/{egg_set.pk}/hatch/").url == f"/hatching/{egg_set.pk}/"
    assert written() == before


def test_before_the_first_day_the_form_says_that_none_can_hatch(helping: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-10))

    assert "None can hatch before 11 May 2026." in said(helping.get(f"/hatching/{egg_set.pk}/hatch/"))


def test_opened_eggs_may_be_written_down_after_the_hatch(helping: Client, world: World):
    egg_set = ripe(world)
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=egg_set.version)

    assert "Write down opened eggs" in said(helping.get(f"/hatching/{egg_set.pk}/"))
    helping.post(f"/hatching/{egg_set.pk}/candle/", {"quitter": "10", "day": TODAY.isoformat()})
    assert "Write down opened eggs" not in said(helping.get(f"/hatching/{egg_set.pk}/"))


def test_a_child_is_not_let_near_the_records(client: Client, world: World):
    egg_set = ripe(world)
    sign_in(client, world.add_member("Emil", "child"))

    for name in ("candle", "hatch", "edit", "cancel"):
        assert client.get(f"/hatching/{egg_set.pk}/{name}/").status_code == 403
    assert "Record the hatch" not in said(client.get(f"/hatching/{egg_set.pk}/"))
