"""The list of batches: who is here, who is expected and gone, where, and what comes next."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from farm.models.member import Role
from farm.services import counts, stays
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.web.batches_world import text


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def names(answer: object) -> list[str]:
    return [row.batch.name for row in answer.context["rows"]]


def test_a_batch_is_listed_with_its_birds_age_place_next_step_and_losses(seen: Client, world: World):
    batch = world.add_batch("Browns", age=16, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=2, day=TODAY)

    page = text(seen.get("/batches/"))

    assert '<span class="figure">38</span> birds alive, <strong>2 weeks 2 days</strong>' in page
    assert f'<a href="/housing/{world.housing["Brooder 1"].pk}/">Brooder 1</a>' in page
    assert "<dt>Next</dt>" in page
    assert "2 of 40" in page
    assert "usual: 0 to" in page


def test_the_list_opens_with_those_here_and_filters_by_a_link(seen: Client, world: World):
    world.add_batch("Here")
    world.add_batch("Coming", age=-5)
    gone = world.add_batch("Gone")
    counts.add(world.by, batch_id=gone.pk, kind="sold", birds=40, day=day(-1))

    assert names(seen.get("/batches/")) == ["Here"]
    assert names(seen.get("/batches/?show=expected")) == ["Coming"]
    assert names(seen.get("/batches/?show=gone")) == ["Gone"]
    assert names(seen.get("/batches/?show=all")) == ["Here", "Gone", "Coming"]
    assert names(seen.get("/batches/?show=nonsense")) == ["Here"]


def test_the_filter_says_how_many_and_which_one_is_on(seen: Client, world: World):
    world.add_batch("Here")
    world.add_batch("Coming", age=-5)

    page = text(seen.get("/batches/?show=expected"))

    assert '<a class="button" href="?show=expected" aria-current="true">Expected' in page
    assert [(key, count) for key, _word, count in seen.get("/batches/").context["choices"]] == [
        ("current", 1),
        ("expected", 1),
        ("gone", 0),
        ("all", 2),
    ]


def test_a_farm_with_birds_only_to_come_opens_with_those(seen: Client, world: World):
    world.add_batch("Coming", age=-5, housing="Brooder 1")

    answer = seen.get("/batches/")

    assert names(answer) == ["Coming"]
    assert "birds expected on 6 May" in text(answer)
    assert "Brooder 1" in text(answer)


def test_a_split_batch_says_how_many_are_where_and_how_many_nowhere(seen: Client, world: World):
    batch = world.add_batch("Browns")
    for name, birds in (("Brooder 1", 20), ("Brooder 2", 15)):
        place = world.housing[name].pk
        stays.add(world.by, batch_id=batch.pk, housing_id=place, birds=birds, start=TODAY, end=None)

    page = text(seen.get("/batches/"))

    assert "Brooder 1</a> (20), " in page
    assert "Brooder 2</a> (15), " in page
    assert "5 birds without housing" in page


def test_more_losses_than_chance_explains_are_said(seen: Client, world: World):
    batch = world.add_batch("Browns")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=15, day=TODAY)

    assert "<strong>more than the usual 0 to" in text(seen.get("/batches/"))


def test_ten_times_the_batches_take_no_more_queries(seen: Client, world: World):
    for number in range(2):
        world.add_batch(f"A{number}", housing="Brooder 1")
    with CaptureQueriesContext(
        connection,
    ) as few:
        seen.get("/batches/?show=all")
    for number in range(18):
        world.add_batch(f"B{number}", housing="Brooder 1")
    with CaptureQueriesContext(connection) as many:
        seen.get("/batches/?show=all")

    assert len(many) == len(few)


def test_a_new_farm_is_led_to_its_first_brooder(client: Client, elsewhere: World):
    client.force_login(elsewhere.keeper.login)

    assert "Add your first brooder" in text(client.get("/batches/"))


def test_a_farm_with_housing_is_led_to_its_first_batch(seen: Client, world: World):
    page = text(seen.get("/batches/"))

    assert "There are no birds here yet." in page
    assert '<a class="button primary" href="/batches/new/">Add a batch</a>' in page


def test_helpers_are_not_offered_what_only_keepers_may(client: Client, world: World):
    world.add_batch("Browns")
    client.force_login(world.add_member("Sam", Role.HELPER).login)

    assert "/batches/new/" not in text(client.get("/batches/"))


def test_nobody_sees_another_farms_batches(seen: Client, elsewhere: World):
    elsewhere.add_batch("Strangers")

    assert "Strangers" not in text(seen.get("/batches/?show=all"))
