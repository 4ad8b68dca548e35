"""The page of hatching: machines by day, open sets with what comes next, and the first steps of a new farm."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from farm.models import EggSet
from farm.services import hatches
from tests.conftest import NOON, World
from tests.web.hatching_world import cabinet, day, put_in, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def test_a_farm_without_machines_is_led_to_its_first_incubator(seen: Client, world: World):
    page = said(seen.get("/hatching/"))

    assert "Add your first incubator" in page
    assert "Set eggs" not in page


def test_only_keepers_are_asked_to_begin(client: Client, world: World):
    sign_in(client, world.add_member("Cara", "helper"))

    assert "Add your first incubator" not in said(client.get("/hatching/"))
    cabinet(world)
    assert "A keeper of this farm sets eggs." in said(client.get("/hatching/"))


def test_a_farm_with_a_machine_is_led_to_set_eggs(seen: Client, world: World):
    cabinet(world)

    page = said(seen.get("/hatching/"))

    assert "No eggs are set yet." in page
    assert page.count("Set eggs") == 1


def test_open_sets_stand_in_the_order_in_which_they_press(seen: Client, world: World):
    for name, set_on in (("Later", 5), ("Turned", -7), ("Overdue", -23), ("Soon", -19)):
        put_in(world, cabinet(world, name), 9, name=name, set_on=day(set_on))

    answer = seen.get("/hatching/")

    assert [one.row.egg_set.name for one in answer.context["shown"]] == ["Overdue", "Soon", "Turned", "Later"]
    page = said(answer)
    assert "day 7 of 21, in the machine" in page
    assert "to be set on Wednesday 6 May" in page
    assert "The hatch should have been over on" in page


def test_the_hatch_is_offered_from_the_first_day_it_can_be_and_never_to_children(
    client: Client, world: World
):
    ripe = put_in(world, cabinet(world), 9, set_on=day(-20))
    put_in(world, cabinet(world, "Other"), 9, set_on=day(-19))
    keeper, child = world.by, world.add_member("Emil", "child")

    with time_machine.travel(NOON, tick=False):
        offered = sign_in(client, keeper).get("/hatching/").content.decode()
        hidden = sign_in(client, child).get("/hatching/").content.decode()

    assert offered.count("Record the hatch<") == 1
    assert f'href="/hatching/{ripe.pk}/hatch/"' in offered
    assert "Record the hatch<" not in hidden


def test_a_set_says_its_next_step_and_the_chicks_to_expect(seen: Client, world: World):
    put_in(world, cabinet(world), 40, set_on=day(-3))

    page = said(seen.get("/hatching/"))

    assert "5 May Cabinet 1: candle E1, day 7" in page
    assert "about 28 (8 hatches in 10 bring" in page


def test_sets_that_are_over_are_listed_apart(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    hatches.record(world.by, egg_set_id=egg_set.pk, day=day(0), hatched=31, expected_version=egg_set.version)

    answer = seen.get("/hatching/")

    assert answer.context["shown"] == []
    assert [row.egg_set for row in answer.context["over"]] == [egg_set]
    assert "E1 40 31 1 May 2026" in said(answer)


def test_a_conflict_is_said_in_red_on_the_page_and_beside_its_set(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)
    EggSet.objects.filter(pk=egg_set.pk).update(eggs=72)

    answer = seen.get("/hatching/")

    assert said(answer).count("Cabinet 1 is too full by 12 eggs from 1 May to 23 May") == 2
    assert 'id="clash-1" class="breach"' in answer.content.decode()


def test_the_days_shown_are_chosen_by_the_address(seen: Client, world: World):
    cabinet(world)

    usual = seen.get("/hatching/").context["timeline"].choice
    far = seen.get("/hatching/?from=2026-06-01&weeks=12").context["timeline"].choice

    assert (usual.weeks, usual.start) == (6, day(-11))
    assert (far.weeks, far.start) == (12, day(31))


def test_a_band_says_its_days_to_those_who_cannot_see_it(seen: Client, world: World):
    put_in(world, cabinet(world), 40)

    page = seen.get("/hatching/").content.decode()

    assert (
        'aria-label="E1: 40 eggs, set 1 May, last days from 19 May, hatch 22 May, between 21 May and 23 May"'
        in page
    )
