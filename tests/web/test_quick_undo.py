"""The way back from quick entry: offered to who may take it, and it takes back just what was recorded."""

from __future__ import annotations

import re
from typing import Any

import pytest

from farm.models import Observation
from farm.models.member import Role
from farm.queries import heads
from farm.services import counts, observations
from tests.conftest import TODAY, World
from tests.web.today_world import look, send, sign_in


@pytest.fixture
def browns(world: World) -> Any:
    return world.add_batch("Browns", housing="Brooder 1", birds=40, age=14)


def offered(client: Any, text: str) -> str | None:
    """Write a sentence and return the address of the way back that its message offers, None without one."""
    send(client, "/quick/", text=text, back="today", key="k1")
    found = re.search(r'<ul class="said".*?</ul>', look(client).content.decode(), re.S)
    assert found, "nothing was said"
    assert "Recorded: " in found[0]
    link = re.search(r'<a href="([^"]+)">Undo</a>', found[0])
    return link[1] if link else None


def test_a_keeper_is_shown_what_undoing_would_do_and_undoes_it(world, client, browns):
    keeper = sign_in(client, world.by)
    address = offered(keeper, "3 died")
    assert address is not None
    assert "Browns: 3 birds died" in keeper.get(address).content.decode()
    send(keeper, f"{address}undo/")
    assert heads.alive_on(browns, TODAY) == 40


def test_a_keeper_undoes_a_move_and_an_observation_the_same_way(world, client, browns):
    keeper = sign_in(client, world.by)
    for text in ("moved 5 to Brooder 2", "they huddle in Brooder 1"):
        address = offered(keeper, text)
        assert address is not None
        send(keeper, f"{address}undo/")
    assert [birds for _stay, birds in heads.places_on(browns, TODAY)[0]] == [40]
    assert not Observation.objects.exists()


def test_a_helper_takes_back_a_count_by_the_ledgers_own_page(world, client, browns):
    helper = sign_in(client, world.add_member("Hal", Role.HELPER))
    address = offered(helper, "3 died")
    assert address == f"/counts/{browns.count_entries.latest('pk').pk}/reverse/"
    send(helper, address)
    assert heads.alive_on(browns, TODAY) == 40


def test_who_may_not_undo_is_offered_nothing(world, client, browns):
    helper = sign_in(client, world.add_member("Hal", Role.HELPER))
    assert offered(helper, "they huddle") is None
    assert offered(sign_in(client, world.add_member("Kim", Role.CHILD)), "they huddle") is None


def test_the_way_back_is_of_the_own_entry_and_not_of_anothers_at_the_same_moment(world, client, browns):
    hal = world.add_member("Hal", Role.HELPER)
    counts.add(world.by, batch_id=browns.pk, kind="sold", birds=9, day=TODAY)
    address = offered(sign_in(client, hal), "2 died")
    observations.add(world.by, kind="note", note="later", batch_id=browns.pk)
    assert address == f"/counts/{browns.count_entries.get(kind='died').pk}/reverse/"


def test_a_name_with_markup_stays_text(world, client):
    world.add_batch("<b>Bold</b>", housing="Brooder 1", birds=40, age=14)
    send(sign_in(client, world.by), "/quick/", text="3 died", back="today", key="k1")
    assert "Recorded: &lt;b&gt;Bold&lt;/b&gt;: 3 birds died." in look(client).content.decode()
