"""Farms begin with a keeper, and their settings change without hurting what was recorded."""

from datetime import time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.errors import BadInput, NotAllowed, Stale
from farm.models import Farm, HistoryEntry, Login
from farm.models.history import Face
from farm.models.member import Role
from farm.services import farms, logins, observations
from farm.web.zones import ZoneField, suggested
from tests.conftest import NOON


def start(**fields):
    given = {"login": None, "keeper": "Cy", "name": "Hill", "time_zone": "Europe/Paris"}
    return farms.start(**(given | {"now": NOON, "face": Face.PAGE} | fields))


def test_a_farm_starts_with_its_keeper_and_a_line_of_history(db):
    login = Login.objects.create_user("cy@example.org", "pw")
    farm, keeper = start(login=login, keeper=" Cy ", name=" Hill ")
    assert (farm.name, keeper.name, keeper.role, keeper.login) == ("Hill", "Cy", Role.KEEPER, login)
    assert [entry.summary for entry in HistoryEntry.objects.filter(farm=farm)] == ["Farm Hill started"]
    assert (farm.morning_at, farm.midday_at, farm.evening_at) == (time(7), time(12, 30), time(18, 30))


@pytest.mark.parametrize(
    "field, value",
    [
        ("name", " "),
        ("keeper", " "),
        ("keeper", "x" * 81),
        ("time_zone", "Mars/Olympus"),
        ("time_zone", "Factory"),
        ("time_zone", ""),
        ("units", "cubits"),
    ],
)
def test_a_farm_that_cannot_be_right_is_refused_at_its_field_and_not_started(db, field, value):
    with pytest.raises(BadInput) as refused:
        start(**{field: value})
    assert list(refused.value.fields) == [field]
    assert not Farm.objects.exists()


def test_settings_change_together_and_are_trimmed(world):
    farm = farms.change(world.by, name=" Low Farm ", units="us", latitude=52.5, longitude=13.4)
    assert (farm.name, farm.units, farm.latitude, farm.longitude) == ("Low Farm", "us", 52.5, 13.4)
    assert HistoryEntry.objects.filter(farm=farm).first().summary == "Farm settings changed"


def test_saving_settings_as_they_are_leaves_no_history(world):
    before = HistoryEntry.objects.count()
    farms.change(world.by, name=world.farm.name, units="metric")
    assert HistoryEntry.objects.count() == before


def test_a_helper_changes_no_settings(world):
    helper = world.add_member("Hal", Role.HELPER)
    with pytest.raises(NotAllowed):
        farms.change(helper, name="Mine")


def test_what_is_no_setting_cannot_be_set(world):
    with pytest.raises(TypeError, match="is_demo, version"):
        farms.change(world.by, version=9, is_demo=True)


@pytest.mark.parametrize(
    "fields, at",
    [
        ({"latitude": 52.5}, "longitude"),
        ({"longitude": 13.4}, "latitude"),
        ({"latitude": 91.0, "longitude": 0.0}, "latitude"),
        ({"morning_at": time(13)}, "midday_at"),
        ({"midday_at": time(18, 30)}, "evening_at"),
        ({"name": ""}, "name"),
        ({"first_weekday": 7}, "first_weekday"),
    ],
)
def test_settings_that_cannot_be_right_are_refused_at_their_field(world, fields, at):
    before = Farm.objects.values().get(pk=world.farm.pk)
    with pytest.raises(BadInput) as refused:
        farms.change(world.by, **fields)
    assert list(refused.value.fields) == [at]
    assert Farm.objects.values().get(pk=world.farm.pk) == before


def test_a_new_zone_is_free_while_nothing_was_recorded(world):
    assert farms.change(world.by, time_zone="Asia/Tokyo").time_zone == "Asia/Tokyo"


def test_a_new_zone_waits_for_the_tick_once_something_was_recorded(world):
    observe(world)
    with pytest.raises(BadInput) as refused:
        farms.change(world.by, time_zone="Asia/Tokyo")
    assert list(refused.value.fields) == ["time_zone"]
    assert Farm.objects.get(pk=world.farm.pk).time_zone == "Europe/Berlin"


def test_the_tick_moves_the_zone_and_keeps_every_instant(world):
    seen = observe(world)
    farms.change(world.by, time_zone="Asia/Tokyo", move_days=True)
    seen.refresh_from_db()
    assert Farm.objects.get(pk=world.farm.pk).time_zone == "Asia/Tokyo"
    assert seen.at == NOON


def test_settings_changed_meanwhile_are_not_overwritten(world):
    opened = Farm.objects.get(pk=world.farm.pk).version
    farms.change(world.by, name="Low Farm")
    with pytest.raises(Stale) as refused:
        farms.change(world.by, expected_version=opened, name="High Farm")
    assert refused.value.changes == ["Ada: Farm settings changed"]
    stored = Farm.objects.get(pk=world.farm.pk)
    assert (stored.name, refused.value.version) == ("Low Farm", stored.version)


def test_birds_counted_meanwhile_do_not_make_the_settings_stale(world):
    opened = Farm.objects.get(pk=world.farm.pk).version
    world.add_batch("Reds", housing="Brooder 1")
    assert farms.change(world.by, expected_version=opened, name="High Farm").name == "High Farm"


def test_a_login_and_its_first_farm_are_made_together(db):
    login, farm = logins.start_farm(
        email=" Cy@Example.org ",
        password="brood by the barn",
        keeper="Cy",
        name="Hill",
        time_zone="Europe/Paris",
        now=NOON,
    )
    assert (login.email, login.name) == ("Cy@example.org", "Cy")
    assert login.check_password("brood by the barn")
    assert login.memberships.get().farm == farm


@pytest.mark.parametrize(
    "field, value",
    [
        ("email", "nonsense"),
        ("email", "ADA@example.org"),
        ("password", "short"),
        ("password", "password123"),
        ("name", ""),
        ("keeper", ""),
        ("time_zone", "Nowhere"),
    ],
)
def test_neither_login_nor_farm_is_made_when_one_is_refused(world, field, value):
    typed = {
        "email": "cy@example.org",
        "password": "brood by the barn",
        "keeper": "Cy",
        "name": "Hill",
        "time_zone": "Europe/Paris",
    }
    with pytest.raises(BadInput) as refused:
        logins.start_farm(now=NOON, **(typed | {field: value}))
    assert list(refused.value.fields) == [field]
    assert (Login.objects.count(), Farm.objects.count()) == (1, 1)


def test_a_language_that_is_not_offered_is_refused(world):
    with pytest.raises(BadInput) as refused:
        logins.set_language(world.keeper.login, "tlh")
    assert list(refused.value.fields) == ["language"]


@given(zone=st.sampled_from(suggested()), shape=st.sampled_from([str, str.lower, str.upper]))
def test_every_suggested_zone_is_understood_however_it_is_typed(zone, shape):
    assert ZoneField().clean(shape(zone).replace("_", " ")) == zone
    assert ZoneInfo(zone).key == zone


def observe(world):
    batch = world.add_batch("Reds", housing="Brooder 1")
    return observations.add(world.by, kind="temperature", batch_id=batch.pk, value=33.0)
