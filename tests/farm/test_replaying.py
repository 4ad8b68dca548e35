"""The world made from remembered rows is the world the services make, to the last column."""

from __future__ import annotations

from django.apps import apps
from django.db import connection

from tests import conftest
from tests.conftest import World
from tests.replaying import Replay


def rows() -> dict[str, list[dict]]:
    """Return every row of the database, without the instants that the database's own clock wrote."""
    own = {"created_at", "last_login"}
    return {
        model._meta.label: [
            {name: value for name, value in row.items() if name not in own and name != "password"}
            for row in model._default_manager.order_by("pk").values()
        ]
        for model in apps.get_models()
        if model._meta.app_label in ("farm", "calendars", "api")
    }


def test_remembered_rows_are_those_the_services_write(db: None):
    replay = Replay(conftest.make_hollow_farm, conftest._keys, conftest._found)
    point = connection.savepoint()
    replay()
    made = rows()
    connection.savepoint_rollback(point)
    connection.savepoint_commit(point)

    again = replay()

    assert rows() == made
    assert len(replay.statements) > 10
    assert list(again.housing) == ["Brooder 1", "Brooder 2", "Pen 1"]


def test_a_second_world_is_made_by_the_services(world: World):
    assert (
        Replay(lambda: conftest.make_world("z@example.org", "Second"), None, None)().farm.pk != world.farm.pk
    )


def test_the_world_holds_what_tests_are_promised(world: World):
    assert {name: (one.area_m2, one.heated) for name, one in world.housing.items()} == {
        "Brooder 1": (4.0, True),
        "Brooder 2": (2.0, True),
        "Pen 1": (12.0, False),
    }
    assert world.by.member == world.keeper
    assert world.by.login == world.keeper.login
    assert world.farm.version == world.keeper.farm.version
